"""Search over all cases: by any part of what is known of them, and by what is nearly it."""

from __future__ import annotations

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

SHORTEST_TYPO = 4  # letters; a shorter word is nearly every other
TWO_SLIPS_FROM = 8


class Looked:
    """What is made of the cases for one search, kept for the next letter typed."""

    def __init__(
        self, lines: tuple[CaseLine, ...], register: Register, today: dt.date, library: Library
    ) -> None:
        self._made_of = (lines, register, today)
        self._library = library
        self.summaries = tuple(summary_of(line, register, today) for line in lines)

    def still(self, lines: tuple[CaseLine, ...], register: Register, today: dt.date) -> bool:
        """Whether nothing was written since and no day passed; the records keep what they gave."""
        before = self._made_of
        return before[0] is lines and before[1] is register and before[2] == today

    @cached_property
    def parts(self) -> dict[str, tuple[str, ...]]:
        """Horse, owner, place, regions and the rest, by the case's reference."""
        return {s.ref: _parts(s, self._library) for s in self.summaries}

    @cached_property
    def hays(self) -> dict[str, str]:
        """What is looked through, by the case's reference."""
        return {ref: " ".join(parts) for ref, parts in self.parts.items()}

    @cached_property
    def tokens(self) -> dict[str, frozenset[str]]:
        """The words of what is looked through, by the case's reference."""
        return {ref: frozenset(hay.split()) for ref, hay in self.hays.items()}

    @cached_property
    def known(self) -> frozenset[str]:
        """Every word that stands anywhere, but for what is too short to be taken for a slip."""
        found = frozenset().union(*self.tokens.values())
        return frozenset(token for token in found if len(token) >= SHORTEST_TYPO - 2)


class CaseSearch:
    """Finds cases; remembers what it looked through as long as the records stay the same."""

    def __init__(self) -> None:
        self._looked: Looked | None = None

    def found(
        self,
        lines: tuple[CaseLine, ...],
        wanted: CaseFilter,
        register: Register,
        today: dt.date,
        library: Library,
    ) -> tuple[CaseSummary, ...]:
        """Give the cases that fit every part of a filter that is set."""
        looked = self._looked
        if looked is None or not looked.still(lines, register, today):
            looked = self._looked = Looked(lines, register, today, library)
        fitting = tuple(s for s in looked.summaries if fits(s, wanted))
        words = wanted.text.casefold().split()
        if not words:
            return fitting
        parts, found = looked.parts, search(fitting, looked, words)
        return tuple(sorted(found, key=lambda s: sum(_depth(w, parts[s.ref]) for w in words)))


def search(
    summaries: tuple[CaseSummary, ...], looked: Looked, words: Sequence[str]
) -> tuple[CaseSummary, ...]:
    """Give the cases in which every word stands; if there are none, words near them.

    Looked through are horse, owner, premises, region (standard and lay), findings, drugs and
    free text.
    """
    hays = looked.hays
    exact = tuple(s for s in summaries if all(word in hays[s.ref] for word in words))
    return exact or _nearly(summaries, looked, words)


def _parts(summary: CaseSummary, library: Library) -> tuple[str, ...]:
    line, regions = summary.line, library.regions
    found = [regions.get(w.region) for w in line.wounds if w.region in regions]
    places = " ".join(f"{region.standard_name} {region.lay_name}" for region in found)
    parts = (summary.horse, summary.owner, summary.premises, places, f"{line.ref} {line.words}")
    return tuple(part.casefold() for part in parts)


def _depth(word: str, parts: Sequence[str]) -> int:
    """Give how far back a word is found: in which part, as a whole word, a beginning or within."""
    for number, part in enumerate(parts):
        if word in part:
            padded = f" {part} "
            return 3 * number + 2 - (f" {word}" in padded) - (f" {word} " in padded)
    return 3 * len(parts)


def _nearly(
    summaries: tuple[CaseSummary, ...], looked: Looked, words: Sequence[str]
) -> tuple[CaseSummary, ...]:
    hays, tokens = looked.hays, looked.tokens
    near = [
        frozenset(token for token in looked.known if close(word, token))
        if len(word) >= SHORTEST_TYPO
        else frozenset()
        for word in words
    ]
    if not any(near):
        return ()
    return tuple(
        s
        for s in summaries
        if all(
            word in hays[s.ref] or fits & tokens[s.ref]
            for word, fits in zip(words, near, strict=True)
        )
    )


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
