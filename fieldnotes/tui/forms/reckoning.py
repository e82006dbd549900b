"""The calculators, a page each, and what they start from on a case or on no case at all."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.treatments import recorded
from fieldnotes.tui.forms.drug_panes import at_hand
from fieldnotes.tui.forms.reckon_animal import (
    tetanus,
    tetanus_fields,
    triage,
    triage_fields,
    weight,
    weight_fields,
)
from fieldnotes.tui.forms.reckon_drugs import dose_fields, local, local_fields, one_dose
from fieldnotes.tui.forms.reckon_page import Bench, Page
from fieldnotes.tui.forms.reckon_wound import (
    bandage,
    bandage_fields,
    dilution,
    dilution_fields,
)

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework

PAGES = (
    Page("weight", "Weight", weight_fields, weight),
    Page("dose", "Dose", dose_fields, one_dose),
    Page("local", "Local", local_fields, local),
    Page("dilution", "Dilution", dilution_fields, dilution),
    Page("tetanus", "Tetanus", tetanus_fields, tetanus),
    Page("bandage", "Bandage", bandage_fields, bandage),
    Page("triage", "Triage", triage_fields, triage),
)


def bench_of(desk: Casework, ref: str = "") -> Bench:
    """Give what is known of a case; without one, of no animal at all."""
    now, months = desk.now(), desk.practice().tetanus_rule_months
    patient = at_hand(desk, now)
    if not ref:
        return Bench(desk.knowledge, patient(None, None), months)
    case = desk.case(ref)
    horse = desk.register().horses.get(case.opened.horse)
    known = horse.weight() if horse else None
    bed = desk.bedside(case)
    return Bench(
        desk.knowledge,
        patient(horse, known.kg if known else None),
        months,
        wounds=case.wounds,
        injured_on=case.opened.injured_at.date(),
        case=case,
        given=recorded(bed) if bed else (),
    )
