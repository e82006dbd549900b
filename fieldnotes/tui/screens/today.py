"""Today: the next stop and when to leave, the round in order, what is overdue, what to load."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static

from fieldnotes.casework.at_a_glance import raised
from fieldnotes.domain.followups import Doer, State
from fieldnotes.domain.urgency import Urgency
from fieldnotes.tui import glance
from fieldnotes.tui.forms.catalogue import NEEDS_CASE
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens import route
from fieldnotes.tui.screens.base import Failed
from fieldnotes.tui.screens.records import RecordScreen
from fieldnotes.tui.widgets.roundmap import RoundMap
from fieldnotes.tui.widgets.rows import Row, RowList, TextPanel

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from textual.app import ComposeResult

    from fieldnotes.casework.at_a_glance import Raised
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.rounds import Roadbook
    from fieldnotes.casework.views import Board, CaseFile, DueLine
    from fieldnotes.domain.register import Register
    from fieldnotes.tui.ports import Upkeep


PATIENCE_S = 0.7
"""So long what was seen last stands for the route; then the list of what is due does."""


class DueFound(Message):
    """What is due today, before the route is known."""

    def __init__(self, today: dt.date, lines: tuple[DueLine, ...]) -> None:
        super().__init__()
        self.today = today
        self.lines = lines


class BoardMade(Message):
    """The day was planned."""

    def __init__(self, board: Board, register: Register, now: dt.datetime) -> None:
        super().__init__()
        self.board = board
        self.register = register
        self.now = now


class FlagsRaised(Message):
    """The flags on the wounds of today's cases, the mail that waits, the last backup."""

    def __init__(self, flags: tuple[Raised, ...], queued: int, backup: str) -> None:
        super().__init__()
        self.flags = flags
        self.queued = queued
        self.backup = backup


def _unordered(lines: tuple[DueLine, ...], today: dt.date, width: int) -> tuple[Row, ...]:
    """Give the vet's tasks as they stand, while the route is being planned."""
    return tuple(
        Row(
            route.task_line(line.task, line.horse, today, width),
            f"{route.TASK}{line.task.case}:{line.task.key}",
        )
        for line in lines
        if line.task.by is Doer.VET
    )


def _board_made(files: Sequence[CaseFile], book: Roadbook, now: dt.datetime) -> BoardMade:
    from fieldnotes.casework import live_day  # noqa: PLC0415  (not before the first picture)

    return BoardMade(live_day.board_now(files, book, now), book.register, now)


def flags_of(desk: Casework, board: Board, upkeep: Upkeep | None) -> FlagsRaised:
    """Judge the wounds of the cases on today's round."""
    refs = dict.fromkeys(ref for stop in board.stops for ref in stop.cases)
    waiting = sum(1 for letter in desk.post.outbox() if letter.state != "sent")
    backup = upkeep.backed_up() if upkeep is not None else ""
    return FlagsRaised(raised(desk.file(ref) for ref in refs), waiting, backup)


def _flag_words(found: Raised) -> Content:
    urgency = found.flag.urgency
    words = f"{found.horse}: {found.name} ({found.wound}), {urgency.value}"
    return Content.styled(f"{route.URGENCY_SIGN[urgency]} {words}", route.URGENCY_SLOT[urgency])


class TodayScreen(RecordScreen):
    """The day at a glance."""

    NAME = "today"
    HEADING = "Today"
    EXPLAINS = (
        "The round in the order it is driven, from the practice and back. A row's signs: '!!' see "
        "now, '!' see today or overdue or late, '~' you would wait there, '*' infected or dirty "
        "and so visited late, '?' not on the route. Below stands what is done at the stop under "
        "the cursor, and why it matters. Drive times are reckoned from straight lines; traffic "
        "and roads are not known."
    )

    def __init__(self) -> None:
        super().__init__()
        self._workings = False
        self._board: Board | None = None
        self._register: Register | None = None
        self._now: dt.datetime | None = None
        self._as_of = ""

    def body(self) -> ComposeResult:
        """Give the panels."""
        yield Static(lit("Looking up what is due ..."), id="next")
        yield Static("", id="flags")
        yield RowList(id="round", classes="panel")
        yield RoundMap(id="roundmap", classes="panel")
        yield TextPanel(id="load", classes="panel")
        yield RowList(id="overdue", classes="panel")
        yield RowList(id="stop")

    def on_mount(self) -> None:
        """Name the panels; show what stood in them last, if that was today and of this size."""
        self.query_one("#roundmap").border_title = "Map  m"
        self.query_one("#load").border_title = "To load  l"
        self.query_one("#overdue").border_title = "Overdue  x"
        self.query_one("#round").focus()
        app = self.fieldnotes
        seen = glance.read(app.glance, self.app.size, app.moment())
        if seen is not None:
            self._show_glance(seen)

    def _show_glance(self, seen: glance.Glance) -> None:
        self._as_of = f"   as of {seen.made:%H:%M}, looking ..."
        self._head(seen.made.date())
        for name, words in seen.words.items():
            self.query_one(name, Static).update(words)
        for name, rows in seen.lists.items():
            self.query_one(name, RowList).show(lambda _, rows=rows: rows)  # type: ignore[misc]
        self.query_one(RoundMap).show(seen.places, "")

    def _head(self, today: dt.date) -> None:
        words = f"Today   {today:%A} {today.day} {today:%B %Y}{self._as_of}"
        self.query_one("#heading", Static).update(lit(words))

    def on_screen_resume(self) -> None:
        """Ask again: something may have been saved."""
        if not self.fieldnotes.is_open:
            return
        desk = self.desk
        self.ask(lambda: DueFound(desk.today(), desk.due()), "due")
        self.look_for_drafts()

    def store_opened(self) -> None:
        """Ask for the true board."""
        self.on_screen_resume()

    @on(Failed)
    def _no_board(self, event: Failed) -> None:
        if event.group in {"due", "board"}:
            self.fieldnotes.free_keys()

    @on(DueFound)
    def _paint_list(self, event: DueFound) -> None:
        today = event.today
        self._head(today)
        if self._as_of:
            self.set_timer(PATIENCE_S, lambda: self._show_due(event))
        else:
            self._show_due(event)
        desk = self.desk
        self.ask_and_reckon(
            lambda: (desk.open_files(today), desk.road.book(), desk.now()),
            lambda known: _board_made(*known),
            "board",
        )

    def _show_due(self, event: DueFound) -> None:
        today, lines = event.today, event.lines
        if self._board is None:
            self._as_of = ""
            self._head(today)
            overdue = sum(line.state is State.OVERDUE for line in lines)
            words = f"{overdue} overdue, {len(lines) - overdue} due. Planning the route ..."
            self.query_one("#next", Static).update(lit(words))
            self.query_one("#round", RowList).show(lambda w: _unordered(lines, today, w))
            self.fieldnotes.free_keys()

    @on(BoardMade)
    def _show_board(self, event: BoardMade) -> None:
        board = event.board
        self._board, self._register, self._now = board, event.register, event.now
        self.query_one("#round", RowList).show(lambda w: route.route_rows(board, w))
        self._as_of = ""
        self._head(board.date)
        self.redraw()
        self.fieldnotes.free_keys()
        desk = self.desk
        upkeep = self.fieldnotes.upkeep
        self.ask(lambda: flags_of(desk, board, upkeep), "flags")

    def redraw(self) -> None:
        """Draw what depends on the board and on the size."""
        board, now = self._board, self._now
        if board is None or now is None:
            return
        width = max(self.size.width - 2, 40)
        self.query_one("#next", Static).update(route.next_lines(board, now, width))
        full = self.large == "load"
        self.query_one("#load", TextPanel).show(
            lambda w: route.load_text(board, w, full=full, workings=full and self._workings)
        )
        self.query_one("#overdue", RowList).show(
            lambda w: route.overdue_rows(board.overdue, board.date, w)
        )
        self._follow_cursor()

    def on_resize(self) -> None:
        """Fit the words to the new width."""
        self.redraw()

    @on(FlagsRaised)
    def _show_flags(self, event: FlagsRaised) -> None:
        grave = [f for f in event.flags if f.flag.urgency is not Urgency.NEXT_VISIT]
        shown = [_flag_words(f) for f in grave[:3]]
        more = len(event.flags) - len(shown)
        if more:
            shown.append(
                Content.styled(f"{more} more flags" if shown else f"{more} flags", "$quiet")
            )
        if self._board is not None and self._board.overdue:
            shown.append(Content.styled(f"{len(self._board.overdue)} overdue: x", "$overdue"))
        if event.queued:
            shown.append(Content.styled(f"{event.queued} letters wait: 4", "$due"))
        if event.backup:
            shown.append(Content.styled(event.backup, "$quiet"))
        self.query_one("#flags", Static).update(Content("   ").join(shown))
        self.call_after_refresh(self._keep_glance)

    def _keep_glance(self) -> None:
        upkeep, now = self.fieldnotes.upkeep, self._now
        if upkeep is not None and now is not None:
            picture = glance.taken(self, now)
            self.run_worker(lambda: upkeep.keep_glance(picture), group="glance", thread=True)

    @on(OptionList.OptionHighlighted, "#round")
    def _follow_cursor(self) -> None:
        board, register = self._board, self._register
        if board is None or register is None:
            return
        stop = self._stop()
        self._mark_map(board, stop)
        place = register.premises.get(stop.due.premises) if stop else None
        self.query_one("#stop", RowList).show(
            lambda w: route.stop_rows(stop, place, board, w) if stop else ()
        )

    def _mark_map(self, board: Board, chosen: route.DayStop | None) -> None:
        base = self._register.practice.base if self._register and self._register.practice else None
        stops = [(str(s.number), s.due.position) for s in route.day_stops(board) if s.planned]
        places = tuple((n, p) for n, p in [("⌂", base), *stops] if p is not None)
        self.query_one(RoundMap).show(places, str(chosen.number) if chosen else "")

    def action_workings(self) -> None:
        """Show how each item of the load list was reckoned, or the items alone again."""
        self._workings = self.large != "load" or not self._workings
        if self.large == "load":
            self.redraw()
        else:
            self.action_large("load")

    def action_day_sheet(self) -> None:
        """Read the day sheet."""
        from fieldnotes.tui.screens.papers import DaySheetScreen  # noqa: PLC0415  (seldom needed)

        self.app.push_screen(DaySheetScreen())

    def _stop(self) -> route.DayStop | None:
        key = self.query_one("#round", RowList).chosen.removeprefix(route.STOP)
        stops = route.day_stops(self._board) if self._board else ()
        return next((s for s in stops if s.due.premises == key), None)

    def chosen_case(self) -> str:
        """Give the case under the cursor; of several at a stop the most pressing."""
        name = self.focused.id if isinstance(self.focused, RowList) else "round"
        key = self.query_one(f"#{name}", RowList).chosen
        if key.startswith(route.TASK):
            return key.removeprefix(route.TASK).partition(":")[0]
        stop = self._stop()
        return min(stop.due.tasks, key=lambda t: t.latest).case if stop else ""

    @on(OptionList.OptionSelected)
    def _row_chosen(self) -> None:
        self.action_open()

    def action_open(self) -> None:
        """Open the case under the cursor; a stop of several goes on to its tasks."""
        stop = self._stop()
        at_round = self.query_one("#round").has_focus
        if at_round and stop is not None and len(stop.due.cases) > 1:
            self.query_one("#stop").focus()
        else:
            super().action_open()

    def action_form(self, name: str) -> None:
        """Open a form; at a stop of several cases the vet first says which of them it is about."""
        stop = self._stop()
        at_round = self.query_one("#round").has_focus
        if name in NEEDS_CASE and at_round and stop is not None and len(stop.due.cases) > 1:
            self.query_one("#stop").focus()
            self.say("Which case? Choose one of its tasks, then press the key again.", "due")
        else:
            super().action_form(name)

    def action_back(self) -> None:
        """Go back to the round."""
        if self.large:
            self.action_large(self.large)
        self.query_one("#round").focus()
