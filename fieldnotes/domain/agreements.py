"""What was agreed with the client: consents, refusals, notices and estimates."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum


class ConsentKind(StrEnum):
    """What a client agreed to, declined or was told."""

    TREATMENT = "treatment"
    DECLINED = "declined option"
    PHOTO_SHARING = "photo sharing"
    INSURER = "insurer notice"
    FOOD_CHAIN = "food chain exclusion"


@dataclass(frozen=True)
class Consent:
    """A consent, refusal or notice: what, risks told, by whom, spoken or written.

    `document_on` is the day the animal's document was changed, for a food-chain exclusion.
    """

    kind: ConsentKind
    on: dt.date
    what: str
    risks_told: str = ""
    by: str = ""
    written: bool = False
    given: bool = True
    document_on: dt.date | None = None


@dataclass(frozen=True)
class Estimate:
    """An estimate with its limit; passing the limit warns."""

    on: dt.date
    amount: float
    limit: float
    currency: str
    spent: float = 0.0
    by: str = ""
