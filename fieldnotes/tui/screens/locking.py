"""The store's passphrase: turn it on and off, change it, print a recovery key, cover when idle."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.content import Content
from textual.widgets import Input, Static

from fieldnotes.domain.errors import FieldnotesError
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.base import DeskScreen, Failed
from fieldnotes.tui.screens.upkeep import FactsFound, Progressed, Reported
from fieldnotes.tui.widgets.rows import TextPanel, wrapped

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult

    from fieldnotes.tui.ports import Locking

OLD, NEW, AGAIN = "Passphrase or recovery key", "New passphrase", "The same once more"
MINUTES = "Minutes without a key after which the screen is covered (0 never)"
LAST = "Last group of the key, to show it is written down"
WRITE_DOWN = (
    "Write this recovery key down and keep it apart from this computer. It opens the store if "
    "the passphrase is forgotten; without either nobody can read the records, ever."
)


class LockingScreen(DeskScreen):
    """A page of facts and one line that asks; what is typed in it is kept nowhere."""

    NAME = "locking"
    HEADING = "Passphrase"
    AUTO_FOCUS: ClassVar[str | None] = "#lock-report"
    EXPLAINS = (
        "With a passphrase every record, draft, letter and picture is encrypted on the disk. "
        "A backup is made and verified first; a stop half way is made good by itself. The screen "
        "can be covered by ^l, or by itself after idle minutes; drafts are kept."
    )

    def __init__(self, locking: Locking) -> None:
        super().__init__()
        self._locking = locking
        self._questions: list[str] = []
        self._answers: list[str] = []
        self._then: Callable[..., None] = lambda: None

    def body(self) -> ComposeResult:
        """Give facts, the question with its line, and the report."""
        yield Static(id="lock-facts")
        yield Static(id="lock-question")
        yield Input(id="lock-answer", compact=True)
        yield TextPanel(id="lock-report")

    def on_mount(self) -> None:
        """Show how it stands."""
        self._put_away()
        self._refresh()
        self._tell("r  another recovery key", "g  the system's keyring", "X  turn off")

    def _refresh(self) -> None:
        self.ask(lambda: FactsFound(self._locking.facts(), ()), "facts")

    @on(FactsFound)
    def _show_facts(self, event: FactsFound) -> None:
        lines = "\n".join(f"{name:<10}{value}" for name, value in event.facts)
        self.query_one("#lock-facts", Static).update(lit(lines))

    def _tell(self, *lines: str) -> None:
        self.query_one(TextPanel).show(
            lambda width: Content("\n").join(wrapped(line, width, hang=2) for line in lines)
        )

    # ----- one question after the other

    def _question(self, *questions: str, then: Callable[..., None]) -> None:
        self._questions, self._answers, self._then = list(questions), [], then
        self._next()

    def _next(self) -> None:
        words = self._questions[len(self._answers)]
        question, line = self.query_one("#lock-question", Static), self.query_one(Input)
        question.update(lit(f"{words}:"))
        question.display = line.display = True
        line.password = words not in {LAST, MINUTES}
        line.value = ""
        line.focus()

    @on(Input.Submitted, "#lock-answer")
    def _answered(self, event: Input.Submitted) -> None:
        self._answers.append(event.value)
        if len(self._answers) < len(self._questions):
            self._next()
            return
        answers = self._answers
        self._put_away()
        self._then(*answers)

    def _put_away(self) -> None:
        self._questions, self._answers = [], []
        line = self.query_one(Input)
        line.value = ""
        self.query_one("#lock-question", Static).display = line.display = False
        self.query_one(TextPanel).focus()

    def action_leave(self) -> None:
        """Put the question away, else go back."""
        if self._questions:
            self._put_away()
            self._tell("Nothing was changed.")
        else:
            self.dismiss()

    # ----- works

    def _work(self, words: str, call: Callable[[Locking], str]) -> None:
        self.say(f"{words} ...")
        self.ask(lambda: Reported((call(self._locking),)), "lock")

    @on(Reported)
    def _show_report(self, event: Reported) -> None:
        self.say(f"✓ {event.lines[0]}", "done")
        self._tell(*event.lines)
        self._refresh()

    @on(Failed)
    def _nothing_changed(self) -> None:
        self._tell()
        self._refresh()

    @on(Progressed)
    def _show_progress(self, event: Progressed) -> None:
        self.say(event.words)

    def _progress(self, done: int, of: int) -> None:
        if done == of or done % max(1, of // 50) == 0:
            self.post_message(Progressed(f"{100 * done // of} % of the files ..."))

    def _is(self, *, locked: bool) -> bool:
        if self.fieldnotes.upkeep is not None and self.fieldnotes.upkeep.read_only:
            self.say("! this store is opened to read only", "overdue")
            return False
        if self._locking.locked != locked:
            self.say(
                "! it is on already" if self._locking.locked else "! it is not on: n", "overdue"
            )
            return False
        return True

    def _fits(self, first: str, second: str) -> bool:
        try:
            self._locking.fit(first, second)
        except FieldnotesError as error:
            self.say(f"! {error}", "overdue")
            return False
        return True

    def _written_down(self, then: Callable[[str], None]) -> None:
        """Show a new recovery key; go on once its last group was typed."""
        recovery = self._locking.new_recovery_key()
        self._tell(WRITE_DOWN, "", f"    {recovery}")

        def typed(last: str) -> None:
            self._tell()
            if last.strip().upper() == recovery.rpartition("-")[2]:
                then(recovery)
            else:
                self.say("! that is not its last group; nothing was changed", "overdue")

        self._question(LAST, then=typed)

    def action_turn_on(self) -> None:
        """Encrypt every record."""
        if not self._is(locked=False):
            return

        def encrypt(words: str, recovery: str) -> None:
            def work(locking: Locking) -> str:
                locking.turn_on(words, recovery, self._progress)
                return "every record is encrypted"

            self._work("mending, backing up, encrypting", work)

        def typed(first: str, second: str) -> None:
            if self._fits(first, second):
                self._written_down(lambda recovery: encrypt(first, recovery))

        self._question(NEW, AGAIN, then=typed)

    def action_turn_off(self) -> None:
        """Decrypt every record."""

        def work(locking: Locking, old: str) -> str:
            locking.check_passphrase(old)
            locking.turn_off(self._progress)
            return "every record is decrypted"

        if self._is(locked=True):
            self._question(OLD, then=lambda old: self._work("decrypting", lambda k: work(k, old)))

    def action_passphrase(self) -> None:
        """Change the passphrase."""

        def work(locking: Locking, old: str, new: str) -> str:
            locking.check_passphrase(old)
            locking.set_passphrase(new)
            return "the new passphrase opens the store; backups made before keep the old one"

        def typed(old: str, new: str, again: str) -> None:
            if self._fits(new, again):
                self._work("changing", lambda k: work(k, old, new))

        if self._is(locked=True):
            self._question(OLD, NEW, AGAIN, then=typed)

    def action_recovery(self) -> None:
        """Make another recovery key."""

        def work(locking: Locking, old: str, recovery: str) -> str:
            locking.check_passphrase(old)
            locking.set_recovery_key(recovery)
            return "the new recovery key opens the store, the one before does not"

        def typed(old: str) -> None:
            self._written_down(
                lambda recovery: self._work("changing", lambda k: work(k, old, recovery))
            )

        if self._is(locked=True):
            self._question(OLD, then=typed)

    def action_idle(self) -> None:
        """Set the idle minutes of this computer."""

        def work(locking: Locking, typed: str) -> str:
            minutes = locking.set_idle(typed.strip())
            return f"covered after {minutes} min without a key" if minutes else "not by itself"

        if self._is(locked=True):
            self._question(
                MINUTES,
                then=lambda typed: self._work("setting", lambda k: work(k, typed)),
            )

    def action_pin(self) -> None:
        """Set a PIN until the app is left."""

        def work(locking: Locking, digits: str) -> str:
            locking.set_pin(digits)
            return "the PIN uncovers the screen until the app is left" if digits else "no PIN"

        if self._is(locked=True):
            self._question(
                "PIN for today, 4 to 8 digits (empty: none)",
                then=lambda typed: self._work("setting", lambda k: work(k, typed.strip())),
            )

    def action_remember(self) -> None:
        """Keep the key in the keyring, or forget it."""

        def work(locking: Locking) -> str:
            return "kept in the keyring" if locking.remember() else "the passphrase is asked for"

        if self._is(locked=True):
            self._work("asking the keyring", work)
