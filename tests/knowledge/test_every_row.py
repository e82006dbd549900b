"""Every row of every knowledge table, shipped or to come, has a source, and figures that can be."""

from __future__ import annotations

import json
import math
import tomllib
from importlib.resources import files

import pytest

from fieldnotes.casework.formulary import MEASURES
from fieldnotes.knowledge.antiseptics import load_antiseptics
from fieldnotes.knowledge.drugs import load_drugs
from fieldnotes.knowledge.limits import load_limits
from fieldnotes.knowledge.vitals import load_vitals

DATA = files("fieldnotes.knowledge").joinpath("data")
NAMES = sorted(p.name for p in DATA.iterdir() if p.name.endswith((".toml", ".json")))
WORDS_ONLY = {"syllables.toml", "language_de.toml"}  # spellings and translations: no facts
UNITS = ("_ml", "_kg", "_h", "_days", "_cm", "_mm", "_c", "_per_min", "_percent", "_min", "_s")


def read(name):
    text = DATA.joinpath(name).read_text(encoding="utf-8")
    return json.loads(text) if name.endswith(".json") else tomllib.loads(text)


def rows_of(value, where=""):
    """Every table in the parsed file that is a row of a list, with its place."""
    if isinstance(value, dict):
        for key, inner in value.items():
            if isinstance(inner, list) and all(isinstance(r, dict) for r in inner):
                for i, row in enumerate(inner):
                    yield f"{where}/{key}[{i}]", row
                    yield from rows_of(row, f"{where}/{key}[{i}]")


def sources(row):
    return [v for k, v in row.items() if k == "source" or k.endswith("_source")]


def is_number(value):
    return isinstance(value, int | float) and not isinstance(value, bool)


@pytest.mark.parametrize("name", NAMES)
def test_every_row_names_its_source(name):
    rows = list(rows_of(read(name)))
    assert rows or name in WORDS_ONLY
    bare = [where for where, row in rows if not sources(row)]
    empty = [where for where, row in rows if any(not str(s).strip() for s in sources(row))]
    assert (bare, empty) == ([], [])


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_is_finite_and_every_range_runs_upward(name):
    for where, row in rows_of(read(name)):
        for key, value in row.items():
            if is_number(value):
                assert math.isfinite(value), f"{where}, {key}"
            if isinstance(value, list) and len(value) == 2 and all(map(is_number, value)):
                ordered = value[0] <= value[1] or key in {"at", "xy", "point", "centre"}
                assert ordered, f"{where}, {key}: {value}"


def test_every_dose_strength_and_limit_has_its_unit():
    for drug in load_drugs():
        assert drug.unit in {"mg", "IU", "dose"}, drug.id
        for strength in drug.strengths:
            assert strength.per in set(MEASURES), drug.id
        for regimen in drug.regimens:
            assert 0 < regimen.low <= regimen.high, f"{drug.id}, {regimen.label}"
            assert regimen.interval_h is None or regimen.interval_h > 0


def test_every_bound_of_a_typed_figure_says_its_unit_and_has_room_between_its_ends():
    limits = load_limits()
    rows = read("limits.toml")["limit"]
    assert len({r["id"] for r in rows}) == len(rows)
    for row in rows:
        assert row["least"] < row["most"], row["id"]
        assert row["unit"] or row["id"] in {"granulation_grade", "grimace", "lameness", "amount"}
        assert limits.get(row["id"]) is not None


def test_vital_signs_and_antiseptics_are_ranges_a_horse_can_have():
    for row in load_vitals().ranges:
        low, high = row.temperature_c
        assert 35 < low < high < 40, row.name
    assert all(a.source.strip() for a in load_antiseptics())
