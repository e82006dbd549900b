"""What a mark on the road becomes in the record: times checked, the drive and the stay logged."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.casework.checks import CLOCK_SLACK
from fieldnotes.casework.live_day import last_left
from fieldnotes.domain.driving import BASE, BREAK, Leg, Stay, StopMark, StopState
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.planning.route_clock import minutes_between, minutes_later
from fieldnotes.planning.stops import task_kind
from fieldnotes.planning.supplies import used_up

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from fieldnotes.casework.live_day import LiveDay
    from fieldnotes.casework.rounds import Roadbook
    from fieldnotes.casework.views import CaseFile
    from fieldnotes.planning.stops import DueStop


def marked(live: LiveDay, book: Roadbook, said: StopMark, files: Sequence[CaseFile]) -> StopMark:
    """Give the mark as it is put in the record; RefusedInputError for what cannot be.

    `files` are the open cases: what a stop used up is reckoned from them.
    """
    stop = BASE if said.state is StopState.SET_OFF else said.stop
    due = next((s for s in live.stops if s.premises == stop), None)
    known = live.marks.get(stop)
    if due is None and known is None and stop not in (BASE, BREAK):
        raise RefusedInputError("stop", "it is not on today's round")
    mark = replace(said, id=f"{live.date}/{stop}", stop=stop)
    match said.state:
        case StopState.SET_OFF:
            return replace(mark, left=_past(live, said.left, "at"))
        case StopState.THERE:
            _alone(live, stop)
            return _arrived(live, mark, _past(live, said.arrived, "at"))
        case StopState.DONE:
            used = used_up(book.load(files, (due,), live.date)) if due is not None else ()
            before = known.used if known is not None else ()  # done already: it stands as it is
            return replace(_done(live, book, mark, due), used=used or before)
        case StopState.DELAYED:
            return _delayed(live, mark, known)
        case _:
            return mark


def _past(live: LiveDay, at: dt.datetime | None, field: str) -> dt.datetime:
    """Give a moment of today that is not to come."""
    moment = at or live.now
    if moment > live.now + CLOCK_SLACK:
        raise RefusedInputError(field, f"{moment:%H:%M} is still to come")
    return moment


def _alone(live: LiveDay, stop: str) -> None:
    if live.there and live.there != stop:
        name = live.names.get(live.there, live.there)
        raise RefusedInputError("stop", f"{name} is not marked done yet")


def _arrived(live: LiveDay, mark: StopMark, at: dt.datetime, *, reckoned: bool = False) -> StopMark:
    """Log the drive that ended with an arrival; from where and when the last place was left."""
    last = last_left(live.marks)
    left = max((m.left for m in live.marks.values() if m.left is not None), default=None)
    if left is not None and at < left:
        raise RefusedInputError("arrived", f"the place before was left at {left:%H:%M}")
    begun = left or live.plan.start
    start = last.stop if last is not None else BASE
    here, there = live.position.get(start), live.position.get(mark.stop)
    minutes = minutes_between(begun, at)
    if here is None or there is None or minutes <= 0:
        return replace(mark, arrived=at)
    km = live.travel.drive(here, there)[1]
    leg = Leg(km, minutes, start, mark.stop, reckoned=reckoned or left is None)
    return replace(mark, arrived=at, leg=leg)


def _done(live: LiveDay, book: Roadbook, mark: StopMark, due: DueStop | None) -> StopMark:
    """Log when a stop was left; an arrival that was not said is reckoned from its minutes."""
    left = _past(live, mark.left, "left")
    if mark.stop == BREAK:
        return replace(mark, left=left)
    before = live.marks.get(mark.stop)
    planned = due.service_min if due is not None else 0.0
    if mark.arrived is not None:
        mark = _arrived(live, mark, _past(live, mark.arrived, "arrived"))
    elif before is not None and before.state is StopState.THERE:
        mark = replace(mark, arrived=before.arrived, leg=before.leg)
    else:
        _alone(live, mark.stop)
        return _reckoned(live, replace(mark, left=left), planned)
    if mark.arrived is None or left < mark.arrived:
        raise RefusedInputError("left", "a stop is left after it is reached")
    stay = None if due is None else _stay(due, book, minutes_between(mark.arrived, left))
    return replace(mark, left=left, stay=stay)


def _reckoned(live: LiveDay, mark: StopMark, planned_min: float) -> StopMark:
    """Reckon the arrival at a stop of which only the end was said."""
    left = mark.left or live.now
    gone = max((m.left for m in live.marks.values() if m.left is not None), default=None)
    if gone is not None and left < gone:
        raise RefusedInputError("left", f"the place before was left at {gone:%H:%M}")
    at = minutes_later(left, -planned_min)
    if gone is not None and at <= gone:
        return replace(mark, arrived=None)
    return _arrived(live, mark, at, reckoned=True)


def _stay(due: DueStop, book: Roadbook, minutes: float) -> Stay:
    kinds = tuple(sorted({task_kind(t, book.library.rules) for t in due.tasks}))
    return Stay(minutes, due.service_min, kinds, len({t.horse for t in due.tasks}))


def _delayed(live: LiveDay, mark: StopMark, known: StopMark | None) -> StopMark:
    """Add to the minutes of the stop the vet is at, or expect another so much later."""
    if known is not None and known.state is StopState.THERE:
        return replace(known, delay_min=known.delay_min + mark.delay_min, reason=mark.reason)
    planned = next((s for s in live.plan.stops if s.stop == mark.stop), None)
    if planned is None:
        raise RefusedInputError("stop", "only a stop still on the route can be delayed")
    later = minutes_later(planned.arrive, mark.delay_min)
    return replace(mark, arrived=later)
