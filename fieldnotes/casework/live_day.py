"""Today as it stands: what is done, where the vet is, the rest planned from here and now."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.casework.rounds import NO_BASE, day_board
from fieldnotes.domain.driving import BASE, BREAK, StopState
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.planning.arrival import Spread, arrival_window, stay_spread
from fieldnotes.planning.live import Announced, Replan, Standing, price_words, replan
from fieldnotes.planning.route_clock import minutes_between, minutes_later
from fieldnotes.planning.route_day import Ground, Workday
from fieldnotes.planning.travel import Place

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from fieldnotes.casework.rounds import Roadbook
    from fieldnotes.casework.views import Board, CaseFile
    from fieldnotes.domain.driving import Call, DayOrder, Promise, StopMark, StopRule
    from fieldnotes.planning.route_day import Break, DayRoute, Stop
    from fieldnotes.planning.stops import DueStop
    from fieldnotes.planning.travel import TravelModel

_JUST_LEFT_MIN = 1.0
_OUT = StopState.SKIPPED


@dataclass(frozen=True)
class LiveDay:
    """The day as it runs. `marks` are in the order things happened; `open` is still to do.

    `replan.plan` is what is announced, from here and now; `replan.proposal` waits for a yes.
    """

    date: dt.date
    now: dt.datetime
    stops: tuple[DueStop, ...]
    open: tuple[DueStop, ...]
    marks: Mapping[str, StopMark]
    rules: Mapping[str, StopRule]
    calls: tuple[Call, ...]
    promises: tuple[Promise, ...]
    standing: Standing
    there: str
    replan: Replan
    travel: TravelModel
    spread: Spread
    names: Mapping[str, str]
    horses: Mapping[str, str]
    position: Mapping[str, Place]

    @property
    def plan(self) -> DayRoute:
        """The rest of the day as announced."""
        return self.replan.plan

    @property
    def order(self) -> tuple[str, ...]:
        """The order announced, what is done already in front."""
        return self._with_gone(self.plan)

    @property
    def proposed_order(self) -> tuple[str, ...]:
        """The order proposed; empty if nothing is."""
        return self._with_gone(self.replan.proposal) if self.replan.proposal else ()

    @property
    def price(self) -> str:
        """What the proposal costs, in words; empty if nothing is proposed."""
        return price_words(self.replan.price) if self.replan.price else ""

    def window(self, stop: str) -> tuple[dt.datetime, dt.datetime] | None:
        """Give when an owner may expect the vet, from the plan and how uncertain it is."""
        for place, planned in enumerate(self.plan.stops, 1):
            if planned.stop == stop:
                return arrival_window(planned.arrive, self.spread.before(place))
        return None

    def _with_gone(self, route: DayRoute) -> tuple[str, ...]:
        # One left out is no part of the order: taken back, it comes in where it fits.
        gone = (s for s, m in self.marks.items() if s not in (BASE, BREAK) and m.state != _OUT)
        return tuple(dict.fromkeys((*gone, *(s.stop for s in route.stops))))


def live_day(files: Sequence[CaseFile], book: Roadbook, now: dt.datetime) -> LiveDay:
    """Give today as it stands; RefusedInputError without a base to come back to."""
    if book.practice.base is None:
        raise RefusedInputError("base", NO_BASE)
    day = now.date()
    marks, order = book.road.marks_on(day), book.road.orders.get(day.isoformat())
    stops = book.stops_on(files, day)
    there = next((m.stop for m in marks.values() if m.state is StopState.THERE), "")
    gone = {m.stop for m in marks.values() if m.state in (StopState.DONE, StopState.SKIPPED)}
    rest = tuple(s for s in stops if s.premises not in gone)
    ahead = tuple(s for s in rest if s.premises != there)
    place = _places(book)
    known = {s.premises for s in ahead}
    heading = next((s for s in order.stops if s in known), "") if order else ""
    here = _standing(book, now, stops, heading, place)

    def planned(due: tuple[DueStop, ...]) -> tuple[Stop, ...]:
        return tuple(_delayed(book, s, day, marks) for s in due)

    found = replan(
        Ground(book.zone, book.practice.base, book.travel),
        Workday(day, here.ready, book.workday(day).end),
        planned(ahead),
        here,
        None if order is None else _announced(files, book, order, (known, planned)),
        pause=_pause_left(book, day, here.ready, marks),
    )
    return LiveDay(
        date=day,
        now=now,
        stops=stops,
        open=rest,
        marks=marks,
        rules=book.road.rules_on(day),
        calls=book.road.calls_on(day),
        promises=book.road.promises_on(day),
        standing=here,
        there=there,
        replan=found,
        travel=book.travel,
        spread=Spread(book.travel.spread_min, stay_spread(book.road.stays())),
        names={key: p.name for key, p in book.register.premises.items()},
        horses={key: h.name for key, h in book.register.horses.items()},
        position=place,
    )


def board_now(files: Sequence[CaseFile], book: Roadbook, now: dt.datetime) -> Board:
    """Give today at a glance: the whole day, or once it runs what is behind and the rest of it."""
    day = now.date()
    runs = book.road.marks_on(day) or day.isoformat() in book.road.orders
    if book.practice.base is None or not runs:
        return day_board(files, book, day)
    live = live_day(files, book, now)
    left = ((m.stop, m.reason) for m in live.marks.values() if m.state is StopState.SKIPPED)
    route = replace(live.plan, skipped=(*live.plan.skipped, *left))
    seen = (StopState.DONE, StopState.THERE)
    behind = {k: m for k, m in live.marks.items() if m.state in seen and k != BREAK}
    return replace(day_board(files, book, day, route), marks=behind)


def _announced(
    files: Sequence[CaseFile],
    book: Roadbook,
    order: DayOrder,
    ahead: tuple[set[str], Callable[[tuple[DueStop, ...]], tuple[Stop, ...]]],
) -> Announced:
    """Give what was accepted last: its stops without the calls that came after it."""
    known, planned = ahead
    stops = book.stops_on(files, order.date, order.calls)
    kept = tuple(s for s in stops if s.premises in known and s.premises not in order.left_out)
    kept = tuple(s for s in kept if s.premises in order.stops or s.position is None)
    return Announced(
        order=tuple(s for s in order.stops if s in known),
        stops=planned(kept),
        left_out=tuple(s for s in order.left_out if s in known),
    )


def _places(book: Roadbook) -> Mapping[str, Place]:
    """Give every place with a position, the base among them."""
    found = {k: Place(k, p.position) for k, p in book.register.premises.items() if p.position}
    base = book.practice.base
    return found if base is None else {BASE: Place(BASE, base), **found}


def _standing(
    book: Roadbook,
    now: dt.datetime,
    stops: tuple[DueStop, ...],
    heading: str,
    place: Mapping[str, Place],
) -> Standing:
    """Give where the vet stands and when they can drive on; between two stops, the next is kept."""
    marks = book.road.marks_on(now.date())
    last = last_left(marks)
    here = place[BASE] if last is None else place.get(last.stop, place[BASE])
    there = next((m for m in marks.values() if m.state is StopState.THERE), None)
    if there is not None and there.arrived is not None:
        planned = next((s.service_min for s in stops if s.premises == there.stop), 0.0)
        leave = there.arrived + dt.timedelta(minutes=planned + there.delay_min)
        return Standing(place.get(there.stop, here), max(now, leave.astimezone(book.zone)))
    ready = max([now] if last is None else [now, *_lefts(marks)])
    if last is None or last.left is None:
        return Standing(here, max(ready, book.workday(now.date()).start))
    left = max(_lefts(marks)).astimezone(book.zone)
    since = minutes_between(left, now)
    if since <= _JUST_LEFT_MIN or heading not in place:
        return Standing(here, ready.astimezone(book.zone))
    drive = book.travel.drive(here, place[heading])[0]
    return Standing(here, left if since <= drive else minutes_later(now, -drive), heading)


def last_left(marks: Mapping[str, StopMark]) -> StopMark | None:
    """Give the mark of the place left last, None if the vet has not set off."""
    left = [m for m in marks.values() if m.left is not None and m.stop != BREAK]
    return max(left, key=lambda m: m.left) if left else None  # type: ignore[arg-type, return-value]  # none is None


def _lefts(marks: Mapping[str, StopMark]) -> list[dt.datetime]:
    """Give when places were left, and when the break was over."""
    return [m.left for m in marks.values() if m.left is not None]


def _delayed(book: Roadbook, due: DueStop, day: dt.date, marks: Mapping[str, StopMark]) -> Stop:
    """Give a stop for the planner, not before it is expected after a delay."""
    stop, mark = book.stop_of(due, day), marks.get(due.premises)
    if mark is None or mark.state is not StopState.DELAYED or mark.arrived is None:
        return stop
    since = mark.arrived.astimezone(book.zone)
    windows = stop.windows or ((since, max(since, book.workday(day).end)),)
    return replace(stop, windows=tuple((max(a, since), max(b, since)) for a, b in windows))


def _pause_left(
    book: Roadbook, day: dt.date, ready: dt.datetime, marks: Mapping[str, StopMark]
) -> Break | None:
    """Give the break that is still to come, None once it was taken or its time is over."""
    pause = book.pause(day)
    if pause is None or BREAK in marks or ready > pause[1]:
        return None
    return pause
