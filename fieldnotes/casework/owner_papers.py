"""Papers for the owner beside the handout: drug labels, and the sheet for a cast or splint."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from fieldnotes.casework.papers import sheet_of
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.text import clean_line
from fieldnotes.knowledge.language import load_language
from fieldnotes.rendering.handout.wording import day_text

if TYPE_CHECKING:
    from fieldnotes.casework.papers import Office
    from fieldnotes.casework.views import CaseFile

LOOKED_AT_DAYS = 14


def drug_labels(file: CaseFile, office: Office, title: str) -> str:
    """Give the label of each drug with the owner; RefusedInputError if there is none."""
    sheet = sheet_of(file, office)
    if not sheet.medicines:
        raise RefusedInputError("labels", f"no drug is with the owner of {clean_line(sheet.horse)}")
    return office.stationery.fill("labels.md.j2", language=sheet.language, title=title, sheet=sheet)


def cast_sheet(file: CaseFile, office: Office, title: str) -> str:
    """Give what the owner of an animal in a cast or splint does; RefusedInputError if it is not."""
    sheet = sheet_of(file, office)
    if not sheet.cast:
        raise RefusedInputError("cast", f"{clean_line(sheet.horse)} has no cast or splint on")
    days = (sheet.date + dt.timedelta(days=n) for n in range(LOOKED_AT_DAYS))
    return office.stationery.fill(
        "cast.md.j2",
        language=sheet.language,
        title=title,
        sheet=sheet,
        days=tuple(day_text(d, load_language(sheet.language)) for d in days),
    )
