"""A row of the command table."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Command:
    """One thing the vet can do with one key, and the screens it is for (`app` is all).

    `action` is the Textual action; `footer` rows are shown at the foot of the screen.
    """

    id: str
    title: str
    help: str
    key: str
    screens: tuple[str, ...]
    action: str
    footer: bool = False

    @property
    def shown_key(self) -> str:
        """The key as it is spoken of."""
        first = self.key.split(",")[0]
        names = {
            "question_mark": "?",
            "slash": "/",
            "plus": "+",
            "minus": "-",
            "equals_sign": "=",
            "backspace": "Bksp",
            "pagedown": "PgDn",
            "pageup": "PgUp",
            "escape": "Esc",
            "enter": "Enter",
            "left": "←",
            "right": "→",
        }
        if first[:1] == "f" and first[1:].isdigit():
            return first.upper()
        return names.get(first, first.replace("ctrl+", "^"))
