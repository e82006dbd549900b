"""The field of a body weight: kilograms, or pounds where the practice weighs in them."""

from __future__ import annotations

from dataclasses import dataclass

from fieldnotes.domain.body_weight import (
    METRIC,
    US,
    has_unit,
    read_weight,
    weight_answer,
    weight_text,
)
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.units import lb_from_kg
from fieldnotes.tui.fields.field import Field
from fieldnotes.tui.fields.measures import plain


@dataclass(frozen=True, kw_only=True)
class WeightField(Field):
    """A body weight in kilograms; empty is None. A bare figure is in the practice's `units`."""

    units: str = METRIC
    least: float = 20
    most: float = 1200

    def _read(self, text: str) -> float | None:
        if not text.strip():
            return None
        try:
            kg = read_weight(text, self.units)
        except RefusedInputError as error:
            raise RefusedInputError(self.key, error.reason) from error
        if not self.least <= kg <= self.most:
            self.refuse(f"{self._said(kg)} cannot be right ({self._bounds()})")
        return kg

    def _said(self, kg: float) -> str:
        return weight_text(kg, US) if self.units == US else f"{plain(kg)} kg"

    def _bounds(self) -> str:
        if self.units != US:
            return f"{self.least:g} to {self.most:g}"
        least, most = lb_from_kg(self.least), lb_from_kg(self.most)
        return f"{self.least:g} to {self.most:g} kg, {least:.0f} to {most:.0f} lb"

    def echo(self, text: str) -> str:
        """Give the weight in kilograms, in which everything is reckoned, and in pounds."""
        try:
            kg = self.read(text)
        except RefusedInputError:
            return ""
        if kg is None:
            return "in lb, or as 480 kg" if self.units == US else ""
        return self._said(kg)

    def fixed(self, text: str) -> str:
        """Give a typed weight with its unit, so that it stays the same in other units."""
        if not text.strip() or has_unit(text):
            return text
        try:
            read_weight(text, self.units)
        except RefusedInputError:
            return text
        return f"{text.strip()} {'lb' if self.units == US else 'kg'}"

    def typed(self, kg: float) -> str:
        """Give a reckoned weight as an answer to this field."""
        return weight_answer(kg, self.units)

    def told(self, answer: str) -> str:
        """Give the weight in both units for the review."""
        return (self.echo(answer) or answer) if self.units == US or has_unit(answer) else answer
