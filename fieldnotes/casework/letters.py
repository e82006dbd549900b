"""Papers for other readers than the owner: a referral letter, a handover, the whole record."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from fieldnotes.casework.closing_time import seen_words
from fieldnotes.casework.drawings import pictures
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.followups import Doer
from fieldnotes.domain.text import clean_line
from fieldnotes.rendering.handout.facts import courses_now, sedated_at
from fieldnotes.rendering.handout.pages import filled_template, paper_html
from fieldnotes.rendering.handout.wording import amount_text, every_hours, number_text
from fieldnotes.rendering.markdown import plain_text
from fieldnotes.rendering.pdf import pdf_bytes
from fieldnotes.resources import template

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterable, Iterator

    from fieldnotes.casework.papers import Office
    from fieldnotes.casework.views import CaseFile, WoundFile
    from fieldnotes.domain.entries import Visit
    from fieldnotes.domain.treatment import DrugGiven

FORMATS = ("markdown", "html", "text", "pdf")
UNKNOWN = "not known"


class Section(NamedTuple):
    """One heading of a paper and what stands under it."""

    title: str
    lines: tuple[str, ...]


def paper(file: CaseFile, office: Office, kind: str, form: str) -> bytes:
    """Give one paper in one format; RefusedInputError names a kind or format there is not."""
    if kind not in KINDS:
        raise RefusedInputError("--kind", f"'{kind}' is none of {', '.join(KINDS)}")
    if form not in FORMATS:
        raise RefusedInputError("--format", f"'{form}' is none of {', '.join(FORMATS)}")
    words, build = KINDS[kind]
    title = f"{words}: {clean_line(file.horse.name)}"
    vet = office.people.get(file.case.responsible)
    practice = file.practice
    signed = f"{practice.name}, {practice.phone}. {vet.name if vet else UNKNOWN}."
    drawn = pictures(file, png=form == "pdf")
    maps = tuple(p for p in drawn if not p.layers)
    markdown = filled_template(
        template("paper.md.j2"),
        title=title,
        under=f"Case {file.case.ref}. {_moment(office.now, office)}. {signed}",
        sections=tuple(s for s in build(file, office) if s.lines),
        pictures=maps,
    )
    if form == "pdf":
        return pdf_bytes(markdown, title, office.now, {f"Picture: {p.alt}": p.png for p in maps})
    if form == "html":
        return paper_html(title, markdown, maps).encode("utf-8")
    return (plain_text(markdown) if form == "text" else markdown).encode("utf-8")


def _moment(at: dt.datetime, office: Office) -> str:
    return f"{at.astimezone(office.now.tzinfo):%Y-%m-%d %H:%M}"


def _animal(file: CaseFile) -> Section:
    horse, weight = file.horse, file.horse.weight()
    age = f"born {horse.born}" if horse.born else "age not known"
    kilos = f"{number_text(weight.kg)} kg ({weight.method}, {weight.on})" if weight else UNKNOWN
    last = f", last {horse.tetanus.last}" if horse.tetanus.last else ""
    last += ", first dose of a course only" if horse.tetanus.finished is False else ""
    chip = horse.microchip or UNKNOWN
    lines = (
        f"{horse.name}, {horse.species}, {horse.sex}, {age}. Microchip: {chip}.",
        f"Weight: {kilos}.",
        f"Allergies: {', '.join(horse.allergies) or 'none on record'}.",
        f"Conditions: {', '.join(horse.conditions) or 'none on record'}.",
        f"Tetanus: {horse.tetanus.history}{last}. Food chain: {horse.food_chain}.",
    )
    return Section("The animal", lines)


def _people(file: CaseFile) -> Section:
    owner, place = file.owner, file.premises
    called = f"{owner.name}, phone {owner.phone or UNKNOWN}" if owner else UNKNOWN
    stands = place.name if place else UNKNOWN
    on_call = file.case.on_call or file.practice.emergency_phone or file.practice.phone
    return Section(
        "Who to call", (f"Owner: {called}.", f"Stands at: {stands}.", f"Vet on call: {on_call}.")
    )


def _wounds(file: CaseFile, office: Office) -> Section:
    opened = file.case.opened
    about = "about " if opened.injured_about else ""
    first = f"Hurt {about}{_moment(opened.injured_at, office)}. {clean_line(opened.mechanism)}"
    seen = f"{seen_words(file.case).capitalize()}." if file.case.visits else ""
    return Section("Wounds", (f"{first} {seen}".strip(), *(_wound(w, office) for w in file.wounds)))


def _wound(wound: WoundFile, office: Office) -> str:
    said = f"Wound {wound.wound.label}: {wound.wound.kind}, {wound.region.standard_name}"
    if not wound.findings:
        return f"{said}. No finding on record."
    at, last = wound.findings[-1]
    size = f"{last.length_mm} x {last.width_mm} mm" if last.length_mm else "not measured"
    parts = [f"{_moment(at, office)}: {size}"]
    if last.phase:
        parts.append(str(last.phase))
    if wound.closure:
        parts.append(str(wound.closure.method))
    return f"{said}. {', '.join(parts)}."


def _given(drug: DrugGiven, office: Office) -> str:
    amount = f"{number_text(drug.amount)} {drug.unit}" if drug.amount is not None else UNKNOWN
    return f"{_moment(drug.at, office)} {drug.name} {amount} {drug.route}, by {drug.given_by}"


def _drugs(file: CaseFile, office: Office) -> Section:
    given = [_given(g, office) for v in file.case.visits for g in v.body.given]
    courses = [
        f"With the owner: {d.name}, {amount_text(d)}, {every_hours(d.interval_h)}, "
        f"from {_moment(d.starts, office)} for {number_text(d.days)} days"
        for d in courses_now(file.case, office.now.date())
    ]
    return Section("Drugs with times", (*given, *courses) or ("None on record.",))


def _travel(file: CaseFile, office: Office) -> Section:
    since = sedated_at(file.case, office.library.drugs)
    last = _moment(since, office) if since else "none on record at the last visit"
    lines = (
        "☐ Limb stabilised.",
        "☐ Bleeding controlled.",
        f"Last sedative: {last}.",
        "☐ The owner agrees that the clinic is told this. The vet decides whether it may travel.",
    )
    return Section("Before it travels", lines)


def _state(file: CaseFile, office: Office) -> Section:
    lines = []
    for dated in reversed(file.case.visits):
        visit = dated.body
        if visit.lameness is not None or visit.vitals.temperature_c is not None:
            warm = visit.vitals.temperature_c
            told = f"{warm:.1f} °C" if warm is not None else "temperature not taken"
            gait = f"lameness {visit.lameness}" if visit.lameness is not None else "gait not noted"
            lines.append(f"{_moment(visit.at, office)}: {told}, {gait} {visit.lame_limb}".rstrip())
            break
    flags = (f"Open flag, wound {w.wound.label}: {f.why}" for w in file.wounds for f in w.flags)
    return Section("Last seen, and open flags", (*lines, *flags) or ("Nothing noted.",))


def _plan(file: CaseFile) -> Section:
    def line(what: str, by: Doer, due: dt.date, latest: dt.date) -> str:
        return f"{due} (latest {latest}), {'vet' if by is Doer.VET else 'owner'}: {what}"

    return Section("Next", tuple(line(t.what, t.by, t.due, t.latest) for t in file.plan))


def _worries(file: CaseFile, office: Office, number: int) -> Section:
    told = file.case.reports[-number:]
    lines = (f"{_moment(r.body.at, office)} {r.body.source}: {r.body.text}" for r in told)
    return Section("What the owner reported", tuple(clean_line(x) for x in lines))


def _visit(visit: Visit, amended: str, office: Office) -> Section:
    vitals = visit.vitals.temperature_c
    lines = [
        clean_line(visit.history),
        f"Temperature {vitals:.1f} °C" if vitals is not None else "",
        *(f"Wound {f.wound}: {f.phase or ''} {clean_line(f.note)}" for f in visit.findings),
        *(f"Wound {c.wound}, done: {_care(c)}" for c in visit.care),
        *(_given(g, office) for g in visit.given),
        *(f"Left with the owner: {d.name}, {amount_text(d)}" for d in visit.dispensed),
        f"Told: {clean_line(visit.instructions)}" if visit.instructions else "",
        f"As amended by entry {amended}." if amended else "",
    ]
    title = f"{_moment(visit.at, office)} {visit.kind}"
    return Section(title, tuple(x.strip() for x in lines if x.strip()))


def _care(care: object) -> str:
    names = ("debridement", "closure", "bandage", "topical", "note")
    told = ((n, getattr(care, n)) for n in names)
    said = (
        f"{n}: {getattr(v, 'method', None) or getattr(v, 'kind', None) or v}" for n, v in told if v
    )
    return clean_line("; ".join(said)) or "looked at"


def _referral(file: CaseFile, office: Office) -> Iterable[Section]:
    return (
        _people(file), _animal(file), _wounds(file, office), _state(file, office),
        _drugs(file, office), _travel(file, office),
    )  # fmt: skip


def _handover(file: CaseFile, office: Office) -> Iterable[Section]:
    return (
        _people(file), _state(file, office), _plan(file), _drugs(file, office),
        _animal(file), _wounds(file, office), _worries(file, office, 2),
    )  # fmt: skip


def _report(file: CaseFile, office: Office) -> Iterator[Section]:
    case = file.case
    yield from (_people(file), _animal(file), _wounds(file, office))
    for dated in case.visits:
        yield _visit(dated.body, dated.amended_by, office)
    yield _worries(file, office, len(case.reports) or 1)
    notes = (f"{_moment(n.entry.time, office)} {clean_line(n.body.text)}" for n in case.notes)
    yield Section("Notes", tuple(notes))
    changed = (
        f"{_moment(a.entry.time, office)} to entry {a.body.of}: {a.body.what} Why: {a.body.why}"
        for a in case.amendments
    )
    yield Section("Amendments", tuple(clean_line(x) for x in changed))
    yield from (_state(file, office), _plan(file))
    signed = (
        f"{_moment(e.time, office)} {e.kind}, {e.author}, {e.id}, SHA-256 {e.sha256[:16]}"
        for e in case.entries
    )
    yield Section("Entries", tuple(signed))


KINDS: dict[str, tuple[str, Callable[[CaseFile, Office], Iterable[Section]]]] = {
    "referral": ("Referral letter", _referral),
    "handover": ("Handover", _handover),
    "report": ("Case report", _report),
}
