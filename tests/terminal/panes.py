"""The app in a real terminal: a tmux of its own, keys pressed and the screen read."""

from __future__ import annotations

import itertools
import os
import shlex
import subprocess
import sys
import time
from pathlib import Path

RELAY = Path(__file__).with_name("relay.py")
PATIENCE_S = 30.0
# LINES and COLUMNS: readline, which pytest loads, puts them where only child processes see them,
# and they go before the terminal's own size.
FOREIGN = ("COLORTERM", "NO_COLOR", "TMUX", "LINES", "COLUMNS")
_NUMBERS = itertools.count()


class Pane:
    """One tmux server with one window in which the app runs."""

    def __init__(self, store, now, size=(80, 24), term="xterm-256color", late_s=0.0, **env):
        self._socket = f"fieldnotes-{os.getpid()}-{next(_NUMBERS)}"
        command = [
            sys.executable,
            "-m",
            "fieldnotes",
            "--data",
            str(store),
            "--now",
            now.isoformat(),
        ]
        if late_s:
            command = [sys.executable, str(RELAY), str(late_s), *command]
        clean = ["env", *(part for name in FOREIGN for part in ("-u", name)), f"TERM={term}"]
        clean += [f"{name}={value}" for name, value in env.items()]
        line = shlex.join([*clean, *command])
        width, height = map(str, size)
        self._tmux("new-session", "-d", "-x", width, "-y", height, line)

    def _tmux(self, *words: str) -> str:
        command = ["tmux", "-L", self._socket, "-f", "/dev/null", *words]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        assert not done.returncode, f"tmux {words[0]}: {done.stderr}"
        return done.stdout

    def press(self, *keys: str) -> None:
        """Press keys, by tmux's names."""
        self._tmux("send-keys", *keys)

    def type(self, text: str) -> None:
        """Type text as fast as a terminal takes it."""
        self._tmux("send-keys", "-l", "--", r"\;" if text == ";" else text)

    def resize(self, width: int, height: int) -> None:
        """Give the window another size."""
        self._tmux("resize-window", "-x", str(width), "-y", str(height))

    def screen(self, *, colours: bool = False) -> str:
        """Give what the screen shows, with the sequences of its colours if wanted."""
        return self._tmux("capture-pane", "-p", *(["-e"] if colours else []))

    def wait(self, *words: str, gone: str = "") -> str:
        """Wait until the screen shows all words and no more what is `gone`; give it."""
        until = time.monotonic() + PATIENCE_S
        while True:
            shown = self.screen()
            if all(word in shown for word in words) and not (gone and gone in shown):
                return shown
            assert time.monotonic() < until, f"{words} not shown:\n{shown}"
            time.sleep(0.1)

    def alive(self) -> bool:
        """Whether the app still runs."""
        try:
            return bool(self._tmux("list-panes"))
        except AssertionError:
            return False

    def close(self) -> None:
        """End the app and its tmux."""
        subprocess.run(
            ["tmux", "-L", self._socket, "kill-server"], capture_output=True, check=False
        )
