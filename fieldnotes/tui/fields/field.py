"""A field: where its answer goes, what it is called, how the typed text is read and echoed.

An answer is always the text as typed (for a choice, the id of what was chosen), so that a form
is one flat table of texts: it can be journalled, restored and redrawn without losing anything.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.text import clean, clean_line


@dataclass(frozen=True)
class Option:
    """Something that can be chosen: its id in the answer, its words, its letter (or none)."""

    id: str
    words: str
    letter: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Field:
    """A line of free text; subclasses read other things.

    `key` is the dotted path of the record's field; `also` names further paths whose problems
    are shown here; `default` counts as the answer until something is typed.
    """

    key: str
    label: str
    hint: str = ""
    default: str = ""
    also: tuple[str, ...] = ()
    required: bool = False

    def read(self, text: str) -> Any:  # noqa: ANN401  (each field reads its own type)
        """Give the value a text stands for; RefusedInputError says what is wrong with it."""
        if self.required and not text.strip():
            self.refuse("this is needed")
        return self._read(text)

    def _read(self, text: str) -> Any:  # noqa: ANN401  (each field reads its own type)
        return clean_line(text)

    def echo(self, text: str) -> str:
        """Give what the text was understood as, where that is not plain."""
        _ = text
        return ""

    def shown(self, answer: str) -> str:
        """Give the words for an answer that was chosen rather than typed."""
        return answer

    def told(self, answer: str) -> str:
        """Give the answer in words for the review."""
        return self.shown(answer)

    def options(self, text: str) -> tuple[Option, ...]:
        """Give what may be chosen, given what has been typed so far."""
        _ = text
        return ()

    def refuse(self, reason: str) -> None:
        """Refuse the text, in the user's words."""
        raise RefusedInputError(self.key, reason)

    def answers_for(self, path: str) -> bool:
        """Whether a problem at a path is shown beside this field."""
        return path == self.key or path in self.also


@dataclass(frozen=True, kw_only=True)
class LongText(Field):
    """Free text of any length; line breaks are kept."""

    def _read(self, text: str) -> str:
        return clean(text).strip()
