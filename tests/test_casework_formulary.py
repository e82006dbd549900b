"""What the practice decides about drugs is an entry, and says so wherever the figure is used."""

from __future__ import annotations

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.casework.rounds import load_costs
from fieldnotes.casework.treatments import route_id
from fieldnotes.clinical.costs import dose_cost
from fieldnotes.clinical.dose_text import dose_line
from fieldnotes.clinical.doses import dose
from fieldnotes.domain.entries import PracticeSet
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.planning.supplies import Load
from tests.builders import a_practice, at
from tests.desks import Clock, known
from tests.fakes import RecordsInMemory

BY = "Ada Vet on 02 Jun 2025"


@pytest.fixture
def desk():
    return known(Casework(RecordsInMemory(), Clock(at(0, 12))))


def ways(desk, text, route=None):
    """Every way to give a drug to a horse of 500 kg, with its line and what it costs."""
    drug = desk.formulary.drug(text)
    by = route_id(route, desk.knowledge) if route else None
    prices = desk.register().prices
    return [
        (option, dose_line(drug.name, option), dose_cost(drug.name, option, prices))
        for option in dose(drug, 500, route=by).options
    ]


def test_a_drug_is_unconfirmed_until_someone_confirms_it_and_can_be_again(desk):
    assert desk.formulary.drug("flunixin").confirmed == ""
    desk.formulary.confirm("flunix")
    assert desk.formulary.drug("flunixin").confirmed == BY
    desk.formulary.confirm("flunixin", confirmed=False)
    assert desk.formulary.drug("flunixin").confirmed == ""


def test_a_drug_the_settings_name_as_confirmed_is_confirmed(desk):
    desk.save(PracticeSet(a_practice(confirmed_drugs=("flunixin",))))
    assert desk.formulary.drug("flunixin").confirmed == "the practice"


def test_an_own_dose_comes_first_and_says_who_set_it_and_the_published_stay(desk):
    before = len(desk.formulary.drug("flunixin").regimens)
    desk.formulary.set_dose("flunixin", "IV", 0.25, interval_h=8, why="low dose protocol")
    (first, line, _), *rest = ways(desk, "flunixin", "IV")
    assert (first.amount, first.interval_h) == (125, 8)
    assert f"practice, set by {BY}: low dose protocol, CHANGED by {BY}" in line
    assert rest
    assert not any("CHANGED" in line for _, line, _ in rest)
    assert len(desk.formulary.drug("flunixin").regimens) == before + 1
    desk.formulary.set_dose("flunixin", "IV", 0.3, interval_h=8, why="revised")
    assert len(desk.formulary.drug("flunixin").regimens) == before + 1
    desk.formulary.drop_dose("flunixin", "intravenous")
    assert len(desk.formulary.drug("flunixin").regimens) == before


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"route": "by drone"}, "route"),
        ({"low": 0}, "dose"),
        ({"low": float("nan")}, "dose"),
        ({"low": 1.0, "high": 0.5}, "dose"),
        ({"low": 250.0}, "dose"),
        ({"low": 0.001}, "dose"),
        ({"interval_h": 0.1}, "interval_h"),
        ({"why": " "}, "why"),
        ({"text": "moonshine"}, "drug"),
    ],
)
def test_an_own_dose_that_cannot_be_right_is_refused_at_its_field(desk, changes, field):
    values = {"text": "flunixin", "route": "IV", "low": 0.25, "interval_h": 8, "why": "x"} | changes
    with pytest.raises(RefusedInputError) as error:
        desk.formulary.set_dose(**values)
    assert error.value.field == field


def test_a_route_without_a_published_dose_is_record_only_until_the_practice_sources_one(desk):
    with pytest.raises(UnknownNameError, match="no dose of gentamicin perfusion"):
        ways(desk, "gentamicin", "perfusion")
    desk.formulary.set_dose("gentamicin", "RLP", 1000, why="hospital protocol", per_kg=False)
    ((option, line, _),) = ways(desk, "gentamicin", "perfusion")
    assert (option.amount, option.volume_ml) == (1000, 10)
    assert "gentamicin 1,000 mg in all perfusion = 1,000 mg = 10.0 mL" in line
    assert ways(desk, "gentamicin")[0][0].route == "IV"


def test_a_strength_in_stock_comes_first_and_is_marked(desk):
    desk.formulary.set_strength("flunixin", 83, "mL", "injection", ("IV",), "label of the vial")
    first, line, _ = ways(desk, "flunixin", "IV")[0]
    assert first.volume_ml == pytest.approx(550 / 83)
    assert f"strength set by {BY}" in line


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"amount": 0}, "amount"),
        ({"per": "barrel"}, "per"),
        ({"routes": ()}, "routes"),
        ({"routes": ("drone",)}, "routes"),
        ({"why": ""}, "why"),
    ],
)
def test_a_strength_that_cannot_be_right_is_refused_at_its_field(desk, changes, field):
    values = {"amount": 83, "per": "mL", "form": "", "routes": ("IV",), "why": "label"} | changes
    with pytest.raises(RefusedInputError) as error:
        desk.formulary.set_strength("flunixin", **values)
    assert error.value.field == field


def test_where_sources_disagree_both_stand_and_the_practice_chooses(desk):
    labels = [r.label for r in desk.formulary.drug("procaine").regimens if r.route == "IM"]
    desk.formulary.choose("procaine", "IM", labels[-1])
    after = [r for r in desk.formulary.drug("procaine").regimens if r.route == "IM"]
    assert sorted(r.label for r in after) == sorted(labels)
    assert (after[0].label, after[0].chosen) == (labels[-1], BY)
    assert f"chosen by {BY}" in ways(desk, "procaine", "IM")[0][1]
    with pytest.raises(RefusedInputError, match="'nope' is not one published dose by IM"):
        desk.formulary.choose("procaine", "IM", "nope")


def test_a_dose_costs_what_it_holds_at_the_price_entered_and_nothing_without_one(desk):
    assert {cost for _, _, cost in ways(desk, "flunixin")} == {None}
    desk.formulary.set_price("Flunixin 50 mg/mL", "mL", 0.30, "gbp")
    _, _, cost = ways(desk, "flunixin", "IV")[0]
    assert cost.text == "3.30 GBP (11 mL at 0.30, price of 02 Jun 2025)"
    desk.formulary.set_price("flunixin 50 mg/mL", "mL", 0, "GBP")
    assert ways(desk, "flunixin", "IV")[0][2] is None
    assert desk.formulary.prices() == ()


def test_what_to_load_costs_its_count_at_the_price_of_its_measure(desk):
    load = (Load("cohesive bandage", 4, "roll", ()), Load("gauze", 2, "pack", ()))
    assert load_costs(load, desk.register().prices) == {}
    desk.formulary.set_price("Cohesive bandage", "roll", 2.5, "EUR")
    (cost,) = load_costs(load, desk.register().prices).values()
    assert (cost.amount, cost.currency) == (10, "EUR")


@pytest.mark.parametrize(
    ("values", "field"),
    [
        (("", "mL", 1, "EUR"), "item"),
        (("x", "", 1, "EUR"), "per"),
        (("x", "mL", -1, "EUR"), "amount"),
        (("x", "mL", float("inf"), "EUR"), "amount"),
        (("x", "mL", 1, "euro"), "currency"),
    ],
)
def test_a_price_that_cannot_be_right_is_refused_at_its_field(desk, values, field):
    with pytest.raises(RefusedInputError) as error:
        desk.formulary.set_price(*values)
    assert error.value.field == field


def test_the_practice_keeps_a_drug_of_its_own_in_the_register(desk):
    desk.formulary.mark("xylazine", "house rule", controlled=True)
    assert desk.pharmacy.registered()["xylazine"].source.endswith("house rule")
    with pytest.raises(RefusedInputError, match="where does the figure come from"):
        desk.formulary.mark("xylazine", "", controlled=False)
