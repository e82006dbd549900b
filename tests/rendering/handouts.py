"""A rich invented case and its handout, shared by the tests of this room."""

from __future__ import annotations

import datetime as dt
from functools import cache
from typing import Any

from fieldnotes.domain.followups import Doer, Series
from fieldnotes.domain.treatment import Lavage
from fieldnotes.domain.wounds import Amount
from fieldnotes.knowledge.bandages import load_bandages
from fieldnotes.knowledge.drugs import load_drugs
from fieldnotes.knowledge.handout import load_handout
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.rendering.handout.concerned import Concerned
from fieldnotes.rendering.handout.making import Tables, aftercare_sheet
from fieldnotes.rendering.handout.pages import TEMPLATE, filled_or_shipped
from tests.builders import (
    DAY0,
    a_bandage,
    a_care,
    a_case,
    a_closure,
    a_device,
    a_drug_dispensed,
    a_drug_given,
    a_finding,
    a_followup,
    a_horse,
    a_person,
    a_practice,
    a_premises,
    a_visit,
    an_owner,
    day,
)

PLAN = (
    a_followup("recheck", 2, 3, 4),
    a_followup("drain out", 2, 3, 4),
    a_followup(
        "change the bandage",
        2,
        2,
        2,
        by=Doer.OWNER,
        kind="bandage change",
        series=Series(2, day(14)),
    ),
    a_followup("take out the stitches", 12, 13, 14),
)


@cache
def tables() -> Tables:
    return Tables(load_handout(), load_regions(), load_drugs(), load_bandages())


def rich_visit(**changes: Any) -> Any:
    care = a_care(
        clipped=True,
        lavage=Lavage("saline", 1000.0),
        debridement="layered",
        closure=a_closure(),
        placed=(a_device(),),
        topical="silver sulfadiazine 1 % cream",
        bandage=a_bandage(change_every_days=2.0),
    )
    values: dict[str, Any] = {
        "findings": (a_finding(exudate=Amount.MODERATE),),
        "care": (care,),
        "given": (a_drug_given(),),
        "dispensed": (
            a_drug_dispensed(batch="B123", expiry=dt.date(2026, 1, 31), withdrawal="not for food"),
            a_drug_dispensed(
                "trimethoprim-sulfonamide", amount=15.0, owner_dose="2 level scoops", days=7.0
            ),
        ),
        "instructions": "Walk in hand 5 minutes from Friday.",
        "housing": "Stable rest",
    }
    return a_visit(0, **(values | changes))


def a_sheet(visit: Any = None, plan: Any = PLAN, once: bool = True, **who: Any) -> Any:
    values: dict[str, Any] = {
        "case": a_case(visit or rich_visit()),
        "horse": a_horse(),
        "owner": an_owner(),
        "premises": a_premises(),
        "practice": a_practice(),
        "vet": a_person(),
    }
    return aftercare_sheet(Concerned(**(values | who)), plan, tables(), DAY0, once=once)


def handout_markdown(sheet: Any, own: str | None = None) -> tuple[str, tuple[Any, ...]]:
    """The handout as CommonMark by the practice's own template where it works, and the faults."""
    text, problem = filled_or_shipped(TEMPLATE, own, sheet=sheet)
    return text, (problem,) if problem else ()
