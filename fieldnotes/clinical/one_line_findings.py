"""What a one-line note says in whole clauses, denies of the depth, or doubts of a joint."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldnotes.clinical.one_line_found import Found
    from fieldnotes.clinical.one_line_words import Line
    from fieldnotes.knowledge.shorthand import Shorthand

LONGEST_CLAUSE = 9  # words; a longer one says more than one thing
_CLAUSES = (
    ("dehiscence", re.compile(r"\b(?:broke|broken)\s+down\b|\bdehisc|\bbreakdown\b|\bgaping\b")),
    ("radiographs", re.compile(r"\b(?:x-?rays?|radiographs?)\b.*\b(?:taken|shows?|clear|nad)\b")),
    ("culture", re.compile(r"\b(?:culture|swab)\s+(?:taken|sent)\b")),
)


def read_clauses(line: Line, known: Shorthand, found: Found) -> None:
    """Take a short clause whole where it speaks of a breakdown, a picture or a sample."""
    for at in {w.clause: i for i, w in enumerate(line.words)}.values():
        clause = line.clause(at)
        typed = line.typed(clause)
        denied = any(line.words[i].text in known.no for i in clause)
        for name, pattern in _CLAUSES:
            if len(clause) <= LONGEST_CLAUSE and not denied and pattern.search(typed.casefold()):
                found.put(name, typed, typed)
                line.claimed.update(clause)


def read_explored(line: Line, known: Shorthand, found: Found) -> None:
    """Keep 'bone not felt' as what the exploration found, never as bone exposed."""
    for i, word in enumerate(line.words):
        if word.text not in known.explored or not line.free(i):
            continue
        behind = line.neighbours(i, 1, 2)
        before = line.neighbours(i, -1, 1)
        texts = [line.words[j].text for j in behind]
        if len(behind) == 2 and texts[0] == "not" and texts[1] in known.explored_by:
            met = (i, *behind)
        elif (
            before
            and line.words[before[0]].text == "no"
            and texts[:1]
            and texts[0] in known.explored_by
        ):
            met = (before[0], i, behind[0])
        else:
            continue
        found.put("exploration", line.typed(met), line.typed(met))
        line.claimed.update(range(met[0], met[-1] + 1))


def read_synovial(line: Line, known: Shorthand, found: Found) -> None:
    """Read a doubt about a joint, sheath or bursa as synovial entry suspected."""
    for i, word in enumerate(line.words):
        if word.text not in known.doubt or not line.free(i):
            continue
        if any(line.words[j].text in known.no for j in line.clause(i)):
            line.shut.update(line.clause(i))
            continue
        near = (*line.neighbours(i, -1, 3), *line.neighbours(i, 1, 3), i - 1, i + 1)
        met = [
            j
            for j in near
            if 0 <= j < len(line.words)
            and line.words[j].clause == word.clause
            and line.words[j].text in known.synovial
            and line.free(j)
        ]
        if met:
            words = line.typed((i, met[0]))
            found.put("synovial_entry", "suspected", words)
            line.claimed.update({i, met[0]})
            line.shut.update(
                j
                for j in near
                if 0 <= j < len(line.words)
                and line.free(j)
                and line.words[j].text in {"open", "opened", "entered", "excluded"}
            )
