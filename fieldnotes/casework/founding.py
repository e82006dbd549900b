"""A practice's beginning: who it is and who signs, checked and put in the register."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.casework.checks import register_problems
from fieldnotes.domain.entries import PersonSet, PracticeSet
from fieldnotes.domain.patients import Practice
from fieldnotes.domain.register import Register

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.casework.desk import Casework
    from fieldnotes.domain.errors import Problem
    from fieldnotes.domain.patients import Person

ASKED = ("name", "phone", "emergency_phone", "email", "address", "base", "units", "zone")
"""The settings asked for at the beginning; all others keep what they start with."""
LIKELY_ZONE = "Europe/London"


def blank(zone: str = "") -> Practice:
    """Give a practice nothing is known of yet."""
    return Practice("", "", zone or LIKELY_ZONE)


@dataclass(frozen=True)
class Founding:
    """What a store begins with."""

    practice: Practice
    people: tuple[Person, ...]

    def problems(self, today: dt.date) -> tuple[Problem, ...]:
        """Give what cannot be right, each under its setting."""
        return tuple(register_problems(PracticeSet(self.practice), Register(), today))

    def save(self, desk: Casework) -> None:
        """Put in the register what is not there yet, the people first: the first of them signs."""
        register = desk.register()
        for person in self.people:
            if register.people.get(person.id) != person:
                desk.save(PersonSet(person))
        if register.practice != self.practice:
            desk.save(PracticeSet(self.practice))


def person_id(number: int) -> str:
    """Name one of the first who sign."""
    return f"vet-{number}"
