"""The plan of a case: what is due after what, in which window, and what closes it."""

import datetime as dt

import pytest
from builders import (
    DAY0,
    a_bandage,
    a_care,
    a_case,
    a_closure,
    a_device,
    a_drug_dispensed,
    a_drug_given,
    a_finding,
    a_horse,
    a_practice,
    a_task,
    a_visit,
    a_wound,
    an_outcome,
    at,
    day,
)
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.domain.entries import (
    CaseEnd,
    Death,
    Discharge,
    Hold,
    Outcome,
    Referral,
    ReferralState,
)
from fieldnotes.domain.followups import Doer, State
from fieldnotes.domain.patients import Tetanus, TetanusHistory
from fieldnotes.domain.treatment import ClosureMethod, DeviceKind
from fieldnotes.domain.wounds import Amount, Phase
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.knowledge.rules import load_rules
from fieldnotes.planning.followups import plan, withdrawn
from fieldnotes.planning.replanning import changes, gone_because


def planned(case, today=DAY0, horse=None, practice=None):
    return plan(
        case, horse or a_horse(), load_regions(), load_rules(), practice or a_practice(), today
    )


def the(tasks, rule):
    found = [t for t in tasks if t.rule == rule]
    assert len(found) == 1, (rule, [t.key for t in tasks])
    return found[0]


def rules_of(tasks):
    return {t.rule for t in tasks}


def dates(task):
    return task.earliest, task.due, task.latest


def closed_with_drain(*later, **care):
    first = a_care(closure=a_closure(), placed=(a_device(),), **care)
    return a_case(a_visit(0, findings=(a_finding(),), care=(first,)), *later)


# Reference example 3.5: Manual of Equine Field Surgery, p. 22 (2-3 days); Mansmann client
# instructions (4-7 days).
def test_a_drain_comes_out_after_two_to_three_days_and_is_overdue_after_seven():
    task = the(planned(closed_with_drain()), "drain-out")
    assert dates(task) == (dt.date(2025, 6, 4), dt.date(2025, 6, 5), dt.date(2025, 6, 9))
    assert task.state(dt.date(2025, 6, 9)) is State.DUE
    assert task.state(dt.date(2025, 6, 10)) is State.OVERDUE
    assert "drain placed 2 Jun in wound A" in task.reason
    assert task.key == "drain-out:A:d1-2"


# 3.6: Malone, Large Animal Surgery Supplemental Notes: tension-relieving suture patterns.
def test_tension_sutures_come_out_from_day_three_to_four():
    care = a_care(closure=a_closure(tension_sutures=True))
    task = the(planned(a_case(a_visit(0, care=(care,)))), "tension-sutures-out")
    assert (task.earliest, task.due) == (dt.date(2025, 6, 5), dt.date(2025, 6, 6))


# 3.7: practice default.
def test_limb_sutures_come_out_on_day_fourteen():
    assert the(planned(closed_with_drain()), "sutures-out-limb").due == dt.date(2025, 6, 16)


# 5.10: Moens et al., Bone sequestration after limb wounds, 1980.
def test_exposed_periosteum_is_radiographed_at_once_and_again_at_day_ten_to_fifteen():
    tasks = planned(a_case(a_visit(0, findings=(a_finding(exposed=("periosteum",)),))))
    assert the(tasks, "bone-radiograph-first").due == DAY0
    again = the(tasks, "bone-radiograph-again")
    assert dates(again) == (dt.date(2025, 6, 12), dt.date(2025, 6, 17), dt.date(2025, 6, 30))


# 6.1-6.3: American Association of Equine Practitioners, Adult horse vaccination chart; updated
# tetanus guidelines, New Zealand (12 months).
@pytest.mark.parametrize(
    ("wounded", "months", "due"),
    [
        (dt.date(2025, 7, 10), 6, False),
        (dt.date(2025, 7, 11), 6, True),
        (dt.date(2025, 8, 1), 6, True),
        (dt.date(2025, 8, 1), 12, False),
    ],
)
def test_a_booster_is_due_when_the_last_dose_is_too_long_ago(wounded, months, due):
    case = a_case(a_visit(wounded), injured_at=at(wounded, 7))
    horse = a_horse(tetanus=Tetanus(TetanusHistory.DATED, dt.date(2025, 1, 10)))
    tasks = planned(case, wounded, horse, a_practice(tetanus_rule_months=months))
    assert ("tetanus-booster" in rules_of(tasks)) is due


# 6.5: product label, tetanus antitoxin (cover 7-14 days); New Zealand guidelines (repeat at 7).
def test_antitoxin_is_repeated_after_a_week_and_the_course_goes_on_after_four():
    on = dt.date(2025, 7, 11)
    drugs = tuple(a_drug_given(d, at=at(on, 10)) for d in ("tetanus-antitoxin", "tetanus-toxoid"))
    case = a_case(a_visit(on, findings=(a_finding(),), given=drugs), injured_at=at(on, 7))
    tasks = planned(case, on, a_horse(tetanus=Tetanus()))
    assert dates(the(tasks, "antitoxin-repeat")) == (
        dt.date(2025, 7, 18),
        dt.date(2025, 7, 18),
        dt.date(2025, 7, 25),
    )
    second = the(tasks, "tetanus-second-dose")
    assert (second.earliest, second.latest) == (dt.date(2025, 8, 8), dt.date(2025, 8, 22))
    assert "tetanus-course" not in rules_of(tasks)
    registered = a_horse(tetanus=Tetanus(TetanusHistory.DATED, on))
    assert "tetanus-second-dose" in rules_of(planned(case, on, registered))


def test_the_antitoxin_is_not_asked_for_after_a_visit_past_its_window_left_it_out():
    first = a_visit(0, findings=(a_finding(),), given=(a_drug_given("tetanus-antitoxin"),))
    assert "antitoxin-repeat" in rules_of(planned(a_case(first), day(20)))
    later = a_visit(15, findings=(a_finding(),))
    assert "antitoxin-repeat" not in rules_of(planned(a_case(first, later), day(20)))


def test_an_unknown_tetanus_history_counts_as_never():  # 6.6, New Zealand guidelines
    assert "tetanus-course" in rules_of(
        planned(a_case(a_visit()), horse=a_horse(tetanus=Tetanus()))
    )


def bandaged(on, **finding):
    bandage = a_bandage("non-adherent pad")
    visit = a_visit(on, findings=(a_finding(**finding),), care=(a_care(bandage=bandage),))
    return a_case(visit)


def change(tasks):
    return next(t for t in tasks if t.rule.startswith(("bandage-", "dressing-", "graft-")))


# 7.1: practice default; four days also in Paindaveine et al., 2024.
def test_a_granulating_wound_with_little_exudate_is_changed_after_four_days():
    on = dt.date(2025, 6, 10)
    tasks = planned(bandaged(on, phase=Phase.GRANULATING, exudate=Amount.LOW), on)
    assert change(tasks).due == dt.date(2025, 6, 14)


def test_an_inflamed_wet_wound_is_changed_every_day():  # 7.2, practice default
    tasks = planned(bandaged(0, phase=Phase.INFLAMMATORY, exudate=Amount.HEAVY))
    assert change(tasks).due == dt.date(2025, 6, 3)


# 7.4: Malone, Large Animal Surgery Supplemental Notes: skin loss.
def test_the_pressure_bandage_after_trimming_comes_off_the_next_day():
    on = dt.date(2025, 6, 20)
    care = a_care(granulation_trimmed=True, bandage=a_bandage())
    finding = a_finding(phase=Phase.GRANULATING)
    tasks = planned(a_case(a_visit(on, findings=(finding,), care=(care,))), on)
    assert the(tasks, "trim-pressure-off").due == dt.date(2025, 6, 21)
    assert the(tasks, "recheck-after-trim").due == dt.date(2025, 6, 24)


def test_the_vets_own_interval_outranks_every_rule():
    care = a_care(bandage=a_bandage(change_every_days=3))
    tasks = planned(a_case(a_visit(0, findings=(a_finding(),), care=(care,))))
    assert change(tasks).rule == "bandage-ordered"
    assert change(tasks).due == day(3)


def test_a_drain_taken_out_is_no_longer_due():
    case = closed_with_drain(a_visit(2, care=(a_care(removed=("drain",)),)))
    assert "drain-out" not in rules_of(planned(case, day(2)))


def test_taking_the_tension_sutures_leaves_the_skin_sutures_in():
    care = a_care(closure=a_closure(tension_sutures=True))
    case = a_case(
        a_visit(0, care=(care,)), a_visit(4, care=(a_care(removed=("tension sutures",)),))
    )
    tasks = planned(case, day(4))
    assert "tension-sutures-out" not in rules_of(tasks)
    assert "sutures-out-limb" in rules_of(tasks)


def test_absorbable_sutures_are_not_taken_out():
    care = a_care(closure=a_closure(absorbable=True))
    assert "sutures-out-limb" not in rules_of(planned(a_case(a_visit(0, care=(care,)))))


def test_a_task_named_done_at_a_visit_is_closed():
    key = the(planned(closed_with_drain()), "drain-out").key
    case = closed_with_drain(a_visit(2, tasks_done=(key,)))
    assert "drain-out" not in rules_of(planned(case, day(2)))


def test_a_late_recheck_serves_the_early_ones_that_were_missed():
    case = closed_with_drain(a_visit(8, findings=(a_finding(),)))
    assert rules_of(planned(case, day(8))).isdisjoint(
        {"recheck-limb-closed-1", "recheck-limb-closed-2"}
    )
    assert "recheck-limb-closed-3" in rules_of(planned(case, day(8)))


def test_a_moved_task_keeps_its_clinical_latest_day():
    key = the(planned(closed_with_drain()), "drain-out").key
    for to, due in ((6, 6), (12, 7)):
        moved = an_outcome(key, Outcome.MOVED, moved_to=day(to))
        task = the(planned(closed_with_drain(moved)), "drain-out")
        assert (task.due, task.latest) == (day(due), day(7))


def test_a_cancelled_task_says_who_and_turns_overdue_when_its_latest_day_passes():
    key = the(planned(closed_with_drain()), "drain-out").key
    off = an_outcome(key, Outcome.CANCELLED, 2, who="owner")
    task = the(planned(closed_with_drain(off)), "drain-out")
    assert "cancelled on 4 Jun by owner" in task.note
    assert task.state(day(8)) is State.OVERDUE


def test_a_culture_stays_open_until_the_owner_has_been_told():
    visit = a_visit(0, findings=(a_finding(),), care=(a_care(culture="swab"),))
    key = the(planned(a_case(visit)), "culture-result").key
    entered = a_case(visit, an_outcome(key, Outcome.DONE, 3, result="no growth"))
    assert the(planned(entered, day(3)), "culture-result").what.startswith("tell the owner")
    told = a_case(visit, an_outcome(key, Outcome.DONE, 3, told_owner=True))
    assert "culture-result" not in rules_of(planned(told, day(3)))


@pytest.mark.parametrize(
    "stop",
    [
        Hold(on_hold=True, on=day(1)),
        Referral(ReferralState.ACCEPTED, day(1)),
        Death(day(1), euthanased=False),
        Discharge(CaseEnd.CLOSED, day(1)),
    ],
)
def test_hold_referral_and_the_end_stop_every_task_and_list_what_was_withdrawn(stop):
    case, before = closed_with_drain(stop), planned(closed_with_drain(), day(1))
    assert planned(case, day(1)) == ()
    gone = withdrawn(case, a_horse(), load_regions(), load_rules(), a_practice(), day(1))
    assert gone == before


def test_back_from_hold_or_referral_the_plan_goes_on():
    case = closed_with_drain(Hold(on_hold=True, on=day(1)), Hold(on_hold=False, on=day(2)))
    assert "drain-out" in rules_of(planned(case, day(2)))


@pytest.mark.parametrize("finding", [a_finding(phase=Phase.HEALED), a_finding(area_cm2=0.0)])
def test_a_healed_wound_has_no_tasks_but_its_neighbour_keeps_its_own(finding):
    wounds = (a_wound("A"), a_wound("B", "head.forehead"))
    visit = a_visit(20, findings=(finding, a_finding("B")))
    tasks = planned(a_case(visit, wounds=wounds), day(20))
    assert {w for t in tasks for w in t.wounds} == {"B"}


def test_every_open_wound_has_a_next_recheck():
    for phase in (Phase.FRESH, Phase.INFLAMMATORY, Phase.GRANULATING, Phase.EPITHELIALISING):
        for number in (0, 30, 90):
            case = a_case(a_visit(number, findings=(a_finding(phase=phase),)))
            assert any("recheck" in t.rule for t in planned(case, day(number))), phase


def test_dispensed_drugs_become_the_owners_rounds_until_the_last_dose():
    visit = a_visit(0, dispensed=(a_drug_dispensed(days=5, interval_h=12),))
    task = the(planned(a_case(visit)), "drug-round")
    assert task.by is Doer.OWNER
    assert task.series.times_a_day == 2
    assert task.series.until == day(5)  # ten doses from Monday evening: the last Saturday morning
    assert "drug-round" not in rules_of(planned(a_case(visit), day(6)))


def test_a_task_set_by_hand_stands_in_the_plan():
    assert "look at the wound" in {t.what for t in planned(a_case(a_visit(), a_task()))}


def test_days_are_counted_on_the_practices_own_calendar():
    # 23:30 UTC on 2 June is 3 June in London summer time.
    visit = a_visit(
        dt.datetime(2025, 6, 2, 23, 30, tzinfo=dt.UTC), care=(a_care(placed=(a_device(),)),)
    )
    assert the(planned(a_case(visit)), "drain-out").latest == dt.date(2025, 6, 10)


@pytest.mark.parametrize(
    ("placed", "due"),
    [
        (dt.date(2028, 2, 27), dt.date(2028, 3, 1)),
        (dt.date(2027, 2, 27), dt.date(2027, 3, 2)),
        (dt.date(2025, 12, 30), dt.date(2026, 1, 2)),
        (dt.date(2025, 3, 29), dt.date(2025, 4, 1)),
    ],
)
def test_windows_cross_leap_days_month_ends_and_clock_changes(placed, due):
    case = a_case(a_visit(placed, care=(a_care(placed=(a_device(),)),)), injured_at=at(placed, 7))
    assert the(planned(case, placed), "drain-out").due == due


def changed(before, after, today):
    why = gone_because(after, load_rules(), a_practice().zone)
    return changes(planned(before, today), planned(after, today), why)


def test_a_change_of_plan_is_said_in_plain_lines_with_its_reason():
    case = closed_with_drain()
    out = closed_with_drain(a_visit(2, care=(a_care(removed=("drain",)),)))
    gone = "no longer due: take the drain out in wound A (5 Jun): drain removed 4 Jun"
    assert gone in changed(case, out, day(2))
    assert changed(case, case, day(2)) == ()


@pytest.mark.parametrize(
    ("entry", "why"),
    [
        (Death(day(1), euthanased=True), "the horse died"),
        (Hold(on_hold=True, on=day(1)), "the case is on hold"),
        (Referral(ReferralState.ACCEPTED, day(1)), "referral accepted"),
        (a_visit(9, findings=(a_finding(phase=Phase.HEALED),)), "wound A has healed"),
    ],
)
def test_what_ends_a_task_is_named_when_it_leaves_the_plan(entry, why):
    lines = changed(closed_with_drain(), closed_with_drain(entry), day(9))
    assert any(line.endswith(why) and "take the drain out" in line for line in lines)


def test_a_moved_task_and_a_new_bandage_interval_are_one_line_each():
    key = the(planned(closed_with_drain()), "drain-out").key
    moved = closed_with_drain(an_outcome(key, Outcome.MOVED, moved_to=day(4), reason="away"))
    (line,) = changed(closed_with_drain(), moved, day(1))
    assert line == "moved: take the drain out in wound A, 5 Jun to 6 Jun (moved to 6 Jun: away)"


def test_a_cancelled_task_is_said_to_stay_open_with_who_cancelled_and_until_when():
    key = the(planned(closed_with_drain()), "drain-out").key
    off = closed_with_drain(an_outcome(key, Outcome.CANCELLED, 1, who="the owner"))
    (line,) = changed(closed_with_drain(), off, day(1))
    assert line.startswith("still open: take the drain out in wound A (cancelled on 3 Jun by the")
    assert line.endswith("offer again by 9 Jun)")


def test_a_partly_closed_wound_gets_the_rechecks_of_its_stitches_and_no_doubles():
    part = a_care(closure=a_closure(ClosureMethod.PARTIAL))
    fresh = a_visit(0, findings=(a_finding(phase=Phase.FRESH),), care=(part,))
    rechecks = {r for r in rules_of(planned(a_case(fresh))) if r.startswith("recheck")}
    assert rechecks == {"recheck-limb-closed-1", "recheck-limb-closed-2", "recheck-limb-closed-3"}
    later = a_visit(7, findings=(a_finding(phase=Phase.GRANULATING),))
    tasks = planned(a_case(fresh, later), day(7))
    assert {r for r in rules_of(tasks) if r.startswith("recheck")} == {"recheck-granulating"}
    assert "sutures-out-limb" in rules_of(tasks)


def owner_change(*later, today=DAY0):
    care = a_care(bandage=a_bandage(change_every_days=3, changed_by="owner"))
    case = a_case(a_visit(0, findings=(a_finding(),), care=(care,)), *later)
    return [t for t in planned(case, today) if t.rule == "bandage-ordered"]


def test_an_owners_repeated_task_goes_on_from_today_and_never_shows_a_day_gone_by():
    key = owner_change()[0].key
    assert [t.due for t in owner_change(today=day(7))] == [day(9)]
    for what, to in ((Outcome.DONE, None), (Outcome.MISSED, None), (Outcome.MOVED, day(5))):
        said = an_outcome(key, what, 3, moved_to=to)
        due = [t.due for t in owner_change(said, today=day(10))]
        assert due == [day(11) if to else day(12)], what
    over = an_outcome(key, Outcome.NOT_APPLICABLE, 3)
    assert owner_change(over, today=day(4)) == []


def test_one_time_of_a_series_done_at_a_visit_leaves_the_later_times():
    key = owner_change()[0].key
    assert [t.due for t in owner_change(a_visit(3, tasks_done=(key,)), today=day(3))] == [day(6)]


def test_a_sample_ticked_off_at_a_visit_still_waits_for_its_result_and_the_owner():
    visit = a_visit(0, findings=(a_finding(),), care=(a_care(culture="swab"),))
    key = the(planned(a_case(visit)), "culture-result").key
    ticked = a_case(visit, a_visit(3, tasks_done=(key,)))
    assert the(planned(ticked, day(3)), "culture-result").what.startswith("enter the result")
    read = a_case(visit, an_outcome(key, Outcome.DONE, 3, result="no growth"))
    task = the(planned(read, day(3)), "culture-result")
    assert task.what == "tell the owner: result of the culture"
    assert "no growth" in task.note


@pytest.mark.parametrize(("given", "still_due"), [(27, True), (28, False), (42, False)])
def test_a_second_tetanus_dose_counts_from_four_weeks_on(given, still_due):
    # American Association of Equine Practitioners, Adult horse vaccination chart: 4-6 weeks.
    horse = a_horse(tetanus=Tetanus(TetanusHistory.UNKNOWN))
    first = a_visit(0, given=(a_drug_given("tetanus-toxoid"),))
    second = a_visit(given, given=(a_drug_given("tetanus-toxoid", at=at(given)),))
    tasks = planned(a_case(first, second), day(given), horse)
    assert ("tetanus-second-dose" in rules_of(tasks)) is still_due
    task = the(planned(a_case(first), day(1), horse), "tetanus-second-dose")
    assert dates(task) == (day(28), day(28), day(42))


# A horse of unknown history given toxoid alone, its register then brought up to date.
@pytest.mark.parametrize(
    ("finished", "second_on", "due"),
    [(None, None, True), (False, None, True), (True, None, False), (None, 28, False)],
)
def test_toxoid_alone_is_no_cover_before_the_second_dose(finished, second_on, due):
    # American Association of Equine Practitioners, Adult horse vaccination chart: 2 doses.
    first = a_visit(0, given=(a_drug_given("tetanus-toxoid"),))
    visits, last = [first], DAY0
    if second_on:
        given = a_drug_given("tetanus-toxoid", at=at(second_on))
        visits, last = [first, a_visit(second_on, given=(given,))], day(second_on)
    horse = a_horse(tetanus=Tetanus(TetanusHistory.DATED, last, finished))
    tasks = planned(a_case(*visits), day(second_on or 1), horse)
    assert ("tetanus-second-dose" in rules_of(tasks)) is due
    assert "tetanus-course" not in rules_of(tasks)


# The first dose given elsewhere on day 3, as the register has it; the visits' own doses beside it.
@pytest.mark.parametrize(
    ("elsewhere", "given_on", "window"),
    [
        (3, None, (31, 31, 45)),
        (3, 31, None),
        (3, 30, (31, 31, 45)),
        (3, 1, (29, 29, 43)),
    ],
)
def test_a_first_dose_given_elsewhere_after_the_injury_asks_for_the_second(
    elsewhere, given_on, window
):
    # American Association of Equine Practitioners, Adult horse vaccination chart: 4-6 weeks.
    visits = [a_visit(0)]
    if given_on:
        given = a_drug_given("tetanus-toxoid", at=at(given_on))
        visits.append(a_visit(given_on, given=(given,)))
    horse = a_horse(tetanus=Tetanus(TetanusHistory.DATED, day(elsewhere), finished=False))
    tasks = planned(a_case(*visits), day(given_on or 4), horse)
    assert "tetanus-course" not in rules_of(tasks)
    if window is None:
        assert "tetanus-second-dose" not in rules_of(tasks)
    else:
        task = the(tasks, "tetanus-second-dose")
        assert dates(task) == tuple(day(n) for n in window)
        assert ("elsewhere" in task.reason) is (given_on != 1)


def test_a_booster_is_no_new_course_and_one_dose_before_the_injury_is_no_cover():
    boosted = a_case(a_visit(0, given=(a_drug_given("tetanus-toxoid"),)))
    known = a_horse(tetanus=Tetanus(TetanusHistory.DATED, dt.date(2024, 3, 1)))
    assert "tetanus-second-dose" not in rules_of(planned(boosted, day(1), known))
    once = a_horse(tetanus=Tetanus(TetanusHistory.DATED, dt.date(2025, 5, 20), finished=False))
    assert "tetanus-course" in rules_of(planned(a_case(a_visit(0)), horse=once))


# Updated tetanus guidelines, New Zealand: toxoid and antitoxin when unvaccinated or unknown.
@pytest.mark.parametrize(
    ("known", "drugs", "asked"),
    [
        (Tetanus(), ("tetanus-toxoid",), True),
        (Tetanus(TetanusHistory.NEVER), ("tetanus-toxoid",), True),
        (Tetanus(), ("tetanus-toxoid", "tetanus-antitoxin"), False),
        (Tetanus(TetanusHistory.DATED, dt.date(2024, 3, 1)), ("tetanus-toxoid",), False),
        (Tetanus(TetanusHistory.DATED, dt.date(2025, 5, 1), False), ("tetanus-toxoid",), True),
    ],
)
def test_toxoid_alone_leaves_the_antitoxin_of_an_unprotected_horse_due(known, drugs, asked):
    case = a_case(a_visit(0, given=tuple(a_drug_given(d) for d in drugs)))
    assert ("tetanus-antitoxin" in rules_of(planned(case, day(1), a_horse(tetanus=known)))) is asked


@pytest.mark.parametrize(("before", "asked"), [(40, False), (28, False), (27, True)])
def test_a_dose_at_the_visit_may_be_the_second_of_a_course_begun_before_the_injury(before, asked):
    # American Association of Equine Practitioners, Adult horse vaccination chart: 4-6 weeks.
    horse = a_horse(tetanus=Tetanus(TetanusHistory.DATED, day(-before), finished=False))
    tasks = planned(a_case(a_visit(0, given=(a_drug_given("tetanus-toxoid"),))), day(1), horse)
    assert ("tetanus-second-dose" in rules_of(tasks)) is asked


cares = st.builds(
    a_care,
    closure=st.one_of(st.none(), st.builds(a_closure, st.sampled_from(ClosureMethod))),
    placed=st.lists(st.builds(a_device, st.sampled_from(DeviceKind)), max_size=2).map(tuple),
    bandage=st.one_of(
        st.none(), st.builds(a_bandage, change_every_days=st.sampled_from([None, 0.5, 1.5, 3]))
    ),
    granulation_trimmed=st.booleans(),
    removed=st.sampled_from([(), ("drain",), ("sutures",), ("cast",)]),
)
found = st.builds(
    a_finding,
    phase=st.sampled_from(Phase),
    exudate=st.sampled_from(Amount),
    exposed=st.sampled_from([(), ("bone",)]),
    infection_signs=st.sampled_from([(), ("heat",)]),
)
regions = st.sampled_from(["left.hind.metatarsus.dorsal", "right.fore.fetlock.dorsal", "head.poll"])


@given(st.lists(st.tuples(found, cares), min_size=1, max_size=4), regions, st.integers(0, 60))
def test_windows_are_in_order_keys_are_one_each_and_the_plan_is_the_same_twice(seen, region, ago):
    visits = [a_visit(3 * n, findings=(f,), care=(c,)) for n, (f, c) in enumerate(seen)]
    case = a_case(*visits, wounds=(a_wound("A", region),))
    tasks = planned(case, day(ago))
    assert all(t.earliest <= t.due <= t.latest for t in tasks)
    assert len({t.key for t in tasks}) == len(tasks)
    assert all(t.reason and t.source for t in tasks)
    assert planned(case, day(ago)) == tasks
