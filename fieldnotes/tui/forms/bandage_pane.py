"""The page of a bandage: its layers from the skin outward, suggested and editable."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.clinical.bandage import Build, build_of, direction, extent, needs
from fieldnotes.clinical.dressing import WoundState, choose_dressing
from fieldnotes.domain.treatment import Bandage, ClosureMethod, Layer
from fieldnotes.tui.fields.choices import ChoiceField, lettered
from fieldnotes.tui.fields.field import Field
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.forms.form import Pane, Reading

if TYPE_CHECKING:
    from fieldnotes.clinical.bandage import BuiltLayer
    from fieldnotes.domain.wounds import Finding
    from fieldnotes.knowledge.bandages import Bandages
    from fieldnotes.knowledge.dressings import DressingRow
    from fieldnotes.knowledge.regions import Region
    from fieldnotes.tui.forms.form import Answers

STOPPED = "left off"
PROUD_GRADE = 2  # granulation grade from which the tissue stands above the skin
WHY_VET = "the vet at first: a drain, cast, graft or exposed structure lies beneath"
CHANGERS = (("owner", "the owner"), ("vet", "the vet"), ("nobody", "nobody there: the vet"))
SHOWN = (("yes", "was shown how"), ("no", "not shown yet"))


@dataclass(frozen=True)
class BandageTables:
    """What the suggestions are read from; `pressure` is what the practice says of lavage."""

    bandages: Bandages
    dressings: tuple[DressingRow, ...]
    pressure: str = ""


def kinds_for(region: Region | None) -> tuple[str, ...]:
    """Give the kinds a region usually takes, the usual one first."""
    return region.cls.bandages if region is not None else ()


def state_of(finding: Finding, closure: str, region: Region) -> WoundState:
    """Give what decides the dressing of a wound as it was found."""
    return WoundState(
        finding.phase,
        finding.exudate,
        exposed=bool(finding.exposed),
        graft=closure == ClosureMethod.GRAFT,
        infected=bool(finding.infection_signs),
        proud_flesh=finding.granulation_grade >= PROUD_GRADE,
        prone=region.cls.proud_flesh == "prone",
    )


def suggested(tables: BandageTables, kind: str, state: WoundState) -> Build:
    """Give the build of a kind with the dressing the wound's state asks for."""
    build = build_of(tables.bandages, kind)
    chosen = choose_dressing(tables.dressings, state)
    other = f"or {chosen.alternative}; not {', '.join(chosen.avoid)}"
    layers = tuple(
        replace(x, material=chosen.first, purpose=chosen.reason, rule=other, source=chosen.source)
        if x.role == "dressing"
        else x
        for x in build.layers
    )
    return replace(build, layers=layers)


def _layer_field(c: str, number: int, layer: BuiltLayer) -> Field:
    thick = f" {layer.thickness_cm:g} cm or more." if layer.thickness_cm else ""
    return Field(
        key=f"{c}.layer.{layer.role}",
        label=f"{number} {layer.role.capitalize()}",
        default=layer.material,
        hint=f"{layer.purpose.rstrip('.')}.{thick}\n{layer.rule}\n({layer.source})",
    )


def _takes(tables: BandageTables, worn: Bandage, region: Region) -> str:
    """Say which way to wind and what one change takes, with how that was reckoned."""
    way = direction(tables.bandages, region.side)
    words = [f"turns {way} seen from above"] if way else []
    found = needs(tables.bandages, worn, region.cls)
    words += [f"{n.said}: {n.working}" for n in found if n.metres]
    return "; ".join(words)


def _sizes(c: str, kind: str, region: Region, tables: BandageTables) -> tuple[Field, ...]:
    around = extent(tables.bandages, kind, region.cls)
    return (
        NumberField(key=f"{c}.girth_cm", label="Girth", unit="cm", least=5, most=300,
                    default=f"{around.girth_cm:g}" if around.girth_cm else "",
                    also=(f"{c}.bandage.girth_cm",),
                    hint="mean of top and bottom, without padding"),
        NumberField(key=f"{c}.height_cm", label="Covered height", unit="cm", least=1, most=200,
                    default=f"{around.height_cm:g}", also=(f"{c}.bandage.height_cm",)),
    )  # fmt: skip


def bandage_pane(  # noqa: PLR0917  (it has these parts)
    label: str,
    kind: str,
    state: WoundState,
    region: Region,
    tables: BandageTables,
    answers: Answers,
    *,
    vets: bool,
) -> Pane:
    """Give the page of one wound's bandage; `vets` if what lies beneath makes it the vet's.

    What a change takes is reckoned from the layers, girth and height as they are typed.
    """
    c = f"care.{label}"
    build = suggested(tables, kind, state)
    layers = tuple(_layer_field(c, n, layer) for n, layer in enumerate(build.layers, 1))
    sizes = _sizes(c, kind, region, tables)
    typed = Reading((Pane("", "", (*layers, *sizes)),), answers)
    takes = _takes(tables, _worn(c, kind, typed, tables), region)
    notes = "; ".join((*build.notes, takes)).strip("; ")
    return Pane(f"bandage-{label}", f"Bandage {label}", (
        *layers,
        Field(key=f"{c}.layers", label="Further layers", hint=f"outside these.\n{notes}"),
        *(replace(size, hint=f"{size.hint}\n{takes}".strip()) for size in sizes),
        ChoiceField(key=f"{c}.changed_by", label="Changed by", given=lettered(CHANGERS),
                    default="vet" if vets else "owner", hint=WHY_VET if vets else
                    "the vet: it becomes a visit; the owner: say how often"),
        NumberField(key=f"{c}.every", label="Change every", unit="days", least=0.5, most=60,
                    also=(f"{c}.bandage.change_every_days",),
                    hint="needed where the owner changes it; the vet's may go by the plan's rules"),
        ChoiceField(key=f"{c}.shown", label="Shown how", given=lettered(SHOWN)),
    ))  # fmt: skip


def read_bandage(c: str, r: Reading, tables: BandageTables) -> Bandage | None:
    """Give the bandage of a wound; None where there is none, or it was left off."""
    kind = r.get(f"{c}.bandage") or ""
    return None if not kind or kind == STOPPED else _worn(c, kind, r, tables)


def _worn(c: str, kind: str, r: Reading, tables: BandageTables) -> Bandage:
    layers = []
    for layer in build_of(tables.bandages, kind).layers:
        typed = r.get(f"{c}.layer.{layer.role}") or ""
        if typed:
            layers.append(Layer(layer.role, typed, layer.thickness_cm))
    outer = [part.strip() for part in (r.get(f"{c}.layers") or "").split(",") if part.strip()]
    layers += [Layer("cover", part) for part in outer]
    shown = {"yes": True, "no": False}.get(r.get(f"{c}.shown") or "")
    by = r.get(f"{c}.changed_by") or "owner"
    girth, height = r.get(f"{c}.girth_cm"), r.get(f"{c}.height_cm")
    every = r.get(f"{c}.every")
    return Bandage(kind, tuple(layers), every, by, shown=shown, girth_cm=girth, height_cm=height)
