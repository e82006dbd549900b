"""One age ends a foal: every table that marks foals follows the one place that says when."""

from __future__ import annotations

import pytest

from fieldnotes.domain.errors import KnowledgeError
from fieldnotes.knowledge.ages import is_foal, load_ages
from fieldnotes.knowledge.drugs import load_drugs
from fieldnotes.knowledge.interactions import load_interactions
from fieldnotes.knowledge.source import parse_table, shipped_table

LAST = load_ages()["foal"]


def test_an_animal_is_a_foal_up_to_the_last_day_and_not_of_unknown_age():
    assert (is_foal(LAST), is_foal(LAST + 1), is_foal(None)) == (True, False, False)


def test_doses_rules_and_handout_end_a_foal_on_the_same_day():
    marked = [
        x.age_days[1]
        for d in load_drugs()
        for x in d.limits
        if x.age_days is not None and "foal" in x.label
    ]
    assert marked
    assert set(marked) == {LAST}
    foal = next(
        r for r in shipped_table("interactions.toml").rows("age") if r.text("fact") == "foal"
    )
    assert foal.number("under_days") == LAST + 1
    assert load_interactions()
    limits = shipped_table("handout.toml").rows("temperature")
    ends = {r.pair("age_days")[1] for r in limits if r.pair("age_days")[0] == 0}
    assert ends - {20000} == {LAST}  # the long-lived row: species without limits of a foal's own


def test_an_age_without_a_source_is_refused_by_file_and_row():
    with pytest.raises(KnowledgeError, match=r"x\.toml, age 1, source"):
        load_ages(parse_table("x.toml", '[[age]]\nclass = "foal"\nmost_days = 1\nsource = ""'))
