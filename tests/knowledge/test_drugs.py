"""The formulary: every row is sourced, every name found, every override marked."""

from __future__ import annotations

import pytest

from fieldnotes.domain.errors import KnowledgeError, UnknownNameError
from fieldnotes.domain.patients import DoseOverride
from fieldnotes.knowledge.drugs import find_drugs, load_drugs, one_drug, with_overrides
from fieldnotes.knowledge.routes import load_routes, one_route
from fieldnotes.knowledge.source import parse_table

DRUGS = load_drugs()
OWN = DoseOverride("flunixin", "IV", 0.25, 8, "A. Vet", "low dose for endotoxaemia")


def test_every_drug_with_a_dose_has_a_strength_for_each_route():
    bare = [
        (d.id, r.route)
        for d in DRUGS
        for r in d.regimens
        if not any(r.route in s.routes for s in d.strengths)
    ]
    assert bare == []


def test_every_regimen_has_a_range_in_a_known_unit():
    assert all(0 < r.low <= r.high for d in DRUGS for r in d.regimens)
    assert {d.unit for d in DRUGS} == {"mg", "IU", "dose"}


def test_every_route_of_a_regimen_is_a_known_route():
    known = {r.id for r in load_routes()}
    assert {r.route for d in DRUGS for r in d.regimens} <= known


def test_part_of_a_generic_name_finds_the_drug():
    assert one_drug(DRUGS, "penic").id == "procaine-penicillin"
    assert one_drug(DRUGS, "Crystalline").id == "ceftiofur-crystalline-free-acid"
    assert one_drug(DRUGS, "lignocaine").id == "lidocaine"


def test_a_name_that_fits_several_drugs_lists_them():
    with pytest.raises(UnknownNameError) as caught:
        one_drug(DRUGS, "ceftiofur")
    assert caught.value.matches == ("ceftiofur sodium", "ceftiofur crystalline free acid")


@pytest.mark.parametrize("name", ["xyz", "", "   "])
def test_a_name_that_fits_nothing_is_refused(name):
    with pytest.raises(UnknownNameError):
        one_drug(DRUGS, name)


def test_reading_only_the_files_that_mention_a_name_finds_the_same_drugs():
    for text in ("penicillin", "ceftiofur", "caine", "TMS", "tetanus-antitoxin"):
        assert find_drugs(load_drugs(mention=text), text) == find_drugs(DRUGS, text)


def test_a_dose_the_practice_set_comes_first_and_says_so():
    flunixin = one_drug(with_overrides(DRUGS, [OWN]), "flunixin")
    first = flunixin.regimens[0]
    assert (first.low, first.interval_h, first.changed) == (0.25, 8, "A. Vet")
    assert "A. Vet" in first.source
    assert flunixin.regimens[1:] == one_drug(DRUGS, "flunixin").regimens


def test_an_override_of_an_unknown_drug_changes_nothing():
    assert with_overrides(DRUGS, [DoseOverride("none", "IV", 1, 24, "A. Vet", "-")]) == DRUGS


def test_a_route_is_found_by_its_other_names():
    routes = load_routes()
    assert one_route(routes, "oral").id == "PO"
    assert one_route(routes, "iv").id == "IV"
    assert one_route(routes, "RLP").record_only
    with pytest.raises(UnknownNameError, match="infiltration"):
        one_route(routes, "by post")


@pytest.mark.parametrize(
    ("bad", "field"),
    [
        ('regimens = [{ label = "x", route = "IV", dose = 1 }]', "source"),
        ('regimens = [{ label = "x", route = "IV", dose = 0, source = "s" }]', "dose"),
        ('regimens = [{ label = "x", route = "IV", dose = [2, 1], source = "s" }]', "dose"),
        (
            'regimens = [{ label = "x", route = "IV", dose = 1, per = "1 cwt", source = "s" }]',
            "per",
        ),
        ('limits = [{ kind = "moon", value = 1, label = "x", source = "s" }]', "kind"),
        ('strengths = [{ amount = -5, per = "mL", form = "x", routes = [], source = "s" }]', "am"),
    ],
)
def test_a_faulty_row_is_named_by_drug_and_field(bad, field):
    head = '[[drug]]\nid = "some-drug"\nname = "x"\nclasses = []\nunit = "mg"\nsource = "s"\n'
    with pytest.raises(KnowledgeError, match=rf"own.toml, some-drug.*{field}"):
        load_drugs([parse_table("own.toml", head + bad)])
