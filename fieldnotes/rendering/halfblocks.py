"""A photograph seen through a window of square points, two to a terminal cell."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

from fieldnotes.rendering.pictures import decoded

if TYPE_CHECKING:
    from PIL import Image

    from fieldnotes.knowledge.limits import Limits

RGB: TypeAlias = tuple[int, int, int]
Dot: TypeAlias = tuple[int, int]
LEAST_SCALE = 0.2
ZOOM = 1.5


@dataclass(frozen=True)
class Window:
    """What is seen: the picture's point at the left top, and how many of its pixels a dot is."""

    left: float
    top: float
    scale: float
    columns: int
    rows: int

    def dot(self, x: float, y: float) -> Dot:
        """Give the dot a point of the picture falls in."""
        return int((x - self.left) // self.scale), int((y - self.top) // self.scale)

    def point(self, column: float, row: float) -> tuple[float, float]:
        """Give the point of the picture under the middle of a dot."""
        return self.left + (column + 0.5) * self.scale, self.top + (row + 0.5) * self.scale

    def shows(self, x: float, y: float) -> bool:
        """Whether a point of the picture is seen."""
        column, row = self.dot(x, y)
        return 0 <= column < self.columns and 0 <= row < self.rows

    def around(self, x: float, y: float, scale: float) -> Window:
        """Give the window of another scale with a point in its middle."""
        left, top = x - self.columns * scale / 2, y - self.rows * scale / 2
        return replace(self, left=left, top=top, scale=scale)


class Viewed:
    """A decoded photograph; smaller copies are made once for each coarseness looked at."""

    def __init__(self, data: bytes, limits: Limits) -> None:
        self._image: Image.Image = decoded(data, limits).convert("RGB")
        self._smaller: dict[int, Image.Image] = {1: self._image}

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self._image.size

    def whole(self, columns: int, rows: int) -> Window:
        """Give the window that shows all of the picture."""
        width, height = self.size
        scale = max(width / max(columns, 1), height / max(rows, 1))
        return Window(0, 0, scale, columns, rows).around(width / 2, height / 2, scale)

    def dots(self, window: Window) -> tuple[tuple[RGB, ...], ...]:
        """Give the colours of a window, row by row; black lies around the picture."""
        from PIL import Image  # noqa: PLC0415  (heavy, and an extra)

        by = max(int(window.scale), 1)
        image = self._smaller.setdefault(by, self._image.reduce(by) if by > 1 else self._image)
        left, top, step = window.left / by, window.top / by, window.scale / by
        box = (left, top, left + window.columns * step, top + window.rows * step)
        size = (window.columns, window.rows)
        shown = image.transform(size, Image.Transform.EXTENT, box, Image.Resampling.BILINEAR)
        flat = shown.tobytes()
        line = 3 * window.columns
        return tuple(
            tuple(
                (flat[i], flat[i + 1], flat[i + 2]) for i in range(row * line, (row + 1) * line, 3)
            )
            for row in range(window.rows)
        )


def line_dots(one: Dot, other: Dot) -> tuple[Dot, ...]:
    """Give the dots of a straight line between two."""
    steps = max(abs(other[0] - one[0]), abs(other[1] - one[1]), 1)
    return tuple(
        (
            round(one[0] + (other[0] - one[0]) * i / steps),
            round(one[1] + (other[1] - one[1]) * i / steps),
        )
        for i in range(steps + 1)
    )
