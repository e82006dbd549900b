"""One method for each thing the vet does; screens and commands call nothing else."""

from __future__ import annotations

import datetime as dt
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar
from zoneinfo import ZoneInfo

from fieldnotes.casework.checks import (
    body_problems,
    opening_problems,
    out_of_bounds,
    refuse,
    visit_problems,
)
from fieldnotes.casework.dying import deaths, of_the_living
from fieldnotes.casework.search import CaseSearch
from fieldnotes.casework.views import CaseFilter, CaseSummary, Saved
from fieldnotes.domain.cases import Status
from fieldnotes.domain.entries import (
    REGISTER,
    Amendment,
    Body,
    CaseOpened,
    FlagAnswered,
    FollowUpOutcome,
    Note,
    OwnerReport,
    Visit,
)
from fieldnotes.domain.errors import (
    NoStoreError,
    Problem,
    RefusedInputError,
    StoreError,
    UnknownNameError,
)
from fieldnotes.domain.register import REGISTER_BODIES
from fieldnotes.domain.text import clean_record
from fieldnotes.knowledge.library import Library

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from fieldnotes.casework.aftercare import Aftercare
    from fieldnotes.casework.album import Album, Shot
    from fieldnotes.casework.caution import Bedside, Caution
    from fieldnotes.casework.coming import ComingRounds
    from fieldnotes.casework.formulary import Formulary
    from fieldnotes.casework.pharmacy import Pharmacy
    from fieldnotes.casework.ports import Carrier, Clock, MailQueue, Records
    from fieldnotes.casework.post import Post
    from fieldnotes.casework.road import RoadDesk
    from fieldnotes.casework.views import Board, CaseFile, DueLine
    from fieldnotes.clinical.clearance import Clearance
    from fieldnotes.clinical.triage import Triage
    from fieldnotes.domain.agreements import Consent
    from fieldnotes.domain.cases import Case, CaseLine
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.patients import Horse, Practice
    from fieldnotes.domain.register import Register

T = TypeVar("T")


class Casework:
    """The vet's desk over one store; `author` signs what is written."""

    def __init__(
        self,
        records: Records,
        clock: Clock,
        author: str = "",
        mail: MailQueue | None = None,
        carrier: Carrier | None = None,
    ) -> None:
        self._records = records
        self._clock = clock
        self._search = CaseSearch()
        self._author = author
        self._mail = mail
        self._carrier = carrier
        self.unread: dict[str, None] = {}

    # ----- who, when and what is known

    def register(self) -> Register:
        """Give everyone and everything known."""
        return self._records.register()

    def practice(self) -> Practice:
        """Give the practice; NoStoreError if none has been set up."""
        practice = self.register().practice
        if practice is None:
            raise NoStoreError("no practice has been set up in this store yet")
        return practice

    @cached_property
    def knowledge(self) -> Library:
        """The tables, with the practice's overrides."""
        register = self.register()
        return Library(register.practice, register.drugs, register)

    @property
    def pharmacy(self) -> Pharmacy:
        """The controlled-drug register."""
        from fieldnotes.casework.pharmacy import Pharmacy  # noqa: PLC0415  (only the commands that need it pay for it)

        return Pharmacy(self, self._records)

    @property
    def formulary(self) -> Formulary:
        """The practice's own doses, strengths, choices, marks and prices."""
        from fieldnotes.casework.formulary import Formulary  # noqa: PLC0415  (only the commands that need it pay for it)

        return Formulary(self)

    def now(self) -> dt.datetime:
        """Give the present moment in the practice's zone."""
        practice = self.register().practice
        return self._clock().astimezone(ZoneInfo(practice.zone) if practice else dt.UTC)

    def today(self) -> dt.date:
        """Give the present day where the practice is."""
        return self.now().date()

    def author(self) -> str:
        """Give who signs: as set, or the first vet of the register."""
        return self._author or next(iter(self.register().people), "")

    @property
    def store_id(self) -> str:
        """The store's own random id."""
        return self._records.id

    # ----- reading cases

    def find_cases(
        self, text: str = "", *, owner: str = "", horse: str = "", status: str = ""
    ) -> tuple[CaseSummary, ...]:
        """Give the cases that fit every filter; `status` "open", "ended" or one status."""
        wanted = CaseFilter(text, owner, horse, status)
        lines = self._records.lines(open_only=status == Status.OPEN)
        return self._search.found(lines, wanted, self.register(), self.today(), self.knowledge)

    def cases_of(self, horse: str) -> tuple[CaseLine, ...]:
        """Give the cases of a horse, by its id, newest injury first."""
        return self._records.lines(horse=horse)

    def documents(self, ref: str) -> tuple[dict[str, Any], ...]:
        """Give a case's entries as they stand on disk."""
        return self._records.documents(ref)

    def case(self, ref: str) -> Case:
        """Give one folded case by any unique beginning of its reference."""
        return self._records.case(ref)

    def file(self, ref: str) -> CaseFile:
        """Give a case with everyone it concerns, its wounds judged and its plan."""
        from fieldnotes.casework.queries import file_of  # noqa: PLC0415  (only the commands that need it pay for it)

        return file_of(self._records, ref, self.knowledge, self.today())

    def problems(self) -> tuple[str, ...]:
        """Give what could not be read in this store, in words."""
        return (*self._records.problems, *self.unread)

    def readable(self, give: Callable[[str], T], refs: Iterable[str]) -> Iterator[T]:
        """Give an answer for each case; one that cannot be read joins the problems instead."""
        for ref in refs:
            try:
                yield give(ref)
            except StoreError as error:
                self.unread.setdefault(str(error))

    # ----- what is due

    def due(self, on: dt.date | None = None, days: int = 0) -> tuple[DueLine, ...]:
        """Give what is overdue and due on a day, and what comes in the days after it."""
        from fieldnotes.casework.queries import due_lines  # noqa: PLC0415  (only the commands that need it pay for it)

        day = on or self.today()
        return due_lines(self.open_files(day), day, days)

    def open_files(self, today: dt.date) -> tuple[CaseFile, ...]:
        """Give every open case with its plan as of a day, its wounds not judged."""
        from fieldnotes.casework.queries import plan_file  # noqa: PLC0415  (only the commands that need it pay for it)

        register = self.register()

        def planned(ref: str) -> CaseFile:
            return plan_file(self._records.case(ref), register, self.knowledge, today)

        refs = of_the_living(self._records.lines(), self._records.lines(open_only=True))
        return tuple(self.readable(planned, refs))

    @property
    def road(self) -> RoadDesk:
        """The day as it runs and the days to come."""
        from fieldnotes.casework.road import RoadDesk  # noqa: PLC0415  (only the commands that need it pay for it)

        return RoadDesk(self, self._records)

    def board(self, on: dt.date | None = None) -> Board:
        """Give the day at a glance: route, what is due, what to load."""
        return self.road.board(on or self.today())

    def rounds(self, days: int) -> ComingRounds:
        """Give which visit goes on which of the coming working days."""
        return self.road.rounds(days)

    @property
    def album(self) -> Album:
        """Give the photographs of cases."""
        from fieldnotes.casework.album import Album  # noqa: PLC0415  (only the commands that need it pay for it)

        return Album(self, self._records.pictures)

    @property
    def post(self) -> Post:
        """Give what leaves the desk: handouts, calendars, mail."""
        from fieldnotes.casework.post import Post  # noqa: PLC0415  (only the commands that need it pay for it)

        return Post(self, self._records, self._mail, self._carrier)

    # ----- before a save: what is wrong, what may hurt, what it would lead to

    def supposing(self, horse: Horse | None) -> Casework:
        """Give a desk that knows a horse as a form will keep it, to check and to look ahead."""
        from fieldnotes.casework.supposed import supposing  # noqa: PLC0415  (only forms need it)

        return Casework(supposing(self._records, horse), self._clock, self._author)

    def check_opening(self, opened: CaseOpened, visit: Visit | None) -> tuple[Problem, ...]:
        """Give every problem of a case about to be opened with its first visit."""
        now, limits = self.now(), self.knowledge.limits
        death = deaths(self.cases_of(opened.horse)).get(opened.horse)
        known = (self.register(), self.knowledge.regions, now, death)
        found = [*opening_problems(opened, *known)]
        found += out_of_bounds(opened, limits)
        if visit is not None:
            labels = tuple(w.label for w in opened.wounds)
            found += visit_problems(visit, opened.injured_at, labels, now, self.knowledge.routes)
            found += out_of_bounds(visit, limits)
            found += self._refusals(opened, visit)
        return tuple(found)

    def check(self, ref: str, body: Body) -> tuple[Problem, ...]:
        """Give every problem of an entry about to be added to a case, or to the register."""
        case = None if ref == REGISTER else self._records.case(ref)
        found = [*body_problems(body, case, self.register(), self.knowledge, self.now())]
        found += out_of_bounds(body, self.knowledge.limits)
        if isinstance(body, FlagAnswered | FollowUpOutcome):
            found += self.aftercare.problems(body)
        if case is not None and isinstance(body, OwnerReport):
            from fieldnotes.casework.safety import report_problems  # noqa: PLC0415  (only the commands that need it pay for it)

            found += report_problems(case, self.horse(case.opened.horse), body, self.knowledge)
        if case is not None and isinstance(body, Visit):
            found += self._refusals(case, body)
        if case is not None and isinstance(body, Amendment) and body.corrected is not None:
            found += self._refusals(case, body.corrected, body.of)
        return tuple(found)

    def bedside(self, about: CaseOpened | Case, without: str = "") -> Bedside | None:
        """Give the animal with all its cases; None while it is not in the register."""
        from fieldnotes.casework.bedside import bedside  # noqa: PLC0415  (only the commands that need it pay for it)

        return bedside(self, self._records, about, without)

    def cautions(
        self, about: str | CaseOpened, visit: Visit | None = None, without: str = ""
    ) -> tuple[Caution, ...]:
        """Give the cautions about a visit to a case or an opening; without one, what stands.

        `without` is the entry a corrected visit takes the place of.
        """
        from fieldnotes.casework.safety import cautions, standing  # noqa: PLC0415  (only the commands that need it pay for it)

        known = self._records.case(about) if isinstance(about, str) else about
        bed = self.bedside(known, without)
        if bed is None:
            return ()
        return standing(bed) if visit is None else cautions(bed, visit)

    def _refusals(
        self, about: CaseOpened | Case, visit: Visit, corrects: str = ""
    ) -> tuple[Problem, ...]:
        from fieldnotes.casework.safety import cautions, refusals  # noqa: PLC0415  (only the commands that need it pay for it)

        bed = self.bedside(about, corrects)
        if bed is None:
            return ()
        vials = () if corrects else self.pharmacy.dose_problems(visit)
        return (*refusals(cautions(bed, visit), "corrected." if corrects else ""), *vials)

    def clearances(self, ref: str) -> tuple[Clearance, ...]:
        """Give the competition times still running for a case's horse."""
        from fieldnotes.casework.safety import clearance_dates  # noqa: PLC0415  (only the commands that need it pay for it)

        bed = self.bedside(self._records.case(ref))
        return () if bed is None else clearance_dates(bed)

    def triage(self, ref: str, report: OwnerReport, *, gait_normal: bool | None = None) -> Triage:
        """Judge an owner's report: how urgent, why, and what to ask or do next."""
        from fieldnotes.casework.safety import judge_report  # noqa: PLC0415  (only the commands that need it pay for it)

        case = self._records.case(ref)
        return judge_report(
            case, self.horse(case.opened.horse), report, self.knowledge, gait_normal=gait_normal
        )

    def horse(self, horse: str) -> Horse:
        """Give a horse by its id; UnknownNameError if it is not in the register."""
        found = self.register().horses.get(horse)
        if found is None:
            raise UnknownNameError("horse", f"no horse '{horse}' is in the register")
        return found

    @property
    def aftercare(self) -> Aftercare:
        """The plan's changes and the answers to flags."""
        from fieldnotes.casework.aftercare import Aftercare  # noqa: PLC0415  (only the commands that need it pay for it)

        return Aftercare(self)

    def preview(self, opened: CaseOpened, visit: Visit) -> tuple[FollowUp, ...]:
        """Give the plan a case would have if it were saved now."""
        from fieldnotes.casework.previews import plan_with  # noqa: PLC0415  (only the commands that need it pay for it)

        return plan_with((), (opened, visit), self.register(), self.knowledge, self.now())

    def preview_entry(self, ref: str, body: Body) -> tuple[FollowUp, ...]:
        """Give the plan a case would have with one entry more."""
        from fieldnotes.casework.previews import plan_with  # noqa: PLC0415  (only the commands that need it pay for it)

        entries = self._records.case(ref).entries
        return plan_with(entries, (body,), self.register(), self.knowledge, self.now())

    # ----- writing

    def open_case(
        self, opened: CaseOpened, visit: Visit | None = None, consent: Consent | None = None,
        shots: tuple[Shot, ...] = (),
    ) -> Saved:  # fmt: skip
        """Open a case, with its first visit; RefusedInputError names the first wrong field."""
        opened = clean_record(opened)
        visit = clean_record(visit) if visit is not None else None
        refuse(self.check_opening(opened, visit))
        bodies: list[Body] = [b for b in (opened, consent, visit) if b is not None]
        return self._append(self._records.new_ref(), bodies, shots)

    def record(self, ref: str, body: Body, shots: tuple[Shot, ...] = ()) -> Saved:
        """Add an entry and photographs to a case; RefusedInputError names the first wrong field."""
        full = self._records.resolve(ref)
        body = clean_record(body)
        refuse(self.check(full, body))
        return self._append(full, [body], shots)

    def note(self, ref: str, text: str) -> Saved:
        """Add a free-text note to a case."""
        return self.record(ref, Note(text))

    def amend(
        self, ref: str, of: str, what: str, why: str, corrected: Visit | None = None
    ) -> Saved:
        """Correct an entry by a new one that stands beside it."""
        case = self._records.case(ref)
        if not any(entry.id == of for entry in case.entries):
            raise UnknownNameError("entry", f"case {case.ref} has no entry {of}")
        if not why.strip():
            raise RefusedInputError("why", "an amendment says why")
        return self.record(case.ref, Amendment(of, what, why, corrected))

    def save(self, *bodies: Body) -> Saved:
        """Put records of the register as they stand from now on, all of them or none."""
        if not all(isinstance(body, REGISTER_BODIES) for body in bodies):
            raise RefusedInputError("record", "this belongs to a case, not to the register")
        cleaned = [clean_record(body) for body in bodies]
        refuse(problem for body in cleaned for problem in self.check(REGISTER, body))
        self.__dict__.pop("knowledge", None)  # it may be another with these records
        return self._append(REGISTER, cleaned)

    def _append(self, stream: str, bodies: list[Body], shots: tuple[Shot, ...] = ()) -> Saved:
        bodies = [*bodies, *(self.album.kept(stream, shots) if shots else ())]
        entries = self._records.append(stream, bodies, self.author(), self._clock())
        for entry in entries:
            if isinstance(entry.body, Visit) and any(d.vial for d in entry.body.given):
                self.pharmacy.book(entry)
        return Saved(stream, tuple(entry.id for entry in entries))
