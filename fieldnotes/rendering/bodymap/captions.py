"""What a picture shows, in words beside it: which limb, seen from where, which edge is which."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.rendering.bodymap.scene import Scene
    from fieldnotes.rendering.bodymap.wounds import WoundMark

SPREAD: Final = 64  # columns; edges named further apart are no longer read as one line
ARROWS: Final = ("←", "→")
PLAIN_ARROWS: Final = ("<", ">")
_FROM: Final = {
    "lateral": "from the outside",
    "medial": "from the inside",
    "dorsal": "from the front",
    "palmar": "from behind",
    "plantar": "from behind",
    "sole": "from below",
    "front": "from the front",
    "back": "from behind",
    "left": "left side",
    "right": "right side",
}
_LAY: Final = {
    "lateral": "outside",
    "medial": "inside",
    "dorsal": "front",
    "palmar": "back",
    "plantar": "back",
}


class Edges(NamedTuple):
    """What lies towards each edge of a picture; empty where the drawing says it."""

    left: str = ""
    right: str = ""
    top: str = ""
    bottom: str = ""


def caption_parts(view: View) -> tuple[str, ...]:
    """Name what a view shows, where that is a part of the horse, and from where it is seen."""
    limb, _, aspect = view.id.rpartition("-")
    if not view.is_close_up:
        return ("head", _FROM[aspect]) if limb else (_FROM[aspect],)
    return f"{view.side} {limb}{' foot' if aspect == 'sole' else ''}", _FROM[aspect]


def caption(view: View) -> str:
    """Name what a view shows in a few words, such as "left fore, from the front"."""
    return ", ".join(caption_parts(view))


def edges(view: View, *, lay: bool = False) -> Edges:
    """Name the edges in standard or in `lay` terms; a limb's follow from its side and the aspect.

    One who faces the horse, or looks up at a sole with its toe at the top, has its left at right.
    """
    limb, _, aspect = view.id.rpartition("-")
    if view.id in ("front", "back"):
        sides = ("its right", "its left")
        return Edges(*(sides if view.id == "front" else sides[::-1]))
    if not view.is_close_up:
        return Edges()
    left = view.side == "left"
    if aspect in ("lateral", "medial"):
        pair = ("dorsal", "palmar" if limb == "fore" else "plantar")
        turned = left == (aspect == "medial")
    else:
        pair = ("lateral", "medial")
        turned = left == (aspect in ("dorsal", "sole"))
    words = [_LAY[word] if lay else word for word in (pair[::-1] if turned else pair)]
    return Edges(*words, *(("toe", "heel") if aspect == "sole" else ()))


def earlier_words(wounds: Sequence[WoundMark]) -> str:
    """Say of which year each earlier wound is, such as "a: 2023, b: 2024"."""
    named = {(m.label, m.year) for m in wounds if m.past and m.label and m.year}
    return ", ".join(f"{label}: {year}" for label, year in sorted(named))


def heading(scene: Scene, width: int, arrows: tuple[str, str]) -> str:
    """Give the line above a picture: caption, its edges, what the choice and faint letters mean.

    What there is no room for is left out, the caption before the edges.
    """
    shown = edges(scene.view)
    left = f"{arrows[0]} {shown.left}" if shown.left else ""
    right = f"{shown.right} {arrows[1]}" if shown.right else ""
    words = [caption(scene.view), _pieces(scene), earlier_words(scene.wounds)]
    words = [word for word in words if word]
    while words and len(left) + len(right) + len("; ".join(words)) + 4 > width:
        words.pop()
    said = "; ".join(words)
    room = min(width, max(SPREAD, len(left) + len(right) + len(said) + 4))
    line = left + said.center(room - len(left) - len(right)) + right
    return line.center(width)[:width]


def _pieces(scene: Scene) -> str:
    """Say that a choice lit in several places is one region."""
    count = sum(s.region_id == scene.selected and not s.far for s in scene.view.shapes)
    return f"one region, seen in {count} places" if count > 1 else ""
