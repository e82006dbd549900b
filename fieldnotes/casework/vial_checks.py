"""What cannot be right in an entry of the controlled-drug register, each with its field."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.checks import CLOCK_SLACK
from fieldnotes.domain.errors import Problem
from fieldnotes.domain.vials import MoveKind

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator, Mapping

    from fieldnotes.domain.patients import Person
    from fieldnotes.domain.vial_book import VialAccount
    from fieldnotes.domain.vials import Vial, VialCorrection, VialCount, VialMove

MOST_ML = 1000.0  # from memory: no vial or bottle of a controlled drug is larger
WITNESSED = (MoveKind.WASTED, MoveKind.DESTROYED, MoveKind.LOST)
_NEEDED = (
    ("drug", "which drug?"),
    ("name", "which drug?"),
    ("unit", "mg or IU?"),
    ("batch", "the batch is on the label"),
    ("received_from", "from whom did it come?"),
)


def volume_problem(volume_ml: float, *, least: float = 0.0) -> Iterator[Problem]:
    """Check a volume: more than nothing (or nothing, for a count), less than any bottle."""
    if not least <= volume_ml <= MOST_ML or (least == 0.0 and volume_ml < 0):
        yield Problem("volume_ml", f"{volume_ml:g} mL is not within {least:g} to {MOST_ML:g} mL")


def receipt_problems(vial: Vial, known: Iterable[str], now: dt.datetime) -> Iterator[Problem]:
    """Check a vial about to be taken into stock."""
    for field, why in _NEEDED:
        if not getattr(vial, field).strip():
            yield Problem(field, why)
    if vial.id in set(known):
        yield Problem("id", f"a vial marked {vial.id} is in the register already")
    if not vial.amount_per_ml > 0:
        yield Problem("amount_per_ml", "the strength is more than nothing")
    yield from volume_problem(vial.volume_ml, least=0.01)
    if vial.received_at > now + CLOCK_SLACK:
        yield Problem("received_at", "it cannot have come in yet")
    if vial.expiry < vial.received_at.date() and not vial.reason.strip():
        yield Problem("expiry", f"expired on {vial.expiry:%d %b %Y}: give a reason to take it in")


def _when(at: dt.datetime, account: VialAccount, now: dt.datetime) -> Iterator[Problem]:
    if at > now + CLOCK_SLACK:
        yield Problem("at", "this is still to come")
    received = account.vial.received_at
    if at < received:
        yield Problem("at", f"{account.vial.id} came in on {received:%d %b %Y %H:%M}, after this")


def _who(who: str, people: Mapping[str, Person]) -> Iterator[Problem]:
    if not who.strip():
        yield Problem("who", "who did it?")
    elif people and who not in people:
        yield Problem("who", f"'{who}' does not sign in this practice: {', '.join(people)}")


def _witness(
    who: str, witness: str, people: Mapping[str, Person], why: str = ""
) -> Iterator[Problem]:
    said = witness.strip().casefold()
    names = {who.casefold(), people[who].name.casefold() if who in people else ""}
    if why and not said:
        yield Problem("witness", why)
    elif said and said in names:
        yield Problem("witness", "the witness is someone else than who did it")


def beyond(account: VialAccount, volume_ml: float) -> str:
    """Say that a vial does not hold so much; empty if it does."""
    left = account.balance_ml
    if volume_ml <= left + 1e-9:
        return ""
    return f"{volume_ml:g} mL is more than the {left:g} mL reckoned to be left in {account.vial.id}"


def expired(account: VialAccount, on: dt.date) -> str:
    """Say that a vial had expired on a day; empty if it had not."""
    expiry = account.vial.expiry
    return f"{account.vial.id} expired on {expiry:%d %b %Y}" if expiry < on else ""


def move_problems(
    move: VialMove, account: VialAccount, people: Mapping[str, Person], now: dt.datetime
) -> Iterator[Problem]:
    """Check a volume about to leave a vial."""
    yield from volume_problem(move.volume_ml, least=0.001)
    yield from _when(move.at, account, now)
    yield from _who(move.who, people)
    reason = move.reason.strip()
    if (why := beyond(account, move.volume_ml)) and not reason:
        yield Problem("volume_ml", f"{why}: give a reason, or count the vial")
    if move.what is MoveKind.DRAWN:
        if (why := expired(account, move.at.date())) and not reason:
            yield Problem("vial", f"{why}: give a reason to use it")
        if not (move.case or move.horse.strip()):
            yield Problem("horse", "for which horse, or which case?")
    needs = move.what in WITNESSED
    why = f"what is {move.what} needs a witness" if needs else ""
    yield from _witness(move.who, move.witness, people, why)
    if move.what is MoveKind.RETURNED and not move.to.strip():
        yield Problem("to", "returned to whom?")
    if move.what in {MoveKind.LOST, MoveKind.WASTED} and not reason:
        yield Problem("reason", f"why was it {move.what}?")


def count_problems(
    count: VialCount, account: VialAccount, people: Mapping[str, Person], now: dt.datetime
) -> Iterator[Problem]:
    """Check a count."""
    yield from volume_problem(count.volume_ml)
    yield from _when(count.at, account, now)
    yield from _who(count.who, people)
    yield from _witness(count.who, count.witness, people)


def correction_problems(
    correction: VialCorrection,
    accounts: Iterable[VialAccount],
    people: Mapping[str, Person],
    now: dt.datetime,
) -> Iterator[Problem]:
    """Check a correction: it names an entry, says why, and changes something."""
    known = {line.entry.id for account in accounts for line in account.lines}
    if correction.of not in known:
        yield Problem("of", f"'{correction.of}' is no entry of the register")
    if not correction.why.strip():
        yield Problem("why", "a correction says why")
    if correction.volume_ml is not None:
        yield from volume_problem(correction.volume_ml)
        if correction.struck:
            yield Problem("volume_ml", "struck out, or another volume: not both")
    elif not correction.struck and not correction.text.strip():
        yield Problem("text", "what should it read?")
    if correction.at > now + CLOCK_SLACK:
        yield Problem("at", "this is still to come")
    yield from _who(correction.who, people)
