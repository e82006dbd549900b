"""Which drugs go into the register follows the law the practice names, and its own marks."""

from __future__ import annotations

import pytest

from fieldnotes.domain.errors import KnowledgeError
from fieldnotes.domain.formulary import Mark, PracticeDrug
from fieldnotes.knowledge.controlled import load_controlled, registered
from fieldnotes.knowledge.source import parse_table
from tests.builders import DAY0

TABLES = load_controlled()


def test_butorphanol_is_registered_in_the_us_and_not_in_the_uk():
    # Placement of butorphanol into schedule IV, 62 FR 51370, 1997
    assert registered(TABLES, "US", {})["butorphanol"].schedule == "schedule IV"
    assert "butorphanol" not in registered(TABLES, "England", {})


def test_uk_schedule_2_goes_into_the_register_and_schedule_3_need_not():
    # Taking proper care of controlled drugs, Veterinary Practice
    found = registered(TABLES, "United Kingdom", {})
    assert {"methadone", "morphine", "pethidine"} <= set(found)
    assert "buprenorphine" not in found


def test_without_a_law_a_drug_counts_that_any_law_registers():
    assert {"butorphanol", "morphine"} <= set(registered(TABLES, "", {}))


@pytest.mark.parametrize(("controlled", "there"), [(True, True), (False, False)])
def test_the_practice_marks_its_own_with_who_and_why(controlled, there):
    mark = Mark(controlled, "house rule", "A. Vet", DAY0)
    name = "butorphanol" if controlled else "morphine"
    found = registered(TABLES, "UK", {name: PracticeDrug(name, mark=mark)})
    assert (name in found) is there
    if there:
        assert found[name].source == "practice, set by A. Vet on 2025-06-02: house rule"


def test_a_row_under_an_unknown_law_is_refused_by_file_row_and_field():
    text = """
    [[jurisdiction]]
    id = "UK"
    names = ["UK"]
    asks = "a register"
    source = "from memory"
    [[controlled]]
    drug = "ketamine"
    jurisdiction = "Atlantis"
    schedule = "1"
    register = true
    source = "from memory"
    """
    with pytest.raises(KnowledgeError, match=r"x\.toml, controlled 1, jurisdiction"):
        load_controlled(parse_table("x.toml", text))
