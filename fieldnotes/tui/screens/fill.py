"""Filling a form at once: a note in one line as it is understood, last time, or a template."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual import on
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Footer, Input, Static

from fieldnotes.tui.commands import bindings
from fieldnotes.tui.forms.filling import Offer
from fieldnotes.tui.literal import lit

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult
    from textual.binding import Binding

EXPLAINS = (
    "Type the visit as you would say it: 'lac LH dorsal cannon 8x3 cm 4h old, primary closure, "
    "drain, foam, half-limb bandage'. Below stands what each word was read as: ? is a guess, ! is "
    "left for you to choose, and what was not understood is kept as text in the wound's note. "
    "What is denied or doubted ('no drain', '? sheath') never fills a field. With nothing typed "
    "the arrows choose what was done last time, or a template of the practice; ^r takes one "
    "off. Enter fills the form in; ^z there takes it back. Nothing is saved by it."
)
HINT = "say it in one line; Enter fills the form in, Escape leaves"


class FillScreen(ModalScreen[Offer | None]):
    """Gives what to fill in; `hear` reads a line into lines to show and what it would fill in."""

    BINDINGS: ClassVar[list[Binding | tuple[str, str] | tuple[str, str, str]]] = cast(
        "list[Binding | tuple[str, str] | tuple[str, str, str]]", bindings("fill")
    )

    def __init__(
        self,
        hear: Callable[[str, int], tuple[tuple[str, ...], Offer | None]],
        offers: tuple[Offer, ...],
        drop: Callable[[str], None],
    ) -> None:
        super().__init__()
        self._hear = hear
        self._offers = offers
        self._drop = drop
        self._at = 0

    def compose(self) -> ComposeResult:
        """Lay out the line, what it means, and the keys."""
        with Vertical(id="fill"):
            yield Static(lit("Say it in one line"), id="fill-title")
            yield Input(id="line", placeholder=HINT, compact=True)
            with VerticalScroll(id="heard", can_focus=False):
                yield Static(id="meaning")
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        """Start in the line."""
        self.query_one("#line").focus()
        self._show()

    @property
    def _line(self) -> str:
        return self.query_one("#line", Input).value

    def _show(self) -> None:
        if self._line.strip():
            lines, _ = self._hear(self._line, max(40, self.size.width - 8))
            text = "\n".join(lines) or "nothing understood yet; it would be kept as text"
        else:
            text = "\n".join(self._menu()) or "no template yet: ^t in a form keeps one"
        self.query_one("#meaning", Static).update(lit(text))

    def _menu(self) -> list[str]:
        return [
            f"{'>' if n == self._at else ' '} {offer.title:<30} {len(offer.answers)} answers"
            for n, offer in enumerate(self._offers)
        ]

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        event.stop()
        self._show()

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        if self._line.strip():
            self.dismiss(self._hear(self._line, 200)[1])
        elif self._offers:
            self.dismiss(self._offers[self._at])

    def action_step(self, by: int) -> None:
        """Go to another of what is offered."""
        if self._offers and not self._line.strip():
            self._at = (self._at + by) % len(self._offers)
            self._show()

    def action_drop(self) -> None:
        """Take the marked template off the list."""
        if self._line.strip() or not self._offers or not self._offers[self._at].id:
            return
        offer = self._offers[self._at]
        self._drop(offer.id)
        self._offers = tuple(o for o in self._offers if o is not offer)
        self._at = 0
        self._show()

    def action_explain(self) -> None:
        """Say what this is for."""
        from fieldnotes.tui.screens.help import HelpScreen  # noqa: PLC0415  (seldom needed)

        self.app.push_screen(HelpScreen("fill", EXPLAINS))

    def action_back(self) -> None:
        """Leave with nothing filled in."""
        self.dismiss(None)


class NameScreen(ModalScreen[str | None]):
    """Asks for a name; None if it is left."""

    BINDINGS: ClassVar[list[Binding | tuple[str, str] | tuple[str, str, str]]] = cast(
        "list[Binding | tuple[str, str] | tuple[str, str, str]]", bindings("name")
    )

    def __init__(self, what: str) -> None:
        super().__init__()
        self._what = what

    def compose(self) -> ComposeResult:
        """Lay out the question and the line."""
        with Vertical(id="name"):
            yield Static(lit(self._what))
            yield Input(id="line", compact=True)
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        """Start in the line."""
        self.query_one("#line").focus()

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        name = event.value.strip()
        self.dismiss(name or None)

    def action_back(self) -> None:
        """Leave without a name."""
        self.dismiss(None)
