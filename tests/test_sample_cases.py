"""The sample practice: read as it ships, sound in its figures, and a full day whatever today is."""

from __future__ import annotations

import datetime as dt
import json
import re
from functools import cache
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import pytest

from fieldnotes.cli.main import main
from fieldnotes.domain.cases import Case, fold
from fieldnotes.domain.entries import Entry, Outcome, ReferralState
from fieldnotes.domain.followups import Doer, State
from fieldnotes.domain.patients import FoodChain, Species, TetanusHistory
from fieldnotes.domain.register import Register, fold_register
from fieldnotes.domain.treatment import ClosureMethod, DeviceKind
from fieldnotes.domain.wounds import Phase, WoundKind
from fieldnotes.knowledge.bodymap import load_view, region_at
from fieldnotes.knowledge.drugs import load_drugs
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.knowledge.rules import load_rules
from fieldnotes.planning.followups import plan
from fieldnotes.resources import root
from fieldnotes.storage.import_checks import check_imports
from fieldnotes.storage.import_references import bound
from fieldnotes.storage.import_schema import import_schema
from fieldnotes.storage.importing import ImportFile, read_import

if TYPE_CHECKING:
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.treatment import DrugDispensed, DrugGiven

ZONE = ZoneInfo("Europe/London")
A_WEEK = [dt.date(2026, 3, 2) + dt.timedelta(days=n) for n in range(7)]
ODD_DAYS = [dt.date(2028, 2, 29), dt.date(2026, 3, 29), dt.date(2026, 10, 25), dt.date(2027, 1, 1)]


@cache
def texts() -> dict[str, bytes]:
    folder = root("sample_cases")
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.name.endswith(".json")}


@cache
def files(today: dt.date) -> tuple[ImportFile, ...]:
    regions = load_regions()
    return tuple(read_import(d, n, today, ZONE, regions) for n, d in sorted(texts().items()))


def entries(found: ImportFile) -> list[Entry]:
    ids = [f"d-{n:04d}" for n in range(1, len(found.entries) + 1)]
    return [
        Entry(ids[n], "d", n, n, e.at, e.author, found.case, bound(e.body, ids), "", "")
        for n, e in enumerate(found.entries)
    ]


@cache
def register(today: dt.date) -> Register:
    return fold_register(e for f in files(today) if not f.case for e in entries(f))


@cache
def cases(today: dt.date) -> tuple[Case, ...]:
    return tuple(fold(f.case, entries(f)) for f in files(today) if f.case)


def tasks(today: dt.date) -> list[FollowUp]:
    known = register(today)
    assert known.practice is not None
    return [
        task
        for case in cases(today)
        for task in plan(
            case,
            known.horses[case.opened.horse],
            load_regions(),
            load_rules(),
            known.practice,
            today,
        )
    ]


@pytest.mark.parametrize("today", [*A_WEEK, *ODD_DAYS])
def test_the_files_are_read_on_any_day(today):
    check_imports(Register(), files(today))


def test_the_practice_is_as_large_as_the_demo_needs():
    known = register(A_WEEK[0])
    assert len(known.owners) >= 12
    assert len(known.premises) >= 10
    assert len(known.horses) >= 18
    assert len(cases(A_WEEK[0])) >= 20
    assert [p.role.value for p in known.people.values()] == ["vet", "vet", "nurse"]
    assert sum(p.position is None for p in known.premises.values()) == 1
    assert any(p.hours for p in known.premises.values())
    assert any(not o.email for o in known.owners.values())
    owners = {(h.premises, h.parties[0].owner) for h in known.horses.values()}
    assert len({o for place, o in owners if place == "millbeck"}) == 2
    refs = {c.ref[:3] for c in cases(A_WEEK[0])}
    assert len(refs) == len(cases(A_WEEK[0]))


def test_the_animals_are_of_every_sort_the_trade_must_tell_apart():
    horses = register(A_WEEK[0]).horses.values()
    assert {h.species for h in horses} >= {Species.HORSE, Species.DONKEY, Species.MULE}
    assert {h.build for h in horses} >= {"adult", "pony", "draft", "foal", "donkey"}
    assert {h.tetanus.history for h in horses} == set(TetanusHistory)
    assert FoodChain.INTENDED in {h.food_chain for h in horses}
    assert any(h.competes for h in horses)
    assert any(h.foaling_due for h in horses)
    assert any(h.lactating for h in horses)
    assert any(h.weight() is None for h in horses)
    assert any(h.allergies for h in horses)


def test_every_stage_of_a_wound_is_there():
    found = cases(A_WEEK[0])
    assert {c.status.value for c in found} == {"open", "healed", "discharged", "died"}
    assert any(c.on_hold for c in found)
    assert {c.referred for c in found} >= {ReferralState.ACCEPTED, ReferralState.RETURNED}
    assert any(len(c.wounds) == 2 for c in found)
    last = [f for c in found for w in c.wounds for _, f in c.findings(w.label)[-1:]]
    assert {f.phase for f in last} == set(Phase)
    assert any(f.infection_signs for f in last)
    assert any(f.tract for f in last)
    assert {f.granulation_grade for f in last} >= {0, 1, 2}
    care = [k for c in found for w in c.wounds for _, k in c.care(w.label)]
    assert {k.closure.method for k in care if k.closure} >= set(ClosureMethod) - {
        ClosureMethod.SECONDARY
    }
    assert {d.kind for k in care for d in k.placed} == set(DeviceKind)
    assert any(k.granulation_trimmed for k in care)
    assert WoundKind.DEGLOVING in {w.kind for c in found for w in c.wounds}
    outcomes = {o.body.outcome for c in found for o in c.outcomes}
    assert outcomes >= {Outcome.DONE, Outcome.MOVED, Outcome.MISSED}
    assert any(c.amendments for c in found)


def test_limb_wounds_left_open_grow_before_they_shrink():
    """Wilmink et al., wounds in horses and ponies, Equine Vet J, 1999: retraction for two weeks."""
    grown = []
    for case in cases(A_WEEK[0]):
        for wound in case.wounds:
            region = load_regions().get(wound.region).cls
            sizes = [
                ((when - case.opened.injured_at).days, f.length_mm * f.width_mm)
                for when, f in case.findings(wound.label)
                if f.length_mm and f.width_mm
            ]
            closed = any(
                c.closure and c.closure.method is not ClosureMethod.SECOND_INTENTION
                for _, c in case.care(wound.label)[:2]
            )
            if region.group == "distal limb" and not closed and sizes[-1][0] > 14:
                first = sizes[0][1]
                peak = max(size for day, size in sizes if day <= 25)
                assert 1 < peak / first <= 2.5, case.ref
                grown.append(case.ref)
    assert len(grown) >= 6


def test_every_wound_has_its_exact_point_inside_its_region():
    wounds = [w for c in cases(A_WEEK[0]) for w in c.wounds]
    for wound in wounds:
        assert wound.point is not None
        view = load_view(wound.view)
        assert region_at(view, wound.point.x_cm, wound.point.y_cm) == wound.region


def drugs() -> list[tuple[str, float | None, DrugGiven | DrugDispensed]]:
    today = A_WEEK[0]
    found: list[tuple[str, float | None, DrugGiven | DrugDispensed]] = []
    for case in cases(today):
        weight = register(today).horses[case.opened.horse].weight()
        for visit in case.visits:
            both = (*visit.body.given, *visit.body.dispensed)
            found += [(case.ref, weight.kg if weight else None, drug) for drug in both]
    return found


def test_doses_fit_the_weight_the_strength_and_the_volume():
    for ref, kg, drug in drugs():
        where = f"{ref} {drug.name}"
        assert drug.batch, where
        assert drug.expiry, where
        if drug.per_kg is not None and kg:
            assert drug.amount == pytest.approx(drug.per_kg * kg, rel=0.001), where
        strength = re.fullmatch(r"([\d,]+) (mg|IU)/mL", drug.strength)
        volume = getattr(drug, "volume_ml", None)
        if strength and volume:
            per_ml = float(strength[1].replace(",", ""))
            assert drug.amount == pytest.approx(volume * per_ml, rel=0.001), where


def test_drug_names_are_those_of_the_formulary():
    known = {d.id for d in load_drugs()}
    assert {drug.drug for _, _, drug in drugs()} <= known


def test_phones_and_addresses_are_from_the_ranges_kept_for_fiction():
    """Ofcom, Telephone numbers for drama use; RFC 2606 reserves example.org."""
    whole = b"".join(texts().values()).decode()
    for phone in re.findall(r"\b0\d{4} ?\d{6}\b", whole):
        assert re.fullmatch(r"01632 960\d{3}|07700 900\d{3}", phone), phone
    for mail in re.findall(r"[\w-]+@[a-z][\w-]*\.[\w.-]+", whole):
        assert mail.endswith(("@example.org", ".example.org")), mail
    known = register(A_WEEK[0])
    for name in [r.name for r in (*known.horses.values(), *known.owners.values())]:
        assert all(part.isalpha() for part in name.split()), name


@pytest.mark.parametrize("today", A_WEEK)
def test_today_has_a_full_round_with_some_overdue_and_more_to_come(today):
    by_vet = [t for t in tasks(today) if t.by is Doer.VET]
    now = [t for t in by_vet if t.state(today) is not State.COMING]
    assert 8 <= len({t.premises for t in now}) <= 12
    overdue = {t.case for t in now if t.state(today) is State.OVERDUE}
    assert 2 <= len(overdue) <= 4
    soon = [t for t in by_vet if t.state(today) is State.COMING and (t.due - today).days <= 7]
    assert len({t.case for t in soon}) >= 5
    doing = {t.rule for t in now}
    assert doing >= {"drain-out", "sutures-out-limb", "bandage-cast-off", "recheck-granulating"}


@pytest.mark.parametrize("today", [A_WEEK[0], A_WEEK[6]])
def test_the_round_fits_between_half_past_seven_and_six(today, tmp_path, capsys):
    now = ["--now", f"{today}T07:00:00+00:00"]
    assert main([*now, "demo", "--no-open", "--dir", str(tmp_path / "store")]) == 0
    capsys.readouterr()
    assert main(["--data", str(tmp_path / "store"), *now, "route", "--json"]) == 0
    route = json.loads(capsys.readouterr().out)
    assert len(route["stops"]) >= 8
    assert dt.datetime.fromisoformat(route["finish"]).time() <= dt.time(18)
    assert all(stop["late_min"] == 0 for stop in route["stops"])
    assert [u["premises"] for u in route["unreached"]] == ["Pike End"]


KINDS = {
    "object": dict,
    "array": list,
    "string": str,
    "number": int | float,
    "integer": int,
    "boolean": bool,
    "null": type(None),
}


def faults(value: Any, schema: dict[str, Any], defs: dict[str, Any]) -> str:
    """Check the part of JSON Schema 2020-12 that the import schema uses; empty if all is well."""
    if "$ref" in schema:
        schema = defs[schema["$ref"].removeprefix("#/$defs/")]
    for word in {"oneOf", "anyOf"} & schema.keys():
        told = [faults(value, s, defs) for s in schema[word]]
        if told.count("") != 1:
            return f"{word}: {told}"
    return of_value(value, schema) or within(value, schema, defs)


def of_value(value: Any, schema: dict[str, Any]) -> str:
    kind = schema.get("type")
    if kind and not (
        isinstance(value, KINDS[kind]) and isinstance(value, bool) <= (kind == "boolean")
    ):
        return f"{value!r} is no {kind}"
    if value != schema.get("const", value) or value not in schema.get("enum", [value]):
        return f"{value!r} is not allowed"
    if "pattern" in schema and not re.search(schema["pattern"], value):
        return f"{value!r} does not match"
    return ""


def within(value: Any, schema: dict[str, Any], defs: dict[str, Any]) -> str:
    inner: list[tuple[Any, dict[str, Any]]] = []
    if isinstance(value, dict):
        fields = schema.get("properties", {})
        missing = [n for n in schema.get("required", ()) if n not in value]
        unknown = [n for n in value if n not in fields]
        if missing or (unknown and schema.get("additionalProperties") is False):
            return f"missing {missing}, unknown {unknown}"
        inner = [(v, fields.get(n, {})) for n, v in value.items()]
    elif isinstance(value, list):
        first = schema.get("prefixItems", [])
        rest = schema.get("items", {})
        if rest is False and len(value) != len(first):
            return f"{value!r} has not {len(first)} parts"
        inner = list(zip(value, [*first, *[rest] * (len(value) - len(first))], strict=True))
    return next(filter(None, (faults(v, s, defs) for v, s in inner)), "")


def test_the_schema_takes_every_file_and_not_just_anything():
    schema = import_schema()
    for name, data in texts().items():
        document = json.loads(data)
        assert faults(document, schema, schema["$defs"]) == "", name
        document["entries"][-1]["body"]["hors"] = 1
        assert faults(document, schema, schema["$defs"]), name
