"""First paint of the app beside the bare baseline, in one run: `python first_paint.py STORE [N]`.

A real pseudo-terminal is opened; the clocks stop when the marker text has arrived: the wall's, and
that of the processor, which a busy machine does not spoil. Prints the medians and their ratios
(target: at most 1.3). The first start of ours is left to paint in full, so that the picture of the
first screen is kept, as after any use.
"""

from __future__ import annotations

import os
import pty
import select
import signal
import statistics
import struct
import sys
import time
from fcntl import ioctl
from pathlib import Path
from termios import TIOCSWINSZ

HERE = Path(__file__).parent
DEADLINE_S = 20.0
QUIET_S = 4.0  # no more drawn for so long: the first screen is whole


def processor_s(process: int) -> float:
    """Give the processor time a process has used, all its threads."""
    tasks = Path(f"/proc/{process}/task").iterdir()
    return sum(int((task / "schedstat").read_text().split()[0]) for task in tasks) / 1e9


def paint_s(command: list[str], marker: bytes, then_s: float = 0) -> tuple[float, float]:
    """Give the seconds from start until the marker was drawn, by the wall and the processor."""
    started = time.perf_counter()
    child, terminal = pty.fork()
    if child == 0:
        os.environ.update(TERM="xterm-256color", COLORTERM="truecolor", LANG="C.UTF-8")
        os.execv(command[0], command)
    ioctl(terminal, TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
    seen = b""
    try:
        while marker not in seen:
            if time.perf_counter() - started > DEADLINE_S:
                sys.exit(f"{command}: nothing painted in {DEADLINE_S:g} s")
            if select.select([terminal], [], [], 0.5)[0]:
                seen += os.read(terminal, 65536)
        times = time.perf_counter() - started, processor_s(child)
        while then_s and select.select([terminal], [], [], then_s)[0]:
            os.read(terminal, 65536)
        return times
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(terminal)


def main(store: str, rounds: int) -> None:
    """Measure both in turns and print the ratio."""
    ours = [sys.executable, "-m", "fieldnotes", "--data", store]
    bare = [sys.executable, str(HERE / "baseline.py")]
    times: dict[str, list[tuple[float, float]]] = {"fieldnotes": [], "baseline": []}
    paint_s(ours, b"Today", QUIET_S)
    for _ in range(rounds + 1):
        times["baseline"].append(paint_s(bare, b"cell 5"))
        times["fieldnotes"].append(paint_s(ours, b"Today"))
    for at, clock in enumerate(("wall", "processor")):
        ours_s, bare_s = (statistics.median(t[at] for t in v[1:]) for v in times.values())
        sys.stdout.write(
            f"{clock:<10} fieldnotes {ours_s * 1000:6.0f} ms, baseline {bare_s * 1000:6.0f} ms,"
            f" ratio {ours_s / bare_s:.2f} (target 1.3)\n"
        )


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 7)
