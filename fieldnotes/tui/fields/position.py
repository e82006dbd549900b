"""A place on the map of the world, as people type or paste it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.planning.positions import decimal_degrees, parse_position
from fieldnotes.tui.fields.field import Field

if TYPE_CHECKING:
    from fieldnotes.domain.patients import Position


@dataclass(frozen=True, kw_only=True)
class PositionField(Field):
    """Decimal degrees, degrees-minutes-seconds, a geo: URI or a plus code; empty is None."""

    def _read(self, text: str) -> Position | None:
        if not text.strip():
            return None
        try:
            return parse_position(text)
        except RefusedInputError as error:
            raise RefusedInputError(self.key, error.reason) from error

    def echo(self, text: str) -> str:
        """Give the position in decimal degrees."""
        try:
            position = self._read(text)
        except RefusedInputError:
            return ""
        return "" if position is None else decimal_degrees(position, 4)
