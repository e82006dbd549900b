"""Turns the eight squares of a cell into one character of two colours."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final, NamedTuple

from fieldnotes.rendering.bodymap.grid import EMPTY
from fieldnotes.rendering.bodymap.palette import mean, slot_colour
from fieldnotes.rendering.bodymap.scene import SLOTS
from fieldnotes.rendering.bodymap.shades import coat_colours

if TYPE_CHECKING:
    from fieldnotes.rendering.bodymap.palette import Colour, Palette

# Block elements by which quarters are filled: upper left 1, upper right 2, lower left 4, right 8.
QUARTERS: Final = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
HALF: Final = 3
_PARTS: Final = tuple(
    (
        tuple(i for i in range(4) if mask >> i & 1),
        tuple(i for i in range(4) if not mask >> i & 1),
    )
    for mask in range(8)
)
_SPLITS: Final = tuple(enumerate(_PARTS))[1:]  # the other eight are these, ink and ground changed


class Cell(NamedTuple):
    """One character of a picture; without colour both colours are None."""

    char: str
    fg: Colour | None
    bg: Colour | None


class Mixer(dict[tuple[int, ...], Cell]):
    """The cell for a light level and two columns of four squares, row by row.

    Most blocks of a picture are alike, so each is mixed once and kept.
    """

    def __init__(self, key: str, palette: Palette) -> None:
        super().__init__()
        self._palette = palette
        shades = coat_colours(key, palette)
        self._coats = len(shades)
        # EMPTY is -1, so the ground stands last
        self._shades = [*shades, *(slot_colour(name, palette) for name in SLOTS), palette.ground]

    def __missing__(self, block: tuple[int, ...]) -> Cell:
        """Mix a block that was not seen before."""
        found = self[block] = self._mix(block[0], block[1:])
        return found

    def shade(self, level: int, number: int) -> Colour:
        """Give the colour of one square under this light."""
        colour = self._shades[number]
        if not level or number >= self._coats or number == EMPTY or not self._palette.step:
            return colour
        red, green, blue = (min(255, round(c * (1 + level * 0.055))) for c in colour)
        return red, green, blue

    def _mix(self, level: int, block: tuple[int, ...]) -> Cell:
        colours = [self.shade(level, number) for number in block]
        if not self._palette.step:
            return self._hard(block)
        quarters = [mean((colours[i], colours[i + 2])) for i in (0, 1, 4, 5)]
        if len(set(quarters)) == 1:
            return Cell(" ", quarters[0], quarters[0])
        mask = self._marked(block) or _best_parts(quarters)
        ink, ground = (mean([quarters[i] for i in part]) for part in _PARTS[mask])
        return Cell(QUARTERS[mask], ink, ground)

    def _marked(self, block: tuple[int, ...]) -> int:
        """Give the quarters that are wholly the choice, a wound or a pouch: these stay clear."""
        strong = max(block)
        if strong < self._coats + SLOTS.index("selected"):
            return 0
        pairs = enumerate(((0, 2), (1, 3), (4, 6), (5, 7)))
        mask = sum(1 << bit for bit, (a, b) in pairs if block[a] == block[b] == strong)
        return min(mask, 15 - mask)

    def _hard(self, block: tuple[int, ...]) -> Cell:
        """Give two halves in colours of the palette alone, for terminals that have sixteen."""
        upper, lower = (
            max(part, key=lambda n: (part.count(n), n)) for part in (block[:4], block[4:])
        )
        return Cell(QUARTERS[HALF], self._shades[upper], self._shades[lower])


def _best_parts(quarters: list[Colour]) -> int:
    """Give the split into two parts whose brightness spreads least within each."""
    light = [red + green + blue for red, green, blue in quarters]
    whole, best, most = sum(light), 1, -1.0
    for mask, (inked, left) in _SPLITS:
        part = sum([light[i] for i in inked])
        score = part * part / len(inked) + (whole - part) * (whole - part) / len(left)
        if score > most:
            best, most = mask, score
    return best


@lru_cache(maxsize=48)
def mixer(key: str, palette: Palette) -> Mixer:
    """Give the mixer of a view; what it has seen once it knows."""
    return Mixer(key, palette)
