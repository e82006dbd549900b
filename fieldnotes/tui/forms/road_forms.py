"""Forms of the road: a call taken in, a stop left out, a lock, what is in the truck."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from fieldnotes.domain.driving import Rule
from fieldnotes.domain.errors import Problem, RefusedInputError
from fieldnotes.domain.urgency import Urgency
from fieldnotes.tui.fields.choices import YES_NO, ChoiceField, lettered
from fieldnotes.tui.fields.field import Field, LongText, Option
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.fields.moments import ClockField
from fieldnotes.tui.forms.finding import find_among, named
from fieldnotes.tui.forms.form import Answers, Form, Pane, Reading

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved


class RoadForm(Form):
    """One page of fields and what the desk does with them; `about` is the stop."""

    def __init__(
        self,
        name: str,
        title: str,
        fields: tuple[Field, ...],
        act: Callable[[Reading], Saved],
        about: str = "",
    ) -> None:
        self.name = name
        self.title = title
        self.case = about
        self._pane = (Pane(name, title, fields),)
        self._act = act

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the one page."""
        _ = answers
        return self._pane

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything that cannot be read."""
        return Reading(self._pane, answers).faults()

    def save(self, answers: Answers) -> Saved:
        """Do it; a refusal names its field."""
        return self._act(Reading(self._pane, answers))


def call(desk: Casework, _ref: str = "") -> Form:
    """Give the form that takes an urgent call in."""
    register = desk.register()
    fields = (
        find_among("horse", "Horse", named(register.horses), "horse", hint="or leave empty"),
        find_among("premises", "Place", named(register.premises), "place",
                   hint="empty: where the horse stands"),
        NumberField(key="minutes", label="Minutes there", unit="min", least=1, most=480,
                    default="30", required=True),
        ChoiceField(key="urgency", label="Urgency", default=Urgency.SAME_DAY,
                    given=lettered((u.value, u.value) for u in Urgency)),
        LongText(key="what", label="What"),
    )  # fmt: skip

    def act(r: Reading) -> Saved:
        horse = r.get("horse", "")
        known = register.horses.get(horse)
        premises = r.get("premises", "") or (known.premises if known else "")
        if not premises:
            raise RefusedInputError("premises", "choose the horse or the place")
        return desk.road.insert(premises, r.get("minutes"), Urgency(r.get("urgency")),
                                r.get("what", ""), horse)  # fmt: skip

    return RoadForm("road_call", "Urgent call", fields, act)


def _place(desk: Casework, stop: str) -> str:
    place = desk.register().premises.get(stop)
    return place.name if place else stop


def _still_open(desk: Casework, stop: str) -> None:
    """Refuse a form about a stop that is done, left out or none at all."""
    if all(s.premises != stop for s in desk.road.live().open):
        raise RefusedInputError("stop", "choose a stop that is still open; r takes a mark back")


def skip(desk: Casework, stop: str) -> Form:
    """Give the form that leaves a stop out today; RefusedInputError if it is not open."""
    _still_open(desk, stop)
    fields = (
        LongText(key="why", label="Why", required=True),
        ChoiceField(key="past_latest", label="Past its last day", given=YES_NO,
                    hint="yes leaves it out though its last day is today or gone"),
    )  # fmt: skip
    return RoadForm(
        "road_skip", f"Leave out today: {_place(desk, stop)}", fields,
        lambda r: desk.road.skip(stop, r.get("why", ""), past_latest=bool(r.get("past_latest"))),
        stop,
    )  # fmt: skip


def lock(desk: Casework, stop: str) -> Form:
    """Give the form that locks a stop's place in the day; RefusedInputError if it is not open."""
    _still_open(desk, stop)
    words = {Rule.FIRST: "first", Rule.FINAL: "last of all", Rule.AT: "at a fixed time",
             Rule.TODAY: "today in any case", Rule.NONE: "no lock"}  # fmt: skip
    fields = (
        ChoiceField(key="rule", label="Lock", given=lettered((r.value, w) for r, w in
                                                             words.items()), default=Rule.FIRST),
        ClockField(key="at", label="Time", hint="for a fixed time"),
        LongText(key="why", label="Why", hint="needed where an infected case would not be last"),
    )  # fmt: skip

    def act(r: Reading) -> Saved:
        time, now = r.get("at"), desk.now()
        at = None if time is None else dt.datetime.combine(now.date(), time, now.tzinfo)
        return desk.road.lock(stop, Rule(r.get("rule")), at, r.get("why", ""))

    return RoadForm("road_lock", f"Lock: {_place(desk, stop)}", fields, act, stop)


def withdraw(desk: Casework, stop: str) -> Form:
    """Give the form that takes a call at a stop out again; RefusedInputError if it has none."""
    call_id = next((c.id for c in desk.road.live().calls if c.premises == stop), "")
    if not call_id:
        raise RefusedInputError("call", "no call was taken in at this stop")
    fields = (LongText(key="why", label="Why", required=True),)
    return RoadForm(
        "road_withdraw", f"Call taken back: {_place(desk, stop)}", fields,
        lambda r: desk.road.withdraw(call_id, r.get("why", "")), stop,
    )  # fmt: skip


def stock(desk: Casework, _ref: str = "") -> Form:
    """Give the form that counts an item in the truck."""
    known = tuple(Option(item, item) for item in sorted(desk.road.loadable()))
    fields = (
        find_among("item", "Item", known, "item", required=True, free=True,
                   hint="as the load list has it, or any other"),
        NumberField(key="count", label="In the truck", required=True),
        Field(key="unit", label="Unit", hint="empty: as the load list has it"),
    )  # fmt: skip

    def act(r: Reading) -> Saved:
        item = r.get("item", "")
        return desk.road.count(item, r.get("count"), r.get("unit") or desk.road.unit_of(item))

    return RoadForm("stock", "In the truck", fields, act)


def days(desk: Casework, _ref: str = "") -> Form:
    """Give the form for the break and the caps of a day."""
    known = desk.practice()

    def clock(at: dt.time | None) -> str:
        return f"{at:%H:%M}" if at else ""

    def cap(most: float | None) -> str:
        return "" if most is None else f"{most:g}"

    fields = (
        ClockField(key="from", label="Break from", default=clock(known.break_from),
                   hint="earliest start; empty: no break is planned"),
        ClockField(key="until", label="Break until", default=clock(known.break_until),
                   hint="latest start"),
        NumberField(key="minutes", label="Break", unit="min", least=5, most=180,
                    default=f"{known.break_min:g}", required=True),
        NumberField(key="visits", label="Most visits", least=1, most=100, whole=True,
                    default=cap(known.most_visits), hint="a day; empty: no cap"),
        NumberField(key="at_stops", label="Most minutes", unit="min", least=1, most=1440,
                    default=cap(known.most_visit_min), hint="at stops a day; empty: no cap"),
    )  # fmt: skip

    def act(r: Reading) -> Saved:
        first, last = r.get("from"), r.get("until")
        pause = (first, last, r.get("minutes")) if first and last else None
        return desk.road.shape_days(pause, r.get("visits"), r.get("at_stops"))

    return RoadForm("road_days", "Break and caps of a day", fields, act)
