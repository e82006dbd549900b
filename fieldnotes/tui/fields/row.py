"""A field on the screen: label, editor, what was understood; an error stands under the text.

A row draws all but the editor itself: a page is made anew at each turn, and a widget for every
word of it took most of the time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import events, on
from textual.binding import Binding
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Input

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.tui.fields.choices import ChoiceField, FindField, ManyField
from fieldnotes.tui.fields.place import PlaceField
from fieldnotes.tui.literal import lit
from fieldnotes.tui.widgets.rows import fitted, wrapped

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.geometry import Size

    from fieldnotes.tui.fields.field import Field, Option


class Answered(Message):
    """A field's answer changed."""

    def __init__(self, key: str, answer: str) -> None:
        super().__init__()
        self.key = key
        self.answer = answer


class Finished(Message):
    """The vet is done with a field and wants the next (`step` 1) or the one before (-1)."""

    def __init__(self, step: int = 1) -> None:
        super().__init__()
        self.step = step


class Entered(Message):
    """A field got the focus, or its matches changed."""

    def __init__(self, row: FieldRow) -> None:
        super().__init__()
        self.row = row


class TextEditor(Input):
    """One line of text; the arrows move between fields or matches, and words delete leftwards."""

    BINDINGS: ClassVar[list[Binding | tuple[str, str] | tuple[str, str, str]]] = [
        Binding("up", "step(-1)", show=False),
        Binding("down", "step(1)", show=False),
        Binding("ctrl+backspace,alt+backspace", "delete_left_word", show=False),
    ]

    def action_step(self, by: int) -> None:
        """Go to another match, or to the field above or below."""
        if isinstance(self.parent, FieldRow):
            self.parent.step(by)


class ChoiceEditor(Widget, can_focus=True):
    """One of a few by letter; Space goes through them, Backspace empties it."""

    BINDINGS: ClassVar[list[Binding | tuple[str, str] | tuple[str, str, str]]] = [
        Binding("down,enter", "done(1)", show=False),
        Binding("up", "done(-1)", show=False),
        Binding("space,right", "turn(1)", show=False),
        Binding("left", "turn(-1)", show=False),
        Binding("backspace,delete", "empty", show=False),
    ]
    answer = reactive("")

    def __init__(self, field: ChoiceField, answer: str) -> None:
        super().__init__()
        self.field = field
        self.set_reactive(ChoiceEditor.answer, answer)

    def render(self) -> Content:
        """Draw the chosen words."""
        return lit(self.field.shown(self.answer) or "-")

    def on_key(self, event: events.Key) -> None:
        """Choose by letter."""
        option = self.field.by_letter(event.character or "") if event.character else None
        if option is None or not option.letter:
            return
        event.stop()
        if isinstance(self.field, ManyField):
            self._set(self.field.toggled(self.answer, option))
            return
        self._set(option.id)
        self.post_message(Finished(1))

    def _set(self, answer: str) -> None:
        self.answer = answer
        self.post_message(Answered(self.field.key, answer))

    def action_done(self, step: int) -> None:
        """Go to another field."""
        self.post_message(Finished(step))

    def action_turn(self, by: int) -> None:
        """Go to the next or previous choice."""
        if isinstance(self.field, ManyField) or not self.field.given:
            return
        ids = [o.id for o in self.field.given]
        at = ids.index(self.answer) if self.answer in ids else -1 if by > 0 else 0
        self._set(ids[(at + by) % len(ids)])

    def action_empty(self) -> None:
        """Choose nothing."""
        self._set("")


class FieldRow(Widget):
    """One field of a pane."""

    def __init__(self, field: Field, answer: str | None) -> None:
        place = " place" if isinstance(field, PlaceField) else ""  # the longest names there are
        super().__init__(classes=f"field{place}")
        self.field = field
        self.answer = field.default if answer is None else answer
        self.touched = answer is not None
        self.marked = 0
        self.caution = ""
        self.fault = ""
        self._told = ""
        self._current = False
        self._editor: TextEditor | ChoiceEditor
        if isinstance(field, ChoiceField):
            self._editor = ChoiceEditor(field, self.answer)
        else:
            self._editor = TextEditor(field.shown(self.answer), compact=True)

    def compose(self) -> ComposeResult:
        """Lay out the editor; its margin is where the label is drawn."""
        yield self._editor

    def render(self) -> Content:
        """Draw the label, what was understood, and what is wrong beneath."""
        width, label, editor = self.size.width, *self._columns()
        rest = max(width - label - editor - 2, 0)
        indent = len(self.field.label) - len(self.field.label.lstrip())
        style = "bold $foreground" if self._current else "$quiet"
        return Content("").join(
            (
                Content(" " * indent),
                fitted(self.field.label, label - indent, style),
                Content(" " * (editor + 1)),
                fitted(self.field.echo(self.answer), rest, "$quiet"),
                *(Content("\n") + line for line in self._said(width)),
            )
        )

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Give a line for the field and those of what is said beneath."""
        del container, viewport
        return 1 + sum(said.plain.count("\n") + 1 for said in self._said(width))

    def _columns(self) -> tuple[int, int]:
        """Give the widths of label and editor."""
        styles = self._editor.styles
        return styles.margin.left, int(styles.width.value) if styles.width else 0

    def _said(self, width: int) -> tuple[Content, ...]:
        """Give what is wrong, else what to be careful of, broken to the width."""
        words, style = self._words(), "$overdue" if self.fault else "$due"
        return (wrapped(words, width, style, self._columns()[0]),) if words else ()

    def _words(self) -> str:
        return f"! {self.fault}" if self.fault else f"~ {self.caution}" if self.caution else ""

    @property
    def editor(self) -> TextEditor | ChoiceEditor:
        """The widget that takes the focus."""
        return self._editor

    @property
    def matches(self) -> tuple[Option, ...]:
        """What the typed text may mean, in a search field."""
        return self.field.options(self.answer) if isinstance(self.field, FindField) else ()

    def renew(self, field: Field) -> None:
        """Take the field as it is for the present answers; a prefilled value may have changed."""
        if field == self.field:
            return
        self.field = field
        if isinstance(self._editor, ChoiceEditor) and isinstance(field, ChoiceField):
            self._editor.field = field
        if not self.touched and field.default != self.answer:
            self.answer = field.default
            self._show_answer()
        elif isinstance(self._editor, ChoiceEditor):
            self._editor.refresh()
        self.refresh()

    def _show_answer(self) -> None:
        shown = self.field.shown(self.answer)
        if isinstance(self._editor, ChoiceEditor):
            self._editor.set_reactive(ChoiceEditor.answer, self.answer)
            self._editor.refresh()
        else:
            with self._editor.prevent(Input.Changed):
                self._editor.value = shown

    def tell(self, fault: str) -> None:
        """Show what is wrong under the text, else what to be careful of."""
        self.fault = fault
        told, self._told = self._told, self._words()
        self.refresh(layout=told != self._told)

    def check(self) -> None:
        """Read the answer and show what is wrong with it, if it is not merely empty."""
        try:
            if self.answer.strip():
                self.field.read(self.answer)
        except RefusedInputError as error:
            self.tell(error.reason)
        else:
            self.tell("")

    def take(self, answer: str) -> None:
        """Set the answer, as if typed."""
        self.answer, self.touched = answer, True
        self._show_answer()
        self.check()
        self.post_message(Answered(self.field.key, answer))

    def step(self, by: int) -> None:
        """Mark another match, or go to another field if there are none."""
        matches = self.matches
        if not matches:
            self.post_message(Finished(by))
            return
        self.marked = (self.marked + by) % len(matches)
        self.post_message(Entered(self))

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        event.stop()
        if event.value == self.field.shown(self.answer):
            return
        self.answer, self.touched, self.marked = event.value, True, 0
        self.caution = ""
        self.tell("")
        self.post_message(Answered(self.field.key, event.value))
        self.post_message(Entered(self))

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        matches = self.matches
        if matches and self.answer.strip():
            self.take(matches[min(self.marked, len(matches) - 1)].id)
            if self.matches and isinstance(self._editor, TextEditor):
                self.marked = 0  # a folder was chosen: what lies in it comes next
                self._editor.cursor_position = len(self._editor.value)
                self.post_message(Entered(self))
                return
        self.post_message(Finished(1))

    @on(Answered)
    def _chosen(self, event: Answered) -> None:
        if isinstance(self._editor, ChoiceEditor):
            self.answer, self.touched = event.answer, True
            self.tell("")

    def on_descendant_focus(self) -> None:
        """Say that this field has the focus."""
        self._current = True
        self.refresh()
        self.post_message(Entered(self))

    def on_descendant_blur(self) -> None:
        """Read what was typed."""
        self._current = False
        self.check()
