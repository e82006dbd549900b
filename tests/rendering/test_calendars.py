from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
import vobject
from dateutil.rrule import rrulestr
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.followups import Doer, Series
from fieldnotes.domain.patients import Position
from fieldnotes.rendering.calendars import (
    CalendarTask,
    Publisher,
    cancelled_calendar,
    owner_calendar,
    vet_calendar,
)
from tests.builders import a_followup, a_practice, at, day
from tests.rendering.handouts import PLAN

GOLDEN = Path(__file__).parents[1] / "golden"
BY = Publisher("store-1", a_practice(), at(0, 12))


def item(task, **changes):
    return CalendarTask(**({"task": task, "horse": "Bramble", "premises": "Low Yard"} | changes))


def events(data: bytes):
    return Calendar.from_ical(data).walk("VEVENT")


def test_the_owners_calendar_reads_as_agreed():
    assert owner_calendar([item(t) for t in PLAN], BY) == (GOLDEN / "owner.ics").read_bytes()


def test_the_owners_calendar_keeps_rfc_5545_and_rfc_5546():
    # RFC 5545 sections 3.1, 3.6.1; RFC 5546 section 3.2.1 (PUBLISH: ORGANIZER, no ATTENDEE).
    data = owner_calendar([item(t) for t in PLAN], BY)
    lines = data.split(b"\r\n")
    assert b"\n" not in b"".join(lines)
    assert max(len(line) for line in lines) <= 75
    assert data.count(b"METHOD:PUBLISH\r\n") == 1
    assert b"ATTENDEE" not in data
    found = events(data)
    assert len(found) == len(PLAN)
    for event in found:
        for name in ("UID", "DTSTAMP", "DTSTART", "DTEND", "ORGANIZER", "SUMMARY", "SEQUENCE"):
            assert name in event
        assert event.walk("VALARM")[0]["ACTION"] == "DISPLAY"


def test_a_window_is_a_span_of_dates_whose_end_is_exclusive():
    # RFC 5545 section 3.8.2.2: DTEND is exclusive; one day on 4 March ends on the 5th.
    one = a_followup("recheck", 2, 2, 2)
    (event,) = events(owner_calendar([item(one)], BY))
    assert (event["DTSTART"].dt, event["DTEND"].dt) == (day(2), day(3))


def test_an_appointment_stands_in_utc():
    bst = dt.timezone(dt.timedelta(hours=1))
    fixed = a_followup(appointment=dt.datetime(2025, 6, 5, 9, 30, tzinfo=bst))
    assert b"DTSTART:20250605T083000Z" in owner_calendar([item(fixed)], BY)


@pytest.mark.parametrize(
    ("start", "every", "until", "expected"),
    [
        # Worked recurrences of March 2026, by arithmetic and an open-source expander.
        ("2026-03-04", 2, "2026-03-12", [4, 6, 8, 10, 12]),
        ("2026-03-02", 2, "2026-03-10", [2, 4, 6, 8, 10]),
        ("2026-03-02", 3, "2026-03-11", [2, 5, 8, 11]),
    ],
)
def test_bandage_changes_repeat_as_a_rule(start, every, until, expected):
    first = dt.date.fromisoformat(start)
    series = Series(every, dt.date.fromisoformat(until))
    task = a_followup("change", by=Doer.OWNER, series=series)
    moved = CalendarTask(
        task.__class__(**(vars(task) | {"earliest": first, "due": first, "latest": first})), "B"
    )
    (event,) = events(owner_calendar([moved], BY))
    midnight = dt.datetime.combine(first, dt.time())
    rule = rrulestr(event["RRULE"].to_ical().decode(), dtstart=midnight)
    assert [d.day for d in rule] == expected


def test_a_uid_stays_and_says_nothing_and_the_sequence_rises():
    (first,) = events(owner_calendar([item(PLAN[0])], BY))
    later = Publisher("store-1", a_practice(), at(3, 12))
    (second,) = events(owner_calendar([item(PLAN[0], revision=2)], later))
    assert first["UID"] == second["UID"]
    assert "Bramble" not in first["UID"]
    assert (first["SEQUENCE"], second["SEQUENCE"]) == (0, 2)
    assert first["DTSTAMP"].dt < second["DTSTAMP"].dt


def test_a_cancelled_calendar_names_the_same_events_with_a_higher_sequence():
    (sent,) = events(owner_calendar([item(PLAN[0], revision=1)], BY))
    data = cancelled_calendar(PLAN[0].case, (PLAN[0].key,), 2, BY)
    (gone,) = events(data)
    assert b"METHOD:CANCEL" in data
    assert (gone["UID"], gone["STATUS"]) == (sent["UID"], "CANCELLED")
    assert gone["SEQUENCE"] > sent["SEQUENCE"]


def test_the_vets_calendar_holds_vet_tasks_with_their_place():
    # RFC 5545 section 3.8.1.6: latitude first.
    place = Position(38.0484, -84.4943)
    data = vet_calendar([item(t, position=place) for t in PLAN], BY)
    assert len(events(data)) == sum(t.by is Doer.VET for t in PLAN)
    assert b"GEO:38.0484;-84.4943" in data


def test_nothing_due_is_refused():
    with pytest.raises(RefusedInputError, match="nothing is due"):
        owner_calendar([], BY)


def test_commas_and_semicolons_are_escaped():
    # RFC 5545 section 3.3.11
    data = owner_calendar([item(a_followup("Recheck, bandage; day 4", wounds=()))], BY)
    assert b"Recheck\\, bandage\\; day 4" in data


NAMES = st.text(max_size=80)


CALENDARS = (NAMES, NAMES, st.integers(0, 40), st.integers(0, 5))


@given(*CALENDARS)
@settings(max_examples=200, deadline=None)
def test_two_parsers_agree_on_any_calendar(horse, what, start, width):
    agree_on(horse, what, start, width)


@pytest.mark.long
@given(*CALENDARS)
@settings(max_examples=1000, deadline=None)
def test_two_parsers_agree_on_a_thousand_calendars(horse, what, start, width):
    agree_on(horse, what, start, width)


def agree_on(horse, what, start, width):
    tasks = [
        a_followup(what, start, start, start + width),
        a_followup("call", start, start, start, key="call", appointment=at(start, 14)),
    ]
    data = owner_calendar([item(t, horse=horse, premises=horse) for t in tasks], BY)
    assert max(len(line) for line in data.split(b"\r\n")) <= 75
    ours = {str(e["UID"]): (e["DTSTART"].dt, str(e["SUMMARY"])) for e in events(data)}
    theirs = {
        e.uid.value: (e.dtstart.value, e.summary.value)
        for e in vobject.readOne(data.decode()).vevent_list
    }
    assert ours.keys() == theirs.keys()
    for key, (when, summary) in ours.items():
        assert theirs[key][0] == when
        assert theirs[key][1].strip() == summary.strip()
