"""The checks that flag rules name: each gives its grounds, or None if the rule does not hold."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.clinical.course import reduction_percent
from fieldnotes.clinical.signs import Evidence, Grounds, grounds
from fieldnotes.clinical.stalls import no_fall, small_fall, stalled
from fieldnotes.domain.wounds import Amount

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import TypeAlias

    from fieldnotes.knowledge.healing import FlagRule

    Test: TypeAlias = Callable[[FlagRule, Evidence], Grounds | None]


def _small_fall(rule: FlagRule, seen: Evidence) -> Grounds | None:
    percent = small_fall(seen.course.points, seen.course.retraction_until, rule)
    if percent is None:
        return None
    change = f"fell by only {percent:.3g} %" if percent >= 0 else f"grew by {-percent:.3g} %"
    return grounds(-percent, change=change)


def _no_fall(rule: FlagRule, seen: Evidence) -> Grounds | None:
    percent = no_fall(seen.course.points, seen.course.retraction_until, rule)
    return None if percent is None else grounds(-percent)


def _overgrown(rule: FlagRule, seen: Evidence) -> Grounds | None:
    course = seen.course
    first = course.points[0].area_cm2
    factor = seen.tables.retraction(course.site.group).growth_factor
    if first == 0 or course.last.area_cm2 <= first * factor * rule.number("slack_factor"):
        return None
    times = course.last.area_cm2 / first
    return grounds(100 * (times - 1), times=times, factor=factor, place=course.site.name)


def _rise(rule: FlagRule, seen: Evidence) -> Grounds | None:
    course, visits = seen.course, int(rule.number("visits"))
    if len(course.points) <= visits:
        return None
    base, *later = course.points[-visits - 1 :]
    late = [p for p in later if p.day > course.retraction_until]
    advances = [p.advance_mm for p in late if p.advance_mm is not None and p.advance_mm < 0]
    fall = reduction_percent(base.area_cm2, course.last.area_cm2)
    if len(advances) < visits or fall is None or -fall < rule.number("least_percent"):
        return None
    if -sum(advances) < rule.number("least_mm"):
        return None
    return grounds(-fall, percent=-fall, place=course.site.name)


def _grade(rule: FlagRule, seen: Evidence) -> Grounds | None:
    grade = seen.signs.granulation_grade
    return grounds(grade, grade=grade) if grade >= rule.number("least_grade") else None


def _prone_and_stuck(_rule: FlagRule, seen: Evidence) -> Grounds | None:
    course = seen.course
    if not course.site.proud_flesh or course.last.day <= course.retraction_until:
        return None
    if not stalled(course.points, course.retraction_until, seen.tables):
        return None
    return grounds(0.5, bandaged=" under a bandage" if course.site.bandaged else "")


def _temperature(rule: FlagRule, seen: Evidence) -> Grounds | None:
    limit = rule.number("foal_c" if seen.signs.foal else "adult_c")
    temperature = seen.signs.temperature_c
    if temperature is None or temperature < limit:
        return None
    return grounds(temperature, temperature=temperature, limit=limit)


def _signs(rule: FlagRule, seen: Evidence) -> Grounds | None:
    found = tuple(sign for sign in seen.signs.infection if sign in rule.words)
    if rule.number("sutured") and not seen.signs.sutured:
        return None
    if seen.day < rule.number("from_day") or len(found) < rule.number("least"):
        return None
    return grounds(len(found), count=len(found), signs=", ".join(found))


def _lame(rule: FlagRule, seen: Evidence) -> Grounds | None:
    grade = seen.signs.lameness
    return (
        None if grade is None or grade < rule.number("least_grade") else grounds(grade, grade=grade)
    )


def _lamer_in_cast(rule: FlagRule, seen: Evidence) -> Grounds | None:
    grade, before = seen.signs.lameness, seen.signs.lameness_before
    if not seen.signs.in_cast or grade is None or before is None:
        return None
    return (
        grounds(grade, grade=grade, before=before)
        if grade - before >= rule.number("least_rise")
        else None
    )


def _tract(rule: FlagRule, seen: Evidence) -> Grounds | None:
    if not seen.signs.tract:
        return None
    day, first = seen.day, rule.number("from_day")
    when = (
        "now"
        if day >= first
        else f"from day {first:g}, at the latest day {rule.number('last_day'):g}"
    )
    # Worse when the day of the first radiograph has come, and when the last reminder's has.
    return grounds(sum(day >= rule.number(n) for n in ("from_day", "last_day")), when=when)


def _bone(rule: FlagRule, seen: Evidence) -> Grounds | None:
    exposed = tuple(what for what in seen.signs.exposed if what in rule.words)
    return grounds(len(exposed), exposed=" and ".join(exposed)) if exposed else None


def _dehiscence(_rule: FlagRule, seen: Evidence) -> Grounds | None:
    told = seen.signs.dehiscence
    return grounds(max(seen.signs.breakdowns, 1), detail=told) if told else None


def _undermined(rule: FlagRule, seen: Evidence) -> Grounds | None:
    depth = seen.signs.undermined_mm
    return None if depth is None or depth < rule.number("least_mm") else grounds(depth, mm=depth)


def _no_rim(rule: FlagRule, seen: Evidence) -> Grounds | None:
    late = seen.day - rule.number("from_day")
    if late < 0 or seen.signs.epithelial_rim is not False:
        return None
    return grounds(late // rule.number("again_days"))


def _wide(rule: FlagRule, seen: Evidence) -> Grounds | None:
    course, width = seen.course, seen.course.last.size.width_cm
    if width is None or course.site.group not in rule.words:
        return None
    # Which of the two diameters was called length is the vet's choice; the narrow one counts.
    narrow = min(width, course.last.size.length_cm or width)
    if narrow <= rule.number("least_cm") or course.last.day < rule.number("from_day"):
        return None
    return grounds(narrow, width=narrow, place=course.site.name)


def _proud_under_bandage(rule: FlagRule, seen: Evidence) -> Grounds | None:
    return _grade(rule, seen) if seen.course.site.bandaged else None


def _flat_and_dry(_rule: FlagRule, seen: Evidence) -> Grounds | None:
    signs, site = seen.signs, seen.course.site
    level = signs.granulation_grade == 0 and not signs.exposed and signs.epithelial_rim is True
    if site.bandaged and site.group != "foot" and level and signs.exudate is Amount.NONE:
        return grounds(1)
    return None


def _small_under_bandage(rule: FlagRule, seen: Evidence) -> Grounds | None:
    course, area = seen.course, seen.course.last.area_cm2
    if not course.site.bandaged or course.site.group == "foot" or seen.signs.exposed:
        return None
    if course.last.day < rule.number("from_day") or not 0 < area <= rule.number("most_cm2"):
        return None
    return grounds(1, area=area, day=f"{course.last.day:g}")


def _unchanged(rule: FlagRule, seen: Evidence) -> Grounds | None:
    days = seen.signs.days_unchanged
    if days is None or seen.signs.in_cast or days <= rule.number("most_days"):
        return None
    return grounds(days, days=days)


def _occlusive(_rule: FlagRule, seen: Evidence) -> Grounds | None:
    granulating = seen.day >= seen.tables.granulation_from_day
    return grounds(1) if seen.signs.dressing_occlusive and granulating else None


TESTS: dict[str, Test] = {
    "small_fall": _small_fall,
    "no_fall": _no_fall,
    "overgrown": _overgrown,
    "rise": _rise,
    "grade": _grade,
    "prone_and_stuck": _prone_and_stuck,
    "temperature": _temperature,
    "signs": _signs,
    "lame": _lame,
    "lamer_in_cast": _lamer_in_cast,
    "tract": _tract,
    "bone": _bone,
    "dehiscence": _dehiscence,
    "undermined": _undermined,
    "no_rim": _no_rim,
    "wide": _wide,
    "proud_under_bandage": _proud_under_bandage,
    "flat_and_dry": _flat_and_dry,
    "small_under_bandage": _small_under_bandage,
    "unchanged": _unchanged,
    "occlusive": _occlusive,
}
