"""Where a wound is: a region, and the exact point on a view of the body map if it was shown there.

Both stand in one answer, so that typing another region leaves no point of the old one behind.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.anatomy import MapPoint
from fieldnotes.knowledge.bodymap import VIEW_KEYS, load_view
from fieldnotes.tui.fields.choices import FindField

if TYPE_CHECKING:
    from fieldnotes.tui.fields.field import Option

_FIGURE = r"(-?\d+(?:\.\d+)?)"
_SHOWN = re.compile(rf"(\S+)@(\S+) {_FIGURE} {_FIGURE} {_FIGURE}", re.ASCII)


@dataclass(frozen=True)
class Spot:
    """A region; `view` and `point` (cm in that view) where it was shown on the map."""

    region: str
    view: str = ""
    point: MapPoint | None = None
    angle_deg: float = 0.0

    def answer(self) -> str:
        """Give the text a form keeps."""
        if self.point is None:
            return self.region
        x, y = self.point.x_cm, self.point.y_cm
        return f"{self.region}@{self.view} {x:.2f} {y:.2f} {self.angle_deg:.0f}"


def read_spot(answer: str) -> Spot:
    """Read what a form keeps; anything else is a region, or part of one's name."""
    found = _SHOWN.fullmatch(answer)
    if found is None or found[2] not in VIEW_KEYS:
        return Spot(answer)
    point = MapPoint(float(found[3]), float(found[4]))
    return Spot(found[1], found[2], point, float(found[5]))


@dataclass(frozen=True, kw_only=True)
class PlaceField(FindField):
    """A region found by its name or shown on the map; read as a Spot."""

    def options(self, text: str) -> tuple[Option, ...]:
        """Give the regions the text may mean."""
        return super().options(read_spot(text).region)

    def shown(self, answer: str) -> str:
        """Give the region's name."""
        return super().shown(read_spot(answer).region)

    def _read(self, text: str) -> Spot:  # type: ignore[override]
        spot = read_spot(text)
        return spot if spot.point else Spot(super()._read(spot.region))

    def echo(self, text: str) -> str:
        """Say on which view the point stands."""
        spot = read_spot(text)
        if spot.point is None:
            return ""
        return f"map: {load_view(spot.view).seen_from}"
