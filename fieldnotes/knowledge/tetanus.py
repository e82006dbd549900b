"""Tetanus tables: booster intervals, the primary course and the antitoxin."""

from __future__ import annotations

from dataclasses import dataclass

from fieldnotes.knowledge.source import Table, shipped_table


@dataclass(frozen=True)
class Interval:
    """A published booster rule: toxoid when the last dose is older than `months`."""

    months: int
    label: str
    source: str


@dataclass(frozen=True)
class TetanusTable:
    """Intervals that may be chosen, the course for the unvaccinated, the antitoxin's cover."""

    intervals: tuple[Interval, ...]
    next_dose_days: tuple[int, int]
    course_text: str
    course_source: str
    antitoxin_units: int
    cover_days: tuple[int, int]
    repeat_days: int
    antitoxin_text: str
    antitoxin_source: str


def _whole(pair: tuple[float, float]) -> tuple[int, int]:
    return int(pair[0]), int(pair[1])


def load_tetanus(table: Table | None = None) -> TetanusTable:
    """Read the tetanus tables."""
    read = table or shipped_table("tetanus.toml")
    course, antitoxin = read.rows("course")[0], read.rows("antitoxin")[0]
    return TetanusTable(
        intervals=tuple(
            Interval(int(r.number("months", least=1)), r.text("label"), r.source())
            for r in read.rows("interval")
        ),
        next_dose_days=_whole(course.pair("next_dose_days")),
        course_text=course.text("text"),
        course_source=course.source(),
        antitoxin_units=int(antitoxin.number("units", least=1)),
        cover_days=_whole(antitoxin.pair("cover_days")),
        repeat_days=int(antitoxin.number("repeat_days", least=1)),
        antitoxin_text=antitoxin.text("text"),
        antitoxin_source=antitoxin.source(),
    )
