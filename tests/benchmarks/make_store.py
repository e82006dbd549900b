"""Make a store of many invented cases: `python make_store.py DIR [CASES]` (default 10,000).

Five entries a case on average, written as the program writes them but without fsync, so that
10,000 cases take a minute or two. The first OPEN_SHARE of the cases are open, the rest closed.
"""

from __future__ import annotations

import datetime as dt
import os
import random
import sys
from pathlib import Path

from fieldnotes.domain.entries import (
    REGISTER,
    CaseEnd,
    CaseOpened,
    Discharge,
    HorseSet,
    Note,
    OwnerSet,
    PersonSet,
    PracticeSet,
    PremisesSet,
    Visit,
    VisitKind,
)
from fieldnotes.domain.patients import (
    Horse,
    Owner,
    Party,
    PartyRole,
    Person,
    Position,
    Practice,
    Premises,
    Species,
)
from fieldnotes.domain.wounds import Finding, Phase, Wound
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.entry import Unwritten

NOW = dt.datetime(2026, 3, 2, 7, 0, tzinfo=dt.UTC)
OPEN_SHARE = 0.004
REGIONS = (
    "left.hind.metatarsus.dorsal",
    "right.fore.metacarpus.dorsal",
    "left.fore.fetlock.palmar",
    "right.hind.tarsus.dorsal",
    "left.neck.lateral",
)
SYLLABLES = ("al", "ber", "cor", "da", "el", "fen", "gar", "hol", "ish", "jun", "ka", "lor", "mi")


def name(rng: random.Random) -> str:
    return "".join(rng.choice(SYLLABLES) for _ in range(3)).title()


def register(cases: int, rng: random.Random) -> list[Unwritten]:
    horses, owners, places = max(cases // 2, 1), max(cases // 6, 1), max(cases // 8, 1)
    bodies: list[object] = [
        PracticeSet(
            Practice("Test Practice", "01632 960000", "Europe/London", base=Position(52.3, -3.0))
        ),
        PersonSet(Person("vet", "A Vet")),
    ]
    bodies += [OwnerSet(Owner(f"o{i}", name(rng), "01632 960001")) for i in range(owners)]
    bodies += [
        PremisesSet(
            Premises(
                f"p{i}",
                name(rng),
                position=Position(52.3 + rng.uniform(-0.2, 0.2), -3.0 + rng.uniform(-0.3, 0.3)),
            )
        )
        for i in range(places)
    ]
    bodies += [
        HorseSet(
            Horse(
                f"h{i}",
                name(rng),
                Species.HORSE,
                f"p{i % places}",
                parties=(Party(PartyRole.OWNER, f"o{i % owners}"),),
            )
        )
        for i in range(horses)
    ]
    return [Unwritten(REGISTER, body, "vet", NOW) for body in bodies]  # type: ignore[arg-type]


def case(number: int, cases: int, rng: random.Random) -> list[Unwritten]:
    is_open = number < max(cases * OPEN_SHARE, 10)
    horse = rng.randrange(max(cases // 2, 1))
    start = NOW - dt.timedelta(days=rng.randrange(1, 30) if is_open else rng.randrange(60, 2000))
    ref = f"{number:05x}"
    places = max(cases // 8, 1)
    opened = CaseOpened(
        f"h{horse}",
        f"p{horse % places}",
        start,
        mechanism="wire",
        wounds=(Wound("A", rng.choice(REGIONS)),),
    )
    first = Visit(VisitKind.FIRST, start + dt.timedelta(hours=3), findings=(Finding("A", 80, 30),))
    seen = Finding("A", 60, 20, phase=Phase.GRANULATING)
    second = Visit(VisitKind.RECHECK, start + dt.timedelta(days=1), findings=(seen,))
    bodies: list[object] = [opened, first, second, Note(f"{name(rng)} {name(rng)}")]
    if not is_open:
        bodies.append(Discharge(CaseEnd.HEALED, (start + dt.timedelta(days=50)).date()))
    return [Unwritten(ref, body, "vet", start) for body in bodies]  # type: ignore[arg-type]


def make(folder: Path, cases: int) -> Casebook:
    """Write the store and its index; gives the casebook."""
    rng = random.Random(7)  # noqa: S311  (the same store every time)
    os.fsync = lambda _descriptor: None  # type: ignore[assignment]
    create_store(folder)
    book = Casebook(folder)
    book.append_all(register(cases, rng))
    batch: list[Unwritten] = []
    for number in range(cases):
        batch += case(number, cases, rng)
    book.append_all(batch)
    book.hold()
    book.close()
    return book


if __name__ == "__main__":
    made = make(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 10_000)
    sys.stdout.write(f"{made.folder}: {len(made.lines())} cases\n")
