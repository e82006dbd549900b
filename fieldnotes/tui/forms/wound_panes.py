"""The two pages of one wound: what was found, and what was done."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.casework.album import Shot
from fieldnotes.domain.treatment import (
    Care,
    Closure,
    ClosureMethod,
    Device,
    DeviceKind,
    Lavage,
)
from fieldnotes.domain.units import MM_PER_CM
from fieldnotes.domain.wounds import (
    EXPOSED_STRUCTURES,
    INFECTION_SIGNS,
    SIZE_FIELDS,
    Amount,
    Contamination,
    Finding,
    Measuring,
    Phase,
    SynovialEntry,
    Wound,
    WoundKind,
)
from fieldnotes.planning.facts import vets_first
from fieldnotes.tui.fields.choices import (
    YES_NO,
    ChoiceField,
    ManyField,
    lettered,
    of_words,
)
from fieldnotes.tui.fields.field import Field
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.fields.pictures import pictures_field
from fieldnotes.tui.fields.place import Spot
from fieldnotes.tui.fields.sizes import FORMS, SizeField, TypedSize
from fieldnotes.tui.forms.bandage_pane import (
    STOPPED,
    bandage_pane,
    kinds_for,
    read_bandage,
    state_of,
)
from fieldnotes.tui.forms.finding import find_region
from fieldnotes.tui.forms.form import Answers, Pane, Reading
from fieldnotes.tui.forms.synovial_pane import read_synovial_test, synovial_pages

if TYPE_CHECKING:
    from collections.abc import Callable
    from enum import StrEnum

    from fieldnotes.knowledge.library import Library
    from fieldnotes.knowledge.regions import Region
    from fieldnotes.tui.forms.bandage_pane import BandageTables

SIDES = ("length_mm", "width_mm", "depth_mm")
SEEN_OR_NOT = of_words(("yes", "no"))
SIDED = (Measuring.ELLIPSE, Measuring.RECTANGLE)
_LAVAGE = re.compile(r"(.*?)\s*(\d+(?:[.,]\d+)?)\s*(l|ml)\s*", re.IGNORECASE | re.ASCII)


def _all(kinds: type[StrEnum]) -> tuple[str, ...]:
    return tuple(kind.value for kind in kinds)


def _size(label: str, library: Library, before: Finding | None = None) -> SizeField:
    """Give the size field; sides are read as they were last time, else as the practice does."""
    paths = tuple(f"findings.{label}.{n}" for n in SIZE_FIELDS)
    shape = library.settled("measuring").measuring or Measuring.ELLIPSE
    if before is not None and before.length_mm is not None and before.measuring in SIDED:
        shape = before.measuring
    return SizeField(
        key=f"findings.{label}.size", label="Size", also=(*paths, f"findings.{label}"),
        limits=tuple(library.limits[side] for side in SIDES), shape=shape, hint=f"cm: {FORMS}",
    )  # fmt: skip


def _seen_late(label: str, library: Library, before: Finding | None = None) -> tuple[Field, ...]:
    """Give the fields of a wound some days old; a tract found before is asked for again."""
    f, most = f"findings.{label}", library.limits["undermined_mm"].most
    tract = "yes" if before is not None and before.tract else ""
    return (
        ChoiceField(key=f"{f}.tract", label="Draining tract", given=YES_NO, default=tract,
                    carried=True),
        NumberField(key=f"{f}.undermined_mm", label="Undermined", unit="mm", most=most,
                    scales=(("cm", MM_PER_CM),), hint="how far a probe goes under the edge"),
        ChoiceField(key=f"{f}.epithelial_rim", label="New skin", given=SEEN_OR_NOT,
                    hint="a rim growing in from the edge; empty: not looked at"),
    )  # fmt: skip


def _graded(label: str, default: str = "", *, required: bool = False) -> ChoiceField:
    return ChoiceField(
        key=f"findings.{label}.granulation_grade", label="Granulation", carried=True,
        given=lettered([("0", "0 level"), ("1", "1"), ("2", "2"), ("3", "3 proud")]),
        default=default, required=required, hint="0 level with the skin to 3 well above it",
    )  # fmt: skip


def _signs(label: str) -> ManyField:
    return ManyField(
        key=f"findings.{label}.infection_signs", label="Infection signs",
        given=of_words(INFECTION_SIGNS),
    )  # fmt: skip


def wound_pane(label: str, library: Library, *, old: bool = False) -> Pane:
    """Give the page of a wound first seen; one some days `old` is asked for more."""
    f = f"findings.{label}"
    phase = ChoiceField(key=f"{f}.phase", label="Phase", given=of_words(_all(Phase)))
    late = (phase, _graded(label), _signs(label), *_seen_late(label, library)) if old else ()
    return Pane(f"wound-{label}", f"Wound {label}", (
        find_region(f"wounds.{label}.region", "Region", library.regions),
        _size(label, library),
        ChoiceField(key=f"wounds.{label}.kind", label="Kind", given=of_words(_all(WoundKind)),
                    default=WoundKind.LACERATION),
        ChoiceField(key=f"wounds.{label}.contamination", label="Contamination",
                    given=of_words(_all(Contamination)), default=Contamination.CONTAMINATED),
        ManyField(key=f"{f}.exposed", label="Exposed", given=of_words(EXPOSED_STRUCTURES)),
        ChoiceField(key=f"{f}.synovial_entry", label="Synovial entry",
                    given=of_words(_all(SynovialEntry)), default=SynovialEntry.NOT_EXAMINED),
        ChoiceField(key=f"{f}.exudate", label="Exudate", given=of_words(_all(Amount)),
                    default=Amount.NONE),
        *late,
        Field(key=f"{f}.note", label="Note"),
    ))  # fmt: skip


def looked_at(label: str, answers: Answers) -> bool:
    """Whether anything was put down of how a wound looks now."""
    return any(a.strip() for key, a in answers.items() if key.startswith(f"findings.{label}."))


def _carried(label: str, before: Finding | None, answers: Answers) -> tuple[str, str, str]:
    """Give phase, exudate and granulation of last time, once the wound is being looked at."""
    if before is None or not looked_at(label, answers):
        return "", "", ""
    return before.phase.value, before.exudate.value, str(before.granulation_grade)


def _still_open(before: Finding | None) -> tuple[str, str]:
    """Give what was exposed and whether a synovial structure was entered, as last found."""
    if before is None:
        return "", ""
    entered = before.synovial_entry in {SynovialEntry.SUSPECTED, SynovialEntry.CONFIRMED}
    return ",".join(before.exposed), before.synovial_entry.value if entered else ""


def finding_pane(
    label: str, where: str, before: Finding | None, answers: Answers, library: Library
) -> Pane:
    """Give the page of a wound seen again; left empty, it stands for a wound not looked at."""
    f, seen = f"findings.{label}", looked_at(label, answers)
    exposed, entry = _still_open(before) if seen else ("", "")
    phase, exudate, granulation = _carried(label, before, answers)
    return Pane(f"wound-{label}", f"Wound {label}", (
        _size(label, library, before),
        ChoiceField(carried=True, key=f"{f}.phase", label="Phase", given=of_words(_all(Phase)),
                     default=phase, required=seen,
                     hint=f"{where}; a page left empty: not looked at"),
        ChoiceField(carried=True, key=f"{f}.exudate", label="Exudate", given=of_words(_all(Amount)),
                     default=exudate, required=seen),
        _graded(label, granulation, required=seen),
        _signs(label),
        ManyField(key=f"{f}.exposed", label="Exposed", given=of_words(EXPOSED_STRUCTURES),
                  default=exposed, carried=True),
        ChoiceField(key=f"{f}.synovial_entry", label="Synovial entry",
                    given=of_words(_all(SynovialEntry)), default=entry, carried=True),
        Field(key=f"{f}.dehiscence", label="Breakdown", hint="sutures given way: where, how far"),
        *_seen_late(label, library, before if seen else None),
        Field(key=f"{f}.note", label="Note"),
    ))  # fmt: skip


def care_pane(
    label: str, kinds: tuple[str, ...], answers: Answers, pressure: str, *, first: bool
) -> Pane:
    """Give the page of what was done for one wound.

    `kinds` are the region's bandages, `pressure` what the practice says of lavage pressure.
    """
    c = f"care.{label}"
    closing = (
        ChoiceField(key=f"{c}.closure", label="Closure", given=of_words(_all(ClosureMethod))),
        Field(key=f"{c}.pattern", label="Pattern, material", hint="e.g. simple interrupted, nylon"),
    )
    device = (
        Field(key=f"{c}.lavage_device", label="Lavage by", hint=f"the device; {pressure}"),
    ) if answers.get(f"{c}.lavage", "").strip() else ()  # fmt: skip
    removed = (
        ManyField(key=f"{c}.removed", label="Removed",
                  given=of_words(("sutures", *_all(DeviceKind)))),
        ChoiceField(key=f"{c}.granulation_trimmed", label="Trimmed", given=YES_NO,
                    hint="granulation tissue cut back"),
    )  # fmt: skip
    ending = (
        ChoiceField(key="more." + label, label="Another wound", given=YES_NO),
    ) if first else ()  # fmt: skip
    bandages = kinds if first else (*kinds, STOPPED)
    return Pane(f"care-{label}", f"Care {label}", (
        *(() if first else removed),
        ChoiceField(key=f"{c}.clipped", label="Clipped", given=YES_NO),
        Field(key=f"{c}.lavage", label="Lavage", hint="fluid and volume, e.g. saline 5 l"),
        *device,
        Field(key=f"{c}.debridement", label="Debridement"),
        *closing,
        ManyField(key=f"{c}.placed", label="Put in or on", given=of_words(_all(DeviceKind))),
        Field(key=f"{c}.topical", label="Topical"),
        ChoiceField(key=f"{c}.bandage", label="Bandage", given=of_words(bandages), also=(c,),
                    hint="its layers come on the next page" if kinds else
                    "nothing is usually wrapped here; choose the region first"),
        Field(key=f"{c}.exploration", label="Exploration", hint="foreign body, dead bone, depth"),
        Field(key=f"{c}.radiographs", label="Radiographs", hint="views and what they show"),
        Field(key=f"{c}.culture", label="Culture", hint="what was sampled, or why not"),
        *ending,
    ))  # fmt: skip


def wound_pages(
    found: Pane,
    label: str,
    region: Region | None,
    answers: Answers,
    tables: BandageTables,
    *,
    before: Finding | None = None,
    held: tuple[DeviceKind, ...] = (),
) -> tuple[Pane, ...]:
    """Give the pages of a wound: what was found, what was done, and the bandage if it has one.

    A wound not looked at again is bandaged as it was found `before`; `held` are the drains,
    casts and splints it has.
    """
    first = found.fields[0].key.endswith(".region")
    care = care_pane(label, kinds_for(region), answers, tables.pressure, first=first)
    kind = answers.get(f"care.{label}.bandage", "")
    r = Reading((found, care), answers)
    finding = read_finding(label, r) if before is None or looked_at(label, answers) else before
    fluid = synovial_pages(label, finding, region)
    if region is None or kind in {"", STOPPED}:
        return (found, care, *fluid)
    closure = r.get(f"care.{label}.closure") or ""
    state = state_of(finding, closure, region)
    gone = r.get(f"care.{label}.removed") or ()
    placed = (DeviceKind(k) for k in r.get(f"care.{label}.placed") or ())
    devices = (*(d for d in held if d not in gone), *placed)
    vets = vets_first(devices, ClosureMethod(closure) if closure else None, finding.exposed)
    page = bandage_pane(label, kind, state, region, tables, answers, vets=vets)
    return (found, care, *fluid, page)


def with_photographs(pane: Pane, label: str, fault: Callable[[str], str]) -> Pane:
    """Give a wound's page with the field for its photographs, above its note."""
    *others, note = pane.fields
    return replace(pane, fields=(*others, pictures_field(f"photos.{label}", fault), note))


def read_shots(labels: str, r: Reading) -> tuple[Shot, ...]:
    """Give the photographs named on the wounds' pages."""
    return tuple(Shot(file, label) for label in labels for file in r.get(f"photos.{label}") or ())


def read_wound(label: str, r: Reading) -> Wound:
    """Give the wound of its page."""
    w = f"wounds.{label}"
    spot: Spot = r.get(f"{w}.region") or Spot("")
    return Wound(
        label,
        spot.region,
        WoundKind(r.get(f"{w}.kind") or WoundKind.LACERATION),
        view=spot.view,
        point=spot.point,
        angle_deg=spot.angle_deg,
        contamination=Contamination(r.get(f"{w}.contamination") or Contamination.CONTAMINATED),
    )


def read_finding(label: str, r: Reading) -> Finding:
    """Give what was found in one wound."""
    f = f"findings.{label}"
    size: TypedSize = r.get(f"{f}.size") or TypedSize()
    return Finding(
        label,
        **{name: getattr(size, name) for name in SIZE_FIELDS},
        phase=Phase(r.get(f"{f}.phase") or Phase.FRESH),
        exudate=Amount(r.get(f"{f}.exudate") or Amount.NONE),
        granulation_grade=int(r.get(f"{f}.granulation_grade") or 0),
        infection_signs=r.get(f"{f}.infection_signs") or (),
        exposed=r.get(f"{f}.exposed") or (),
        synovial_entry=SynovialEntry(r.get(f"{f}.synovial_entry") or SynovialEntry.NOT_EXAMINED),
        dehiscence=r.get(f"{f}.dehiscence") or "",
        tract=bool(r.get(f"{f}.tract")),
        undermined_mm=r.get(f"{f}.undermined_mm"),
        epithelial_rim={"yes": True, "no": False}.get(r.get(f"{f}.epithelial_rim") or ""),
        note=r.get(f"{f}.note") or "",
    )


def read_care(label: str, r: Reading, tables: BandageTables) -> Care | None:
    """Give what was done for one wound; None if nothing was."""
    c = f"care.{label}"
    care = Care(
        label,
        clipped=bool(r.get(f"{c}.clipped")),
        lavage=_lavage(r.get(f"{c}.lavage") or "", r.get(f"{c}.lavage_device") or ""),
        exploration=r.get(f"{c}.exploration") or "",
        radiographs=r.get(f"{c}.radiographs") or "",
        culture=r.get(f"{c}.culture") or "",
        synovial_tests=read_synovial_test(label, r),
        debridement=r.get(f"{c}.debridement") or "",
        closure=_closure(r.get(f"{c}.closure") or "", r.get(f"{c}.pattern") or ""),
        placed=tuple(Device(DeviceKind(k)) for k in r.get(f"{c}.placed") or ()),
        removed=r.get(f"{c}.removed") or (),
        topical=r.get(f"{c}.topical") or "",
        bandage=read_bandage(c, r, tables),
        bandage_stopped=r.get(f"{c}.bandage") == STOPPED,
        granulation_trimmed=bool(r.get(f"{c}.granulation_trimmed")),
    )
    return None if care == Care(label) else care


def _lavage(text: str, device: str) -> Lavage | None:
    if not text:
        return None
    found = _LAVAGE.fullmatch(text)
    if found is None:
        return Lavage(text, device=device)
    volume = float(found[2].replace(",", ".")) * (1000 if found[3].casefold() == "l" else 1)
    return Lavage(found[1].strip(" ,"), volume, device=device)


def _closure(method: str, text: str) -> Closure | None:
    if not method:
        return None
    pattern, _, material = (part.strip() for part in text.partition(","))
    return Closure(ClosureMethod(method), pattern, material)
