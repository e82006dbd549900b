"""The app: one desk, one set of drafts, three themes, and the screens reached by number keys."""

from __future__ import annotations

import asyncio
import contextlib
import datetime as dt
import logging
import os
import signal
import threading
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, ClassVar, cast

from textual import on
from textual.app import SystemCommand
from textual.message import Message

from fieldnotes.domain.errors import FieldnotesError
from fieldnotes.tui.commands import bindings, commands_for
from fieldnotes.tui.cover import LOOK_EVERY_S, Cover
from fieldnotes.tui.first_run import FirstRun, begun
from fieldnotes.tui.held_keys import HeldKeys
from fieldnotes.tui.lazy import named, ready, warm
from fieldnotes.tui.screens.base import DeskScreen
from fieldnotes.tui.themes import THEMES, few_colours, first_theme, next_theme
from fieldnotes.tui.tidying import LOOK_EVERY_S as LOOK_FOR_QUIET_S
from fieldnotes.tui.tidying import Tidying

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from textual import events
    from textual.binding import Binding
    from textual.screen import Screen
    from textual.widgets import Input

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.tui.forms.form import Form
    from fieldnotes.tui.ports import Drafts, Founding, Upkeep

log = logging.getLogger("fieldnotes")

PLACES = {
    "today": "screens.today:TodayScreen",
    "cases": "screens.cases:CasesScreen",
    "days": "screens.days:DaysScreen",
    "outbox": "screens.outbox:OutboxScreen",
    "upkeep": "screens.upkeep:UpkeepScreen",
    "outcomes": "screens.outcomes:OutcomesScreen",
    "road": "screens.road:RoadScreen",
    "rounds": "screens.rounds:RoundsScreen",
    "vials": "screens.vials:VialsScreen",
    "formulary": "screens.formulary:FormularyScreen",
    "rules": "screens.rules:RulesScreen",
}
"""The main screens by name; a mode each, so that switching loses nothing."""

SELDOM = (
    "screens.case:CaseScreen",
    "forms.screen:FormScreen",
    "screens.map:MapScreen",
    "screens.saved:SavedScreen",
    "screens.help:HelpScreen",
)
FIRST, EMPTY = "today", "empty"
MODES = {**PLACES, EMPTY: "screens.empty:EmptyScreen"}
WATCH_S = 60.0
LATER_S = 3.0
"""What is not asked for waits so long after the store is open, so that it hinders nobody."""


def _main_screen(name: str) -> Screen[None]:
    return cast("Screen[None]", named(name)())


INDEX_STEP = 200  # cases between two words of how far it is


class StoreOpened(Message):
    """The store was opened; `begun` are the answers of a first run that was left."""

    def __init__(self, found: tuple[Casework, Drafts], begun: Mapping[str, str] | None) -> None:
        super().__init__()
        self.found = found
        self.begun = begun


class IndexGrown(Message):
    """So many of the cases stand in an index that is made anew."""

    def __init__(self, done: int, of: int) -> None:
        super().__init__()
        self.done, self.of = done, of


class StoreRefused(Message):
    """The store cannot be opened."""

    def __init__(self, error: FieldnotesError) -> None:
        super().__init__()
        self.error = error


@dataclass(frozen=True)
class Opening:
    """A store to be opened after the first picture: how, what was kept of it, and when it is."""

    open: Callable[[], tuple[Casework, Drafts]]
    glance: bytes
    now: dt.datetime
    theme: str = ""
    """The theme chosen last on this computer."""


LOOKED_AT = {"saved", "case"}
"""Screens with nothing typed in them: the number key of their list leads back to it."""


class FieldnotesApp(HeldKeys):
    """The app over a desk; without one it opens on the three keys of an empty store.

    With an `opening` its first screen is shown before the store is open, as it was kept; a store
    that cannot be opened ends the app, and `fault` says why.
    """

    CSS_PATH = "fieldnotes.tcss"
    TITLE = "fieldnotes"
    BINDINGS: ClassVar[list[Binding | tuple[str, str] | tuple[str, str, str]]] = [*bindings("app")]
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (110, "-wide")]  # noqa: RUF012  (as Textual types it)

    def __init__(
        self,
        desk: Casework | None,
        drafts: Drafts | None,
        founding: Founding | None = None,
        upkeep: Upkeep | None = None,
        opening: Opening | None = None,
    ) -> None:
        self._first = FIRST if desk is not None or opening is not None else EMPTY
        named(MODES[self._first])  # imported before there is a loop to hold
        # Textual shows its default mode first; which one that is is known only now.
        self.DEFAULT_MODE = self._first  # type: ignore[misc]
        # Without colour the terminal's own two are used; its filter must be known from the start.
        plain = bool(os.environ.get("NO_COLOR"))
        super().__init__(ansi_color=True if plain else None)
        self._desk = desk
        self._drafts = drafts
        self.founding = founding
        self.first_run = FirstRun(self)
        self.upkeep = upkeep
        self.warnings: tuple[str, ...] = ()
        self.fault: FieldnotesError | None = None
        self._opening = opening
        self.desk_lock = threading.Lock()
        self.cover = Cover(self)
        self.tidying = Tidying(self)
        for theme in THEMES:
            self.register_theme(theme)
        self._own_theme = not (plain or few_colours(self.console))
        self.theme = first_theme(opening.theme if opening else "") if self._own_theme else "ansi"
        self.animation_level = "none"  # nothing on the screen moves by itself

    def get_default_screen(self) -> Screen[None]:
        """Give the first screen, so that no empty one is drawn before it."""
        return _main_screen(MODES[self._first])

    @property
    def glance(self) -> bytes:
        """The first screen as it was kept, to be shown until the store is open."""
        return self._opening.glance if self._opening is not None else b""

    @property
    def is_open(self) -> bool:
        """Whether there is a desk."""
        return self._desk is not None

    @property
    def desk(self) -> Casework:
        """The desk; there is one on every screen but the empty store's."""
        if self._desk is None:
            raise RuntimeError("no store is open")
        return self._desk

    @property
    def drafts(self) -> Drafts:
        """The drafts of the open store."""
        if self._drafts is None:
            raise RuntimeError("no store is open")
        return self._drafts

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Give the semantic slots a value in any theme, the palette's own included."""
        return dict(THEMES[1].variables)

    def moment(self) -> dt.datetime:
        """Give the present moment: the desk's, or the machine's where there is no store yet."""
        if self._desk is not None:
            return self._desk.now()
        return self._opening.now if self._opening else dt.datetime.now().astimezone()

    def keep_draft(self, draft: tuple[str, str, str, str, str], answers: Mapping[str, str]) -> None:
        """Journal a form; where there is no store yet there is nowhere to."""
        if self._drafts is not None:
            self._drafts.save(*draft, answers)

    def discard_draft(self, draft_id: str) -> None:
        """Delete the draft of a saved form."""
        if self._drafts is not None:
            self._drafts.discard(draft_id)

    def on_mount(self) -> None:
        """Take up signals, then open the first screen."""
        self._leave_on_signals()
        for name, screen in MODES.items():
            self.add_mode(name, partial(_main_screen, screen))
        if self._opening is not None:
            self.hold_keys()
            self.call_after_refresh(self.run_worker, self._open, thread=True)
        self.set_interval(LOOK_FOR_QUIET_S, self.tidying.if_quiet)
        if self.upkeep is not None:
            self.call_after_refresh(self.watch_store)
            self.set_interval(WATCH_S, self.watch_store)
            self.set_interval(LOOK_EVERY_S, self.cover.if_idle)

    async def on_event(self, event: events.Event) -> None:
        """Take note of every key before it goes its way."""
        self.cover.touched(event)
        self.tidying.touched(event)
        await super().on_event(event)

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Keep the cursor of whatever is typed in from blinking, the palette's own line too."""
        if hasattr(event.widget, "cursor_blink"):
            cast("Input", event.widget).cursor_blink = False

    def action_cover(self) -> None:
        """Cover the screen until the passphrase or PIN is typed."""
        self.cover.now()

    def _open(self) -> None:
        if self._opening is not None:
            try:
                found = self._opening.open()
                self.post_message(StoreOpened(found, begun(found[1])))
            except FieldnotesError as error:
                self.post_message(StoreRefused(error))

    @on(StoreOpened)
    def _take_up(self, event: StoreOpened) -> None:
        self.take_up(*event.found)
        if event.begun is not None or not self.first_run.settled():
            self.free_keys()
            self.switch_mode(EMPTY)
            if event.begun is not None:
                self.first_run.show(event.begun)
            return
        self.set_timer(LATER_S, self._when_idle)
        if isinstance(self.screen, DeskScreen):
            self.screen.store_opened()  # it frees the keys when it shows the truth

    def _when_idle(self) -> None:
        self.watch_store()
        self.run_worker(self._get_ready, thread=True, group="warm")

    def _get_ready(self) -> None:
        """Make what a search looks through, then import what was not opened yet."""
        from fieldnotes.tui.forms.catalogue import FORMS  # noqa: PLC0415  (after the first picture)

        with contextlib.suppress(FieldnotesError), self.desk_lock:
            self.desk.find_cases()
        warm((*PLACES.values(), *SELDOM, *dict.fromkeys(FORMS.values())))

    def index_progress(self, done: int, of: int) -> None:
        """Say, from any thread, how much of a missing index has been made anew."""
        if done % INDEX_STEP == 0 or done == of:
            self.post_message(IndexGrown(done, of))

    @on(IndexGrown)
    def _tell_index(self, event: IndexGrown) -> None:
        if isinstance(self.screen, DeskScreen):
            self.screen.say(f"making the index anew: {event.done} of {event.of}")

    @on(StoreRefused)
    def _give_up(self, event: StoreRefused) -> None:
        self.fault = event.error
        self.exit(return_code=event.error.exit_code)

    def watch_store(self) -> None:
        """Ask after the first picture, and now and then, what threatens the store."""
        if self._desk is not None:
            self.run_worker(self._watch, group="watch", exclusive=True, thread=True)

    def _watch(self) -> None:
        if self.upkeep is None:
            return
        with contextlib.suppress(FieldnotesError):
            self.upkeep.seal_the_day()
        with contextlib.suppress(FieldnotesError):
            self.warnings = self.upkeep.warnings()
        self.call_from_thread(self._show_warnings)

    def _show_warnings(self) -> None:
        if isinstance(self.screen, DeskScreen):
            self.screen.show_warnings()

    def take_up(self, desk: Casework, drafts: Drafts) -> None:
        """Have this desk and these drafts from now on."""
        self._desk, self._drafts = desk, drafts

    def open_store(self, desk: Casework, drafts: Drafts) -> None:
        """Show the first screen over a store just made."""
        self.take_up(desk, drafts)
        self.switch_mode(FIRST)
        self.watch_store()

    def form_saved(self, form: Form, saved: Saved, words: str) -> None:
        """Leave a saved form: to its plan and handout if it has one, else to where it began."""
        from fieldnotes.tui.screens.saved import SavedScreen  # noqa: PLC0415  (seldom needed or slow to import)

        if self.cover.delays(partial(self.form_saved, form, saved, words)):
            return
        if form.offers_handout:
            self.switch_screen(SavedScreen(saved.ref, words, saved.unwritten))
        else:
            self.pop_screen()
            if isinstance(self.screen, DeskScreen):
                self.screen.say(words, "done")

    def open_case(self, ref: str) -> None:
        """Open a case over the screen in front."""
        self.hold_keys()  # they are for the case
        self.run_worker(self._open_case(ref), group="case")

    async def _open_case(self, ref: str) -> None:
        try:
            case_screen = await ready("screens.case:CaseScreen")
            await self.push_screen(case_screen(ref))
        finally:
            self.screen.call_after_refresh(self.free_keys)

    def _leave_on_signals(self) -> None:
        """End cleanly when the window or the machine goes; drafts are on disk already."""
        loop = asyncio.get_running_loop()
        for name in ("SIGTERM", "SIGHUP"):
            if hasattr(signal, name):
                with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
                    loop.add_signal_handler(getattr(signal, name), self.exit)

    def action_next_theme(self) -> None:
        """Switch to the next theme, kept for this computer if its terminal has them all."""
        name = self.theme = next_theme(self.theme)
        upkeep = self.upkeep
        if upkeep is not None and self._desk is not None and self._own_theme:
            self.run_worker(lambda: _kept(upkeep, name), group="theme", thread=True)

    async def action_go(self, name: str) -> None:
        """Switch to a main screen; one never shown is imported in a thread."""
        beginning = getattr(self.screen, "NAME", "") in {EMPTY, "assistant"}
        if self._desk is not None and not beginning and not isinstance(self.screen, _modal()):
            self.hold_keys()  # they are for the screen to come
            await ready(PLACES[name])
            if self.current_mode == name:
                while getattr(self.screen, "NAME", "") in LOOKED_AT and len(self.screen_stack) > 1:
                    await self.pop_screen()
            self.switch_mode(name)
            self.screen.call_after_refresh(self.free_keys)

    def action_explain(self) -> None:
        """Open the help of the screen in front."""
        from fieldnotes.tui.screens.help import HelpScreen  # noqa: PLC0415  (seldom needed or slow to import)

        if isinstance(self.screen, DeskScreen):
            self.push_screen(HelpScreen(self.screen.NAME, self.screen.EXPLAINS))

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """Give every command of the table that is for the screen in front."""
        name = screen.NAME if isinstance(screen, DeskScreen) else ""
        for command in commands_for(name):
            title = f"{command.title}  ({command.shown_key})"
            yield SystemCommand(title, command.help, partial(self._run, command.action))

    async def _run(self, action: str) -> None:
        await self.screen.run_action(action)


def _kept(upkeep: Upkeep, theme: str) -> None:
    with contextlib.suppress(FieldnotesError, OSError):  # a full disk keeps nobody from reading
        upkeep.keep_theme(theme)


def _modal() -> type[Screen[object]]:
    from textual.screen import ModalScreen  # noqa: PLC0415  (seldom needed or slow to import)

    return ModalScreen
