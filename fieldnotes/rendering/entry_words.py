"""What an entry of a case says, in words: one line for each thing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.agreements import Consent, Estimate
from fieldnotes.domain.entries import (
    CaseOpened,
    Death,
    Discharge,
    FlagAnswered,
    FollowUpOutcome,
    Hold,
    Note,
    OwnerReport,
    Referral,
    TaskAdded,
    Transfer,
    Visit,
    WoundAdded,
)
from fieldnotes.domain.paperwork import HandoutQueued, HandoutWording
from fieldnotes.domain.pictures import Measurement, Photograph
from fieldnotes.domain.wounds import Measuring

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from fieldnotes.domain.entries import Body, Entry
    from fieldnotes.domain.treatment import Care, DrugDispensed, DrugGiven
    from fieldnotes.domain.wounds import Finding

TITLES = {
    CaseOpened: "case opened",
    WoundAdded: "wound added",
    OwnerReport: "owner reported",
    FollowUpOutcome: "follow-up",
    TaskAdded: "task set",
    FlagAnswered: "flag answered",
    Note: "note",
    Discharge: "end of care",
    Death: "death",
    Referral: "referral",
    Hold: "hold",
    Transfer: "transfer",
    Consent: "consent",
    Estimate: "estimate",
    HandoutQueued: "handout queued",
    HandoutWording: "words for the handout",
    Photograph: "photograph",
    Measurement: "measured",
}


def happened_at(entry: Entry) -> dt.datetime:
    """Give when what an entry tells of took place."""
    body = entry.body
    return body.at if isinstance(body, Visit | OwnerReport | Measurement) else entry.time


def title_of(entry: Entry) -> str:
    """Give what kind of entry it is."""
    body = entry.body
    return body.kind.value if isinstance(body, Visit) else TITLES[type(body)]


def texts_of(body: Body) -> Iterator[str]:
    """Give an entry's lines."""
    match body:
        case Visit():
            yield from _visit(body)
        case CaseOpened():
            for wound in body.wounds:
                yield f"{wound.label}  {wound.kind.value}, {wound.contamination.value}"
            yield from _named(("how", body.mechanism), ("history", body.history))
        case OwnerReport():
            yield from _report(body)
        case Note(text):
            yield text
        case _:
            yield from _short(body)


def _short(body: Body) -> Iterator[str]:
    match body:
        case WoundAdded(wound):
            yield f"{wound.label}  {wound.kind.value}, {wound.contamination.value}"
        case FollowUpOutcome():
            moved = body.appointment or body.moved_to
            yield f"{body.outcome.value} on {body.on}" + (f", to {moved:%d %b %Y}" if moved else "")
            yield from _named(("who", body.who), ("why", body.reason))
        case TaskAdded():
            yield f"{body.what}: {body.by}, {body.earliest} to {body.latest}. {body.reason}"
        case FlagAnswered():
            yield f"{body.flag} ({body.wound}): {body.answer}. {body.reason}"
        case Discharge():
            yield f"{body.end.value} on {body.on}. {body.text}"
        case Death():
            how = "euthanased" if body.euthanased else "died"
            yield f"{how} on {body.on}"
            yield from _named(
                ("cause", body.cause),
                ("consent", body.consented_by),
                ("method", body.method),
                ("drug", body.drug),
            )
        case _:
            yield from _office(body)


def _office(body: Body) -> Iterator[str]:
    match body:
        case Referral():
            yield f"{body.state.value} on {body.on}"
            yield from _named(("to", body.to), ("by", body.by), ("told", body.told))
        case Hold():
            what = "put on hold" if body.on_hold else "taken off hold"
            yield f"{what} on {body.on}. {body.reason}"
        case Transfer():
            yield f"to {body.to}. {body.reason}"
        case Consent():
            given = "" if body.given else "not given: "
            how = "in writing" if body.written else "spoken"
            yield f"{body.kind.value}: {given}{body.what} ({body.by}, {how})"
            document = f"{body.document_on}" if body.document_on else ""
            yield from _named(("risks told", body.risks_told), ("in its document since", document))
        case Estimate():
            yield f"{body.amount:g} {body.currency}, limit {body.limit:g}, spent {body.spent:g}"
        case HandoutWording(text):
            yield text or "taken out"
        case HandoutQueued():
            yield f"{body.subject} to {', '.join(body.recipients)}"
        case Photograph():
            yield photograph_words(body)
        case Measurement():
            where = " on a photograph" if body.photograph else ""
            yield f"{body.found.wound}  {size_words(body.found)}{where}"
        case _:
            pass


def photograph_words(photo: Photograph) -> str:
    """Give a photograph on one line: of which wound, what it shows, its size."""
    wound = f"wound {photo.wound}" if photo.wound else ""
    size = f"{photo.width_px} x {photo.height_px} {photo.format.value}"
    kept = "with its position" if photo.position_kept else ""
    return ", ".join(part for part in (wound, photo.caption, size, kept) if part)


def _named(*pairs: tuple[str, str]) -> Iterator[str]:
    for name, text in pairs:
        if text:
            yield f"{name}: {text}"


def _report(body: OwnerReport) -> Iterator[str]:
    yield f"{body.source}: {body.text}" if body.source else body.text
    signs = ", ".join(body.signs)
    heat = f"{body.temperature_c:g} °C" if body.temperature_c is not None else ""
    yield from _named(("signs", signs), ("temperature", heat))
    yield f"urgency: {body.urgency.value}" + (f"; {body.decision}" if body.decision else "")


def _visit(body: Visit) -> Iterator[str]:
    yield from _named(("history", body.history), ("vitals", _vitals(body)))
    for finding in body.findings:
        yield f"{finding.wound}  {finding_words(finding)}"
    for care in body.care:
        words = care_words(care)
        if words:
            yield f"{care.wound}  {words}"
    for given in body.given:
        yield f"gave  {drug_words(given)}"
    for left in body.dispensed:
        yield f"left  {drug_words(left)}, every {left.interval_h:g} h for {left.days:g} days"
    yield from _named(("to the owner", body.instructions), ("housing", body.housing))
    yield from _named(("reckoned", body.reckoned))
    for reason in body.overrides:
        yield f"! warning passed: {reason}"


def _vitals(body: Visit) -> str:
    v = body.vitals
    words = [f"{v.temperature_c:g} °C"] if v.temperature_c is not None else []
    words += [f"heart {v.heart_per_min}/min"] if v.heart_per_min is not None else []
    words += [f"breaths {v.breaths_per_min}/min"] if v.breaths_per_min is not None else []
    words += [f"refill {v.crt_s:g} s"] if v.crt_s is not None else []
    limb = f" {body.lame_limb}" if body.lame_limb else ""
    words += [f"lame {body.lameness}/5{limb}"] if body.lameness is not None else []
    words += [v.not_taken] if v.not_taken else []
    return ", ".join(words)


def size_words(finding: Finding) -> str:
    """Give what was measured, in centimetres, and how if not as length and width of an oval."""
    way = "" if finding.measuring is Measuring.ELLIPSE else f" ({finding.measuring.value})"
    deep = f", {finding.depth_mm / 10:g} cm deep" if finding.depth_mm is not None else ""
    if finding.area_cm2 is not None:
        return f"{finding.area_cm2:.1f} cm2{way}{deep}"
    sides = [s for s in (finding.length_mm, finding.width_mm, finding.depth_mm) if s is not None]
    return " x ".join(f"{s / 10:g}" for s in sides) + f" cm{way}" if sides else "not measured"


def finding_words(finding: Finding) -> str:
    """Give one finding on one line."""
    words = [size_words(finding), finding.phase.value]
    words.append(f"exudate {finding.exudate.value} {finding.exudate_kind}".rstrip())
    grade = finding.granulation_grade
    words += [f"proud flesh {grade}"] if grade else []
    signs = ", ".join(finding.infection_signs)
    words += [f"! infection: {signs}"] if signs else []
    words += [f"! exposed: {', '.join(finding.exposed)}"] if finding.exposed else []
    entry = finding.synovial_entry.value
    words += [f"synovial entry {entry}"] if entry != "not examined" else []
    words += [f"! dehiscence: {finding.dehiscence}"] if finding.dehiscence else []
    words += ["! draining tract"] if finding.tract else []
    words += [f"undermined {finding.undermined_mm:g} mm"] if finding.undermined_mm else []
    rim = finding.epithelial_rim
    words += [] if rim is None else ["new skin at the edge" if rim else "! no new skin"]
    words += [finding.note] if finding.note else []
    return "; ".join(words)


def care_words(care: Care) -> str:
    """Give what was done for one wound, in the order it is done."""
    words = ["clipped"] if care.clipped else []
    if care.lavage:
        volume = f" {care.lavage.volume_ml:g} ml" if care.lavage.volume_ml else ""
        words.append(f"lavage {care.lavage.fluid}{volume}")
    words += [f"debridement {care.debridement}"] if care.debridement else []
    words += [f"explored: {care.exploration}"] if care.exploration else []
    words += [f"{t.structure} tested: {t.result}".rstrip(": ") for t in care.synovial_tests]
    if care.closure:
        parts = (care.closure.method.value, care.closure.pattern, care.closure.material)
        words.append(" ".join(p for p in parts if p))
    words += [f"{d.kind.value} {d.detail}".strip() + " in" for d in care.placed]
    words += [f"{name} out" for name in care.removed]
    words += ["proud flesh trimmed"] if care.granulation_trimmed else []
    words += [care.topical] if care.topical else []
    if care.bandage:
        layers = ", ".join(layer.material for layer in care.bandage.layers)
        words.append(f"{care.bandage.kind}: {layers}" if layers else care.bandage.kind)
    words += ["bandaging stopped"] if care.bandage_stopped else []
    extra = (("radiographs", care.radiographs), ("culture", care.culture))
    words += [f"{name}: {text}" for name, text in extra if text]
    words += [care.note] if care.note else []
    return "; ".join(words)


def drug_words(drug: DrugGiven | DrugDispensed) -> str:
    """Give one drug with its amount and route."""
    amount = f" {drug.amount:g} {drug.unit}" if drug.amount is not None else ""
    strength = f" ({drug.strength})" if drug.strength else ""
    return f"{drug.name}{amount} {drug.route}{strength}"
