"""The colours of the body map, each named once by what it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldnotes.knowledge.bodymap import Shape

Colour = tuple[int, int, int]


@dataclass(frozen=True)
class Palette:
    """Named slots; `step` sets neighbouring regions apart, `far_share` dims the limbs behind."""

    ground: Colour
    coat: Colour
    points: Colour
    hoof: Colour
    hair: Colour
    white: Colour
    ink: Colour
    crease: Colour
    selected: Colour
    pouch: Colour
    open: Colour
    stitched: Colour
    improving: Colour
    worse: Colour
    healed: Colour
    past: Colour
    label: Colour
    quiet: Colour
    step: int = 9
    far_share: float = 0.7


DARK: Final = Palette(
    ground=(16, 18, 22),
    coat=(164, 108, 70),
    points=(122, 90, 74),
    hoof=(122, 116, 110),
    hair=(72, 54, 46),
    white=(226, 216, 204),
    ink=(26, 18, 14),
    crease=(118, 80, 54),
    selected=(255, 208, 64),
    pouch=(110, 226, 236),
    open=(226, 32, 44),
    stitched=(168, 70, 214),
    improving=(30, 140, 76),
    worse=(255, 0, 128),
    healed=(150, 160, 150),
    past=(222, 210, 196),
    label=(255, 255, 255),
    quiet=(158, 162, 168),
)
LIGHT: Final = Palette(
    ground=(250, 250, 247),
    coat=(188, 134, 94),
    points=(112, 82, 68),
    hoof=(136, 130, 124),
    hair=(70, 50, 42),
    white=(244, 238, 230),
    ink=(24, 16, 12),
    crease=(96, 68, 50),
    selected=(255, 196, 0),
    pouch=(0, 104, 140),
    open=(200, 16, 32),
    stitched=(124, 40, 170),
    improving=(0, 108, 56),
    worse=(214, 0, 110),
    healed=(96, 104, 96),
    past=(72, 64, 84),
    label=(255, 255, 255),
    quiet=(82, 80, 78),
)
# The sixteen colours every terminal has, at their usual values, so that nothing is mixed.
SIXTEEN: Final = Palette(
    ground=(0, 0, 0),
    coat=(128, 128, 0),
    points=(128, 128, 128),
    hoof=(192, 192, 192),
    hair=(128, 0, 0),
    white=(255, 255, 255),
    ink=(0, 0, 0),
    crease=(128, 128, 0),
    selected=(255, 255, 0),
    pouch=(0, 255, 255),
    open=(255, 0, 0),
    stitched=(128, 0, 128),
    improving=(0, 128, 0),
    worse=(255, 0, 255),
    healed=(0, 128, 128),
    past=(0, 0, 128),
    label=(255, 255, 255),
    quiet=(192, 192, 192),
    step=0,
    far_share=1.0,
)

BEHIND_SHARE: Final = 0.74
_POINTS: Final = ("metacarpus", "metatarsus", "fetlock", "pastern", "coronary_band", "heel_bulb")


def _base(region_id: str, palette: Palette) -> Colour:
    if region_id == "tail":
        return palette.hair
    if ".foot." in region_id:
        return palette.hoof
    if any(part in region_id for part in _POINTS):
        return palette.points
    muzzle = "nostril_lip" in region_id and palette.step
    return mean((palette.coat, palette.points)) if muzzle else palette.coat


def shape_colour(shape: Shape, level: int, palette: Palette) -> Colour:
    """Give a shape's colour: `level` steps from its kind's own, dimmed if it lies farther off."""
    bare = shape.region_id.removeprefix("left.").removeprefix("right.")
    shift = level * palette.step
    share = palette.far_share if shape.far else 1.0
    if shape.behind and palette.step:
        share *= BEHIND_SHARE
    red, green, blue = (max(0, min(255, round((c + shift) * share))) for c in _base(bare, palette))
    return red, green, blue


def hex_colour(colour: Colour) -> str:
    """Give a colour as SVG and terminals write it."""
    return "#{:02x}{:02x}{:02x}".format(*colour)


def slot_colour(name: str, palette: Palette) -> Colour:
    """Give the colour of something painted over the shapes, such as a wound by its state."""
    colour: Colour = getattr(palette, name)
    return colour


def readable_on(ground: Colour, palette: Palette) -> Colour:
    """Give the ink a letter is written in on a colour: dark on bright, else light."""
    red, green, blue = ground
    # luma of ITU-R BT.601, of 255
    return palette.ink if 0.299 * red + 0.587 * green + 0.114 * blue > 125 else palette.label


def mean(colours: Sequence[Colour]) -> Colour:
    """Give the colour halfway between all of these."""
    red, green, blue = (round(sum(part) / len(colours)) for part in zip(*colours, strict=True))
    return red, green, blue
