"""What the app needs of the outside, as small protocols: drafts on disk, and making a store."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from fieldnotes.casework.desk import Casework


class Draft(Protocol):
    """A form as last typed."""

    @property
    def id(self) -> str:
        """Names the draft."""

    @property
    def form(self) -> str:
        """Which form."""

    @property
    def case(self) -> str:
        """The case it is about, empty for a new one."""

    @property
    def title(self) -> str:
        """The words it is offered under."""

    @property
    def changed(self) -> str:
        """When it was last typed in."""

    @property
    def answers(self) -> Mapping[str, str]:
        """What was typed, by field."""


class Drafts(Protocol):
    """The journal of forms being filled in."""

    def save(  # noqa: PLR0917  (it has these parts)
        self,
        draft_id: str,
        form: str,
        case: str,
        title: str,
        changed: str,
        answers: Mapping[str, str],
    ) -> None:
        """Put a draft on disk."""

    def load(self, draft_id: str) -> Draft | None:
        """Give a draft."""

    def list(self) -> tuple[Draft, ...]:
        """Give all drafts, the last changed first."""

    def discard(self, draft_id: str) -> None:
        """Delete a draft whose form was saved."""


class Founding(Protocol):
    """Makes a store where there is none yet; each gives the desk and drafts over it."""

    def begin(self) -> tuple[Casework, Drafts]:
        """Make an empty store, or take up the one begun."""

    def zone(self) -> str:
        """Give the time zone this computer is set to; empty if it does not say."""

    def demo(self) -> tuple[Casework, Drafts]:
        """Make a copy of the sample practice."""

    def bring_in(self, file: str) -> tuple[Casework, Drafts]:
        """Make a store from a file of records."""


@dataclass(frozen=True)
class ImportPlan:
    """What a file would bring into the records, and what is wrong with it.

    `table` is empty for records in our own form; `mapping` gives the column of each field.
    """

    file: str
    table: str = ""
    fields: tuple[str, ...] = ()
    headings: tuple[str, ...] = ()
    mapping: Mapping[str, str] = field(default_factory=dict)
    count: int = 0
    problems: tuple[str, ...] = ()
    known: tuple[str, ...] = ()


class Locking(Protocol):
    """The passphrase of the open store, and the cover over the screen."""

    @property
    def locked(self) -> bool:
        """Whether a passphrase opens this store."""

    @property
    def idle_min(self) -> int:
        """After how many minutes without a key the screen is covered; 0 never."""

    def facts(self) -> tuple[tuple[str, str], ...]:
        """Give how the store is locked, as lines of two parts."""

    def check(self, secret: str) -> None:
        """Refuse anything but the passphrase, the recovery key or the PIN, where one is set."""

    def check_passphrase(self, secret: str) -> None:
        """Refuse anything but the passphrase or the recovery key."""

    def fit(self, first: str, second: str) -> None:
        """Refuse a new passphrase that is too short or was not typed the same way twice."""

    def new_recovery_key(self) -> str:
        """Give a random recovery key, to be written down before it is used."""

    def turn_on(self, words: str, recovery: str, progress: Callable[[int, int], None]) -> None:
        """Encrypt every record."""

    def turn_off(self, progress: Callable[[int, int], None]) -> None:
        """Decrypt every record."""

    def set_passphrase(self, words: str) -> None:
        """Let another passphrase open the store instead."""

    def set_recovery_key(self, recovery: str) -> None:
        """Let another recovery key open the store instead."""

    def set_idle(self, typed: str) -> int:
        """Set after how many minutes this computer covers the screen; 0 for never."""

    def set_pin(self, digits: str) -> None:
        """Take a PIN until the app is left; an empty one for none."""

    def remember(self) -> bool:
        """Keep the key in the system's keyring, or forget it again; gives whether it is kept."""


class Upkeep(Protocol):
    """The upkeep of the open store."""

    @property
    def locking(self) -> Locking | None:
        """The store's passphrase; None where no store is open."""

    @property
    def read_only(self) -> bool:
        """Whether the store is only looked at."""

    def keep_glance(self, picture: bytes) -> None:
        """Keep a picture of the first screen, shown at the next start while the store opens."""

    def backed_up(self) -> str:
        """Give when the last backup was made, in a few words."""

    def keep_theme(self, name: str) -> None:
        """Keep which theme is chosen on this computer."""

    def warnings(self) -> tuple[str, ...]:
        """Give what threatens the store, the most pressing first."""

    def seal_the_day(self) -> None:
        """Seal a copy of what is new unless this was done today."""

    def facts(self) -> tuple[tuple[str, str], ...]:
        """Give where the records lie and how they are kept, as lines of two parts."""

    def check(self, progress: Callable[[int, int], None]) -> tuple[str, ...]:
        """Verify every record; gives the report."""

    def mend(self) -> tuple[str, ...]:
        """Put back what was sealed; gives the report."""

    def back_up(
        self, file: str, progress: Callable[[int, int], None], passphrase: Sequence[str] = ()
    ) -> str:
        """Write one verified archive, under a passphrase as typed twice; gives what was done."""

    def old_cases(self) -> tuple[tuple[str, str], ...]:
        """Give the closed cases past their retention time, with a word on each."""

    def purge(self, refs: tuple[str, ...], author: str) -> int:
        """Delete cases past their time, a tombstone each; gives how many."""

    def plan_import(self, file: str, table: str, mapping: Mapping[str, str]) -> ImportPlan:
        """Read a file without writing anything."""

    def bring_in(self, plan: ImportPlan, author: str) -> int:
        """Write what a plan holds, all or nothing; gives how many entries."""
