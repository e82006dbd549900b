"""What holds for a case now, as the short facts that choose the handout's text blocks."""

from __future__ import annotations

import datetime as dt
import re
from typing import TYPE_CHECKING

from fieldnotes.domain.cases import Status
from fieldnotes.domain.entries import ReferralState
from fieldnotes.domain.treatment import ClosureMethod, DeviceKind
from fieldnotes.planning.anchors import ENTERED, WET, last_dose
from fieldnotes.planning.facts import devices_in, owner_changes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.patients import Horse
    from fieldnotes.domain.treatment import Bandage, Care, DrugDispensed, DrugGiven
    from fieldnotes.domain.wounds import Wound
    from fieldnotes.knowledge.drugs import Drugs
    from fieldnotes.knowledge.handout import HandoutTexts
    from fieldnotes.knowledge.regions import Regions

_LEFT_OPEN = (ClosureMethod.SECOND_INTENTION, ClosureMethod.PARTIAL)
CASTS = (DeviceKind.CAST, DeviceKind.BANDAGE_CAST)
AWAY = "referral.accepted"  # a hospital decides
PAUSED = "paused"  # nothing of the bandage or the plan is ours to tell just now


def bandage_now(case: Case, wound: str) -> Bandage | None:
    """Give the bandage a wound is under, None once it was stopped."""
    bandage = None
    for _, care in case.care(wound):
        bandage = None if care.bandage_stopped else care.bandage or bandage
    return bandage


def under_cast(case: Case, wound: str) -> bool:
    """Whether a wound is under a cast, out of the owner's reach and sight."""
    return any(kind in CASTS for kind in devices_in(case, wound))


def healed_now(case: Case, wound: str) -> bool:
    """Whether a wound was healed when it was last looked at."""
    findings = case.findings(wound)
    return bool(findings) and findings[-1][1].healed


def stitched_now(case: Case, wound: str) -> bool:
    """Whether a wound was closed with sutures all along and did not come apart."""
    findings = case.findings(wound)
    apart = bool(findings) and bool(findings[-1][1].dehiscence)
    return not apart and "open" not in _closure_facts(case.care(wound))


def topical_now(case: Case, wound: str) -> str:
    """Give what is put on a wound, as last recorded, nothing once it is healed."""
    if healed_now(case, wound):
        return ""
    return next((c.topical for _, c in reversed(case.care(wound)) if c.topical), "")


def courses_now(case: Case, today: dt.date) -> tuple[DrugDispensed, ...]:
    """Give the courses left with the owner that still have a dose to come, today's included."""
    found = [d for v in case.visits for d in v.body.dispensed]
    return tuple(d for d in found if last_dose(d).date() >= today)


def given_last(case: Case) -> tuple[DrugGiven, ...]:
    """Give the drugs given at the newest visit."""
    return case.visits[-1].body.given if case.visits else ()


def sedated_at(case: Case, drugs: Drugs) -> dt.datetime | None:
    """Give when the last sedative of the newest visit was given, None if none was."""
    sedatives = {drug.id for drug in drugs if "sedative" in drug.classes}
    return max((g.at for g in given_last(case) if g.drug in sedatives), default=None)


def _closure_facts(cares: tuple[tuple[dt.datetime, Care], ...]) -> Iterator[str]:
    closure = next((c.closure for _, c in reversed(cares) if c.closure), None)
    if closure is None or closure.method in _LEFT_OPEN:
        yield "open"
    sutured = closure is not None and closure.method is not ClosureMethod.SECOND_INTENTION
    if sutured and not any("sutur" in r.casefold() for _, c in cares for r in c.removed):
        yield "sutures"


def _synovial(case: Case, label: str) -> bool:
    findings = case.findings(label)
    return bool(findings) and findings[-1][1].synovial_entry in ENTERED


def _draining(case: Case, label: str) -> bool:
    findings = case.findings(label)
    wet = bool(findings) and findings[-1][1].exudate in WET
    return wet or DeviceKind.DRAIN in devices_in(case, label)


def _topical_facts(topical: str, texts: HandoutTexts) -> Iterator[str]:
    for part in re.split(r";|\+|\band\b", topical):
        if part.strip():
            yield "protectant" if texts.protects_skin(part) else "topical"


def _wound_facts(case: Case, tables: tuple[Regions, HandoutTexts], wound: Wound) -> Iterator[str]:
    regions, texts = tables
    label = wound.label
    yield from _place_facts(regions, wound.region)
    for kind in devices_in(case, label):
        yield "cast" if kind in CASTS else kind.value
    if _synovial(case, label):
        yield "synovial"
    if under_cast(case, label):
        return
    yield "in-reach"
    bandage = bandage_now(case, label)
    if bandage:
        yield "bandage"
        if owner_changes(case, label):
            yield "owner-changes"
            if bandage.shown is not None:
                yield "shown" if bandage.shown else "not-shown"
    if _draining(case, label):
        yield "draining"
    yield from _topical_facts(topical_now(case, label), texts)
    if not healed_now(case, label):
        yield from _closure_facts(case.care(label))


def _place_facts(regions: Regions, region: str) -> Iterator[str]:
    if region not in regions:
        return
    place = regions.get(region).cls
    if place.limb:
        yield "limb"
    if place.group == "head":
        yield "head"
    if place.proud_flesh == "prone":
        yield "prone"
    if place.synovial:
        yield "synovial"


def _drug_facts(case: Case, drugs: Drugs, today: dt.date) -> Iterator[str]:
    courses, given = courses_now(case, today), given_last(case)
    if courses:
        yield "medicine"
    if courses or given:
        yield "drugs"
    classes = {drug.id: drug.classes for drug in drugs}
    for course in courses:
        yield from classes.get(course.drug, ())
    since = sedated_at(case, drugs)
    if since is not None and since.date() == today:
        yield "sedated"


def _standing_facts(case: Case) -> Iterator[str]:
    if case.on_hold:
        yield "on-hold"
    if case.referred in {ReferralState.OFFERED, ReferralState.ACCEPTED}:
        yield f"referral.{case.referred.value}"
    if case.status is not Status.OPEN:
        yield "ended"
    if case.on_hold or case.referred is ReferralState.ACCEPTED or case.status is Status.HEALED:
        yield PAUSED


def _horse_facts(horse: Horse, today: dt.date) -> Iterator[str]:
    yield f"food.{horse.food_chain.value}"
    if horse.competes:
        yield "competes"
    if horse.foaling_due and horse.foaling_due >= today - dt.timedelta(days=30):
        yield "pregnant"
    if horse.lactating:
        yield "lactating"


def case_facts(
    case: Case,
    horse: Horse,
    today: dt.date,
    *,
    regions: Regions,
    drugs: Drugs,
    texts: HandoutTexts,
) -> frozenset[str]:
    """Give every fact that chooses text blocks for this case today."""
    facts = {f for w in case.wounds for f in _wound_facts(case, (regions, texts), w)}
    facts.update(_drug_facts(case, drugs, today))
    facts.update(_standing_facts(case))
    facts.update(_horse_facts(horse, today))
    mechanism = texts.mechanism(f"{case.opened.mechanism} {case.opened.history}")
    facts.add(f"mechanism.{mechanism or 'unknown'}")
    if case.visits and case.visits[-1].body.housing:
        facts.add("housing")
    if PAUSED in facts:
        facts.discard("owner-changes")
    return frozenset(facts)
