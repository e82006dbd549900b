"""Measures a key press until what it asks for has gone to the terminal as bytes, in the real app.

The app writes to a terminal driver of our own, which makes its clock stop at the first update
written after the asked-for state was reached. Beside the wall's clock runs one that leaves out
how long the loop's thread stood in line for a processor, so that a busy machine spoils little.
"""

from __future__ import annotations

import asyncio
import gc
import sys
import threading
import time
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from textual import events
from textual.drivers.headless_driver import HeadlessDriver

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable, Iterable

    from textual.app import App

SIZE = (120, 40)
QUIET_S = 0.08  # so long nothing was written and nothing is at work: the screen has settled
SETTLES_S = 20.0
PAINTS_S = 10.0
SWITCH_S = 0.001  # as the app is started


class Terminal(HeadlessDriver):
    """A terminal of a fixed size that only notes what is written to it, and when."""

    written_at = 0.0
    on_write: Callable[[], None] | None = None

    @property
    def is_headless(self) -> bool:
        """Say no, so that every byte is made."""
        return False

    def write(self, data: str) -> None:
        """Note the moment."""
        if data:
            self.written_at = time.perf_counter()
            if self.on_write is not None:
                self.on_write()


def waited_s() -> float:
    """Give how long this thread stood in line for a processor; 0 where no system tells."""
    path = Path(f"/proc/self/task/{threading.get_native_id()}/schedstat")
    return int(path.read_text().split()[1]) / 1e9 if path.is_file() else 0.0


@dataclass(frozen=True)
class Press:
    """Milliseconds from a key press to its picture: by the wall, and less the standing in line."""

    wall_ms: float
    own_ms: float


@dataclass
class Times:
    """The presses of one class, in the order made."""

    presses: list[Press] = field(default_factory=list)

    def at(self, share: float, clock: str = "own_ms") -> float:
        """Give the time that this share of the presses stays within."""
        found = sorted(getattr(press, clock) for press in self.presses)
        return found[min(len(found) - 1, int(len(found) * share))]


class Fingers:
    """Presses keys in an app shown on a `Terminal` and times them."""

    def __init__(self, app: App, terminal: Terminal) -> None:
        self.app = app
        self.terminal = terminal
        self.times: dict[str, Times] = {}

    async def settle(self) -> None:
        """Wait until nothing is at work or written any more."""
        until = time.perf_counter() + SETTLES_S
        while time.perf_counter() < until:
            await asyncio.sleep(0.01)
            at_work = getattr(self.app, "keys_waiting", False) or len(self.app.workers)
            if not at_work and time.perf_counter() - self.terminal.written_at > QUIET_S:
                return
        raise TimeoutError("the app does not settle")

    async def press(self, *keys: str) -> None:
        """Press keys that are not timed."""
        for key in keys:
            self.terminal.process_message(events.Key(*_key(key)))
            await self.settle()

    async def timed(self, name: str, key: str, asked: Callable[[], bool]) -> Press:
        """Press a key and time it until the update that shows what it asks for is written."""
        painted: asyncio.Future[tuple[float, float]] = asyncio.get_running_loop().create_future()

        def look() -> None:
            if not painted.done() and asked():
                painted.set_result((time.perf_counter(), waited_s()))

        await self.settle()
        self.terminal.on_write = look
        began, stood = time.perf_counter(), waited_s()
        self.terminal.process_message(events.Key(*_key(key)))
        try:
            at, line = await asyncio.wait_for(painted, PAINTS_S)
        except TimeoutError:
            raise TimeoutError(f"{name}: {key} was not painted") from None
        finally:
            self.terminal.on_write = None
        wall = (at - began) * 1000
        press = Press(wall, wall - (line - stood) * 1000)
        self.times.setdefault(name, Times()).presses.append(press)
        return press

    async def changing(self, name: str, keys: Iterable[str], state: Callable[[], object]) -> None:
        """Time keys that each change a state; one that changes nothing is a fault."""
        for key in keys:
            before = state()
            await self.timed(name, key, lambda before=before: state() != before)  # type: ignore[misc]


def _key(key: str) -> tuple[str, str | None]:
    characters = {"space": " ", "slash": "/", "plus": "+", "question_mark": "?"}
    return key, characters.get(key, key if len(key) == 1 else None)


@asynccontextmanager
async def shown(app: App) -> AsyncIterator[Fingers]:
    """Run an app on a terminal of 120 x 40, with the interpreter as the program sets it."""
    app.driver_class = Terminal
    interval = sys.getswitchinterval()
    sys.setswitchinterval(SWITCH_S)
    ready = asyncio.Event()

    async def started(_pilot: object) -> None:
        ready.set()

    running = asyncio.create_task(app.run_async(size=SIZE, auto_pilot=started))
    try:
        await ready.wait()
        terminal = app._driver
        assert isinstance(terminal, Terminal)
        fingers = Fingers(app, terminal)
        await fingers.settle()
        yield fingers
    finally:
        app.exit()
        await running
        sys.setswitchinterval(interval)
        gc.unfreeze()
