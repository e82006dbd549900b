"""iCalendar (RFC 5545, 5546, 7986): windows as dates, appointments in UTC, nothing to answer."""

from __future__ import annotations

import datetime as dt
import math
import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import FieldnotesError
from fieldnotes.domain.text import clean_line

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from icalendar import Calendar, Event

    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.patients import Practice, Premises

PRODID = "-//fieldnotes//recheck calendar//EN"
APPOINTMENT = dt.timedelta(minutes=30)
MORNING = dt.timedelta(hours=8)
NO_MAIL = "invalid:nomail"


@dataclass(frozen=True)
class Item:
    """One follow-up as it stands in a calendar; `sequence` rises with each change of its date."""

    task: FollowUp
    summary: str
    description: str
    premises: Premises | None = None
    sequence: int = 0


@dataclass(frozen=True)
class Sender:
    """Whose calendar it is: the store's id makes UIDs unique, the practice organises."""

    store_id: str
    practice: Practice
    now: dt.datetime


def uid_of(store_id: str, key: str) -> str:
    """Give a follow-up's stable UID, with no host and no personal data in it (RFC 7986)."""
    return str(uuid.uuid5(uuid.NAMESPACE_OID, f"fieldnotes:{store_id}:{key}"))


def publish(items: Sequence[Item], sender: Sender, name: str) -> bytes:
    """Give a PUBLISH calendar; FieldnotesError if there is nothing to put in it."""
    if not items:
        raise FieldnotesError("nothing is due: there is no calendar to write")
    return _calendar(items, sender, name, "PUBLISH").to_ical()


def cancel(items: Sequence[Item], sender: Sender, name: str) -> bytes:
    """Give a CANCEL calendar that takes follow-ups out of a reader's calendar again."""
    if not items:
        raise FieldnotesError("nothing was published: there is nothing to cancel")
    return _calendar(items, sender, name, "CANCEL").to_ical()


def _calendar(items: Iterable[Item], sender: Sender, name: str, method: str) -> Calendar:
    from icalendar import Calendar  # noqa: PLC0415  (slow to import)

    calendar = Calendar()
    calendar.add("prodid", PRODID)
    calendar.add("version", "2.0")
    calendar.add("method", method)
    calendar.add("name", clean_line(name))
    for item in items:
        event = _event(item, sender)
        if method == "CANCEL":
            event.add("status", "CANCELLED")
        calendar.add_component(event)
    return calendar


def _event(item: Item, sender: Sender) -> Event:
    from icalendar import Event, vUri  # noqa: PLC0415

    event, mail = Event(), sender.practice.email
    event.add("uid", uid_of(sender.store_id, item.task.key))
    event.add("dtstamp", sender.now.astimezone(dt.UTC).replace(microsecond=0))
    event.add("sequence", item.sequence)
    event.add("summary", clean_line(item.summary))
    event.add("description", clean_line(item.description))
    event["organizer"] = vUri(f"mailto:{mail}" if mail else NO_MAIL)
    _place(event, item.premises)
    if item.task.appointment is not None:
        start = item.task.appointment.astimezone(dt.UTC)
        event.add("dtstart", start)
        event.add("dtend", start + APPOINTMENT)
        event.add_component(_alarm(item, -dt.timedelta(hours=1)))
    else:
        _dates(event, item.task)
        event.add("transp", "TRANSPARENT")
        event.add_component(_alarm(item, MORNING))
    return event


def _dates(event: Event, task: FollowUp) -> None:
    event.add("dtstart", task.earliest)
    one_day = dt.timedelta(days=1)
    if task.series is None:
        event.add("dtend", task.latest + one_day)
        return
    event.add("dtend", task.earliest + one_day)
    every = max(1, math.floor(task.series.every_days))
    until = max(task.series.until, task.earliest)
    event.add("rrule", {"freq": "daily", "interval": every, "until": until})


def _place(event: Event, premises: Premises | None) -> None:
    if premises is None:
        return
    event.add("location", clean_line(", ".join(p for p in (premises.name, premises.address) if p)))
    if premises.position is not None:
        event.add("geo", (round(premises.position.lat, 6), round(premises.position.lon, 6)))


def _alarm(item: Item, trigger: dt.timedelta) -> Event:
    from icalendar import Alarm  # noqa: PLC0415

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", clean_line(item.summary))
    alarm.add("trigger", trigger)
    return alarm
