"""Every kind of flag, raised by what a record holds, answered, gone, and back when it is worse."""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest

from fieldnotes.casework.aftercare import raised_flag
from fieldnotes.casework.judging import wound_file
from fieldnotes.domain.entries import FlagAnswered, Vitals
from fieldnotes.domain.treatment import DeviceKind, Layer
from fieldnotes.domain.wounds import Amount, Phase
from fieldnotes.knowledge.healing import load_healing
from fieldnotes.knowledge.library import Library
from tests.builders import (
    a_bandage,
    a_care,
    a_case,
    a_closure,
    a_device,
    a_finding,
    a_visit,
    a_wound,
    day,
)

LIBRARY = Library()
ADULT_DAYS = 3000
FLAT = {"phase": Phase.GRANULATING, "epithelial_rim": True, "exudate": Amount.NONE}
OCCLUSIVE = a_bandage(changed_by="vet", layers=(Layer("dressing", "occlusive film"),))


def seen(on, area, *, care=(), temperature=37.8, lameness=None, **finding):
    """A visit on a day: an area in cm2 and what else was found."""
    found = a_finding(length_mm=None, width_mm=None, area_cm2=area, **finding)
    vitals = Vitals(temperature_c=temperature)
    return a_visit(on, findings=(found,), care=care, vitals=vitals, lameness=lameness)


def wide(on, length_mm, width_mm):
    return a_visit(on, findings=(a_finding(length_mm=length_mm, width_mm=width_mm),))


def wearing(bandage=None, **more):
    return (a_care(bandage=bandage or a_bandage(changed_by="owner"), **more),)


@dataclass(frozen=True)
class Walk:
    """Visits that raise a flag, the rule, urgency, numbers and source it shows, and a worse one."""

    flag: str
    rule: str
    urgency: str
    numbers: str
    source: str
    visits: tuple
    worse: object = field(default=None)
    """The later visit that brings it back; None: only a day gone by does, `until`."""
    until: int | None = None
    returns_as: str = ""


FALLING = tuple(seen(d, a) for d, a in ((0, 9.0), (12, 9.4)))
WALKS = (
    Walk("stalled", "stalled.window", "next visit", "grew by 1.08 %", "practice default",
         (seen(0, 6.25), seen(14, 9.3), seen(28, 9.4)), seen(35, 9.9)),
    Walk("growing", "growing.step", "next visit", "25 % larger", "Dart",
         (seen(0, 4.0), seen(15, 4.0), seen(22, 5.0)), seen(26, 6.5)),
    Walk("proud_flesh", "proud_flesh.seen", "next visit", "grade 1 of 3", "Malone",
         (seen(12, 4.0, granulation_grade=1),), seen(19, 3.5, granulation_grade=2)),
    Walk("proud_flesh", "proud_flesh.overhanging", "same day", "grade 3", "Malone",
         (seen(12, 4.0, granulation_grade=2), seen(16, 3.9, granulation_grade=3)),
         seen(20, 3.8, granulation_grade=3), returns_as="stays answered"),
    Walk("infection", "infection.open", "same day", "2 signs of infection", "common practice",
         (seen(4, 4.0, infection_signs=("heat", "swelling")),),
         seen(6, 4.0, infection_signs=("heat", "swelling", "bad smell"))),
    Walk("infection", "infection.fever", "same day", "38.7 °C, at or over 38.6", "practice default",
         (seen(4, 4.0, temperature=38.7),), seen(5, 4.0, temperature=39.2),
         returns_as="infection.high_fever"),
    Walk("infection", "infection.sutured_late", "same day", "day 5 with more discharge", "Mansmann",
         (seen(0, 4.0, care=(a_care(closure=a_closure()),)),
          seen(5, 4.0, infection_signs=("more discharge",))),
         seen(7, 4.0, infection_signs=("more discharge", "bad smell"))),
    Walk("lameness", "lameness.severe", "same day", "grade 4 of 5", "synovial structures",
         (seen(1, 4.0, lameness=4),), seen(2, 4.0, lameness=5)),
    Walk("lameness", "lameness.cast", "same day", "grade 2 after 1", "Janicek",
         (seen(0, 4.0, lameness=1, care=(a_care(placed=(a_device(DeviceKind.CAST),)),)),
          seen(8, 4.0, lameness=2, care=(a_care(clipped=True),))),
         seen(9, 4.0, lameness=3)),
    Walk("tract", "tract.drain", "next visit", "radiograph from day 10, at the latest day 28",
         "Moens", (seen(6, 4.0, tract=True),), seen(11, 3.9, tract=True)),
    Walk("sequestrum", "sequestrum.bone", "next visit", "again day 10-15, at the latest day 28",
         "Moens", (seen(0, 4.0, exposed=("periosteum",)),),
         seen(3, 4.0, exposed=("periosteum", "bone"))),
    Walk("dehiscence", "dehiscence.gaping", "same day", "distal third", "practice default",
         (seen(4, 4.0, dehiscence="distal third"),), seen(6, 6.0, dehiscence="distal half")),
    Walk("undermining", "undermining.edge", "next visit", "by 12 mm", "practice default",
         (seen(12, 4.0, undermined_mm=12.0),), seen(16, 3.5, undermined_mm=20.0)),
    Walk("graft", "graft.rim", "next visit", "no rim of new skin on day 30", "practice default",
         (seen(0, 9.0), seen(20, 8.0), seen(30, 6.0, epithelial_rim=False)),
         seen(44, 4.0, epithelial_rim=False)),
    Walk("graft", "graft.wide", "next visit", "6 cm wide", "practice default",
         (wide(6, 90.0, 60.0),), wide(9, 95.0, 70.0)),
    Walk("bandage_long", "bandage_long.flat", "next visit", "bed level, dry", "practice default",
         (seen(0, 9.0, care=wearing()), seen(25, 5.0, **FLAT)), seen(30, 4.0, **FLAT),
         returns_as="stays answered"),
    Walk("bandage_long", "bandage_long.proud", "next visit", "grade 1 under a bandage", "Berry",
         (seen(12, 4.0, care=wearing(), granulation_grade=1),),
         seen(16, 3.8, granulation_grade=2)),
    Walk("bandage_old", "bandage_old.days", "same day", "not changed for 8 days (at most 7)",
         "practice default", (seen(4, 4.0, care=wearing(a_bandage(changed_by="vet"))),), until=13),
    Walk("occlusive", "occlusive.granulating", "next visit", "113 days, gauze 53", "Howard",
         (seen(8, 4.0, care=wearing(OCCLUSIVE)),), seen(12, 3.9), returns_as="stays answered"),
)  # fmt: skip


def judged(bodies, on):
    case = a_case(*bodies, wounds=(a_wound(),))
    return wound_file(case, case.wounds[0], LIBRARY, ADULT_DAYS, day(on))


def last_day(visits):
    return (visits[-1].at.date() - day(0)).days


@pytest.mark.parametrize("walk", WALKS, ids=lambda w: w.rule)
def test_a_flag_is_raised_answered_gone_and_back_when_it_is_worse(walk):
    on = last_day(walk.visits) + (8 if walk.until else 0)
    found = judged(walk.visits, on)
    flag = raised_flag((found,), walk.flag, "A")
    assert (flag.rule, flag.urgency) == (walk.rule, walk.urgency)
    assert walk.numbers in flag.why
    assert walk.source in flag.source
    answer = FlagAnswered(walk.flag, "A", "wait", "we know", flag.level, flag.rule)
    after = judged((*walk.visits, answer), on)
    assert walk.flag not in {f.flag for f in after.flags}
    assert [f.flag for f, _ in after.answered] == [walk.flag]
    later = (walk.worse,) if walk.worse else ()
    again = judged((*walk.visits, answer, *later), walk.until or last_day(later))
    back = {f.flag: f.rule for f in again.flags}
    if walk.returns_as == "stays answered":
        assert walk.flag not in back
    else:
        assert back[walk.flag] == (walk.returns_as or walk.rule)


def test_every_kind_of_flag_there_is_was_walked():
    assert {walk.flag for walk in WALKS} == {rule.flag for rule in load_healing().flag_rules}


def test_a_bandage_the_owner_changes_is_not_counted_as_unchanged():
    visit = seen(4, 4.0, care=wearing())
    assert "bandage_old" not in {f.flag for f in judged((visit,), 20).flags}


def test_signs_of_a_wound_nobody_measured_are_flagged_all_the_same():
    unmeasured = a_finding(length_mm=None, width_mm=None, infection_signs=("heat", "swelling"))
    found = judged((a_visit(4, findings=(unmeasured,), care=wearing()),), 4)
    assert found.course is None
    assert [f.flag for f in found.flags] == ["infection"]
    clean = a_finding(length_mm=None, width_mm=None)
    assert judged((a_visit(30, findings=(clean,), care=wearing()),), 30).flags == ()


def test_a_sign_is_judged_by_the_day_it_was_seen_not_by_the_last_size():
    later = a_finding(length_mm=None, width_mm=None, tract=True)
    found = judged((seen(6, 4.0), a_visit(12, findings=(later,))), 12)
    (flag,) = found.flags
    assert "on day 12" in flag.why
    assert flag.why.endswith("radiograph now")
