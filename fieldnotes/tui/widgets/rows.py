"""Lists and panels whose text is made for the width there is; both keep their place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from rich.cells import cell_len, set_cell_size
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from fieldnotes.domain.text import clean, clean_line

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from textual.app import ComposeResult
    from textual.binding import BindingType

MOVES: list[BindingType] = [
    Binding("j", "cursor_down", "Down", show=False),
    Binding("k", "cursor_up", "Up", show=False),
    Binding("g", "first", "First", show=False),
    Binding("G", "last", "Last", show=False),
]
LEAST_WIDTH = 30


@dataclass(frozen=True)
class Row:
    """One row of a list; `key` keeps the cursor on it, a row without one is a heading."""

    text: Content
    key: str = ""


def fitted(text: str, width: int, style: str = "", *, right: bool = False) -> Content:
    """Give one line of record text in exactly `width` cells; a cut is shown by an ellipsis."""
    shown = clean_line(text)
    if cell_len(shown) > width:
        shown = set_cell_size(shown, max(width - 1, 0)) + "…"
    gap = " " * max(width - cell_len(shown), 0)
    return Content.styled(gap + shown if right else shown + gap, style)


def joined(parts: Iterable[Content], gap: str = "  ") -> Content:
    """Give columns side by side."""
    return Content(gap).join(parts)


def wrapped(text: str, width: int, style: str = "", indent: int = 0, hang: int = 0) -> Content:
    """Give record text broken at words, its own newlines kept; later lines `hang` further in."""
    room = max(width - indent - hang, 10)
    lines = [line for given in clean(text).split("\n") for line in _broken(given, room)]
    margins = [" " * indent, *[" " * (indent + hang)] * (len(lines) - 1)]
    return Content.styled("\n".join(map("".join, zip(margins, lines, strict=True))), style)


def _broken(text: str, room: int) -> list[str]:
    lines, line = [], ""
    for word in text.split(" "):
        joint = f"{line} {word}" if line else word
        if cell_len(joint) <= room:
            line = joint
            continue
        if line:
            lines.append(line)
        line = word
        while cell_len(line) > room:
            head = set_cell_size(line, room)
            lines.append(head)
            line = line[len(head.rstrip()) or 1 :]
    return [*lines, line]


class RowList(OptionList):
    """A list of rows under one cursor; headings are passed over."""

    BINDINGS: ClassVar[list[BindingType]] = MOVES

    def __init__(self, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002  (the name Textual uses)
        super().__init__(id=id, classes=classes, markup=False)
        self._make: Callable[[int], tuple[Row, ...]] | None = None
        self._made_for = 0
        self.rows: tuple[Row, ...] = ()

    @property
    def chosen(self) -> str:
        """The key of the row under the cursor, empty if there is none."""
        option = self.highlighted_option
        return (option.id or "") if option is not None else ""

    def show(self, make: Callable[[int], tuple[Row, ...]]) -> None:
        """Fill the list; the cursor stays on its row, or on the place it had."""
        self._make = make
        self._fill()

    def on_resize(self) -> None:
        """Fit the rows to the new width, the one under the cursor still in sight."""
        if self.scrollable_content_region.width != self._made_for:
            self._fill()
        self.scroll_to_highlight()

    def _fill(self) -> None:
        width = self.scrollable_content_region.width
        if self._make is None or width < 1:
            return
        self._made_for = width
        key, place = self.chosen, self.highlighted
        rows = self.rows = self._make(max(width, LEAST_WIDTH))
        self.set_options([Option(r.text, id=r.key or None, disabled=not r.key) for r in rows])
        keys = [i for i, row in enumerate(rows) if row.key]
        if not keys:
            return
        same = next((i for i in keys if rows[i].key == key), None)
        near = min(keys, key=lambda i: abs(i - (place or 0)))
        self.highlighted = near if same is None else same


class TextPanel(VerticalScroll):
    """Text that is read, not chosen from; arrows scroll it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("j", "scroll_down", "Down", show=False),
        Binding("k", "scroll_up", "Up", show=False),
    ]

    def __init__(self, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002  (the name Textual uses)
        super().__init__(id=id, classes=classes)
        self._make: Callable[[int], Content] | None = None

    def compose(self) -> ComposeResult:
        """Give the text its place."""
        yield Static(classes="panel-text")

    def show(self, make: Callable[[int], Content]) -> None:
        """Put the text made for the present width."""
        self._make = make
        self._fill()

    def on_resize(self) -> None:
        """Fit the text to the new width."""
        self._fill()

    def _fill(self) -> None:
        width = self.scrollable_content_region.width
        if self._make is not None and width > 0:
            self.query_one(".panel-text", Static).update(self._make(max(width, LEAST_WIDTH)))
