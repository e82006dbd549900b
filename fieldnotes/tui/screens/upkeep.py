"""Upkeep: where the records lie, what threatens them, and check, backup, mending, import."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.message import Message
from textual.widgets import Input, Static

from fieldnotes.domain.errors import FieldnotesError
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.base import DeskScreen, Failed
from fieldnotes.tui.widgets.rows import TextPanel, wrapped

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult

    from fieldnotes.tui.ports import Upkeep

MARGIN = 12
AGE = ".age"


class FactsFound(Message):
    """How the store stands."""

    def __init__(self, facts: tuple[tuple[str, str], ...], warnings: tuple[str, ...]) -> None:
        super().__init__()
        self.facts = facts
        self.warnings = warnings


class Progressed(Message):
    """A long work went on by a step worth showing."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words


class Reported(Message):
    """A work is done: its report, the first line what came of it."""

    def __init__(self, lines: tuple[str, ...]) -> None:
        super().__init__()
        self.lines = lines


class OldCasesFound(Message):
    """The closed cases past their retention time."""

    def __init__(self, cases: tuple[tuple[str, str], ...]) -> None:
        super().__init__()
        self.cases = cases


class UpkeepScreen(DeskScreen):
    """The store itself."""

    NAME = "upkeep"
    HEADING = "Upkeep"
    AUTO_FOCUS: ClassVar[str | None] = "#upkeep-report"
    EXPLAINS = (
        "Where the records lie and how they are kept. Check reads every record and follows its "
        "chain. Back up writes one archive any zip program opens; keep it on another disk. Mend "
        "puts back what is damaged or missing from the copies sealed each day. Old cases are "
        "shown before anything is deleted."
    )

    def __init__(self) -> None:
        super().__init__()
        self._old: tuple[str, ...] = ()
        self._typed: list[str] = []

    def body(self) -> ComposeResult:
        """Give facts, the line for a file, and the report."""
        yield Static(id="upkeep-facts")
        yield Input(placeholder="file or folder to back up to", id="upkeep-path", compact=True)
        yield TextPanel(id="upkeep-report")

    def on_screen_resume(self) -> None:
        """Ask how the store stands."""
        upkeep = self._upkeep
        if upkeep is not None:
            self.ask(lambda: FactsFound(upkeep.facts(), upkeep.warnings()), "facts")

    @property
    def _upkeep(self) -> Upkeep | None:
        return self.fieldnotes.upkeep

    @on(FactsFound)
    def _show_facts(self, event: FactsFound) -> None:
        lines = [f"{name:<{MARGIN}}{value}" for name, value in event.facts]
        lines += [f"! {warning}" for warning in event.warnings]
        self.query_one("#upkeep-facts", Static).update(lit("\n".join(lines)))
        self.fieldnotes.warnings = event.warnings
        self.show_warnings()

    def _tell(self, *lines: str) -> None:
        text = "\n".join(lines)
        self.query_one(TextPanel).show(lambda width: wrapped(text, width, hang=2))

    # ----- long works

    def _work(self, words: str, call: Callable[[Upkeep], Message], *, alone: bool) -> None:
        """Run a work in a thread; one that writes keeps the desk to itself (`alone`)."""
        upkeep = self._upkeep
        if upkeep is None:
            self.say("! there is no store to look after here", "overdue")
            return
        if alone and upkeep.read_only:
            self.say("! this store is opened to read only", "overdue")
            return
        self.say(f"{words} ...")
        if alone:
            self.ask(lambda: call(upkeep), "upkeep")
        else:
            self.run_worker(
                lambda: self._unlocked(call, upkeep), group="upkeep", exclusive=True, thread=True
            )

    def _unlocked(self, call: Callable[[Upkeep], Message], upkeep: Upkeep) -> None:
        try:
            message = call(upkeep)
        except FieldnotesError as error:
            message = Failed(error, "upkeep")
        self.post_message(message)

    def _progress(self, words: str) -> Callable[[int, int], None]:
        shown = -1

        def progress(done: int, of: int) -> None:
            nonlocal shown
            percent = 100 * done // max(of, 1)
            if percent > shown:
                shown = percent
                self.post_message(Progressed(f"{words} {percent} %"))

        return progress

    @on(Progressed)
    def _show_progress(self, event: Progressed) -> None:
        self.say(event.words)

    @on(Reported)
    def _show_report(self, event: Reported) -> None:
        self.say(event.lines[0], "done" if len(event.lines) == 1 else "")
        self._tell(*event.lines)
        self.on_screen_resume()

    def action_check(self) -> None:
        """Verify every record."""
        progress = self._progress("checking")
        self._work("checking", lambda u: Reported(u.check(progress)), alone=False)

    def action_mend(self) -> None:
        """Put back what was sealed."""
        self._work("mending", lambda u: Reported(u.mend()), alone=True)

    def action_back_up(self) -> None:
        """Ask where to."""
        path = self.query_one("#upkeep-path", Input)
        self._typed = []
        path.value = path.value or f"~/fieldnotes-{self.fieldnotes.moment():%Y%m%d}.zip"
        path.display = True
        path.focus()
        self.say("a name that ends in .age asks for a passphrase")

    @on(Input.Submitted, "#upkeep-path")
    def _back_up_to(self, event: Input.Submitted) -> None:
        self._typed.append(event.value)
        asks = ("passphrase of this backup", "the same passphrase once more")
        if len(self._typed) <= len(asks) and self._typed[0].strip().endswith(AGE):
            event.input.value, event.input.password = "", True
            event.input.placeholder = asks[len(self._typed) - 1]
            self.say(event.input.placeholder)
            return
        (file, *words), progress = self._typed, self._progress("backing up")
        self.action_cancel()
        self._work(
            "backing up", lambda u: Reported((u.back_up(file, progress, words),)), alone=False
        )

    def action_cancel(self) -> None:
        """Put the line for a file away; a name typed in it stays, a passphrase does not."""
        path = self.query_one("#upkeep-path", Input)
        path.display = path.password = False
        path.value = self._typed[0] if self._typed else path.value
        self._typed = []
        self.query_one(TextPanel).focus()

    # ----- old cases

    def action_old(self) -> None:
        """Show the closed cases past their time."""
        self._work("looking", lambda u: OldCasesFound(u.old_cases()), alone=True)

    @on(OldCasesFound)
    def _show_old(self, event: OldCasesFound) -> None:
        self._old = tuple(ref for ref, _ in event.cases)
        lines = [f"{ref}  {words}" for ref, words in event.cases]
        if not lines:
            self.say("no closed case is past its retention time")
            self._tell("No closed case is past its retention time.")
            return
        self.say(f"{len(lines)} closed cases may be deleted; X deletes them", "overdue")
        self._tell(
            *lines, "", "X deletes these. A signed tombstone says what was deleted and when."
        )

    def action_delete(self) -> None:
        """Delete the cases shown."""
        if not self._old:
            self.say("! look at the old cases first (o)", "overdue")
            return
        refs, author = self._old, self.desk.author()
        self._old = ()
        self._work(
            "deleting",
            lambda u: Reported((f"{u.purge(refs, author)} cases deleted, a tombstone each",)),
            alone=True,
        )

    def action_lock(self) -> None:
        """Open the page of the store's passphrase."""
        from fieldnotes.tui.screens.locking import LockingScreen  # noqa: PLC0415  (seldom needed)

        if self._upkeep is not None and self._upkeep.locking is not None:
            self.app.push_screen(LockingScreen(self._upkeep.locking))

    def action_bring_in(self) -> None:
        """Open the assistant for imports."""
        from fieldnotes.tui.screens.importing import ImportScreen  # noqa: PLC0415  (seldom needed)

        if self._upkeep is None or self._upkeep.read_only:
            self.say("! this store is opened to read only", "overdue")
        else:
            self.app.push_screen(ImportScreen(self._upkeep))
