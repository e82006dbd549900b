"""The formulary: drugs, published regimens, strengths, limits, cautions, each with its source."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

from fieldnotes.domain.errors import UnknownNameError
from fieldnotes.domain.units import KG_PER_LB
from fieldnotes.knowledge.source import (
    FROM_MEMORY,
    Row,
    Table,
    parse_table,
    shipped_table,
    shipped_text,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from fieldnotes.domain.patients import DoseOverride

FILES = (
    "drugs_antimicrobials.toml",
    "drugs_antiinflammatories.toml",
    "drugs_sedatives.toml",
    "drugs_local_anaesthetics.toml",
    "drugs_others.toml",
)
SITES_FILE = "drug_sites.toml"
_T = TypeVar("_T")
_KG = {"kg": 1.0, "lb": KG_PER_LB}


@dataclass(frozen=True)
class Regimen:
    """One published way to give a drug: low and high dose per kg, or a fixed amount.

    `interval_h` None is a single dose or a ceiling; `age_days` None is an adult;
    `changed` says who set it where the practice overrode the published figure, `chosen` who
    goes by it where sources disagree.
    """

    label: str
    route: str
    low: float
    high: float
    per_kg: bool
    interval_h: float | None
    interval_most_h: float | None
    days: float | None
    doses: int | None
    age_days: tuple[int, int] | None
    weight_kg: tuple[float, float] | None
    forms: tuple[str, ...]
    site_ml: float | None
    printed: str
    species: str
    source: str
    changed: str = ""
    chosen: str = ""

    def fits_age(self, age_days: int | None) -> bool:
        """Tell whether it is meant for this age; unknown age counts as adult."""
        if self.age_days is None:
            return True
        return age_days is not None and self.age_days[0] <= age_days <= self.age_days[1]

    @property
    def unsourced(self) -> bool:
        """Whether the figure is from memory and needs the practice's confirmation."""
        return self.source == FROM_MEMORY


@dataclass(frozen=True)
class Strength:
    """One strength on the shelf: amount of drug per mL, g, tablet or the like.

    `changed` says who set it where it is one the practice stocks.
    """

    amount: float
    per: str
    form: str
    routes: tuple[str, ...]
    printed: str
    step: float | None
    pack: float | None
    source: str
    changed: str = ""


@dataclass(frozen=True)
class Limit:
    """A published ceiling; `kind` is one of LIMIT_KINDS."""

    kind: str
    value: float
    route: str
    label: str
    age_days: tuple[int, int] | None
    source: str

    def applies(self, route: str, age_days: int | None) -> bool:
        """Tell whether it holds for a route and an age (unknown age counts as adult)."""
        right_age = self.age_days is None or (
            age_days is not None and self.age_days[0] <= age_days <= self.age_days[1]
        )
        return right_age and self.route in {"", route}


@dataclass(frozen=True)
class Caution:
    """Something to know; `kind` is note, route, pregnancy, foal or food_chain."""

    kind: str
    text: str
    source: str


@dataclass(frozen=True)
class CompetitionTime:
    """A published time in hours; a detection time is not a withdrawal time."""

    hours: float
    most_hours: float
    route: str
    kind: str
    body: str
    source: str


@dataclass(frozen=True)
class Drug:
    """A drug under its generic name; amounts are in `unit` (mg or IU).

    `confirmed` says who of the practice compared the figures with the label; empty: nobody.
    """

    id: str
    name: str
    also: tuple[str, ...]
    classes: tuple[str, ...]
    unit: str
    regimens: tuple[Regimen, ...]
    strengths: tuple[Strength, ...]
    limits: tuple[Limit, ...]
    cautions: tuple[Caution, ...]
    competition: tuple[CompetitionTime, ...]
    source: str
    confirmed: str = ""

    def notes(self, kind: str) -> tuple[Caution, ...]:
        """Give its cautions of one kind."""
        return tuple(c for c in self.cautions if c.kind == kind)


Drugs = tuple[Drug, ...]

LIMIT_KINDS = ("ml_per_site", "ml_total", "total_per_kg", "per_day", "course_days")
CAUTION_KINDS = ("note", "route", "pregnancy", "foal", "food_chain")


def _low_high(row: Row, field: str) -> tuple[float, float]:
    if isinstance(row.data.get(field), list):
        return row.pair(field)
    value = row.number(field, least=0)
    return value, value


def _per(row: Row) -> float:
    """Body weight in kg that the printed dose is for: "1 lb", "50 kg"."""
    number, _, unit = row.text("per", "1 kg").partition(" ")
    if unit not in _KG or not number.isdigit() or int(number) == 0:
        raise row.error("per", "a weight such as '50 kg' or '100 lb' is needed")
    return float(number) * _KG[unit]


def _days(row: Row) -> tuple[int, int] | None:
    if "age_days" not in row.data:
        return None
    low, high = row.pair("age_days")
    return int(low), int(high)


def _regimen(row: Row) -> Regimen:
    per_kg = "fixed" not in row.data
    low, high = _low_high(row, "dose" if per_kg else "fixed")
    if low <= 0:
        raise row.error("dose", "a dose above 0 is needed")
    per = _per(row) if per_kg else 1.0
    interval = _low_high(row, "interval_h") if "interval_h" in row.data else None
    weights = row.pair("weight_lb") if "weight_lb" in row.data else None
    doses = row.number_or_none("doses", least=1)
    return Regimen(
        label=row.text("label"),
        route=row.text("route"),
        low=low / per,
        high=high / per,
        per_kg=per_kg,
        interval_h=interval[0] if interval else None,
        interval_most_h=interval[1] if interval else None,
        days=row.number_or_none("days", least=1),
        doses=None if doses is None else int(doses),
        age_days=_days(row),
        weight_kg=(weights[0] * KG_PER_LB, weights[1] * KG_PER_LB) if weights else None,
        forms=row.texts("forms", ()),
        site_ml=row.number_or_none("site_ml", least=0.1),
        printed=row.text("printed", ""),
        species=row.text("species", "horse"),
        source=row.source(),
    )


def _strength(row: Row) -> Strength:
    per = row.text("per")
    step = None if per in {"mL", "g"} else row.number("step", 1.0, least=0.1)
    return Strength(
        amount=row.number("amount", least=0.001),
        per=per,
        form=row.text("form"),
        routes=row.texts("routes"),
        printed=row.text("printed", ""),
        step=step,
        pack=row.number_or_none("pack", least=0.1),
        source=row.source(),
    )


def _limit(row: Row) -> Limit:
    kind = row.text("kind")
    if kind not in LIMIT_KINDS:
        raise row.error("kind", f"one of {', '.join(LIMIT_KINDS)} is needed")
    return Limit(
        kind=kind,
        value=row.number("value", least=0.1),
        route=row.text("route", ""),
        label=row.text("label"),
        age_days=_days(row),
        source=row.source(),
    )


def _caution(row: Row) -> Caution:
    kind = row.text("kind")
    if kind not in CAUTION_KINDS:
        raise row.error("kind", f"one of {', '.join(CAUTION_KINDS)} is needed")
    return Caution(kind, row.text("text"), row.source())


def _competition(row: Row) -> CompetitionTime:
    hours = row.number("hours", least=1)
    return CompetitionTime(
        hours=hours,
        most_hours=row.number("most_hours", hours, least=hours),
        route=row.text("route", ""),
        kind=row.text("kind"),
        body=row.text("body"),
        source=row.source(),
    )


def _inner(row: Row, field: str, read: Callable[[Row], _T]) -> tuple[_T, ...]:
    if field not in row.data:
        return ()
    inside = Table(f"{row.file}, {row.data.get('id', row.name)}", row.data)
    return tuple(read(r) for r in inside.rows(field))


def _drug(row: Row) -> Drug:
    return Drug(
        id=row.text("id"),
        name=row.text("name"),
        also=row.texts("also", ()),
        classes=row.texts("classes"),
        unit=row.text("unit"),
        regimens=_inner(row, "regimens", _regimen),
        strengths=_inner(row, "strengths", _strength),
        limits=_inner(row, "limits", _limit),
        cautions=_inner(row, "cautions", _caution),
        competition=_inner(row, "competition", _competition),
        source=row.source(),
    )


def _with_general(drug: Drug, general: tuple[Limit, ...]) -> Drug:
    """Add the general limit per IM site where no label of the drug gives one for that age."""
    if not any(r.route == "IM" for r in drug.regimens):
        return drug
    own = {(x.kind, x.route, x.age_days) for x in drug.limits}
    added = tuple(g for g in general if (g.kind, g.route, g.age_days) not in own)
    return replace(drug, limits=drug.limits + added)


def _tables(mention: str) -> tuple[Table, ...]:
    """Read the shipped files that mention a text; parsing all takes longer than a command may."""
    texts = ((f, shipped_text(f)) for f in FILES)
    wanted = _plain(mention)
    return tuple(parse_table(f, text) for f, text in texts if wanted in _plain(text))


def load_drugs(tables: Iterable[Table] | None = None, mention: str = "") -> Drugs:
    """Read the formulary, or only the shipped files that mention a text.

    KnowledgeError names file, row and field of the first fault.
    """
    read = _tables(mention) if tables is None else tuple(tables)
    general = tuple(_limit(r) for r in shipped_table(SITES_FILE).rows("general_limit"))
    drugs = (_drug(row) for table in read for row in table.rows("drug"))
    return tuple(_with_general(d, general) for d in drugs)


def _plain(name: str) -> str:
    return name.casefold().strip().replace("-", " ")


def find_drugs(drugs: Drugs, text: str) -> Drugs:
    """Give the drugs whose id or generic name holds the text; all of them for no text."""
    wanted = _plain(text)
    exact = tuple(d for d in drugs if wanted in {_plain(d.id), _plain(d.name)})
    return exact or tuple(
        d for d in drugs if any(wanted in _plain(name) for name in (d.id, d.name, *d.also))
    )


def one_drug(drugs: Drugs, text: str, field: str = "drug") -> Drug:
    """Give the one drug a text means; UnknownNameError lists what it could mean."""
    found = find_drugs(drugs, text) if text.strip() else ()
    if len(found) == 1:
        return found[0]
    names = tuple(d.name for d in found)
    if not found:
        raise UnknownNameError(field, f"no drug is called '{text}'")
    raise UnknownNameError(field, f"'{text}' fits {', '.join(names)}; write more of it", names)


def _overridden(drug: Drug, own: DoseOverride) -> Drug:
    """Put the practice's dose first; a route without a published dose may be added this way."""
    changed = Regimen(
        label="set by the practice",
        route=own.route,
        low=own.per_kg,
        high=own.per_kg,
        per_kg=True,
        interval_h=own.interval_h,
        interval_most_h=own.interval_h,
        days=None,
        doses=None,
        age_days=None,
        weight_kg=None,
        forms=(),
        site_ml=None,
        printed="",
        species="horse",
        source=f"set by {own.set_by}: {own.reason}",
        changed=own.set_by,
    )
    return replace(drug, regimens=(changed, *drug.regimens))


def with_overrides(drugs: Drugs, overrides: Iterable[DoseOverride]) -> Drugs:
    """Put the practice's doses before the published ones, marked as changed; none is removed."""
    by_id = {d.id: d for d in drugs}
    for own in overrides:
        if own.drug in by_id:
            by_id[own.drug] = _overridden(by_id[own.drug], own)
    return tuple(by_id.values())
