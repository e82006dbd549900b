"""Opens the app: joins the store, the desk, the drafts and the log with the screens."""

from __future__ import annotations

import gc
import os
import sys
from typing import TYPE_CHECKING

from fieldnotes.cli.command import say
from fieldnotes.cli.opening import clock_of, data_folder
from fieldnotes.cli.seat import THEME, Seat
from fieldnotes.storage.card import setting_here
from fieldnotes.storage.place import has_keys, is_store, kept_glance

if TYPE_CHECKING:
    import argparse
    import datetime as dt
    from collections.abc import Callable
    from pathlib import Path

    from fieldnotes.casework.desk import Casework
    from fieldnotes.storage.drafts import Drafts

SWITCH_S = 0.001  # a thread that reckons lets the screen go on after so long
SEARCH_AFTER = (5_000, 10, 10)  # things: a search for garbage is rarer, as a screen makes so many
LOG_BYTES = 1_000_000
LOG_FILES = 2  # beside the one being written: three in all


class Founder:
    """Opens or makes the store the app was started on, or a demo beside it."""

    def __init__(
        self, folder: Path, clock: Callable[[], dt.datetime], seat: Seat | None = None
    ) -> None:
        self._folder = folder
        self._clock = clock
        self._seat = seat or Seat(clock)

    def open(self) -> tuple[Casework, Drafts]:
        """Open the store there is."""
        desk, drafts = self._seat.take(self._folder)
        start_log(self._folder)
        desk.register()
        gc.enable()
        gc.set_threshold(*SEARCH_AFTER)
        gc.freeze()  # what is loaded now stays: looking through it again would halt the screen
        return desk, drafts

    def begin(self) -> tuple[Casework, Drafts]:
        """Make an empty store, or take up the one begun."""
        from fieldnotes.storage.casebook import create_store  # noqa: PLC0415  (seldom needed)

        if not is_store(self._folder):
            create_store(self._folder)
        return self._seat.take(self._folder)

    def zone(self) -> str:
        """Give the time zone this computer is set to; empty if it does not say."""
        from fieldnotes.cli.local_zone import local_zone  # noqa: PLC0415  (seldom needed)

        return local_zone()

    def demo(self) -> tuple[Casework, Drafts]:
        """Make a copy of the sample practice in the user's cache."""
        from fieldnotes.cli.demo import make_demo, new_folder  # noqa: PLC0415  (seldom needed or slow to import)

        now = self._clock()
        folder = new_folder(now)
        make_demo(folder, now)
        return self._seat.take(folder)

    def bring_in(self, file: str) -> tuple[Casework, Drafts]:
        """Make a store from a file of records, or a folder of them; all or nothing."""
        from fieldnotes.cli.importing import read_files, unwritten_of, write_imports  # noqa: PLC0415  (seldom needed or slow to import)
        from fieldnotes.cli.plans import texts_of  # noqa: PLC0415  (seldom needed or slow to import)
        from fieldnotes.domain.register import Register  # noqa: PLC0415  (seldom needed)
        from fieldnotes.storage.casebook import Casebook, create_store  # noqa: PLC0415  (seldom needed)
        from fieldnotes.storage.import_checks import check_imports  # noqa: PLC0415  (seldom needed or slow to import)

        found = read_files(texts_of(file), self._clock(), None)
        check_imports(Register(), found)
        self._seat.leave()  # a store begun is held already
        if not is_store(self._folder):
            create_store(self._folder)
        write_imports(Casebook(self._folder), unwritten_of(found))
        return self._seat.take(self._folder)


def terminal_fault() -> str:
    """Say why the app cannot be shown here; empty if it can."""
    if os.environ.get("TEXTUAL_DRIVER"):  # a server shows it in a browser: no terminal is needed
        return ""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return "the app needs a terminal; 'fieldnotes --help' lists commands that do not"
    if os.environ.get("TERM", "") in {"", "dumb"} and sys.platform != "win32":
        return "this terminal (TERM=dumb) cannot show the app; try 'fieldnotes --help'"
    return ""


def start_log(folder: Path) -> None:
    """Write a rotating log without any text of a record, readable by its owner only."""
    import logging  # noqa: PLC0415  (after the first picture)
    from logging.handlers import RotatingFileHandler  # noqa: PLC0415  (likewise)

    path = folder / "log" / "fieldnotes.log"
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    path.touch(mode=0o600)
    handler = RotatingFileHandler(path, maxBytes=LOG_BYTES, backupCount=LOG_FILES, encoding="utf-8")
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
    log = logging.getLogger("fieldnotes")
    log.addHandler(handler)
    log.setLevel(logging.INFO)
    log.propagate = False


def let_in_on_screen(folder: Path) -> bool:
    """Open a locked store on a screen of its own, before anything of it is shown."""
    if not has_keys(folder):
        return True
    from functools import partial  # noqa: PLC0415  (few stores are locked)

    from fieldnotes.cli.passphrase import open_as_remembered  # noqa: PLC0415  (few stores are locked)
    from fieldnotes.storage.cipher import Cipher  # noqa: PLC0415  (few stores are locked)
    from fieldnotes.storage.vault import open_vault  # noqa: PLC0415  (few stores are locked)
    from fieldnotes.tui.unlock import UnlockApp  # noqa: PLC0415  (few stores are locked)

    if Cipher(folder).key or open_as_remembered(folder):
        return True
    return bool(UnlockApp(partial(open_vault, folder)).run())


def open_app(args: argparse.Namespace) -> int:
    """Open the app and give its exit code: 0 left, 1 it failed, 2 no terminal to show it in."""
    fault = terminal_fault()
    if fault:
        say(f"fieldnotes: {fault}")
        return 2
    gc.disable()  # nothing of a start is garbage; it is enabled again when the store is open
    from fieldnotes.tui.app import FieldnotesApp, Opening  # noqa: PLC0415  (seldom needed or slow to import)

    folder, clock = data_folder(args), clock_of(args)
    if not let_in_on_screen(folder):
        return 0
    sys.setswitchinterval(SWITCH_S)
    seat = Seat(clock, read_only=args.read_only)
    founder = Founder(folder, clock, seat)
    opening = None
    if is_store(folder):
        theme = str(setting_here(folder, THEME) or "")
        opening = Opening(founder.open, kept_glance(folder), clock(), theme)
    else:
        gc.enable()
    app = FieldnotesApp(None, None, founder, seat, opening)
    seat.progress = app.index_progress
    try:
        app.run()
    finally:
        seat.leave()
    if app.fault is not None:
        raise app.fault
    return app.return_code or 0
