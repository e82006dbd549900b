"""What stands on the label of a drug left with the owner."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.text import clean_line
from fieldnotes.knowledge.language import ENGLISH
from fieldnotes.planning.anchors import last_dose
from fieldnotes.rendering.handout.sheet import MedicineLabel
from fieldnotes.rendering.handout.wording import (
    amount_text,
    day_text,
    every_hours,
    full_day,
    number_text,
)

if TYPE_CHECKING:
    from fieldnotes.domain.treatment import DrugDispensed
    from fieldnotes.knowledge.handout import HandoutTexts
    from fieldnotes.knowledge.language import Language
    from fieldnotes.rendering.handout.concerned import Concerned


def medicine_label(
    about: Concerned, drug: DrugDispensed, texts: HandoutTexts, language: Language = ENGLISH
) -> MedicineLabel:
    """Give one course as its label; what was not noted is empty."""
    route, dose = language.say(texts.plain(drug.route)), amount_text(drug, language)
    last = day_text(last_dose(drug).date(), language)
    return MedicineLabel(
        animal=about.horse.name,
        owner=about.owner.name if about.owner else "",
        drug=clean_line(drug.name),
        strength=drug.strength,
        dose=dose,
        route="" if route in dose.casefold() else route,
        often=every_hours(drug.interval_h, language),
        days=language.say(
            "{n} days, last dose on {day}", n=number_text(drug.days, language), day=last
        ),
        total=drug.total,
        batch=drug.batch,
        expiry=drug.expiry.isoformat() if drug.expiry else "",
        withdrawal=drug.withdrawal,
        vet=about.vet.name if about.vet else "",
        date=full_day(drug.starts.date(), language),
        note=clean_line(drug.note),
    )
