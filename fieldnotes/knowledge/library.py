"""All knowledge tables together, each imported and read when it is first asked for."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

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
        from fieldnotes.knowledge.regions import load_regions

        return load_regions()

    @cached_property
    def limits(self) -> Limits:
        """Bounds outside which a figure cannot be right."""
        from fieldnotes.knowledge.limits import load_limits

        return load_limits()

    @cached_property
    def healing(self) -> HealingTables:
        """Phases, published series and flag rules."""
        from fieldnotes.knowledge.healing import load_healing

        return load_healing()

    @cached_property
    def rules(self) -> Rules:
        """The follow-up rules."""
        from fieldnotes.knowledge.rules import load_rules

        return load_rules()

    @cached_property
    def services(self) -> Services:
        """Minutes and things to load for each kind of task."""
        from fieldnotes.knowledge.service import load_services

        return load_services()

    @cached_property
    def handout(self) -> HandoutTexts:
        """The text blocks of the owner's handout."""
        from fieldnotes.knowledge.handout import load_handout

        return load_handout()

    @cached_property
    def drugs(self) -> Drugs:
        """The formulary, doses the practice has set merged in."""
        from fieldnotes.knowledge.drugs import load_drugs, with_overrides

        drugs = load_drugs()
        return with_overrides(drugs, self._practice.dose_overrides) if self._practice else drugs
