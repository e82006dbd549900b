"""The day sheet for the truck: stops with phones and tasks, and what to load, to print."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.casework.listing import owner_of
from fieldnotes.domain.text import clean_line

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from fieldnotes.casework.stationery import Stationery
    from fieldnotes.casework.views import Board
    from fieldnotes.domain.patients import Horse, Practice
    from fieldnotes.domain.register import Register
    from fieldnotes.planning.route_day import PlannedStop
    from fieldnotes.planning.stops import DueStop


@dataclass(frozen=True)
class SheetStop:
    """One stop as it is read in the truck: `tasks` by horse, each to tick."""

    number: int
    times: str
    place: str
    where: tuple[str, ...]
    phones: tuple[tuple[str, str], ...]
    horses: tuple[tuple[str, tuple[str, ...]], ...]


def day_sheet(
    board: Board, register: Register, practice: Practice, stationery: Stationery
) -> tuple[str, str]:
    """Give (title, markdown) of a day."""
    known = {s.premises: s for s in board.stops}
    route = board.route
    stops = tuple(
        _stop(number, planned, known[planned.stop], register, board.date)
        for number, planned in enumerate(route.stops, 1)
    )
    left = tuple(
        f"{clean_line(known[stop].name)}: {why}"
        for stop, why in (*route.unreached, *route.skipped)
        if stop in known
    )
    title = f"Day sheet, {board.date:%A} {board.date.day} {board.date:%B %Y}"
    proof = "best possible order" if route.optimal else "best order found"
    markdown = stationery.fill(
        "daysheet.md.j2",
        title=title,
        practice=practice,
        summary=f"Leave {route.start:%H:%M}, back {route.finish:%H:%M}; "
        f"{route.drive_min:.0f} min driving, {proof}. {len(stops)} stops.",
        stops=stops,
        left=left,
        notes=tuple(route.notes),
        load=board.load,
        costs={item: f"{c.amount:,.2f} {c.currency}" for item, c in board.costs.items()},
    )
    return title, markdown


def _stop(
    number: int, planned: PlannedStop, due: DueStop, register: Register, day: dt.date
) -> SheetStop:
    place = register.premises.get(due.premises)
    horses: dict[str, list[str]] = {}
    for task in due.tasks:
        wounds = f" ({', '.join(task.wounds)})" if task.wounds else ""
        ref = f", case {task.case}" if task.case else ""
        horses.setdefault(task.horse, []).append(f"{clean_line(task.what)}{wounds}{ref}")
    animals = [register.horses[h] for h in horses if h in register.horses]
    wait = f", wait {planned.wait_min:.0f}" if planned.wait_min >= 1 else ""
    where = (place.address, place.access) if place else ()
    return SheetStop(
        number=number,
        times=f"{planned.arrive:%H:%M} to {planned.leave:%H:%M} "
        f"({planned.drive_min:.0f} min drive{wait})",
        place=clean_line(due.name),
        where=tuple(clean_line(text) for text in where if text),
        phones=tuple(dict.fromkeys(_phones(animals, register, day))),
        horses=tuple((_animal(key, register), tuple(tasks)) for key, tasks in horses.items()),
    )


def _phones(animals: list[Horse], register: Register, day: dt.date) -> Iterator[tuple[str, str]]:
    for horse in animals:
        owner = owner_of(horse, register, day)
        if owner is not None:
            yield clean_line(owner.name), owner.phone


def _animal(key: str, register: Register) -> str:
    """Give a horse's name, with what to know before touching or dosing it."""
    horse = register.horses.get(key)
    if horse is None:
        return key or "Call"
    allergies = f"; allergic to {', '.join(horse.allergies)}" if horse.allergies else ""
    return clean_line(f"{horse.name}{allergies}")
