"""Today as it runs, in words and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldnotes.cli.route import left_out, route_document, stop_document
from fieldnotes.cli.text import columns
from fieldnotes.domain.driving import BASE, BREAK, StopState

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.casework.live_day import LiveDay
    from fieldnotes.domain.driving import StopMark
    from fieldnotes.planning.route_day import DayRoute


def _iso(moment: dt.datetime | None) -> str | None:
    return None if moment is None else moment.isoformat(timespec="seconds")


def plan_document(live: LiveDay, route: DayRoute) -> dict[str, Any]:
    """Give one plan of the rest of the day, as `route` prints a whole day."""
    known = {s.premises: s for s in live.stops}
    return {
        **route_document(route),
        "stops": [stop_document(known[s.stop], s, live.horses) for s in route.stops],
        "unreached": left_out(route.unreached, known),
        "skipped": left_out(route.skipped, known),
    }


def _mark_document(live: LiveDay, mark: StopMark) -> dict[str, Any]:
    leg = mark.leg
    return {
        "stop": live.names.get(mark.stop, mark.stop),
        "state": mark.state.value,
        "arrived": _iso(mark.arrived),
        "left": _iso(mark.left),
        "delay_min": mark.delay_min,
        "reason": mark.reason,
        "leg": None
        if leg is None
        else {
            "from": live.names.get(leg.start, leg.start),
            "to": live.names.get(leg.end, leg.end),
            "minutes": leg.minutes,
            "km": leg.km,
            "reckoned": leg.reckoned,
        },
    }


def day_document(live: LiveDay) -> dict[str, Any]:
    """Give today as it stands."""
    found = live.replan
    return {
        "date": live.date.isoformat(),
        "now": _iso(live.now),
        "from": live.names.get(live.standing.place.id, live.standing.place.id),
        "driving_to": live.names.get(live.standing.heading) if live.standing.heading else None,
        "there": live.names.get(live.there) if live.there else None,
        "marks": [_mark_document(live, m) for m in live.marks.values()],
        "plan": plan_document(live, live.plan),
        "proposal": None
        if found.proposal is None
        else {
            **plan_document(live, found.proposal),
            "price": live.price,
            "why": found.why,
            "shifts": [
                {
                    "stop": live.names.get(s.stop, s.stop),
                    "minutes": s.minutes,
                    "place_before": s.place_before,
                    "place": s.place,
                }
                for s in (found.price.shifts if found.price else ())
            ],
        },
        "calls": [
            {
                "id": c.id,
                "premises": live.names.get(c.premises, c.premises),
                "horse": live.horses.get(c.horse, c.horse),
                "what": c.what,
                "urgency": c.urgency.value,
                "service_min": c.service_min,
                "taken_at": _iso(c.taken_at),
            }
            for c in live.calls
        ],
        "locks": [
            {
                "stop": live.names.get(r.stop, r.stop),
                "rule": r.rule.value,
                "at": _iso(r.at),
                "reason": r.reason,
            }
            for r in live.rules.values()
        ],
        "travel": {
            "a_min": live.travel.a_min,
            "b_min_per_km": live.travel.b_min_per_km,
            "legs": live.travel.legs,
            "spread_min": live.travel.spread_min,
        },
    }


def _mark_line(live: LiveDay, mark: StopMark) -> str:
    name = {BASE: "Base", BREAK: "Break"}.get(mark.stop) or live.names.get(mark.stop, mark.stop)
    times = [f"{t.astimezone(live.now.tzinfo):%H:%M}" if t else "--:--"
             for t in (mark.arrived, mark.left)]  # fmt: skip
    words = {
        StopState.SET_OFF: f"set off {times[1]}",
        StopState.THERE: f"there since {times[0]}",
        StopState.DONE: f"{times[0]}-{times[1]} done",
        StopState.DELAYED: f"delayed, expected {times[0]}",
        StopState.SKIPPED: f"left out: {mark.reason}",
    }
    leg = f", {mark.leg.minutes:.0f} min for {mark.leg.km:.1f} km" if mark.leg else ""
    late = f", {mark.delay_min:.0f} min longer" if mark.state is StopState.THERE else ""
    return f"  {name}: {words.get(mark.state, mark.state)}{leg}{late if mark.delay_min else ''}"


def plan_lines(live: LiveDay, route: DayRoute) -> list[str]:
    """Give one plan of the rest as aligned lines."""
    known = {s.premises: s for s in live.stops}
    rows = [
        (
            f"  {s.arrive:%H:%M}",
            f"{s.leave:%H:%M}",
            f"{s.drive_min:.0f} min",
            known[s.stop].name,
            ", ".join(dict.fromkeys(live.horses.get(t.horse, "") for t in known[s.stop].tasks)),
            ", ".join(x for x in (f"late {s.late_min:.0f} min" if s.late_min >= 1 else "",
                                  s.reason, s.note) if x),
        )
        for s in route.stops
    ]  # fmt: skip
    lines = [columns(("  arrive", "leave", "drive", "premises", "horses", "why here"), rows)]
    lines += [f"  not reached: {x['premises']} ({x['why']})"
              for x in left_out(route.unreached, known)]  # fmt: skip
    lines += [f"  left out: {x['premises']} ({x['why']})" for x in left_out(route.skipped, known)]
    lines += [f"  ! {note}" for note in route.notes]
    if route.pause:
        lines.append(f"  break {route.pause[0]:%H:%M}-{route.pause[1]:%H:%M}")
    return [*lines, f"  back {route.finish:%H:%M}, {route.drive_min:.0f} min driving left"]


def drives_words(live: LiveDay) -> str:
    """Say what the drive times rest on."""
    t = live.travel
    rest = f"rest on {t.legs} logged drives" if t.legs else "are the practice's own figures"
    return f"drive times {rest}: {t.a_min:.1f} min + {t.b_min_per_km:.2f} min/km"


def day_text(live: LiveDay) -> str:
    """Give today as it stands, as plain text."""
    lines = [f"{live.date:%A} {live.date.day} {live.date:%B}, {live.now:%H:%M}"]
    lines += [_mark_line(live, m) for m in live.marks.values()]
    if live.standing.heading:
        name = live.names.get(live.standing.heading, "")
        lines.append(f"  driving to {name}")
    lines += ["", "The rest as announced:" if live.marks else "The day:",
              *plan_lines(live, live.plan)]  # fmt: skip
    if live.replan.proposal is not None:
        lines += ["", f"Proposed ({live.replan.why}): {live.price}",
                  *plan_lines(live, live.replan.proposal),
                  "  'fieldnotes day accept' takes it"]  # fmt: skip
    return "\n".join([*lines, "", drives_words(live)])
