"""Makes the aftercare sheet of a case: the record, the plan and the text blocks put together."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.clinical.bandage import needs
from fieldnotes.domain.cases import Status
from fieldnotes.domain.entries import Referral
from fieldnotes.domain.paperwork import HandoutWording
from fieldnotes.domain.text import clean, clean_line, clean_record
from fieldnotes.knowledge.language import ENGLISH, Language, placed
from fieldnotes.planning.facts import owner_changes
from fieldnotes.planning.supplies import changes_left, region_of
from fieldnotes.rendering.handout.facts import (
    AWAY,
    bandage_now,
    case_facts,
    courses_now,
    sedated_at,
    topical_now,
    under_cast,
)
from fieldnotes.rendering.handout.labels import medicine_label
from fieldnotes.rendering.handout.schedule import day_rows
from fieldnotes.rendering.handout.sheet import (
    AftercareSheet,
    BandageSheet,
    LayerLine,
    Picture,
    Purchase,
)
from fieldnotes.rendering.handout.wording import (
    day_text,
    every_days,
    full_day,
    temperature_text,
)

if TYPE_CHECKING:
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.treatment import Bandage, Care
    from fieldnotes.knowledge.bandages import Bandages
    from fieldnotes.knowledge.drugs import Drugs
    from fieldnotes.knowledge.handout import HandoutTexts, TemperatureLimits
    from fieldnotes.knowledge.regions import Regions
    from fieldnotes.rendering.handout.concerned import Concerned

COVERS = ("cast", "bandage", "splint")  # the hardest first: what the owner sees and feels


@dataclass(frozen=True)
class Tables:
    """The knowledge a handout draws on."""

    texts: HandoutTexts
    regions: Regions
    drugs: Drugs
    bandages: Bandages
    language: Language = ENGLISH


def aftercare_sheet(
    about: Concerned,
    plan: tuple[FollowUp, ...],
    tables: Tables,
    today: dt.date,
    *,
    once: bool = True,
    pictures: tuple[Picture, ...] = (),
) -> AftercareSheet:
    """Give the sheet; `once` adds what an owner gets only once: farm walk and questions."""
    case, texts, language = about.case, tables.texts, tables.language
    once = once and case.status is Status.OPEN
    facts = case_facts(
        case, about.horse, today, regions=tables.regions, drugs=tables.drugs, texts=texts
    )
    limits = texts.temperature(about.horse.species.value, about.horse.age_days(today))
    named = _named(about, tables, facts, limits)

    def says(section: str) -> tuple[str, ...]:
        chosen = texts.chosen(section, facts)
        return tuple(_filled(language.say(text), named) for text in chosen)

    open_tasks = tuple(t for t in plan if t.case == case.ref)
    sheet = AftercareSheet(
        case=case.ref,
        horse=about.horse.name,
        owner=about.owner.name if about.owner else "",
        premises=about.premises.name if about.premises else "",
        practice=about.practice.name,
        practice_address=about.practice.address,
        phone=about.practice.phone,
        emergency_phone=case.on_call or about.practice.emergency_phone,
        vet=about.vet.name if about.vet else "",
        date=today,
        happened=_happened(about, tables),
        done=_done(case, tables),
        three=says("three"),
        now=says("now"),
        today=says("today"),
        normal_temperature=_normal(limits.normal_c, language),
        days=day_rows(case, open_tasks, today, ours=AWAY not in facts, language=language),
        bandages=_bandages(case, facts, language),
        purchases=_purchases(case, open_tasks, tables) if "owner-changes" in facts else (),
        bandage_notes=says("bandage"),
        mistakes=says("mistakes"),
        cast=says("cast"),
        ointments=() if AWAY in facts else _ointments(case, language),
        ointment_notes=says("ointment"),
        cleaning=says("cleaning"),
        healing=says("healing"),
        rest=(() if AWAY in facts else _rest(case, language)) + says("rest"),
        instructions=_own_words(case) + _instructions(case, language),
        medicines=tuple(
            medicine_label(about, d, texts, language) for d in courses_now(case, today)
        ),
        medicine_notes=says("medicine"),
        walk=says("walk") if once else (),
        teach_back=says("teach") if once else (),
        missing=tuple(map(language.say, _missing(about))),
        pictures=tuple(p for p in pictures if not p.layers or "owner-changes" in facts),
        standing=says("standing"),
        language=language.code,
        title=language.say("Aftercare for {horse}", horse=about.horse.name),
        day=full_day(today, language),
    )
    return clean_record(sheet)


def _named(
    about: Concerned, tables: Tables, facts: frozenset[str], limits: TemperatureLimits
) -> dict[str, str]:
    """Give what stands for each {part} of a text block."""
    case, language = about.case, tables.language
    cover = next((c for c in COVERS if c in facts), "wound")
    return {
        "{horse}": about.horse.name,
        "{call}": temperature_text(limits.call_c, language),
        "{urgent}": temperature_text(limits.urgent_c, language),
        "{cover}": language.case_of("cover", cover),
        "{hospital}": _hospital(case, language),
        "{phone}": about.practice.phone,
        "{ended}": day_text(case.ended_on, language) if case.ended_on else "",
        **_sedation_times(case, tables),
    }


def _hospital(case: Case, language: Language) -> str:
    """Give where the horse was last referred to, as far as it was said."""
    named = (r.body.to for r in reversed(case.bodies(Referral)) if r.body.to)
    return next(named, language.say("the hospital"))


def _normal(limits_c: tuple[float, float], language: Language) -> str:
    low, high = (temperature_text(c, language) for c in limits_c)
    return language.say("{first} to {last}", first=low, last=high)


def _sedation_times(case: Case, tables: Tables) -> dict[str, str]:
    """Give from when a sedated horse may be fed, turned out and driven, in its visit's zone."""
    since = sedated_at(case, tables.drugs)
    if since is None:
        return {}
    after = {f"{{{s.what}_at}}": since + dt.timedelta(hours=s.hours) for s in tables.texts.sedation}
    language = tables.language
    same = {part: f"{at:%H:%M}" for part, at in after.items()}
    return {
        part: text
        if after[part].date() == since.date()
        else language.say("{time} on {day}", time=text, day=day_text(after[part].date(), language))
        for part, text in same.items()
    }


def _own_words(case: Case) -> tuple[str, ...]:
    """Give what the vet wrote for this handout alone, the newest counts."""
    written = case.bodies(HandoutWording)
    lines = (clean_line(x) for x in clean(written[-1].body.text).splitlines()) if written else ()
    return tuple(line for line in lines if line)


def _filled(text: str, named: dict[str, str]) -> str:
    # One pass over the text: a horse called "{call}" stays called that.
    for part, value in named.items():
        before, found, after = text.partition(part)
        if found:
            return f"{_filled(before, named)}{clean_line(value)}{_filled(after, named)}"
    return text


def _happened(about: Concerned, tables: Tables) -> tuple[str, ...]:
    opened = about.case.opened
    day = opened.injured_at.date()
    language, horse = tables.language, clean_line(about.horse.name)
    said = (
        "{horse} was hurt on about {day}." if opened.injured_about else "{horse} was hurt on {day}."
    )
    lines = [language.say(said, horse=horse, day=day_text(day, language))]
    for wound in about.case.wounds:
        known = wound.region in tables.regions
        place = placed(tables.regions.get(wound.region), language) if known else wound.region
        kind = language.say(tables.texts.plain(wound.kind.value))
        lines.append(
            language.say(
                "Wound {label}: {kind}, {place}.", label=wound.label, kind=kind, place=place
            )
        )
    if opened.mechanism:
        lines.append(language.say("How: {how}.", how=clean_line(opened.mechanism)))
    return tuple(lines)


def _care_terms(care: Care) -> list[str]:
    happened = [
        ("clipped", care.clipped),
        ("lavage", care.lavage is not None),
        ("debridement", bool(care.debridement)),
        ("sampled", bool(care.synovial_tests)),
        ("trimmed", care.granulation_trimmed),
        (care.closure.method.value if care.closure else "", care.closure is not None),
        *((device.kind.value, True) for device in care.placed),
        ("bandaged", care.bandage is not None),
    ]
    return [term for term, true in happened if true]


def _done(case: Case, tables: Tables) -> tuple[str, ...]:
    """Give what was done at the newest visit, wound by wound where there are several."""
    if not case.visits:
        return ()
    visit, language = case.visits[-1].body, tables.language
    several = len(case.wounds) > 1
    lines = []
    for care in visit.care:
        said = " ".join(language.say(tables.texts.plain(term)) for term in _care_terms(care))
        if said:
            lines.append(_of_wound(care.wound, said, language) if several else said)
    names = ", ".join(dict.fromkeys(clean_line(g.name) for g in visit.given))
    if names:
        lines.append(language.say("We gave: {names}.", names=names))
    return tuple(lines)


def _of_wound(label: str, text: str, language: Language) -> str:
    return language.say("Wound {label}: {text}", label=label, text=text)


def _bandages(case: Case, facts: frozenset[str], language: Language) -> tuple[BandageSheet, ...]:
    if "owner-changes" not in facts:
        return ()
    return tuple(_bandage(label, b, language) for label, b in _owner_bandages(case))


def _owner_bandages(case: Case) -> tuple[tuple[str, Bandage], ...]:
    """Give the bandages the owner changes; what is under a cast is not the owner's."""
    reached = (w.label for w in case.wounds if not under_cast(case, w.label))
    held = ((label, bandage_now(case, label)) for label in reached)
    return tuple((label, b) for label, b in held if b and owner_changes(case, label))


def _bandage(label: str, bandage: Bandage, language: Language) -> BandageSheet:
    layers = tuple(
        LayerLine(n, clean_line(x.material), clean_line(x.note))
        for n, x in enumerate(bandage.layers, 1)
    )
    often = bandage.change_every_days
    change = language.say("Change it on the days in the table.")
    if often:
        change = language.say("Change it {often}.", often=every_days(often, language))
    return BandageSheet(label, clean_line(bandage.kind), layers, change)


def _purchases(case: Case, tasks: tuple[FollowUp, ...], tables: Tables) -> tuple[Purchase, ...]:
    needed: dict[str, float] = {}
    for label, bandage in _owner_bandages(case):
        changes = changes_left(case, label, tasks)
        region = region_of(case, label, tables.regions)
        for need in needs(tables.bandages, bandage, region, changes):
            item = need.item if need.unit == "piece" else f"{need.item}, {need.unit}"
            needed[clean_line(item)] = needed.get(clean_line(item), 0) + need.count
    return tuple(Purchase(item, math.ceil(number)) for item, number in needed.items())


def _ointments(case: Case, language: Language) -> tuple[str, ...]:
    several = len(case.wounds) > 1
    reached = (w.label for w in case.wounds if not under_cast(case, w.label))
    used = ((label, clean_line(topical_now(case, label))) for label in reached)
    return tuple(_of_wound(label, t, language) if several else t for label, t in used if t)


def _rest(case: Case, language: Language) -> tuple[str, ...]:
    housing = clean_line(case.visits[-1].body.housing) if case.visits else ""
    return (language.say("Housing: {housing}.", housing=housing),) if housing else ()


def _instructions(case: Case, language: Language) -> tuple[str, ...]:
    """Give the newest instructions there are, with their date where a later visit gave none."""
    visits = case.visits
    for visit in reversed(visits):
        lines = (clean_line(x) for x in clean(visit.body.instructions).splitlines())
        said = tuple(line for line in lines if line)
        if said:
            newest = visit is visits[-1]
            day = day_text(visit.body.at.date(), language)
            return said if newest else (language.say("Said on {day}:", day=day), *said)
    return ()


def _missing(about: Concerned) -> tuple[str, ...]:
    owner = about.owner
    gaps = [
        ("No body weight is on record. Doses need one.", about.horse.weight() is None),
        ("No owner is on record.", owner is None),
        ("We have no phone number for you.", owner is not None and not owner.phone),
        ("We have no email for you.", owner is not None and not owner.email),
    ]
    return tuple(text for text, true in gaps if true)
