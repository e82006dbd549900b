"""The import form: what is taken, what is refused, and that the refusal says where."""

from __future__ import annotations

import copy
import datetime as dt
import json
from importlib.resources import files
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldnotes.domain.entries import Amendment, CaseOpened, FollowUpOutcome, Visit
from fieldnotes.domain.errors import FieldnotesError, RefusedInputError
from fieldnotes.domain.register import Register
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.storage.import_checks import check_imports
from fieldnotes.storage.import_references import bound
from fieldnotes.storage.import_schema import schema_text
from fieldnotes.storage.importing import ImportFile, read_import

TODAY = dt.date(2026, 4, 1)
ZONE = ZoneInfo("Europe/London")
FOUND = {"wound": "A", "length_mm": 80, "width_mm": 30}
CASE: dict[str, Any] = {
    "format": "fieldnotes-case",
    "version": 1,
    "case": "k7m2q",
    "entries": [
        {
            "day": -5,
            "time": "09:40",
            "by": "vet",
            "kind": "opened",
            "body": {
                "horse": "horse1",
                "premises": "place1",
                "injured_at": "@-5T07:00",
                "wounds": [{"label": "A", "region": "left.hind.metatarsus.dorsal"}],
            },
        },
        {
            "day": -4,
            "time": "10:10",
            "by": "vet",
            "kind": "visit",
            "label": "first",
            "body": {
                "kind": "first visit",
                "findings": [FOUND],
                "given": [
                    {
                        "drug": "flunixin",
                        "name": "flunixin",
                        "route": "IV",
                        "amount": 550,
                        "unit": "mg",
                        "expiry": "@+300",
                    }
                ],
            },
        },
        {
            "day": -3,
            "time": "12:00",
            "by": "vet",
            "kind": "amendment",
            "body": {"of": "@first", "what": "x", "why": "y"},
        },
        {
            "day": -2,
            "time": "12:00",
            "by": "vet",
            "kind": "followup",
            "body": {"key": "recheck:A:@first", "outcome": "missed", "on": "@-2"},
        },
    ],
}
REGISTER: dict[str, Any] = {
    "format": "fieldnotes-register",
    "version": 1,
    "entries": [
        {
            "at": "2026-01-01T08:00:00+00:00",
            "by": "vet",
            "kind": kind,
            "body": {kind: record},
        }
        for kind, record in (
            ("practice", {"name": "Hill", "phone": "01632 960001", "zone": "Europe/London"}),
            ("person", {"id": "vet", "name": "Ada Vet"}),
            ("owner", {"id": "owner1", "name": "Olive Owner"}),
            (
                "premises",
                {"id": "place1", "name": "Low Yard", "position": {"lat": 52.0, "lon": -3.0}},
            ),
            (
                "horse",
                {
                    "id": "horse1",
                    "name": "Bramble",
                    "species": "horse",
                    "premises": "place1",
                    "parties": [{"role": "owner", "owner": "owner1"}],
                },
            ),
        )
    ],
}


def read(document: Any, name: str = "case.json") -> ImportFile:
    return read_import(json.dumps(document).encode(), name, TODAY, ZONE, load_regions())


def altered(path: tuple[str | int, ...], value: Any, document: dict[str, Any] = CASE) -> Any:
    changed = copy.deepcopy(document)
    node: Any = changed
    for step in path[:-1]:
        node = node[step]
    node[path[-1]] = value
    return changed


def test_days_and_times_count_from_the_day_of_import_in_the_practices_zone():
    opened, visit, *_ = read(CASE).entries
    assert isinstance(opened.body, CaseOpened)
    # the clocks went forward on 29 March 2026: day -5 is winter time, day -2 is summer time
    assert opened.body.injured_at.isoformat() == "2026-03-27T07:00:00+00:00"
    assert read(CASE).entries[3].at.isoformat() == "2026-03-30T12:00:00+01:00"
    assert isinstance(visit.body, Visit)
    assert visit.body.at == visit.at == visit.body.given[0].at
    assert visit.body.given[0].expiry == dt.date(2027, 1, 26)


def test_absolute_times_without_an_offset_are_of_the_practices_zone():
    document = altered(("entries", 1, "body", "at"), "2026-03-28T10:00")
    visit = read(document).entries[1].body
    assert isinstance(visit, Visit)
    assert visit.at == dt.datetime(2026, 3, 28, 10, tzinfo=dt.UTC)
    assert visit.given[0].at == visit.at


def test_an_entry_may_name_one_before_it_by_label_or_number():
    _, _, amendment, outcome = read(CASE).entries
    ids = ["d-1", "d-2"]
    amended, followed = bound(amendment.body, ids), bound(outcome.body, ids)
    assert isinstance(amended, Amendment)
    assert isinstance(followed, FollowUpOutcome)
    assert (amended.of, followed.key) == ("d-2", "recheck:A:d-2")
    by_number = read(altered(("entries", 2, "body", "of"), "#2")).entries[2].body
    assert by_number == amendment.body


def test_text_is_cleaned_and_an_offset_in_a_note_stays_text():
    note = {"day": -1, "time": "08:00", "by": "vet", "kind": "note", "body": {"text": "@-1\x1b[2J"}}
    found = read(altered(("entries",), [*CASE["entries"], note]))
    assert found.entries[-1].body.text == "@-1[2J"


VISIT = ("entries", 1, "body")
REFUSALS = [
    ((*VISIT, "findings", 0, "lenght_mm"), 3, "did you mean 'length_mm'?"),
    ((*VISIT, "findings", 0, "length_mm"), 4000, "entry 2 (visit), findings 1, length_mm: length"),
    ((*VISIT, "findings", 0, "length_mm"), "8", "a number or nothing is needed, not a text"),
    ((*VISIT, "findings", 0, "wound"), "B", "no wound is called 'B'"),
    ((*VISIT, "kind"), "frist visit", "did you mean 'first visit'?"),
    ((*VISIT, "at"), "@-5T06:00", "entry 2, at: the visit is before the injury"),
    ((*VISIT, "at"), "@-1T06:00", "after it was recorded"),
    ((*VISIT, "at"), "@-4", "a date and time"),
    ((*VISIT, "given", 0, "expiry"), "soon", "expiry: a date such as"),
    (("entries", 0, "body", "wounds", 0, "region"), "left.hind.knee", "no region is called"),
    (("entries", 0, "body", "wounds"), [{"label": "A", "region": "withers"}] * 2, "stands twice"),
    (("entries", 0, "body", "injured_at"), "@-4T07:00", "the injury is after the case was opened"),
    (("entries", 0, "kind"), "note", "horse: there is no such field"),
    (("entries", 0, "by"), "", "signed by someone"),
    (("entries", 1, "day"), 1, "cannot be recorded in the future"),
    (("entries", 1, "day"), -6, "recorded before the entry above it"),
    (("entries", 1, "day"), 10**9, "outside the calendar"),
    (("entries", 1, "time"), "25:00", "is not a time such as 09:40"),
    (("entries", 1, "at"), "2026-03-28T10:00", "either day and time, or at"),
    (("entries", 1, "kind"), "vist", "did you mean 'visit'?"),
    (("entries", 2, "body", "of"), "@frist", "no entry before it has the label 'frist'"),
    (("entries", 2, "body", "of"), "#3", "#3 is no entry before it"),
    (("entries", 2, "label"), "first", "the label 'first' stands twice"),
    (("entries",), [], "a case begins with its opening"),
    (("entries",), CASE["entries"][:1] * 2, "a case is opened once"),
    (("entries",), [*CASE["entries"], REGISTER["entries"][1]], "recorded before"),
    (("format",), "fieldnotes-cases", "did you mean 'fieldnotes-case'?"),
    (("version",), 2, "version 2 is not read"),
    (("case",), "../../etc", "a reference of 3 to 12"),
    (("entires",), [], "did you mean 'entries'?"),
]


@pytest.mark.parametrize(("path", "value", "told"), REFUSALS)
def test_a_refusal_names_file_place_and_reason(path, value, told):
    with pytest.raises(RefusedInputError, match=r"^case\.json, ") as caught:
        read(altered(path, value))
    assert told in str(caught.value)


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        (("entries", 3, "body", "premises", "position", "lat"), 95, "latitude 95"),
        (("entries", 0, "body", "practice", "zone"), "Europe/Lundon", "is no time zone"),
        (("entries", 0), CASE["entries"][0], "belongs to a case"),
        (("case",), "k7m2q", "the register is not a case"),
    ],
)
def test_a_register_is_refused_for_what_cannot_be(path, value, told):
    document = altered(path, value, REGISTER)
    if path == ("entries", 0):
        document["entries"] = document["entries"][:1]
    with pytest.raises(RefusedInputError, match=r"^register\.json, ") as caught:
        read(document, "register.json")
    assert told in str(caught.value)


@pytest.mark.parametrize(
    ("field", "told"),
    [("horse", "no horse has the id 'x'"), ("premises", "no premises has the id 'x'")],
)
def test_a_case_of_a_horse_nobody_knows_is_refused(field, told):
    register = read(REGISTER, "register.json")
    check_imports(Register(), [register, read(CASE)])
    with pytest.raises(RefusedInputError, match=told):
        check_imports(Register(), [register, read(altered(("entries", 0, "body", field), "x"))])
    with pytest.raises(RefusedInputError, match="no person has the id 'vet'"):
        check_imports(Register(), [read(CASE)])


def test_a_horse_that_stands_nowhere_is_refused():
    path = ("entries", 4, "body", "horse", "premises")
    with pytest.raises(RefusedInputError, match="no premises has the id 'gone'"):
        check_imports(Register(), [read(altered(path, "gone", REGISTER), "register.json")])


def places(node: Any, here: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    found = [here] if here else []
    if isinstance(node, dict | list):
        for step, value in node.items() if isinstance(node, dict) else enumerate(node):
            found += places(value, (*here, step))
    return found


JUNK = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=20)
    | st.sampled_from(["@-99999", "@99999T00:00", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59"]),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(), inner, max_size=2),
    max_leaves=4,
)


@given(st.sampled_from(places(CASE)), JUNK)
@settings(max_examples=400, deadline=None)
def test_whatever_stands_in_a_file_is_read_whole_or_refused(path, junk):
    try:
        found = read(altered(path, junk))
    except FieldnotesError as error:
        assert str(error)  # noqa: PT017  (both ends are right; nothing else may come out)
        return
    assert found.entries


def test_the_shipped_schema_is_the_one_made_from_the_records():

    shipped = files("fieldnotes.storage").joinpath("data", "import-schema.json")
    assert shipped.read_text("utf-8") == schema_text(), "write schema_text() to the file again"
