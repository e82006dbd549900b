"""The lines of each calculator, the same on the command line and in the visit form."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.units import lb_from_kg
from fieldnotes.knowledge.weights import MEASURES

if TYPE_CHECKING:
    from fieldnotes.clinical.bandage import Build, Material
    from fieldnotes.clinical.dilution import Dilution
    from fieldnotes.clinical.tetanus import TetanusDecision
    from fieldnotes.clinical.triage import Triage
    from fieldnotes.clinical.weight import Estimate, Tape, WeightEstimate

CAUTION = "Label, local law and the vet's judgement rule."


def _estimate_line(estimate: Estimate) -> str:
    kg = estimate.weight_kg
    return f"{kg:.0f} kg ({lb_from_kg(kg):.0f} lb) by {estimate.formula}, {estimate.source}"


def weight_lines(found: WeightEstimate, tape: Tape) -> list[str]:
    """Give a weight with what it was measured from, its error, and what other formulas give."""
    read = ", ".join(f"{m} {tape.of(m):.1f} cm" for m in MEASURES if tape.of(m) is not None)
    lines = [_estimate_line(found.chosen), f"  from {read}", f"  error: {found.chosen.error}"]
    lines += [f"  also {_estimate_line(o)}" for o in found.others]
    if found.ideal:
        lines.append(f"  ideal for the frame {_estimate_line(found.ideal)}")
    return [*lines, *(f"! {w}" for w in found.warnings)]


def dilution_lines(made: Dilution) -> list[str]:
    """Give stock and diluent with the formula and its figures."""
    return [
        f"{made.stock_ml:g} mL stock + {made.diluent_ml:g} mL diluent",
        f"  = {made.final_ml:g} mL of {made.target_percent:g} % (1 part + {made.parts:g} parts)",
        "  stock mL = target % x final mL / stock %; source: arithmetic, % w/v",
        f"  = {made.target_percent:g} x {made.final_ml:g} / {made.stock_percent:g}",
    ]


def tetanus_lines(decision: TetanusDecision) -> list[str]:
    """Give what is due, until when it covers, why and by which rule."""
    lines = [f"toxoid: {'yes' if decision.toxoid else 'no'}"]
    if decision.antitoxin_units:
        lines.append(f"antitoxin: {decision.antitoxin_units:,} IU SC or IM")
    if decision.next_dose:
        lines.append("next dose: {} to {}".format(*decision.next_dose))
    if decision.antitoxin_cover:
        lines.append("antitoxin cover ends: {} to {}".format(*decision.antitoxin_cover))
        lines.append(f"repeat antitoxin if high risk: {decision.antitoxin_repeat}")
    return [*lines, f"  {decision.why}", f"  source: {decision.source}"]


def build_lines(place: str, build: Build) -> list[str]:
    """Give the layers from the skin outward, each with its purpose and rule."""
    lines = [f"{place}: {build.kind}, from the skin outward"]
    for i, layer in enumerate(build.layers, 1):
        lines.append(f"{i}. {layer.role}: {layer.material} - {layer.purpose}")
        lines.append(f"   {layer.rule} ({layer.source})")
    return lines


def material_lines(
    need: Material, girth_cm: float, girth_source: str, height_cm: float, passes: float
) -> list[str]:
    """Give turns, length and rolls with the formula of each."""
    return [
        f"girth {girth_cm:g} cm ({girth_source})",
        f"  with padding {need.effective_girth_cm:.2f} cm = girth + 2 pi x padding",
        f"height {height_cm:g} cm",
        f"turns {need.turns:.2f} = height / (width x (1 - overlap))",
        f"length {need.length_cm:.1f} cm = passes ({passes:g}) x turns x girth with padding",
        f"rolls {need.rolls} = length / roll length, rounded up",
    ]


def triage_lines(found: Triage) -> list[str]:
    """Give how soon it must be seen, each reason with its source, then what to do and ask."""
    lines = [f"to be seen: {found.urgency}"]
    lines += [f"  {r.urgency}: {r.why} ({r.source})" for r in found.reasons] or ["  no sign named"]
    lines += [f"  until then: {text}" for text in found.advice]
    return [*lines, *(f"! {note}" for note in found.notes)]
