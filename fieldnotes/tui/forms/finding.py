"""Search fields over what is known: horses with owner and place, premises, regions, drugs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fieldnotes.domain.patients import PartyRole
from fieldnotes.knowledge.drugs import find_drugs
from fieldnotes.tui.fields.choices import FindField
from fieldnotes.tui.fields.field import Option
from fieldnotes.tui.fields.place import PlaceField

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from fieldnotes.domain.register import Register
    from fieldnotes.knowledge.drugs import Drugs
    from fieldnotes.knowledge.regions import Regions

MOST = 40


def horse_options(register: Register, on: dt.date, died: Mapping[str, str]) -> tuple[Option, ...]:
    """Give every horse with its owner and place beside it; a dead one says when it `died`."""
    options = []
    for horse in register.horses.values():
        owner = register.owners.get(horse.party(PartyRole.OWNER, on) or "")
        place = register.premises.get(horse.premises)
        beside = [x.name for x in (owner, place) if x is not None]
        about = ", ".join(filter(None, (died.get(horse.id, ""), *beside)))
        options.append(Option(horse.id, horse.name, note=about))
    return tuple(sorted(options, key=lambda o: o.words.casefold()))


def _among(options: tuple[Option, ...], text: str) -> tuple[Option, ...]:
    words = text.casefold().split()
    if not words:
        return ()
    fitting = [o for o in options if all(w in f"{o.words} {o.note}".casefold() for w in words)]
    fitting.sort(key=lambda o: not o.words.casefold().startswith(words[0]))
    return tuple(fitting[:MOST])


def find_among(
    key: str,
    label: str,
    options: tuple[Option, ...],
    what: str,
    **more: Any,  # noqa: ANN401  (each field reads its own type)
) -> FindField:
    """Give a search field over options."""
    names = {o.id: o.words for o in options}
    return FindField(
        key=key,
        label=label,
        find=lambda text: _among(options, text),
        naming=lambda answer: names.get(answer, ""),
        what=what,
        **more,
    )


def added_by(key: str) -> str:
    """Say how a record that is not there yet is added, by its key on the first screen."""
    return f"Escape keeps what is typed, then {key} adds one and u comes back"


@dataclass(frozen=True, kw_only=True)
class HorseField(FindField):
    """A horse of the register; one that died or has an open case says so."""

    open_cases: Mapping[str, str]
    died: Mapping[str, str]

    def echo(self, text: str) -> str:
        """Say when the horse died, or which case of it is open."""
        ref = self.open_cases.get(text)
        return self.died.get(text) or (f"{ref} open: F6 recheck" if ref else "")


def find_horse(
    key: str, label: str, options: tuple[Option, ...], open_cases: Mapping[str, str],
    died: Mapping[str, str],
) -> HorseField:  # fmt: skip
    """Give a search field over horses; `open_cases` are references, `died` words, by horse."""
    names = {o.id: o.words for o in options}
    return HorseField(
        key=key, label=label, find=lambda text: _among(options, text),
        naming=lambda answer: names.get(answer, ""), what="horse of the register",
        required=True, open_cases=open_cases, died=died, adding=added_by("N"),
        hint="part of horse, owner or place; arrows and Enter choose",
    )  # fmt: skip


def named(records: Mapping[str, Any]) -> tuple[Option, ...]:
    """Give records of the register as options."""
    return tuple(sorted((Option(r.id, r.name) for r in records.values()), key=lambda o: o.words))


def find_region(key: str, label: str, regions: Regions, default: str = "") -> PlaceField:
    """Give a search field over the body's regions."""

    def find(text: str) -> tuple[Option, ...]:
        return tuple(
            Option(r.id, r.standard_name, note=f"({r.lay_name})") for r in regions.find(text)[:MOST]
        )

    def naming(answer: str) -> str:
        return regions.get(answer).standard_name if answer in regions else ""

    return PlaceField(
        key=key, label=label, find=find, naming=naming, what="region", required=True,
        default=default,
        hint="part of the name, e.g. lh cannon dorsal; arrows and Enter choose; F3 body map",
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class DrugField(FindField):
    """A drug, shown as unconfirmed while nobody of the practice has confirmed it."""

    confirmed: frozenset[str] = frozenset()

    def echo(self, text: str) -> str:
        """Say that the drug's figures were not compared with the label yet."""
        return "UNCONFIRMED" if self.naming(text) and text not in self.confirmed else ""


def find_drug(key: str, label: str, drugs: Drugs, **more: Any) -> DrugField:  # noqa: ANN401  (each field reads its own type)
    """Give a search field over the formulary."""
    names = {d.id: d.name for d in drugs}

    def find(text: str) -> tuple[Option, ...]:
        return tuple(
            Option(d.id, d.name, note="" if d.confirmed else "(unconfirmed)")
            for d in find_drugs(drugs, text)[:MOST]
        )

    return DrugField(
        confirmed=frozenset(d.id for d in drugs if d.confirmed),
        key=key, label=label, find=find, naming=lambda a: names.get(a, ""), what="drug",
        hint="part of the generic name; leave empty if there is no further drug", **more,
    )  # fmt: skip
