"""All knowledge tables together, each imported and read when it is first asked for."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldnotes.domain.formulary import PracticeDrug
    from fieldnotes.domain.patients import Practice
    from fieldnotes.domain.register import Register
    from fieldnotes.knowledge.antiseptics import Antiseptic
    from fieldnotes.knowledge.bandages import Bandages
    from fieldnotes.knowledge.controlled import ControlledTables
    from fieldnotes.knowledge.disputes import Option
    from fieldnotes.knowledge.dressings import DressingRow
    from fieldnotes.knowledge.drugs import Drugs
    from fieldnotes.knowledge.handout import HandoutTexts
    from fieldnotes.knowledge.healing import HealingTables
    from fieldnotes.knowledge.interactions import Interactions
    from fieldnotes.knowledge.limits import Limits
    from fieldnotes.knowledge.outcomes import OutcomeTable
    from fieldnotes.knowledge.regions import Regions
    from fieldnotes.knowledge.routes import Route
    from fieldnotes.knowledge.rules import Rules
    from fieldnotes.knowledge.service import Services
    from fieldnotes.knowledge.synovial_fluid import SynovialTable
    from fieldnotes.knowledge.tetanus import TetanusTable
    from fieldnotes.knowledge.topicals import Topical
    from fieldnotes.knowledge.triage import TriageTables
    from fieldnotes.knowledge.vitals import VitalTables
    from fieldnotes.knowledge.weights import Weights
    from fieldnotes.knowledge.wound_ages import WoundAges


class Library:
    """The shipped tables with the practice's overrides merged in."""

    def __init__(
        self,
        practice: Practice | None = None,
        own: Mapping[str, PracticeDrug] | None = None,
        register: Register | None = None,
    ) -> None:
        self._practice = practice
        self._own = own or {}
        self._register = register

    @property
    def jurisdiction(self) -> str:
        """Whose law and labels the practice works under; empty if it was never set."""
        return self._practice.jurisdiction if self._practice else ""

    @property
    def zone(self) -> str:
        """The practice's time zone: its calendar counts the days of a wound."""
        return self._practice.zone if self._practice else "UTC"

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
    def outcomes(self) -> OutcomeTable:
        """What counts as what when outcomes are counted."""
        from fieldnotes.knowledge.outcomes import load_outcomes

        return load_outcomes()

    @cached_property
    def rules(self) -> Rules:
        """The follow-up rules, the practice's changes and settled disputes merged in."""
        if self._register is not None and (self._register.rules or self._register.disputes):
            from fieldnotes.knowledge.own_rules import with_changes

            return with_changes(self._register.rules, self._register.disputes)
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
    def bandages(self) -> Bandages:
        """Bandage kinds, their layers from the skin outward, and materials."""
        from fieldnotes.knowledge.bandages import load_bandages

        return load_bandages()

    @cached_property
    def dressings(self) -> tuple[DressingRow, ...]:
        """Which dressing for which state of a wound."""
        from fieldnotes.knowledge.dressings import load_dressings

        return load_dressings()

    @cached_property
    def triage(self) -> TriageTables:
        """How urgent what an owner reports is."""
        from fieldnotes.knowledge.triage import load_triage

        return load_triage()

    @cached_property
    def drugs(self) -> Drugs:
        """The formulary with the practice's doses, strengths, choices and confirmations."""
        from fieldnotes.knowledge.drugs import load_drugs, with_overrides
        from fieldnotes.knowledge.own_drugs import with_practice

        drugs, practice = load_drugs(), self._practice
        if practice is None:
            return with_practice(drugs, self._own)
        changed = with_overrides(drugs, practice.dose_overrides)
        return with_practice(changed, self._own, practice.confirmed_drugs)

    @cached_property
    def controlled(self) -> ControlledTables:
        """Which drugs are controlled, by jurisdiction."""
        from fieldnotes.knowledge.controlled import load_controlled

        return load_controlled()

    @cached_property
    def antiseptics(self) -> tuple[Antiseptic, ...]:
        """Antiseptics for lavage and what they do to an open joint or sheath."""
        from fieldnotes.knowledge.antiseptics import load_antiseptics

        return load_antiseptics()

    @cached_property
    def interactions(self) -> Interactions:
        """The interaction and contraindication rules, chlorhexidine as the practice settled it."""
        from fieldnotes.knowledge.interactions import allowed_to, load_interactions

        most = self.settled("chlorhexidine-joint").most_percent
        tables = load_interactions()
        return tables if most is None else allowed_to(tables, "chlorhexidine", "synovial", most)

    @cached_property
    def routes(self) -> tuple[Route, ...]:
        """Routes of administration."""
        from fieldnotes.knowledge.routes import load_routes

        return load_routes()

    @cached_property
    def synovial_fluid(self) -> SynovialTable:
        """Cut-offs of synovial fluid."""
        from fieldnotes.knowledge.synovial_fluid import load_synovial_fluid

        return load_synovial_fluid()

    @cached_property
    def tetanus(self) -> TetanusTable:
        """Tetanus intervals and courses."""
        from fieldnotes.knowledge.tetanus import load_tetanus

        return load_tetanus()

    @cached_property
    def topicals(self) -> tuple[Topical, ...]:
        """Topicals with the evidence for and against."""
        from fieldnotes.knowledge.topicals import load_topicals

        return load_topicals()

    @cached_property
    def vitals(self) -> VitalTables:
        """Normal vital signs by species and age class."""
        from fieldnotes.knowledge.vitals import load_vitals

        return load_vitals()

    @cached_property
    def weights(self) -> Weights:
        """Body-weight formulas, without one the practice leaves out."""
        from fieldnotes.knowledge.weights import load_weights, without_formula

        return without_formula(load_weights(), self.settled("donkey-divisor").without_formula)

    @cached_property
    def wound_ages(self) -> WoundAges:
        """Classes of wounds by their age at first sight."""
        from fieldnotes.knowledge.wound_ages import load_wound_ages

        return load_wound_ages()

    def settled(self, dispute: str) -> Option:
        """Give the option in force of what the sources dispute, by the dispute's id."""
        from fieldnotes.knowledge.disputes import one_dispute, option_in_force

        settled = self._register.disputes if self._register is not None else {}
        return option_in_force(one_dispute(dispute), settled, self._practice)
