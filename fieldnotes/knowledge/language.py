"""The language an owner reads: a catalogue from our English texts to theirs."""

from __future__ import annotations

from collections.abc import Mapping  # noqa: TC003  (a dataclass reads it)
from dataclasses import dataclass, field, replace
from functools import cache
from typing import TYPE_CHECKING, cast

from fieldnotes.domain.errors import KnowledgeError
from fieldnotes.domain.patients import LANGUAGES
from fieldnotes.knowledge.source import parse_table, shipped_text

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.knowledge.regions import Region, Side

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


@dataclass(frozen=True)
class Language:
    """A language: its words for days and months, how figures are written, and the catalogue."""

    code: str = "en"
    name: str = "English"
    days: tuple[str, ...] = DAYS
    months: tuple[str, ...] = MONTHS
    after_day: str = ""
    decimal: str = "."
    texts: Mapping[str, str] = field(default_factory=dict)

    def say(self, english: str, **named: object) -> str:
        """Give a text of ours in this language, itself where the catalogue lacks it."""
        text = self.texts.get(english, english)
        return text.format(**named) if named else text

    def case_of(self, use: str, english: str) -> str:
        """Give a word as a sentence of a certain use needs it ("cover: bandage")."""
        return self.texts.get(f"{use}: {english}", english)

    def day(self, day: dt.date) -> str:
        """Give a date without its weekday, as "3 June"."""
        return f"{day.day}{self.after_day} {self.months[day.month - 1]}"


ENGLISH = Language()


def placed(region: Region, language: Language) -> str:
    """Give a region in the owner's words, with its side."""
    cls = replace(region.cls, lay_template=language.say(region.cls.lay_template))
    side = cast("Side | None", language.say(region.side) if region.side else None)
    return cls.sided_lay_name(side)


@cache
def load_language(code: str) -> Language:
    """Give a language by its code; English for an empty one, KnowledgeError for one unknown."""
    if code in {"", ENGLISH.code}:
        return ENGLISH
    if code not in LANGUAGES:
        raise KnowledgeError(f"no language is called '{code}'; there are {', '.join(LANGUAGES)}")
    file = f"language_{code}.toml"
    data = parse_table(file, shipped_text(file)).data
    texts = data.get("text")
    if not isinstance(texts, dict) or not all(isinstance(t, str) for t in texts.values()):
        raise KnowledgeError(f"{file}, text: English text = its translation")
    if not str(data.get("source", "")).strip():
        raise KnowledgeError(f"{file}, source: who translated it")
    return Language(
        code,
        data["name"],
        tuple(data["days"]),
        tuple(data["months"]),
        data["after_day"],
        data["decimal"],
        texts,
    )
