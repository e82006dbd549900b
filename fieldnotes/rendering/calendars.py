"""iCalendar files (RFC 5545, 5546, 7986): one case for its owner, all cases for the vet."""

from __future__ import annotations

import datetime as dt
import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.followups import Doer
from fieldnotes.domain.text import clean, clean_line
from fieldnotes.knowledge.language import ENGLISH

if TYPE_CHECKING:
    from collections.abc import Iterable

    from icalendar import Calendar, Event

    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.patients import Position, Practice
    from fieldnotes.knowledge.language import Language
    from fieldnotes.rendering.route_files import RoutePoint

PRODID = "-//fieldnotes//aftercare//EN"
MORNING = dt.timedelta(hours=8)  # a date starts at midnight; nobody wants that alarm
VISIT = dt.timedelta(hours=1)
AHEAD = dt.timedelta(hours=-2)


@dataclass(frozen=True)
class CalendarTask:
    """A follow-up with the names and place its reader needs; `revision` becomes SEQUENCE."""

    task: FollowUp
    horse: str
    premises: str = ""
    owner: str = ""
    phone: str = ""
    position: Position | None = None
    revision: int = 0
    language: Language = ENGLISH


@dataclass(frozen=True)
class Publisher:
    """Who publishes a calendar, and the moment it is made; `store` is the store's random id."""

    store: str
    practice: Practice
    now: dt.datetime


def owner_calendar(tasks: Iterable[CalendarTask], by: Publisher) -> bytes:
    """Give one case's calendar for its owner; RefusedInputError if nothing is due."""
    found = tuple(tasks)
    if not found:
        raise RefusedInputError("calendar", "nothing is due in this case")
    title = found[0].language.say("Aftercare for {horse}", horse=found[0].horse)
    calendar = _calendar(title, "PUBLISH", by)
    for item in found:
        calendar.add_component(_owner_event(item, by))
    return _bytes(calendar)


def vet_calendar(tasks: Iterable[CalendarTask], by: Publisher) -> bytes:
    """Give the vet's own tasks of all cases; RefusedInputError if nothing is due."""
    found = tuple(t for t in tasks if t.task.by is Doer.VET)
    if not found:
        raise RefusedInputError("calendar", "nothing is due in any case")
    calendar = _calendar(f"Rechecks of {by.practice.name}", "PUBLISH", by)
    for item in found:
        calendar.add_component(_vet_event(item, by))
    return _bytes(calendar)


def day_calendar(title: str, points: Iterable[RoutePoint], day: dt.date, by: Publisher) -> bytes:
    """Give a day's stops with a place and a time as events, where the route has them."""
    from icalendar import Event  # noqa: PLC0415  (print-only commands start fast)

    calendar = _calendar(title, "PUBLISH", by)
    for point in points:
        if point.arrive is None or point.leave is None:
            continue
        event = Event()
        event.add("uid", uid(by.store, day.isoformat(), point.name, "route"))
        event.add("dtstamp", by.now.astimezone(dt.UTC).replace(microsecond=0))
        event["ORGANIZER"] = _organizer(by)
        event.add("dtstart", point.arrive.astimezone(dt.UTC).replace(microsecond=0))
        event.add("dtend", point.leave.astimezone(dt.UTC).replace(microsecond=0))
        event.add("summary", clean_line(point.name))
        event.add("description", clean(point.note))
        event.add("location", clean_line(point.name))
        event.add("geo", (round(point.lat, 6), round(point.lon, 6)))
        calendar.add_component(event)
    return _bytes(calendar)


def cancelled_calendar(case: str, keys: Iterable[str], sequence: int, by: Publisher) -> bytes:
    """Give what takes an owner's events away again: same UIDs, SEQUENCE raised, CANCEL.

    Each carries the day it was made: some readers want a start, none keeps it.
    """
    from icalendar import Event  # noqa: PLC0415  (print-only commands start fast)

    calendar = _calendar("Withdrawn", "CANCEL", by)
    for key in keys:
        event = Event()
        event.add("uid", uid(by.store, case, key, "owner"))
        event.add("dtstamp", by.now.astimezone(dt.UTC).replace(microsecond=0))
        event.add("dtstart", by.now.date())
        event.add("sequence", sequence)
        event.add("status", "CANCELLED")
        event.add("summary", "Withdrawn")
        event["ORGANIZER"] = _organizer(by)
        calendar.add_component(event)
    return _bytes(calendar)


def uid(store: str, case: str, key: str, reader: str) -> str:
    """Give an event's UID: stable for one task and reader, saying nothing about either."""
    space = uuid.uuid5(uuid.NAMESPACE_OID, store)
    return str(uuid.uuid5(space, f"{reader}/{case}/{key}"))


def _calendar(name: str, method: str, by: Publisher) -> Calendar:
    from icalendar import Calendar  # noqa: PLC0415  (print-only commands start fast)

    calendar = Calendar()
    calendar.add("prodid", PRODID)
    calendar.add("version", "2.0")
    calendar.add("method", method)
    calendar.add("name", clean_line(name))
    calendar.add("last-modified", by.now.astimezone(dt.UTC))
    return calendar


def _bytes(calendar: Calendar) -> bytes:
    # Zero-width and other joiners may stay in a name, but no reader agrees on a lone CR.
    return bytes(calendar.to_ical())


def _owner_event(item: CalendarTask, by: Publisher) -> Event:
    task, horse = item.task, clean_line(item.horse)
    event = _event(item, by, "owner")
    say, what = item.language.say, _what(task, item.language)
    who = say("Vet visit" if task.by is Doer.VET else "To do")
    event.add("summary", f"{horse}: {what}")
    ask = say("Questions: phone {phone}", phone=by.practice.phone)
    lines = [f"{who}: {what}", *_often(task, item.language), ask]
    event.add("description", "\n".join(clean(line) for line in lines))
    if item.premises:
        event.add("location", clean_line(item.premises))
    _alarm(event, task, f"{horse}: {what}")
    return event


def _vet_event(item: CalendarTask, by: Publisher) -> Event:
    task, horse = item.task, clean_line(item.horse)
    event = _event(item, by, "vet")
    summary = f"{horse}: {_what(task)}"
    event.add("summary", summary)
    contact = ", ".join(clean_line(x) for x in (item.owner, item.phone) if x)
    lines = [f"Case {task.case}", task.reason, f"Due {task.due.isoformat()}", contact]
    event.add("description", "\n".join(clean(line) for line in lines if line))
    if item.premises:
        event.add("location", clean_line(item.premises))
    if item.position:
        event.add("geo", (round(item.position.lat, 6), round(item.position.lon, 6)))
    _alarm(event, task, summary)
    return event


def _what(task: FollowUp, language: Language = ENGLISH) -> str:
    labels = ", ".join(task.wounds)
    wounds = language.say(" (wound {labels})", labels=labels) if labels else ""
    return clean_line(f"{task.what}{wounds}")


def _often(task: FollowUp, language: Language) -> list[str]:
    if task.series and task.series.times_a_day > 1:
        return [language.say("{n} times a day", n=f"{task.series.times_a_day:g}")]
    if task.series is None and task.appointment is None and task.earliest != task.latest:
        return [language.say("Best day: {day}", day=task.due.isoformat())]
    return []


def _event(item: CalendarTask, by: Publisher, reader: str) -> Event:
    from icalendar import Event  # noqa: PLC0415  (print-only commands start fast)

    task, event = item.task, Event()
    event.add("uid", uid(by.store, task.case, task.key, reader))
    event.add("dtstamp", by.now.astimezone(dt.UTC).replace(microsecond=0))
    event.add("sequence", item.revision)
    event["ORGANIZER"] = _organizer(by)
    _times(event, task)
    return event


def _organizer(by: Publisher) -> object:
    from icalendar import vCalAddress, vText  # noqa: PLC0415  (print-only commands start fast)

    practice = by.practice
    address = clean_line(practice.email)
    # A practice without email still needs an ORGANIZER: RFC 5546 asks for any address URI.
    found = f"mailto:{address}" if address else uuid.uuid5(uuid.NAMESPACE_OID, by.store).urn
    organizer = vCalAddress(found)
    organizer.params["CN"] = vText(clean_line(practice.name).replace('"', "'"))
    return organizer


def _times(event: Event, task: FollowUp) -> None:
    one_day = dt.timedelta(days=1)
    if task.appointment:
        start = task.appointment.astimezone(dt.UTC)
        event.add("dtstart", start)
        event.add("dtend", start + VISIT)
        return
    event.add("transp", "TRANSPARENT")
    if task.series:
        event.add("dtstart", task.due)
        event.add("dtend", task.due + one_day)
        step = max(1, int(task.series.every_days))  # too soon is safe, too late is not
        until = max(task.due, task.series.until)
        event.add("rrule", {"freq": "daily", "interval": step, "until": until})
        return
    event.add("dtstart", task.earliest)
    event.add("dtend", task.latest + one_day)


def _alarm(event: Event, task: FollowUp, text: str) -> None:
    from icalendar import Alarm  # noqa: PLC0415  (print-only commands start fast)

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", text)
    alarm.add("trigger", AHEAD if task.appointment else MORNING)
    event.add_component(alarm)
