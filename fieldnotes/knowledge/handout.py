"""Text blocks of the owner's handout, chosen by facts about the case; every one has a source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.knowledge.source import Table, shipped_table

if TYPE_CHECKING:
    from fieldnotes.knowledge.source import Row

FILE = "handout.toml"


@dataclass(frozen=True)
class Block:
    """One sentence or two for one section, shown when every fact of `when` holds.

    A fact with `!` before it must not hold; `a|b` is met by either, `a|!b` too.
    """

    id: str
    section: str
    text: str
    when: tuple[str, ...]
    source: str

    def applies(self, facts: frozenset[str]) -> bool:
        """Whether the block belongs on a sheet with these facts."""
        return all(_holds(condition, facts) for condition in self.when)


def _holds(condition: str, facts: frozenset[str]) -> bool:
    return any(
        fact[1:] not in facts if fact.startswith("!") else fact in facts
        for fact in condition.split("|")
    )


@dataclass(frozen=True)
class Word:
    """A trade term in the owner's words."""

    term: str
    text: str
    source: str


@dataclass(frozen=True)
class Mechanism:
    """A way horses are hurt, and the words in a history that tell it."""

    id: str
    words: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class TemperatureLimits:
    """From which rectal temperature the owner calls, for one species and age."""

    species: str
    age_days: tuple[float, float]
    normal_c: tuple[float, float]
    call_c: float
    urgent_c: float
    source: str


@dataclass(frozen=True)
class AfterSedation:
    """How long after the last sedative a horse is not fed, turned out or driven."""

    what: str
    hours: float
    source: str


@dataclass(frozen=True)
class HandoutTexts:
    """Everything the handout says that is not in the record."""

    blocks: tuple[Block, ...]
    words: tuple[Word, ...]
    mechanisms: tuple[Mechanism, ...]
    temperatures: tuple[TemperatureLimits, ...]
    skin_protectants: tuple[str, ...]
    sedation: tuple[AfterSedation, ...]

    def chosen(self, section: str, facts: frozenset[str]) -> tuple[str, ...]:
        """Give the texts of one section that apply, in the order of the file."""
        return tuple(b.text for b in self.blocks if b.section == section and b.applies(facts))

    def plain(self, term: str) -> str:
        """Give a trade term in the owner's words, itself where there are none."""
        return next((w.text for w in self.words if w.term == term.casefold()), term)

    def protects_skin(self, topical: str) -> bool:
        """Whether a topical is for the whole skin round a wound and not for the wound."""
        said = topical.casefold()
        return any(word in said for word in self.skin_protectants)

    def mechanism(self, history: str) -> str:
        """Give the id of the mechanism a history tells of, empty if none is known."""
        said = history.casefold()
        return next((m.id for m in self.mechanisms if any(w in said for w in m.words)), "")

    def temperature(self, species: str, age_days: int | None) -> TemperatureLimits:
        """Give the limits for a species and age; an unknown age is an adult's."""
        age = 3650 if age_days is None else max(0, age_days)
        fitting = [t for t in self.temperatures if t.age_days[0] <= age <= t.age_days[1]]
        return next((t for t in fitting if t.species == species), fitting[0])


def _block(row: Row) -> Block:
    return Block(
        id=row.text("id"),
        section=row.text("section"),
        text=row.text("text"),
        when=row.texts("when", ()),
        source=row.source(),
    )


def _temperature(row: Row) -> TemperatureLimits:
    call, urgent = (
        row.number("call_c", least=35, most=43),
        row.number("urgent_c", least=35, most=43),
    )
    if urgent < call:
        raise row.error("urgent_c", "the urgent limit is below the one to call at")
    return TemperatureLimits(
        species=row.text("species"),
        age_days=row.pair("age_days"),
        normal_c=row.pair("normal_c"),
        call_c=call,
        urgent_c=urgent,
        source=row.source(),
    )


def load_handout(table: Table | None = None) -> HandoutTexts:
    """Read and check the handout's texts; KnowledgeError names file, row and field."""
    table = table or shipped_table(FILE)
    return HandoutTexts(
        blocks=tuple(_block(r) for r in table.rows("block")),
        words=tuple(Word(r.text("term"), r.text("text"), r.source()) for r in table.rows("word")),
        mechanisms=tuple(
            Mechanism(r.text("id"), r.texts("words"), r.source()) for r in table.rows("mechanism")
        ),
        temperatures=tuple(_temperature(r) for r in table.rows("temperature")),
        skin_protectants=tuple(
            word for r in table.rows("skin_protectant") if r.source() for word in r.texts("words")
        ),
        sedation=tuple(
            AfterSedation(r.text("what"), r.number("hours", least=0, most=48), r.source())
            for r in table.rows("sedation")
        ),
    )
