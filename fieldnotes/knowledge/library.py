"""All knowledge tables together, each read when it is first asked for."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from fieldnotes.knowledge.drugs import load_drugs, with_overrides
from fieldnotes.knowledge.handout import load_handout
from fieldnotes.knowledge.healing import load_healing
from fieldnotes.knowledge.limits import load_limits
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.knowledge.rules import load_rules
from fieldnotes.knowledge.service import load_services

if TYPE_CHECKING:
    from fieldnotes.domain.patients import Practice
    from fieldnotes.knowledge.drugs import Drugs
    from fieldnotes.knowledge.handout import HandoutTexts
    from fieldnotes.knowledge.healing import HealingTables
    from fieldnotes.knowledge.limits import Limits
    from fieldnotes.knowledge.regions import Regions
    from fieldnotes.knowledge.rules import Rules
    from fieldnotes.knowledge.service import Services


class Library:
    """The shipped tables with the practice's overrides merged in."""

    def __init__(self, practice: Practice | None = None) -> None:
        self._practice = practice

    @cached_property
    def regions(self) -> Regions:
        """The regions of the body map and what lies beneath."""
        return load_regions()

    @cached_property
    def limits(self) -> Limits:
        """Bounds outside which a figure cannot be right."""
        return load_limits()

    @cached_property
    def healing(self) -> HealingTables:
        """Phases, published series and flag rules."""
        return load_healing()

    @cached_property
    def drugs(self) -> Drugs:
        """The formulary, doses the practice has set merged in."""
        drugs = load_drugs()
        return with_overrides(drugs, self._practice.dose_overrides) if self._practice else drugs

    @cached_property
    def rules(self) -> Rules:
        """The follow-up rules."""
        return load_rules()

    @cached_property
    def services(self) -> Services:
        """Minutes and things to load for each kind of task."""
        return load_services()

    @cached_property
    def handout(self) -> HandoutTexts:
        """The text blocks of the owner's handout."""
        return load_handout()
