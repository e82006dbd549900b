"""Fields for figures with units: a number, and a wound's length x width x depth."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.tui.fields.field import Field

if TYPE_CHECKING:
    from fieldnotes.knowledge.limits import Limit

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_SIZE = re.compile(
    rf"{_NUMBER}(?:\s*[xX\u00d7*]\s*{_NUMBER})?(?:\s*[xX\u00d7*]\s*{_NUMBER})?\s*(mm|cm|in)?",
    re.ASCII,
)
_PLAIN = re.compile(r"(-?\d+(?:[.,]\d+)?)\s*(\S.*)?", re.ASCII)
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}


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


@dataclass(frozen=True)
class TypedSize:
    """A wound's size in mm as typed; None = not taken."""

    length_mm: float | None = None
    width_mm: float | None = None
    depth_mm: float | None = None

    def answer(self) -> str:
        """Give the text a form keeps, in cm."""
        sides = (self.length_mm, self.width_mm, self.depth_mm)
        return " x ".join(plain(mm / 10) for mm in sides if mm is not None)


@dataclass(frozen=True, kw_only=True)
class SizeField(Field):
    """Length x width x depth of a wound, in cm unless a unit is written.

    `limits` are the bounds of the three sides in mm; a side outside is refused in the unit typed.
    """

    limits: tuple[Limit, ...] = ()

    def _read(self, text: str) -> TypedSize:
        if not text.strip():
            return TypedSize()
        found = _SIZE.fullmatch(text.strip())
        if found is None:
            raise RefusedInputError(
                self.key, f"'{text.strip()}' is not a size like 8 x 3 or 8x3x1 cm"
            )
        unit = found[4] or "cm"
        sides = [number(s) * _MM[unit] if s else None for s in found.groups()[:3]]
        for limit, mm in zip(self.limits, sides, strict=False):
            if mm is not None and limit.fault(mm):
                self.refuse(_outside(limit, mm, unit))
        return TypedSize(*sides)

    def echo(self, text: str) -> str:
        """Give the sides in words."""
        try:
            size = self._read(text)
        except RefusedInputError:
            return ""
        parts = zip(
            ("long", "wide", "deep"), (size.length_mm, size.width_mm, size.depth_mm), strict=True
        )
        return ", ".join(f"{mm / 10:g} cm {word}" for word, mm in parts if mm is not None)


def _outside(limit: Limit, mm: float, unit: str) -> str:
    value, least, most = (f"{plain(x / _MM[unit])}" for x in (mm, limit.least, limit.most))
    return f"{limit.words} {value} {unit} cannot be right ({least} to {most} {unit})"
