"""The controlled-drug register: vials in, draws out, counts, corrections, and doses not booked."""

from __future__ import annotations

import datetime as dt
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.casework.checks import out_of_bounds
from fieldnotes.casework.vial_checks import (
    beyond,
    correction_problems,
    count_problems,
    expired,
    move_problems,
    receipt_problems,
)
from fieldnotes.casework.views import Saved
from fieldnotes.domain.entries import REGISTER, Death, Visit
from fieldnotes.domain.errors import Problem, RefusedInputError, StoreError, UnknownNameError
from fieldnotes.domain.text import clean_record
from fieldnotes.domain.vial_book import VialAccount, fold_vials, period
from fieldnotes.domain.vials import (
    MoveKind,
    Vial,
    VialBody,
    VialCorrection,
    VialCount,
    VialMove,
    VialReceived,
)
from fieldnotes.knowledge.controlled import registered
from fieldnotes.knowledge.drugs import one_drug

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.ports import Records
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.entries import Entry
    from fieldnotes.domain.treatment import DrugGiven
    from fieldnotes.domain.vial_book import PeriodAccount
    from fieldnotes.knowledge.controlled import ControlledDrug, Jurisdiction

OPEN_DAYS = 90  # how far back doses are looked for that were not booked


@dataclass(frozen=True)
class OpenDose:
    """A dose of a controlled drug that the register does not hold as it was given.

    `visit` is the entry it stands in, a visit's or a death's; `volume_ml` None if that does not
    say it; `booked_ml` is what the register holds.
    """

    case: str
    horse: str
    visit: str
    item: int
    drug: str
    name: str
    amount: float | None
    unit: str
    volume_ml: float | None
    booked_ml: float
    at: dt.datetime

    @property
    def id(self) -> str:
        """The name it is booked under."""
        return f"{self.visit}.{self.item}"


@dataclass(frozen=True)
class RegisterReport:
    """The register over a period, with the law it is kept under and what is still open."""

    practice: str
    law: Jurisdiction | None
    start: dt.date
    end: dt.date
    printed_at: dt.datetime
    accounts: tuple[PeriodAccount, ...]
    open_doses: tuple[OpenDose, ...]
    people: Mapping[str, str]


def dose_ml(dose: DrugGiven, vial: Vial) -> float | None:
    """Give what a dose took out of a vial: as drawn, as reckoned, or amount over strength."""
    if dose.drawn is not None:
        return dose.drawn
    if dose.amount is not None and dose.unit == vial.unit:
        return dose.amount / vial.amount_per_ml
    return dose.volume_ml


def _booked(accounts: Iterable[VialAccount]) -> dict[tuple[str, int | None], float]:
    """Give what is booked for each dose of a visit, in mL."""
    booked: dict[tuple[str, int | None], float] = {}
    for _, body, volume in _moved(accounts):
        if body.visit:
            key = (body.visit, body.item)
            booked[key] = booked.get(key, 0.0) + volume
    return booked


def _moved(accounts: Iterable[VialAccount]) -> Iterator[tuple[Vial, VialMove, float]]:
    """Give each move out of a vial with its volume in mL, as corrected."""
    for account in accounts:
        for line in account.lines:
            if isinstance(line.entry.body, VialMove):
                yield account.vial, line.entry.body, -line.change_ml


class Pharmacy:
    """The register over one desk's records; every method that writes checks first."""

    def __init__(self, desk: Casework, records: Records) -> None:
        self._desk = desk
        self._records = records

    # ----- reading

    def accounts(self) -> tuple[VialAccount, ...]:
        """Give every vial with its balance, as they came in."""
        return fold_vials(self._records.vials())

    def account(self, mark: str, field: str = "vial") -> VialAccount:
        """Give one vial by its mark; UnknownNameError lists those there are."""
        found = {a.vial.id.casefold(): a for a in self.accounts()}
        account = found.get(mark.strip().casefold())
        if account is None:
            marks = tuple(a.vial.id for a in found.values())
            there = f"there are {', '.join(marks)}" if marks else "none has been received"
            raise UnknownNameError(field, f"no vial is marked '{mark}': {there}", marks)
        return account

    def registered(self) -> dict[str, ControlledDrug]:
        """Give the drugs whose use goes into the register, by id."""
        practice = self._desk.practice()
        own = self._desk.register().drugs
        return registered(self._desk.knowledge.controlled, practice.jurisdiction, own)

    def shelf(self) -> dict[str, tuple[VialAccount, ...]]:
        """Give the vials with something left of each registered drug, by drug id.

        Those that expire first come first, the expired last.
        """
        today = self._desk.today()
        left = [a for a in self.accounts() if a.balance_ml > 0]
        left.sort(key=lambda a: (a.vial.expiry < today, a.vial.expiry, a.vial.id))
        drugs = self.registered()
        return {drug: tuple(a for a in left if a.vial.drug == drug) for drug in drugs}

    def named(self, text: str) -> tuple[str, str]:
        """Give id and generic name of a drug: of the formulary, or of a controlled-drug table."""
        knowledge = self._desk.knowledge
        wanted = text.strip().casefold()
        if wanted in {row.drug for row in knowledge.controlled.drugs}:
            return wanted, wanted
        drug = one_drug(knowledge.drugs, text)
        return drug.id, drug.name

    def horse_named(self, text: str) -> str:
        """Give the id of the one horse of a name; the name itself where there is none, or more."""
        wanted = text.strip().casefold()
        horses = self._desk.register().horses.values()
        found = [h.id for h in horses if h.name.casefold() == wanted]
        return found[0] if len(found) == 1 else text.strip()

    def next_mark(self) -> str:
        """Give the mark for the next vial: V and a number not used yet."""
        used = {a.vial.id.casefold() for a in self.accounts()}
        return next(m for n in range(1, len(used) + 2) if (m := f"V{n}").casefold() not in used)

    def report(self, start: dt.date, end: dt.date) -> RegisterReport:
        """Give the register from one day to another, both included."""
        if end < start:
            raise RefusedInputError("to", f"{end} is before {start}")
        desk, zone = self._desk, self._desk.now().tzinfo or dt.UTC
        practice, people = desk.practice(), desk.register().people
        law = desk.knowledge.controlled.jurisdiction(practice.jurisdiction)
        kept = (period(a, start, end, zone) for a in self.accounts())
        days = (desk.today() - start).days
        still = tuple(x for x in self.open_doses(days) if x.at.astimezone(zone).date() <= end)
        return RegisterReport(
            practice.name,
            law,
            start,
            end,
            desk.now(),
            tuple(p for p in kept if p.lines or p.closing_ml),
            still,
            {p.id: p.name for p in people.values()},
        )

    # ----- doses of visits

    def open_doses(self, days: int = OPEN_DAYS) -> tuple[OpenDose, ...]:
        """Give the doses of the last days that are not booked as they were given, oldest first.

        Those from before the first vial of the register came in could not be booked on any.
        """
        drugs = self.registered()
        names = {d.name.casefold() for d in self._desk.knowledge.drugs if d.id in drugs}
        names |= set(drugs)  # some, as those for euthanasia, stand in the law's table alone
        since = self._desk.now() - dt.timedelta(days=max(days, 0) + 1)
        accounts = self.accounts()
        if accounts:
            since = max(since, min(a.vial.received_at for a in accounts))
        refs = (
            line.ref
            for line in self._records.lines()
            if line.last_at >= since and any(n in line.words for n in names)
        )
        booked = _booked(accounts)
        cases = self._desk.readable(self._records.case, refs)
        held = {(m.case, vial.drug, m.visit) for vial, m, volume in _moved(accounts) if volume}
        found = [
            x
            for case in cases
            for x in (*self._open_in(case, drugs, booked), *self._open_deaths(case, drugs, held))
            if x.at >= since
        ]
        return tuple(sorted(found, key=lambda x: x.at))

    def _open_deaths(
        self, case: Case, drugs: Mapping[str, ControlledDrug], held: set[tuple[str, str, str]]
    ) -> Iterator[OpenDose]:
        """Give what a horse was euthanased with, while nothing of it is booked on the case."""
        names = {d.name.casefold(): d.id for d in self._desk.knowledge.drugs}
        zone = self._desk.now().tzinfo or dt.UTC
        for death in case.bodies(Death):
            said = death.body.drug.strip().casefold()
            drug = names.get(said, said)
            booked = {(case.ref, drug, ""), (case.ref, drug, death.entry.id)} & held
            if not death.body.euthanased or drug not in drugs or booked:
                continue
            evening = dt.datetime.combine(death.body.on, dt.time(23, 59), zone)
            yield OpenDose(
                case.ref, self._called(case), death.entry.id, 0, drug, death.body.drug.strip(),
                None, "", None, 0.0, min(evening, death.entry.time),
            )  # fmt: skip

    def _called(self, case: Case) -> str:
        horse = self._desk.register().horses.get(case.opened.horse)
        return horse.name if horse else case.opened.horse

    def _open_in(
        self,
        case: Case,
        drugs: Mapping[str, ControlledDrug],
        booked: Mapping[tuple[str, int | None], float],
    ) -> Iterator[OpenDose]:
        for visit in case.visits:
            for n, dose in enumerate(visit.body.given):
                if dose.drug not in drugs or dose.given_by not in {"", "vet"}:
                    continue
                held = booked.get((visit.entry.id, n))
                volume = dose.drawn if dose.drawn is not None else dose.volume_ml
                if held is None or (volume is not None and abs(held - volume) > 0.005):
                    yield OpenDose(
                        case.ref, self._called(case), visit.entry.id, n, dose.drug, dose.name,
                        dose.amount, dose.unit, volume, held or 0.0, dose.at,
                    )  # fmt: skip

    def dose_problems(self, visit: Visit) -> Iterator[Problem]:
        """Check the vials a visit's doses are said to come from, several of one added up."""
        taken: dict[str, float] = {}
        for n, dose in enumerate(visit.given):
            if dose.vial:
                for problem in self._dose_problems(dose, taken):
                    yield Problem(f"given.{n}.{problem.field}", problem.message)

    def _dose_problems(self, dose: DrugGiven, taken: dict[str, float]) -> Iterator[Problem]:
        try:
            account = self.account(dose.vial)
        except UnknownNameError as error:
            yield Problem("vial", error.reason)
            return
        vial, reason = account.vial, dose.reason.strip()
        if vial.drug != dose.drug:
            yield Problem("vial", f"{vial.id} holds {vial.name}, not {dose.name}")
            return
        if dose.at < vial.received_at:
            yield Problem("vial", f"{vial.id} came in after this dose")
        volume = dose_ml(dose, vial)
        if volume is None:
            yield Problem("amount", f"how much came out of {vial.id}?")
            return
        taken[vial.id] = taken.get(vial.id, 0.0) + volume
        if (why := beyond(account, taken[vial.id])) and not reason:
            yield Problem("vial", f"{why}: give a reason, or choose another")
        if (why := expired(account, dose.at.date())) and not reason:
            yield Problem("vial", f"{why}: give a reason to use it")

    def book(self, entry: Entry) -> None:
        """Book the draws of a visit just saved, each dose that names its vial.

        The visit is on disk: a draw that cannot be written is no reason to say it was not. The
        dose then stands as not booked.
        """
        if not isinstance(entry.body, Visit):
            return
        horse = self._records.case(entry.stream).opened.horse
        moves: list[VialBody] = []
        for n, dose in enumerate(entry.body.given):
            if not dose.vial:
                continue
            account = self.account(dose.vial)
            volume = dose_ml(dose, account.vial)
            if volume:
                moves.append(VialMove(
                    account.vial.id, MoveKind.DRAWN, round(volume, 3), dose.at, self._desk.author(),
                    case=entry.stream, horse=horse, visit=entry.id, item=n, reason=dose.reason,
                ))  # fmt: skip
        with suppress(StoreError):
            self._append(moves)

    # ----- writing

    def problems(self, body: VialBody) -> tuple[Problem, ...]:
        """Give everything wrong with an entry about to be written."""
        desk = self._desk
        people, now = desk.register().people, desk.now()
        found = list(out_of_bounds(body, desk.knowledge.limits))
        match body:
            case VialReceived(vial):
                found += receipt_problems(vial, (a.vial.id for a in self.accounts()), now)
            case VialMove():
                found += move_problems(body, self.account(body.vial), people, now)
            case VialCount():
                found += count_problems(body, self.account(body.vial), people, now)
            case VialCorrection():
                found += correction_problems(body, self.accounts(), people, now)
        return tuple(found)

    def write(self, body: VialBody) -> Saved:
        """Put one entry into the register; RefusedInputError names the first wrong field."""
        body = clean_record(body)
        for problem in self.problems(body):
            raise RefusedInputError(problem.field, problem.message)
        if isinstance(body, VialMove | VialCount):
            body = replace(body, vial=self.account(body.vial).vial.id)
        return self._append([body])

    def _append(self, bodies: list[VialBody]) -> Saved:
        desk = self._desk
        entries = self._records.append(REGISTER, bodies, desk.author(), desk.now())
        return Saved(REGISTER, tuple(entry.id for entry in entries))
