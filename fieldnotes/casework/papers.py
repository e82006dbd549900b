"""What leaves the desk: the owner's handout in its formats, the message, the calendars."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from hashlib import sha256
from html import escape as html_text
from typing import TYPE_CHECKING

from fieldnotes.casework.aftercare import PLAN_STAYS
from fieldnotes.casework.drawings import pictures
from fieldnotes.casework.stationery import Stationery
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.text import clean_line
from fieldnotes.knowledge.language import ENGLISH, load_language
from fieldnotes.rendering.calendars import (
    CalendarTask,
    Publisher,
    cancelled_calendar,
    owner_calendar,
    vet_calendar,
)
from fieldnotes.rendering.handout.concerned import Concerned
from fieldnotes.rendering.handout.making import Tables, aftercare_sheet
from fieldnotes.rendering.handout.pages import TEMPLATE, cid_of, handout_html, handout_text
from fieldnotes.rendering.message import (
    Letter,
    message_bytes,
    message_id,
    owner_mailbox,
    practice_mailbox,
)
from fieldnotes.rendering.pdf import pdf_bytes

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping

    from fieldnotes.casework.views import CaseFile
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.patients import Person
    from fieldnotes.knowledge.language import Language
    from fieldnotes.knowledge.library import Library
    from fieldnotes.rendering.handout.sheet import AftercareSheet

FORMATS = ("markdown", "html", "text", "eml", "pdf")
DOMAIN = "fieldnotes.invalid"
GONE = "The dates we sent you no longer hold. Please call us on {phone} with any question."


@dataclass(frozen=True)
class Office:
    """What a paper needs beside the case: tables, people who sign, the store's id, the moment.

    `visited` are the premises whose owner has had the farm walk and the questions.
    """

    library: Library
    people: Mapping[str, Person]
    store: str
    now: dt.datetime
    visited: frozenset[str] = frozenset()
    stationery: Stationery = field(default_factory=Stationery)
    language: str = ""


def sheet_of(file: CaseFile, office: Office, *, png: bool = False) -> AftercareSheet:
    """Give the aftercare sheet of a case as of today, its pictures as PNG too where wanted."""
    about = Concerned(
        case=file.case,
        horse=file.horse,
        owner=file.owner,
        premises=file.premises,
        practice=file.practice,
        vet=office.people.get(file.case.responsible),
    )
    library = office.library
    texts = office.stationery.texts(library.handout)
    language = language_of(file, office)
    tables = Tables(texts, library.regions, library.drugs, library.bandages, language)
    plan = owner_words(file.plan, library, language)
    once = file.case.opened.premises not in office.visited
    shown, today = pictures(file, png=png, language=language), office.now.date()
    return aftercare_sheet(about, plan, tables, today, once=once, pictures=shown)


def language_of(file: CaseFile, office: Office) -> Language:
    """Give the language of a case's owner: as asked for, the owner's, else the practice's."""
    own = file.owner.language if file.owner else ""
    return load_language(office.language or own or file.practice.language)


def owner_words(
    plan: tuple[FollowUp, ...], library: Library, language: Language = ENGLISH
) -> tuple[FollowUp, ...]:
    """Give the plan in the plain words its rules have for an owner."""
    said = []
    for task in plan:
        rule = library.rules.get(task.rule)
        words = rule.owner_words if rule is not None else ""
        said.append(replace(task, what=language.say(words)) if words else task)
    return tuple(said)


def handout(file: CaseFile, office: Office, form: str) -> bytes:
    """Give the handout in one format; RefusedInputError for `eml` without an owner's email."""
    if form not in FORMATS:
        raise RefusedInputError("--format", f"'{form}' is none of {', '.join(FORMATS)}")
    if form == "eml":
        return letter(file, office).data
    sheet = sheet_of(file, office, png=form == "pdf")
    markdown = office.stationery.fill(TEMPLATE, language=sheet.language, sheet=sheet)
    if form == "pdf":
        return pdf_bytes(markdown, sheet.title, office.now, sheet.pictures)
    if form == "html":
        return handout_html(sheet, markdown, page=office.stationery.page).encode("utf-8")
    return (handout_text(markdown) if form == "text" else markdown).encode("utf-8")


@dataclass(frozen=True)
class Posted:
    """A finished message: its exact bytes, who it goes to, and what the record says of it."""

    data: bytes
    to: tuple[str, ...]
    message_id: str
    subject: str
    tasks: tuple[str, ...] = ()
    withdrawn: bool = False

    @property
    def sha256(self) -> str:
        """The hash of the exact bytes."""
        return sha256(self.data).hexdigest()


def letter(file: CaseFile, office: Office) -> Posted:
    """Give the message to the owner; RefusedInputError names an owner without email."""
    to = owner_mailbox(file.owner)
    sheet = sheet_of(file, office, png=True)
    markdown = office.stationery.fill(TEMPLATE, language=sheet.language, sheet=sheet)
    sent = next_id(file, office)
    items = owner_items(file, office)
    data = message_bytes(
        Letter(
            sender=practice_mailbox(file.practice),
            to=(to,),
            subject=sheet.title,
            text=handout_text(markdown),
            html=handout_html(sheet, markdown, inline=False, page=office.stationery.page),
            message_id=sent,
            date=office.now,
            images=tuple((cid_of(p), p.png) for p in sheet.pictures),
            calendar=owner_calendar(items, publisher(file, office)) if items else None,
        )
    )
    keys = tuple(item.task.key for item in items)
    return Posted(data, (to.address,), sent, sheet.title, keys)


def next_id(file: CaseFile, office: Office) -> str:
    """Give the Message-ID of the next message of a case."""
    return message_id(office.store, file.case.ref, len(file.case.handouts) + 1, DOMAIN)


def withdrawal(file: CaseFile, office: Office) -> Posted:
    """Give the message that takes an owner's dates away; RefusedInputError if none went out."""
    keys = published(file.case)
    if not keys:
        raise RefusedInputError("calendar", "no calendar of this case has gone out")
    language = language_of(file, office)
    horse, phone = clean_line(file.horse.name), file.practice.phone
    subject = language.say("Calendar of {horse}: dates taken out", horse=horse)
    text = language.say(GONE, phone=phone) + "\n"
    calendar = cancelled_calendar(
        file.case.ref, keys, revision_of(file.case) + 1, publisher(file, office)
    )
    return _short_mail(file, office, subject, text, cancelled=calendar, keys=keys)


def arrival(file: CaseFile, office: Office, text: str) -> Posted:
    """Give the message that tells a case's owner when to expect the vet."""
    practice = clean_line(file.practice.name)
    subject = language_of(file, office).say("{practice}: when we come", practice=practice)
    return _short_mail(file, office, subject, text)


def _short_mail(
    file: CaseFile,
    office: Office,
    subject: str,
    text: str,
    *,
    cancelled: bytes | None = None,
    keys: tuple[str, ...] = (),
) -> Posted:
    """Give a few words to a case's owner, with the calendar that takes dates away if any is."""
    to, sent = owner_mailbox(file.owner), next_id(file, office)
    data = message_bytes(
        Letter(
            sender=practice_mailbox(file.practice),
            to=(to,),
            subject=subject,
            text=text,
            html=f"<p>{html_text(text.strip())}</p>\n",
            message_id=sent,
            date=office.now,
            calendar=cancelled,
            method="CANCEL",
        )
    )
    return Posted(data, (to.address,), sent, subject, keys, withdrawn=cancelled is not None)


def published(case: Case) -> tuple[str, ...]:
    """Give the keys of the tasks an owner's calendar holds from us."""
    held: dict[str, None] = {}
    for sent in case.handouts:
        if sent.body.withdrawn:
            held.clear()
        else:
            held |= dict.fromkeys(sent.body.tasks)
    return tuple(held)


def revision_of(case: Case) -> int:
    """Give a number that rises with each entry that may change a date, 0 at the first visit.

    A withdrawal counts twice: it went out one above, and what follows must be above that.
    """
    changing = sum(not isinstance(e.body, PLAN_STAYS) for e in case.entries)
    withdrawn = sum(h.body.withdrawn for h in case.handouts)
    return max(0, changing - 2) + 2 * withdrawn


def publisher(file: CaseFile, office: Office) -> Publisher:
    """Give who publishes a calendar."""
    return Publisher(office.store, file.practice, office.now)


def calendar_tasks(file: CaseFile, plan: tuple[FollowUp, ...]) -> Iterable[CalendarTask]:
    """Give a case's follow-ups as calendar entries; each change of the plan raises the revision."""
    revision = revision_of(file.case)
    place, owner = file.premises, file.owner
    for task in plan:
        yield CalendarTask(
            task=task,
            horse=file.horse.name,
            premises=place.name if place else "",
            owner=owner.name if owner else "",
            phone=owner.phone if owner else "",
            position=place.position if place else None,
            revision=revision,
        )


def owner_items(file: CaseFile, office: Office) -> tuple[CalendarTask, ...]:
    """Give a case's follow-ups as its owner's calendar entries, in the owner's language."""
    language = language_of(file, office)
    plan = owner_words(file.plan, office.library, language)
    return tuple(replace(item, language=language) for item in calendar_tasks(file, plan))


def case_calendar(file: CaseFile, office: Office) -> bytes:
    """Give one case's calendar for its owner; RefusedInputError if nothing is due."""
    return owner_calendar(owner_items(file, office), publisher(file, office))


def round_calendar(files: tuple[CaseFile, ...], office: Office) -> bytes:
    """Give the vet's calendar over all cases; RefusedInputError if nothing is due."""
    if not files:
        raise RefusedInputError("calendar", "there is no open case")
    items = [item for file in files for item in calendar_tasks(file, file.plan)]
    return vet_calendar(items, publisher(files[0], office))
