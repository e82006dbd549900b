"""Follow-up rules: what is due after what, for whom, in which window, and who says so."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final, Literal, cast, get_args

from fieldnotes.domain.entries import VisitKind
from fieldnotes.domain.errors import KnowledgeError
from fieldnotes.domain.patients import Species
from fieldnotes.domain.treatment import ClosureMethod, DeviceKind
from fieldnotes.domain.urgency import Urgency
from fieldnotes.domain.wounds import (
    EXPOSED_STRUCTURES,
    Amount,
    Contamination,
    Phase,
    SynovialEntry,
    WoundKind,
)
from fieldnotes.knowledge.source import Row, Table, shipped_table
from fieldnotes.knowledge.tetanus import TetanusTable, load_tetanus

if TYPE_CHECKING:
    from collections.abc import Mapping

FILE: Final = "rules.toml"

By = Literal["vet", "owner", "changer"]
Which = Literal["first", "last", "each"]
Per = Literal["wound", "case"]

ANCHORS: Final = (
    "wounded",
    "seen",
    "closed",
    "tension sutures placed",
    "grafted",
    *(f"{kind.value} placed" for kind in DeviceKind),
    "bandaged",
    "granulation trimmed",
    "exposed",
    "infection seen",
    "synovial entry",
    "culture taken",
    "radiographed",
    "drug given",
    "drug started",
    "drug ended",
    *(f"reported, {urgency.value}" for urgency in Urgency),
)
EVIDENCE: Final = (
    *ANCHORS,
    *(f"{kind.value} removed" for kind in DeviceKind),
    "sutures removed",
    "tension sutures removed",
    "bandage stopped",
)

_YES_NO: Final = frozenset({"yes", "no"})
# Every fact a rule may ask for, with the words it can have; None: a part of the text is asked for.
FACTS: Final[Mapping[str, frozenset[str] | None]] = {
    "region": None,
    "group": frozenset({"distal limb", "upper limb", "head", "neck", "trunk", "foot"}),
    "high_motion": _YES_NO,
    "sequestrum_risk": _YES_NO,
    "kind": frozenset(k.value for k in WoundKind),
    "contamination": frozenset(c.value for c in Contamination),
    "closure": frozenset({"not recorded", *(m.value for m in ClosureMethod)}),
    "state": frozenset({"open", "closed", "grafted"}),
    "sutures": frozenset({"in", "none"}),
    "phase": frozenset(p.value for p in Phase),
    "exudate": frozenset(a.value for a in Amount),
    "granulation": frozenset("0123"),
    "infection": _YES_NO,
    "exposed": frozenset(EXPOSED_STRUCTURES),
    "synovial": frozenset(s.value for s in SynovialEntry),
    "dehiscence": _YES_NO,
    "tract": _YES_NO,
    "bandaged": _YES_NO,
    "dressing": None,
    "interval": frozenset({"ordered", "by rule"}),
    "device": frozenset(d.value for d in DeviceKind),
    "tetanus": frozenset({"booster due", "course due", "course begun", "antitoxin due", "covered"}),
    "on_antimicrobial": _YES_NO,
    "species": frozenset(s.value for s in Species),
    "age": frozenset({"foal", "adult", "unknown"}),
    "drug": None,
}


@dataclass(frozen=True)
class Condition:
    """A fact and the words one of which it must have."""

    fact: str
    any_of: tuple[str, ...]


@dataclass(frozen=True)
class Rule:
    """One follow-up rule; days count from the anchor, the window is earliest, due, latest.

    `by` "changer" is whoever changes the bandage. `every_days` makes an owner's series that
    runs for `until_days`. Of `exclusive` rows of one kind the soonest counts; a `fallback`
    stands only where the wound has no other task of its kind. `early`: done counts before the
    window as well. `told`: open until the owner has been told. `lapses`: dropped once a visit
    after the window has seen the horse without doing it.
    """

    id: str
    kind: str
    what: str
    owner_words: str
    by: By
    anchor: str
    which: Which
    per: Per
    earliest_days: int
    due_days: int
    latest_days: int
    every_days: int | None
    times_a_day: float
    until_days: int | None
    ordered: bool
    when: tuple[Condition, ...]
    unless: tuple[Condition, ...]
    done_by: tuple[str, ...]
    early: bool
    exclusive: bool
    fallback: bool
    told: bool
    lapses: bool
    urgency: Urgency
    source: str
    note: str


@dataclass(frozen=True)
class RemovalWords:
    """How a visit says that something came out: `event` happened if a removed item has a word."""

    event: str
    words: tuple[str, ...]
    but_not: tuple[str, ...]
    visit_kind: VisitKind | None
    source: str


@dataclass(frozen=True)
class DrugClass:
    """The drugs of a class that rules ask for, by drug id."""

    name: str
    drugs: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class Rules:
    """All follow-up rules, and what is needed to apply them."""

    rules: tuple[Rule, ...]
    removals: tuple[RemovalWords, ...]
    drug_classes: tuple[DrugClass, ...]
    tetanus: TetanusTable

    def get(self, rule_id: str) -> Rule | None:
        """Give the rule with an id, None for none (as for a task set by hand)."""
        return next((r for r in self.rules if r.id == rule_id), None)

    def drug_words(self, drug: str) -> frozenset[str]:
        """Give a drug's id and the classes rules know it by."""
        return frozenset({drug, *(c.name for c in self.drug_classes if drug in c.drugs)})


def _choice(row: Row, field: str, allowed: tuple[str, ...], default: str | None = None) -> str:
    value = row.text(field, default)
    if value not in allowed:
        raise row.error(field, f"{value!r} is not one of {', '.join(allowed)}")
    return value


def _conditions(row: Row, field: str) -> tuple[Condition, ...]:
    given = row.data.get(field, {})
    if not isinstance(given, dict):
        raise row.error(field, "a table of facts is needed")
    found = []
    for fact in given:
        if fact not in FACTS:
            raise row.error(field, f"no fact is called {fact!r}")
        words = Row(row.file, str(row.data.get("id", row.name)), given).texts(fact)
        allowed = FACTS[fact]
        strange = [] if allowed is None else [w for w in words if w not in allowed]
        if strange or not words:
            raise row.error(field, f"{fact} can not be {', '.join(strange) or 'nothing'}")
        found.append(Condition(fact, words))
    return tuple(found)


def _window(row: Row) -> tuple[int, int, int]:
    days = row.data.get("window_days")
    if isinstance(days, list) and len(days) == 3 and all(type(d) is int for d in days):
        earliest, due, latest = days
        if earliest <= due <= latest:
            return earliest, due, latest
    raise row.error("window_days", "three whole numbers [earliest, due, latest] are needed")


def _whole_or_none(row: Row, field: str) -> int | None:
    number = row.number_or_none(field, least=1)
    return None if number is None else int(number)


def _done_by(row: Row) -> tuple[str, ...]:
    found = row.texts("done_by", ())
    for name in found:
        if name not in EVIDENCE:
            raise row.error("done_by", f"{name!r} is not one of {', '.join(EVIDENCE)}")
    return found


def _rule(row: Row) -> Rule:
    earliest, due, latest = _window(row)
    every, until = _whole_or_none(row, "every_days"), _whole_or_none(row, "until_days")
    ordered = row.flag("ordered", default=False)
    if (every is not None or ordered) and until is None:
        raise row.error("until_days", "a series has an end")
    return Rule(
        id=row.text("id"),
        kind=row.text("kind"),
        what=row.text("what"),
        owner_words=row.text("owner_words"),
        by=cast("By", _choice(row, "by", get_args(By))),
        anchor=_choice(row, "anchor", ANCHORS),
        which=cast("Which", _choice(row, "which", get_args(Which), "last")),
        per=cast("Per", _choice(row, "per", get_args(Per), "wound")),
        earliest_days=earliest,
        due_days=due,
        latest_days=latest,
        every_days=every,
        times_a_day=row.number("times_a_day", 1.0, least=1, most=24),
        until_days=until,
        ordered=ordered,
        when=_conditions(row, "when"),
        unless=_conditions(row, "unless"),
        done_by=_done_by(row),
        early=row.flag("early", default=False),
        exclusive=row.flag("exclusive", default=False),
        fallback=row.flag("fallback", default=False),
        told=row.flag("told", default=False),
        lapses=row.flag("lapses", default=False),
        urgency=Urgency(
            _choice(row, "urgency", tuple(u.value for u in Urgency), Urgency.NEXT_VISIT.value)
        ),
        source=row.source(),
        note=row.text("note", ""),
    )


def _removal(row: Row) -> RemovalWords:
    kinds = ("", *(k.value for k in VisitKind))
    kind = _choice(row, "visit_kind", kinds, "")
    return RemovalWords(
        event=_choice(row, "event", EVIDENCE),
        words=row.texts("words"),
        but_not=row.texts("but_not", ()),
        visit_kind=VisitKind(kind) if kind else None,
        source=row.source(),
    )


def _once(rows: tuple[Row, ...]) -> tuple[Row, ...]:
    seen: set[str] = set()
    for row in rows:
        if row.text("id") in seen:
            raise row.error("id", "this id stands twice")
        seen.add(row.text("id"))
    return rows


def read_rules(table: Table) -> Rules:
    """Read and validate a table of rules; KnowledgeError names file, row and field."""
    return Rules(
        rules=tuple(_rule(r) for r in _once(table.rows("rule"))),
        removals=tuple(_removal(r) for r in table.rows("removal")),
        drug_classes=tuple(
            DrugClass(r.text("name"), r.texts("drugs"), r.source())
            for r in table.rows("drug_class")
        ),
        tetanus=load_tetanus(),
    )


def merged(shipped: Table, own: Table) -> Table:
    """Give the shipped table with the practice's rows merged in by id; a changed row says so.

    A row of `own` names only what it changes; `off = true` leaves the rule out.
    """
    rows = {str(r.data.get("id")): dict(r.data) for r in shipped.rows("rule")}
    for row in own.rows("rule"):
        rule_id = row.text("id")
        before = rows.pop(rule_id, None)
        if row.flag("off", default=False):
            if before is None:
                raise row.error("off", "there is no such rule to leave out")
            continue
        change = {k: v for k, v in row.data.items() if k != "off"}
        if before is not None and "source" not in change:
            change["source"] = f"set by the practice (shipped: {before['source']})"
        rows[rule_id] = {"source": "set by the practice"} | (before or {}) | change
    data = {**shipped.data, "rule": list(rows.values())}
    return Table(own.file, data)


@cache
def load_rules() -> Rules:
    """Give the shipped rules, read and validated once."""
    return read_rules(shipped_table(FILE))


def practice_rules(own: Table) -> Rules:
    """Give the shipped rules with the practice's own rows merged in; KnowledgeError as above."""
    if "rule" not in own.data:
        raise KnowledgeError(f"{own.file}: [[rule]] must be a list of tables")
    return read_rules(merged(shipped_table(FILE), own))
