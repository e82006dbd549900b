"""The app: one desk, one set of drafts, three themes, and the screens reached by number keys."""

from __future__ import annotations

import asyncio
import contextlib
import datetime as dt
import logging
import os
import signal
import threading
from functools import partial
from importlib import import_module
from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import App, SystemCommand

from fieldnotes.domain.errors import FieldnotesError
from fieldnotes.tui.commands import bindings, commands_for
from fieldnotes.tui.screens.base import DeskScreen
from fieldnotes.tui.themes import THEMES, next_theme

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from textual.binding import Binding
    from textual.screen import Screen

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.tui.forms.form import Form
    from fieldnotes.tui.ports import Drafts, Founding, Upkeep

log = logging.getLogger("fieldnotes")

PLACES = {
    "today": "fieldnotes.tui.screens.today:TodayScreen",
    "cases": "fieldnotes.tui.screens.cases:CasesScreen",
    "days": "fieldnotes.tui.screens.days:DaysScreen",
    "outbox": "fieldnotes.tui.screens.outbox:OutboxScreen",
    "upkeep": "fieldnotes.tui.screens.upkeep:UpkeepScreen",
    "outcomes": "fieldnotes.tui.screens.outcomes:OutcomesScreen",
    "road": "fieldnotes.tui.screens.road:RoadScreen",
    "rounds": "fieldnotes.tui.screens.rounds:RoundsScreen",
    "vials": "fieldnotes.tui.screens.vials:VialsScreen",
    "formulary": "fieldnotes.tui.screens.formulary:FormularyScreen",
    "rules": "fieldnotes.tui.screens.rules:RulesScreen",
}
"""The main screens by name; a mode each, so that switching loses nothing."""

FIRST = "today"
WATCH_S = 60.0


def screen_class(name: str) -> type[Screen[None]]:
    """Import a main screen's class."""
    module, _, attribute = PLACES[name].partition(":")
    return cast("type[Screen[None]]", getattr(import_module(module), attribute))


class FieldnotesApp(App[None]):
    """The app over a desk; without one it opens on the three keys of an empty store."""

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
    ) -> None:
        # Without colour the terminal's own two are used; its filter must be known from the start.
        plain = bool(os.environ.get("NO_COLOR"))
        super().__init__(ansi_color=True if plain else None)
        self._desk = desk
        self._drafts = drafts
        self.founding = founding
        self.upkeep = upkeep
        self.warnings: tuple[str, ...] = ()
        self.desk_lock = threading.Lock()
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = "ansi" if plain else "night"

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
        return self._desk.now() if self._desk is not None else dt.datetime.now().astimezone()

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
        for name in PLACES:
            self.add_mode(name, partial(screen_class(name)))
        if self._desk is None:
            from fieldnotes.tui.screens.empty import EmptyScreen  # noqa: PLC0415  (seldom needed or slow to import)

            self.push_screen(EmptyScreen())
        else:
            self.switch_mode(FIRST)
        if self.upkeep is not None:
            self.call_after_refresh(self.watch_store)
            self.set_interval(WATCH_S, self.watch_store)

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

    def open_store(self, desk: Casework, drafts: Drafts) -> None:
        """Take up a store just made."""
        self._desk, self._drafts = desk, drafts
        self.switch_mode(FIRST)
        self.watch_store()

    def set_up(self) -> None:
        """Ask for the practice; saving makes the store."""
        from fieldnotes.tui.forms.screen import FormScreen  # noqa: PLC0415  (seldom needed or slow to import)
        from fieldnotes.tui.screens.empty import SetUp  # noqa: PLC0415  (seldom needed or slow to import)

        if self.founding is not None:
            self.push_screen(FormScreen(SetUp(self.founding)))

    def form_saved(self, form: Form, saved: Saved, words: str) -> None:
        """Leave a saved form: to its plan and handout if it has one, else to where it began."""
        from fieldnotes.tui.screens.saved import SavedScreen  # noqa: PLC0415  (seldom needed or slow to import)

        made = getattr(form, "made", None)
        if made is not None:
            self.open_store(*made)
        elif form.offers_handout:
            self.switch_screen(SavedScreen(saved.ref, words))
        else:
            self.pop_screen()
            if isinstance(self.screen, DeskScreen):
                self.screen.say(words, "done")

    def open_case(self, ref: str) -> None:
        """Open a case over the screen in front."""
        from fieldnotes.tui.screens.case import CaseScreen  # noqa: PLC0415  (seldom needed or slow to import)

        self.push_screen(CaseScreen(ref))

    def _leave_on_signals(self) -> None:
        """End cleanly when the window or the machine goes; drafts are on disk already."""
        loop = asyncio.get_running_loop()
        for name in ("SIGTERM", "SIGHUP"):
            if hasattr(signal, name):
                with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
                    loop.add_signal_handler(getattr(signal, name), self.exit)

    def action_next_theme(self) -> None:
        """Switch to the next theme."""
        self.theme = next_theme(self.theme)

    def action_go(self, name: str) -> None:
        """Switch to a main screen."""
        if self._desk is not None and not isinstance(self.screen, _modal()):
            self.switch_mode(name)

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


def _modal() -> type[Screen[object]]:
    from textual.screen import ModalScreen  # noqa: PLC0415  (seldom needed or slow to import)

    return ModalScreen
