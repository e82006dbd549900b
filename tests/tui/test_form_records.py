"""What the forms' answers become: the wound's place, bandage, weight, doses and the plan."""

from __future__ import annotations

import asyncio
import datetime as dt

import pytest
from keys import Keys
from shots import screen_text

from fieldnotes.domain.anatomy import MapPoint
from fieldnotes.domain.errors import StoreError
from fieldnotes.domain.patients import WeightMethod
from fieldnotes.tui.app import FieldnotesApp
from fieldnotes.tui.forms.first_visit import FirstVisit
from fieldnotes.tui.forms.recheck import Recheck
from fieldnotes.tui.screens.map import MapScreen

REGION = "left.hind.metatarsus.dorsal"


@pytest.fixture
def desk(desk_and_drafts):
    return desk_and_drafts[0]


@pytest.fixture
def bramble(desk):
    return next(h for h in desk.register().horses.values() if h.name == "Bramble")


@pytest.fixture
def answers(bramble) -> dict[str, str]:
    return {
        "horse": bramble.id,
        "injured_at": "3h",
        "wounds.A.region": REGION,
        "findings.A.size": "8x3",
    }


def shown_on_map(key: str = "left", x: float = 231.2, y: float = 37.5) -> str:
    return f"{REGION}@{key} {x:.2f} {y:.2f} 30"


def only_wound(desk, saved):
    [wound] = desk.case(saved.ref).wounds
    return wound


def test_the_exact_point_on_the_map_goes_into_the_record(desk, answers):
    form = FirstVisit(desk)
    saved = form.save({**answers, "wounds.A.region": shown_on_map("left.hind-dorsal")})
    wound = only_wound(desk, saved)
    assert (wound.region, wound.view) == (REGION, "left.hind-dorsal")
    assert (wound.point, wound.angle_deg) == (MapPoint(231.2, 37.5), 30.0)


def test_a_region_found_by_name_claims_no_exact_point(desk, answers):
    wound = only_wound(desk, FirstVisit(desk).save(answers))
    assert (wound.view, wound.point) == ("", None)


def test_the_layers_are_suggested_from_the_skin_outward_and_can_be_left_out(desk, answers):
    answers["care.A.bandage"] = "distal limb"
    form = FirstVisit(desk)
    page = next(p for p in form.panes(answers) if p.id == "bandage-A")
    layers = [f for f in page.fields if ".layer." in f.key]
    roles = [f.key.rpartition(".")[2] for f in layers]
    assert roles == ["dressing", "retention", "padding", "compression", "outer", "seal"]
    answers |= {"care.A.layer.dressing": "foam", "care.A.layer.seal": "", "care.A.every": "2"}
    case = desk.case(form.save(answers).ref)
    bandage = case.visits[0].body.care[0].bandage
    assert [x.role for x in bandage.layers] == roles[:-1]
    assert bandage.layers[0].material == "foam"


def test_the_dressing_suggested_follows_the_wound(desk, answers):
    answers["care.A.bandage"] = "distal limb"

    def suggested(**more: str) -> str:
        panes = FirstVisit(desk).panes({**answers, **more})
        fields = next(p for p in panes if p.id == "bandage-A").fields
        return fields[0].default

    assert suggested() != suggested(**{"findings.A.exposed": "bone"})


def test_a_weight_typed_in_a_visit_is_kept_with_the_horse(desk, answers, bramble):
    answers |= {"weight_kg": "512", "weight_by": "scale"}
    form = FirstVisit(desk)
    assert "512 kg (scale) kept with Bramble" in form.aside(answers)
    form.save(answers)
    weight = desk.register().horses[bramble.id].weight()
    assert (weight.kg, weight.method, weight.on) == (512.0, WeightMethod.SCALE, desk.today())
    assert weight not in bramble.weights


def test_a_weight_left_as_known_is_not_taken_again(desk, answers, bramble):
    FirstVisit(desk).save(answers)
    assert desk.register().horses[bramble.id].weights == bramble.weights


def test_the_review_shows_the_plan_the_save_then_makes(desk, answers):
    form = FirstVisit(desk)
    answers |= {"care.A.closure": "primary closure", "care.A.placed": "drain"}
    assert form.problems(answers) == ()
    *lines, tetanus = form.outlook(answers).lines
    assert "tetanus" in tetanus.casefold()
    plan = desk.file(form.save(answers).ref).plan
    assert len(lines) == len(plan)
    assert all(t.what[:30] in line for t, line in zip(plan, lines, strict=True))
    assert any("drain" in line for line in lines)


def test_a_recheck_shows_its_plan_before_it_is_saved(desk):
    ref = next(c.ref for c in desk.find_cases(status="open") if c.horse == "Bramble")
    form = Recheck(desk, ref)
    assert form.problems({}) == ()
    assert form.outlook({}).lines


def test_two_painkillers_of_one_kind_need_a_reason_at_the_drug(desk, answers):
    answers |= {"drug.1.drug": "flunixin", "drug.2.drug": "phenylbutazone"}
    form = FirstVisit(desk)
    found = {p.field for p in form.problems(answers)}
    assert found & {"drug.1.reason", "drug.2.reason"}
    assert form.outlook(answers).cautions is not None
    for field in found:
        answers[field] = "changed over; washed out"
    assert form.problems(answers) == ()


def test_a_dose_over_its_limit_needs_a_reason_at_the_drug(desk, answers):
    answers |= {"drug.1.drug": "flunixin", "drug.1.amount": "6000"}
    form = FirstVisit(desk)
    assert "drug.1.reason" in {p.field for p in form.problems(answers)}
    answers["drug.1.reason"] = "on purpose"
    assert form.problems(answers) == ()


def test_an_amount_is_taken_in_ml_by_the_strength_of_the_dose_chosen(desk, answers):
    # 21 CFR 522.970: flunixin injection of 50 mg per mL
    answers |= {"weight_kg": "560", "drug.1.drug": "flunixin", "drug.1.amount": "13 mL"}
    form = FirstVisit(desk)
    (field,) = [f for p in form.panes(answers) for f in p.fields if f.key == "drug.1.amount"]
    assert field.echo("13 mL") == "650 mg, at 50 mg/mL"
    (given,) = desk.case(form.save(answers).ref).visits[0].body.given
    assert (given.amount, given.volume_ml) == (650.0, 13.0)
    paste = answers | {"drug.1.use": "left"}
    told = {p.field: p.message for p in form.problems(paste)}
    assert told["drug.1.amount"] == "its strength per mL is not known: type mg"


@pytest.mark.parametrize("weight", ["560", ""])
def test_a_drug_left_with_the_owner_goes_by_mouth_first(desk, answers, weight):
    # 21 CFR 520.970b: flunixin paste by mouth; 522.970: injection, IV or IM
    answers |= {"weight_kg": weight, "drug.1.drug": "flunixin", "drug.1.use": "left"}
    answers |= {"drug.1.amount": "620", "drug.1.interval_h": "24", "drug.1.days": "3"}
    form = FirstVisit(desk)
    assert form.problems(answers) == ()
    visit = desk.case(form.save(answers).ref).visits[0].body
    assert [d.route for d in visit.dispensed] == ["PO"]


def test_a_dose_chosen_stays_the_same_dose_when_the_use_is_changed(desk, answers):
    answers |= {"drug.1.drug": "flunixin", "drug.1.dose": "0"}

    def shown(**more: str) -> str:
        panes = FirstVisit(desk).panes({**answers, **more})
        field = next(f for p in panes for f in p.fields if f.key == "drug.1.dose")
        return field.shown("0")

    assert shown() == shown(**{"drug.1.use": "left"})


def test_an_injection_left_with_the_owner_asks_for_a_reason(desk, answers):
    # common practice: an owner injects only where the vet says so, and why
    answers |= {"drug.1.drug": "procaine-penicillin", "drug.1.use": "left", "drug.1.days": "3"}
    form = FirstVisit(desk)
    reason = next(f for p in form.panes(answers) for f in p.fields if f.key == "drug.1.reason")
    assert "needed" in reason.hint
    assert "drug.1.reason" in {p.field for p in form.problems(answers)}
    answers["drug.1.reason"] = "owner has been shown how; vet 60 km away"
    assert form.problems(answers) == ()


def test_all_that_is_wrong_is_said_at_once_and_each_under_its_field(desk, answers):
    answers |= {
        "wounds.A.region": "left wing",
        "findings.A.size": "big",
        "injured_at": "tomorrow",
        "weight_kg": "5000",
    }
    found = {p.field for p in FirstVisit(desk).problems(answers)}
    assert found == {"wounds.A.region", "findings.A.size", "injured_at", "weight_kg"}


@pytest.mark.parametrize("wrong", [{"at": "5h"}, {"findings.A.size": "400x3"}])
def test_a_visit_before_the_injury_and_a_wound_of_four_metres_are_refused(desk, answers, wrong):
    found = {p.field for p in FirstVisit(desk).problems(answers | wrong)}
    assert found == set(wrong)


def walk(app, steps, size=(80, 24)):
    async def go():
        async with app.run_test(size=size) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            return await steps(keys)

    return asyncio.run(go())


@pytest.fixture
def at_cases(monkeypatch, app):
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "cases")
    return app


def test_a_place_is_chosen_on_the_map_by_search_zoom_arrows_and_mouse(at_cases):
    async def steps(keys):
        await keys.press("n", "pagedown", "f3")
        assert isinstance(keys.app.screen, MapScreen)
        await keys.press("slash")
        await keys.type("rf can dor")
        await keys.press("enter", "plus")
        assert keys.app.screen._map.view_key == "right.fore-dorsal"
        await keys.press("l", "enter")
        form = keys.app.screen
        first = form.answers["wounds.A.region"]
        await keys.press("f3")
        await keys.press("minus")
        rows = enumerate(keys.app.screen._map._layout().regions())
        chest = [(x, y) for y, row in rows for x, region_id in enumerate(row)
                 if region_id == "right.chest.wall"]  # fmt: skip
        await keys.pilot.click("BodyMap", offset=chest[len(chest) // 2])
        await keys.settle()
        return first, form.answers["wounds.A.region"]

    first, second = walk(at_cases, steps, (120, 40))
    assert first.startswith("right.fore.metacarpus.dorsal@right.fore-dorsal ")
    assert second.startswith("right.chest.wall@right ")


def test_a_save_that_fails_keeps_everything_typed(at_cases, desk, bramble, monkeypatch):
    def full_disk(*_args):
        raise StoreError("no space left on the medium")

    monkeypatch.setattr(desk, "open_case", full_disk)

    async def steps(keys):
        await keys.press("n")
        await keys.type("bram")
        await keys.press("enter", "pagedown")
        await keys.type("lh can d")
        await keys.press("enter")
        await keys.free_text("8x3")
        await keys.press("ctrl+s")
        shown = screen_text(keys.app)
        assert "no space left" in shown
        assert "8x3" in shown
        monkeypatch.undo()
        await keys.press("ctrl+s")
        return screen_text(keys.app)

    assert "saved 10:30" in walk(at_cases, steps)


def test_typing_survives_a_resize_to_the_large_and_back(at_cases):
    async def steps(keys):
        await keys.press("n")
        await keys.type("bram")
        await keys.press("enter", "enter")
        await keys.free_text("wire [/] fence")
        for size in ((120, 40), (80, 24)):
            await keys.pilot.resize_terminal(*size)
            await keys.settle()
        return screen_text(keys.app)

    assert "wire [/] fence" in walk(at_cases, steps)


def test_a_first_visit_of_the_demo_asks_nothing_first(desk_and_drafts):
    app = FieldnotesApp(*desk_and_drafts)

    async def steps(keys):
        return len(keys.app.screen_stack)

    assert walk(app, steps) == 1
    assert desk_and_drafts[0].now() > dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
