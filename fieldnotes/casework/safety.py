"""What may hurt: every caution about a visit, which of them refuse it, and what stays in sight."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.casework.caution import LEVELS, Bedside, Caution
from fieldnotes.casework.drug_cautions import dose_cautions, interaction_cautions
from fieldnotes.casework.drug_change import change_cautions
from fieldnotes.casework.treatments import last_nsaid, placed_on_wounds, recorded
from fieldnotes.casework.wound_cautions import places, wound_cautions
from fieldnotes.clinical.clearance import clearances
from fieldnotes.clinical.triage import Report, Triage, infection_steps, triage, typed_limits
from fieldnotes.clinical.vitals import check_vitals
from fieldnotes.domain.errors import Problem, UnknownNameError
from fieldnotes.domain.urgency import sooner

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from fieldnotes.clinical.clearance import Clearance
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.entries import OwnerReport, Visit
    from fieldnotes.domain.patients import Horse
    from fieldnotes.domain.urgency import Urgency
    from fieldnotes.knowledge.library import Library
    from fieldnotes.knowledge.triage import FeverLimits

WORDS = {
    "temperature_c": ("temperature", "C"),
    "heart_per_min": ("heart rate", "per min"),
    "breaths_per_min": ("breathing", "per min"),
    "crt_s": ("capillary refill", "s"),
}


def cautions(bed: Bedside, visit: Visit) -> tuple[Caution, ...]:
    """Give every caution about a visit, blocks first, each once."""
    known = tuple(w for w in bed.wounds if w.region in bed.library.regions)
    bed = replace(bed, wounds=known)
    on_wounds = tuple(placed_on_wounds(visit, places(bed, visit), bed.library))
    found = (
        *interaction_cautions(bed, visit, on_wounds),
        *dose_cautions(bed, visit),
        *_vitals(bed, visit),
        *wound_cautions(bed, visit),
        *change_cautions(bed, visit),
        *_estimate(bed),
    )
    return tuple(sorted(dict.fromkeys(found), key=lambda c: LEVELS.index(c.level)))


def _vitals(bed: Bedside, visit: Visit) -> Iterator[Caution]:
    species = bed.horse.species.value
    age = bed.horse.age_days(visit.at.date())
    own = bed.horse.own_limits
    for note in check_vitals(bed.library.vitals, visit.vitals, species, age, own):
        words, unit = WORDS[note.measure]
        field = f"vitals.{note.measure}"
        if note.limits is None:
            yield Caution("note", field, f"{words}: no sourced limit for a {species}", note.source)
        elif note.state != "normal":
            low, high = note.limits
            why = f"{words} {note.value:g} {unit} is {note.state}: {low:g} to {high:g} at rest"
            yield Caution("warn", field, why, note.source)


def _estimate(bed: Bedside) -> Iterator[Caution]:
    """Warn when what was spent has passed the limit the client agreed to."""
    estimates = bed.case.estimates if bed.case else ()
    if estimates and estimates[-1].body.spent > estimates[-1].body.limit:
        last = estimates[-1].body
        why = (
            f"{last.spent:,.2f} {last.currency} spent, over the agreed limit of"
            f" {last.limit:,.2f}: ask before going on"
        )
        yield Caution("warn", "estimate", why, "agreed with the client")


def refusals(found: Iterable[Caution], prefix: str = "") -> Iterator[Problem]:
    """Give the problems of the cautions that keep a visit from being saved."""
    for caution in found:
        if caution.refuses:
            way = caution.remedy or "give a reason to do it all the same"
            yield Problem(prefix + caution.field, f"{caution.why}: {way}")


def standing(bed: Bedside) -> tuple[Caution, ...]:
    """Give what still holds of a case: the cautions of its last visit, none once it has ended."""
    if bed.case is None or bed.case.ended_on is not None or not bed.case.visits:
        return ()
    last = bed.case.visits[-1]
    return cautions(replace(bed, without=last.entry.id), last.body)


def clearance_dates(bed: Bedside) -> tuple[Clearance, ...]:
    """Give every published competition time still running, the earliest end first."""
    drugs = {d.id: d for d in bed.library.drugs}
    found = (
        c for c in clearances(drugs, recorded(bed), bed.horse.governing_body) if c.until > bed.now
    )
    return tuple(sorted(found, key=lambda c: c.until))


def judge_report(
    case: Case | None,
    horse: Horse,
    report: OwnerReport,
    library: Library,
    *,
    gait_normal: bool | None = None,
) -> Triage:
    """Judge an owner's report with what the record knows: the last anti-inflammatory, age, drugs.

    Without a case only what was told counts. UnknownNameError for a sign that is not asked.
    """
    given = last_nsaid(case, report.at, library) if case else None
    when = None if given is None else min(given.last, report.at)
    told = report.last_nsaid_at
    recorded_last = when is not None and (told is None or when >= told)
    found = triage(
        library.triage,
        Report(
            at=report.at,
            signs=report.signs,
            temperature_c=report.temperature_c,
            gait_normal=report.gait_normal if gait_normal is None else gait_normal,
            unclear=report.unclear,
            limits=_own_fever(horse, library),
            last_nsaid_at=when if recorded_last else told,
            nsaid=given.drug if given is not None and recorded_last else "",
            species=horse.species.value,
            age_days=horse.age_days(report.at.date()),
        ),
    )
    treated = case is not None and _on_antimicrobial(case, report, library)
    steps = infection_steps(library.triage, report.signs, on_antimicrobial=treated)
    return replace(found, notes=(*found.notes, *steps))


def lower_than_judged(found: Triage, urgency: Urgency) -> str:
    """Say what a lower urgency leaves unheeded; empty where it is as judged or sooner."""
    if not sooner(found.urgency, urgency):
        return ""
    why = "; ".join(r.why for r in found.reasons if r.urgency is found.urgency)
    return f"lower than judged: {found.urgency.value}, because {why}"


def report_problems(
    case: Case, horse: Horse, report: OwnerReport, library: Library
) -> Iterator[Problem]:
    """Refuse a sign nobody asks for, and an urgency set lower than judged without a reason."""
    try:
        lower = lower_than_judged(judge_report(case, horse, report, library), report.urgency)
    except UnknownNameError as error:
        yield Problem(error.field, error.reason)
        return
    if lower and not report.decision.strip():
        yield Problem("urgency", f"{lower}; set it back, or write the reason as the decision")


def _own_fever(horse: Horse, library: Library) -> FeverLimits | None:
    typed = horse.own_limits.temperature_c
    return None if typed is None else typed_limits(library.triage, typed[1], horse.species.value)


def _on_antimicrobial(case: Case, report: OwnerReport, library: Library) -> bool:
    classes = {d.id: d.classes for d in library.drugs}
    return any(
        "antimicrobial" in classes.get(x.drug, ()) and x.starts <= report.at <= x.ends
        for v in case.visits
        for x in v.body.dispensed
    )
