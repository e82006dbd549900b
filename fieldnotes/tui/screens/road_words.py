"""The day as it runs, in words: what is done, the rest in order, and what a proposal costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content

from fieldnotes.casework.at_a_glance import set_off
from fieldnotes.domain.driving import BASE, BREAK, StopState
from fieldnotes.tui.widgets.rows import Row, fitted, joined, wrapped

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.casework.live_day import LiveDay
    from fieldnotes.domain.driving import Leg, StopMark
    from fieldnotes.planning.route_day import DayRoute, PlannedStop
    from fieldnotes.planning.stops import DueStop

STOP = "stop:"
_STATES = {
    StopState.SET_OFF: ("→", "$done"),
    StopState.THERE: ("●", "bold $primary"),
    StopState.DONE: ("✓", "$done"),
    StopState.DELAYED: ("~", "$due"),
    StopState.SKIPPED: ("-", "$quiet"),
}
_HEADS = (("#", 2), ("Arrive", 6), ("Leave", 6), ("Drive", 5), ("Wait", 5), ("Slack", 6))


def road_rows(live: LiveDay, route: DayRoute, width: int) -> tuple[Row, ...]:
    """Give what is behind, where the vet is, and what is ahead, one row each."""
    sizes = _sizes(width)
    head = [fitted(name, size, right=True) for name, size in _HEADS]
    head += [fitted(n, s) for n, s in zip(("Place", "Horses", "Why"), sizes, strict=True)]
    rows = [Row(joined(head, " ").stylize("bold $quiet"))]
    said = [(k, m) for k, m in live.marks.items() if m.state is not StopState.DELAYED]
    rows += [Row(_mark_row(live, mark, sizes), STOP + key) for key, mark in said]
    due = {s.premises: s for s in live.stops}
    gone = (StopState.DONE, StopState.THERE)
    first = 1 + sum(m.state in gone and m.stop not in (BASE, BREAK) for _, m in said)
    for number, planned in enumerate(route.stops, first):
        row = _stop_row(live, number, planned, due[planned.stop], sizes)
        rows.append(Row(row, STOP + planned.stop))
    for stop, why in (*route.unreached, *route.skipped):
        rows.append(Row(_left_row(due[stop], why, width), STOP + stop))
    if route.pause:
        words = f"   break {route.pause[0]:%H:%M}-{route.pause[1]:%H:%M}"
        rows.append(Row(Content.styled(words, "$quiet")))
    rows += [Row(wrapped(f"! {note}", width, "$due")) for note in route.notes]
    return tuple(rows)


def _sizes(width: int) -> tuple[int, int, int]:
    room = max(width - sum(size for _, size in _HEADS) - 8, 30)
    why, place = min(26, room * 36 // 100), room * 36 // 100
    return place, room - why - place, why


def _clock(moment: dt.datetime | None, live: LiveDay) -> str:
    return "--:--" if moment is None else f"{moment.astimezone(live.now.tzinfo):%H:%M}"


def _mark_row(live: LiveDay, mark: StopMark, sizes: tuple[int, int, int]) -> Content:
    sign, style = _STATES[mark.state]
    place, horses, why = sizes
    name = {BASE: "Base", BREAK: "Break"}.get(mark.stop) or live.names.get(mark.stop, mark.stop)
    said = mark.reason or mark.state.value
    if mark.delay_min:
        said = f"{said}, {mark.delay_min:.0f} min longer"
    drive = f"{mark.leg.minutes:.0f}" if mark.leg else ""
    return joined(
        (
            fitted(sign, 2, style, right=True),
            fitted(_clock(mark.arrived, live) if mark.stop != BASE else "", 6, right=True),
            fitted(_clock(mark.left, live), 6, right=True),
            fitted(drive, 5, "$quiet", right=True),
            fitted("", 12),
            fitted(name, place, style),
            fitted("", horses),
            fitted(said, why, "$quiet"),
        ),
        " ",
    )


def _stop_row(
    live: LiveDay, number: int, planned: PlannedStop, due: DueStop, sizes: tuple[int, int, int]
) -> Content:
    place, horses, why = sizes
    names = ", ".join(dict.fromkeys(live.horses.get(t.horse, t.horse) for t in due.tasks))
    slack = "" if planned.slack_min is None or planned.late_min else f"{planned.slack_min:.0f}"
    return joined(
        (
            fitted(str(number), 2, right=True),
            fitted(f"{planned.arrive:%H:%M}", 6, "bold", right=True),
            fitted(f"{planned.leave:%H:%M}", 6, right=True),
            fitted(f"{planned.drive_min:.0f}", 5, "$quiet", right=True),
            fitted(f"~{planned.wait_min:.0f}" if planned.wait_min >= 1 else "", 5, "$due",
                   right=True),
            fitted(slack, 6, "$due" if slack and float(slack) < 15 else "$quiet", right=True),
            fitted(due.name, place, "bold"),
            fitted(names, horses),
            _why_cell(live, planned, due, why),
        ),
        " ",
    )  # fmt: skip


def _why_cell(live: LiveDay, planned: PlannedStop, due: DueStop, width: int) -> Content:
    """Give the gravest word about a stop's place: late, expected later, or why it stands there."""
    mark = live.marks.get(due.premises)
    if planned.late_min >= 1:
        return fitted(f"! late {planned.late_min:.0f} min", width, "bold $overdue")
    if mark is not None and mark.state is StopState.DELAYED:
        return fitted(f"~ delayed, {planned.reason}", width, "$due")
    sign = "* " if due.contaminated else ""
    return fitted(f"{sign}{planned.reason}", width, "$contaminated" if due.contaminated else "")


def _left_row(due: DueStop, why: str, width: int) -> Content:
    return joined((fitted("?", 2, "bold $due", right=True),
                   fitted(f"{due.name}: {why}", width - 3, "$due")), " ")  # fmt: skip


def standing_lines(live: LiveDay, width: int) -> Content:
    """Give where the vet is and what comes next, then what the rest of the day comes to."""
    lines = [_where(live), fitted("  ·  ".join(_sums(live)), width, "$quiet")]
    return Content("\n").join(lines)


def _where(live: LiveDay) -> Content:
    coming = next(iter(live.plan.stops), None)
    here = live.names.get(live.there or live.standing.place.id, "Base")
    words = f"{live.now:%H:%M}  " + (f"at {here}" if not live.standing.heading else f"left {here}")
    if coming is None:
        home = (
            f"   then home, back {live.plan.finish:%H:%M}" if live.marks else "   no stop is left"
        )
        return Content.styled(words + home, "bold")
    leave = set_off(coming)
    name = live.names.get(coming.stop, coming.stop)
    go = f"there {coming.arrive:%H:%M}"
    if not live.standing.heading:
        go = f"leave {leave:%H:%M}, {go}"
    return Content.assemble(
        (words, "bold"), ("   Next  ", "$quiet"), (name.replace("\n", " "), "bold $primary"),
        (f"   {go}", "bold"),
    )  # fmt: skip


def _sums(live: LiveDay) -> list[str]:
    plan, travel = live.plan, live.travel
    rest = f"{travel.legs} logged drives" if travel.legs else "no logged drives yet"
    proof = "order proven" if plan.optimal else "order as announced"
    return [
        f"{len(plan.stops)} to go", f"back {plan.finish:%H:%M}",
        f"{plan.drive_min:.0f} min driving", proof,
        f"drives {travel.a_min:.1f} min + {travel.b_min_per_km:.2f}/km, {rest}",
    ]  # fmt: skip


def proposal_rows(live: LiveDay, width: int) -> tuple[Row, ...]:
    """Give what a proposal changes, stop by stop, under its price."""
    found = live.replan
    if found.proposal is None or found.price is None:
        return ()
    rows = [
        Row(wrapped(f"Proposed: {found.why}. {live.price}", width, "bold $due")),
        Row(Content.styled("y takes it; the order above stays until then", "$quiet")),
    ]
    new = {s.stop: s for s in found.proposal.stops}
    old = {s.stop: s for s in live.plan.stops}
    rows += [
        Row(_change(live, stop, f"+ new, {new[stop].arrive:%H:%M}", "$done", width))
        for stop in found.price.added
    ]
    for shift in found.price.shifts:
        was, now = old[shift.stop].arrive, new[shift.stop].arrive
        moved = shift.place_before != shift.place
        place = f", {shift.place_before}. to {shift.place}." if moved else ""
        words = f"{'>' if shift.minutes > 0 else '<'} {was:%H:%M} to {now:%H:%M}"
        words += f" ({shift.minutes:+.0f} min{place})"
        rows.append(Row(_change(live, shift.stop, words, "$due", width)))
    rows += [Row(_change(live, s, "- put off to another day", "$overdue", width))
             for s in found.price.pushed]  # fmt: skip
    rows += [Row(wrapped(f"! {note}", width, "$due")) for note in found.proposal.notes]
    return tuple(rows)


def _change(live: LiveDay, stop: str, words: str, style: str, width: int) -> Content:
    name = live.names.get(stop, stop)
    return joined((fitted(name, min(24, width // 3), "bold"),
                   fitted(words, width - min(24, width // 3) - 2, style)))  # fmt: skip


def detail_rows(live: LiveDay, stop: str, odd: tuple[Leg, ...], width: int) -> tuple[Row, ...]:
    """Give what is done at a stop, what its owners were told, its lock; then odd drives."""
    due = next((s for s in live.stops if s.premises == stop), None)
    rows = [] if due is None else [Row(x) for x in _detail(live, due, width)]
    for leg in odd:
        ends = " - ".join(live.names.get(p, "Base") for p in (leg.start, leg.end))
        words = f"odd drive: {ends} took {leg.minutes:.0f} min for {leg.km:.0f} km; o keeps it"
        rows.append(Row(fitted(words, width, "$due")))
    return tuple(rows)


def _detail(live: LiveDay, due: DueStop, width: int) -> list[Content]:
    window, rule = live.window(due.premises), live.rules.get(due.premises)
    words = [due.name, f"{due.service_min:.0f} min there"]
    words += [f"expect {window[0]:%H:%M}-{window[1]:%H:%M}"] if window else []
    if rule is not None:
        words.append(f"lock: {rule.rule.value}" + (f" ({rule.reason})" if rule.reason else ""))
    lines = [fitted("  ·  ".join(words), width, "bold")]
    for told in (p for p in live.promises if p.premises == due.premises):
        said = f"an owner was told {_clock(told.opens, live)}-{_clock(told.closes, live)}"
        lines.append(fitted(said, width, "$due"))
    for task in due.tasks:
        horse = live.horses.get(task.horse, task.horse) or "call"
        lines.append(joined((fitted(horse, 12, "bold"), fitted(task.what, width - 14))))
    planned = next((s for s in live.plan.stops if s.stop == due.premises), None)
    if planned is not None and planned.note:
        lines.insert(1, fitted(f"* {planned.note}", width, "$contaminated"))
    return lines
