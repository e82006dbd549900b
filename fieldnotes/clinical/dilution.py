"""Dilution of antiseptics (% w/v), and which antiseptic may not go near a synovial structure."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fieldnotes.domain.errors import RefusedInputError


@dataclass(frozen=True)
class Dilution:
    """Stock and diluent in mL; `parts` n reads "1 part stock and n parts diluent"."""

    stock_ml: float
    diluent_ml: float
    parts: float
    stock_percent: float
    target_percent: float
    final_ml: float


def _check(field: str, value: float, most: float = math.inf) -> None:
    if not math.isfinite(value) or not 0 < value <= most:
        upper = "" if most == math.inf else f" and at most {most:g}"
        raise RefusedInputError(field, f"{value:g} must be above 0{upper}")


def dilute(stock_percent: float, target_percent: float, final_ml: float) -> Dilution:
    """Give stock mL = target % x final mL / stock %; refused where the target is over the stock."""
    _check("stock-percent", stock_percent, 100)
    _check("target-percent", target_percent, 100)
    _check("final-ml", final_ml)
    if target_percent > stock_percent:
        raise RefusedInputError(
            "target-percent", f"{target_percent:g} % is over the stock's {stock_percent:g} %"
        )
    stock_ml = target_percent * final_ml / stock_percent
    return Dilution(
        stock_ml=stock_ml,
        diluent_ml=final_ml - stock_ml,
        parts=stock_percent / target_percent - 1,
        stock_percent=stock_percent,
        target_percent=target_percent,
        final_ml=final_ml,
    )
