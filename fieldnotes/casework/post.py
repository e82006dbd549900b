"""What leaves the desk: handouts, calendars, and the mail that carries them.

The rooms that draw and write are imported where a paper is made: a screen that only counts the
waiting mail should not pay for them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.paperwork import HandoutQueued

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.papers import Office
    from fieldnotes.casework.ports import Mail, MailQueue
    from fieldnotes.casework.views import CaseFile, Saved
    from fieldnotes.rendering.readability import Reading


class Post:
    """The papers and the mail of one desk."""

    def __init__(self, desk: Casework, mail: MailQueue | None) -> None:
        self._desk = desk
        self._mail = mail

    def _office(self, premises: str = "") -> Office:
        from fieldnotes.casework.papers import Office  # noqa: PLC0415  (see above)

        desk = self._desk
        visited = frozenset({premises} if premises and self._walked(premises) else ())
        people = desk.register().people
        return Office(desk.knowledge, people, desk.store_id, desk.now(), visited)

    def _walked(self, premises: str) -> bool:
        """Whether an owner at these premises was sent a handout: walk and questions come once."""
        refs = (c.ref for c in self._desk.find_cases() if c.line.premises == premises)
        cases = self._desk.readable(self._desk.case, refs)
        return any(not h.body.withdrawn for case in cases for h in case.handouts)

    def _file(self, ref: str) -> tuple[CaseFile, Office]:
        file = self._desk.file(ref)
        return file, self._office(file.case.opened.premises)

    def handout(self, ref: str, form: str) -> bytes:
        """Give a case's handout: "markdown", "html", "text" or "eml"."""
        from fieldnotes.casework.papers import handout  # noqa: PLC0415  (see above)

        return handout(*self._file(ref), form)

    def grade(self, ref: str) -> tuple[Reading, Reading]:
        """Give the handout's reading grade with and without its tables."""
        from fieldnotes.rendering.readability import grade  # noqa: PLC0415  (see above)

        text = self.handout(ref, "markdown").decode("utf-8")
        return grade(text), grade(text, without_tables=True)

    def calendar(self, ref: str | None = None) -> bytes:
        """Give one case's calendar for its owner, or the vet's over all open cases."""
        from fieldnotes.casework.papers import case_calendar, round_calendar  # noqa: PLC0415  (see above)

        if ref is None:
            return round_calendar(self._desk.open_files(self._desk.today()), self._office())
        return case_calendar(self._desk.file(ref), self._office())

    def queue_handout(self, ref: str) -> Saved:
        """Put the handout's message in the outbox and say so in the record."""
        from fieldnotes.casework.papers import letter  # noqa: PLC0415  (see above)

        if self._mail is None:
            raise RefusedInputError("outbox", "there is no outbox here")
        file, office = self._file(ref)
        mail = letter(file, office)
        self._mail.queue(mail.data, mail.to, file.case.ref, mail.message_id, self._desk.now())
        said = HandoutQueued(mail.message_id, mail.to, mail.sha256, mail.subject)
        return self._desk.record(file.case.ref, said)

    def outbox(self) -> tuple[Mail, ...]:
        """Give the queued, sent and doubtful mails, oldest first."""
        return () if self._mail is None else self._mail.list()
