"""The words of a one-line note and what each stands for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.knowledge.source import Row, Table, shipped_table

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping


@dataclass(frozen=True)
class Term:
    """A saying (words in order) that sets a field; `keep` leaves its words in the text as well."""

    words: tuple[str, ...]
    field: str
    value: str
    source: str
    guess: bool = False
    keep: bool = False


@dataclass(frozen=True)
class PlaceTerm:
    """A saying that narrows where on the horse: side, limb, faces, or beginnings of class ids."""

    words: tuple[str, ...]
    source: str
    side: str = ""
    limb: str = ""
    aspects: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    exact: bool = False
    guess: bool = False


@dataclass(frozen=True)
class Shorthand:
    """Everything the reader of one-line notes knows; terms and places are longest first."""

    terms: tuple[Term, ...]
    places: tuple[PlaceTerm, ...]
    filler: frozenset[str]
    no: frozenset[str]
    no_before: frozenset[str]
    no_after: frozenset[str]
    doubt: frozenset[str]
    explored: frozenset[str]
    explored_by: frozenset[str]
    synovial: frozenset[str]
    course: frozenset[str]
    washing: frozenset[str]
    later: frozenset[str]
    intended: frozenset[str]
    aged: frozenset[str]
    beside: frozenset[str]
    covers: frozenset[str]
    other_times: frozenset[str]
    several: frozenset[str]
    condition: frozenset[str]
    as_typed: frozenset[str]
    short: Mapping[str, str]

    @property
    def sides(self) -> frozenset[str]:
        """Every word for a side or a limb."""
        return frozenset(w for p in self.places if p.side or p.limb for w in p.words)

    @property
    def known(self) -> frozenset[str]:
        """Every word that may be meant by a misspelt one; a side or a 'no' is never guessed."""
        said = {w for t in self.terms for w in t.words}
        said |= {w for p in self.places for w in p.words}
        return frozenset(said - self.sides - self.no - self.no_before - self.no_after)


def _sayings(row: Row) -> tuple[tuple[str, ...], ...]:
    sayings = tuple(tuple(s.split()) for s in row.texts("say"))
    if not all(sayings):
        raise row.error("say", "an empty saying")
    return sayings


def _terms(table: Table) -> Iterable[Term]:
    for row in table.rows("term"):
        guess, keep = row.flag("guess", default=False), row.flag("keep", default=False)
        for words in _sayings(row):
            yield Term(words, row.text("field"), row.text("value"), row.source(), guess, keep)
    for row in table.rows("mechanism"):
        for words in _sayings(row):
            yield Term(words, "mechanism", row.text("value", " ".join(words)), row.source())
    for row in table.rows("drug"):
        for words in _sayings(row):
            yield Term(
                words, "drug", row.text("drug"), row.source(), row.flag("guess", default=False)
            )
    for row in table.rows("fluid"):
        for words in _sayings(row):
            yield Term(words, "fluid", " ".join(words), row.source())


def _places(table: Table) -> Iterable[PlaceTerm]:
    for name in ("side", "limb", "aspect", "part"):
        for row in table.rows(name):
            for words in _sayings(row):
                yield PlaceTerm(
                    words,
                    row.source(),
                    side=row.text("side", ""),
                    limb=row.text("limb", ""),
                    aspects=row.texts("aspect", ()),
                    parts=row.texts("part", ()),
                    exact=row.flag("exact", default=False),
                    guess=row.flag("guess", default=False),
                )


def read_shorthand(table: Table) -> Shorthand:
    """Read and validate the words; KnowledgeError names file, row and field."""
    whole = Row(table.file, "words", table.data)
    whole.source()

    def words(field: str) -> frozenset[str]:
        return frozenset(whole.texts(field))

    return Shorthand(
        terms=tuple(sorted(_terms(table), key=lambda t: -len(t.words))),
        places=tuple(sorted(_places(table), key=lambda p: -len(p.words))),
        filler=words("filler"),
        no=words("no"),
        no_before=words("no_before"),
        no_after=words("no_after"),
        doubt=words("doubt"),
        explored=words("explored"),
        explored_by=words("explored_by"),
        synovial=words("synovial"),
        course=words("course"),
        washing=words("washing"),
        later=words("later"),
        intended=words("intended"),
        aged=words("aged"),
        beside=words("beside"),
        covers=words("covers"),
        other_times=words("other_times"),
        several=words("several"),
        condition=words("condition"),
        as_typed=words("as_typed"),
        short={s: row.text("means") for row in table.rows("short") for s in row.texts("say")},
    )


def load_shorthand(table: Table | None = None) -> Shorthand:
    """Give the shipped words, read and validated."""
    return read_shorthand(table or shipped_table("shorthand.toml"))
