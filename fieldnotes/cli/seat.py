"""The store a person sits at: held for as long as the app is open, or only read."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from fieldnotes.cli.opening import SEALED_AT_ONCE
from fieldnotes.domain.errors import FieldnotesError, StoreError
from fieldnotes.storage.card import set_here
from fieldnotes.storage.place import keep_glance

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from fieldnotes.casework.desk import Casework
    from fieldnotes.cli.locking import StoreLocking
    from fieldnotes.storage.archives import Archives
    from fieldnotes.storage.casebook import Casebook
    from fieldnotes.storage.drafts import Drafts
    from fieldnotes.tui.ports import ImportPlan

APP_WAIT_S = 0.3
THEME = "theme"
"""What the chosen theme is kept as, for this computer alone."""


class Seat:
    """Opens stores for the app, one at a time, and does their upkeep."""

    def __init__(self, clock: Callable[[], dt.datetime], *, read_only: bool = False) -> None:
        self._clock = clock
        self._read_only = read_only
        self._book: Casebook | None = None
        self._locking: StoreLocking | None = None
        self._newer = ""
        self.progress: Callable[[int, int], object] = lambda _done, _of: None

    def take(self, folder: Path) -> tuple[Casework, Drafts]:
        """Open a store and hold it, a newer program's only to read.

        StoreLockedError names who holds it already.
        """
        from fieldnotes.casework.desk import Casework  # noqa: PLC0415  (after the first picture)
        from fieldnotes.cli.carrier import MailCarrier  # noqa: PLC0415  (likewise)
        from fieldnotes.storage.casebook import Casebook  # noqa: PLC0415  (likewise)
        from fieldnotes.storage.drafts import Drafts  # noqa: PLC0415  (likewise)
        from fieldnotes.storage.entry import NewerSchemaError  # noqa: PLC0415  (likewise)
        from fieldnotes.storage.outbox import Outbox  # noqa: PLC0415  (likewise)

        if self._book is not None:
            self._book.close()
        book = Casebook(folder, read_only=self._read_only)
        book.progress = self.progress
        if not self._read_only:
            try:
                book.hold(wait_s=APP_WAIT_S)
            except NewerSchemaError as error:
                self._read_only, self._newer = True, str(error)
                book = Casebook(folder, read_only=True)
            except StoreError as error:
                raise type(error)(f"{error} (--read-only looks at it meanwhile)") from error
        self._book = book
        outbox = Outbox(folder, read_only=self._read_only, writing=book.writing)
        drafts = Drafts(folder / "drafts", read_only=self._read_only)
        return Casework(book, self._clock, mail=outbox, carrier=MailCarrier()), drafts

    def leave(self) -> None:
        """Seal what is new, if that is quick, and give the store back."""
        if self._book is None:
            return
        if not self._read_only:
            archives = self._archives()
            with suppress(StoreError):  # a full disk keeps nobody from leaving
                if archives.unsealed() <= SEALED_AT_ONCE:
                    archives.seal(self._clock())
        self._book.close()
        self._book = None

    @property
    def _open(self) -> Casebook:
        if self._book is None:
            raise StoreError("no store is open")
        return self._book

    def _archives(self) -> Archives:
        from fieldnotes.storage.archives import Archives  # noqa: PLC0415  (after the first screen)

        return Archives(self._open.folder, self._open.files)

    # ----- what the upkeep screen asks for

    @property
    def locking(self) -> StoreLocking | None:
        """The store's passphrase; None where no store is open."""
        if self._book is None:
            return None
        if self._locking is None:
            from fieldnotes.cli.locking import StoreLocking  # noqa: PLC0415  (after the first screen)

            self._locking = StoreLocking(lambda: self._open)
        return self._locking

    @property
    def read_only(self) -> bool:
        """Whether the store is only looked at."""
        return self._read_only

    def keep_glance(self, picture: bytes) -> None:
        """Keep a picture of the first screen."""
        if not self._read_only:
            keep_glance(self._open.folder, picture)

    def backed_up(self) -> str:
        """Give when the last backup was made, in a few words."""
        from fieldnotes.cli.upkeep import backup_age  # noqa: PLC0415  (after the first screen)

        return backup_age(self._open.folder, self._clock())

    def keep_theme(self, name: str) -> None:
        """Keep which theme is chosen on this computer."""
        if not self._read_only:
            set_here(self._open.folder, THEME, name)

    def warnings(self) -> tuple[str, ...]:
        """Give what threatens the store, and what could not be read in it."""
        from fieldnotes.storage.surroundings import warnings  # noqa: PLC0415  (after the first screen)

        found = list(warnings(self._open, self._clock()))
        if self._read_only:
            writer = f"read only; {self._open.holder()} may be writing"
            found.insert(0, self._newer or writer)
        if self._open.problems:
            found.insert(0, f"{len(self._open.problems)} files could not be read; U mends")
        return tuple(found)

    def seal_the_day(self) -> None:
        """Seal what is new unless this was done today."""
        if self._read_only or self._book is None:
            return
        self._archives().seal_once_a_day(self._clock())

    def facts(self) -> tuple[tuple[str, str], ...]:
        """Give where the records lie and how they are kept, as lines of two parts."""
        from fieldnotes.cli.upkeep import facts  # noqa: PLC0415  (seldom needed)

        return facts(self._open, self._archives(), self._clock())

    def check(self, progress: Callable[[int, int], None]) -> tuple[str, ...]:
        """Verify every record; gives the report."""
        from fieldnotes.cli.upkeep import checked  # noqa: PLC0415  (seldom needed)

        return checked(self._open.folder, progress)

    def mend(self) -> tuple[str, ...]:
        """Put back what was sealed; gives the report."""
        from fieldnotes.cli.upkeep import mended  # noqa: PLC0415  (seldom needed)

        return mended(self._open)

    def back_up(
        self, file: str, progress: Callable[[int, int], None], passphrase: Sequence[str] = ()
    ) -> str:
        """Write one verified archive, under a passphrase as typed twice; gives what was done."""
        from fieldnotes.cli.locking import fitting  # noqa: PLC0415  (seldom needed)
        from fieldnotes.cli.upkeep import backed_up  # noqa: PLC0415  (seldom needed)

        words = fitting(*passphrase) if passphrase else ""
        return backed_up(self._open, file, self._clock(), progress, words)

    def old_cases(self) -> tuple[tuple[str, str], ...]:
        """Give the closed cases past their retention time, with when they were last written in."""
        from fieldnotes.storage.retention import purgeable  # noqa: PLC0415  (seldom needed)

        found = purgeable(self._open, self._clock().date())
        return tuple(
            (kept.case, f"{kept.status}, last entry {kept.last:%d %b %Y}") for kept in found
        )

    def purge(self, refs: tuple[str, ...], author: str) -> int:
        """Delete cases past their time, a tombstone each; gives how many."""
        from fieldnotes.storage.retention import purge  # noqa: PLC0415  (seldom needed)

        return len(purge(self._open, refs, author, self._clock()))

    def plan_import(self, file: str, table: str, mapping: Mapping[str, str]) -> ImportPlan:
        """Read a file without writing anything; gives what it would bring and what is wrong."""
        from fieldnotes.cli.plans import plan_import  # noqa: PLC0415  (seldom needed)

        return plan_import(self._open, file, table, mapping, self._clock())

    def bring_in(self, plan: ImportPlan, author: str) -> int:
        """Write what a plan holds, all or nothing; gives how many entries."""
        from fieldnotes.cli.plans import bring_in  # noqa: PLC0415  (seldom needed)

        try:
            return bring_in(self._open, plan, author, self._clock())
        except OSError as error:
            raise FieldnotesError(str(error)) from error
