"""What is known of a wound and its horse, as plain words that rules can ask for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.clinical.tetanus import tetanus_decision
from fieldnotes.domain.followups import Doer
from fieldnotes.domain.patients import TetanusHistory
from fieldnotes.domain.treatment import ClosureMethod, DeviceKind
from fieldnotes.domain.wounds import Phase
from fieldnotes.knowledge.ages import is_foal
from fieldnotes.knowledge.rules import FACTS
from fieldnotes.planning.anchors import TOXOID

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator, Mapping

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.patients import Horse, Tetanus
    from fieldnotes.domain.treatment import Bandage, Closure
    from fieldnotes.domain.wounds import Finding, Wound
    from fieldnotes.knowledge.regions import Regions
    from fieldnotes.knowledge.rules import Condition, Rule, Rules
    from fieldnotes.planning.anchors import Event

Facts = dict[str, frozenset[str]]

OPEN_METHODS = (ClosureMethod.SECOND_INTENTION, ClosureMethod.PARTIAL)
OPEN_PHASES = (Phase.GRANULATING, Phase.EPITHELIALISING)
VETS_OWN = (DeviceKind.DRAIN, DeviceKind.CAST, DeviceKind.BANDAGE_CAST)  # changed by the vet


def _yes(value: object) -> frozenset[str]:
    return frozenset({"yes" if value else "no"})


def _after(events: Iterable[Event], wound: str, placed: str, gone: tuple[str, ...]) -> bool:
    """Whether the last of these events is the placing, not the removal."""
    kinds = [e.kind for e in events if e.wound == wound and e.kind in {placed, *gone}]
    return bool(kinds) and kinds[-1] == placed


def last_finding(case: Case, wound: str) -> Finding | None:
    """Give a wound's newest finding."""
    found = case.findings(wound)
    return found[-1][1] if found else None


def healed(case: Case, wound: str) -> bool:
    """Whether a wound was last found healed: so named, or with no area left."""
    finding = last_finding(case, wound)
    return finding is not None and finding.healed


def last_closure(case: Case, wound: str) -> Closure | None:
    """Give how a wound was last closed."""
    found = [care.closure for _, care in case.care(wound) if care.closure is not None]
    return found[-1] if found else None


def last_bandage(case: Case, wound: str) -> Bandage | None:
    """Give the bandage a wound has on; None if it has none."""
    worn: Bandage | None = None
    for _, care in case.care(wound):
        worn = care.bandage or (None if care.bandage_stopped else worn)
    return worn


def devices_in(case: Case, wound: str) -> tuple[DeviceKind, ...]:
    """Give the drains, casts and splints of a wound that have not come out or off."""
    held: list[DeviceKind] = []
    for _, care in case.care(wound):
        held += [d.kind for d in care.placed]
        held = [k for k in held if not any(k.value in r.casefold() for r in care.removed)]
    return tuple(held)


def vets_first(
    devices: Iterable[DeviceKind], closure: ClosureMethod | None, exposed: Iterable[str]
) -> bool:
    """Whether the next bandage change is the vet's unless the vet has said otherwise."""
    grafted = closure is ClosureMethod.GRAFT
    return grafted or any(exposed) or any(d in VETS_OWN for d in devices)


def owner_changes(case: Case, wound: str) -> bool:
    """Whether the owner changes a wound's bandage.

    Without an interval nobody has decided so over a drain, cast, graft or exposed structure.
    """
    bandage = last_bandage(case, wound)
    if bandage is None or bandage.changed_by != Doer.OWNER:
        return False
    closure, finding = last_closure(case, wound), last_finding(case, wound)
    method = closure.method if closure else None
    exposed = finding.exposed if finding else ()
    devices = devices_in(case, wound)
    return bandage.change_every_days is not None or not vets_first(devices, method, exposed)


def _state(closure: Closure | None, finding: Finding | None) -> frozenset[str]:
    if closure is not None and closure.method is ClosureMethod.GRAFT:
        return frozenset({"grafted"})
    found = set()
    if closure is not None and closure.method is not ClosureMethod.SECOND_INTENTION:
        found.add("closed")
    broken = finding is not None and (finding.dehiscence or finding.phase in OPEN_PHASES)
    if closure is None or closure.method in OPEN_METHODS or broken:
        found.add("open")
    return frozenset(found)


def _finding_facts(finding: Finding | None) -> Facts:
    if finding is None:
        return {"phase": frozenset({Phase.FRESH.value})}
    return {
        "phase": frozenset({finding.phase.value}),
        "exudate": frozenset({finding.exudate.value}),
        "granulation": frozenset({str(finding.granulation_grade)}),
        "infection": _yes(finding.infection_signs),
        "exposed": frozenset(finding.exposed),
        "synovial": frozenset({finding.synovial_entry.value}),
        "dehiscence": _yes(finding.dehiscence),
        "tract": _yes(finding.tract),
    }


def _bandage_facts(bandage: Bandage | None) -> Facts:
    layers = bandage.layers if bandage else ()
    ordered = bandage is not None and bandage.change_every_days is not None
    return {
        "bandaged": _yes(bandage),
        "dressing": frozenset(x.material.casefold() for x in layers[:1]),
        "interval": frozenset({"ordered" if ordered else "by rule"}),
    }


def _region_facts(wound: Wound, regions: Regions) -> Facts:
    if wound.region not in regions:
        return {"region": frozenset({wound.region})}
    found = regions.get(wound.region).cls
    return {
        "region": frozenset({wound.region, found.row}),
        "group": frozenset({found.group}),
        "high_motion": _yes(found.high_motion),
        "sequestrum_risk": _yes(found.sequestrum_risk),
    }


def wound_facts(case: Case, wound: Wound, regions: Regions, events: tuple[Event, ...]) -> Facts:
    """Give what is known of a wound."""
    label = wound.label
    closure, finding = last_closure(case, label), last_finding(case, label)
    sutured = closure is not None and not closure.absorbable
    kept = _after(events, label, "closed", ("sutures removed",))
    devices = (
        d.value
        for d in DeviceKind
        if _after(events, label, f"{d.value} placed", (f"{d.value} removed",))
    )
    return {
        **_region_facts(wound, regions),
        **_finding_facts(finding),
        **_bandage_facts(last_bandage(case, label)),
        "kind": frozenset({wound.kind.value}),
        "contamination": frozenset({wound.contamination.value}),
        "closure": frozenset({closure.method.value if closure else "not recorded"}),
        "state": _state(closure, finding),
        "sutures": frozenset({"in" if sutured and kept else "none"}),
        "device": frozenset(devices),
    }


def _tetanus(
    horse: Horse, rules: Rules, months: int, injured: dt.date, events: tuple[Event, ...]
) -> frozenset[str]:
    known = horse.tetanus
    last = known.last if known.history is TetanusHistory.DATED else None
    given = [(e.drug, e.on) for e in events if e.kind == "drug given"]
    doses = sorted(on for drug, on in given if drug == TOXOID)
    if doses:
        return frozenset(
            _after_toxoid(
                known, last, doses, rules, injured, antitoxin="tetanus-antitoxin" in dict(given)
            )
        )
    if last is None or known.finished is False:
        return frozenset({"course due"})
    if last > injured:
        return frozenset({"covered"})
    decision = tetanus_decision(rules.tetanus, injured, last, months)
    return frozenset({"booster due" if decision.toxoid else "covered"})


def _after_toxoid(
    known: Tetanus,
    last: dt.date | None,
    doses: list[dt.date],
    rules: Rules,
    injured: dt.date,
    *,
    antitoxin: bool,
) -> Iterator[str]:
    """Tell a booster from the first dose of a course, which covers nobody before the second."""
    apart = rules.tetanus.next_dose_days[0]
    begun = last if last is not None and known.finished is False else doses[0]
    second = (doses[-1] - min(begun, doses[0])).days >= apart
    # The register may hold the date of the very dose given here: it tells nothing of before.
    before = last is not None and last < doses[0] and known.finished is not False
    protected = known.finished is True or (before and not antitoxin)
    yield "covered" if protected or second else "course begun"
    if not protected and not antitoxin and (doses[-1] - injured).days < apart:
        yield "antitoxin due"


def case_facts(
    horse: Horse, rules: Rules, months: int, today: dt.date, events: tuple[Event, ...]
) -> Facts:
    """Give what is known of the horse and its treatment; the first event is the injury."""
    age = horse.age_days(today)
    courses = [e for e in events if e.kind == "drug started" and e.until and e.until >= today]
    active = any("antimicrobial" in rules.drug_words(e.drug) for e in courses)
    age_word = "unknown" if age is None else "foal" if is_foal(age) else "adult"
    return {
        "tetanus": _tetanus(horse, rules, months, events[0].on, events),
        "on_antimicrobial": _yes(active),
        "species": frozenset({horse.species.value}),
        "age": frozenset({age_word}),
    }


def _holds(condition: Condition, facts: Mapping[str, frozenset[str]]) -> bool:
    words = facts.get(condition.fact, frozenset())
    if FACTS[condition.fact] is None and condition.fact != "drug":
        return any(part in word for part in condition.any_of for word in words)
    return any(word in words for word in condition.any_of)


def applies(rule: Rule, facts: Mapping[str, frozenset[str]]) -> bool:
    """Whether all of a rule's conditions hold and none of its exceptions."""
    return all(_holds(c, facts) for c in rule.when) and not any(
        _holds(c, facts) for c in rule.unless
    )
