"""Papers beside the handout: for another vet, for a clinic, for the owner; each in every format."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from fieldnotes.casework.case_report import report_sections
from fieldnotes.casework.drawings import pictures
from fieldnotes.casework.letter_sections import (
    UNKNOWN,
    Section,
    animal,
    drugs,
    moment,
    people,
    plan,
    state,
    travel,
    worries,
    wounds,
)
from fieldnotes.casework.owner_papers import cast_sheet, drug_labels
from fieldnotes.casework.papers import Posted, language_of, next_id
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.text import clean_line
from fieldnotes.rendering.handout.pages import cid_of, paper_html
from fieldnotes.rendering.markdown import plain_text
from fieldnotes.rendering.message import Letter, mailbox, message_bytes, practice_mailbox
from fieldnotes.rendering.pdf import pdf_bytes

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from fieldnotes.casework.album import Photo
    from fieldnotes.casework.papers import Office
    from fieldnotes.casework.views import CaseFile
    from fieldnotes.rendering.handout.sheet import Picture

    Photos = Iterable[tuple[Photo, Callable[[], bytes]]]

FORMATS = ("markdown", "html", "text", "pdf", "eml")


@dataclass(frozen=True)
class Drawn:
    """A paper before it takes a format."""

    title: str
    markdown: str
    pictures: tuple[Picture, ...]
    boxes: tuple[str, ...]
    look: str

    def bytes(self, office: Office, form: str) -> bytes:
        """Give it in a format that needs no address."""
        if form == "pdf":
            return pdf_bytes(self.markdown, self.title, office.now, self.pictures)
        if form == "html":
            return self.page(office).encode("utf-8")
        return (plain_text(self.markdown) if form == "text" else self.markdown).encode("utf-8")

    def page(self, office: Office, *, inline: bool = True) -> str:
        """Give the page; pictures in it, or as parts of a message."""
        return paper_html(
            self.title, self.markdown, self.pictures,
            inline=inline, boxes=self.boxes, look=self.look, page=office.stationery.page,
        )  # fmt: skip


def paper(
    file: CaseFile, office: Office, kind: str, form: str, *, photos: Photos = (), to: str = ""
) -> bytes:
    """Give one paper in one format; RefusedInputError names a kind or format there is not."""
    if form not in FORMATS:
        raise RefusedInputError("--format", f"'{form}' is none of {', '.join(FORMATS)}")
    if form == "eml":
        return posted(file, office, kind, to, photos).data
    return _drawn(file, office, kind, photos, png=form == "pdf").bytes(office, form)


def posted(file: CaseFile, office: Office, kind: str, to: str, photos: Photos = ()) -> Posted:
    """Give a paper as a finished message to one address."""
    if not to.strip():
        raise RefusedInputError("--to", "to which email address?")
    box, sent = mailbox("", to, "--to"), next_id(file, office)
    drawn = _drawn(file, office, kind, photos, png=True)
    data = message_bytes(
        Letter(
            sender=practice_mailbox(file.practice),
            to=(box,),
            subject=drawn.title,
            text=plain_text(drawn.markdown),
            html=drawn.page(office, inline=False),
            message_id=sent,
            date=office.now,
            images=tuple((cid_of(p), p.png) for p in drawn.pictures),
        )
    )
    return Posted(data, (box.address,), sent, drawn.title)


def _drawn(file: CaseFile, office: Office, kind: str, photos: Photos, *, png: bool) -> Drawn:
    if kind not in KINDS:
        raise RefusedInputError("--kind", f"'{kind}' is none of {', '.join(KINDS)}")
    title = f"{KINDS[kind].words}: {clean_line(file.horse.name)}"
    if kind in OWNERS:
        boxes = ("now", "today") if kind == "cast" else ()
        title = language_of(file, office).say(KINDS[kind].words)
        title = f"{title}: {clean_line(file.horse.name)}"
        return Drawn(title, OWNERS[kind](file, office, title), (), boxes, kind)
    maps = tuple(p for p in pictures(file, png=png) if not p.layers)
    if kind == "report":
        found = report_sections(file, office, photos, png=png)
    else:
        found = iter(LETTERS[kind](file, office))
    sections = tuple(s for s in found if s.lines or s.pictures)
    practice, vet = file.practice, office.people.get(file.case.responsible)
    markdown = office.stationery.fill(
        "paper.md.j2",
        title=title,
        about=f"Case {file.case.ref}, {moment(office.now, office)}",
        practice=practice,
        vet=vet.name if vet else UNKNOWN,
        sections=sections,
        pictures=maps,
    )
    shown = maps + tuple(p for s in sections for p in s.pictures)
    return Drawn(title, markdown, shown, (), "letter")


def _referral(file: CaseFile, office: Office) -> Iterable[Section]:
    return (
        people(file), animal(file), wounds(file, office), state(file, office),
        drugs(file, office), travel(file, office),
    )  # fmt: skip


def _handover(file: CaseFile, office: Office) -> Iterable[Section]:
    return (
        people(file), state(file, office), plan(file), drugs(file, office),
        animal(file), wounds(file, office), worries(file, office, 2),
    )  # fmt: skip


class Kind(NamedTuple):
    """A paper's title, and what it is for."""

    words: str
    about: str


KINDS: dict[str, Kind] = {
    "referral": Kind("Referral letter", "to a clinic: drugs with times, the check before travel"),
    "handover": Kind("Handover", "to a colleague, on one page: flags, next doses, allergies"),
    "report": Kind("Case report", "the whole record: course, map, photographs, every entry"),
    "labels": Kind("Drug labels", "one for each drug that is with the owner"),
    "cast": Kind("Cast or splint", "what the owner looks for, twice a day, to tick"),
}
LETTERS: dict[str, Callable[[CaseFile, Office], Iterable[Section]]] = {
    "referral": _referral,
    "handover": _handover,
}
OWNERS: dict[str, Callable[[CaseFile, Office, str], str]] = {
    "labels": drug_labels,
    "cast": cast_sheet,
}
