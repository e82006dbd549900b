"""Reading grade of a handout: Flesch, Flesch-Kincaid and SMOG, with the counting stated."""

from __future__ import annotations

import html
import re
from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.rendering.syllables import syllables

if TYPE_CHECKING:
    from collections.abc import Iterator

# Graded against the 6th grade advised for owners, and the 8th as the limit of fair.
PASS_GRADE = 6.0
AMBER_GRADE = 8.0
_NAMED = 3

_BLOCK = re.compile(r"^(?:#{1,6}\s|[-*+]\s|\d+[.)]\s|>|={3,}$|-{3,}$)")
_MARKER = re.compile(r"^(?:#{1,6}\s+|[-*+]\s+(?:\[[ xX]\]\s*)?|\d+[.)]\s+|>\s?)+")
_RULE = re.compile(r"^[\s|:=*_-]*$")
_DROPPED = (
    re.compile(r"<!--.*?-->|<[^>]*>|!\[[^\]]*\]\([^)]*\)", re.DOTALL),
    re.compile(r"(?:https?://|www\.)\S+|\S+@\S+\.\w+"),
    re.compile(r"\b\d{4}-\d\d-\d\d(?:[T ]\d\d:\d\d\S*)?|\b\d{1,2}[/.]\d{1,2}[/.]\d{2,4}\b"),
    re.compile(
        r"\b\d{1,2}(?:st|nd|rd|th)?\s+(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)[a-z]*\.?"
        r"(?:\s+\d{4})?\b",
        re.IGNORECASE,
    ),
    re.compile(r"\b\d{1,2}:\d\d\b"),
    re.compile(r"(?<![\w.])\+?\(?\d[\d ()\u2011-]{6,}\d\b"),
    re.compile(
        r"(?<![\w.])\d[\d.,]*(?:\s?(?:-|\u2013|to)\s?\d[\d.,]*)?\s?"
        r"(?:mg|g|kg|mcg|[u\u00b5\u03bc]g|ml|l|cm2?|mm|m|km|in|lb|oz|IU|h|min|%|\u00b0\s?[CF]?)"
        r"(?:/(?:kg|ml|day|h))?(?![A-Za-z])",
        re.IGNORECASE,
    ),
)
_LINK = re.compile(r"\[([^\]]*)\]\([^)]*\)")
_SHORT = re.compile(r"\b(e\.g|i\.e|a\.m|p\.m|Dr|Mr|Mrs|Ms|approx|vs|No)\.", re.IGNORECASE)
_END = re.compile(r"[.!?]+[\"')\]\u201d\u2019]*(?=\s|$)")
_WORD = re.compile(r"[^\W_]+(?:['\u2019-][^\W_]+)*")


@dataclass(frozen=True)
class Reading:
    """Counts and grades of a text; `hardest` are its hardest sentences above the pass grade."""

    words: int
    sentences: int
    syllables: int
    polysyllables: int
    flesch_reading_ease: float
    flesch_kincaid_grade: float
    smog: float
    verdict: str
    hardest: tuple[str, ...] = ()


def verdict(grade: float) -> str:
    """Give pass, amber or fail for a Flesch-Kincaid grade."""
    if grade <= PASS_GRADE:
        return "pass"
    return "amber" if grade <= AMBER_GRADE else "fail"


def grade_counts(words: int, sentences: int, syllables: int, polysyllables: int) -> Reading:
    """Grade given counts (Flesch 1948; Kincaid et al. 1975; McLaughlin 1969)."""
    counts = (words, sentences, syllables, polysyllables)
    if min(words, sentences) < 1 or not sentences <= words <= syllables or polysyllables < 0:
        raise RefusedInputError("counts", f"{counts} cannot be the counts of a text")
    if polysyllables > words:
        raise RefusedInputError("counts", f"{polysyllables} polysyllables are too many")
    length, weight = words / sentences, syllables / words
    grade = 0.39 * length + 11.8 * weight - 15.59
    return Reading(
        *counts,
        flesch_reading_ease=206.835 - 1.015 * length - 84.6 * weight,
        flesch_kincaid_grade=grade,
        smog=1.0430 * sqrt(polysyllables * 30 / sentences) + 3.1291,
        verdict=verdict(grade),
    )


def grade(text_markdown: str, *, without_tables: bool = False) -> Reading:
    """Grade a markdown text; RefusedInputError if there is no word in it."""
    counted = [
        (sentence, [syllables(word) for word in words])
        for sentence in _sentences(text_markdown, without_tables=without_tables)
        if (words := _WORD.findall(_plain(sentence)))
    ]
    if not counted:
        raise RefusedInputError("text", "there is no word in it to grade")
    each = [count for _, counts in counted for count in counts]
    found = grade_counts(len(each), len(counted), sum(each), sum(c >= 3 for c in each))
    return Reading(**{**found.__dict__, "hardest": _hardest(counted)})


def _hardest(counted: list[tuple[str, list[int]]]) -> tuple[str, ...]:
    graded = [
        (grade_counts(len(c), 1, sum(c), sum(n >= 3 for n in c)).flesch_kincaid_grade, sentence)
        for sentence, c in counted
        if len(c) >= _NAMED
    ]
    hard = sorted((pair for pair in graded if pair[0] > PASS_GRADE), reverse=True)
    return tuple(" ".join(sentence.split()) for _, sentence in hard[:_NAMED])


def _plain(text: str) -> str:
    """Drop what is no word: markup, addresses, dates, phones, numbers with units."""
    for pattern in _DROPPED:
        text = pattern.sub(" ", text)
    return text


def _sentences(text: str, *, without_tables: bool) -> Iterator[str]:
    for block in _blocks(text, without_tables=without_tables):
        start = 0
        guarded = _SHORT.sub(lambda m: m.group().replace(".", "\0"), block)
        for end in _END.finditer(guarded):
            yield guarded[start : end.end()].replace("\0", ".")
            start = end.end()
        yield guarded[start:].replace("\0", ".")


def _blocks(text: str, *, without_tables: bool) -> Iterator[str]:
    """Give runs of text: a heading, list item, table row and blank line each end one."""
    run: list[str] = []
    for raw in html.unescape(_LINK.sub(r"\1", text)).splitlines():
        line = raw.strip()
        row = line.startswith("|")
        starts = row or not line or bool(_BLOCK.match(line))
        if starts and run:
            yield " ".join(run)
            run = []
        if _RULE.match(line) or line.startswith("```") or (row and without_tables):
            continue
        run.append(re.sub(r"[*_`|\\]+", " " if row else "", _MARKER.sub("", line)).strip())
        if row or line.startswith("#"):
            yield " ".join(run)
            run = []
    yield " ".join(run)
