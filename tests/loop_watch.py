"""Watches how long the event loop's thread works between two awaits, and who is to blame."""

from __future__ import annotations

import asyncio
import sys
import threading
import time
from collections import Counter
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import FrameType

SAMPLE_S = 0.002
SHELL = ("/tui/app.py", "/tui/held_keys.py", "/cli/")


@dataclass
class Hold:
    """One stretch of work: its processor time, and the part our own code was seen in."""

    total_ms: float
    ours_ms: float
    where: str


@dataclass
class LoopWatch:
    """Every stretch longer than `over_ms` of the watched thread's processor time."""

    over_ms: float
    holds: list[Hold] = field(default_factory=list)
    _samples: list[str] = field(default_factory=list)

    @property
    def worst(self) -> Hold:
        """The stretch in which our own code held the loop longest."""
        return max(self.holds, key=lambda hold: hold.ours_ms, default=Hold(0, 0, ""))

    def note(self, seconds: float) -> None:
        """Take up a finished stretch; samples tell how much of it was ours."""
        samples, self._samples = self._samples, []
        if seconds * 1000 < self.over_ms or not samples:
            return
        ours = [place for place in samples if place]
        place = Counter(ours).most_common(1)[0][0] if ours else ""
        self.holds.append(Hold(seconds * 1000, seconds * 1000 * len(ours) / len(samples), place))

    def sample(self, frame: FrameType | None) -> None:
        """Note the innermost line of our own that is at work, empty for none."""
        while frame is not None:
            name = frame.f_code.co_filename
            if "/fieldnotes/" in name and not any(part in name for part in SHELL):
                self._samples.append(f"{name.rpartition('/fieldnotes/')[2]}:{frame.f_lineno}")
                return
            frame = frame.f_back
        self._samples.append("")


@contextmanager
def watching(over_ms: float) -> Iterator[LoopWatch]:
    """Watch the loop of this thread."""
    watch, done, thread = LoopWatch(over_ms), threading.Event(), threading.get_ident()
    run, interval = asyncio.events.Handle._run, sys.getswitchinterval()

    def timed(handle: asyncio.Handle) -> None:
        if threading.get_ident() != thread:
            run(handle)
            return
        watch._samples = []
        begun = time.thread_time()
        run(handle)
        watch.note(time.thread_time() - begun)

    def sampler() -> None:
        while not done.wait(SAMPLE_S):
            watch.sample(sys._current_frames().get(thread))

    asyncio.events.Handle._run = timed  # type: ignore[method-assign]
    sys.setswitchinterval(0.0005)
    helper = threading.Thread(target=sampler, daemon=True)
    helper.start()
    try:
        yield watch
    finally:
        done.set()
        helper.join()
        sys.setswitchinterval(interval)
        asyncio.events.Handle._run = run  # type: ignore[method-assign]
