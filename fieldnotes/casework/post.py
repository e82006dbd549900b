"""What leaves the desk: handouts, calendars, and the mail that carries them.

The rooms that draw and write are imported where a paper is made: a screen that only counts the
waiting mail should not pay for them.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from fieldnotes.casework.dying import deaths
from fieldnotes.domain.entries import PracticeSet
from fieldnotes.domain.errors import RefusedInputError, StoreError, UnknownNameError
from fieldnotes.domain.paperwork import FOR_OTHERS, HandoutQueued, HandoutWording
from fieldnotes.domain.text import clean_line

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterator

    from fieldnotes.casework.album import Photo
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.mailroom import Mailroom
    from fieldnotes.casework.papers import Office, Posted
    from fieldnotes.casework.ports import Carrier, Mail, MailQueue, Records
    from fieldnotes.casework.telling import OwnerText
    from fieldnotes.casework.views import CaseFile, Saved
    from fieldnotes.domain.mail import MailServer
    from fieldnotes.rendering.readability import Reading


class Post:
    """The papers and the mail of one desk."""

    def __init__(
        self,
        desk: Casework,
        records: Records,
        mail: MailQueue | None,
        carrier: Carrier | None = None,
    ) -> None:
        self._desk = desk
        self._records = records
        self._mail = mail
        self._carrier = carrier

    def _office(self, premises: str = "") -> Office:
        from fieldnotes.casework.papers import Office  # noqa: PLC0415  (see above)
        from fieldnotes.casework.stationery import Stationery  # noqa: PLC0415  (see above)

        desk = self._desk
        visited = frozenset({premises} if premises and self._walked(premises) else ())
        people = desk.register().people
        paper = Stationery(self._records.templates(), desk.unread.setdefault)
        return Office(desk.knowledge, people, desk.store_id, desk.now(), visited, paper)

    def faults(self) -> tuple[str, ...]:
        """Give what is wrong in the practice's own templates, as far as papers were made."""
        return tuple(text for text in self._desk.problems() if text.startswith("templates/"))

    def _walked(self, premises: str) -> bool:
        """Whether an owner at these premises was sent a handout: walk and questions come once."""
        refs = (c.ref for c in self._desk.find_cases() if c.line.premises == premises)
        cases = self._desk.readable(self._desk.case, refs)
        sent = (h.body for case in cases for h in case.handouts)
        return any(not body.withdrawn and not body.paper for body in sent)

    def _file(self, ref: str) -> tuple[CaseFile, Office]:
        file = self._desk.file(ref)
        return file, self._office(file.case.opened.premises)

    def _to_owner(self, ref: str) -> tuple[CaseFile, Office]:
        """Give what a paper for an owner needs; RefusedInputError where the horse died."""
        file, office = self._file(ref)
        if deaths(self._desk.cases_of(file.horse.id)):
            horse = clean_line(file.horse.name)
            raise RefusedInputError("case", f"{horse} died: there is no aftercare")
        return file, office

    def handout(self, ref: str, form: str, language: str = "") -> bytes:
        """Give a case's handout in one format; `language` in place of the owner's."""
        from fieldnotes.casework.papers import handout  # noqa: PLC0415  (see above)

        file, office = self._to_owner(ref)
        return handout(file, replace(office, language=language), form)

    def paper(self, ref: str, kind: str, form: str, to: str = "") -> bytes:
        """Give a paper of a kind of `letters.KINDS` in one format; `to` is a message's address."""
        from fieldnotes.casework.letters import paper  # noqa: PLC0415  (see above)

        return paper(
            self._desk.file(ref), self._office(), kind, form, photos=self._photos(ref), to=to
        )

    def queue_paper(self, ref: str, kind: str, to: str) -> Saved:
        """Put a paper for another reader in the outbox, and say so in the record."""
        from fieldnotes.casework.letters import posted  # noqa: PLC0415  (see above)

        self._queue()
        file = self._desk.file(ref) if kind in FOR_OTHERS else self._to_owner(ref)[0]
        mail = posted(file, self._office(), kind, to, self._photos(ref))
        return self._put(file.case.ref, mail, kind)

    def _photos(self, ref: str) -> Iterator[tuple[Photo, Callable[[], bytes]]]:
        """Give a case's photographs, each read only when it is drawn."""
        album = self._desk.album
        return ((p, partial(album.bytes, ref, p.entry)) for p in album.list(ref))

    def day_sheet(self, form: str, day: dt.date | None = None) -> bytes:
        """Give the day sheet for the truck in one format."""
        from fieldnotes.casework.day_sheet import day_sheet  # noqa: PLC0415  (see above)
        from fieldnotes.casework.letters import Drawn  # noqa: PLC0415  (see above)

        desk, office = self._desk, self._office()
        known = (desk.board(day), desk.register(), desk.practice(), office.stationery)
        title, markdown = day_sheet(*known)
        return Drawn(title, markdown, (), (), "daysheet").bytes(office, form)

    def parcel(self, ref: str) -> bytes:
        """Give a case as one signed file that a colleague imports and returns."""
        return self._records.handovers.give(ref, self._desk.author(), self._desk.now())

    def fingerprint(self) -> str:
        """Give what the colleague compares on the phone: this computer's key."""
        return self._records.handovers.fingerprint

    def grade(self, ref: str) -> tuple[Reading, Reading] | None:
        """Give the handout's reading grade with and without its tables, None if not English."""
        from fieldnotes.casework.papers import language_of  # noqa: PLC0415  (see above)
        from fieldnotes.rendering.readability import grade  # noqa: PLC0415  (see above)

        if language_of(*self._file(ref)).code != "en":
            return None
        text = self.handout(ref, "markdown").decode("utf-8")
        return grade(text), grade(text, without_tables=True)

    def calendar(self, ref: str | None = None) -> bytes:
        """Give one case's calendar for its owner, or the vet's over all open cases."""
        from fieldnotes.casework.papers import case_calendar, round_calendar  # noqa: PLC0415  (see above)

        if ref is None:
            return round_calendar(self._desk.open_files(self._desk.today()), self._office())
        return case_calendar(*self._to_owner(ref))

    def _queue(self) -> MailQueue:
        if self._mail is None:
            raise RefusedInputError("outbox", "there is no outbox here")
        return self._mail

    def _put(self, ref: str, mail: Posted, paper: str = "") -> Saved:
        queue, now = self._queue(), self._desk.now()
        kept = queue.prepare(mail.data, mail.to, ref, mail.message_id, now)
        said = HandoutQueued(
            mail.message_id, mail.to, mail.sha256, mail.subject, mail.tasks, mail.withdrawn, paper
        )
        saved = self._desk.record(ref, said)
        with suppress(StoreError):  # it is recorded: the next look at the outbox commits it
            queue.commit(kept.id)
        return saved

    def _finish(self, queue: MailQueue) -> None:
        """Commit what the record says was queued and a crash or a full disk kept from the outbox.

        What cannot be committed now is left for the next look.
        """
        for mail in queue.prepared():
            with suppress(StoreError, UnknownNameError):
                known = {h.body.message_id for h in self._desk.case(mail.case).handouts}
                if mail.message_id in known:
                    queue.commit(mail.id)

    def queue_handout(self, ref: str) -> Saved:
        """Put the handout's message in the outbox and say so in the record."""
        from fieldnotes.casework.papers import letter  # noqa: PLC0415  (see above)

        self._queue()
        file, office = self._to_owner(ref)
        return self._put(file.case.ref, letter(file, office))

    def withdraw(self, ref: str) -> Saved:
        """Queue what takes a case's dates out of its owner's calendar; only the vet's key does."""
        from fieldnotes.casework.papers import withdrawal  # noqa: PLC0415  (see above)

        self._queue()
        file, office = self._file(ref)
        return self._put(file.case.ref, withdrawal(file, office))

    def queue_arrival(self, text: OwnerText) -> Saved:
        """Put an owner's arrival window in the outbox, under a case of their own."""
        from fieldnotes.casework.papers import arrival  # noqa: PLC0415  (see above)

        self._queue()
        if not text.case:
            raise RefusedInputError("owner", "no case of theirs is seen there to write about")
        file, office = self._to_owner(text.case)
        if file.owner is None or file.owner.id != text.promise.owner:
            raise RefusedInputError("owner", "the case has another owner by now")
        return self._put(file.case.ref, arrival(file, office, text.text), "arrival")

    def words(self, ref: str) -> str:
        """Give the vet's own words for a case's handout."""
        written = self._desk.case(ref).bodies(HandoutWording)
        return written[-1].body.text if written else ""

    def mailroom(self) -> Mailroom:
        """Give what sends the queue; RefusedInputError where no carrier is at hand."""
        from fieldnotes.casework.mailroom import Mailroom  # noqa: PLC0415  (see above)

        if self._carrier is None:
            raise RefusedInputError("outbox", "nothing can be sent from here")
        self._finish(self._queue())
        return Mailroom(self._desk, self._queue(), self._carrier)

    def server(self) -> MailServer:
        """Give where mail is handed in; RefusedInputError says how to set it."""
        found = self._desk.practice().mail_server
        if found is None or not found.host:
            raise RefusedInputError(
                "mail server", "none is set: m in the outbox, or 'fieldnotes mail set --host HOST'"
            )
        return found

    def has_server(self) -> bool:
        """Whether a mail server was set."""
        found = self._desk.practice().mail_server
        return found is not None and bool(found.host)

    def set_server(self, server: MailServer) -> Saved:
        """Set where mail is handed in; the password is no part of it."""
        return self._desk.save(PracticeSet(replace(self._desk.practice(), mail_server=server)))

    def password(self, server: MailServer) -> str | None:
        """Give the kept password; None if it must be asked for, empty if none is needed."""
        if not server.user:
            return ""
        return self._carrier.password(server) if self._carrier else None

    def outbox(self) -> tuple[Mail, ...]:
        """Give the queued, sent and doubtful mails, oldest first."""
        if self._mail is None:
            return ()
        self._finish(self._mail)
        return self._mail.list()
