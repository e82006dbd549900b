"""The plan of a case: rules over its folded record, each task with its window and reason."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.domain.cases import Status
from fieldnotes.domain.entries import ReferralState
from fieldnotes.domain.followups import Doer, FollowUp, Series
from fieldnotes.planning.anchors import events, first_dose_elsewhere, last_dose, local_date
from fieldnotes.planning.facts import (
    applies,
    case_facts,
    healed,
    last_bandage,
    owner_changes,
    wound_facts,
)
from fieldnotes.planning.outcomes import Clock, with_outcomes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.patients import Horse, Practice
    from fieldnotes.knowledge.regions import Regions
    from fieldnotes.knowledge.rules import Rule, Rules
    from fieldnotes.planning.anchors import Event
    from fieldnotes.planning.facts import Facts

BY_HAND = "set by the vet"
OWN = "set by the practice"


@dataclass(frozen=True)
class _Found:
    """A task with the rule and event it came from."""

    rule: Rule
    event: Event
    task: FollowUp


@dataclass(frozen=True)
class _Scene:
    """A case with what is known of it on a day."""

    case: Case
    rules: Rules
    today: dt.date
    events: tuple[Event, ...]
    by_case: Facts
    by_wound: dict[str, Facts]


def _days(start: dt.date, number: int) -> dt.date:
    return start + dt.timedelta(days=number)


def _short(day: dt.date) -> str:
    return f"{day.day} {day:%b}"


def _span(rule: Rule, every: float | None) -> str:
    if every is not None:
        return f"every {every:g} days" if every != 1 else "every day"
    if rule.latest_days <= 0:
        return "the same day"
    first, due, last = rule.earliest_days, rule.due_days, rule.latest_days
    if first < 0:
        return f"from {-first} day before to {last} day after"
    usual = f"day {due}" if first == due else f"day {first}-{due}"
    return f"{usual} after, by day {last} at the latest"


def _reason(rule: Rule, event: Event, wounds: tuple[str, ...], every: float | None) -> str:
    what = f"{event.name}: {event.kind}" if event.name else event.kind
    where = f" in wound {', '.join(wounds)}" if wounds else ""
    own = f" ({OWN})" if rule.source.startswith(OWN) else ""
    return f"{what} {_short(event.on)}{where}; {_span(rule, every)}{own}"


def _anchors(scene: _Scene, rule: Rule, wound: str) -> tuple[Event, ...]:
    """Give the events of the case or wound that a rule counts from."""
    found = tuple(
        e
        for e in scene.events
        if e.kind == rule.anchor and (e.wound == wound or (rule.per == "case" and not wound))
    )
    if rule.which == "each":
        return tuple({(e.entry, e.drug, e.wound): e for e in found}.values())
    matching = tuple(e for e in found if _drug_fits(scene, rule, e))
    return matching[:1] if rule.which == "first" else matching[-1:]


def _drug_fits(scene: _Scene, rule: Rule, event: Event) -> bool:
    wanted = [c for c in rule.when if c.fact == "drug"]
    words = scene.rules.drug_words(event.drug)
    return all(any(w in words for w in c.any_of) for c in wanted)


def _shows(found: _Found, event: Event) -> bool:
    """Whether an event shows that a task has been done."""
    rule, anchor = found.rule, found.event
    same = event.entry == anchor.entry
    if event.kind not in rule.done_by:
        return False
    # The visit a task comes from does it only where it may be done at once, as a radiograph.
    if same and (rule.earliest_days > 0 or event.kind in {rule.anchor, "seen"}):
        return False
    if anchor.wound and event.wound != anchor.wound:
        return False
    if anchor.at is not None and event.at is not None and event.at <= anchor.at:
        return False
    if event.kind == "drug given" and event.drug != anchor.drug:
        return False
    first = anchor.on if rule.early else found.task.earliest
    return event.on >= first


def _every(scene: _Scene, rule: Rule, event: Event) -> float | None:
    if rule.ordered:
        bandage = last_bandage(scene.case, event.wound)
        return bandage.change_every_days if bandage else None
    return rule.every_days


def _doer(scene: _Scene, rule: Rule, event: Event) -> Doer:
    if rule.by != "changer":
        return Doer(rule.by)
    return Doer.OWNER if owner_changes(scene.case, event.wound) else Doer.VET


def _series(
    rule: Rule, first: dt.date, event: Event, every: float, today: dt.date
) -> tuple[dt.date, Series] | None:
    """Give the next day of an owner's series from today on, and the series; None when over."""
    step = max(1, math.floor(every))
    times = rule.times_a_day if every >= 1 else max(1, round(1 / every))
    until = _days(event.on, rule.until_days or 0)
    passed = max(0, math.ceil((today - first).days / step))
    following = _days(first, passed * step)
    return None if following > until else (following, Series(step, until, times))


def _task(scene: _Scene, rule: Rule, event: Event, wounds: tuple[str, ...]) -> FollowUp | None:
    every, by = _every(scene, rule, event), _doer(scene, rule, event)
    days = (rule.earliest_days, rule.due_days, rule.latest_days)
    if rule.ordered:
        days = (max(1, math.floor(every or 1)),) * 3
    earliest, due, latest = (_days(event.on, d) for d in days)
    series: Series | None = None
    if every is not None and by is Doer.OWNER:
        found = _series(rule, due, event, every, scene.today)
        if found is None:
            return None
        earliest = due = latest = found[0]
        series = found[1]
    part = f"{event.drug}." if event.drug else ""
    return FollowUp(
        key=f"{rule.id}:{event.wound or '-'}:{part}{event.entry}",
        case=scene.case.ref,
        horse=scene.case.opened.horse,
        premises=scene.case.opened.premises,
        what=rule.what,
        by=by,
        earliest=earliest,
        due=due,
        latest=latest,
        reason=_reason(rule, event, wounds, every),
        source=rule.source,
        wounds=wounds,
        rule=rule.id,
        kind=rule.kind,
        urgency=rule.urgency,
        series=series,
        note=rule.note,
    )


def _stale(scene: _Scene, found: _Found) -> bool:
    """Whether a task has lapsed: its time is past for good, or the drug course too short for it."""
    task, event = found.task, found.event
    if task.by is Doer.OWNER and task.latest < scene.today:
        return True
    seen_after = any(e.kind == "seen" and e.on > task.latest for e in scene.events)
    if found.rule.lapses and seen_after:
        return True
    return event.kind == "drug started" and event.until is not None and task.due > event.until


def _open(scene: _Scene, rule: Rule, event: Event, wounds: tuple[str, ...]) -> Iterator[_Found]:
    task = _task(scene, rule, event, wounds)
    if task is None:
        return
    found = _Found(rule, event, task)
    if not _stale(scene, found) and not any(_shows(found, e) for e in scene.events):
        yield found


def _of_wound(scene: _Scene, wound: str) -> Iterator[_Found]:
    facts = scene.by_case | scene.by_wound[wound]
    for rule in scene.rules.rules:
        if rule.per == "wound" and applies(rule, facts):
            for event in _anchors(scene, rule, wound):
                yield from _open(scene, rule, event, (wound,))


def _labels(scene: _Scene, rule: Rule, event: Event) -> tuple[str, ...] | None:
    """Give the wounds a rule for the whole case is about; None where it does not apply."""
    by_case = scene.by_case | {"drug": scene.rules.drug_words(event.drug)}
    about_wounds = any(c.fact not in by_case for c in (*rule.when, *rule.unless))
    if not about_wounds:
        return () if applies(rule, by_case) else None
    labels = tuple(w for w, facts in scene.by_wound.items() if applies(rule, by_case | facts))
    return labels or None


def _of_case(scene: _Scene) -> Iterator[_Found]:
    for rule in scene.rules.rules:
        if rule.per != "case":
            continue
        for event in _anchors(scene, rule, ""):
            labels = _labels(scene, rule, event)
            if labels is not None:
                yield from _open(scene, rule, replace(event, wound=""), labels)


def _chosen(found: list[_Found]) -> list[_Found]:
    """Keep the soonest of exclusive rules of one kind and wound; fallbacks only where alone."""
    kept: list[_Found] = []
    order = sorted(found, key=lambda f: (f.rule.fallback, f.task.due, f.rule.id))
    for item in order:
        same = [k for k in kept if _rival(k, item)]
        exclusive = item.rule.exclusive and any(k.rule.exclusive for k in same)
        if not exclusive and not (item.rule.fallback and same):
            kept.append(item)
    return kept


def _rival(kept: _Found, item: _Found) -> bool:
    return (kept.rule.kind, kept.task.wounds) == (item.rule.kind, item.task.wounds)


def _by_hand(case: Case) -> Iterator[FollowUp]:
    for added in case.tasks:
        body = added.body
        yield FollowUp(
            key=f"task:{','.join(body.wounds) or '-'}:{added.entry.id}",
            case=case.ref,
            horse=case.opened.horse,
            premises=case.opened.premises,
            what=body.what,
            by=Doer.OWNER if body.by == Doer.OWNER else Doer.VET,
            earliest=min(body.earliest, body.due),
            due=body.due,
            latest=max(body.latest, body.due),
            reason=body.reason or BY_HAND,
            source=BY_HAND,
            wounds=body.wounds,
        )


def _drug_rounds(case: Case, scene: _Scene, zone: str) -> Iterator[FollowUp]:
    """Give the owner's rounds of each dispensed course that is not over."""
    ends = {(e.entry, e.drug): e.until for e in scene.events if e.kind == "drug started"}
    for visit in case.visits:
        for course in visit.body.dispensed:
            start = local_date(course.starts, zone)
            until = ends[visit.entry.id, course.drug] or local_date(last_dose(course), zone)
            step = max(1, math.floor(course.interval_h / 24))
            passed = max(0, math.ceil((scene.today - start).days / step))
            day = _days(start, passed * step)
            if day > until:
                continue
            dose = f": {course.owner_dose}" if course.owner_dose else ""
            yield FollowUp(
                key=f"drug-round:-:{course.drug}.{visit.entry.id}",
                case=case.ref,
                horse=case.opened.horse,
                premises=case.opened.premises,
                what=f"give {course.name}{dose}",
                by=Doer.OWNER,
                earliest=day,
                due=day,
                latest=day,
                reason=f"{course.name} dispensed from {_short(start)} to {_short(until)}",
                source="dispensed at the visit",
                rule="drug-round",
                series=Series(step, until, max(1.0, 24 / course.interval_h)),
            )


def _scene(  # noqa: PLR0917  (a case and all it is judged by)
    case: Case, horse: Horse, regions: Regions, rules: Rules, practice: Practice, today: dt.date
) -> _Scene:
    happened = events(case, rules, practice.zone)
    injury, *later = happened
    happened = (injury, *first_dose_elsewhere(horse, happened), *later)
    by_case = case_facts(horse, rules, practice.tetanus_rule_months, today, happened)
    wounds = [w for w in case.wounds if not healed(case, w.label)]
    by_wound = {w.label: wound_facts(case, w, regions, happened) for w in wounds}
    return _Scene(case, rules, today, happened, by_case, by_wound)


def suspended(case: Case) -> bool:
    """Whether a hold, an accepted referral or the case's end has stopped every task."""
    referred = case.referred is ReferralState.ACCEPTED
    return case.status is not Status.OPEN or case.on_hold or referred


def plan(  # noqa: PLR0917  (a case and all it is judged by)
    case: Case, horse: Horse, regions: Regions, rules: Rules, practice: Practice, today: dt.date
) -> tuple[FollowUp, ...]:
    """Give the open follow-ups of a case on a day, soonest first; none while it is suspended."""
    if suspended(case):
        return ()
    scene = _scene(case, horse, regions, rules, practice, today)
    found = [f for wound in scene.by_wound for f in _of_wound(scene, wound)]
    found += _of_case(scene)
    told = frozenset(f.task.key for f in found if f.rule.told)
    tasks = [f.task for f in _chosen(found)]
    tasks += [*_by_hand(case), *_drug_rounds(case, scene, practice.zone)]
    still_open = with_outcomes(tasks, case, told, Clock(today, practice.zone))
    return tuple(sorted(still_open, key=lambda t: (t.due, t.latest, t.key)))


def withdrawn(  # noqa: PLR0917  (a case and all it is judged by)
    case: Case, horse: Horse, regions: Regions, rules: Rules, practice: Practice, today: dt.date
) -> tuple[FollowUp, ...]:
    """Give the tasks that a hold, a referral or the end of the case has stopped."""
    if not suspended(case):
        return ()
    going_on = replace(case, status=Status.OPEN, on_hold=False, referred=None)
    return plan(going_on, horse, regions, rules, practice, today)
