"""The day as it runs: stops marked, calls taken in, the rest replanned; and the days to come."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.casework.live_day import LiveDay, board_now, live_day
from fieldnotes.casework.marking import marked
from fieldnotes.casework.queries import due_lines
from fieldnotes.casework.rounds import Roadbook, day_board
from fieldnotes.clinical.costs import strength_item
from fieldnotes.domain.driving import (
    BREAK,
    Call,
    CallTaken,
    DayOrder,
    OrderAccepted,
    Rule,
    StockCounted,
    StockLine,
    StopMark,
    StopMarked,
    StopRule,
    StopRuled,
    StopState,
    WindowTold,
    stock_id,
)
from fieldnotes.domain.entries import PracticeSet
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.patients import PairDrive
from fieldnotes.domain.text import clean_line
from fieldnotes.domain.urgency import Urgency
from fieldnotes.planning.travel_fit import odd_legs

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.casework.coming import ComingRounds
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.ports import Records
    from fieldnotes.casework.telling import OwnerText
    from fieldnotes.casework.views import Board, DueLine, Saved
    from fieldnotes.domain.driving import Leg
    from fieldnotes.planning.rounds_solver import Progress
    from fieldnotes.planning.route_day import DayRoute
    from fieldnotes.planning.supplies import Load
    from fieldnotes.rendering.route_files import RoutePoint

MOST_CALL_MIN = 480.0
MOST_COUNT = 100_000.0


class RoadDesk:
    """What the vet asks and says on the road, over one desk."""

    def __init__(self, desk: Casework, records: Records) -> None:
        self._desk = desk
        self._records = records

    # ----- what is known

    def book(self) -> Roadbook:
        """Give what a day is planned with."""
        return Roadbook(self._desk.register(), self._desk.knowledge, self._records.road())

    def board(self, day: dt.date) -> Board:
        """Give a whole day at a glance, whatever the hour."""
        return day_board(self._desk.open_files(day), self.book(), day)

    def board_now(self) -> Board:
        """Give today at a glance, as it runs."""
        now = self._desk.now()
        return board_now(self._desk.open_files(now.date()), self.book(), now)

    def rounds(self, days: int, progress: Progress | None = None) -> ComingRounds:
        """Give which visit goes on which of the coming working days."""
        from fieldnotes.casework.coming import coming_rounds  # noqa: PLC0415  (only the commands that need it pay for it)

        today = self._desk.today()
        return coming_rounds(self._desk.open_files(today), self.book(), today, days, progress)

    def live(self) -> LiveDay:
        """Give today as it stands: what is done, the rest from here and now, what is proposed."""
        now = self._desk.now()
        return live_day(self._desk.open_files(now.date()), self.book(), now)

    def odd_legs(self) -> tuple[Leg, ...]:
        """Give logged drives far off the fit that no known drive answers for yet."""
        book = self.book()
        known = {(p.start, p.end) for p in book.practice.known_drives}
        return tuple(g for g in odd_legs(book.road.legs()) if (g.start, g.end) not in known)

    # ----- what is said of a stop

    def set_off(self, at: dt.datetime | None = None) -> Saved:
        """Say that the base was left."""
        return self._mark(StopState.SET_OFF, "", left=at)

    def rested(self, at: dt.datetime | None = None) -> Saved:
        """Say that the break was taken and is over."""
        return self._mark(StopState.DONE, BREAK, left=at)

    def there(self, stop: str, at: dt.datetime | None = None) -> Saved:
        """Say that a stop is reached; logs the drive to it."""
        return self._mark(StopState.THERE, stop, arrived=at)

    def done(
        self, stop: str, left: dt.datetime | None = None, arrived: dt.datetime | None = None
    ) -> Saved:
        """Say that a stop is done; logs the drive to it and how long it took."""
        return self._mark(StopState.DONE, stop, left=left, arrived=arrived)

    def delay(self, stop: str, minutes: float) -> Saved:
        """Say that a stop takes, or is reached, so many minutes later than planned."""
        if not 0 < minutes <= MOST_CALL_MIN:
            raise RefusedInputError("minutes", f"from 1 to {MOST_CALL_MIN:.0f}")
        return self._mark(StopState.DELAYED, stop, minutes=minutes)

    def skip(self, stop: str, why: str, *, past_latest: bool = False) -> Saved:
        """Leave a stop out today, with a reason; past its last day only if that is said too."""
        if not why.strip():
            raise RefusedInputError("why", "say why the stop is left out")
        found = next((s for s in self.live().open if s.premises == stop), None)
        if found is None:
            raise RefusedInputError("stop", "only a stop that is still open can be left out")
        late = any(t.case and t.latest <= self._today() for t in found.tasks)
        if late and not past_latest:
            raise RefusedInputError(
                "past_latest", "its last day is today or gone: say that it is left out all the same"
            )
        return self._mark(StopState.SKIPPED, stop, why=why)

    def reopen(self, stop: str) -> Saved:
        """Take back what was marked of a stop."""
        return self._mark(StopState.OPEN, stop)

    def _mark(
        self,
        state: StopState,
        stop: str,
        *,
        arrived: dt.datetime | None = None,
        left: dt.datetime | None = None,
        minutes: float = 0.0,
        why: str = "",
    ) -> Saved:
        live = self.live()
        said = StopMark("", live.date, stop, state, arrived, left, minutes, why)
        mark = marked(live, self.book(), said, self._desk.open_files(live.date))
        if state is not StopState.OPEN and live.date.isoformat() not in self.book().road.orders:
            self._accepted(live.order, live.plan)
        return self._desk.save(StopMarked(mark))

    def _today(self) -> dt.date:
        return self._desk.today()

    # ----- calls, locks, orders

    def insert(
        self,
        premises: str,
        service_min: float,
        urgency: Urgency = Urgency.SAME_DAY,
        what: str = "",
        horse: str = "",
    ) -> Saved:
        """Take an urgent call in; the day as it then might run is a proposal until accepted."""
        register, now = self._desk.register(), self._desk.now()
        if premises not in register.premises:
            raise RefusedInputError("premises", "choose a place from the register, or add it first")
        if not 0 < service_min <= MOST_CALL_MIN:
            raise RefusedInputError("minutes", f"from 1 to {MOST_CALL_MIN:.0f}")
        day = now.date()
        if day.isoformat() not in self.book().road.orders:
            live = self.live()
            self._accepted(live.order, live.plan)
        number = sum(c.date == day for c in self.book().road.calls.values()) + 1
        call = Call(f"{day}/{number}", day, premises, horse, what or "urgent call", service_min,
                    urgency, now)  # fmt: skip
        if self.book().road.marks_on(day).get(premises, None) is not None:
            self._desk.save(StopMarked(_reopened(premises, day)))
        return self._desk.save(CallTaken(call))

    def withdraw(self, call: str, why: str) -> Saved:
        """Take a call out again, with the reason."""
        known = self.book().road.calls.get(call)
        if known is None:
            raise RefusedInputError("call", f"no call {call} was taken in")
        if not why.strip():
            raise RefusedInputError("why", "say why it is not driven to")
        return self._desk.save(CallTaken(replace(known, withdrawn=why)))

    def lock(self, stop: str, rule: Rule, at: dt.datetime | None = None, why: str = "") -> Saved:
        """Lock a stop; asks why where that goes against the order in which wounds are seen."""
        live = self.live()
        found = next((s for s in live.open if s.premises == stop), None)
        if found is None:
            raise RefusedInputError("stop", "only a stop that is still open can be locked")
        if rule is Rule.AT and at is None:
            raise RefusedInputError("at", "a fixed time needs a time")
        clean = any(not s.contaminated for s in live.open if s is not found)
        dirty = any(s.contaminated for s in live.open)
        early = rule is Rule.FIRST and found.contaminated and clean
        after = rule is Rule.FINAL and not found.contaminated and dirty
        if (early or after) and not why.strip():
            raise RefusedInputError("why", "infected cases are seen last: say why not this time")
        if rule in (Rule.FIRST, Rule.FINAL):
            self._free_others(live.date, stop, rule)
        return self._desk.save(
            StopRuled(StopRule(f"{live.date}/{stop}", live.date, stop, rule, at, why))
        )

    def _free_others(self, day: dt.date, stop: str, rule: Rule) -> None:
        """Take the same lock from another stop: only one is first, only one is final."""
        for other in self.book().road.rules_on(day).values():
            if other.stop != stop and other.rule is rule:
                self._desk.save(StopRuled(replace(other, rule=Rule.NONE)))

    def accept(self) -> Saved:
        """Take the proposed order; without a proposal the order shown is announced as it is."""
        live = self.live()
        return self._accepted(live.proposed_order or live.order, live.replan.proposal or live.plan)

    def _accepted(self, order: tuple[str, ...], route: DayRoute) -> Saved:
        day = self._today()
        calls = tuple(c.id for c in self.book().road.calls_on(day))
        marks = self.book().road.marks_on(day)
        off = tuple(stop for stop, _ in route.skipped if stop not in marks)
        return self._desk.save(OrderAccepted(DayOrder(day.isoformat(), day, order, off, calls)))

    # ----- what owners are told

    def texts(self, stop: str) -> tuple[OwnerText, ...]:
        """Give what each owner at a stop is told about when the vet comes."""
        from fieldnotes.casework.telling import owner_texts  # noqa: PLC0415  (only the commands that need it pay for it)

        return owner_texts(self.live(), self.book(), stop)

    def tell(self, text: OwnerText) -> Saved:
        """Keep that an owner was told a window: it is a promise from now on."""
        return self._desk.save(WindowTold(text.promise))

    # ----- how days are made

    def shape_days(
        self,
        pause: tuple[dt.time, dt.time, float] | None,
        most_visits: int | None,
        most_visit_min: float | None,
    ) -> Saved:
        """Set the break (earliest start, latest start, minutes) and the caps of a day."""
        if pause is not None and not (pause[0] <= pause[1] and 0 < pause[2] <= MOST_CALL_MIN):
            raise RefusedInputError("break", "its latest start is not before its earliest")
        for field, cap in (("most_visits", most_visits), ("most_minutes", most_visit_min)):
            if cap is not None and cap <= 0:
                raise RefusedInputError(field, "a cap is 1 or more; leave it out for none")
        first, last, minutes = pause or (None, None, self._desk.practice().break_min)
        changed = replace(
            self._desk.practice(), break_from=first, break_until=last, break_min=minutes,
            most_visits=most_visits, most_visit_min=most_visit_min,
        )  # fmt: skip
        return self._desk.save(PracticeSet(changed))

    # ----- what is loaded, and the day for other programs

    def due(self, day: dt.date, days: int) -> tuple[tuple[DueLine, ...], tuple[Load, ...]]:
        """Give what is due within so many days, and what to load for the day as its board has it.

        No route is planned.
        """
        files, book = self._desk.open_files(day), self.book()
        return due_lines(files, day, days), book.load(files, book.stops_on(files, day), day)

    def stock(self) -> tuple[StockLine, ...]:
        """Give what is in the truck: what was counted, less what was used since, by item."""
        lines = self.book().road.in_truck().values()
        return tuple(sorted(lines, key=lambda s: (s.item, s.unit)))

    def count(self, item: str, count: float, unit: str) -> Saved:
        """Keep how much of an item is in the truck."""
        item, unit = clean_line(item), clean_line(unit)
        if not item or not unit:
            raise RefusedInputError("item", "name the item and its unit")
        if not 0 <= count <= MOST_COUNT:
            raise RefusedInputError("count", f"from 0 to {MOST_COUNT:g}")
        now = self._desk.now()
        line = StockLine(stock_id(item, unit), item, count, unit, now.date(), now)
        return self._desk.save(StockCounted(line))

    def loadable(self) -> dict[str, str]:
        """Give everything a load list may name that is no drug, with its unit."""
        knowledge = self._desk.knowledge
        found = {s.item: s.unit for s in knowledge.bandages.stuff}
        return found | {n.item: n.unit for s in knowledge.services.services for n in s.items}

    def unit_of(self, item: str) -> str:
        """Give the unit the load list counts an item in."""
        wanted = item.strip().casefold()
        drugs = self._desk.knowledge.drugs
        strengths = {strength_item(d.name, d.unit, s): s.per for d in drugs for s in d.strengths}
        known = strengths | self.loadable()
        return next((unit for name, unit in known.items() if name.casefold() == wanted), "each")

    def calendar(self, day: dt.date, points: tuple[RoutePoint, ...]) -> bytes:
        """Give a day's stops as calendar entries."""
        from fieldnotes.rendering.calendars import Publisher, day_calendar  # noqa: PLC0415  (only the commands that need it pay for it)

        practice = self._desk.practice()
        by = Publisher(self._desk.store_id, practice, self._desk.now())
        return day_calendar(f"Round of {day.isoformat()}", points, day, by)

    # ----- what drives teach

    def keep_drive(self, leg: Leg) -> Saved:
        """Put an odd drive into the table of known drives, which overrules the fit."""
        practice = self._desk.practice()
        others = tuple(p for p in practice.known_drives if (p.start, p.end) != (leg.start, leg.end))
        pair = PairDrive(leg.start, leg.end, round(leg.minutes, 1))
        return self._desk.save(PracticeSet(replace(practice, known_drives=(*others, pair))))


def _reopened(stop: str, day: dt.date) -> StopMark:
    return StopMark(f"{day}/{stop}", day, stop, StopState.OPEN)
