"""Sizes that cannot be, through the form, the commands and an import: refused, nothing written."""

from __future__ import annotations

import json

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.cli.main import main
from fieldnotes.domain.entries import Amendment
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.pictures import Measurement
from fieldnotes.domain.wounds import Finding, Measuring, Phase
from fieldnotes.knowledge.limits import load_limits
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.tui.fields.sizes import SizeField
from tests.builders import a_finding, a_visit, an_opening, at
from tests.desks import Clock, known

LIMITS = load_limits()
NOW = at(40, 12)


def area(cm2, **more):
    return a_finding(length_mm=None, width_mm=None, area_cm2=cm2, measuring=Measuring.GIVEN, **more)


def visit(on, cm2, hour=9, **more):
    return a_visit(at(on, hour), findings=(area(cm2, **more),))


@pytest.fixture
def store(tmp_path):
    create_store(tmp_path / "store")
    return tmp_path / "store"


@pytest.fixture
def desk(store):
    return known(Casework(Casebook(store), Clock(NOW), "vet1"))


@pytest.fixture
def ref(desk):
    return desk.open_case(an_opening(), visit(0, 6.0)).ref


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("8 cm x 30 mm", "one unit for all sides"),
        ("80 mm x 3 cm", "one unit for all sides"),
        ("-3 x 2", "is not a size"),
        ("400 x 3", "cannot be right"),
        ("0 x 0", "cannot be right"),
        ("99999 cm2", "too large"),
        ("nan", "is not a size"),
        ("12 cm2; 1 round", "cannot go round"),
    ],
)
def test_a_size_that_cannot_be_is_refused_in_the_form_in_the_words_typed(typed, told):
    sides = tuple(LIMITS[n] for n in ("length_mm", "width_mm", "depth_mm"))
    with pytest.raises(RefusedInputError, match=told):
        SizeField(key="findings.A.size", label="Size", limits=sides).read(typed)


@pytest.mark.parametrize(
    ("body", "field", "told"),
    [
        (visit(7, 0.0, phase=Phase.GRANULATING), "findings.A.phase", "choose healed"),
        (visit(0, 5.0), "at", "at this very time"),
        (visit(-1, 5.0), "at", "before the injury"),
        (visit(9, -2.0), "findings.A.area_cm2", "less than|negative|at least|cannot be"),
        (visit(9, 1e6), "findings.A.area_cm2", "large|cannot be"),
        (Measurement(at(9), Finding("A", area_cm2=0.0)), "found.area_cm2", "at a recheck"),
    ],
)  # fmt: skip
def test_a_finding_that_cannot_be_is_refused_and_the_record_stays(desk, ref, body, field, told):
    before = desk.case(ref).entries
    with pytest.raises(RefusedInputError, match=told) as refused:
        desk.record(ref, body)
    assert refused.value.field == field
    assert desk.case(ref).entries == before


def test_a_wound_is_not_open_again_after_it_was_found_healed_nor_healed_before_it_was_open(
    desk, ref
):
    desk.record(ref, visit(14, 4.0, phase=Phase.GRANULATING))
    with pytest.raises(RefusedInputError, match="still open on 16 Jun 2025"):
        desk.record(ref, visit(10, 0.0, phase=Phase.HEALED))
    desk.record(ref, visit(12, 5.0, phase=Phase.GRANULATING))  # written up late: sorted in
    healed = desk.record(ref, visit(30, 0.0, phase=Phase.HEALED)).entries[0]
    with pytest.raises(RefusedInputError, match=r"found healed on 02 Jul 2025.*amend that visit"):
        desk.record(ref, visit(35, 1.0, phase=Phase.GRANULATING))
    open_still = visit(30, 2.0, phase=Phase.GRANULATING)
    desk.record(ref, Amendment(healed, "still open", "misread", open_still))
    desk.record(ref, visit(35, 1.0, phase=Phase.GRANULATING))
    course = desk.file(ref).wounds[0].course
    assert [p.area_cm2 for p in course.points] == [6.0, 5.0, 4.0, 2.0, 1.0]


@pytest.mark.parametrize(
    ("args", "told"),
    [
        (("--length-cm", "-3", "--width-cm", "2"), "negative"),
        (("--length-cm", "nan", "--width-cm", "2"), "no size"),
        (("--length-cm", "300", "--width-cm", "2"), "too large"),
        (("--area-cm2", "0"), "at a recheck"),
        (("--area-cm2", "4", "--at", "2025-06-01T08:00:00Z"), "before the injury"),
    ],
)
def test_a_command_refuses_it_and_writes_nothing(desk, store, ref, args, told, capsys):  # noqa: PLR0917
    before = len(desk.case(ref).entries)
    assert main(["--data", str(store), "--now", NOW.isoformat(), "measure", ref, *args]) == 1
    assert told in capsys.readouterr().err
    assert len(Casework(Casebook(store), Clock(NOW)).case(ref).entries) == before


def case_file(sizes):
    """An import file of one case, a visit every two days with an area each."""
    opened = {"horse": "horse1", "premises": "place1", "injured_at": "@-20T07:00",
              "wounds": [{"label": "A", "region": "left.hind.metatarsus.dorsal"}]}  # fmt: skip
    entries = [{"day": -20, "time": "08:00", "by": "vet1", "kind": "opened", "body": opened}]
    for n, size in enumerate(sizes):
        found = {"wound": "A", "area_cm2": size, "measuring": "given",
                 "phase": "granulating" if size else "healed"}  # fmt: skip
        body = {"kind": "recheck", "findings": [found]}
        row = {"day": 2 * n - 18, "time": "09:00", "by": "vet1", "kind": "visit", "body": body}
        entries.append(row)
    file = {"format": "fieldnotes-case", "version": 1, "case": "c2d3", "entries": entries}
    return json.dumps(file)


@pytest.mark.parametrize(
    ("sizes", "told"),
    [
        ((6.0, 4.0), ""),
        ((6.0, 4.0, 0.0), ""),
        ((6.0, 0.0, 4.0), "found healed"),
        ((6.0, -1.0), "area_cm2"),
        ((6.0, 1e6), "area_cm2"),
    ],
)
def test_an_import_is_taken_whole_or_refused_whole(desk, store, tmp_path, capsys, sizes, told):  # noqa: PLR0917
    _ = desk
    file = tmp_path / "case.json"
    file.write_text(case_file(sizes))
    code = main(["--data", str(store), "--now", NOW.isoformat(), "import", str(file)])
    assert code == (1 if told else 0)
    assert told in capsys.readouterr().err
    assert len(Casework(Casebook(store), Clock(NOW)).find_cases()) == (0 if told else 1)
