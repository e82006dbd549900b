"""The figures of a one-line note: size, age, vital signs, lameness, weight, intervals."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.body_weight import read_weight

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.knowledge.limits import Limits

N = r"(\d+(?:[.,]\d+)?)"
_U = r"\s*(mm|cm|inch(?:es)?|in\b|\")?"
_COUNTS = ("half", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_COUNTED = re.compile(  # "two cm", "three by two inches", "half an hour", "a week old"; not one leg
    rf"\b({'|'.join(_COUNTS)})\b(?:\s+an?\b)?(?=\s*(?:[cm]m|inch(?:es)?|(?:hour|hr|day|week)s?)\b"
    rf"|\s+by\s+(?:\d|{'|'.join(_COUNTS)}))"
    r"|\b(an?)\b(?=\s+(?:hour|day|week)\s+(?:old|ago)\b)"
)
_MARKS = str.maketrans("\u2033\u201c\u201d", '"""')  # what a keyboard makes of the inch sign
_BY = r"\s*(?:x|\u00d7|\*|by)\s*"
_LIMB = r"(lf|rf|lh|rh|(?:left|right|near|off)\s+(?:fore|hind))"
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, '"': 25.4}
_NAMED = {"long": "length_mm", "wide": "width_mm", "deep": "depth_mm"}
_LIMBS = {"lf": "left fore", "rf": "right fore", "lh": "left hind", "rh": "right hind"}

SIDES = re.compile(rf"(?<![\w/.*\u00d7]){N}{_U}{_BY}{N}{_U}(?:{_BY}{N}{_U})?(?!{_BY}\d|[\d/])")
_PLACE_AFTER = re.compile(r"\s+[a-z]")  # "3 x 2 in left fore": inches, or where?
AREA = re.compile(rf"{N}\s*(?:cm2|cm\u00b2|sq\.?\s*cm)")
ALONG = re.compile(
    rf"(?<![\w/.]){N}\s*(mm|cm|inch(?:es)?|in|\")?\s*(long|wide|deep)\b"
    r"(?!\s+\d+(?:[.,]\d+)?\s*(?:$|[,;.]))"  # "4 cm deep 3": which is the depth?
)
ALONE = re.compile(
    rf"(?<![\w/.])(?<!within\s){N}\s*((?:mm|cm|inch(?:es)?)\b|\")"
    r"(?!\s*(?:from|above|below|away|of\b|proximal|distal|off|thick|gauze|wrap|roll|deep|wide|[x\u00d7*]))"
)
AGO = re.compile(
    rf"(?<!every\s)(?<!for\s)(?<!next\s)(?<!in\s)(?<![\w/.]){N}\s*"
    r"(?:(h|hrs?|hours?)\b(?!\s*[:=]?\s*\d)(\s*(?:old|ago))?|(min(?:ute)?s?)\s*(?:old|ago)\b|"
    r"(d|days?|wks?|weeks?)\s*(?:old|ago)\b)"
)
MINUTES_ALONE = re.compile(r"(?:^|[,;.])\s*(\d+)\s*min(?:ute)?s?\s*(?=$|[,;.])")
DAYS_ALONE = re.compile(
    r"(?:^|[,;.(]|(?<=[cm]m\s))\s*~?\s*(\d+)\s*(d|days?|wks?|weeks?)\s*(?=$|[,;)]|\.(?!\d))"
)
DAY = re.compile(r"(?<![/+-])\b(?:day|d)\s?(\d{1,2})\s*(?=$|[,;)]|\.(?!\d))")  # "wound d10, clean"
COURSE = re.compile(r"\b(?:bid|sid|tid|q\d+h|daily|owner|recheck|dispensed?|rest)\b")
DEPTH = re.compile(
    rf"\b(?:depth\s*[:=]?|prob\s+to|prob(?:es?|ed)(?:\s+to)?)\s*{N}\s*((?:mm|cm|inch(?:es)?)\b|\")"
)
CLOCK = re.compile(r"\b(?:injured|found|happened|since|at)\s+(?:at\s+)?(\d{1,2}[:.]\d{2})\b")
YESTERDAY = re.compile(r"\byesterday\b")
TEMPERATURE = re.compile(
    r"\bt(?:emp(?:erature)?)?\s*[:=]?\s*(\d{2,3}(?:[.,]\d+)?)\s*\u00b0?\s*([cf])?\b"
    r"|\b(\d{2,3}[.,]\d)\s*\u00b0?\s*([cf])\b"
)
HEART = re.compile(r"\b(?:hr|pulse|heart\s+rate)\s*[:=]?\s*(\d{2,3})\b")
BREATHS = re.compile(r"\b(?:rr|resps?|resp\s+rate|breathing|respirations?)\s*[:=]?\s*(\d{1,3})\b")
REFILL = re.compile(r"\bcrt\s*[:=]?\s*(\d(?:[.,]\d)?)\s*s?\b")
WEIGHT = re.compile(  # "2 ml per 45 kg" is a dose, no weight
    r"(?:\b(?:weight|wt|weighs)\s*[:=]?\s*)?(?<!/)(?<!/\s)(?<!per\s)(?<!every\s)"
    r"\b(\d{2,4}(?:[.,]\d)?\s*(?:kgs?|lbs?|pounds))\b"
)
LAME = re.compile(
    rf"\blame(?:ness)?\s*(?:grade\s*)?([0-5])\s*(?:/\s*5)?(?!\s*/?\s*\d)(?:\s+{_LIMB}\b)?"
    rf"|\b([0-5])\s*/\s*5\s*lame(?:ness)?(?:\s+{_LIMB}\b)?"
    rf"|\b(?:non|not)[\s-]+weight[\s-]+bearing(?:\s+{_LIMB}\b)?|\bnwb(?:\s+{_LIMB}\b)?"
)
EVERY = re.compile(
    r"\bevery\s+(\d{1,2})\s*d(?:ays?)?\b|\bq\s?(\d{1,2})\s?d\b|\bevery\s+other\s+day\b"
)
PROUD = re.compile(
    r"\b(?:gran(?:ulation)?(?:\s+tissue)?|proud\s+flesh)\s*(?:grade|level|gr)?\s*[:=]?\s*([0-3])\b"
)
REST = re.compile(r"\b(?:box|stall|stable)\s+rest(?:\s+(?:for\s+)?\d+\s*(?:days?|weeks?|d\b))?")


@dataclass(frozen=True)
class Figure:
    """A figure found: field, value as a form takes it, and the stretch of text it came from."""

    field: str
    value: str | float
    start: int
    end: int
    guess: bool = False


def _float(text: str) -> float:
    return float(text.replace(",", "."))


def _mm(text: str, unit: str | None) -> float:
    short = (unit or "cm")[:2]
    return round(_float(text) * _MM[short if short in _MM else '"'], 2)


def in_digits(low: str) -> str:
    """Give a note in small letters, its counts in figures; every letter stays where it was."""

    def figure(m: re.Match[str]) -> str:
        count = _COUNTS.index(m[1]) if m[1] else 1
        return f"{count or 0.5}".ljust(len(m[0]))

    return _COUNTED.sub(figure, low.translate(_MARKS))


def sizes(low: str) -> Iterator[Figure]:
    """Give each size typed as sides (mm, two or three), an area (cm2) or a side by itself."""
    covered: list[tuple[int, int]] = []
    for m in SIDES.finditer(low):
        last = m[6] or m[4] or m[2]
        sides = [(m[1], m[2] or last), (m[3], m[4] or last), (m[5], last)]
        names = ("length_mm", "width_mm", "depth_mm")
        where = last == "in" and _PLACE_AFTER.match(low, m.end()) is not None
        for name, (text, unit) in zip(names, sides, strict=True):
            if text:
                yield Figure(name, _mm(text, unit), *m.span(), guess=where)
        covered.append(m.span())
    for m in AREA.finditer(low):
        yield Figure("area_cm2", _float(m[1]), *m.span())
        covered.append(m.span())
    named = _sides_named(low)
    yield from named
    said = {side.field for side in named}
    if not covered and "length_mm" not in said:
        taken = [(side.start, side.end) for side in named]
        alone = [m for m in ALONE.finditer(low) if not any(a <= m.start() < b for a, b in taken)]
        for m in alone if not said or len(alone) == 1 else ():
            yield Figure("length_mm", _mm(m[1], m[2]), *m.span(), guess=True)


def _sides_named(low: str) -> list[Figure]:
    """Give each side said by its name: 'depth 5 mm', '4 cm long and 2 wide' (one unit for both)."""
    found = [Figure("depth_mm", _mm(m[1], m[2]), *m.span()) for m in DEPTH.finditer(low)]
    unit = None
    for m in ALONG.finditer(low):
        unit = m[2] or unit
        if unit:
            found.append(Figure(_NAMED[m[3]], _mm(m[1], unit), *m.span()))
    return found


def _ages(low: str) -> Iterator[Figure]:
    for m in AGO.finditer(low):
        count = _float(m[1])
        if m[2]:
            whole = count == int(count)
            value = f"{count:g}h" if whole else f"{count * 60:.0f}min"
            yield Figure("injured", value, *m.span(), guess=not m[3])
        elif m[4]:
            yield Figure("injured", f"{count:g}min", *m.span())
        else:
            days = count * (7 if m[5].startswith("w") else 1)
            yield Figure("injured", f"{days:g}d", *m.span())
    for m in MINUTES_ALONE.finditer(low):
        yield Figure("injured", f"{m[1]}min", *m.span(), guess=True)
    for m in () if COURSE.search(low) else DAYS_ALONE.finditer(low):
        days = int(m[1]) * (7 if m[2].startswith("w") else 1)
        yield Figure("injured", f"{days}d", *m.span(), guess=True)
    for m in () if COURSE.search(low) else DAY.finditer(low):
        yield Figure("injured", f"{int(m[1])}d", *m.span(), guess=True)
    for m in CLOCK.finditer(low):
        yield Figure("injured", m[1].replace(".", ":"), *m.span())
    for m in YESTERDAY.finditer(low):
        yield Figure("injured", "yesterday", *m.span(), guess=True)


def _vitals(low: str) -> Iterator[Figure]:
    for m in TEMPERATURE.finditer(low):
        degrees, unit = _float(m[1] or m[3]), m[2] or m[4]
        if unit == "f" or degrees > 60:
            degrees = round((degrees - 32) / 1.8, 1)
        yield Figure("temperature_c", degrees, *m.span())
    for m in WEIGHT.finditer(low):
        yield Figure("weight_kg", read_weight(m[1]), *m.span())
    for pattern, name in (
        (HEART, "heart_per_min"), (BREATHS, "breaths_per_min"), (REFILL, "crt_s"),
    ):  # fmt: skip
        for m in pattern.finditer(low):
            yield Figure(name, _float(m[1]), *m.span())


def _lameness(low: str) -> Iterator[Figure]:
    for m in LAME.finditer(low):
        yield Figure("lameness", m[1] or m[3] or "5", *m.span())
        limb = m[2] or m[4] or m[5] or m[6]
        if limb:
            words = limb.replace("near", "left").replace("off", "right").split()
            yield Figure("lame_limb", _LIMBS.get(limb, " ".join(words)), *m.span())


def figures(low: str) -> Iterator[Figure]:
    """Give every figure of a note in small letters."""
    yield from _ages(low)
    yield from _vitals(low)
    yield from _lameness(low)
    for m in PROUD.finditer(low):
        yield Figure("granulation_grade", float(m[1]), *m.span())
    for m in EVERY.finditer(low):
        clause = (
            re.split(r"[,;.](?!\d)", low[: m.start()])[-1]
            + low[m.start() :].split(",", maxsplit=1)[0]
        )
        if re.search(r"chang|bandage|dressing", clause) and "recheck" not in clause:
            yield Figure("change_every_days", float(m[1] or m[2] or 2), *m.span())
    for m in REST.finditer(low):
        yield Figure("housing", m[0], *m.span())


def impossible(found: dict[str, float], limits: Limits) -> bool:
    """Say whether a side of a wound cannot be right."""
    return any(limits[name].fault(mm) for name, mm in found.items() if name in limits)
