import dataclasses

import pytest

from fieldnotes.clinical.course import Measured, Site
from fieldnotes.clinical.flag_tests import TESTS
from fieldnotes.clinical.flags import judge, standing_flags
from fieldnotes.clinical.healing import follow
from fieldnotes.clinical.measuring import ellipse, given
from fieldnotes.clinical.signs import NO_SIGNS, Signs
from fieldnotes.clinical.stalls import STALL_TESTS
from fieldnotes.domain.entries import FlagAnswered, Urgency
from fieldnotes.domain.wounds import Amount
from fieldnotes.knowledge.healing import load_healing

LIMB = Site("distal limb", proud_flesh=True)
SYN_3 = {0: 6.25, 7: 8.1, 14: 9.4, 21: 9.6, 28: 9.4, 35: 9.5}


def flags_of(areas, signs=NO_SIGNS, site=LIMB):
    series = [Measured(d, given(a)) for d, a in areas.items()]
    tables = load_healing()
    return {f.flag: f for f in judge(follow(series, site, tables), tables, signs)}


def test_every_shipped_rule_names_a_check_that_exists():
    rules = load_healing().flag_rules
    assert {rule.test for rule in rules} == set(TESTS)
    assert {r.test for r in rules if r.flag == "stalled"} <= set(STALL_TESTS)


def test_a_stall_is_prompted_at_day_28_to_35_and_not_while_retraction_is_expected():
    for until in (7, 14, 21):
        assert "stalled" not in flags_of({d: a for d, a in SYN_3.items() if d <= until})
    for until in (28, 35):
        assert "stalled" in flags_of({d: a for d, a in SYN_3.items() if d <= until})


def test_five_percent_in_a_fortnight_by_day_28_prompts_a_graft():
    found = flags_of({14: 30.0, 28: 28.5})
    assert "5 %" in found["graft"].why
    assert "graft" not in flags_of({14: 30.0, 28: 25.0})


def test_early_growth_of_a_distal_limb_is_no_failure():
    # Dart et al., Aust Vet J 87:215, 2009.
    assert flags_of({0: 4.0, 10: 5.0}) == {}
    assert "growing" in flags_of({0: 4.0, 14: 5.0, 24: 6.0})
    assert "growing" in flags_of({0: 4.0, 10: 5.0}, site=Site("neck"))
    bandaged = Site("distal limb", bandaged=True)
    assert flags_of({0: 4.0, 14: 5.0, 21: 6.0}, site=bandaged) == {}


def test_growth_beyond_what_any_trial_saw_is_told_even_early():
    assert "growing" not in flags_of({0: 7.0, 14: 14.0})
    assert "growing" in flags_of({0: 7.0, 14: 19.0})


def test_a_stalled_wound_where_proud_flesh_is_usual_asks_for_it():
    assert "proud_flesh" in flags_of(SYN_3)
    assert "proud_flesh" not in flags_of(SYN_3, site=Site("distal limb"))


@pytest.mark.parametrize(
    ("grade", "urgency"), [(1, "next visit"), (2, "next visit"), (3, "same day")]
)
def test_granulation_above_the_skin_edge_is_flagged_with_its_grade(grade, urgency):
    flag = flags_of({0: 4.0}, Signs(granulation_grade=grade))["proud_flesh"]
    assert flag.urgency == urgency
    assert f"grade {grade}" in flag.why


def test_a_sutured_wound_that_drains_on_day_5_is_infected():
    # Mansmann, Care of sutured wounds, client instructions.
    signs = Signs(infection=("more discharge",), sutured=True)
    assert flags_of({0: 4.0, 5: 4.0}, signs)["infection"].urgency == Urgency.SAME_DAY
    swollen = Signs(infection=("swelling",), sutured=True)
    assert "infection" not in flags_of({0: 4.0, 2: 4.0}, swollen)
    assert "infection" in flags_of({0: 4.0, 3: 4.0}, swollen)


def test_a_high_fever_comes_first():
    signs = Signs(temperature_c=39.1, granulation_grade=1, lameness=4)
    found = list(flags_of({0: 4.0, 8: 4.0}, signs).values())
    assert [f.urgency for f in found] == ["now", "same day", "next visit"]
    assert "infection" not in flags_of({0: 4.0}, Signs(temperature_c=38.7, foal=True))


@pytest.mark.parametrize(
    ("signs", "flag"),
    [
        (Signs(tract=True), "tract"),
        (Signs(exposed=("bone",)), "sequestrum"),
        (Signs(dehiscence="distal third"), "dehiscence"),
        (Signs(undermined_mm=12), "undermining"),
        (Signs(dressing_occlusive=True), "occlusive"),
        (Signs(in_cast=True, lameness=3, lameness_before=1), "lameness"),
        (Signs(days_unchanged=9), "bandage_old"),
    ],
)
def test_each_sign_raises_its_flag_and_its_absence_none(signs, flag):
    areas = {0: 4.0, 12: 3.5}
    assert flag in flags_of(areas, signs)
    assert flag not in flags_of(areas)


def test_a_bandage_may_come_off_a_small_or_level_dry_wound():
    bandaged = Site("distal limb", bandaged=True)
    assert "bandage_long" in flags_of({0: 4.0, 30: 1.5}, site=bandaged)
    assert "bandage_long" not in flags_of({0: 4.0, 30: 1.5})
    level = Signs(exudate=Amount.NONE, epithelial_rim=True)
    assert "bandage_long" in flags_of({0: 9.0, 30: 5.0}, level, bandaged)
    assert "bandage_long" not in flags_of({0: 9.0, 30: 5.0}, level, Site("foot", bandaged=True))


def test_a_limb_wound_over_5_cm_across_prompts_a_graft():
    tables = load_healing()
    for width, prompted in ((6.0, True), (4.9, False)):
        course = follow([Measured(6, ellipse(9.0, width))], LIMB, tables)
        assert ("graft" in {f.flag for f in judge(course, tables)}) is prompted


def test_a_healed_wound_raises_nothing():
    assert flags_of({0: 4.0, 40: 0.0}, Signs(tract=True)) == {}


def test_an_answered_flag_returns_when_the_numbers_get_worse():
    flags = tuple(flags_of({0: 4.0, 12: 3.5}, Signs(undermined_mm=12)).values())
    answer = FlagAnswered("undermining", "A", "wait", "healing from below", flags[0].level)
    assert standing_flags(flags, ()) == flags
    assert standing_flags(flags, (answer,)) == ()
    worse = dataclasses.replace(flags[0], level=flags[0].level + 1)
    assert standing_flags((worse,), (answer,)) == (worse,)
