"""Body weight against published examples and formulas."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.clinical.weight import Tape, check_species, estimate_weight
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.domain.units import cm_from_in, lb_from_kg
from fieldnotes.knowledge.weights import load_weights

WEIGHTS = load_weights()


def inches(girth=None, length=None, height=None, neck=None):
    """A tape read in inches."""
    return Tape(
        *(None if value is None else cm_from_in(value) for value in (girth, length, height, neck))
    )


def by(found, start):
    """The estimate of another formula by the start of its text."""
    return next(o.weight_kg for o in found.others if o.formula.startswith(start))


def test_76_by_65_inches_is_1138_lb_by_either_form_within_half_a_percent():
    # girth^2 x length / 330 in pounds and inches (weak source), beside the centimetre form
    found = estimate_weight(WEIGHTS, "adult", inches(76, 65))
    assert lb_from_kg(by(found, "girth^2 x length / 330")) == pytest.approx(1137.7, rel=1e-4)
    assert found.chosen.weight_kg == pytest.approx(516.1, rel=0.005)


def test_published_example_of_76_by_67_inches_is_1173_lb():
    # Body measurements, Univ. Minnesota equine genetics laboratory: girth^2 x length / 330
    found = estimate_weight(WEIGHTS, "adult", inches(76, 67))
    assert round(lb_from_kg(by(found, "girth^2 x length / 330"))) == 1173
    assert round(found.chosen.weight_kg) == 534


@pytest.mark.parametrize(
    ("girth", "length", "kg"),
    [(180, 160, 436), (190, 165, 501), (200, 170, 572), (180, 165, 450)],
)
def test_adult_weights_by_11880(girth, length, kg):
    # Wagner and Tyler, estimating horse weight, 2011
    assert round(estimate_weight(WEIGHTS, "adult", Tape(girth, length)).chosen.weight_kg) == kg


@pytest.mark.parametrize(
    ("build", "pounds", "ideal"),
    [("arabian", 1207, 1160), ("pony", 1207, 1235), ("stock", 1260, 1171)],
)
def test_breed_type_formulas(build, pounds, ideal):
    # Martinson et al., body weight study, 2014
    found = estimate_weight(WEIGHTS, build, inches(76, 67, 62, 40))
    assert round(lb_from_kg(found.chosen.weight_kg)) == pounds
    assert round(lb_from_kg(found.ideal.weight_kg)) == ideal


def test_a_neck_to_height_ratio_over_0_63_is_called_cresty():
    # Body measurements, Univ. Minnesota: neck 40 in, height 62 in
    found = estimate_weight(WEIGHTS, "stock", inches(76, 67, 62, 40))
    assert found.neck_height_ratio == pytest.approx(0.645, abs=0.0005)
    assert "cresty" in found.warnings[0]


def test_warmblood_and_ideal_weights():
    # Catalano et al., J Equine Vet Sci 39:38, 2016
    found = estimate_weight(WEIGHTS, "warmblood", Tape(200, 170, 168, 105))
    assert round(found.chosen.weight_kg) == 615
    assert round(found.ideal.weight_kg) == 600
    draft = estimate_weight(WEIGHTS, "draft", Tape(220, 185, 170, 110))
    assert round(draft.ideal.weight_kg) == 748


def test_donkey_of_110_cm_girth_is_117_kg_and_never_the_misprint():
    # Pearson and Ouassat, Vet Rec 138:229, 1996; Aluja et al., 2005
    found = estimate_weight(WEIGHTS, "donkey", Tape(110, 100))
    assert round(found.chosen.weight_kg) == 117
    assert round(by(found, "girth^2.12")) == 133
    assert round(by(found, "0.018576")) == 106
    assert round(by(found, "0.031255")) == 106


@pytest.mark.parametrize(("age_days", "pounds"), [(14, 129), (60, 141)])
def test_foal_of_34_inches_by_age(age_days, pounds):
    # Crabbe, estimate a foal's weight, 2000
    found = estimate_weight(WEIGHTS, "foal", inches(34), age_days)
    assert round(lb_from_kg(found.chosen.weight_kg)) == pounds


@pytest.mark.parametrize("age_days", [None, 3, 100])
def test_a_foal_without_a_formula_for_its_age_is_refused(age_days):
    with pytest.raises(RefusedInputError, match="age-days"):
        estimate_weight(WEIGHTS, "foal", inches(34), age_days)


def test_inches_typed_as_centimetres_are_recognised():
    with pytest.raises(RefusedInputError, match="was it inches"):
        estimate_weight(WEIGHTS, "adult", Tape(76, 165))
    with pytest.raises(RefusedInputError, match="was it centimetres"):
        estimate_weight(WEIGHTS, "adult", Tape(cm_from_in(180), 165))


@pytest.mark.parametrize("girth", [0, -180, float("nan"), float("inf")])
def test_a_girth_that_is_no_length_is_refused(girth):
    with pytest.raises(RefusedInputError, match="girth"):
        estimate_weight(WEIGHTS, "adult", Tape(girth, 165))


@pytest.mark.parametrize("species", ["mule", "hinny"])
def test_a_mule_has_no_formula(species):
    with pytest.raises(RefusedInputError, match="weigh it or type"):
        estimate_weight(WEIGHTS, species, Tape(180, 160))
    with pytest.raises(RefusedInputError, match="weigh it or type"):
        check_species(WEIGHTS, "adult", species)


def test_a_horse_formula_is_not_used_for_a_donkey():
    with pytest.raises(RefusedInputError, match="not a donkey"):
        check_species(WEIGHTS, "adult", "donkey")
    check_species(WEIGHTS, "young-donkey", "donkey")


def test_an_unknown_build_lists_the_known_ones():
    with pytest.raises(UnknownNameError, match="warmblood"):
        estimate_weight(WEIGHTS, "zebra", Tape(180, 160))


def test_a_missing_measure_is_named():
    with pytest.raises(RefusedInputError) as caught:
        estimate_weight(WEIGHTS, "warmblood", Tape(180, 160))
    assert caught.value.field == "height"


def test_a_donkey_outside_the_formulas_range_is_said():
    assert "outside" in estimate_weight(WEIGHTS, "donkey", Tape(80)).warnings[0]


@given(st.floats(120, 250), st.floats(100, 200), st.floats(1.001, 1.1))
def test_a_thicker_horse_weighs_more_in_every_formula(girth, length, factor):
    thin = estimate_weight(WEIGHTS, "adult", Tape(girth, length))
    thick = estimate_weight(WEIGHTS, "adult", Tape(girth * factor, length))
    assert thin.chosen.weight_kg < thick.chosen.weight_kg
