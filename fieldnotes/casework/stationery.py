"""The practice's own templates and text blocks over the shipped ones; an error never stops a paper.

A template or table with an error is reported with its line, and the shipped one is used.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import KnowledgeError
from fieldnotes.knowledge.handout import FILE, load_handout
from fieldnotes.knowledge.source import parse_table
from fieldnotes.rendering.handout.pages import BODY, PAGE, filled_or_shipped

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from fieldnotes.knowledge.handout import HandoutTexts


def unheard(fault: str) -> None:
    """Take a fault and tell nobody."""


@dataclass(frozen=True)
class Stationery:
    """The practice's own files by name, and who is told of an error in one."""

    own: Mapping[str, str] = field(default_factory=dict)
    report: Callable[[str], object] = unheard

    def fill(self, name: str, *, language: str = "en", **values: object) -> str:
        """Fill a template of a language: the practice's own where it works."""
        name = name if language == "en" else f"{language}/{name}"
        text, fault = filled_or_shipped(name, self.own.get(name), **values)
        if fault:
            self.report(f"templates/{fault.field}, {fault.message}")
        return text

    @property
    def page(self) -> str:
        """The practice's own page for HTML, empty for the shipped one."""
        page = self.own.get(PAGE, "")
        if page and BODY not in page:
            self.report(f"templates/{PAGE}: it has no {BODY}; the shipped one is used")
            return ""
        return page

    def texts(self, shipped: HandoutTexts) -> HandoutTexts:
        """Give the text blocks: the practice's own table where it can be read."""
        own = self.own.get(FILE)
        if own is None:
            return shipped
        try:
            return load_handout(parse_table(FILE, own))
        except KnowledgeError as error:
            self.report(f"templates/{error}; the shipped one is used")
            return shipped
