"""Notes written by one who never saw the reader: what it fills is right, or marked as a guess.

The labels are a colleague's plain words; `_told` puts what was read into the same words.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from fieldnotes.clinical.one_line import NoteReader
from fieldnotes.knowledge.drugs import load_drugs
from fieldnotes.knowledge.limits import load_limits
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.knowledge.shorthand import load_shorthand

if TYPE_CHECKING:
    from fieldnotes.clinical.one_line_found import OneLine

READER = NoteReader(
    load_shorthand(), load_regions(), load_limits(), {d.id: d.name for d in load_drugs()}, {}
)
LEAST_RIGHT = {"a": 0.99, "b": 0.99, "c": 0.99}  # of what was filled
LEAST_FILLED = {"a": 0.81, "b": 0.79, "c": 0.84}  # of what the note says
LEAST_REACHED = {"a": 0.94, "b": 0.86, "c": 0.94}  # with what is offered; the rest is kept as text
HOURS = {"h": 1, "min": 1 / 60, "d": 24}
KINDS = {"avulsion": "avulsion/flap"}
CLOSURES = {
    "primary closure": {"primary", "staples", "glue"},
    "partial closure": {"primary", "staples", "partial"},
    "second intention": {"secondary intention"},
    "delayed primary closure": {"delayed primary"},
}
SIGNS = {"more discharge": "discharge", "bad smell": "odour"}
LABELS = [
    "region",
    "limb",
    "side",
    "kind",
    "length_mm",
    "width_mm",
    "depth_mm",
    "age_h",
    "closure",
    "bandage",
    "signs",
    "bone",
]
BANDAGES = {"distal limb": "half limb", "left off": "none"}
PARTS = {
    "cannon": ("metacarpus", "metatarsus"),
    "hock": ("tarsus",),
    "knee": ("carpus",),
    "forearm": ("antebrachium",),
    "coronet": ("coronary_band",),
    "buttock": ("caudal_perineum",),
    "rump": ("croup",),
    "abdomen": ("abdomen",),
    "sole": ("foot.sole",),
    "upper eyelid": ("eyelid.upper",),
    "lower eyelid": ("eyelid.lower",),
    "hoof wall": ("foot.wall",),
    "point of hock": ("tarsus.calcaneus",),
}


def _heard(name: str) -> list[dict[str, Any]]:
    text = Path(__file__).with_name(f"heard_{name}.toml").read_text("utf-8")
    return tomllib.loads(text)["phrase"]


def _place(region: str) -> dict[str, Any]:
    side, _, rest = region.partition(".")
    limb = rest.partition(".")[0]
    return {
        "limb": side[0].upper() + limb[0].upper() if limb in {"fore", "hind"} else None,
        "side": side if side in {"left", "right"} and limb not in {"fore", "hind"} else None,
        "region": region,
    }


def _hours(value: str) -> float | None:
    m = re.fullmatch(r"([\d.]+)(h|min|d)", value)
    return float(m[1]) * HOURS[m[2]] if m else None


def _labelled(name: str, value: Any) -> dict[str, Any]:
    """Give what one field says in the words of the labels."""
    if name in {"length_mm", "width_mm", "depth_mm"}:
        return {name: round(float(value))}
    labels = {
        "region": lambda: {k: v for k, v in _place(value).items() if v},
        "injured": lambda: {"age_h": _hours(value)},
        "kind": lambda: {"kind": KINDS.get(value, value)},
        "phase": lambda: {"kind": value} if value == "granulating" else {},
        "closure": lambda: {"closure": CLOSURES.get(value, {value})},
        "bandage": lambda: {"bandage": BANDAGES.get(value, value)},
        "infection_signs": lambda: {"signs": {SIGNS.get(s, s) for s in value}},
        "exposed": lambda: {"bone": "felt"} if "bone" in value else {},
        "exploration": lambda: {"bone": "not felt"} if "bone" in value.casefold() else {},
    }
    return labels.get(name, dict)()


def _told(note: OneLine) -> dict[str, tuple[Any, bool]]:
    """Give what was read in the words of the labels, each with whether it is a guess."""
    told: dict[str, tuple[Any, bool]] = {}
    for said in note.said:
        for key, value in _labelled(said.field, said.value).items():
            told.setdefault(key, (value, said.guess))
    return told


def _offers(note: OneLine, key: str, want: Any) -> bool:
    """Say whether what a label wants is among what the vet is asked to choose from."""
    offered = [_place(r) for u in note.unsure if u.field == "region" for r in u.options]
    return any(place.get(key) and _agrees(key, place[key], want) for place in offered)


def _agrees(key: str, got: Any, want: Any) -> bool:
    if key == "region":
        names = PARTS.get(want, (want.replace(" ", "_"),))
        return any(name in got for name in names)
    if key == "closure":
        return want in got
    if key == "signs":
        return got <= set(want)
    if key == "age_h":
        return got is None or abs(got - want) < 0.1
    return got == want


def _banned(key: str, value: Any, banned: str) -> bool:
    if not banned:
        return value not in ("none", set())
    if key in {"length_mm", "width_mm", "depth_mm", "age_h"}:
        return value == float(banned)
    if key == "region":
        return any(n in value for n in PARTS.get(banned, (banned,)))
    return banned in value if key in {"closure", "signs"} else value == banned


def _forbidden(key: str, value: Any, must_not: list[str]) -> bool:
    bans = (ban.partition("=") for ban in must_not)
    return any(name == key and _banned(key, value, banned) for name, _, banned in bans)


@pytest.mark.parametrize("name", ["a", "b", "c"])
def test_what_a_stranger_wrote_is_never_filled_in_wrongly_without_a_sign(name: str) -> None:
    wrong, filled, right, said, offered = [], 0, 0, 0, 0
    for phrase in _heard(name):
        note, expect = READER.read(phrase["text"]), phrase["expect"]
        told = _told(note)
        said += sum(key in LABELS for key in expect)
        offered += sum(_offers(note, key, expect[key]) for key in expect.keys() - told.keys())
        for key, (value, guess) in told.items():
            want = expect.get(key)
            fits = want is None or _agrees(key, value, want)
            fits = fits and not _forbidden(key, value, phrase.get("must_not", []))
            filled += 1
            right += fits
            if not fits and not guess:
                wrong.append((phrase["text"], key, value, want))
    assert wrong == []
    assert right / filled >= LEAST_RIGHT[name], (right, filled)
    assert right / said >= LEAST_FILLED[name], (right, said)
    assert (right + offered) / said >= LEAST_REACHED[name], (right, offered, said)
