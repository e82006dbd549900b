"""First paint of the app beside the bare baseline, in one run: `python first_paint.py STORE [N]`.

A real pseudo-terminal is opened; the clock stops when the marker text has arrived. Prints both
medians and their ratio (target: at most 1.3).
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


def paint_s(command: list[str], marker: bytes) -> float:
    """Give the seconds from start until the marker was drawn."""
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
        return time.perf_counter() - started
    finally:
        os.kill(child, signal.SIGTERM)
        os.waitpid(child, 0)
        os.close(terminal)


def main(store: str, rounds: int) -> None:
    """Measure both in turns and print the ratio."""
    ours = [sys.executable, "-m", "fieldnotes", "--data", store]
    bare = [sys.executable, str(HERE / "baseline.py")]
    times: dict[str, list[float]] = {"fieldnotes": [], "baseline": []}
    for _ in range(rounds + 1):
        times["baseline"].append(paint_s(bare, b"cell 5"))
        times["fieldnotes"].append(paint_s(ours, b"Today"))
    medians = {name: statistics.median(values[1:]) for name, values in times.items()}
    for name, value in medians.items():
        sys.stdout.write(f"{name:<10} {value * 1000:6.0f} ms\n")
    sys.stdout.write(f"ratio      {medians['fieldnotes'] / medians['baseline']:.2f} (target 1.3)\n")


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 7)
