"""What both visit forms ask: state of the animal, what is exposed, food chain, own limits."""

from __future__ import annotations

import pytest

from fieldnotes.domain.entries import HorseSet
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.patients import FoodChain, Species, Tetanus, TetanusHistory
from fieldnotes.domain.wounds import SynovialEntry
from fieldnotes.tui.forms.first_visit import FirstVisit
from fieldnotes.tui.forms.recheck import Recheck


@pytest.fixture
def desk(desk_and_drafts):
    return desk_and_drafts[0]


def bramble(desk, **changes):
    """Bramble as the register has it, changed and saved."""
    from dataclasses import replace

    horse = next(h for h in desk.register().horses.values() if h.name == "Bramble")
    if changes:
        desk.save(HorseSet(replace(horse, **changes)))
    return horse


def first(desk, **changes) -> dict[str, str]:
    horse = bramble(desk, **changes)
    return {"horse": horse.id, "wounds.A.region": "left.hind.metatarsus.dorsal"}


def keys(form, answers):
    return {f.key: f for p in form.panes(answers) for f in p.fields}


def a_ref(desk):
    return next(c.ref for c in desk.find_cases(status="open") if c.horse == "Bramble")


def messages(form, answers):
    return " ".join(p.message for p in form.problems(answers))


# UK data sheets, phenylbutazone; UK SPC, meloxicam, 2021: not in shock or blood loss.
def test_shock_ticked_at_the_visit_refuses_a_painkiller_without_a_reason(desk):
    form = FirstVisit(desk)
    answers = first(desk) | {"drug.1.drug": "flunixin"}
    assert form.problems(answers) == ()
    shocked = answers | {"conditions": "shock"}
    assert "hypovolaemic" in messages(form, shocked)
    assert form.problems(shocked | {"drug.1.reason": "fluids running"}) == ()
    saved = form.save(shocked | {"drug.1.reason": "fluids running"})
    assert desk.case(saved.ref).visits[0].body.conditions == ("shock",)


def test_hydration_is_asked_until_it_was_once_found_good(desk):
    ref = a_ref(desk)
    assert "vitals.hydration" in keys(Recheck(desk, ref), {})
    Recheck(desk, ref).save({"vitals.hydration": "good"})
    assert "vitals.hydration" not in keys(Recheck(desk, ref), {})


# 21 CFR 530.41 and 520.1720; BEVA guidance on medicines and passports.
def test_at_a_first_visit_the_food_chain_is_left_with_consent_and_the_documents_date(desk):
    answers = first(desk, food_chain=FoodChain.INTENDED) | {
        "drug.1.drug": "phenylbutazone",
        "drug.1.reason": "the flunixin of before has worn off",
    }
    form = FirstVisit(desk)
    assert "food-chain change" in messages(form, answers)
    signed = answers | {"food.out": "yes"}
    assert {p.field for p in form.problems(signed)} == {"food.by", "food.document"}
    saved = form.save(signed | {"food.by": "the owner", "food.document": "today"})
    [consent] = [c.body for c in desk.case(saved.ref).consents]
    assert (consent.by, consent.document_on) == ("the owner", desk.today())
    assert desk.register().horses[answers["horse"]].food_chain is FoodChain.EXCLUDED
    assert "food.out" not in keys(FirstVisit(desk), answers)


def test_what_is_normal_for_a_donkey_is_typed_once_and_kept_with_it(desk):
    answers = first(desk, species=Species.DONKEY)
    form = FirstVisit(desk)
    assert {p.field for p in form.problems(answers | {"normal.temperature_c": "38-36"})} == {
        "normal.temperature_c"
    }
    hot = answers | {"normal.temperature_c": "36.5-37.8", "vitals.temperature_c": "39"}
    assert any("39 C is high" in c.message for c in form.outlook(hot).cautions)
    form.save(hot)
    assert keys(FirstVisit(desk), answers)["normal.temperature_c"].default == "36.5-37.8"


def test_a_new_weight_is_what_the_dose_is_checked_against(desk):
    answers = first(desk) | {"weight_kg": "300", "weight_by": "scale", "drug.1.drug": "flunixin"}
    assert FirstVisit(desk).problems(answers) == ()


def test_the_review_says_how_the_horse_stands_with_tetanus(desk):
    def said(**known):
        answers = first(desk, tetanus=Tetanus(**known))
        return next(x for x in FirstVisit(desk).outlook(answers).lines if x.startswith("Tetanus: "))

    assert said().startswith("Tetanus: history unknown; give tetanus toxoid and antitoxin")
    today = desk.today()
    finished = said(history=TetanusHistory.DATED, last=today, finished=True)
    assert finished == f"Tetanus: last dose {today:%d %b %Y}; nothing is due"
    once = said(history=TetanusHistory.DATED, last=today, finished=False)
    assert "the first of a course only; give tetanus" in once


def test_doses_that_differ_only_in_rounding_are_one_line(desk):
    # 21 CFR 522.970: 0.5 mg/lb is 1.1 mg/kg; 1 mL of 50 mg/mL to 45 kg is 1.11 mg/kg.
    answers = first(desk) | {"drug.1.drug": "flunixin"}
    field = keys(FirstVisit(desk), answers)["drug.1.dose"]
    ways = [o.words.split()[0] for o in field.given if "mg/kg" in o.words]
    assert ways == ["IV", "IM", "PO"]
    kept = keys(FirstVisit(desk), answers | {"drug.1.dose": "2"})["drug.1.dose"]
    assert "2" in {o.id for o in kept.given}


def test_an_open_case_of_the_horse_is_named_and_offered(desk):
    form, ref = FirstVisit(desk), a_ref(desk)
    horse = bramble(desk).id
    assert ref in keys(form, {})["horse"].echo(horse)
    assert form.instead({"horse": horse}) == ("recheck", ref)
    assert form.instead({}) is None


def test_a_recheck_records_what_is_exposed_and_carries_it_to_the_next(desk):
    ref = a_ref(desk)
    Recheck(desk, ref).save({"findings.A.size": "6x2", "findings.A.exposed": "tendon"})
    field = keys(Recheck(desk, ref), {"findings.A.size": "5x2"})["findings.A.exposed"]
    assert (field.default, field.echo(field.default)) == ("tendon", "as before")


# Clinical rule of this project (issue 4, 11); The Veterinary Care of the Horse, p. 384.
def test_another_antibiotic_waits_until_the_infection_under_the_first_was_looked_into(desk):
    ref = a_ref(desk)
    begun = {"drug.1.drug": "procaine-penicillin", "drug.1.use": "left", "drug.1.days": "10",
             "drug.1.interval_h": "12", "drug.1.reason": "owner trained"}  # fmt: skip
    Recheck(desk, ref).save(begun | {"at": "4h"})
    form = Recheck(desk, ref)
    change = {
        "findings.A.size": "6x2",
        "findings.A.infection_signs": "heat",
        "drug.1.drug": "gentamicin",
        "drug.1.reason": "no answer to the first",
    }
    said = messages(form, change)
    for missing in ("synovial entry of A", "exploration or radiographs of A", "culture of A"):
        assert missing in said
    looked = {
        "findings.A.synovial_entry": SynovialEntry.EXCLUDED.value,
        "care.A.exploration": "no foreign body, no bone",
        "care.A.culture": "swab sent",
    }
    assert form.problems(change | looked) == ()


@pytest.mark.parametrize(("typed", "fault"), [("21101", "6 units"), ("211013", "0 to 2"),
                                              ("2x1012", "six figures")])  # fmt: skip
def test_a_grimace_entry_that_cannot_be_is_refused(desk, typed, fault):
    """Dalla Costa et al., Horse Grimace Scale, 2014: six units, each 0 to 2."""
    form, answers = FirstVisit(desk), first(desk)
    assert fault in messages(form, answers | {"vitals.grimace": typed})
    assert keys(form, answers)["vitals.grimace"].echo("2 1 1 0 1 2") == "7 of 12"


def test_fluid_from_a_joint_is_judged_in_the_units_of_the_laboratory(desk):
    """The Veterinary Care of the Horse, p. 384: over 30 x 10^9/l, 90 % and 40 g/l is septic."""
    p = "care.A.synovial_tests.0."
    fluid = {
        "findings.A.synovial_entry": "suspected",
        f"{p}structure": "fetlock",
        f"{p}cells_per_nl": "32000 /ul",
        f"{p}neutrophils_percent": "92",
        f"{p}protein_g_per_l": "4.5 g/dl",
    }
    form, answers = FirstVisit(desk), first(desk) | fluid
    assert any("septic" in c.message for c in form.outlook(answers).cautions)
    [test] = desk.case(form.save(answers).ref).visits[0].body.care[0].synovial_tests
    assert (test.cells_per_nl, test.protein_g_per_l) == (32.0, 45.0)


def test_one_key_goes_from_a_new_case_to_a_recheck_of_the_open_one(app, desk, monkeypatch):
    import asyncio

    from keys import Keys
    from shots import screen_text

    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "cases")

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("n")
            await keys.type("bra")
            await keys.press("enter")
            assert "open: F6 recheck" in screen_text(app)
            await keys.press("f6")
            assert "Recheck: Bramble" in screen_text(app)

    asyncio.run(go())


@pytest.mark.parametrize("urgency", ["now", "same day", "next visit"])
def test_what_an_owner_reports_moves_the_plan_by_its_urgency(desk, urgency):
    """Practice default of this project: each answer to how soon is a task with a window."""
    from fieldnotes.tui.forms.report import Report

    ref = a_ref(desk)
    sign = {"now": "bleeding", "same day": "bandage slipped", "next visit": "proud flesh"}[urgency]
    field = f"signs.{urgency.replace(' ', '_')}"
    Report(desk, ref).save({"text": "by phone", field: sign, "urgency": urgency})
    [task] = [t for t in desk.file(ref).plan if t.rule.startswith("report-")]
    assert task.urgency.value == urgency
    assert task.due == desk.today() or urgency == "next visit"
    assert sign in task.reason
    assert task.source
    Recheck(desk, ref).save({"care.A.clipped": "yes"})
    assert any(t.rule.startswith("report-") for t in desk.file(ref).plan)


def test_what_the_owner_could_not_tell_is_asked_again(desk):
    """Practice default of this project: in doubt it is seen the same day."""
    from fieldnotes.tui.forms.report import Report

    form = Report(desk, a_ref(desk))
    lines = form.outlook({"text": "not sure", "unclear": "bleeding"}).lines
    assert any("ask again: Is blood still running" in line for line in lines)
    assert lines[0].startswith("same day")
    assert keys(form, {"text": "x", "unclear": "bleeding"})["urgency"].default == "same day"


def test_a_report_judged_the_same_day_is_not_made_later_by_a_stray_letter(desk):
    from fieldnotes.tui.forms.report import Report

    ref = a_ref(desk)
    form = Report(desk, ref)
    typed = {"text": "by phone", "signs.same_day": "bandage slipped", "urgency": "next visit"}
    (problem,) = form.problems(typed)
    assert (problem.field, "same day, because" in problem.message) == ("urgency", True)
    with pytest.raises(RefusedInputError, match="lower than judged"):
        form.save(typed)
    reasoned = typed | {"decision": "put back at my visit an hour ago"}
    (caution,) = form.outlook(reasoned).cautions
    assert caution.message.startswith("lower than judged: same day, because bandage slipped")
    assert form.save(reasoned)
    assert not form.problems(typed | {"urgency": "now"})
