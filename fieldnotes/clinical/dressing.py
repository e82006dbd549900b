"""Which dressing now: by phase, exudate, place and tendency to proud flesh, with the reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    from fieldnotes.domain.wounds import Amount, Phase
    from fieldnotes.knowledge.dressings import DressingRow


@dataclass(frozen=True)
class WoundState:
    """What decides the dressing; `prone` is a place that tends to proud flesh."""

    phase: Phase
    exudate: Amount
    exposed: bool = False
    graft: bool = False
    infected: bool = False
    proud_flesh: bool = False
    prone: bool = False


def _fits(row: DressingRow, state: WoundState) -> bool:
    asked = (
        (row.exposed, state.exposed),
        (row.graft, state.graft),
        (row.infected, state.infected),
        (row.proud_flesh, state.proud_flesh),
        (row.prone, state.prone),
    )
    return (
        all(want is None or want is has for want, has in asked)
        and (not row.phases or state.phase.value in row.phases)
        and (not row.exudates or state.exudate.value in row.exudates)
    )


def choose_dressing(rows: tuple[DressingRow, ...], state: WoundState) -> DressingRow:
    """Give the first row that fits the wound; the vet may choose otherwise."""
    for row in rows:
        if _fits(row, state):
            return row
    raise RefusedInputError("phase", f"no dressing is listed for {state.phase}, {state.exudate}")
