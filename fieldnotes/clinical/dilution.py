"""Dilution of antiseptics (% w/v), and which antiseptic may not go near a synovial structure."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    from fieldnotes.domain.treatment import Lavage
    from fieldnotes.knowledge.antiseptics import Antiseptic


@dataclass(frozen=True)
class Dilution:
    """Stock and diluent in mL; `parts` n reads "1 part stock and n parts diluent"."""

    stock_ml: float
    diluent_ml: float
    parts: float
    stock_percent: float
    target_percent: float
    final_ml: float


@dataclass(frozen=True)
class AntisepticFinding:
    """What an antiseptic meets at a wound: block or note, with what to use instead."""

    level: str
    why: str
    instead: str
    source: str


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


def antiseptic_finding(
    antiseptic: Antiseptic, percent: float, structures: tuple[str, ...], *, entry_excluded: bool
) -> AntisepticFinding | None:
    """Give the block for an antiseptic where a synovial structure may be open; None if clear."""
    if not structures or entry_excluded or antiseptic.synovial_below_percent is None:
        return None
    if percent < antiseptic.synovial_below_percent:
        return None
    near = ", ".join(structures)
    return AntisepticFinding(
        level="block",
        why=f"{antiseptic.name} {percent:g} % and entry of {near} is not excluded: "
        f"{antiseptic.synovial_why}",
        instead=antiseptic.synovial_instead,
        source=antiseptic.synovial_source,
    )


def lavage_text(lavage: Lavage) -> str:
    """Give the lavage as recorded: fluid, volume and device; a pressure is never made up."""
    fluid = lavage.fluid
    if lavage.percent is not None:
        fluid = f"{fluid} {lavage.percent:g} %"
    parts = [f"lavage with {fluid}"]
    if lavage.volume_ml is not None:
        litres = lavage.volume_ml / 1000
        parts.append(f"{litres:g} L" if litres >= 1 else f"{lavage.volume_ml:g} mL")
    if lavage.device:
        parts.append(lavage.device)
    return ", ".join(parts)
