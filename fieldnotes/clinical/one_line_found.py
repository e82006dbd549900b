"""What a note in one line was read as."""

from __future__ import annotations

from dataclasses import dataclass, field

MANY = ("exposed", "infection_signs", "placed", "removed")


@dataclass(frozen=True)
class Given:
    """A drug said to be given; amount, unit and route as said, empty where they were not."""

    drug: str
    words: str
    amount: float | None = None
    unit: str = ""
    route: str = ""


@dataclass(frozen=True)
class Said:
    """One field as read, with the words it was read from; `guess` if they may mean another."""

    field: str
    value: str | float | tuple[str, ...]
    words: str
    guess: bool = False


@dataclass(frozen=True)
class Unsure:
    """A field the note speaks of without saying which: nothing is filled in."""

    field: str
    options: tuple[str, ...]
    words: str


@dataclass(frozen=True)
class OneLine:
    """A note as read: fields, drugs, what is left to choose, and the words kept as text."""

    said: tuple[Said, ...] = ()
    given: tuple[Given, ...] = ()
    unsure: tuple[Unsure, ...] = ()
    rest: tuple[str, ...] = ()

    def value(self, name: str) -> str | float | tuple[str, ...] | None:
        """Give what was read for a field; None if nothing was."""
        return next((s.value for s in self.said if s.field == name), None)


@dataclass
class Found:
    """What is read so far: for each field its values with their words."""

    values: dict[str, list[Said]] = field(default_factory=dict)

    def put(self, name: str, value: str | float, words: str, *, guess: bool = False) -> None:
        """Put down a value of a field with its words; the same value again adds nothing."""
        said = Said(name, value, words, guess)
        if all(s.value != value for s in self.values.setdefault(name, [])):
            self.values[name].append(said)
