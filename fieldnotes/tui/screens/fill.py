"""Filling a form at once: a note in one line as it is understood, last time, or a template."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar, cast

from textual import on
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from fieldnotes.domain.errors import FieldnotesError
from fieldnotes.domain.text import clean_line
from fieldnotes.tui.commands import bindings
from fieldnotes.tui.forms.filling import Offer
from fieldnotes.tui.literal import lit
from fieldnotes.tui.widgets.key_line import KeyLine

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult
    from textual.binding import Binding

    from fieldnotes.tui.forms.filling import Shelf

EXPLAINS = (
    "Type the visit as you would say it: 'lac LH dorsal cannon 8x3 cm 4h old, primary closure, "
    "drain, foam, half-limb bandage'. Below stands what each word was read as: ? is a guess, ! is "
    "left for you to choose, and what was not understood is kept as text in the wound's note. "
    "What is denied or doubted ('no drain', '? sheath') never fills a field. With nothing typed "
    "the arrows choose what was done last time, or a template of the practice; ^n gives "
    "one another name, ^r takes one off. Enter fills the form in; ^z there takes it back. Nothing "
    "of the visit is saved by it."
)
KEYS = "^n gives the template under the cursor another name, ^r takes it off the list"
HINT = "say it in one line; Enter fills the form in, Escape leaves"


class FillScreen(ModalScreen[Offer | None]):
    """Gives what to fill in; `hear` reads a line into lines to show and what it would fill in."""

    BINDINGS: ClassVar[list[Binding | tuple[str, str] | tuple[str, str, str]]] = cast(
        "list[Binding | tuple[str, str] | tuple[str, str, str]]", bindings("fill")
    )

    def __init__(
        self,
        hear: Callable[[str, int], tuple[tuple[str, ...], Offer | None]],
        shelf: Shelf,
    ) -> None:
        super().__init__()
        self._hear = hear
        self._shelf = shelf
        self._offers = shelf.offers()
        self._at = 0

    def compose(self) -> ComposeResult:
        """Lay out the line, what it means, and the keys."""
        with Vertical(id="fill"):
            yield Static(lit("Say it in one line"), id="fill-title")
            yield Input(id="line", placeholder=HINT, compact=True)
            with VerticalScroll(id="heard", can_focus=False):
                yield Static(id="meaning")
        yield KeyLine(palette=False)

    def on_mount(self) -> None:
        """Start in the line."""
        self.query_one("#line").focus()
        self._show()

    @property
    def _line(self) -> str:
        return self.query_one("#line", Input).value

    def _show(self, told: str = "") -> None:
        if self._line.strip():
            lines, _ = self._hear(self._line, max(40, self.size.width - 8))
            text = "\n".join(lines) or "nothing understood yet; it would be kept as text"
        else:
            text = "\n".join(self._menu()) or "no template yet: ^t in a form keeps one"
        parts = (told, text, KEYS if self._template else "")
        self.query_one("#meaning", Static).update(lit("\n\n".join(filter(None, parts))))

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

    @property
    def _template(self) -> Offer | None:
        """The template under the cursor; none while a line is typed, or on last time's answers."""
        if self._line.strip() or not self._offers or not self._offers[self._at].id:
            return None
        return self._offers[self._at]

    def action_drop(self) -> None:
        """Take the marked template off the list."""
        if offer := self._template:
            self._change(partial(self._shelf.drop, offer.id), f"'{offer.title}' is off the list")

    def action_rename(self) -> None:
        """Ask for another name of the marked template."""
        offer = self._template
        if offer is None:
            return
        ident = offer.id

        def renamed(name: str | None) -> None:
            if name is not None:
                self._change(partial(self._shelf.rename, ident, name), f"called '{name}' now")

        fault = self._shelf.name_fault
        screen = NameScreen("The template's name:", lambda name: fault(name, ident), offer.title)
        self.app.push_screen(screen, renamed)

    def _change(self, save: Callable[[], object], done: str) -> None:
        """Write a change of the list and show the list as it then stands."""
        try:
            save()
        except FieldnotesError as error:
            done = f"! {error}"
        before = self._offers[self._at].id
        self._offers = self._shelf.offers()
        places = {offer.id: n for n, offer in enumerate(self._offers)}
        self._at = places.get(before, 0)
        self._show(done)

    def action_explain(self) -> None:
        """Say what this is for."""
        from fieldnotes.tui.screens.help import HelpScreen  # noqa: PLC0415  (seldom needed)

        self.app.push_screen(HelpScreen("fill", EXPLAINS))

    def action_back(self) -> None:
        """Leave with nothing filled in."""
        self.dismiss(None)


class NameScreen(ModalScreen[str | None]):
    """Asks for a name until `fault` finds nothing wrong with it; None if it is left."""

    BINDINGS: ClassVar[list[Binding | tuple[str, str] | tuple[str, str, str]]] = cast(
        "list[Binding | tuple[str, str] | tuple[str, str, str]]", bindings("name")
    )

    def __init__(self, what: str, fault: Callable[[str], str], name: str = "") -> None:
        super().__init__()
        self._what = what
        self._fault = fault
        self._first = name

    def compose(self) -> ComposeResult:
        """Lay out the question, the line, and what is wrong with it."""
        with Vertical(id="name"):
            yield Static(lit(self._what))
            yield Input(self._first, id="line", compact=True)
            yield Static(id="fault")
        yield KeyLine(palette=False)

    def on_mount(self) -> None:
        """Start in the line."""
        self.query_one("#line").focus()

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        name = clean_line(event.value)
        fault = self._fault(name)
        if fault:
            self.query_one("#fault", Static).update(lit(f"! {fault}"))
        else:
            self.dismiss(name)

    def action_back(self) -> None:
        """Leave without a name."""
        self.dismiss(None)
