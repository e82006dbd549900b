"""`fieldnotes day`: today as it runs - stops marked, calls taken in, the rest replanned."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.day_text import day_document, day_text
from fieldnotes.cli.opening import moment, open_desk
from fieldnotes.domain.driving import BREAK, Rule
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.domain.urgency import Urgency

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from fieldnotes.casework.desk import Casework

ACTIONS = {
    "show": "today as it stands: done, open, proposed (default)",
    "set-off": "the base was left",
    "arrive": "STOP is reached; logs the drive",
    "done": "STOP is done; logs the drive and how long it took; STOP 'break': the break was taken",
    "delay": "STOP MINUTES later than planned",
    "skip": "leave STOP out today, with --why",
    "reopen": "take back what was marked of STOP",
    "insert": "take a call to STOP in, with --minutes and --urgency",
    "withdraw": "take a call CALL out again, with --why",
    "lock": "lock STOP: first, final, at (with --at), today, or none",
    "accept": "take the proposed order",
    "replan": "the rest of the day from here and now; the same as show",
    "text": "what to tell the owners at STOP; --told keeps it as promised",
    "settings": "--break 11:30-14:00 of --minutes, --most-visits, --most-minutes; none: off",
    "drives": "what drive times rest on; --keep N puts an odd drive into the known ones",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the action and what it is about."""
    import argparse  # noqa: PLC0415

    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = "\n".join(f"  {name:<9} {words}" for name, words in ACTIONS.items())
    parser.add_argument("action", nargs="?", default="show", choices=tuple(ACTIONS))
    parser.add_argument("stop", nargs="?", default="", metavar="STOP",
                        help="any part of a place's or a horse's name")  # fmt: skip
    parser.add_argument("value", nargs="?", default="", help="minutes of a delay, rule of a lock")
    parser.add_argument("--at", metavar="HH:MM", help="when it was, or the time of a lock")
    parser.add_argument("--arrived", metavar="HH:MM", help="when a stop was reached (done)")
    parser.add_argument("--why", default="", help="the reason")
    parser.add_argument("--past-latest", action="store_true", help="skip past its last day")
    parser.add_argument("--minutes", type=float, default=30.0, help="on the spot (insert)")
    parser.add_argument("--urgency", choices=("now", "same-day", "next-visit"), default="same-day")
    parser.add_argument("--what", default="", help="what a call is about")
    parser.add_argument("--accept", action="store_true", help="take the proposal at once")
    parser.add_argument("--told", action="store_true", help="the owner was told this (text)")
    parser.add_argument("--folder", metavar="DIR", help="a file for each owner, to print (text)")
    parser.add_argument("--queue", action="store_true", help="as mail into the outbox (text)")
    parser.add_argument("--break", dest="pause", metavar="HH:MM-HH:MM", default="none")
    parser.add_argument("--most-visits", type=int, metavar="N")
    parser.add_argument("--most-minutes", type=float, metavar="M", help="at stops, a day")
    parser.add_argument("--keep", type=int, metavar="N", help="keep odd drive N (drives)")


def run(args: argparse.Namespace) -> int:
    """Do what was asked, then print the day as it stands."""
    desk = open_desk(args)
    if args.action == "text":
        from fieldnotes.cli.owner_texts import run_texts  # noqa: PLC0415

        return run_texts(desk, args, _stop(desk, args.stop))
    if args.action == "drives":
        from fieldnotes.cli.drives import run_drives  # noqa: PLC0415

        return run_drives(desk, args.keep, as_json=args.json)
    _act(desk, args)
    if args.accept:
        desk.road.accept()
    live = desk.road.live()
    if args.json:
        emit_json(day_document(live))
    else:
        print(day_text(live))
    return 0


def _act(desk: Casework, args: argparse.Namespace) -> None:
    """Say to the record what the action says; showing says nothing."""
    road, at = desk.road, _clock(desk, args.at, "--at")
    acts: dict[str, Callable[[], object]] = {
        "set-off": lambda: road.set_off(at),
        "arrive": lambda: road.there(_stop(desk, args.stop), at),
        "done": lambda: _done(desk, args, at),
        "delay": lambda: road.delay(_stop(desk, args.stop), _minutes(args.value)),
        "skip": lambda: road.skip(_stop(desk, args.stop), args.why, past_latest=args.past_latest),
        "reopen": lambda: road.reopen(_stop(desk, args.stop)),
        "lock": lambda: road.lock(_stop(desk, args.stop), _rule(args.value), at, args.why),
        "insert": lambda: _insert(desk, args),
        "withdraw": lambda: road.withdraw(args.stop, args.why),
        "accept": road.accept,
        "settings": lambda: road.shape_days(_break(args), args.most_visits, args.most_minutes),
    }
    act = acts.get(args.action)
    if act is not None:
        act()


def _done(desk: Casework, args: argparse.Namespace, at: dt.datetime | None) -> None:
    if args.stop == BREAK:
        desk.road.rested(at)
    else:
        desk.road.done(_stop(desk, args.stop), at, _clock(desk, args.arrived, "--arrived"))


def _insert(desk: Casework, args: argparse.Namespace) -> None:
    place, horse = _place(desk, args.stop)
    urgency = Urgency(args.urgency.replace("-", " "))
    desk.road.insert(place, args.minutes, urgency, args.what, horse)


def _clock(desk: Casework, text: str | None, field: str) -> dt.datetime | None:
    """Read a time of today, or an ISO date-time."""
    if text is None:
        return None
    if "T" in text or len(text) > len("HH:MM:SS"):
        return moment(text, field)
    try:
        time = dt.time.fromisoformat(text if text[1:2] != ":" else f"0{text}")
    except ValueError as error:
        raise RefusedInputError(field, f"'{text}' is not a time like 09:40") from error
    now = desk.now()
    return dt.datetime.combine(now.date(), time, now.tzinfo)


def _break(args: argparse.Namespace) -> tuple[dt.time, dt.time, float] | None:
    if args.pause == "none":
        return None
    try:
        first, last = (dt.time.fromisoformat(part) for part in args.pause.split("-"))
    except ValueError as error:
        raise RefusedInputError("--break", f"'{args.pause}' is not like 11:30-14:00") from error
    return first, last, args.minutes


def _minutes(text: str) -> float:
    try:
        return float(text)
    except ValueError as error:
        raise RefusedInputError("minutes", f"'{text}' is not a number of minutes") from error


def _rule(text: str) -> Rule:
    if text not in tuple(Rule):
        raise RefusedInputError("rule", f"'{text}' is none of {', '.join(Rule)}")
    return Rule(text)


def _stop(desk: Casework, text: str) -> str:
    """Find a stop of today by its id, or by part of its name or of a horse's there."""
    if not text:
        raise RefusedInputError("STOP", "name a place or a horse of today's round")
    live = desk.road.live()
    words = {s.premises: [s.premises, s.name, *(live.horses.get(t.horse, "") for t in s.tasks)]
             for s in live.stops}  # fmt: skip
    words |= {m: [m, live.names.get(m, "")] for m in live.marks if m not in words}
    return _one("STOP", text, words)


def _one(field: str, text: str, words: dict[str, list[str]]) -> str:
    wanted = text.strip().casefold()
    if wanted in words:
        return wanted
    found = sorted(k for k, names in words.items() if any(wanted in n.casefold() for n in names))
    if len(found) != 1:
        many = f"'{text}' fits {', '.join(found)}" if found else f"nothing fits '{text}'"
        raise UnknownNameError(field, many, tuple(found))
    return found[0]


def _place(desk: Casework, text: str) -> tuple[str, str]:
    """Find (premises, horse) of a call: by the horse's name, else by the place's."""
    register, wanted = desk.register(), text.strip().casefold()
    if not wanted:
        raise RefusedInputError("STOP", "name the place or the horse of the call")
    horses = [h for h in register.horses.values() if wanted in (h.id, h.name.casefold())]
    if len(horses) == 1:
        return horses[0].premises, horses[0].id
    words = {key: [key, p.name] for key, p in register.premises.items()}
    for horse in register.horses.values():
        words[horse.premises] = [*words.get(horse.premises, []), horse.name]
    return _one("STOP", text, words), ""
