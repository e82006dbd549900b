"""Interactions and contraindications over everything the animal got or will get."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.clinical.clearance import clearances
from fieldnotes.clinical.day_totals import day_totals
from fieldnotes.clinical.patient_facts import facts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from fieldnotes.clinical.patient_facts import Patient, Treatment
    from fieldnotes.knowledge.drugs import Drug, Drugs
    from fieldnotes.knowledge.interactions import Interactions, Rule

_ORDER = ("block", "warn", "note")


@dataclass(frozen=True)
class Finding:
    """A rule that holds; a block passes by a typed reason, or only by `remedy` where it has one."""

    rule: str
    level: str
    drugs: tuple[str, ...]
    why: str
    source: str
    needs_reason: bool
    remedy: str = ""


@dataclass(frozen=True)
class _Round:
    """All that one check looks at."""

    tables: Interactions
    drugs: dict[str, Drug]
    patient: Patient
    treatments: tuple[Treatment, ...]

    def is_of(self, treatment: Treatment, wanted: tuple[str, ...]) -> bool:
        """Tell whether a treatment's drug or one of its classes is wanted."""
        drug = self.drugs.get(treatment.drug)
        classes = (*treatment.classes, *(drug.classes if drug else ()))
        return treatment.drug in wanted or any(c in wanted for c in classes)

    def name(self, treatment: Treatment) -> str:
        """Give the drug's name."""
        drug = self.drugs.get(treatment.drug)
        return drug.name if drug else treatment.drug

    def holds(self, rule: Rule, treatment: Treatment) -> bool:
        """Tell whether the rule's facts, route and place hold for one treatment."""
        known = facts(self.tables, self.patient, treatment.start.date())
        return (
            self.is_of(treatment, rule.of)
            and (not rule.facts or not known.isdisjoint(rule.facts))
            and known.isdisjoint(rule.unless)
            and (not rule.routes or treatment.route in rule.routes)
            and (not rule.near or not set(rule.near).isdisjoint(treatment.near))
            and (treatment.percent or rule.least_percent) >= rule.least_percent
        )


def _finding(rule: Rule, names: tuple[str, ...], detail: str = "", level: str = "") -> Finding:
    shown = level or rule.level
    why = rule.note if shown == "note" and rule.note else rule.why
    return Finding(
        rule=rule.id,
        level=shown,
        drugs=names,
        why=f"{' and '.join(names)}: {why}{'; ' + detail if detail else ''}",
        source=rule.source,
        needs_reason=shown == "block" and not rule.remedy,
        remedy=rule.remedy,
    )


def _gap_h(one: Treatment, two: Treatment) -> float:
    """Give the hours between two courses, 0 where they overlap."""
    first, second = sorted((one, two), key=lambda t: t.start)
    return max(0.0, (second.start - first.last) / dt.timedelta(hours=1))


def _single(found: _Round, rule: Rule) -> Iterator[Finding]:
    for treatment in found.treatments:
        if found.holds(rule, treatment):
            yield _finding(rule, (found.name(treatment),))


def _pairs(found: _Round, rule: Rule) -> Iterator[tuple[Treatment, Treatment]]:
    seen = set()
    for i, one in enumerate(found.treatments):
        for j, two in enumerate(found.treatments):
            pair = frozenset((i, j))
            if i == j or pair in seen or one.drug == two.drug:
                continue
            if found.holds(rule, one) and found.is_of(two, rule.other):
                seen.add(pair)
                yield one, two


def _pair(found: _Round, rule: Rule) -> Iterator[Finding]:
    for one, two in _pairs(found, rule):
        if _gap_h(one, two) <= rule.within_h:
            yield _finding(rule, (found.name(one), found.name(two)))


def _succession(found: _Round, rule: Rule) -> Iterator[Finding]:
    for one, two in _pairs(found, rule):
        gap = _gap_h(one, two)
        names = (found.name(one), found.name(two))
        if gap < rule.within_h:
            yield _finding(rule, names, f"{gap:g} h apart")
        elif gap < rule.note_within_h:
            yield _finding(rule, names, f"{gap:g} h apart", "note")


def _without(found: _Round, rule: Rule) -> Iterator[Finding]:
    for one in found.treatments:
        beside = any(
            found.is_of(two, rule.other) and _gap_h(one, two) <= rule.within_h
            for two in found.treatments
        )
        if found.holds(rule, one) and not beside:
            yield _finding(rule, (found.name(one),))


def _total(found: _Round, rule: Rule) -> Iterator[Finding]:
    """Hold each local anaesthetic of a day, over all wounds, against every published ceiling."""
    weight = found.patient.weight_kg
    if not weight:
        return
    counted = (t for t in found.treatments if found.holds(rule, t))
    for total in day_totals(counted, found.drugs, weight):
        for limit in total.passed:
            detail = f"{total.per_kg:.2f} mg/kg over {limit.value:g} mg/kg ({limit.label})"
            yield _finding(rule, (total.drug.name,), detail)


def _course(found: _Round, rule: Rule) -> Iterator[Finding]:
    """Count days from first to last dose of a drug, over all forms, against its limits."""
    for drug in found.drugs.values():
        given = [t for t in found.treatments if t.drug == drug.id and found.holds(rule, t)]
        for limit in drug.limits:
            counted = [t for t in given if limit.applies(t.route, found.patient.age_days)]
            if limit.kind != "course_days" or not counted:
                continue
            first = min(t.start for t in counted).date()
            days = (max(t.last for t in counted).date() - first).days + 1
            if days > limit.value:
                over = first + dt.timedelta(days=int(limit.value))
                detail = f"{days} days, over {limit.value:g} ({limit.label}) from {over}"
                yield _finding(rule, (drug.name,), detail)


def _competition(found: _Round, rule: Rule) -> Iterator[Finding]:
    if not found.patient.competes:
        return
    body = found.patient.governing_body
    for clear in clearances(found.drugs, found.treatments, body):
        when = f"{clear.until:%Y-%m-%d %H:%M}"
        other = "" if clear.own or not body else f", not {body}"
        detail = f"{clear.kind} ({clear.body}{other}): not before {when}; {clear.source}"
        yield _finding(rule, (clear.name,), detail)


def _food_chain(found: _Round, rule: Rule) -> Iterator[Finding]:
    for treatment in found.treatments:
        drug = found.drugs.get(treatment.drug)
        known = facts(found.tables, found.patient, treatment.start.date())
        if drug is None or known.isdisjoint(rule.facts) or found.is_of(treatment, rule.other):
            continue
        for caution in drug.notes("food_chain"):
            yield _finding(rule, (drug.name,), f"{caution.text} ({caution.source})")


def _meets(allergy: str, name: str, classes: tuple[str, ...]) -> bool:
    """Whether an allergy means a drug: part of its name, or its name or class in the words."""
    said = " ".join(allergy.casefold().replace("-", " ").split())
    names = [" ".join(x.casefold().replace("-", " ").split()) for x in (name, *classes)]
    return bool(said) and (said in names[0] or any(x in said for x in names))


def _allergies(found: _Round) -> Iterator[Finding]:
    for treatment in found.treatments:
        name = found.name(treatment)
        drug = found.drugs.get(treatment.drug)
        known = (*treatment.classes, *(drug.classes if drug else ()))
        for allergy in found.patient.allergies:
            if _meets(allergy, name, known):
                why = f"{name}: the record names an allergy to {allergy}"
                yield Finding("allergy", "block", (name,), why, "the animal's own record", True)


def _by_law(found: _Round, finding: Finding) -> Finding:
    """Give a block as law and label have it where the practice is; other levels stand."""
    place = found.patient.jurisdiction.strip().casefold()
    here = (x for x in found.tables.laws if place in {n.casefold() for n in x.names})
    law = next((x for x in here if x.rule == finding.rule), None)
    if law is None or finding.level != "block":
        return finding
    level = law.level or finding.level
    return replace(
        finding,
        level=level,
        why=f"{finding.why}; {law.names[0]}: {law.text}",
        source=law.source,
        needs_reason=finding.needs_reason and level == "block",
        remedy=finding.remedy if level == "block" else "",
    )


_CHECKS: dict[str, Callable[[_Round, Rule], Iterator[Finding]]] = {
    "route": _single,
    "patient": _single,
    "place": _single,
    "pair": _pair,
    "succession": _succession,
    "without": _without,
    "total": _total,
    "course": _course,
    "competition": _competition,
    "food chain": _food_chain,
}


def check_treatments(
    tables: Interactions, drugs: Drugs, patient: Patient, treatments: tuple[Treatment, ...]
) -> tuple[Finding, ...]:
    """Give every rule that holds, blocks first, each finding once."""
    found = _Round(tables, {d.id: d for d in drugs}, patient, treatments)
    results = [*_allergies(found)]
    for rule in tables.rules:
        results += (_by_law(found, f) for f in _CHECKS[rule.kind](found, rule))
    return tuple(sorted(dict.fromkeys(results), key=lambda f: _ORDER.index(f.level)))
