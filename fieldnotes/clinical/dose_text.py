"""A reckoned dose as one line for the visit form, the note and the owner's sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldnotes.clinical.doses import DoseOption
    from fieldnotes.knowledge.drugs import Drug

_MICROGRAMS_BELOW = 0.1


def amount_text(amount: float, unit: str) -> str:
    """Give an amount with its unit, at most four figures after the point."""
    return f"{amount:,.4f}".rstrip("0").rstrip(".") + f" {unit}"


def per_kg_text(option: DoseOption) -> str:
    """Give the dose as it is spoken of: in all, or per kg, small mg doses in micrograms."""
    if option.in_all:
        return f"{amount_text(option.amount, option.unit)} in all"
    if option.unit == "mg" and option.per_kg < _MICROGRAMS_BELOW:
        return f"{option.per_kg * 1000:.4g} ug/kg"
    return f"{amount_text(option.per_kg, option.unit)}/kg"


def measure_text(option: DoseOption) -> str:
    """Give what is drawn up or counted out: mL, or the exact and the rounded count."""
    if option.volume_ml is not None:
        return (
            f"{option.volume_ml:.2f} mL" if option.volume_ml < 10 else f"{option.volume_ml:.1f} mL"
        )
    exact = f"{option.units:.2f} {option.unit_name}"
    if option.units_rounded is None:
        return exact
    return (
        f"{exact}, rounded {option.units_rounded:g} = "
        f"{amount_text(option.per_kg_rounded or 0, option.unit)}/kg"
    )


def interval_text(option: DoseOption) -> str:
    """Give the interval in words."""
    if option.interval_h is None:
        return "once"
    if option.interval_most_h and option.interval_most_h != option.interval_h:
        return f"every {option.interval_h:g} to {option.interval_most_h:g} h"
    return f"every {option.interval_h:g} h"


def strength_text(option: DoseOption) -> str:
    """Give the strength with its unit."""
    return f"{option.strength.amount:,g} {option.unit}/{option.strength.per}"


def dose_line(name: str, option: DoseOption) -> str:
    """Give "flunixin 1.1 mg/kg IV = 550 mg = 11.0 mL (50 mg/mL), every 24 h, source"."""
    said = [f", CHANGED by {option.changed}"] if option.changed else []
    said += [f", chosen by {option.chosen}"] if option.chosen else []
    stocked = option.strength.changed
    said += [f", strength set by {stocked}"] if stocked else []
    return (
        f"{name} {per_kg_text(option)} {option.route} = {amount_text(option.amount, option.unit)}"
        f" = {measure_text(option)} ({strength_text(option)}), {interval_text(option)}, "
        f"{option.source}{''.join(said)}"
    )


def unconfirmed(name: str) -> str:
    """Say that nobody of the practice has compared a drug's figures with the label."""
    return f"{name} is UNCONFIRMED: the practice has not yet compared these figures with the label"


def drug_lines(drug: Drug) -> tuple[str, ...]:
    """Give a drug's doses, then its strengths, each with its source."""
    lines = []
    for r in drug.regimens:
        amount = f"{r.low:.4g}" if r.low == r.high else f"{r.low:.4g}-{r.high:.4g}"
        every = f"every {r.interval_h:g} h" if r.interval_h else "once"
        said = f", CHANGED by {r.changed}" if r.changed else ""
        said += f", chosen by {r.chosen}" if r.chosen else ""
        per = f"{drug.unit}/kg" if r.per_kg else f"{drug.unit} in all"
        lines.append(f"{r.route} {amount} {per} {every} ({r.label}; {r.source}{said})")
    for s in drug.strengths:
        said = f", set by {s.changed}" if s.changed else ""
        lines.append(f"{s.amount:g} {drug.unit}/{s.per} {s.form} ({s.source}{said})")
    return tuple(lines)
