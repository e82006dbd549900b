"""A wound as the map shows it: an ellipse to scale, its label and its state in a sign."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from fieldnotes.knowledge.bodymap import View, region_at
from fieldnotes.knowledge.polygons import ellipse, overlapping, placed
from fieldnotes.knowledge.regions import load_regions

if TYPE_CHECKING:
    from fieldnotes.knowledge.polygons import Ring

State = Literal["open", "stitched", "improving", "worse", "healed"]
SIGNS: Final[dict[State, str]] = {
    "open": "",
    "stitched": "#",
    "improving": "+",
    "worse": "!",
    "healed": "=",
}


@dataclass(frozen=True)
class WoundMark:
    """A wound on a view; the angle turns the length up from level, to the right of the picture.

    One that was never `measured` only marks the place; its size is not spoken of. One whose edge
    was traced has the points of its `outline_cm` and is drawn in that shape. The `year` tells which
    earlier case a `past` one is of. One not put there `by_hand` stands in its region's middle, and
    is not said to reach others.
    """

    label: str
    x_cm: float
    y_cm: float
    length_mm: float = 10.0
    width_mm: float = 10.0
    angle_deg: float = 0.0
    past: bool = False
    state: State = "open"
    measured: bool = True
    outline_cm: Ring = ()
    year: int | None = None
    by_hand: bool = True

    @property
    def words(self) -> str:
        """Say which wound, how large where that holds still, and its state."""
        size = f"{self.length_mm / 10:g} x {self.width_mm / 10:g} cm"
        sized = self.measured and self.state != "healed"
        of_case = f"of an earlier case ({self.year})" if self.year else "of an earlier case"
        earlier = of_case if self.label else "earlier outline"
        state = earlier if self.past else self.state
        return ", ".join([f"Wound {self.label}", *([size] if sized else []), state])

    @property
    def ring(self) -> Ring:
        """Give the wound's edge in centimetres of the view."""
        if len(self.outline_cm) > 2:
            return placed(self.outline_cm, self.x_cm, self.y_cm, self.angle_deg)
        return ellipse(
            self.x_cm, self.y_cm, self.length_mm / 10, self.width_mm / 10, self.angle_deg
        )

    @property
    def faint(self) -> bool:
        """Say whether it is drawn as an outline only: healed, or of an earlier time."""
        return self.past or self.state == "healed"

    @property
    def shade(self) -> str:
        """Give the palette's name for its colour."""
        return "past" if self.past else self.state

    @property
    def sign(self) -> str:
        """Give the label with the state's sign, so that colour alone never tells it.

        That of an earlier case is a small letter alone: its state is past.
        """
        return self.label if self.past else self.label + SIGNS[self.state]


def regions_under(view: View, mark: WoundMark) -> tuple[str, ...]:
    """Give every region a wound reaches, the one at its middle first."""
    at = region_at(view, mark.x_cm, mark.y_cm)
    if at is not None and not mark.by_hand:
        return (at,)
    ring = mark.ring
    touched = (s.region_id for s in view.shapes if overlapping(s.ring, ring) and not s.far)
    first = () if at is None else (at,)
    return tuple(dict.fromkeys((*first, *touched)))


def alternative_text(view: View, wounds: tuple[WoundMark, ...], selected: str | None) -> str:
    """Describe the picture for someone who cannot see it."""
    parts = [f"Drawing of a horse: {view.title.lower()}."]
    if selected:
        parts.append(f"Marked region: {load_regions().get(selected).lay_name}.")
    for mark in wounds:
        names = [load_regions().get(i).lay_name for i in regions_under(view, mark)]
        where = "; ".join(names) or "beside the body"
        parts.append(f"{mark.words}: {where}.")
    return " ".join(parts)
