"""Vital signs, lameness, grimace scale and synovial fluid against their published ranges."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.clinical.synovial_fluid import (
    CELLS_PER_NL_OF_PER_UL,
    G_PER_L_OF_G_PER_DL,
    Sample,
    assess_sample,
)
from fieldnotes.clinical.vitals import check_vitals, grimace_total
from fieldnotes.domain.entries import Vitals
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.patients import OwnLimits
from fieldnotes.domain.units import celsius_from_fahrenheit, fahrenheit_from_celsius
from fieldnotes.knowledge.synovial_fluid import load_synovial_fluid
from fieldnotes.knowledge.topicals import load_topicals
from fieldnotes.knowledge.vitals import load_vitals

TABLES = load_vitals()
FLUID = load_synovial_fluid()
TOPICALS = load_topicals()


def states(species="horse", age_days=3000, own=None, **taken):
    """The state of each sign taken."""
    notes = check_vitals(TABLES, Vitals(**taken), species, age_days, own or OwnLimits())
    return {n.measure: n.state for n in notes}


def test_an_adult_with_39_degrees_has_only_a_high_temperature():
    # Normal equine values, practice page
    assert states(temperature_c=39.0, heart_per_min=40, breaths_per_min=12) == {
        "temperature_c": "high",
        "heart_per_min": "normal",
        "breaths_per_min": "normal",
    }


def test_a_heart_rate_of_100_is_normal_in_a_newborn_and_high_in_an_adult():
    # Normal equine values, practice page: newborn 80-120
    assert states(age_days=2, heart_per_min=100) == {"heart_per_min": "normal"}
    assert states(heart_per_min=100) == {"heart_per_min": "high"}
    assert states(age_days=None, heart_per_min=100) == {"heart_per_min": "high"}


def test_a_donkey_is_judged_only_by_limits_the_vet_typed():
    assert states("donkey", temperature_c=39.0) == {"temperature_c": "no limit"}
    own = OwnLimits(temperature_c=(36.5, 37.8))
    assert states("donkey", own=own, temperature_c=39.0) == {"temperature_c": "high"}


def test_slow_refill_and_nothing_taken():
    assert states(crt_s=3) == {"crt_s": "high"}
    assert states() == {}


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(99.5, 37.5), (101.5, 38.6), (102, 38.9), (104.0, 40.0)]
)
def test_fahrenheit_and_celsius(fahrenheit, celsius):
    assert round(celsius_from_fahrenheit(fahrenheit), 1) == celsius


@given(st.floats(30, 44))
def test_a_temperature_survives_the_way_there_and_back(celsius):
    assert celsius_from_fahrenheit(fahrenheit_from_celsius(celsius)) == pytest.approx(celsius)


def test_lameness_grades_are_the_aaep_ones():
    # AAEP lameness scale
    assert TABLES.lameness[4] == "obvious at walk"
    assert len(TABLES.lameness) == 6


@pytest.mark.parametrize(("scores", "total"), [((2, 1, 1, 0, 1, 2), 7), ((2,) * 6, 12)])
def test_grimace_units_add_up(scores, total):
    # Horse Grimace Scale, Dalla Costa et al., 2014
    assert grimace_total(TABLES, scores) == total


@pytest.mark.parametrize("scores", [(3, 0, 0, 0, 0, 0), (1, 1, 1, 1, 1), (-1, 0, 0, 0, 0, 0)])
def test_a_grimace_score_out_of_scale_or_incomplete_is_refused(scores):
    with pytest.raises(RefusedInputError, match="grimace"):
        grimace_total(TABLES, scores)


def test_a_sample_over_all_three_cut_offs_is_septic_in_all_three():
    # The Veterinary Care of the Horse, p. 384
    found = assess_sample(FLUID, Sample(32, 92, 45))
    assert found.alarm == "septic"
    assert [n.level for n in found.notes] == ["septic"] * 3


def test_normal_protein_is_a_quarter_to_a_third_of_plasma():
    # Steel, Vet Clin Equine 24:437, 2008: 25-35 % of plasma protein
    protein = next(m for m in FLUID.measures if m.id == "protein_g_per_l")
    assert [70 * share for share in protein.normal_of_plasma] == pytest.approx([17.5, 24.5])
    [note] = assess_sample(FLUID, Sample(protein_g_per_l=18)).notes
    assert note.why.endswith("; normal is 25 to 35 % of the plasma's")


@pytest.mark.parametrize(
    ("sample", "alarm"),
    [
        (Sample(0.5, protein_g_per_l=18), "none raised"),
        (Sample(8), "suspicious"),
        (Sample(3.2, 85, 40), "suspicious"),
        (Sample(readable=False), "septic"),
        (Sample(), "none raised"),
    ],
)
def test_the_worst_measure_decides_and_the_caution_always_stands(sample, alarm):
    # Septic synovial structures, case table 1, 2017: 3.2 x 10^9/L was septic
    found = assess_sample(FLUID, sample)
    assert found.alarm == alarm
    assert "never clear one" in found.caution


def test_laboratory_units():
    assert pytest.approx(40) == G_PER_L_OF_G_PER_DL * 4
    assert pytest.approx(30) == 30000 * CELLS_PER_NL_OF_PER_UL


@pytest.mark.parametrize("sample", [Sample(-1), Sample(float("nan")), Sample(1, 101)])
def test_an_impossible_sample_is_refused(sample):
    with pytest.raises(RefusedInputError):
        assess_sample(FLUID, sample)


@given(st.floats(0, 200), st.floats(0, 100), st.floats(0, 100))
def test_no_sample_is_ever_called_clean(cells, neutrophils, protein):
    assert assess_sample(FLUID, Sample(cells, neutrophils, protein)).alarm in {
        "septic",
        "suspicious",
        "none raised",
    }


def test_every_topical_has_evidence_and_a_source():
    assert all((t.good or t.bad) and t.source for t in TOPICALS)


def test_topicals_that_slow_healing_say_so():
    # 21 CFR 524.1580; Harmon et al., Am J Vet Res 78:638, 2017
    named = {t.id: t for t in TOPICALS}
    assert next(t for key, t in named.items() if "nitrofurazone" in key).slows_healing
    silver = next(t for key, t in named.items() if "silver" in key)
    assert any("7 of 8" in text for text in silver.bad)
