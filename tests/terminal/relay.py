"""Runs a command in a pseudo-terminal and hands every byte on late, as a slow line does.

python relay.py SECONDS COMMAND [ARGUMENT ...]
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import pty
import select
import signal
import sys
import termios
import time
import tty
from collections import deque

CHUNK = 65536


def same_size(descriptor: int) -> None:
    """Give the inner terminal the size of the outer one."""
    size = fcntl.ioctl(0, termios.TIOCGWINSZ, b"\0" * 8)
    fcntl.ioctl(descriptor, termios.TIOCSWINSZ, size)


def carry(inner: int, late_s: float) -> None:
    """Hand bytes on both ways, each `late_s` after it came, until the command ends."""
    to = {0: inner, inner: 1}
    waiting: deque[tuple[float, int, bytes]] = deque()
    while True:
        pause = max(0.0, waiting[0][0] - time.monotonic()) if waiting else None
        for source in select.select(list(to), [], [], pause)[0]:
            data = os.read(source, CHUNK)  # OSError: the command has ended
            waiting.append((time.monotonic() + late_s, to[source], data))
        while waiting and waiting[0][0] <= time.monotonic():
            _, target, data = waiting.popleft()
            while data:
                data = data[os.write(target, data) :]


def main() -> None:
    child, inner = pty.fork()
    if child == 0:
        os.execvp(sys.argv[2], sys.argv[2:])
    same_size(inner)
    signal.signal(signal.SIGWINCH, lambda *_: same_size(inner))
    before = termios.tcgetattr(0)
    tty.setraw(0)
    try:
        with contextlib.suppress(OSError):
            carry(inner, float(sys.argv[1]))
    finally:
        termios.tcsetattr(0, termios.TCSADRAIN, before)


main()
