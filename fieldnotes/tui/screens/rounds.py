"""Rounds: which visit on which of the coming days, planned with progress; a key stops it."""

from __future__ import annotations

from threading import Event
from typing import TYPE_CHECKING

from textual import on
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static

from fieldnotes.casework.coming import coming_rounds
from fieldnotes.domain.errors import FieldnotesError
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.base import Failed
from fieldnotes.tui.screens.records import RecordScreen
from fieldnotes.tui.widgets.rows import Row, RowList, fitted, joined, wrapped

if TYPE_CHECKING:
    from collections.abc import Mapping

    from textual.app import ComposeResult

    from fieldnotes.casework.coming import ComingRounds, PlacedVisit
    from fieldnotes.planning.route_day import DayRoute, PlannedStop

LEAST_DAYS, MOST_DAYS = 5, 20
VISIT = "visit:"


class RoundsSearched(Message):
    """One of several searches is through."""

    def __init__(self, done: int, of: int, cost: float) -> None:
        super().__init__()
        self.done = done
        self.of = of
        self.cost = cost


class RoundsMade(Message):
    """The coming days were planned; `early` if it was stopped."""

    def __init__(self, coming: ComingRounds, horses: Mapping[str, str], *, early: bool) -> None:
        super().__init__()
        self.coming = coming
        self.horses = horses
        self.early = early


class RoundsScreen(RecordScreen):
    """The coming working days, each as a route."""

    NAME = "rounds"
    HEADING = "Rounds"
    EXPLAINS = (
        "Which visit on which of the coming working days, chosen together with the order so that "
        "driving is least and nothing is later than it may be. Several searches run one after "
        "another; Escape stops and shows the best so far. 'At least' is a bound no plan can beat: "
        "the gap to it is how far this one can be off at most. A day told to an owner is kept "
        "unless moving it saves an hour of driving, and then it is listed. A stop marked done on "
        "today's road is not planned again, one skipped not before tomorrow."
    )

    def __init__(self) -> None:
        super().__init__()
        self._days = LEAST_DAYS
        self._made: RoundsMade | None = None
        self._stopped = Event()

    def body(self) -> ComposeResult:
        """Give the panels."""
        yield Static("", id="planning")
        yield RowList(id="rounds", classes="panel")

    def on_mount(self) -> None:
        """Take the keys and plan."""
        self.query_one("#rounds").focus()
        self.action_again()

    def action_days(self, more: int) -> None:
        """Plan more days, or fewer."""
        self._days = min(max(self._days + more, LEAST_DAYS), MOST_DAYS)
        self.action_again()

    def action_stop(self) -> None:
        """Stop planning."""
        self._stopped.set()

    def action_again(self) -> None:
        """Plan anew; what is shown stays until the new plan is there."""
        self._stopped.set()
        stopped = self._stopped = Event()
        self._say_planning("looking up what is due ...")
        days = self._days
        self.run_worker(lambda: self._plan(days, stopped), group="rounds", exclusive=True,
                        thread=True)  # fmt: skip

    def _plan(self, days: int, stopped: Event) -> None:
        """Plan in a thread; the desk is held only while its records are read."""
        desk = self.desk

        def progress(done: int, of: int, cost: float) -> bool:
            self.post_message(RoundsSearched(done, of, cost))
            return not stopped.is_set()

        try:
            with self.fieldnotes.desk_lock:
                today = desk.today()
                files, book = desk.open_files(today), desk.road.book()
            coming = coming_rounds(files, book, today, days, progress)
        except FieldnotesError as error:
            self.post_message(Failed(error, "rounds"))
            return
        horses = {key: h.name for key, h in book.register.horses.items()}
        self.post_message(RoundsMade(coming, horses, early=stopped.is_set()))

    def _say_planning(self, words: str) -> None:
        self.query_one("#planning", Static).update(
            lit(f"{self._days} working days: {words}\nEsc stops")
        )

    @on(RoundsSearched)
    def _searched(self, event: RoundsSearched) -> None:
        bar = "#" * event.done + "." * (event.of - event.done)
        self._say_planning(f"search {event.done} of {event.of} [{bar}], best {event.cost:.0f} min")

    @on(RoundsMade)
    def _show(self, event: RoundsMade) -> None:
        self._made = event
        self.query_one("#rounds", RowList).show(lambda w: rounds_rows(event, w))
        self.redraw()

    def redraw(self) -> None:
        """Say what the plan comes to."""
        if self._made is None:
            return
        width = max(self.size.width - 2, 40)
        lines = rounds_sums(self._made, width)
        self.query_one("#planning", Static).update(Content("\n").join(lines))

    def on_resize(self) -> None:
        """Fit the words to the new width."""
        self.redraw()

    def chosen_case(self) -> str:
        """Give the case of the visit under the cursor."""
        key = self.query_one("#rounds", RowList).chosen.removeprefix(VISIT)
        made = self._made
        visits = (*made.coming.visits, *made.coming.done) if made else ()
        found = next((v for v in visits if v.id == key), None)
        return min(found.tasks, key=lambda t: t.latest).case if found else ""

    @on(OptionList.OptionSelected)
    def _row_chosen(self) -> None:
        self.action_open()


def rounds_sums(made: RoundsMade, width: int) -> tuple[Content, Content]:
    """Give driving, bound and gap, then what answers for them and what is amiss."""
    rounds = made.coming.rounds
    visits = sum(len(day.stops) for day in rounds.days)
    total = f"{visits} stops on {sum(bool(d.stops) for d in rounds.days)} days, "
    total += f"{rounds.drive_min:.0f} min driving, at least {rounds.bound_min:.0f} by any plan"
    words = [f"gap {rounds.gap_percent:.0f} % of the cost"]
    words += [f"searched by {rounds.solver}; bound by {rounds.proof}"]
    words += [f"{len(rounds.unplaced)} not placed"] if rounds.unplaced else []
    words += [f"{len(rounds.moved)} told days moved"] if rounds.moved else []
    words += ["stopped early"] if made.early else []
    return fitted(total, width, "bold"), fitted("  ·  ".join(words), width, "$quiet")


def rounds_rows(made: RoundsMade, width: int) -> tuple[Row, ...]:
    """Give each day under its date, then what is moved and what is not placed."""
    known = {v.id: v for v in made.coming.visits}
    rows: list[Row] = []
    for day in made.coming.rounds.days:
        rows.append(Row(_day_head(day)))
        rows += [Row(_visit(stop, known[stop.stop], made.horses, width), VISIT + stop.stop)
                 for stop in day.stops]  # fmt: skip
        rows += [Row(wrapped(f"  ! {note}", width, "$due")) for note in day.notes]
        rows += [Row(wrapped(f"  ! {known[s].name}: {why}", width, "$due"))
                 for s, why in (*day.unreached, *day.skipped)]  # fmt: skip
    for gone in made.coming.done:
        words = f"✓ done today: {gone.name}, not planned again; its visit is not in the record yet"
        rows.append(Row(wrapped(words, width, "$done"), VISIT + gone.id))
    for visit, told in made.coming.rounds.moved:
        words = f"! moved: {known[visit].name} was told {told:%a} {told.day} {told:%b}"
        rows.append(Row(wrapped(words, width, "bold $due")))
    for visit, why in made.coming.rounds.unplaced:
        words = f"? not placed: {known[visit].name} ({why})"
        rows.append(Row(wrapped(words, width, "$overdue"), VISIT + visit))
    return tuple(rows)


def _day_head(day: DayRoute) -> Content:
    name = f"{day.date:%A} {day.date.day} {day.date:%b}"
    if not day.stops:
        return Content.styled(f"{name}   no visit", "$quiet")
    times = f"leave {day.start:%H:%M}, back {day.finish:%H:%M}, {day.drive_min:.0f} min driving"
    stops = f"{len(day.stops)} stop{'s' * (len(day.stops) != 1)}"
    return Content.styled(f"{name}   {stops}, {times}", "bold $primary")


def _visit(stop: PlannedStop, visit: PlacedVisit, horses: Mapping[str, str], width: int) -> Content:
    names = ", ".join(dict.fromkeys(horses.get(t.horse, t.horse) for t in visit.tasks))
    late = max((stop.arrive.date() - t.due).days for t in visit.tasks)
    sign = f"! {late} d after due" if late > 0 else "promised" if stop.reason == "promised" else ""
    room = max(width - 6 - 6 - 16 - 8, 20)
    place = room * 45 // 100
    return joined(
        (
            fitted(f"{stop.arrive:%H:%M}", 6, "bold", right=True),
            fitted(f"{stop.drive_min:.0f} min", 6, "$quiet", right=True),
            fitted(visit.name, place, "bold"),
            fitted(names, room - place),
            fitted(sign, 16, "$due"),
        )
    )
