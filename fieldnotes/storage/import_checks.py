"""What must fit together in an imported file, and between the files and the register."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from fieldnotes.domain.driving import ROAD_KINDS
from fieldnotes.domain.entries import (
    Amendment,
    CaseOpened,
    Death,
    Discharge,
    FlagAnswered,
    HorseSet,
    OwnerReport,
    OwnerSet,
    PersonSet,
    PracticeSet,
    PremisesSet,
    TaskAdded,
    Visit,
    WoundAdded,
)
from fieldnotes.domain.formulary import FORMULARY_KINDS
from fieldnotes.domain.pictures import Measurement, Photograph
from fieldnotes.domain.rulebook import RULE_KINDS
from fieldnotes.domain.vials import VIAL_KINDS
from fieldnotes.domain.wound_templates import TEMPLATE_KINDS
from fieldnotes.storage.import_shapes import nearest, refused

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Container, Iterable, Iterator, Sequence

    from fieldnotes.domain.entries import Body
    from fieldnotes.domain.patients import Horse
    from fieldnotes.domain.register import Register
    from fieldnotes.domain.wounds import Wound
    from fieldnotes.storage.importing import ImportFile

REGISTER_BODIES = (
    PracticeSet, PersonSet, OwnerSet, PremisesSet, HorseSet,
    *FORMULARY_KINDS.values(), *RULE_KINDS.values(), *VIAL_KINDS.values(), *ROAD_KINDS.values(),
    *TEMPLATE_KINDS.values(),
)  # fmt: skip


def _check_wound(
    wound: Wound, known: list[str], place: str, regions: Container[str] | None
) -> None:
    if not (wound.label.isascii() and wound.label.isalpha() and len(wound.label) <= 2):
        raise refused(place, f"the wound {wound.label!r} needs a letter")
    if wound.label in known:
        raise refused(place, f"the wound {wound.label} stands twice")
    if regions is not None and wound.region not in regions:
        raise refused(place, f"wound {wound.label}: no region is called {wound.region!r}")
    known.append(wound.label)


def _labels_used(body: Body) -> Iterator[str]:
    match body:
        case Visit():
            yield from (f.wound for f in body.findings)
            yield from (c.wound for c in body.care)
        case Amendment(corrected=Visit() as visit):
            yield from _labels_used(visit)
        case TaskAdded():
            yield from body.wounds
        case FlagAnswered():
            yield from [body.wound] if body.wound else []
        case Measurement(found=found):
            yield found.wound
        case _:
            pass


def _check_time(body: Body, at: dt.datetime, injured_at: dt.datetime, place: str) -> None:
    if isinstance(body, Visit | OwnerReport):
        what = "visit" if isinstance(body, Visit) else "report"
        if body.at < injured_at:
            raise refused(f"{place}, at", f"the {what} is before the injury")
        if body.at.date() > at.date():
            raise refused(f"{place}, at", f"the {what} is after it was recorded")
    if isinstance(body, Discharge | Death) and body.on < injured_at.date():
        raise refused(f"{place}, on", "before the injury")
    if isinstance(body, TaskAdded) and not body.earliest <= body.due <= body.latest:
        raise refused(f"{place}, due", "earliest, due and latest must follow each other")


def _check_kind(body: Body, place: str) -> None:
    if isinstance(body, REGISTER_BODIES):
        raise refused(place, "this belongs to the register, not to a case")
    if isinstance(body, CaseOpened):
        raise refused(place, "a case is opened once")
    if isinstance(body, Photograph):
        raise refused(place, "its file is not here; add photographs with 'photo add'")


def check_case(
    bodies: Sequence[Body],
    times: Sequence[dt.datetime],
    place: Callable[[int], str],
    regions: Container[str] | None,
) -> None:
    """Refuse a case that does not open, or that contradicts itself; the error names the entry."""
    if not bodies or not isinstance(bodies[0], CaseOpened):
        raise refused(place(0), "a case begins with its opening")
    opened = bodies[0]
    if opened.injured_at > times[0]:
        raise refused(f"{place(0)}, injured_at", "the injury is after the case was opened")
    known: list[str] = []
    for wound in opened.wounds:
        _check_wound(wound, known, place(0), regions)
    for number, body in enumerate(bodies[1:], 1):
        _check_kind(body, place(number))
        if isinstance(body, WoundAdded):
            _check_wound(body.wound, known, place(number), regions)
        for label in _labels_used(body):
            if label not in known:
                hint = nearest(label, tuple(known)) if known else "the case has no wound"
                raise refused(place(number), f"no wound is called {label!r}; {hint}")
        _check_time(body, times[number], opened.injured_at, place(number))
    _check_healed(bodies, place)


def _check_healed(bodies: Sequence[Body], place: Callable[[int], str]) -> None:
    """Refuse a wound that is open after it was found healed, unless visits were corrected."""
    if any(isinstance(b, Amendment) and b.corrected is not None for b in bodies):
        return
    visits = [
        (body.at, number, body) for number, body in enumerate(bodies) if isinstance(body, Visit)
    ]
    healed: set[str] = set()
    for _, number, visit in sorted(visits, key=lambda seen: seen[:2]):
        for finding in visit.findings:
            if finding.wound in healed and not finding.healed:
                why = f"wound {finding.wound} was found healed before: a new one needs a new letter"
                raise refused(f"{place(number)}, findings", why)
        healed |= {f.wound for f in visit.findings if f.healed}


def check_register(bodies: Sequence[Body], place: Callable[[int], str]) -> None:
    """Refuse a register with entries of a case, or a practice without a time zone."""
    for number, body in enumerate(bodies):
        if not isinstance(body, REGISTER_BODIES):
            raise refused(place(number), "this belongs to a case, not to the register")
        if isinstance(body, PracticeSet):
            try:
                ZoneInfo(body.practice.zone)
            except (ZoneInfoNotFoundError, ValueError, OSError) as error:
                reason = f"{body.practice.zone!r} is no time zone such as Europe/London"
                raise refused(f"{place(number)}, zone", reason) from error


def _known(what: str, wanted: str, ids: Container[str], where: str) -> None:
    if wanted not in ids:
        raise refused(where, f"no {what} has the id {wanted!r}")


def _check_horse(horse: Horse, register: Register) -> None:
    where = f"horse {horse.name}"
    _known("premises", horse.premises, register.premises, f"{where}, premises")
    for party in horse.parties:
        _known("owner", party.owner, register.owners, f"{where}, parties")


def check_register_references(register: Register) -> None:
    """Refuse a register in which a horse stands at, or belongs to, nobody known."""
    for horse in register.horses.values():
        _check_horse(horse, register)
    for drive in register.practice.known_drives if register.practice else ():
        for end in (drive.start, drive.end):
            _known("premises", end, {"base", *register.premises}, "known drives")


def check_references(register: Register, found: ImportFile) -> None:
    """Refuse a file that names a person, horse or premises the register does not know."""
    for number, entry in enumerate(found.entries, 1):
        where = f"{found.name}, entry {number}"
        _known("person", entry.author, register.people, f"{where}, by")
        if isinstance(entry.body, CaseOpened):
            _known("horse", entry.body.horse, register.horses, f"{where}, horse")
            _known("premises", entry.body.premises, register.premises, f"{where}, premises")
            if entry.body.responsible:
                _known("person", entry.body.responsible, register.people, f"{where}, responsible")


def with_bodies(register: Register, bodies: Sequence[Body]) -> Register:
    """Give the register as it stands once the bodies are added."""
    practices = [b.practice for b in bodies if isinstance(b, PracticeSet)]
    people = {b.person.id: b.person for b in bodies if isinstance(b, PersonSet)}
    owners = {b.owner.id: b.owner for b in bodies if isinstance(b, OwnerSet)}
    places = {b.premises.id: b.premises for b in bodies if isinstance(b, PremisesSet)}
    horses = {b.horse.id: b.horse for b in bodies if isinstance(b, HorseSet)}
    return replace(
        register,
        practice=practices[-1] if practices else register.practice,
        people={**register.people, **people},
        owners={**register.owners, **owners},
        premises={**register.premises, **places},
        horses={**register.horses, **horses},
    )


def check_imports(register: Register, imports: Iterable[ImportFile]) -> None:
    """Refuse files that, added to the register, would name what nobody knows."""
    found = tuple(imports)
    bodies = [e.body for f in found if not f.case for e in f.entries]
    together = with_bodies(register, bodies)
    check_register_references(together)
    for file in found:
        check_references(together, file)
