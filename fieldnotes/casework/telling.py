"""What owners are told about today's arrival, and what of it is kept as a promise."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.casework.listing import owner_of
from fieldnotes.domain.driving import Promise
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.knowledge.language import load_language
from fieldnotes.rendering.owner_text import Expected, owner_text

if TYPE_CHECKING:
    from fieldnotes.casework.live_day import LiveDay
    from fieldnotes.casework.rounds import Roadbook
    from fieldnotes.planning.stops import DueStop


@dataclass(frozen=True)
class OwnerText:
    """One owner's text about one stop; `told` is what they were told before.

    `case` is one of their own that is seen there, under which a mail is kept; empty if none is.
    """

    promise: Promise
    name: str
    phone: str
    text: str
    told: Promise | None
    case: str = ""

    @property
    def file_name(self) -> str:
        """What a file with the text is called; nobody else's text has the same name."""
        return f"arrival-{self.promise.id.replace('/', '-')}.txt"

    @property
    def moved(self) -> bool:
        """Whether the stop now comes outside what the owner was told."""
        if self.told is None:
            return False
        late = self.promise.closes > self.told.closes + dt.timedelta(minutes=15)
        return late or self.promise.opens < self.told.opens - dt.timedelta(minutes=15)


def owner_texts(live: LiveDay, book: Roadbook, stop: str) -> tuple[OwnerText, ...]:
    """Give one text for each owner with a horse to be seen at a stop still on the route."""
    due = next((s for s in live.open if s.premises == stop), None)
    window = live.window(stop)
    if due is None or window is None:
        raise RefusedInputError("stop", "it is not on the route from here, so it has no time")
    told = {p.owner: p for p in live.promises if p.premises == stop}
    found = []
    for owner, (horses, cases) in _by_owner(due, book, live.date).items():
        promise = Promise(f"{live.date}/{stop}/{owner}", live.date, stop, owner, *window)
        person = book.register.owners.get(owner)
        practice, tongue = book.practice, person.language if person else ""
        words = Expected(practice.name, practice.phone, due.name, horses, *window)
        found.append(
            OwnerText(
                promise=promise,
                name=person.name if person else "owner not known",
                phone=person.phone if person else "",
                text=owner_text(words, load_language(tongue or practice.language)),
                told=told.get(owner),
                case=next(iter(cases), ""),
            )
        )
    return tuple(found)


def _by_owner(
    due: DueStop, book: Roadbook, day: dt.date
) -> dict[str, tuple[tuple[str, ...], tuple[str, ...]]]:
    """Give (horses, cases) to be seen at a stop by owner, so that none reads of another's."""
    horses: dict[str, list[str]] = {}
    cases: dict[str, list[str]] = {}
    for key in dict.fromkeys(task.horse for task in due.tasks):
        horse = book.register.horses.get(key)
        owner = owner_of(horse, book.register, day) if horse else None
        who = owner.id if owner else ""
        horses.setdefault(who, []).append(horse.name if horse else "a horse")
        cases.setdefault(who, []).extend(t.case for t in due.tasks if t.horse == key and t.case)
    return {who: (tuple(names), tuple(cases[who])) for who, names in horses.items()}
