"""An owner's report: now, same day or at the next visit, with the reasons."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import UnknownNameError
from fieldnotes.domain.urgency import Urgency
from fieldnotes.knowledge.triage import FeverLimits

if TYPE_CHECKING:
    from fieldnotes.knowledge.triage import CountRule, Sign, TriageTables

_ORDER = (Urgency.NOW, Urgency.SAME_DAY, Urgency.NEXT_VISIT)


@dataclass(frozen=True)
class Report:
    """What was asked and said; `gait_normal` and temperature None = not known.

    `last_nsaid_at` is the last anti-inflammatory given by anyone, `nsaid` its drug id if known;
    `limits` are fever limits the vet typed (the only ones for a donkey or mule); `unclear` are
    signs nobody could tell of.
    """

    at: dt.datetime
    signs: tuple[str, ...] = ()
    temperature_c: float | None = None
    gait_normal: bool | None = None
    last_nsaid_at: dt.datetime | None = None
    nsaid: str = ""
    species: str = "horse"
    age_days: int | None = None
    limits: FeverLimits | None = None
    unclear: tuple[str, ...] = ()


@dataclass(frozen=True)
class Reason:
    """One reason for an urgency."""

    urgency: Urgency
    why: str
    source: str


@dataclass(frozen=True)
class Triage:
    """The outcome; `masked` says that a normal temperature or gait proves nothing now."""

    urgency: Urgency
    reasons: tuple[Reason, ...]
    advice: tuple[str, ...]
    masked: bool
    notes: tuple[str, ...]


def fever_limits(tables: TriageTables, report: Report) -> FeverLimits | None:
    """Give the limits that hold; unknown age counts as adult, None where none is sourced."""
    if report.limits is not None:
        return report.limits
    own = [f for f in tables.fevers if f.species == report.species]
    for row in own:
        if report.age_days is not None and row.age_days[0] <= report.age_days <= row.age_days[1]:
            return row
    return max(own, key=lambda f: f.age_days[1], default=None)


def is_masked(tables: TriageTables, report: Report) -> bool:
    """Tell whether an anti-inflammatory may still hide signs; an unnamed one counts longest."""
    if report.last_nsaid_at is None:
        return False
    wanted = {report.nsaid, "nsaid"} if report.nsaid else {m.of for m in tables.masking}
    hours = {m.of: m.hours for m in tables.masking if m.of in wanted}
    longest = hours.get(report.nsaid, max(hours.values(), default=0.0))
    return report.at - report.last_nsaid_at <= dt.timedelta(hours=longest)


def typed_limits(tables: TriageTables, call_c: float, species: str) -> FeverLimits:
    """Give the fever limits that follow from the highest normal temperature a vet typed."""
    return FeverLimits(
        species, (0, 20000), call_c, call_c + tables.urgent_above_c, "typed by the vet"
    )


def _signs(tables: TriageTables, names: tuple[str, ...]) -> tuple[Sign, ...]:
    by_id = {s.id: s for s in tables.signs}
    for name in names:
        if name not in by_id:
            names = tuple(by_id)
            raise UnknownNameError("signs", f"'{name}' is not one of {', '.join(names)}", names)
    return tuple(by_id[name] for name in dict.fromkeys(names))


def _doubts(tables: TriageTables, unclear: tuple[Sign, ...]) -> list[Reason]:
    """Give what the signs nobody could tell of count for: their urgency, no more than the most."""
    most = tables.unclear
    found = []
    for sign in unclear:
        urgency = max(sign.urgency, most.urgency, key=_ORDER.index)
        found.append(Reason(urgency, f"{sign.id}: {most.why}", most.source))
    return found


def _fever(limits: FeverLimits | None, report: Report) -> Reason | None:
    if limits is None or report.temperature_c is None or report.temperature_c < limits.call_c:
        return None
    urgent = report.temperature_c >= limits.urgent_c
    urgency = Urgency.NOW if urgent else Urgency.SAME_DAY
    bound = limits.urgent_c if urgent else limits.call_c
    return Reason(
        urgency, f"temperature {report.temperature_c:g} C, from {bound:g} C on", limits.source
    )


def _reassured(report: Report, limits: FeverLimits | None, *, masked: bool) -> bool:
    """Tell whether a normal temperature and gait are known and nothing hides them."""
    cool = (
        limits is not None
        and report.temperature_c is not None
        and report.temperature_c < limits.call_c
    )
    return cool and report.gait_normal is True and not masked


def _counted(tables: TriageTables, count: int, *, reassured: bool) -> CountRule | None:
    for rule in sorted(tables.counts, key=lambda r: -r.least):
        if count >= rule.least:
            return None if rule.least == 1 and reassured else rule
    return None


def _notes(
    report: Report, limits: FeverLimits | None, unclear: tuple[Sign, ...], *, masked: bool
) -> tuple[str, ...]:
    notes = [f"ask again: {sign.ask}" for sign in unclear]
    if masked:
        notes.append("an anti-inflammatory may hide fever and lameness: normal proves nothing now")
    if report.last_nsaid_at is None:
        notes.append("ask when the last anti-inflammatory was given, by anyone")
    infected = report.signs or report.unclear
    if infected and report.temperature_c is None:
        notes.append("ask for the temperature")
    if infected and report.gait_normal is None:
        notes.append("ask how it walks")
    if limits is None:
        notes.append(f"no sourced fever limit for a {report.species}: the vet types one")
    return tuple(notes)


def triage(tables: TriageTables, report: Report) -> Triage:
    """Judge a report by its most urgent reason; nothing normal ever lowers a named sign."""
    limits = fever_limits(tables, report)
    masked = is_masked(tables, report)
    signs = _signs(tables, report.signs)
    unclear = _signs(tables, tuple(u for u in report.unclear if u not in report.signs))
    reasons = [Reason(s.urgency, f"{s.id}: {s.why}", s.source) for s in signs]
    reasons += _doubts(tables, unclear)
    fever = _fever(limits, report)
    count = sum(s.infection for s in signs) + (
        fever is not None and any(s.infection for s in signs)
    )
    counted = _counted(tables, count, reassured=_reassured(report, limits, masked=masked))
    if fever is not None:
        reasons.append(fever)
    if counted is not None:
        reasons.append(Reason(counted.urgency, counted.why, counted.source))
    reasons.sort(key=lambda r: _ORDER.index(r.urgency))
    return Triage(
        urgency=reasons[0].urgency if reasons else Urgency.NEXT_VISIT,
        reasons=tuple(reasons),
        advice=tuple(dict.fromkeys(s.advice for s in signs if s.advice)),
        masked=masked,
        notes=_notes(report, limits, unclear, masked=masked),
    )


def infection_steps(
    tables: TriageTables, signs: tuple[str, ...], *, on_antimicrobial: bool
) -> tuple[str, ...]:
    """Give what comes before any change of drug where infection is suspected under treatment."""
    infection = {s.id for s in tables.signs if s.infection}
    if not on_antimicrobial or infection.isdisjoint(signs):
        return ()
    return (*tables.steps, tables.then)
