"""The store's figures beside the same work done barely: `python store_figures.py STORE [ROUNDS]`.

STORE is one of `make_store.py DIR 10000`; it is copied, not changed. In turns, on one disk: a save
beside a bare fsync and rename of the same bytes, sqlite3 (synchronous=FULL) and TinyDB's own JSON
storage, at 10 cases and at 10,000; the index made anew; a search as it is typed; memory of the app.
Prints medians by the wall's clock and the processor's, which a busy machine spoils less.
"""

from __future__ import annotations

import asyncio
import datetime as dt
import json
import os
import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

from tinydb import TinyDB

from fieldnotes.casework.desk import Casework
from fieldnotes.cli.seat import Seat
from fieldnotes.domain.entries import Note
from fieldnotes.storage.casebook import Casebook
from fieldnotes.tui.app import FieldnotesApp

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

HERE = Path(__file__).parent
NOW = dt.datetime(2026, 3, 2, 7, 0, tzinfo=dt.UTC)
TEXT = "Dressing dry, edges pink, no smell. Owner shown how to change the outer layer. " * 12
WORDS = ("wire", "granulating", "metatarsus", "gelding", "trailler", "zzzz")
SLOW_ROUNDS = 6  # TinyDB writes its whole file at each save

Times = tuple[float, float]


def timed(work: Callable[[], object]) -> Times:
    """Give the milliseconds a piece of work took, by the wall and the processor."""
    wall, processor = time.perf_counter(), time.process_time()
    work()
    return (time.perf_counter() - wall) * 1e3, (time.process_time() - processor) * 1e3


def in_turns(works: Mapping[str, Callable[[], object]], rounds: int) -> dict[str, Times]:
    """Do each piece of work in turn, so often; gives the medians."""
    found: dict[str, list[Times]] = {name: [] for name in works}
    for _ in range(rounds):
        for name, work in works.items():
            found[name].append(timed(work))
    return {
        name: (statistics.median(w for w, _ in times), statistics.median(p for _, p in times))
        for name, times in found.items()
    }


def told(name: str, times: Times, beside: Times | None = None) -> None:
    """Print one line, with its ratio to another."""
    ratio = f"   {times[0] / beside[0]:6.2f} x" if beside else ""
    sys.stdout.write(f"  {name:<34} {times[0]:9.2f} ms  (processor {times[1]:8.2f}){ratio}\n")


def bare(folder: Path, data: bytes) -> None:
    """Write the bytes to a new file, sync it, name it, sync the folder: nothing else."""
    number = time.perf_counter_ns()
    temp = folder / f"t{number}"
    descriptor = os.open(temp, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    os.write(descriptor, data)
    os.fsync(descriptor)
    os.close(descriptor)
    temp.replace(folder / f"e{number}.json")
    descriptor = os.open(folder, os.O_RDONLY)
    os.fsync(descriptor)
    os.close(descriptor)


def saver(book: Casebook) -> Callable[[], object]:
    """Give a save of one note to one case after another, as the app does it."""
    book.hold()
    refs = [line.ref for line in book.lines()]
    turn = iter(range(10**9))
    return lambda: book.append(refs[next(turn) % len(refs)], [Note(TEXT)], "vet", NOW)


def in_sqlite(path: Path, rows: int, data: str) -> Callable[[], object]:
    """Give a committed insert into a database of so many rows."""
    base = sqlite3.connect(path)
    base.execute("pragma synchronous=FULL")
    base.execute("create table entries (id integer primary key, body text)")
    base.executemany("insert into entries (body) values (?)", ((data,) for _ in range(rows)))
    base.commit()

    def save() -> None:
        base.execute("insert into entries (body) values (?)", (data,))
        base.commit()

    return save


def in_tinydb(path: Path, rows: int, document: dict[str, object]) -> Callable[[], object]:
    """Give an insert into TinyDB's own storage of so many documents."""
    base = TinyDB(path)
    base.insert_multiple(document for _ in range(rows))
    return lambda: base.insert(document)


def saves(big: Casebook, small: Casebook, folder: Path, rounds: int) -> None:
    """Measure a save of one entry."""
    save_big, save_small = saver(big), saver(small)
    [entry] = save_small()  # type: ignore[misc]
    path = next(p for p in small.files.folder.rglob(f"{entry.sequence:08d}-*"))
    data = path.read_bytes()
    document = json.loads(data)
    (folder / "bare").mkdir()
    found = in_turns(
        {
            "bare fsync and rename": lambda: bare(folder / "bare", data),
            "a save, 10 cases": save_small,
            "a save, 10,000 cases": save_big,
            "sqlite3 FULL, 50 rows": in_sqlite(folder / "s.db", 50, data.decode()),
            "sqlite3 FULL, 50,000 rows": in_sqlite(folder / "b.db", 50_000, data.decode()),
            "TinyDB's storage, 50 documents": in_tinydb(folder / "s.json", 50, document),
        },
        rounds,
    )
    slow = in_tinydb(folder / "b.json", 50_000, document)  # apart: it would hold up the others
    found |= in_turns({"TinyDB's storage, 50,000 documents": slow}, SLOW_ROUNDS)
    sys.stdout.write(f"one entry of {len(data)} bytes (target: 3 x the bare, not growing)\n")
    for name, times in found.items():
        told(name, times, found["bare fsync and rename"])


def rebuilding(big: Casebook, folder: Path) -> None:
    """Measure the index made anew."""
    sys.stdout.write("the index made anew (target: 15 s)\n")
    told("index of 10,000 cases", timed(big.rebuild))
    base = sqlite3.connect(folder / "b.db")
    rows = "select body from entries"
    told("sqlite3: read and parse the rows", timed(lambda: [*map(_first, base.execute(rows))]))
    told("TinyDB: read the documents", timed(lambda: TinyDB(folder / "b.json").all()))


def _first(row: tuple[str]) -> object:
    return json.loads(row[0])


def searching(big: Casebook) -> None:
    """Measure each letter of some words, after what is looked through was made.

    The app makes it in a thread behind its first screen; a letter typed before that waits for it.
    """
    desk = Casework(big, lambda: NOW)
    sys.stdout.write("search as it is typed (target: 100 ms)\n")
    told("a letter before anything is made", timed(lambda: desk.find_cases("w")))
    desk = Casework(Casebook(big.folder, read_only=True), lambda: NOW)
    told("made behind the first screen", timed(desk.find_cases))
    told("the first letter after it", timed(lambda: desk.find_cases("w")))
    big.append(desk.find_cases()[-1].ref, [Note(TEXT)], "vet", NOW)
    told("the first letter after a save", timed(lambda: desk.find_cases("w")))
    typed = [word[:end] for word in WORDS for end in range(1, len(word) + 1)]
    times = [timed(lambda text=text: desk.find_cases(text)) for text in typed]
    told("median letter", (statistics.median(w for w, _ in times), 0))
    told("slowest letter", max(times))


def used_mb() -> float:
    """Give the most memory this process has held; getrusage would count its parent's as well."""
    status = Path("/proc/self/status").read_text()
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


async def app_memory(store: Path) -> None:
    """Open the app, search, look at the day; print what it used at most."""
    seat = Seat(lambda: NOW)
    app = FieldnotesApp(*seat.take(store), None, seat)
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.pause(2)
        await pilot.press("slash", *"wire")
        await pilot.pause(2)
    sys.stdout.write(f"memory of the app with a search (target: 300 MB): {used_mb():.0f} MB\n")


def main(store: Path, rounds: int) -> None:
    """Copy the store and print every figure."""
    with tempfile.TemporaryDirectory(dir=store.parent) as name:
        folder = Path(name)
        shutil.copytree(store, folder / "big")
        command = [sys.executable, str(HERE / "make_store.py"), str(folder / "small"), "10"]
        subprocess.run(command, check=True, capture_output=True)
        big = Casebook(folder / "big")
        saves(big, Casebook(folder / "small"), folder, rounds)
        rebuilding(big, folder)
        searching(big)
        big.close()
        memory = [sys.executable, __file__, "--memory", str(folder / "big")]
        subprocess.run(memory, check=True)


if __name__ == "__main__":
    if sys.argv[1] == "--memory":
        asyncio.run(app_memory(Path(sys.argv[2])))
    else:
        main(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 60)
