"""What cannot be right in an entry: every problem at once, each with the field it stands in."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Iterator
from dataclasses import fields, is_dataclass
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from fieldnotes.casework.order_checks import order_problems
from fieldnotes.casework.picture_checks import (
    measurement_problems,
    photograph_problems,
    size_problems,
)
from fieldnotes.domain.agreements import Consent, ConsentKind
from fieldnotes.domain.entries import (
    Amendment,
    CaseOpened,
    Death,
    Discharge,
    FollowUpOutcome,
    HorseSet,
    Note,
    OwnerReport,
    OwnerSet,
    PracticeSet,
    TaskAdded,
    Visit,
    WoundAdded,
)
from fieldnotes.domain.errors import Problem, RefusedInputError, UnknownNameError
from fieldnotes.domain.followups import Doer
from fieldnotes.domain.patients import FoodChain, Sex
from fieldnotes.domain.pictures import Measurement, Photograph
from fieldnotes.domain.text import clean_line
from fieldnotes.knowledge.routes import is_injected
from fieldnotes.planning.workdays import holiday_region_fault

if TYPE_CHECKING:
    from fieldnotes.domain.cases import Case, CaseLine
    from fieldnotes.domain.entries import Body
    from fieldnotes.domain.mail import MailServer
    from fieldnotes.domain.patients import Horse
    from fieldnotes.domain.register import Register
    from fieldnotes.domain.treatment import Bandage, DrugDispensed, DrugGiven
    from fieldnotes.domain.wounds import Finding, Wound
    from fieldnotes.knowledge.library import Library
    from fieldnotes.knowledge.limits import Limits
    from fieldnotes.knowledge.regions import Regions
    from fieldnotes.knowledge.routes import Route

Problems = Iterator[Problem]
CLOCK_SLACK = dt.timedelta(minutes=15)
LONGEST_GESTATION_DAYS = 450  # a donkey's may pass 14 months (from memory)
SIGNED = {"lat", "lon", "x_cm", "y_cm", "angle_deg", "level"}  # all else is counted from nothing


def _label(item: object, number: int) -> str:
    return getattr(item, "wound", None) or getattr(item, "label", None) or str(number)


def out_of_bounds(record: object, limits: Limits, path: str = "") -> Problems:
    """Walk a record and give every figure that no wound, horse or place can have."""
    if isinstance(record, tuple):
        for number, item in enumerate(record):
            yield from out_of_bounds(item, limits, f"{path}.{_label(item, number)}".strip("."))
    elif is_dataclass(record):
        for field in fields(record):
            here = f"{path}.{field.name}".strip(".")
            value = getattr(record, field.name)
            yield from _bounded(field.name, value, limits, here)
            yield from out_of_bounds(value, limits, here)


def _bounded(name: str, value: Any, limits: Limits, path: str) -> Problems:  # noqa: ANN401
    if isinstance(value, bool) or not isinstance(value, int | float):
        return
    limit = limits.get(name)
    if not math.isfinite(value):
        yield Problem(path, f"{value} is not a number")
    elif limit is not None:
        fault = limit.fault(value)
        if fault:
            yield Problem(path, fault)
    elif value < 0 and name not in SIGNED:
        yield Problem(path, f"{value:g} is less than nothing")


def _day(moment: dt.datetime) -> str:
    return f"{moment:%d %b %Y %H:%M}"


def opening_problems(
    opened: CaseOpened,
    register: Register,
    regions: Regions,
    now: dt.datetime,
    death: CaseLine | None = None,
) -> Problems:
    """Check a case about to be opened; `death` is the case in which its horse died."""
    if death is not None and death.ended_on and opened.horse in register.horses:
        name, on = clean_line(register.horses[opened.horse].name), death.ended_on
        yield Problem("horse", f"{name} died on {on.day} {on:%b %Y} (case {death.ref}); if that "
                      "is wrong, correct the death first: end that case anew")  # fmt: skip
    if opened.horse not in register.horses:
        yield Problem("horse", "choose a horse from the register, or add it first")
    if opened.premises not in register.premises:
        yield Problem("premises", "choose where the horse stands")
    if opened.injured_at > now + CLOCK_SLACK:
        yield Problem("injured_at", "the injury cannot be in the future")
    if not opened.wounds:
        yield Problem("wounds", "a case needs at least one wound")
    labels = [w.label for w in opened.wounds]
    for wound in opened.wounds:
        path = f"wounds.{wound.label}"
        if labels.count(wound.label) > 1:
            yield Problem(f"{path}.label", f"wound {wound.label} stands twice")
        yield from _place_problems(wound, regions, f"{path}.region")


def _place_problems(wound: Wound, regions: Regions, path: str) -> Problems:
    try:
        regions.get(wound.region)
    except UnknownNameError as error:
        yield Problem(path, error.reason or "choose a region of the body map")


def later_wound_problems(wound: Wound, case: Case, regions: Regions) -> Problems:
    """Check a wound found after the case was opened."""
    if case.wound(wound.label) is not None:
        yield Problem("wound.label", f"wound {wound.label} stands twice")
    yield from _place_problems(wound, regions, "wound.region")


def visit_problems(
    visit: Visit,
    injured_at: dt.datetime,
    labels: tuple[str, ...],
    now: dt.datetime,
    routes: tuple[Route, ...],
) -> Problems:
    """Check a visit against the case it belongs to."""
    if visit.at < injured_at:
        yield Problem("at", f"the visit is before the injury ({_day(injured_at)})")
    if visit.at > now + CLOCK_SLACK:
        yield Problem("at", "a visit is recorded when it has taken place, not before")
    seen: set[str] = set()
    for finding in visit.findings:
        yield from _finding_problems(finding, labels, seen)
    for care in visit.care:
        if care.wound not in labels:
            yield Problem(f"care.{care.wound}", f"there is no wound {care.wound} in this case")
        if care.bandage is not None and undecided(care.bandage):
            path = f"care.{care.wound}.bandage.change_every_days"
            yield Problem(path, "who changes it? Give the owner's interval in days, or let the vet")
    for number, given in enumerate(visit.given):
        yield from _drug_problems(f"given.{number}", given, visit.at)
    for number, dispensed in enumerate(visit.dispensed):
        yield from _drug_problems(f"dispensed.{number}", dispensed, visit.at)
        if is_injected(routes, dispensed.route) and not dispensed.reason.strip():
            yield Problem(
                f"dispensed.{number}.reason",
                f"{dispensed.name} by {dispensed.route} left with the owner: give a reason",
            )


def undecided(bandage: Bandage) -> bool:
    """Whether a bandage is left to the owner without saying when to change it."""
    return bandage.changed_by == Doer.OWNER and bandage.change_every_days is None


def _finding_problems(finding: Finding, labels: tuple[str, ...], seen: set[str]) -> Problems:
    path = f"findings.{finding.wound}"
    if finding.wound not in labels:
        yield Problem(path, f"there is no wound {finding.wound} in this case")
    if finding.wound in seen:
        yield Problem(path, f"wound {finding.wound} is described twice")
    seen.add(finding.wound)
    length, width = finding.length_mm, finding.width_mm
    if length is not None and width is not None and width > length:
        yield Problem(f"{path}.width_mm", "length is the longer side; the width is larger")
    if (length is None) != (width is None) and finding.area_cm2 is None:
        missing = "length_mm" if length is None else "width_mm"
        yield Problem(f"{path}.{missing}", "length and width are measured together")
    yield from size_problems(finding, path)


def _drug_problems(path: str, drug: DrugGiven | DrugDispensed, at: dt.datetime) -> Problems:
    if not drug.name.strip():
        yield Problem(f"{path}.name", "which drug?")
    if not drug.route.strip():
        yield Problem(f"{path}.route", "a drug needs its route (IV, IM, PO ...)")
    if drug.amount is not None and drug.amount <= 0:
        yield Problem(f"{path}.amount", "the amount must be more than nothing")
    if drug.expiry is not None and drug.expiry < at.date() and not drug.reason.strip():
        yield Problem(
            f"{path}.expiry", f"expired on {drug.expiry:%d %b %Y}; give a reason to use it"
        )


def task_problems(task: TaskAdded, today: dt.date) -> Problems:
    """Check a follow-up set by hand."""
    if not task.what.strip():
        yield Problem("what", "what is to be done?")
    if not task.earliest <= task.due <= task.latest:
        yield Problem("due", "the order is earliest, due, latest")
    if task.latest < today:
        yield Problem("latest", "this lies in the past")
    if task.by not in {"vet", "owner"}:
        yield Problem("by", "vet or owner")


def outcome_problems(outcome: FollowUpOutcome, today: dt.date) -> Problems:
    """Check what is said to have become of a follow-up."""
    if outcome.outcome == "moved" and outcome.moved_to is None and outcome.appointment is None:
        yield Problem("moved_to", "moved to which day?")
    if outcome.moved_to is not None and outcome.moved_to < today:
        yield Problem("moved_to", "a recheck cannot be moved into the past")
    if outcome.appointment is not None and outcome.appointment.date() < today:
        yield Problem("appointment", "an appointment cannot lie in the past")
    if outcome.outcome == "done" and outcome.on > today:
        yield Problem("on", "it cannot have been done yet")


def email_fault(address: str) -> str:
    """Say what is wrong with an address; empty if nothing is."""
    from fieldnotes.rendering.message import address_fault  # noqa: PLC0415  (only where one is checked)

    return address_fault(address)


def server_problems(server: MailServer | None) -> Problems:
    """Check where mail is handed in."""
    if server is None:
        return
    if not server.host or any(c.isspace() or c in "/@:" for c in server.host):
        yield Problem("host", f"'{server.host}' is not the name of a mail server")
    if not 1 <= server.port <= 65535:
        yield Problem("port", f"{server.port} is not a port")
    if server.sender and email_fault(server.sender):
        yield Problem("from", email_fault(server.sender))


def _mare_problems(horse: Horse, today: dt.date) -> Problems:
    """Check what only a mare can be, and when she can foal."""
    male = horse.sex in {Sex.GELDING, Sex.STALLION}
    for field, said in (("foaling_due", horse.foaling_due), ("lactating", horse.lactating)):
        if said and male:
            yield Problem(field, f"only a mare foals; this one is a {horse.sex}")
    if horse.foaling_due is not None and (horse.foaling_due - today).days > LONGEST_GESTATION_DAYS:
        yield Problem("foaling_due", "no mare or jenny is in foal for so long")


def status_problems(before: Horse, after: Horse) -> Problems:
    """Check a change of the food-chain status: out of it only by consent, and then for life."""
    change = (before.food_chain, after.food_chain)
    if change == (FoodChain.INTENDED, FoodChain.EXCLUDED):
        yield Problem("food_chain", "write a consent (food chain exclusion) with its document date")
    if before.food_chain is FoodChain.EXCLUDED is not after.food_chain:
        yield Problem("food_chain", "an exclusion from the food chain is for life")


def register_problems(body: Body, register: Register, today: dt.date) -> Problems:
    """Check a record of the register."""
    match body:
        case OwnerSet(owner) if owner.email and email_fault(owner.email):
            yield Problem("email", email_fault(owner.email))
        case HorseSet(horse):
            if horse.born is not None and horse.born > today:
                yield Problem("born", "born in the future")
            if horse.premises not in register.premises:
                yield Problem("premises", "choose where the horse stands")
            yield from _mare_problems(horse, today)
        case PracticeSet(practice):
            try:
                ZoneInfo(practice.zone)
            except (ZoneInfoNotFoundError, ValueError, OSError):  # OSError: a part of a name
                yield Problem("zone", f"no time zone is called '{practice.zone}'")
            if practice.email and email_fault(practice.email):
                yield Problem("email", email_fault(practice.email))
            yield from server_problems(practice.mail_server)
            if practice.holiday_region and (fault := holiday_region_fault(practice.holiday_region)):
                yield Problem("holiday_region", fault)
            if practice.day_end <= practice.day_start:
                yield Problem("day_end", "the day ends before it starts")
        case _:
            pass


def food_chain_problems(consent: Consent, today: dt.date) -> Problems:
    """Check a lasting exclusion from the food chain: who agreed, and when the document says so."""
    if not consent.by.strip():
        yield Problem("by", "who agreed to it?")
    if consent.document_on is None:
        yield Problem("document_on", "since which day does the horse's document say so?")
    elif consent.document_on > today:
        yield Problem("document_on", "the document cannot say so yet")


def _care_problems(body: Body, case: Case, library: Library, now: dt.datetime) -> Problems:
    labels, injured_at = tuple(w.label for w in case.wounds), case.opened.injured_at
    match body:
        case Visit():
            yield from visit_problems(body, injured_at, labels, now, library.routes)
            yield from order_problems(body, case)
        case Amendment(corrected=Visit() as visit):
            found = visit_problems(visit, injured_at, labels, now, library.routes)
            for problem in (*found, *order_problems(visit, case, body.of)):
                yield Problem(f"corrected.{problem.field}", problem.message)
        case Note(text) if not text.strip():
            yield Problem("text", "the note is empty")
        case WoundAdded(wound):
            yield from later_wound_problems(wound, case, library.regions)
        case Consent(kind=ConsentKind.FOOD_CHAIN, given=True):
            yield from food_chain_problems(body, now.date())
        case Discharge() | Death():
            if not injured_at.date() <= body.on <= now.date():
                yield Problem("on", "a day between the injury and today")
        case _:
            pass


def _picture_problems(body: Body, case: Case, now: dt.datetime) -> Problems:
    labels = tuple(w.label for w in case.wounds)
    match body:
        case Photograph():
            yield from photograph_problems(body, case)
        case Measurement(found=found):
            yield from measurement_problems(body, case, now + CLOCK_SLACK)
            yield from _finding_problems(found, labels, set())
        case _:
            pass


def body_problems(
    body: Body, case: Case | None, register: Register, library: Library, now: dt.datetime
) -> Problems:
    """Check any entry but an opening, against the case it is for and the register."""
    today = now.date()
    if case is not None:
        yield from _care_problems(body, case, library, now)
        yield from _picture_problems(body, case, now)
    match body:
        case TaskAdded():
            yield from task_problems(body, today)
        case FollowUpOutcome():
            yield from outcome_problems(body, today)
        case OwnerReport():
            if body.at > now + CLOCK_SLACK:
                yield Problem("at", "a report cannot come from the future")
            if not body.text.strip() and not body.signs:
                yield Problem("text", "what was reported?")
        case _:
            yield from register_problems(body, register, today)


def refuse(problems: Iterable[Problem]) -> None:
    """Raise RefusedInputError for the first problem, if there is any."""
    for problem in problems:
        raise RefusedInputError(problem.field, problem.message)
