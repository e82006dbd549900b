"""A field for a figure with its unit."""

from __future__ import annotations

import re
from dataclasses import dataclass

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.tui.fields.field import Field

_PLAIN = re.compile(r"(-?\d+(?:[.,]\d+)?)\s*(\S.*)?", re.ASCII)


def number(text: str) -> float:
    """Read a number with point or comma."""
    return float(text.replace(",", "."))


def plain(value: float) -> str:
    """Give a number in plain figures, never in powers of ten: a dose must not be misread."""
    return f"{value:,.4f}".rstrip("0").rstrip(".")


@dataclass(frozen=True, kw_only=True)
class NumberField(Field):
    """A number in one unit; empty is None. `scales` converts other units when they are typed."""

    unit: str = ""
    least: float = 0.0
    most: float = float("inf")
    whole: bool = False
    scales: tuple[tuple[str, float], ...] = ()

    def _read(self, text: str) -> float | int | None:
        found = _PLAIN.fullmatch(text.strip())
        if not text.strip():
            return None
        if found is None:
            self.refuse(f"'{text.strip()}' is not a number")
        value = self._scaled(number(found[1]), (found[2] or "").strip(), found[2]) if found else 0.0
        if not self.least <= value <= self.most:
            self.refuse(
                f"{plain(value)} {self.unit} cannot be right ({self.least:g} to {self.most:g})"
            )
        if self.whole and value != int(value):
            self.refuse("a whole number is needed")
        return int(value) if self.whole else value

    def _scaled(self, value: float, unit: str, typed: str | None) -> float:
        known = {self.unit.casefold(): 1.0, "": 1.0, **dict(self.scales)}
        if unit.casefold() not in known:
            raise RefusedInputError(self.key, f"'{typed}' is not a unit this is taken in")
        return value * known[unit.casefold()]

    def echo(self, text: str) -> str:
        """Give the value with its unit."""
        try:
            value = self.read(text)
        except RefusedInputError:
            return ""
        return "" if value is None else f"{plain(value)} {self.unit}".strip()
