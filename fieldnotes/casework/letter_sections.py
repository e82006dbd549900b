"""The sections papers for another vet are put together from."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from fieldnotes.casework.closing_time import seen_words
from fieldnotes.domain.body_weight import weight_text
from fieldnotes.domain.followups import Doer
from fieldnotes.domain.text import clean_line
from fieldnotes.rendering.entry_words import finding_words
from fieldnotes.rendering.handout.facts import courses_now, sedated_at
from fieldnotes.rendering.handout.wording import amount_text, every_hours, number_text

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.casework.papers import Office
    from fieldnotes.casework.views import CaseFile, WoundFile
    from fieldnotes.domain.patients import Horse
    from fieldnotes.domain.treatment import DrugGiven
    from fieldnotes.rendering.handout.sheet import Picture

UNKNOWN = "not known"


class Section(NamedTuple):
    """One heading of a paper, the lines and pictures under it; level 3 belongs to the one above."""

    title: str
    lines: tuple[str, ...]
    pictures: tuple[Picture, ...] = ()
    level: int = 2


def moment(at: dt.datetime, office: Office) -> str:
    """Give a moment in the practice's zone."""
    return f"{at.astimezone(office.now.tzinfo):%Y-%m-%d %H:%M}"


def animal(file: CaseFile) -> Section:
    """Say which animal: weight, allergies, conditions, tetanus, food chain."""
    horse, weight = file.horse, file.horse.weight()
    age = f"born {horse.born}" if horse.born else "age not known"
    kilos = UNKNOWN
    if weight:
        kilos = f"{weight_text(weight.kg, file.practice.units)} ({weight.method}, {weight.on})"
    last = f", last {horse.tetanus.last}" if horse.tetanus.last else ""
    last += ", first dose of a course only" if horse.tetanus.finished is False else ""
    chip = horse.microchip or UNKNOWN
    lines = (
        f"{horse.name}, {horse.species}, {horse.sex}, {age}. Microchip: {chip}.",
        f"Weight: {kilos}.",
        f"Allergies: {', '.join(horse.allergies) or 'none on record'}.",
        f"Conditions: {', '.join(horse.conditions) or 'none on record'}.",
        f"Tetanus: {horse.tetanus.history}{last}. Food chain: {horse.food_chain}.",
        f"Competes: {_competes(horse)}. Breeding: {_breeding(horse)}.",
    )
    return Section("The animal", lines)


def _competes(horse: Horse) -> str:
    if not horse.competes:
        return "not on record"
    return f"yes, under the rules of {horse.governing_body}" if horse.governing_body else "yes"


def _breeding(horse: Horse) -> str:
    due = f"in foal, due {horse.foaling_due}" if horse.foaling_due else ""
    foal = "foal at foot" if horse.lactating else ""
    return ", ".join(x for x in (due, foal) if x) or "nothing on record"


def people(file: CaseFile) -> Section:
    """Say who is to be called."""
    owner, place = file.owner, file.premises
    called = f"{owner.name}, phone {owner.phone or UNKNOWN}" if owner else UNKNOWN
    stands = place.name if place else UNKNOWN
    on_call = file.case.on_call or file.practice.emergency_phone or file.practice.phone
    return Section(
        "Who to call", (f"Owner: {called}.", f"Stands at: {stands}.", f"Vet on call: {on_call}.")
    )


def wounds(file: CaseFile, office: Office) -> Section:
    """Give each wound as last seen."""
    opened = file.case.opened
    about = "about " if opened.injured_about else ""
    first = f"Hurt {about}{moment(opened.injured_at, office)}. {clean_line(opened.mechanism)}"
    seen = f"{seen_words(file.case).capitalize()}." if file.case.visits else ""
    return Section("Wounds", (f"{first} {seen}".strip(), *(_wound(w, office) for w in file.wounds)))


def _wound(wound: WoundFile, office: Office) -> str:
    said = f"Wound {wound.wound.label}: {wound.wound.kind}, {wound.region.standard_name}"
    if not wound.findings:
        return f"{said}. No finding on record."
    at, last = wound.findings[-1]
    closed = f"; {wound.closure.method}" if wound.closure else ""
    return f"{said}. {moment(at, office)}: {finding_words(last)}{closed}."


def _given(drug: DrugGiven, office: Office) -> str:
    amount = f"{number_text(drug.amount)} {drug.unit}" if drug.amount is not None else UNKNOWN
    return f"{moment(drug.at, office)} {drug.name} {amount} {drug.route}, by {drug.given_by}"


def drugs(file: CaseFile, office: Office) -> Section:
    """Give every drug given and left, with times."""
    given = [_given(g, office) for v in file.case.visits for g in v.body.given]
    courses = [
        f"With the owner: {d.name}, {amount_text(d)}, {every_hours(d.interval_h)}, "
        f"from {moment(d.starts, office)} for {number_text(d.days)} days"
        for d in courses_now(file.case, office.now.date())
    ]
    return Section("Drugs with times", (*given, *courses) or ("None on record.",))


def travel(file: CaseFile, office: Office) -> Section:
    """Give the check before the animal travels."""
    since = sedated_at(file.case, office.library.drugs)
    last = moment(since, office) if since else "none on record at the last visit"
    lines = (
        "☐ Limb stabilised.",
        "☐ Bleeding controlled.",
        f"Last sedative: {last}.",
        "☐ The owner agrees that the clinic is told this. The vet decides whether it may travel.",
    )
    return Section("Before it travels", lines)


def state(file: CaseFile, office: Office) -> Section:
    """Give temperature and gait as last taken, and the open flags."""
    lines = []
    for dated in reversed(file.case.visits):
        visit = dated.body
        if visit.lameness is not None or visit.vitals.temperature_c is not None:
            warm = visit.vitals.temperature_c
            told = f"{warm:.1f} °C" if warm is not None else "temperature not taken"
            gait = f"lameness {visit.lameness}" if visit.lameness is not None else "gait not noted"
            lines.append(f"{moment(visit.at, office)}: {told}, {gait} {visit.lame_limb}".rstrip())
            break
    flags = (f"Open flag, wound {w.wound.label}: {f.why}" for w in file.wounds for f in w.flags)
    return Section("Last seen, and open flags", (*lines, *flags) or ("Nothing noted.",))


def plan(file: CaseFile) -> Section:
    """Give what comes next, by whom."""

    def line(what: str, by: Doer, due: dt.date, latest: dt.date) -> str:
        return f"{due} (latest {latest}), {'vet' if by is Doer.VET else 'owner'}: {what}"

    return Section("Next", tuple(line(t.what, t.by, t.due, t.latest) for t in file.plan))


def worries(file: CaseFile, office: Office, number: int) -> Section:
    """Give what the owner reported last."""
    told = file.case.reports[-number:]
    lines = (f"{moment(r.body.at, office)} {r.body.source}: {r.body.text}" for r in told)
    return Section("What the owner reported", tuple(clean_line(x) for x in lines))
