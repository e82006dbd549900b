"""The keys that matter now, on one line at the foot: as many as fit whole, help always among them.

It is one widget that draws a line. One for each key, made anew at every change of focus, took
longer than the field that got the focus.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rich.cells import cell_len
from textual.content import Content
from textual.widget import Widget

if TYPE_CHECKING:
    from textual import events
    from textual.binding import Binding
    from textual.screen import Screen

GAP = " "
EDGE = "▏"
HELP = "app.explain"


@dataclass(frozen=True)
class Hint:
    """A key as it is pressed and as it is shown, and what it does."""

    key: str
    shown: str
    does: str
    action: str

    @property
    def width(self) -> int:
        """Give its cells on the line."""
        return cell_len(f"{self.shown} {self.does}")


def fitting(first: list[Hint], last: list[Hint], more: list[Hint], room: int) -> list[Hint]:
    """Give the keys that fit: those of the foot in order, then `more`; `last` always."""
    room -= sum(len(GAP) + hint.width for hint in last)
    taken: list[Hint] = []
    for hint in (*first, *more):
        if len(GAP) + hint.width <= room:
            room -= len(GAP) + hint.width
            taken.append(hint)
    return [*taken, *last]


class KeyLine(Widget):
    """The line of keys; a click on one presses it."""

    ALLOW_SELECT = False

    def __init__(self, *, palette: bool = True) -> None:
        """With `palette`, the key of all commands stands at the right."""
        super().__init__()
        self._palette = palette
        self._places: list[tuple[int, int, str]] = []

    def on_mount(self) -> None:
        """Follow the keys of the screen."""
        self.screen.bindings_updated_signal.subscribe(self, self._changed)

    def _changed(self, screen: Screen[object]) -> None:
        if screen.app.app_focus and self.is_attached:
            self.refresh()

    def render(self) -> Content:
        """Draw the keys, and note where each stands."""
        at_foot, others, palette = self._hints()
        right = f"{EDGE}{palette.shown} {palette.does}" if palette else ""
        room = self.size.width - cell_len(right)
        last = [h for h in at_foot if h.action == HELP]
        first = [h for h in at_foot if h.action != HELP]
        self._places, parts, at = [], [], 0
        key_style = "bold underline" if self.app.no_color else "bold $footer-key-foreground"
        for hint in fitting(first, last, others, room):
            self._places.append((at, at + hint.width, hint.key))
            parts.append(Content.styled(hint.shown, key_style) + Content(f" {hint.does}{GAP}"))
            at += hint.width + len(GAP)
        if palette:
            start = self.size.width - cell_len(right)
            self._places.append((start, self.size.width, palette.key))
            parts.append(Content(" " * (start - at)) + Content.styled(EDGE, "$foreground 20%"))
            parts.append(Content.styled(palette.shown, key_style) + Content(f" {palette.does}"))
        return Content("").join(parts)

    def _hints(self) -> tuple[list[Hint], list[Hint], Hint | None]:
        """Give the keys for the foot, the screen's others, and the one of all commands."""
        at_foot: dict[str, Hint] = {}
        others: dict[str, Hint] = {}
        palette = None
        for key, (node, binding, enabled, _) in self.screen.active_bindings.items():
            if key == self.app.COMMAND_PALETTE_BINDING:
                palette = self._hint(binding) if self._palette else None
            elif enabled and binding.show:
                at_foot.setdefault(binding.action, self._hint(binding))
            elif enabled and node is self.screen and binding.id:  # a row of the command table
                others.setdefault(binding.action, self._hint(binding))
        more = [hint for action, hint in others.items() if action not in at_foot]
        return list(at_foot.values()), more, palette

    def _hint(self, binding: Binding) -> Hint:
        shown = self.app.get_key_display(binding)
        return Hint(binding.key, shown, binding.description, binding.action)

    def on_click(self, event: events.Click) -> None:
        """Press the key that stands there."""
        for start, end, key in self._places:
            if start <= event.x < end:
                self.app.simulate_key(key)
