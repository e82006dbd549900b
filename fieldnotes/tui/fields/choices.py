"""Fields with given answers: one of a few by its letter, several, or one found by its name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.text import clean_line
from fieldnotes.tui.fields.field import Field, Option

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

LETTERS = "abcdefghijklmnopqrstuvwxyz0123456789"


def lettered(pairs: Iterable[tuple[str, str]]) -> tuple[Option, ...]:
    """Give (id, words) pairs a letter each: the first of its own letters still free."""
    taken: set[str] = set()
    options = []
    for key, words in pairs:
        wanted = [c for c in words.casefold() if c in LETTERS] + list(LETTERS)
        letter = next((c for c in wanted if c not in taken), "")
        taken.add(letter)
        options.append(Option(key, words, letter))
    return tuple(options)


def of_words(words: Iterable[str]) -> tuple[Option, ...]:
    """Give options whose id is their own words."""
    return lettered((w, w) for w in words)


YES_NO = (Option("yes", "yes", "y"), Option("", "no", "n"))


@dataclass(frozen=True, kw_only=True)
class ChoiceField(Field):
    """One of a few; the answer is the option's id. `carried` starts from last time and says so."""

    given: tuple[Option, ...]
    carried: bool = False

    def echo(self, text: str) -> str:
        """Say that the answer is the one of last time."""
        return "as before" if self.carried and text and text == self.default else ""

    def options(self, text: str) -> tuple[Option, ...]:
        """Give all options."""
        _ = text
        return self.given

    def shown(self, answer: str) -> str:
        """Give the chosen words."""
        return next((o.words for o in self.given if o.id == answer), answer)

    def _read(self, text: str) -> str:
        if text and all(o.id != text for o in self.given):
            raise RefusedInputError(self.key, f"'{text}' is not one of the choices")
        return text

    def by_letter(self, letter: str) -> Option | None:
        """Give the option of a letter."""
        return next((o for o in self.given if o.letter == letter.casefold()), None)


@dataclass(frozen=True, kw_only=True)
class ManyField(ChoiceField):
    """Any number of a few; the answer is their ids, comma-separated, in the order given."""

    def _read(self, text: str) -> tuple[str, ...]:  # type: ignore[override]
        chosen = {part for part in text.split(",") if part}
        return tuple(o.id for o in self.given if o.id in chosen)

    def shown(self, answer: str) -> str:
        """Give the chosen words."""
        chosen = self._read(answer)
        return ", ".join(o.words for o in self.given if o.id in chosen)

    def toggled(self, answer: str, option: Option) -> str:
        """Give the answer with one option put in or taken out."""
        chosen = set(self._read(answer)) ^ {option.id}
        return ",".join(o.id for o in self.given if o.id in chosen)


@dataclass(frozen=True, kw_only=True)
class FindField(Field):
    """One of many, found by part of its name; the answer is its id once it is clear.

    `find` gives the best matches for a text; `naming` the words of an id; `adding` says how one
    that is not there yet is added.
    """

    find: Callable[[str], tuple[Option, ...]]
    naming: Callable[[str], str]
    what: str = "entry"
    free: bool = False
    adding: str = ""

    def options(self, text: str) -> tuple[Option, ...]:
        """Give what the text may mean, best first."""
        return () if self.naming(text) else self.find(text)

    def shown(self, answer: str) -> str:
        """Give the words of what was found."""
        return self.naming(answer) or answer

    def _read(self, text: str) -> str:
        if not text.strip() or self.naming(text):
            return text
        found = self.find(text)
        if len(found) == 1:
            return found[0].id
        if self.free:
            return clean_line(text)
        some = f"fits {len(found)}; choose one with the arrows and Enter"
        none = f"fits no {self.what}" + (f"; {self.adding}" if self.adding else "")
        raise RefusedInputError(self.key, f"'{text.strip()}' {some if found else none}")
