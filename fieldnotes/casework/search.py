"""Search over all cases: by any part of what is known of them, and by what is nearly it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from fieldnotes.casework.listing import fits, summary_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from fieldnotes.casework.views import CaseFilter, CaseSummary
    from fieldnotes.domain.cases import CaseLine
    from fieldnotes.domain.register import Register
    from fieldnotes.knowledge.library import Library
    from fieldnotes.knowledge.regions import Regions

SHORTEST_TYPO = 4  # letters; a shorter word is nearly every other
TWO_SLIPS_FROM = 8


@dataclass(frozen=True)
class Seen:
    """What is looked through of one case."""

    summary: CaseSummary
    parts: tuple[str, ...]
    """Horse, owner, place, regions and the rest, in small letters."""
    hay: str

    @cached_property
    def tokens(self) -> frozenset[str]:
        """The words of what is looked through."""
        return frozenset(self.hay.split())


class CaseSearch:
    """Finds cases; what it made of one is kept until that case or the register is written to."""

    def __init__(self) -> None:
        self._made_of: tuple[Register, dt.date] | None = None
        self._seen: dict[str, Seen] = {}

    def look(
        self,
        lines: tuple[CaseLine, ...],
        register: Register,
        today: dt.date,
        library: Library,
    ) -> tuple[Seen, ...]:
        """Give what is looked through of these cases; the records keep the lines they gave."""
        before = self._made_of
        if before is None or before[0] is not register or before[1] != today:
            self._made_of, self._seen = (register, today), {}
        seen, words = self._seen, _RegionWords(library.regions)
        found = []
        for line in lines:
            case = seen.get(line.ref)
            if case is None or case.summary.line is not line:
                case = seen[line.ref] = _look_at(summary_of(line, register, today), words)
            found.append(case)
        return tuple(found)

    def found(
        self,
        lines: tuple[CaseLine, ...],
        wanted: CaseFilter,
        register: Register,
        today: dt.date,
        library: Library,
    ) -> tuple[CaseSummary, ...]:
        """Give the cases that fit every part of a filter that is set."""
        cases = self.look(lines, register, today, library)
        fitting = tuple(case for case in cases if fits(case.summary, wanted))
        words = wanted.text.casefold().split()
        if words:
            found = search(fitting, words)
            fitting = tuple(sorted(found, key=lambda c: sum(_depth(w, c.parts) for w in words)))
        return tuple(case.summary for case in fitting)


class _RegionWords(dict[tuple[str, ...], str]):
    """The standard and lay names of some regions, put together once."""

    def __init__(self, regions: Regions) -> None:
        super().__init__()
        self._regions = regions

    def __missing__(self, ids: tuple[str, ...]) -> str:
        found = [self._regions.get(one) for one in ids if one in self._regions]
        words = " ".join(f"{region.standard_name} {region.lay_name}" for region in found)
        self[ids] = words.casefold()
        return self[ids]


def _look_at(summary: CaseSummary, regions: _RegionWords) -> Seen:
    line = summary.line
    places = regions[tuple(wound.region for wound in line.wounds)]
    known = (summary.horse.casefold(), summary.owner.casefold(), summary.premises.casefold())
    parts = (*known, places, f"{line.ref} {line.words}".casefold())
    return Seen(summary, parts, " ".join(parts))


def search(cases: Sequence[Seen], words: Sequence[str]) -> Sequence[Seen]:
    """Give the cases in which every word stands; if there are none, words near them.

    Looked through are horse, owner, premises, region (standard and lay), findings, drugs and
    free text.
    """
    found = [case for case in cases if all(word in case.hay for word in words)]
    return found or _nearly(cases, words)


def _depth(word: str, parts: Sequence[str]) -> int:
    """Give how far back a word is found: in which part, as a whole word, a beginning or within."""
    for number, part in enumerate(parts):
        if word in part:
            padded = f" {part} "
            return 3 * number + 2 - (f" {word}" in padded) - (f" {word} " in padded)
    return 3 * len(parts)


def _nearly(cases: Sequence[Seen], words: Sequence[str]) -> Sequence[Seen]:
    known = frozenset().union(*(case.tokens for case in cases))
    near = [
        frozenset(token for token in known if close(word, token))
        if len(word) >= SHORTEST_TYPO
        else frozenset()
        for word in words
    ]
    if not any(near):
        return ()
    return [
        case
        for case in cases
        if all(
            word in case.hay or fits & case.tokens for word, fits in zip(words, near, strict=True)
        )
    ]


def close(word: str, token: str) -> bool:
    """Whether a typed word is a token, or its beginning, but for a slip (two in a long word)."""
    if len(word) < SHORTEST_TYPO or len(token) < len(word) - 2:
        return False
    slips = 2 if len(word) >= TWO_SLIPS_FROM else 1
    if len(set(word).difference(token)) > slips:  # each letter it lacks is a slip: most end here
        return False
    ends = range(max(1, len(word) - 1), len(word) + 2)
    starts = {token[:end] for end in ends} if len(token) > len(word) else {token}
    return any(_slips(word, start, slips) <= slips for start in starts)


def _slips(one: str, other: str, most: int) -> int:
    """Give the letters added, dropped, changed or swapped with the next; above `most` any number.

    Optimal string alignment after Damerau, A technique for computer detection and correction of
    spelling errors, 1964.
    """
    if len(set(one) ^ set(other)) > 2 * most or abs(len(one) - len(other)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        before, row, last = row, [i], before
        for j, b in enumerate(other, 1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                cost = min(cost, last[j - 2] + 1)
            row.append(cost)
    return row[-1]
