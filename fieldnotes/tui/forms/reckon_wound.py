"""Calculators for one wound: the antiseptic it is washed with, and what its bandage takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.clinical.bandage import direction, extent, kind_for, material, needs
from fieldnotes.clinical.dilution import dilute
from fieldnotes.clinical.reckoned_text import CAUTION, dilution_lines, material_lines
from fieldnotes.domain.treatment import Bandage
from fieldnotes.tui.fields.choices import ChoiceField, lettered, of_words
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.forms.finding import find_region
from fieldnotes.tui.forms.form import Answers, Pane, Reading
from fieldnotes.tui.forms.reckon_animal import INCHES
from fieldnotes.tui.forms.reckon_page import Reckoned, needed

if TYPE_CHECKING:
    from fieldnotes.knowledge.antiseptics import Antiseptic
    from fieldnotes.knowledge.bandages import Bandages
    from fieldnotes.knowledge.regions import Region
    from fieldnotes.tui.fields.field import Field
    from fieldnotes.tui.forms.reckon_page import Bench

LITRES = (("l", 1000.0),)


def _wound_field(bench: Bench) -> tuple[ChoiceField, ...]:
    """Give the choice of a wound; none where there is none to choose."""
    if not bench.wounds:
        return ()
    labels = of_words(w.label for w in bench.wounds)
    default = bench.label or bench.wounds[0].label
    return (ChoiceField(key="wound", label="Wound", given=labels, default=default),)


# ----- dilution


def _antiseptics(bench: Bench) -> dict[str, Antiseptic]:
    return {
        a.id: a for a in bench.library.antiseptics if max(a.stock_percent) > a.target_percent[0]
    }


def dilution_fields(bench: Bench, answers: Answers) -> tuple[Field, ...]:
    """Give the antiseptic with its usual strengths, and how much is made."""
    known = _antiseptics(bench)
    first = next(iter(known))
    chosen = known.get(answers.get("antiseptic", first), known[first])
    stocks = ", ".join(f"{s:g}" for s in chosen.stock_percent)
    low, high = chosen.target_percent
    usual = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    return (
        ChoiceField(key="antiseptic", label="Antiseptic", default=first, required=True,
                    given=lettered((a.id, a.name) for a in known.values())),
        NumberField(key="stock-percent", label="Stock", unit="%",
                    default=f"{chosen.stock_percent[0]:g}", hint=f"sold as {stocks} %"),
        NumberField(key="target-percent", label="Wanted", unit="%", default=f"{low:g}",
                    hint=f"usual {usual} % ({chosen.source})"),
        NumberField(key="final-ml", label="To make", unit="mL", default="1000", scales=LITRES,
                    hint="mL, or litres as 5 l"),
        *_wound_field(bench),
    )  # fmt: skip


def dilution(bench: Bench, r: Reading) -> Reckoned:
    """Give stock and diluent; the lavage of the wound is filled in where nothing stands yet."""
    chosen = _antiseptics(bench)[r.get("antiseptic")]
    target, final = needed(r, "target-percent", "how strong?"), needed(r, "final-ml", "how much?")
    made = dilute(needed(r, "stock-percent", "how strong is the stock?"), target, final)
    lines = dilution_lines(made)
    below, field = chosen.synovial_below_percent, f"care.{r.get('wound')}.lavage"
    near = () if below is None or target < below else (
        (f"! where entry of a joint, sheath or bursa is not excluded: {chosen.synovial_why};"
        f" instead {chosen.synovial_instead} ({chosen.synovial_source})"),
    )  # fmt: skip
    fill = (
        ""
        if bench.typed(field) or not r.get("wound")
        else f"{chosen.name} {target:g} % {final:g} ml"
    )
    return Reckoned(
        (chosen.name, *lines, *near, f"  {chosen.note} ({chosen.source})", CAUTION),
        f"{chosen.name}: {lines[0]}, {lines[1].strip(' =')}; from {made.stock_percent:g} % stock",
        ((field, fill),),
    )


# ----- bandage


def _place(bench: Bench, answers: Answers) -> str:
    label = answers.get("wound", bench.label)
    places = {w.label: w.region for w in bench.wounds}
    return places.get(label, next(iter(places.values()), ""))


def _usual_girth(tables: Bandages, region: Region | None) -> tuple[str, str]:
    """Give the middle of a region's usual girth, and where that is from."""
    hint = "mean of top and bottom, without padding"
    around = extent(tables, "", region.cls if region else None)
    if around.girth_cm is None:
        return "", hint
    return f"{around.girth_cm:g}", f"{around.girth_from}; {hint}"


def bandage_fields(bench: Bench, answers: Answers) -> tuple[Field, ...]:
    """Give the place with its girth and height, then the roll and how it is wound."""
    tables, known = bench.library.bandages, bench.library.regions
    roll = tables.roll
    place = find_region("region", "Region", known, default=_place(bench, answers))
    spot = Reading((Pane("", "", (place,)),), answers).get("region")
    region = known.get(spot.region) if spot is not None and spot.region in known else None
    kinds = region.cls.bandages if region else ()
    first = (*_wound_field(bench), place)
    if not kinds:
        return first
    c = f"care.{answers.get('wound', bench.label)}"
    own = bench.typed(f"{c}.bandage")
    usual = own if own in kinds else kinds[0]
    kind = answers.get("kind", usual)
    girth, girth_hint = _usual_girth(tables, region)
    height = f"{tables.kind(kind).height_cm:g}" if kind in kinds else ""
    return (
        *first,
        ChoiceField(key="kind", label="Bandage", given=of_words(kinds), default=usual),
        NumberField(key="girth-cm", label="Girth", unit="cm", scales=INCHES,
                    default=bench.typed(f"{c}.girth_cm") or girth, hint=girth_hint),
        NumberField(key="height-cm", label="Covered height", unit="cm", scales=INCHES,
                    default=bench.typed(f"{c}.height_cm") or height),
        NumberField(key="padding-cm", label="Padding", unit="cm", default=f"{roll.padding_cm:g}",
                    hint="thickness beneath the roll"),
        NumberField(key="roll-cm", label="Roll width", unit="cm", default=f"{roll.width_cm:g}",
                    hint=roll.source),
        NumberField(key="roll-m", label="Roll length", unit="m", default=f"{roll.length_m:g}",
                    hint="as stretched"),
        NumberField(key="overlap-percent", label="Overlap", unit="%",
                    default=f"{roll.overlap_percent:g}"),
        NumberField(key="passes", label="Passes", default="1", hint="up and down again are two"),
    )  # fmt: skip


def bandage(bench: Bench, r: Reading) -> Reckoned:
    """Reckon turns, length and rolls; girth and height go into the wound's bandage."""
    tables, spot = bench.library.bandages, r.get("region")
    region = bench.library.regions.get(spot.region)
    kind = r.get("kind") or kind_for(region.cls)
    figures = {k: needed(r, k, "this is needed") for k in ("girth-cm", "height-cm", "passes")}
    girth, height, passes = figures.values()
    need = material(
        girth,
        height,
        padding_cm=needed(r, "padding-cm", "0 where there is none"),
        roll_cm=needed(r, "roll-cm", "this is needed"),
        roll_m=needed(r, "roll-m", "this is needed"),
        overlap_percent=needed(r, "overlap-percent", "this is needed"),
        passes=passes,
    )
    around = extent(tables, kind, region.cls, girth, height)
    lines = material_lines(need, girth, around.girth_from, height, passes)
    worn = Bandage(kind, girth_cm=girth, height_cm=height)
    each = ", ".join(n.said for n in needs(tables, worn, region.cls))
    way = direction(tables, region.side)
    rolls = f"{need.rolls} roll(s) of {r.get('roll-cm'):g} cm x {r.get('roll-m'):g} m"
    label = r.get("wound") or ""
    c = f"care.{label}"
    puts = (
        (f"{c}.bandage", "" if bench.typed(f"{c}.bandage") else kind),
        (f"{c}.girth_cm", f"{girth:g}"),
        (f"{c}.height_cm", f"{height:g}"),
    ) if label else ()  # fmt: skip
    return Reckoned(
        (
            f"{region.standard_name}, {kind}: {rolls}",
            *lines,
            f"one change, spiral down and up again: {each}",
            *((f"turns go {way} seen from above",) if way else ()),
            (
                f"  overlap {r.get('overlap-percent'):g} %, padding {r.get('padding-cm'):g} cm; "
                f"source: {tables.roll.source}"
            ),
            CAUTION,
        ),
        f"bandage {label or region.standard_name}: {rolls}, {', '.join(x.strip() for x in lines)}",
        puts,
    )
