"""A screen whose rows are about cases: opening one, every form about it, and drafts not saved."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from textual import on
from textual.message import Message

from fieldnotes.tui.forms.catalogue import FORMS, NEEDS_CASE, opener
from fieldnotes.tui.forms.reckoner import Reckoner
from fieldnotes.tui.lazy import named
from fieldnotes.tui.screens.base import Failed, StatusLine
from fieldnotes.tui.screens.panels import PanelScreen

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldnotes.tui.forms.form import Form
    from fieldnotes.tui.forms.reckon_page import Bench
    from fieldnotes.tui.forms.screen import FormScreen
    from fieldnotes.tui.ports import Draft


class FormReady(Message):
    """A form was prepared from the records."""

    def __init__(self, screen: FormScreen) -> None:
        super().__init__()
        self.screen = screen


class DraftsFound(Message):
    """The forms that were typed in and not saved."""

    def __init__(self, drafts: tuple[Draft, ...]) -> None:
        super().__init__()
        self.drafts = drafts


class RecordScreen(PanelScreen, Reckoner):
    """Subclasses say which case the cursor stands on."""

    waiting: tuple[Draft, ...] = ()
    """The drafts that can be taken up, the last changed first."""
    _notice = ""

    def chosen_case(self) -> str:
        """Give the case under the cursor, empty if there is none."""
        return ""

    def bench(self) -> Callable[[], Bench]:
        """Give what looks up the case under the cursor for the calculators."""
        from fieldnotes.tui.forms.reckoning import bench_of  # noqa: PLC0415  (seldom needed)

        return partial(bench_of, self.desk, self.chosen_case())

    def look_for_drafts(self) -> None:
        """Ask for the forms that were not saved."""
        drafts = self.fieldnotes.drafts
        self.ask(lambda: DraftsFound(drafts.list()), "drafts")

    def action_open(self) -> None:
        """Open the case under the cursor."""
        if ref := self.chosen_case():
            self.fieldnotes.open_case(ref)
        else:
            self.say("There is no case in this row.")

    def action_new(self) -> None:
        """Write up a first visit."""
        self.action_form("first_visit")

    def action_form(self, name: str) -> None:
        """Open a form, about the case under the cursor where it needs one."""
        ref = self.chosen_case() if name in NEEDS_CASE else ""
        if name in NEEDS_CASE and not ref:
            self.say("! choose a case first", "overdue")
            return
        self._prepare(name, ref, None)

    def _prepare(self, name: str, ref: str, draft: Draft | None) -> None:
        desk, upkeep = self.desk, self.fieldnotes.upkeep
        if upkeep is not None and upkeep.read_only:
            self.say("! this store is opened to read only: nothing can be written", "overdue")
            return
        self.fieldnotes.hold_keys()  # they are for the form, which says when it takes them

        def prepare() -> Message:
            form: Form = opener(name)(desk, ref)
            return FormReady(named("forms.screen:FormScreen")(form, draft))

        self.ask(prepare, "form")

    @on(FormReady)
    def _open_form(self, event: FormReady) -> None:
        self.app.push_screen(event.screen)

    @on(Failed)
    def _no_form(self, event: Failed) -> None:
        if event.group == "form":
            self.fieldnotes.free_keys()

    def action_drafts(self) -> None:
        """Take up a form not saved: the one there is, or one of a list."""
        if len(self.waiting) > 1:
            from fieldnotes.tui.screens.drafts import DraftsScreen  # noqa: PLC0415  (seldom needed)

            self.app.push_screen(DraftsScreen(self.waiting, self._resume))
        elif self.waiting:
            self._resume(self.waiting[0])

    def _resume(self, draft: Draft) -> None:
        self._prepare(draft.form, draft.case, draft)

    @on(DraftsFound)
    def _offer(self, event: DraftsFound) -> None:
        self.waiting = tuple(d for d in event.drafts if d.form in FORMS)
        if self.waiting:
            more = len(self.waiting) - 1
            rest = f" and {more} more. u lists them." if more else ". u goes on with it."
            self._notice = f"Not saved yet: {self.waiting[0].title}{rest}"
            self.say(self._notice)
        elif self._notice and str(self.query_one("#status", StatusLine).content) == self._notice:
            self.say("")
