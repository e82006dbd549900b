"""Route: the day as it runs. Stops are marked with one key and the rest is planned anew."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.message import Message
from textual.widgets import OptionList, Static

from fieldnotes.casework.live_day import live_day
from fieldnotes.domain.driving import BASE, BREAK
from fieldnotes.domain.errors import FieldnotesError
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens import road_words
from fieldnotes.tui.screens.base import Failed, saved_at
from fieldnotes.tui.screens.records import RecordScreen
from fieldnotes.tui.widgets.roundmap import RoundMap
from fieldnotes.tui.widgets.rows import RowList

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult

    from fieldnotes.casework.live_day import LiveDay
    from fieldnotes.domain.driving import Leg

DELAY_MIN = 15.0
EVERY_S = 60.0


class LiveFound(Message):
    """The day as it stands, and the odd drives; `words` say what was kept before."""

    def __init__(self, live: LiveDay, odd: tuple[Leg, ...], words: str) -> None:
        super().__init__()
        self.live = live
        self.odd = odd
        self.words = words


class RoadScreen(RecordScreen):
    """What is behind, where the vet is, what is ahead; the plan shown stays until a new one is."""

    NAME = "road"
    HEADING = "Route"
    EXPLAINS = (
        "Today as it runs. 'a' says you are there, 'd' that a stop is done: both log the drive. "
        "'+' makes the stop you are at, or the one under the cursor, 15 minutes later. 'i' takes "
        "a call in. The announced order stays unless another saves 10 minutes or cures lateness; "
        "then it is proposed with its price, and 'y' takes it. Wait and slack are minutes: slack "
        "is how much later a stop could begin and still be in its window."
    )

    def __init__(self) -> None:
        super().__init__()
        self._live: LiveDay | None = None
        self._odd_legs: tuple[Leg, ...] = ()

    def body(self) -> ComposeResult:
        """Give the panels."""
        yield Static(lit("Planning from here and now ..."), id="standing")
        yield RowList(id="stops", classes="panel")
        yield RowList(id="detail", classes="panel")
        yield RoundMap(id="roadmap", classes="panel")

    def on_mount(self) -> None:
        """Take the keys, and look at the clock once a minute."""
        self.query_one("#roadmap").border_title = "Map  m"
        self.query_one("#stops").focus()
        self.set_interval(EVERY_S, self._again)

    def on_screen_resume(self) -> None:
        """Plan anew: something may have been saved."""
        self._again()

    def _again(self) -> None:
        if self.is_current:
            self._act(None, "")

    # ----- asking and telling

    def _act(self, said: Callable[[], object] | None, words: str) -> None:
        """Say something to the record, then plan from here; the desk is free while it plans."""
        self.run_worker(lambda: self._planned(said, words), group="road", thread=True,
                        exclusive=said is None)  # fmt: skip

    def _planned(self, said: Callable[[], object] | None, words: str) -> None:
        desk = self.desk
        try:
            with self.fieldnotes.desk_lock:
                if said is not None:
                    said()
                now = desk.now()
                files, book = desk.open_files(now.date()), desk.road.book()
                odd = desk.road.odd_legs()
            live = live_day(files, book, now)
        except FieldnotesError as error:
            self.post_message(Failed(error, "road"))
            return
        self.post_message(LiveFound(live, odd, f"{saved_at(now)}: {words}" if words else ""))

    @on(LiveFound)
    def _show(self, event: LiveFound) -> None:
        live = self._live = event.live
        self._odd_legs = event.odd
        day = f"{live.date:%A} {live.date.day} {live.date:%B}"
        self.query_one("#heading", Static).update(lit(f"Route   {day}"))
        self.query_one("#stops", RowList).show(lambda w: road_words.road_rows(live, live.plan, w))
        if event.words:
            self.say(event.words, "done")
        self.redraw()

    def redraw(self) -> None:
        """Draw what depends on the day and on the size."""
        live = self._live
        if live is None:
            return
        width = max(self.size.width - 2, 40)
        self.query_one("#standing", Static).update(road_words.standing_lines(live, width))
        self._follow_cursor()

    def on_resize(self) -> None:
        """Fit the words to the new width."""
        self.redraw()

    @on(OptionList.OptionHighlighted, "#stops")
    def _follow_cursor(self) -> None:
        live, odd = self._live, self._odd_legs
        if live is None:
            return
        stop, detail = self.chosen_stop(), self.query_one("#detail", RowList)
        if live.replan.proposal is not None:
            detail.border_title = "Proposed  y"
            detail.show(lambda w: road_words.proposal_rows(live, w))
        else:
            detail.border_title = ""
            detail.show(lambda w: road_words.detail_rows(live, stop, odd, w))
        places = [("⌂", live.position[BASE].position)]
        places += [(str(n), live.position[s.stop].position) for n, s in
                   enumerate(live.plan.stops, 1)]  # fmt: skip
        chosen = next((str(n) for n, s in enumerate(live.plan.stops, 1) if s.stop == stop), "")
        self.query_one(RoundMap).show(tuple(places), chosen)

    # ----- what is under the cursor

    def chosen_stop(self) -> str:
        """Give the stop under the cursor."""
        return self.query_one("#stops", RowList).chosen.removeprefix(road_words.STOP)

    def chosen_case(self) -> str:
        """Give the most pressing case at the stop under the cursor."""
        stops = self._live.stops if self._live else ()
        due = next((s for s in stops if s.premises == self.chosen_stop()), None)
        tasks = [t for t in due.tasks if t.case] if due else []
        return min(tasks, key=lambda t: t.latest).case if tasks else ""

    @on(OptionList.OptionSelected)
    def _row_chosen(self) -> None:
        self.action_open()

    def _here(self) -> str:
        """Give the stop the vet is at, else the one under the cursor or next."""
        return (self._live.there if self._live else "") or self._ahead()

    def _ahead(self) -> str:
        """Give the stop under the cursor if it is still ahead, else the next one."""
        stop, plan = self.chosen_stop(), self._live.plan.stops if self._live else ()
        ahead = [s.stop for s in plan]
        return stop if stop in ahead or not ahead else ahead[0]

    def _named(self, stop: str) -> str:
        return self._live.names.get(stop, stop) if self._live else stop

    # ----- one key each

    def action_there(self) -> None:
        """Say that the stop under the cursor is reached."""
        road, stop = self.desk.road, self._ahead()
        self._act(lambda: road.there(stop), f"there, {self._named(stop)}")

    def action_done(self) -> None:
        """Say that the stop the vet is at, or the one under the cursor, is done."""
        road, stop = self.desk.road, self._here()
        self._act(lambda: road.done(stop), f"done, {self._named(stop)}")

    def action_later(self) -> None:
        """Make a stop a quarter of an hour later."""
        road, stop = self.desk.road, self._here()
        self._act(lambda: road.delay(stop, DELAY_MIN), f"15 min later, {self._named(stop)}")

    def action_set_off(self) -> None:
        """Say that the base was left."""
        road = self.desk.road
        self._act(road.set_off, "set off")

    def action_rested(self) -> None:
        """Say that the break is over."""
        road = self.desk.road
        self._act(road.rested, "break taken")

    def action_reopen(self) -> None:
        """Take back what was marked of the stop under the cursor."""
        road, stop = self.desk.road, self.chosen_stop()
        if stop not in (BASE, BREAK):
            self._act(lambda: road.reopen(stop), f"open again, {self._named(stop)}")

    def action_accept(self) -> None:
        """Take the proposal; without one, announce the order shown."""
        road = self.desk.road
        self._act(road.accept, "order accepted")

    def action_keep_drive(self) -> None:
        """Put the first odd drive among the known ones."""
        road, odd = self.desk.road, self._odd_legs
        if odd:
            self._act(lambda: road.keep_drive(odd[0]), "drive kept as known")

    def action_ask_stop(self, name: str) -> None:
        """Open a form about the stop under the cursor."""
        self._prepare(name, self.chosen_stop(), None)

    def action_tell(self) -> None:
        """Show what each owner at the stop is told."""
        from fieldnotes.tui.screens.tell import TellScreen  # noqa: PLC0415  (seldom needed)

        self.app.push_screen(TellScreen(self.chosen_stop()))

    def action_back(self) -> None:
        """Go back to the list."""
        if self.large:
            self.action_large(self.large)
        self.query_one("#stops").focus()
