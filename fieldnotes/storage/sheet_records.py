"""Turns the rows of a table into owners, premises or horses, or says why that cannot be."""

from __future__ import annotations

import datetime as dt
import math
import re
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, TypeVar

from fieldnotes.domain.body_weight import METRIC, US, read_weight
from fieldnotes.domain.entries import HorseSet, OwnerSet, PremisesSet
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.patients import (
    FoodChain,
    Horse,
    Owner,
    Party,
    PartyRole,
    Position,
    Premises,
    Sex,
    Species,
    Weight,
    WeightMethod,
)
from fieldnotes.domain.text import clean_line
from fieldnotes.knowledge.limits import load_limits
from fieldnotes.storage.import_checks import with_bodies
from fieldnotes.storage.import_shapes import nearest
from fieldnotes.storage.sheet_mapping import CONSTANT

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from fieldnotes.domain.register import Register
    from fieldnotes.storage.sheets import Sheet, SheetRow

E = TypeVar("E", bound=StrEnum)
RegisterRow = OwnerSet | PremisesSet | HorseSet
_EMAIL = re.compile(r"[^@\s]+@[^@\s]+\.[^@\s]+")
_POUNDS = re.compile(r"\b(?:lbs?|pounds)\b", re.IGNORECASE)
_UNFIT = re.compile(r"[^a-z0-9]+")
_PARTS = re.compile(r"[;,]")
_YES, _NO = ("yes", "y", "true", "1", "x"), ("", "no", "n", "false", "0")


@dataclass(frozen=True)
class SheetRead:
    """What a table gave: records, what is wrong by line, and rows that are known already."""

    name: str
    table: str
    mapping: Mapping[str, str]
    bodies: tuple[RegisterRow, ...] = ()
    problems: tuple[str, ...] = ()
    known: tuple[str, ...] = ()


class _FaultError(ValueError):
    """A cell that cannot be read: which field, and why."""

    def __init__(self, at: str, reason: str) -> None:
        super().__init__(reason)
        self.at = at


@dataclass
class _Row:
    """One row's cells by field, with what is known so far."""

    row: SheetRow
    mapping: Mapping[str, str]
    register: Register
    today: dt.date

    def text(self, name: str) -> str:
        """Give a field's cell, cleaned; empty where it has no column."""
        heading = self.mapping.get(name, "")
        if heading.startswith(CONSTANT):
            return clean_line(heading.removeprefix(CONSTANT))
        return clean_line(self.row.cells.get(heading, ""))

    def needed(self, name: str) -> str:
        """Give a cell that must not be empty."""
        if not self.text(name):
            raise _FaultError(name, "is empty")
        return self.text(name)

    def number(self, name: str, most: float, least: float) -> float | None:
        """Give a number within bounds, None for an empty cell."""
        text = self.text(name).replace(",", ".")
        if not text:
            return None
        try:
            value = float(text)
        except ValueError:
            raise _FaultError(name, f"{text!r} is not a number") from None
        if not math.isfinite(value) or not least <= value <= most:
            raise _FaultError(name, f"{text} is not within {least:g} to {most:g}")
        return value

    def weight(self, name: str, most: float, least: float) -> float | None:
        """Give a weight in kilograms; pounds where cell or heading say so."""
        text, heading = self.text(name), self.mapping.get(name, "")
        if not text:
            return None
        try:
            kg = read_weight(text, US if _POUNDS.search(heading) else METRIC)
        except RefusedInputError as error:
            raise _FaultError(name, error.reason) from None
        if not least <= kg <= most:
            raise _FaultError(name, f"{kg:g} kg is not within {least:g} to {most:g}")
        return kg

    def date(self, name: str, *, coming: bool = False) -> dt.date | None:
        """Give an ISO date, one that is not to come unless it may be; None for an empty cell."""
        text = self.text(name)
        if not text:
            return None
        try:
            found = dt.date.fromisoformat(text)
        except ValueError:
            raise _FaultError(name, f"{text!r} is not a date like 2019-04-30") from None
        if found > self.today and not coming:
            raise _FaultError(name, f"{text} is in the future")
        return found

    def yes(self, name: str) -> bool:
        """Give whether a cell says yes; an empty one says no."""
        text = self.text(name).casefold()
        if text not in {*_YES, *_NO}:
            raise _FaultError(name, f"{text!r} is neither yes nor no")
        return text in _YES

    def listed(self, name: str) -> tuple[str, ...]:
        """Give the parts of a cell, divided by ; or a comma."""
        parts = (part.strip() for part in _PARTS.split(self.text(name)))
        return tuple(part for part in parts if part)

    def one_of(self, name: str, kind: type[E], default: E | None) -> E:
        """Give one of the known words."""
        text = self.text(name).casefold()
        if not text and default is not None:
            return default
        try:
            return kind(text)
        except ValueError:
            known = tuple(k.value for k in kind)
            raise _FaultError(name, f"{text!r} is none of {', '.join(known)}") from None

    def of_register(self, name: str, known: Mapping[str, Owner] | Mapping[str, Premises]) -> str:
        """Give the id of someone or some place named, by name or id."""
        text = self.text(name)
        if not text or text in known:
            return text
        ids = [i for i, found in known.items() if found.name.casefold() == text.casefold()]
        if len(ids) == 1:
            return ids[0]
        if ids:
            raise _FaultError(name, f"{text!r} fits {', '.join(ids)}; give the id")
        names = tuple(found.name for found in known.values())
        raise _FaultError(name, f"nobody and nothing is called {text!r}; {nearest(text, names)}")


def _owner(row: _Row, new_id: str) -> OwnerSet:
    email = row.text("email")
    if email and not _EMAIL.fullmatch(email):
        raise _FaultError("email", f"{email!r} is not an email address")
    return OwnerSet(
        Owner(
            new_id,
            row.needed("name"),
            phone=row.text("phone"),
            email=email,
            address=row.text("address"),
            note=row.text("note"),
        )
    )


def _premises(row: _Row, new_id: str) -> PremisesSet:
    lat, lon = row.number("lat", 90, -90), row.number("lon", 180, -180)
    if (lat is None) != (lon is None):
        raise _FaultError("lat" if lat is None else "lon", "is empty, and the other is not")
    position = Position(lat, lon) if lat is not None and lon is not None else None
    return PremisesSet(
        Premises(
            new_id,
            row.needed("name"),
            address=row.text("address"),
            position=position,
            access=row.text("access"),
        )
    )


def _horse(row: _Row, new_id: str) -> HorseSet:
    owner = row.of_register("owner", row.register.owners)
    row.needed("premises")
    limit = load_limits()["kg"]
    kg = row.weight("weight_kg", limit.most, limit.least)
    return HorseSet(
        Horse(
            new_id,
            row.needed("name"),
            row.one_of("species", Species, None),
            row.of_register("premises", row.register.premises),
            parties=(Party(PartyRole.OWNER, owner),) if owner else (),
            sex=row.one_of("sex", Sex, Sex.UNKNOWN),
            born=row.date("born"),
            breed=row.text("breed"),
            colour=row.text("colour"),
            markings=row.text("markings"),
            microchip=row.text("microchip"),
            document=row.text("document"),
            weights=(Weight(kg, WeightMethod.OWNER, row.today),) if kg is not None else (),
            food_chain=row.one_of("food_chain", FoodChain, FoodChain.UNKNOWN),
            competes=row.yes("competes"),
            governing_body=row.text("governing_body"),
            allergies=row.listed("allergies"),
            foaling_due=row.date("foaling_due", coming=True),
            lactating=row.yes("lactating"),
            note=row.text("note"),
        )
    )


_MAKERS: dict[str, Callable[[_Row, str], RegisterRow]] = {
    "owners": _owner,
    "premises": _premises,
    "horses": _horse,
}


def _new_id(name: str, taken: Iterable[str]) -> str:
    base = _UNFIT.sub("-", name.casefold()).strip("-")[:40] or "row"
    found, number = base, 1
    while found in taken:
        number += 1
        found = f"{base}-{number}"
    return found


def _same(table: str, row: _Row) -> tuple[str, ...]:
    """Give what makes two rows of a table the same one."""
    if table == "horses":
        return (row.text("name").casefold(), row.text("owner").casefold())
    return (row.text("name").casefold(),)


def _known(table: str, register: Register, today: dt.date) -> dict[tuple[str, ...], str]:
    if table == "horses":
        owners = register.owners
        pairs: dict[tuple[str, ...], str] = {}
        for horse in register.horses.values():
            party = horse.party(PartyRole.OWNER, today) or ""
            name = owners[party].name if party in owners else ""
            pairs[horse.name.casefold(), name.casefold()] = horse.id
        return pairs
    found = register.owners if table == "owners" else register.premises
    return {(record.name.casefold(),): id_ for id_, record in found.items()}


def read_rows(
    sheet: Sheet, table: str, mapping: Mapping[str, str], register: Register, today: dt.date
) -> SheetRead:
    """Read every row of a table; nothing is left out silently.

    `register` is what is known before; a row that is in it already, or stands twice, is named.
    """
    ids = {"owners": register.owners, "premises": register.premises, "horses": register.horses}
    taken = set(ids[table])
    known, lines = _known(table, register, today), dict[tuple[str, ...], int]()
    bodies: list[RegisterRow] = []
    problems: list[str] = []
    there: list[str] = []
    for cells in sheet.rows:
        row = _Row(cells, mapping, register, today)
        place = f"{sheet.name}, line {cells.line}"
        same = _same(table, row)
        if same in known:
            there.append(f"{place}: {row.text('name')} is known already ({known[same]})")
            continue
        if same in lines:
            problems.append(f"{place}: {row.text('name')} stands on line {lines[same]} already")
            continue
        lines[same] = cells.line
        new_id = _new_id(row.text("name"), taken)
        try:
            bodies.append(_MAKERS[table](row, new_id))
            taken.add(new_id)
        except _FaultError as fault:
            heading = mapping.get(fault.at, fault.at)
            problems.append(f"{place}, column {heading}: {fault}")
    return SheetRead(sheet.name, table, mapping, tuple(bodies), tuple(problems), tuple(there))


def grown(register: Register, read: SheetRead) -> Register:
    """Give the register as it stands once a table is in it."""
    return with_bodies(register, read.bodies)


def refuse_faults(reads: Iterable[SheetRead], *, skip_known: bool) -> None:
    """Refuse tables with anything wrong; RefusedInputError lists every place and reason."""
    found = tuple(reads)
    faults = [problem for read in found for problem in read.problems]
    if not skip_known:
        faults += [f"{line}; --skip-known leaves it out" for read in found for line in read.known]
    if faults:
        shown = faults[:20] + ([f"and {len(faults) - 20} more"] if len(faults) > 20 else [])
        raise RefusedInputError("", "\n".join(shown))
