"""Reads a note in one line as a vet would say it; what it is not sure of it never fills in.

Figures are read first, then sayings, the longest first. A word denied or doubted ("no drain",
"? sheath") sets nothing. Two different values for one field set neither. What has no meaning
found for it comes back as text, word for word.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from functools import cache, cached_property
from typing import TYPE_CHECKING

from fieldnotes.clinical.one_line_figures import N, figures, impossible, in_digits, sizes
from fieldnotes.clinical.one_line_findings import read_clauses, read_explored, read_synovial
from fieldnotes.clinical.one_line_found import MANY, Found, Given, OneLine, Said, Unsure
from fieldnotes.clinical.one_line_place import find_place
from fieldnotes.clinical.one_line_words import Line, shut_denied, speller, split
from fieldnotes.knowledge.shorthand import PlaceTerm, Shorthand, Term

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from fieldnotes.knowledge.limits import Limits
    from fieldnotes.knowledge.regions import Regions

SIZE = ("length_mm", "width_mm", "depth_mm", "area_cm2")
SURER = ("kind", "closure")  # "lac with a flap": what is surely said outweighs what may be meant
DONE = ("removed", "placed", "trimmed", "clipped", "debridement", "drug", "fluid")
_IN_DAYS = re.compile(r"\bin\s+\d+\s*(?:d|days?|w|weeks?)\b|\bday\s+\d|\bon\s+\w+day\b")
_VOLUME = re.compile(rf"{N}\s*(l|litres?|liters?|ml)\b")
_PERCENT = re.compile(rf"{N}\s*%")
_DOSE = re.compile(
    rf"\s*(?:{N}\s*%)?\s*(?:{N}\s*(mg/kg|iu/kg|mg|g|ml|iu)\b(?!/))?\s*(iv|im|po|sc)?\b",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class NoteReader:
    """Reads notes with the words, regions and bounds it is given.

    `drugs` are the formulary's names by id, `horses` the register's ids by name.
    """

    known: Shorthand
    regions: Regions
    limits: Limits
    drugs: Mapping[str, str] = field(default_factory=dict)
    horses: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def _terms(self) -> tuple[Term | PlaceTerm, ...]:
        named = (
            Term(tuple(re.findall(r"\w+", name.casefold())), "drug", drug, "the formulary")
            for drug, name in self.drugs.items()
        )
        every: Iterable[Term | PlaceTerm] = (*self.known.terms, *named, *self.known.places)
        return tuple(sorted(every, key=lambda t: -len(t.words)))

    @cached_property
    def _spelling(self) -> Callable[[str], str | None]:
        known = self.known
        drugs = {w for t in self._terms if isinstance(t, Term) for w in t.words}
        places = {w for p in known.places for w in p.words}
        denials = known.no | known.no_before | known.no_after | known.doubt
        right = denials | known.filler | known.course | known.later | drugs | places
        return cache(speller(known.known | known.washing, right | known.as_typed))

    def read(self, text: str) -> OneLine:
        """Read one note."""
        terms = self._terms
        line, found = split(text, self.known, self._spelling), Found()
        given: list[Given] = []
        self._horse(line, found)
        read_clauses(line, self.known, found)
        self._figures(line, found)
        self._sayings(line, found, given, [t for t in terms if set(t.words) & self.known.no])
        read_explored(line, self.known, found)
        read_synovial(line, self.known, found)
        shut_denied(line, self.known)
        places = self._sayings(line, found, given, terms)
        unsure = self._place(line, found, places)
        note = _closed(found, given, unsure, line, self.limits)
        at_odds = any(not u.options for u in unsure)
        if at_odds or any(w.text in self.known.several for w in line.words):
            return replace(note, said=tuple(replace(s, guess=True) for s in note.said))
        return note

    def _horse(self, line: Line, found: Found) -> None:
        """Read the horse a note begins with."""
        for name, horse in sorted(self.horses.items(), key=lambda item: -len(item[0])):
            words = tuple(re.findall(r"\w+", name.casefold()))
            met = line.match(words, 0) if words and line.words else ()
            if met and len(met) == met[-1] + 1:
                found.put("horse", horse, line.typed(met))
                line.claimed.update(met)
                return

    def _figures(self, line: Line, found: Found) -> None:
        low = in_digits(line.text.casefold())
        for figure in (*sizes(low), *figures(low)):
            touched = line.within(figure.start, figure.end)
            if figure.field == "injured" and self._not_its_age(line, touched):
                continue
            whole = line.text[figure.start : figure.end].strip(" ,;.")
            if any(i in line.claimed for i in touched) and whole not in _words_of(found, touched):
                continue
            found.put(figure.field, figure.value, whole, guess=figure.guess)
            line.claimed.update(touched)

    def _not_its_age(self, line: Line, touched: tuple[int, ...]) -> bool:
        """Say whether a time is an animal's age ('foal 3 d old') or that of something else done."""
        beside = {i for at in touched for i in (at - 1, at + 1)}
        clause = {i for at in touched for i in line.clause(at)}
        return any(line.words[i].text in self.known.aged for i in beside & clause) or any(
            line.words[i].text in self.known.other_times | self.known.later for i in clause
        )

    def _sayings(
        self, line: Line, found: Found, given: list[Given], terms: Iterable[Term | PlaceTerm]
    ) -> list[tuple[PlaceTerm, tuple[int, ...]]]:
        places: list[tuple[PlaceTerm, tuple[int, ...]]] = []
        for term in terms:
            for i in range(len(line.words)):
                met = line.match(term.words, i, across=isinstance(term, PlaceTerm))
                if met and isinstance(term, Term):
                    self._term(line, term, met, found, given)
                elif met and isinstance(term, PlaceTerm) and not self._elsewhere(line, term, met):
                    places.append((term, met))
                    line.claimed.update(met)
        return places

    def _elsewhere(self, line: Line, term: PlaceTerm, met: tuple[int, ...]) -> bool:
        """Say whether a place is not the wound's: 'above the knee', 'foot to knee bandage'."""
        if _is_unit(line, met):
            return True
        if not term.parts:
            return False
        clause = line.clause(met[0])
        behind = [line.words[i].text for i in clause if i > met[-1]]
        before = [line.words[i].text for i in clause if i < met[0]]
        while before and before[-1] in {"the", "a", "its"} | self.known.sides:
            before.pop()
        covered = {*behind[:1], *(behind[2:3] if behind[:1] == ["to"] else ())}
        beside = before[-1:] if before[-1:] != ["to"] else [f"{w} to" for w in before[-2:-1]]
        return bool(covered & self.known.covers or {*beside} & self.known.beside)

    def _term(
        self, line: Line, term: Term, met: tuple[int, ...], found: Found, given: list[Given]
    ) -> None:
        if term.field in DONE and self._later(line, met[0]):
            return
        if term.field == "closure" and (
            self._intended(line, met[0]) or (term.guess and self._later(line, met[0]))
        ):
            return
        if term.field == "drug":
            self._drug(line, term, met, given)
        elif term.field == "fluid":
            self._fluid(line, term, met, found)
        else:
            guess = term.guess or any(line.words[j].guessed for j in met)
            found.put(term.field, term.value, line.typed(met), guess=guess)
            if not term.keep:
                line.claimed.update(met)

    def _later(self, line: Line, at: int) -> bool:
        """Say whether a clause tells of what is still to be done."""
        clause = line.clause(at)
        said = line.typed(clause).casefold()
        return _IN_DAYS.search(said) is not None or any(
            line.words[i].text in self.known.later for i in clause
        )

    def _intended(self, line: Line, at: int) -> bool:
        """Say whether a clause speaks of a closing that may still come."""
        return any(line.words[i].text in self.known.intended for i in line.clause(at))

    def _drug(self, line: Line, term: Term, met: tuple[int, ...], given: list[Given]) -> None:
        if any(line.words[i].text in self.known.course for i in line.clause(met[0])):
            return
        end = line.words[met[-1]].end
        dose = _DOSE.match(line.text, end)
        if dose and dose.end() > end:
            met = (*met, *line.within(end, dose.end()))
        amount = float(dose[2].replace(",", ".")) if dose and dose[2] else None
        unit, route = (dose[3] or "", dose[4] or "") if dose else ("", "")
        said = Given(term.value, line.typed(met), amount, unit.casefold(), route.upper())
        if all(g.drug != said.drug for g in given):
            given.append(said)
        line.claimed.update(met)

    def _fluid(self, line: Line, term: Term, met: tuple[int, ...], found: Found) -> None:
        clause = line.clause(met[0])
        start, end = line.words[clause[0]].start, line.words[clause[-1]].end
        volume, percent = (p.search(line.text.casefold(), start, end) for p in (_VOLUME, _PERCENT))
        washing = [i for i in clause if line.words[i].text in self.known.washing]
        fluids = sum(
            bool(line.match(t.words, i))
            for t in self.known.terms
            for i in clause
            if t.field == "fluid"
        )
        if (not volume and not washing) or fluids > 1:
            return
        parts = [term.value]
        for m, unit in ((percent, "%"), (volume, "")):
            if m is not None:
                measure = " ml" if unit == "" and m[2].casefold() == "ml" else " l"
                parts.append(m[1].replace(",", ".") + (unit or measure))
                met = (*met, *line.within(*m.span()))
        line.claimed.update(met, washing)
        found.put("lavage", " ".join(parts), line.typed((*met, *washing)))

    def _place(
        self, line: Line, found: Found, places: list[tuple[PlaceTerm, tuple[int, ...]]]
    ) -> tuple[Unsure, ...]:
        place = find_place([term for term, _ in places], self.regions)
        spoken = [i for _, met in places for i in met]
        if place is None:
            line.claimed.difference_update(spoken)
            return ()
        for term, met in places:
            if term in place.ignored:
                line.claimed.difference_update(met)
        if len(place.regions) != 1:
            return (Unsure("region", place.regions, line.typed(spoken)),)
        guess = any(t.guess for t, _ in places) or any(line.words[i].guessed for i in spoken)
        found.put("region", place.regions[0], line.typed(spoken), guess=guess)
        return ()


def _is_unit(line: Line, met: tuple[int, ...]) -> bool:
    """Say whether a single letter is the unit of the number before it: 5 l is no left."""
    word, at = line.words[met[0]], met[0]
    return len(word.text) == 1 and at > 0 and line.words[at - 1].text[0].isdecimal()


def _words_of(found: Found, touched: tuple[int, ...]) -> tuple[str, ...]:
    """Give the words figures were already read from: one stretch may fill several fields."""
    return tuple(s.words for said in found.values.values() for s in said) if touched else ()


def _closed(
    found: Found,
    given: list[Given],
    unsure: tuple[Unsure, ...],
    line: Line,
    limits: Limits,
) -> OneLine:
    """Give the note as read; a field with two values is left to the vet."""
    said: list[Said] = []
    left = list(unsure)
    size = {n: found.values.pop(n) for n in SIZE if n in found.values}
    if _clear(size, limits):
        found.values.update(size)
    elif size:
        sizes_said = tuple(dict.fromkeys(s.words for values in size.values() for s in values))
        left.append(Unsure("size", sizes_said, ", ".join(sizes_said)))
    for name, values in found.values.items():
        values.sort(key=lambda s: line.text.find(s.words))
        words = ", ".join(dict.fromkeys(s.words for s in values))
        guess = any(s.guess for s in values)
        if name in MANY:
            said.append(Said(name, tuple(str(s.value) for s in values), words, guess))
        elif name == "mechanism":
            said.append(Said(name, ", ".join(_longest(values)), words, guess))
        elif len(values) == 1:
            said.append(values[0])
        elif name in SURER and len(sure := [s for s in values if not s.guess]) == 1:
            said.append(replace(sure[0], words=words, guess=True))
        else:
            left.append(Unsure(name, tuple(f"{s.value}" for s in values), words))
    given.sort(key=lambda g: line.text.find(g.words))
    return OneLine(tuple(said), tuple(given), tuple(left), line.rest())


def _clear(size: dict[str, list[Said]], limits: Limits) -> bool:
    """Say whether each side of a size was said once and can be right."""
    sides = {name: float(str(values[0].value)) for name, values in size.items()}
    return all(len(values) == 1 for values in size.values()) and not impossible(sides, limits)


def _longest(values: list[Said]) -> list[str]:
    """Give the ways it happened without one that a longer one holds."""
    texts = [str(s.value) for s in values]
    return [t for t in texts if not any(t != o and t in o for o in texts)]
