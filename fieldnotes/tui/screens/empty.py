"""A store with nothing in it: set up a practice, import records, or look at the demo."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.message import Message
from textual.widgets import Input, Static

from fieldnotes.domain.entries import REGISTER
from fieldnotes.domain.patients import Person, Practice
from fieldnotes.tui.fields.field import Field
from fieldnotes.tui.forms.form import Answers, Form, Pane, Reading
from fieldnotes.tui.forms.settings import read_settings, setting_panes
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.base import DeskScreen

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.errors import Problem
    from fieldnotes.tui.ports import Drafts, Founding

WORDS = """
There are no records here yet.

  s   set up your practice
  i   import records: a file, or a folder of files
  d   look at the demo: an invented practice with a full day
"""


class StoreMade(Message):
    """A store was made and can be opened."""

    def __init__(self, desk: Casework, drafts: Drafts) -> None:
        super().__init__()
        self.desk = desk
        self.drafts = drafts


class EmptyScreen(DeskScreen):
    """The three keys of an empty store."""

    NAME = "empty"
    AUTO_FOCUS: ClassVar[str | None] = ""  # none: a focused line would swallow the three keys
    HEADING = "fieldnotes"
    EXPLAINS = "There are no records in this store yet. Set one up, import one, or see the demo."

    def body(self) -> ComposeResult:
        """Give the three ways on."""
        yield Static(lit(WORDS), id="open-with")
        path = Input(placeholder="path of a file or folder to import", id="path", compact=True)
        path.display = False
        yield path

    def _make(self, way: Callable[[Founding], tuple[Casework, Drafts]]) -> None:
        founding = self.fieldnotes.founding
        if founding is not None:
            self.say("one moment ...")
            self.ask(lambda: StoreMade(*way(founding)), "make")

    def action_demo(self) -> None:
        """Look at the sample practice."""
        self._make(lambda f: f.demo())

    def action_setup(self) -> None:
        """Enter the practice and who signs."""
        self.fieldnotes.set_up()

    def action_bring_in(self) -> None:
        """Ask for the file."""
        path = self.query_one("#path", Input)
        path.display = True
        path.focus()

    def key_escape(self) -> None:
        """Put the line for the file away; what was typed in it stays."""
        self.query_one("#path", Input).display = False
        self.set_focus(None)

    @on(Input.Submitted, "#path")
    def _file_named(self, event: Input.Submitted) -> None:
        name = event.value
        self._make(lambda f: f.bring_in(name))

    @on(StoreMade)
    def _open(self, event: StoreMade) -> None:
        self.fieldnotes.open_store(event.desk, event.drafts)


class SetUp(Form):
    """The practice and its first vet; saving makes the store."""

    name = "set-up"
    title = "Set up the practice"

    def __init__(self, founding: Founding) -> None:
        self._founding = founding
        self._blank = Practice("", "", "Europe/London")
        self.made: tuple[Casework, Drafts] | None = None
        vet = (Field(key="vet", label="Vet who signs", required=True),)
        first, *others = setting_panes(self._blank)
        self._pane = (replace(first, fields=(*first.fields[:2], *vet, *first.fields[2:])), *others)

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the one page."""
        _ = answers
        return self._pane

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong."""
        return Reading(self._pane, answers).faults()

    def save(self, answers: Answers) -> Saved:
        """Make the store."""
        from fieldnotes.casework.views import Saved  # noqa: PLC0415  (seldom needed or slow to import)

        r = Reading(self._pane, answers)
        person = Person("vet-1", r.get("vet", ""))
        self.made = self._founding.set_up(read_settings(r, self._blank), person)
        return Saved(REGISTER, ())
