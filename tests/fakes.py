"""Ten-line stand-ins for what lies outside the app."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.desk import Casework
from fieldnotes.domain.cases import Case, CaseLine, Status, WoundPlace, fold
from fieldnotes.domain.driving import ROAD_KINDS
from fieldnotes.domain.entries import REGISTER
from fieldnotes.domain.register import Register, fold_register, road_of
from fieldnotes.domain.vials import VialBody
from fieldnotes.storage.words import case_words
from tests.builders import an_entry

if TYPE_CHECKING:
    from fieldnotes.domain.driving import Road
    from fieldnotes.domain.entries import Entry


class DeskWithTray(Casework):
    """The desk with a handout that is only put on a tray: nothing is written or sent."""

    tray: tuple[str, ...] = ()

    @property
    def post(self) -> DeskWithTray:
        return self

    def outbox(self) -> tuple:
        return ()

    def words(self, ref: str) -> str:
        return ""

    def handout(self, ref: str, form: str = "text") -> bytes:
        return f"Aftercare for case {ref} as {form}".encode()

    def queue_handout(self, ref: str) -> None:
        self.tray = (*self.tray, ref)


class RecordsInMemory:
    """Entries in a list: what casework needs of a store, without a disk."""

    id = "store1"
    problems = ()
    pictures = None
    own: dict[str, str] = {}  # noqa: RUF012  (a test sets its own)

    def templates(self) -> dict[str, str]:
        return self.own

    def __init__(self) -> None:
        self.entries: list[Entry] = []

    def register(self) -> Register:
        return fold_register(e for e in self.entries if e.stream == REGISTER)

    def vials(self) -> tuple[Entry, ...]:
        return tuple(e for e in self.entries if isinstance(e.body, VialBody))

    def road(self) -> Road:
        found: dict = {kind: {} for kind in ROAD_KINDS}
        for entry in (e for e in self.entries if e.kind in found):
            record = getattr(entry.body, entry.kind)
            found[entry.kind][record.id] = record
        return road_of(found)

    def lines(self, *, open_only: bool = False, horse: str = "") -> tuple[CaseLine, ...]:
        refs = dict.fromkeys(e.stream for e in self.entries if e.stream != REGISTER)
        found = (line_of(self.case(ref)) for ref in refs)
        return tuple(
            line
            for line in found
            if (not open_only or line.status is Status.OPEN) and horse in {"", line.horse}
        )

    def resolve(self, ref: str) -> str:
        return ref

    def case(self, ref: str) -> Case:
        return fold(ref, [e for e in self.entries if e.stream == ref])

    def append(self, stream, bodies, author, time) -> tuple[Entry, ...]:
        first = len(self.entries) + 1
        added = tuple(
            an_entry(body, number, stream=stream, time=time, author=author)
            for number, body in enumerate(bodies, first)
        )
        self.entries += added
        return added

    def new_ref(self) -> str:
        return f"c{len(self.entries)}"


def line_of(case: Case) -> CaseLine:
    """Give what a list knows of a case."""
    opened = case.opened
    places = tuple(WoundPlace(w.label, w.region, w.view) for w in case.wounds)
    last = case.visits[-1].body.at if case.visits else opened.injured_at
    return CaseLine(
        case.ref,
        opened.horse,
        opened.premises,
        case.opened_at,
        opened.injured_at,
        last,
        case.status,
        wounds=places,
        words=case_words(case),
        ended_on=case.ended_on,
    )
