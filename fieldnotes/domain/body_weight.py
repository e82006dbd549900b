"""A body weight as typed and as shown: kilograms, with pounds where a practice has them.

It is kept and reckoned with in kilograms alone.
"""

from __future__ import annotations

import re

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.units import kg_from_lb, lb_from_kg

METRIC, US = "metric", "us"
UNITS = (METRIC, US)
_TYPED = re.compile(r"(\d+(?:[.,]\d+)?)\s*([a-z]*)\.?", re.ASCII | re.IGNORECASE)
_THOUSANDS = re.compile(r"\d{1,2},\d{3}(?!\d)", re.ASCII)
_KG = frozenset({"kg", "kgs", "kilo", "kilos"})
_LB = frozenset({"lb", "lbs", "pound", "pounds"})


def read_weight(text: str, units: str = METRIC) -> float:
    """Give kilograms; a figure without a unit is pounds where the practice has US units.

    What is turned from pounds is rounded to 0.1 kg, so that the figure shown is the one used.
    """
    found = _TYPED.fullmatch(text.strip())
    if found is None:
        raise RefusedInputError("", f"'{text.strip()}' is not a weight such as 480 kg or 1050 lb")
    if _THOUSANDS.fullmatch(found[1]):
        raise RefusedInputError("", f"'{found[1]}': thousands are typed without a comma")
    figure, unit = float(found[1].replace(",", ".")), found[2].casefold()
    if unit not in {"", *_KG, *_LB}:
        raise RefusedInputError("", f"'{found[2]}' is not a unit this is taken in: kg or lb")
    in_pounds = unit in _LB or (not unit and units == US)
    return round(kg_from_lb(figure), 1) if in_pounds else figure


def has_unit(text: str) -> bool:
    """Say whether a typed weight names its unit."""
    found = _TYPED.fullmatch(text.strip())
    return found is not None and bool(found[2])


def weight_text(kg: float, units: str = METRIC) -> str:
    """Give a weight to be shown: 476.3 kg, or 476.3 kg (1050 lb)."""
    return f"{kg:g} kg ({lb_from_kg(kg):.0f} lb)" if units == US else f"{kg:g} kg"


def weight_answer(kg: float, units: str = METRIC) -> str:
    """Give a weight as text that is read as the same, whatever a bare figure stands for."""
    return f"{kg:g} kg" if units == US else f"{kg:g}"
