"""The words of a one-line note: what was misspelt, what is denied or doubted, what is used up."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from fieldnotes.knowledge.shorthand import Shorthand

_WORD = re.compile(  # "2nd", "2.5", "d/c", "mt3"
    r"\d+(?:st|nd|rd|th)\b|\d+(?:[.,]\d+)?|\b[^\W\d_]/[^\W\d_]\b|[^\W\d_]+\d*|[?%]"
)
_CLAUSE_END = re.compile(r"[;:+\n]|,(?!\d)|(?<!\d),|\.(?=\s|$)|\bbut\b")
SHORTEST_GUESSED = 5  # letters: a shorter word is one slip away from too many others
LIKE = 0.82
MOST_SKIPPED = 2
LISTED = 2  # commas: a list denied goes on for no more


@dataclass(frozen=True)
class Word:
    """One word: as it is read, where it stands, and in which clause; `guessed` if misspelt."""

    text: str
    start: int
    end: int
    clause: int
    guessed: bool = False


@dataclass
class Line:
    """A note being read: words are claimed by what they mean, or shut against any meaning."""

    text: str
    words: tuple[Word, ...]
    filler: frozenset[str]
    sides: frozenset[str]
    claimed: set[int] = field(default_factory=set)
    shut: set[int] = field(default_factory=set)

    def free(self, at: int) -> bool:
        """Say whether a word still may be given a meaning."""
        return at not in self.claimed and at not in self.shut

    def typed(self, indices: Iterable[int]) -> str:
        """Give words as they were typed, from the first to the last."""
        found = sorted(indices)
        return self.text[self.words[found[0]].start : self.words[found[-1]].end] if found else ""

    def within(self, start: int, end: int) -> tuple[int, ...]:
        """Give the words that touch a stretch of the text."""
        return tuple(i for i, w in enumerate(self.words) if w.start < end and w.end > start)

    def clause(self, at: int) -> tuple[int, ...]:
        """Give the words of the clause a word stands in."""
        return tuple(i for i, w in enumerate(self.words) if w.clause == self.words[at].clause)

    def match(self, saying: tuple[str, ...], at: int, *, across: bool = False) -> tuple[int, ...]:
        """Give the words a saying is met by, begun at one; small words between are skipped.

        `across`: it may go over the end of a clause. Empty if it is not met.
        """
        if self.words[at].text != saying[0]:
            return ()
        found: list[int] = []
        wanted, i, skipped = list(saying), at, 0
        while wanted and i < len(self.words):
            word = self.words[i]
            if not across and word.clause != self.words[at].clause:
                return ()
            if word.text == wanted[0] and self.free(i):
                found.append(i)
                wanted.pop(0)
                skipped = 0
            elif not found or not self._small(i, across=across) or skipped == MOST_SKIPPED:
                return ()
            else:
                skipped += 1
            i += 1
        return () if wanted else tuple(found)

    def _small(self, at: int, *, across: bool) -> bool:
        """Say whether a saying may go on behind a word: 'point of left hip' is the point of hip."""
        word = self.words[at].text
        return word in self.filler or (across and word in self.sides)

    def neighbours(self, at: int, step: int, most: int) -> tuple[int, ...]:
        """Give up to `most` words of meaning before or behind one, within its clause."""
        found: list[int] = []
        i = at + step
        while (
            0 <= i < len(self.words)
            and self.words[i].clause == self.words[at].clause
            and len(found) < most
        ):
            if self.words[i].text not in self.filler or self.words[i].text == "bone":
                found.append(i)
            i += step
        return tuple(found)

    def rest(self) -> tuple[str, ...]:
        """Give the stretches of text no meaning was found for, as typed."""
        runs: list[list[int]] = []
        for i, word in enumerate(self.words):
            if i in self.claimed:
                runs.append([])
            elif not runs or not runs[-1] or self.words[runs[-1][-1]].clause != word.clause:
                runs.append([i])
            else:
                runs[-1].append(i)
        told = (run for run in runs if any(self.words[i].text not in self.filler for i in run))
        return tuple(map(self.typed, told))


def split(text: str, known: Shorthand, spelling: Callable[[str], str | None]) -> Line:
    """Give a note's words; one that `spelling` knows better is read as that."""
    ends = [m.start() for m in _CLAUSE_END.finditer(text)]
    words = []
    for m in _WORD.finditer(text.casefold()):
        better = known.short.get(m[0])
        guessed = better is None and (better := spelling(m[0])) is not None
        clause = sum(end < m.end() for end in ends)
        words.append(Word(better or m[0], m.start(), m.end(), clause, guessed))
    return Line(text, tuple(words), known.filler, known.sides)


def speller(known: Iterable[str], other: Iterable[str]) -> Callable[[str], str | None]:
    """Give what finds the one known word a misspelt one is like; None if it is none or unclear.

    `other` are words that are right as they stand.
    """
    vocabulary = sorted(w for w in known if len(w) >= SHORTEST_GUESSED)
    right = frozenset(known) | frozenset(other)

    def better(word: str) -> str | None:
        if word in right or len(word) < SHORTEST_GUESSED or not word.isalpha():
            return None
        like = [
            (SequenceMatcher(None, word, w).ratio(), w)
            for w in vocabulary
            if w[0] == word[0] and abs(len(w) - len(word)) <= 2
        ]
        best = sorted((x for x in like if x[0] >= LIKE), reverse=True)
        if not best or (len(best) > 1 and best[0][0] - best[1][0] < 0.03):
            return None
        return best[0][1]

    return better


def shut_denied(line: Line, known: Shorthand) -> None:
    """Shut what is denied or doubted, so that 'no drain' never reads as a drain."""
    back = known.no - {"no", "without", "nil"}
    for i, word in enumerate(line.words):
        if i in line.claimed:
            continue
        if word.text in known.condition:
            line.shut.update(line.clause(i))
        if word.text in {"no", "without"}:
            line.shut.update(_listed(line, i))
        if word.text in known.no | known.doubt:
            line.shut.update(line.neighbours(i, 1, 2), {i})
        if word.text in back | known.doubt:
            line.shut.update(line.neighbours(i, -1, 2), {i})
        if word.text in known.no_before:
            line.shut.update(line.neighbours(i, -1, 3), {i})
        if word.text in known.no_after:
            line.shut.update(line.neighbours(i, 1, 3), {i})


def _listed(line: Line, at: int) -> tuple[int, ...]:
    """Give the words of the list a 'no' begins, up to its 'or': 'no heat, swelling or pain'.

    Without an 'or' it is no list.
    """
    found: list[int] = []
    for i in range(at + 1, len(line.words)):
        if line.words[i].clause > line.words[at].clause + LISTED:
            break
        found.append(i)
        if line.words[i].text in {"or", "nor"}:
            return (*found, *line.neighbours(i, 1, 1))
    return ()
