"""Cautions about each wound: synovial entry, antiseptics near it, bandage, synovial fluid."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING

from fieldnotes.casework.caution import Caution
from fieldnotes.casework.closing_time import age_caution, closing_cautions
from fieldnotes.casework.judging import is_occlusive
from fieldnotes.clinical.bandage import Entered, check_build
from fieldnotes.clinical.measuring import mixed_words
from fieldnotes.clinical.synovial import (
    NOT_EXCLUDED,
    Probe,
    as_settled,
    load_cautions,
    risk_at,
    risk_of_region,
)
from fieldnotes.clinical.synovial_fluid import Sample, assess_sample
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.urgency import Urgency
from fieldnotes.domain.wounds import Finding, Phase, SynovialEntry
from fieldnotes.knowledge.bodymap import shown_by_hand
from fieldnotes.rendering.place import spanned_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.casework.caution import Bedside
    from fieldnotes.clinical.synovial import Caution as SynovialCaution
    from fieldnotes.clinical.synovial import SynovialRisk
    from fieldnotes.domain.entries import Visit
    from fieldnotes.domain.treatment import Bandage, Care, SynovialTest
    from fieldnotes.domain.wounds import Wound
    from fieldnotes.knowledge.bandages import Bandages
    from fieldnotes.knowledge.library import Library
    from fieldnotes.knowledge.regions import RegionClass

EARLY = (Phase.FRESH, Phase.INFLAMMATORY)
OPENED = (SynovialEntry.SUSPECTED, SynovialEntry.CONFIRMED)
PLAIN_MM = (20.0, 10.0)  # a wound not measured: a small one, so that only what is near alarms
ELASTIC = ("cohesive", "elastic", "conforming")
OUTER = ("compression", "cover", "outer")
_WIDTH = re.compile(r"(\d+(?:[.,]\d+)?) ?cm\b", re.ASCII)
LOWER = ("lower", "distal")

MIXED_SOURCE = "arithmetic: length x width is 4/pi of the ellipse, 27 % more"


def last_finding(bed: Bedside, wound: Wound, visit: Visit) -> Finding:
    """Give what was last found in a wound; nothing examined if it never was."""
    found = bed.findings(wound.label, visit)
    return found[-1] if found else Finding(wound.label)


def entry_of(bed: Bedside, wound: Wound, visit: Visit) -> SynovialEntry:
    """Give what was last said of synovial entry: not looked at again changes nothing."""
    said = [f.synovial_entry for f in bed.findings(wound.label, visit)]
    looked = [e for e in said if e is not SynovialEntry.NOT_EXAMINED]
    return looked[-1] if looked else SynovialEntry.NOT_EXAMINED


@cache
def _risk_at(probe: Probe) -> SynovialRisk:
    """Reckon each place once: every look at a review page asks again."""
    return risk_at(probe)


def _risk(wound: Wound, finding: Finding, entry: SynovialEntry) -> SynovialRisk:
    """Reckon at the exact point where there is one, else by the region."""
    penetrating = {SynovialEntry.EXCLUDED: False, SynovialEntry.NOT_EXAMINED: None}.get(entry, True)
    if wound.view and wound.point is not None:
        probe = Probe(
            view=wound.view,
            x_cm=wound.point.x_cm,
            y_cm=wound.point.y_cm,
            length_mm=finding.length_mm or PLAIN_MM[0],
            width_mm=finding.width_mm or min(PLAIN_MM[1], finding.length_mm or PLAIN_MM[1]),
            angle_deg=wound.angle_deg,
            depth_mm=finding.depth_mm,
            penetrating=penetrating,
        )
        try:
            return _risk_at(probe)
        except RefusedInputError:  # a point beside the body says less than the region does
            pass
    return risk_of_region(wound.region, depth_mm=finding.depth_mm, penetrating=penetrating)


def places(bed: Bedside, visit: Visit) -> dict[str, tuple[str, ...]]:
    """Give what lies at each wound as the antiseptic rules ask for it: face, eye, synovial."""
    return {w.label: tuple(_near(bed, w, visit)) for w in bed.wounds}


def _near(bed: Bedside, wound: Wound, visit: Visit) -> Iterator[str]:
    cls = bed.library.regions.get(wound.region).cls
    if cls.group == "head":
        yield "face"
    if "eyelid" in cls.id:
        yield "eye"
    entry = entry_of(bed, wound, visit)
    finding = last_finding(bed, wound, visit)
    if entry in OPENED or _risk(wound, finding, entry).entry_not_excluded:
        yield "synovial"


def wound_cautions(bed: Bedside, visit: Visit) -> Iterator[Caution]:
    """Give every wound's cautions: age, synovial risk, then what was done for it."""
    yield from age_caution(bed, visit)
    for wound in bed.wounds:
        finding = last_finding(bed, wound, visit)
        if not finding.healed:
            yield from _synovial(bed, wound, finding, visit)
    for label in (f.wound for f in visit.findings):
        if mixed := mixed_words(bed.findings(label, visit)):
            yield Caution("note", f"findings.{label}.area_cm2", mixed, MIXED_SOURCE)
    wounds = {w.label: w for w in bed.wounds}
    for care in visit.care:
        of = wounds.get(care.wound)
        if of is not None:
            cls = bed.library.regions.get(of.region).cls
            finding = last_finding(bed, of, visit)
            yield from _bandage(care, cls, finding, bed.library)
            yield from closing_cautions(bed, visit, care, finding)
            yield from _fluid(care, bed.library)
            yield from _topical(care, bed.library)


def _synovial(bed: Bedside, wound: Wound, finding: Finding, visit: Visit) -> Iterator[Caution]:
    entry = entry_of(bed, wound, visit)
    chosen = bed.library.settled("chlorhexidine-joint")
    risk = as_settled(_risk(wound, finding, entry), chosen)
    early = finding.phase in EARLY or entry in OPENED
    field = f"findings.{wound.label}.synovial_entry"
    for caution in risk.cautions:
        level = "warn" if early and _presses(caution, risk, entry) else "note"
        yield Caution(level, field, f"{wound.label}: {caution.text}", caution.source)
    spanned = spanned_words(risk.regions) if finding.length_mm and shown_by_hand(wound) else ""
    if spanned:
        place = f"wounds.{wound.label}.region"
        yield Caution("note", place, f"{wound.label} {spanned}", "body map, drawn to scale")


def _presses(caution: SynovialCaution, risk: SynovialRisk, entry: SynovialEntry) -> bool:
    """Tell a warning from a note: what fires at every wound is clicked away."""
    if entry is SynovialEntry.EXCLUDED:
        return caution.urgency == Urgency.NOW
    general = {r.caution.id for r in load_cautions().rules if r.when == NOT_EXCLUDED}
    hit = any(n.structure.synovial for n in (*risk.beneath, *risk.near))
    return hit or entry in OPENED or caution.id not in general


def kind_in(tables: Bandages, said: str, cls: RegionClass) -> str | None:
    """Give the kind of bandage meant by what was written, else the region's usual one."""
    ids = sorted((k.id for k in tables.kinds), key=len, reverse=True)
    named = next((k for k in ids if k.casefold() in said.casefold()), None)
    return named or next(iter(cls.bandages), None)


def _padding_cm(bandage: Bandage) -> float | None:
    """Add up the padding; 0 under an outer layer with none, None where no thickness is given."""
    padding = [x for x in bandage.layers if x.role == "padding"]
    if not padding:
        return 0.0 if any(x.role in OUTER for x in bandage.layers) else None
    known = [x.thickness_cm for x in padding if x.thickness_cm is not None]
    return sum(known) if len(known) == len(padding) else None


def _elastic_on_skin(bandage: Bandage) -> bool | None:
    outside = [x for x in bandage.layers if x.role != "dressing"]
    if not outside:
        return None
    return any(word in outside[0].material.casefold() for word in ELASTIC)


def _lower_wrap(bandage: Bandage) -> bool | None:
    """Tell whether a lower wrap is written down; None while no outer layer is entered."""
    said = " ".join((bandage.kind, *(f"{x.material} {x.note}" for x in bandage.layers))).casefold()
    if any(word in said for word in LOWER):
        return True
    return False if any(x.role in OUTER for x in bandage.layers) else None


def _padding_layers(bandage: Bandage) -> int | None:
    """Count the layers of padding, None where it is not said how many."""
    passes = [x.passes for x in bandage.layers if x.role == "padding"]
    known = [p for p in passes if p is not None]
    return int(sum(known)) if known and len(known) == len(passes) else None


def _roll_cm(bandage: Bandage) -> float | None:
    """Give the narrowest elastic or gauze that goes round; None where no width is written."""
    rolls = (x.material.casefold() for x in bandage.layers if x.role in OUTER)
    found = (_WIDTH.search(m) for m in rolls if any(word in m for word in ELASTIC))
    return min((float(f[1].replace(",", ".")) for f in found if f), default=None)


def _tight_elastic(bandage: Bandage) -> bool | None:
    """Tell whether elastic that is not called loose goes round; None without an outer layer."""
    outer = [x.material.casefold() for x in bandage.layers if x.role in OUTER]
    if not outer:
        return None
    return any(word in m for m in outer for word in ELASTIC if "loose" not in m)


def _bandage(care: Care, cls: RegionClass, finding: Finding, library: Library) -> Iterator[Caution]:
    bandage = care.bandage
    kind = kind_in(library.bandages, bandage.kind, cls) if bandage is not None else None
    if bandage is None or kind is None:
        return
    limb = "limb" in cls.group
    entered = Entered(
        kind=kind,
        padding_cm=_padding_cm(bandage) if limb else None,
        padding_layers=_padding_layers(bandage) if limb else None,
        roll_cm=_roll_cm(bandage) if limb else None,
        first_is_elastic=_elastic_on_skin(bandage) if limb else None,
        lower_wrap=_lower_wrap(bandage),
        occlusive=is_occlusive(bandage),
        tight_elastic=_tight_elastic(bandage),
        structures=tuple(s.id for s in cls.structures),
        granulating=finding.phase is Phase.GRANULATING,
        on_limb=limb,
    )
    for rule in check_build(library.bandages, entered):
        yield Caution("warn", f"care.{care.wound}.bandage", f"{kind}: {rule.text}", rule.source)


def _fluid(care: Care, library: Library) -> Iterator[Caution]:
    for number, test in enumerate(care.synovial_tests):
        field = f"care.{care.wound}.synovial_tests.{number}"
        if test.leaked:
            why = f"{test.structure} leaked when distended: it is open, refer now"
            yield Caution("warn", field, why, "common practice")
        yield from _sample(test, field, library)


def _sample(test: SynovialTest, field: str, library: Library) -> Iterator[Caution]:
    sample = Sample(test.cells_per_nl, test.neutrophils_percent, test.protein_g_per_l)
    if sample == Sample():
        return
    try:
        found = assess_sample(library.synovial_fluid, sample)
    except RefusedInputError as error:
        yield Caution("warn", f"{field}.{error.field}", error.reason, "cannot be right")
        return
    raised = [n for n in found.notes if n.level != "below cut-offs"]
    said = "; ".join(f"{n.level}: {n.why}" for n in raised) or "no alarm raised"
    source = "; ".join(dict.fromkeys(n.source for n in raised)) or found.source
    level = "warn" if raised else "note"
    yield Caution(level, field, f"{test.structure}: {said} - {found.caution}", source)


def _topical(care: Care, library: Library) -> Iterator[Caution]:
    """Say plainly what slows healing."""
    said = care.topical.casefold()
    for topical in library.topicals:
        if said and topical.slows_healing and topical.id.split(" ")[0] in said:
            why = f"{topical.id} slows healing: {'; '.join(topical.bad)}"
            yield Caution("note", f"care.{care.wound}.topical", why, topical.source)
