"""Triage of an owner's report: red flags, adding signs, and what an anti-inflammatory hides."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.clinical.triage import Report, infection_steps, triage
from fieldnotes.domain.errors import UnknownNameError
from fieldnotes.domain.urgency import Urgency
from fieldnotes.knowledge.triage import FeverLimits, load_triage

TABLES = load_triage()
AT = dt.datetime(2026, 11, 25, 9, 0, tzinfo=dt.UTC)
CALM = {"temperature_c": 37.8, "gait_normal": True}
ORDER = [Urgency.NOW, Urgency.SAME_DAY, Urgency.NEXT_VISIT]


def urgency(*signs, **more):
    """The urgency of a report."""
    return triage(TABLES, Report(AT, signs, **more)).urgency


def bute(hours):
    """Phenylbutazone so many hours ago."""
    return {"last_nsaid_at": AT - dt.timedelta(hours=hours), "nsaid": "phenylbutazone"}


@pytest.mark.parametrize(
    ("sign", "expected"),
    [
        # Malone, acute wound management, Univ. Minnesota
        ("bleeding", Urgency.NOW),
        ("unstable limb", Urgency.NOW),
        # Joswig and Hardy, axillary wounds, 2012
        ("breathing hard", Urgency.NOW),
        # common practice
        ("sudden swelling", Urgency.NOW),
        # The Veterinary Care of the Horse, pp. 323 and 384
        ("much more lame", Urgency.SAME_DAY),
        # Findley et al., 2014
        ("foot puncture", Urgency.SAME_DAY),
        # Janicek et al., cast complications
        ("lamer in cast", Urgency.SAME_DAY),
        ("bandage slipped", Urgency.SAME_DAY),
        ("bandage wet", Urgency.SAME_DAY),
        ("swelling above bandage", Urgency.SAME_DAY),
        ("proud flesh", Urgency.NEXT_VISIT),
    ],
)
def test_a_red_flag_is_as_urgent_whatever_else_is_normal(sign, expected):
    assert urgency(sign, **CALM) is expected
    assert urgency(sign) is expected


def test_swelling_above_a_bandage_never_tells_to_tighten():
    outcome = triage(TABLES, Report(AT, ("swelling above bandage",)))
    assert outcome.advice == ("do not tighten it",)


def test_two_signs_of_infection_are_seen_the_same_day():
    assert urgency("heat", "more discharge", **CALM) is Urgency.SAME_DAY


def test_one_sign_waits_only_with_a_known_normal_temperature_and_gait():
    assert urgency("heat", **CALM) is Urgency.NEXT_VISIT
    assert urgency("heat") is Urgency.SAME_DAY
    assert urgency("heat", temperature_c=37.8) is Urgency.SAME_DAY
    assert urgency("heat", temperature_c=37.8, gait_normal=False) is Urgency.SAME_DAY


def test_an_anti_inflammatory_within_its_action_takes_the_comfort_out_of_normal_signs():
    # UK data sheets, phenylbutazone: effect may last 3 days or more
    assert urgency("heat", **CALM, **bute(70)) is Urgency.SAME_DAY
    assert urgency("heat", **CALM, **bute(73)) is Urgency.NEXT_VISIT
    unnamed = {"last_nsaid_at": AT - dt.timedelta(hours=70)}
    assert urgency("heat", **CALM, **unnamed) is Urgency.SAME_DAY
    flunixin = unnamed | {"nsaid": "flunixin"}
    assert urgency("heat", **CALM, **flunixin) is Urgency.NEXT_VISIT
    assert triage(TABLES, Report(AT, **CALM, **bute(10))).masked


def test_a_report_without_an_answer_about_anti_inflammatories_asks_for_it():
    assert any("last anti-inflammatory" in n for n in triage(TABLES, Report(AT)).notes)


@pytest.mark.parametrize(
    ("temperature", "age_days", "expected"),
    [
        (38.5, 3000, Urgency.NEXT_VISIT),
        (38.6, 3000, Urgency.SAME_DAY),
        (39.0, 3000, Urgency.NOW),
        (38.7, 20, Urgency.NEXT_VISIT),
        (38.9, 20, Urgency.SAME_DAY),
    ],
)
def test_fever_goes_by_age(temperature, age_days, expected):
    assert urgency(temperature_c=temperature, age_days=age_days) is expected


def test_a_donkey_has_no_limit_until_the_vet_types_one():
    outcome = triage(TABLES, Report(AT, species="donkey", temperature_c=39.5))
    assert outcome.urgency is Urgency.NEXT_VISIT
    assert any("the vet types one" in n for n in outcome.notes)
    own = FeverLimits("donkey", (0, 20000), 38.5, 39.0, "set by the vet")
    assert urgency(species="donkey", temperature_c=39.5, limits=own) is Urgency.NOW
    assert urgency("heat", species="donkey", **CALM) is Urgency.SAME_DAY


def test_an_unknown_sign_is_refused_listing_the_known():
    with pytest.raises(UnknownNameError, match="bandage slipped"):
        urgency("hiccups")


def test_suspected_infection_under_treatment_is_re_examined_before_any_drug_is_changed():
    steps = infection_steps(TABLES, ("heat",), on_antimicrobial=True)
    assert steps[0] == "re-examine"
    assert "synovial entry, foreign body and dead bone" in steps[1]
    assert infection_steps(TABLES, ("heat",), on_antimicrobial=False) == ()
    assert infection_steps(TABLES, ("bandage slipped",), on_antimicrobial=True) == ()


signs = st.lists(st.sampled_from([s.id for s in TABLES.signs]), max_size=5).map(tuple)


@given(signs, st.sampled_from([s.id for s in TABLES.signs]), st.floats(36, 41), st.booleans())
def test_one_more_sign_never_makes_it_less_urgent(some, more, temperature, gait):
    known = {"temperature_c": temperature, "gait_normal": gait}
    assert ORDER.index(urgency(*some, more, **known)) <= ORDER.index(urgency(*some, **known))


@given(signs, st.floats(36, 41), st.booleans(), st.floats(0, 200))
def test_an_anti_inflammatory_never_makes_it_less_urgent(some, temperature, gait, hours):
    known = {"temperature_c": temperature, "gait_normal": gait}
    assert ORDER.index(urgency(*some, **known, **bute(hours))) <= ORDER.index(
        urgency(*some, **known)
    )
