"""The calculators' pages: prefilled from the case, worked out, refused at their place, put in."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from fieldnotes.domain.entries import HorseSet
from fieldnotes.domain.patients import Species, Tetanus, TetanusHistory, Weight, WeightMethod
from fieldnotes.rendering.entry_words import texts_of
from fieldnotes.tui.forms.first_visit import FirstVisit
from fieldnotes.tui.forms.recheck import Recheck
from fieldnotes.tui.forms.reckon_page import work_out
from fieldnotes.tui.forms.reckoning import PAGES, bench_of

PAGE = {p.id: p for p in PAGES}


@pytest.fixture
def desk(desk_and_drafts):
    return desk_and_drafts[0]


def bramble(desk, **changes):
    horse = next(h for h in desk.register().horses.values() if h.name == "Bramble")
    if changes:
        desk.save(HorseSet(replace(horse, **changes)))
    return horse.id


def visit(desk, pane="case", answers=None, **changes):
    """A first visit to Bramble, and what its calculators start from."""
    horse = bramble(desk, **changes)
    form = FirstVisit(desk)
    given = {"horse": horse, "wounds.A.region": "left.hind.metatarsus.dorsal"}
    given |= answers or {}
    return form, given, form.bench(given, pane)


def fields(bench, page, **typed):
    return {f.key: f for f in PAGE[page].fields(bench, typed)}


SAME = {"weight_kg", "per_kg", "volume_ml", "temperature_c"}


def worked(bench, page, **typed):
    """A page worked out; a field written `girth_cm` here is called `girth-cm` there."""
    answers = {k if k in SAME else k.replace("_", "-"): v for k, v in typed.items()}
    return work_out(PAGE[page], bench, answers)


def faults(bench, page, **typed):
    return {p.field: p.message for p in worked(bench, page, **typed).problems}


def text(bench, page, **typed):
    found = worked(bench, page, **typed)
    assert found.reckoned is not None, found.problems
    return "\n".join(found.reckoned.lines)


def put(form, answers, bench, page, **typed):
    """The form's answers with a result put in."""
    return answers | dict(worked(bench, page, **typed).reckoned.into(answers))


# Wagner and Tyler, 2011: girth^2 x length / 11,880; 180 and 160 cm give 436.4 kg.
def test_a_weight_goes_into_the_form_as_whole_kilograms_and_both_figures_are_said(desk):
    weights = (Weight(500.0, WeightMethod.TAPE, dt.date(2026, 1, 3)),)
    form, answers, bench = visit(desk, weights=weights)
    said = text(bench, "weight", girth="180", length="63 in")
    assert "on record: 500 kg (tape, 03 Jan 2026); this is 13 % less" in said
    assert "Wagner and Tyler" in said
    after = put(form, answers, bench, "weight", girth="180", length="160")
    assert (after["weight_kg"], after["weight_by"]) == ("436", "formula")
    assert "taken as 436 kg, rounded from 436.4 kg" in after["reckoned"]
    saved = desk.case(form.save(after).ref)
    assert "11,880" in saved.visits[0].body.reckoned
    assert any("reckoned: weight taken as" in x for x in texts_of(saved.visits[0].body))
    horse = desk.register().horses[answers["horse"]]
    assert (horse.weight().kg, horse.weight().method) == (436.0, WeightMethod.FORMULA)


def test_a_wrong_unit_and_a_missing_measure_are_told_at_their_field(desk):
    bench = visit(desk)[2]
    assert "was it inches?" in faults(bench, "weight", girth="76", length="160")["girth"]
    assert "needed for" in faults(bench, "weight", girth="180")["length"]
    assert "not a number" in faults(bench, "weight", girth="wide", length="160")["girth"]


@pytest.mark.parametrize("species", [Species.MULE, Species.HINNY])
def test_a_mule_has_no_formula(desk, species):
    """Clinical rule of this project: measured or typed, never another species' formula."""
    bench = visit(desk, species=species)[2]
    typed = {"girth": "150", "length": "120"}
    assert "no weight formula is published" in faults(bench, "weight", **typed)["build"]
    assert "build" in faults(bench, "weight", build="donkey", **typed)


def test_a_donkey_starts_from_the_donkeys_formula_and_a_foal_from_its_age(desk):
    assert fields(visit(desk, species=Species.DONKEY)[2], "weight")["build"].default == "donkey"
    born = desk.today() - dt.timedelta(days=20)
    found = fields(visit(desk, born=born, species=Species.HORSE)[2], "weight")
    assert (found["build"].default, found["age-days"].default) == ("foal", "20")


# US label, flunixin 50 mg/mL: 1.1 mg/kg; 500 kg: 550 mg = 11 mL.
def test_a_published_dose_comes_with_volume_formula_and_source_and_fills_the_drugs_page(desk):
    form, answers, bench = visit(desk, "drug-1", {"weight_kg": "500"})
    found = fields(bench, "dose", drug="flunixin")
    assert found["weight_kg"].default == "500"
    said = text(bench, "dose", drug="flunixin")
    assert "550 mg = 11.0 mL (50 mg/mL)" in said
    assert "amount = 1.1 mg/kg x 500 kg" in said
    assert "judgement" in said
    after = put(form, answers, bench, "dose", drug="flunixin", days="3")
    assert form.problems(after) == ()
    [given] = form.build(after).visit.given
    assert (given.drug, given.amount, given.volume_ml, given.route) == ("flunixin", 550, 11, "IV")


def test_a_dose_outside_its_range_waits_for_a_reason_and_takes_it_along(desk):
    form, answers, bench = visit(desk, "drug-1", {"weight_kg": "500"})
    typed = {"drug": "flunixin", "per_kg": "3"}
    assert "above the highest published dose" in faults(bench, "dose", **typed)["reason"]
    assert "11" not in faults(bench, "dose", **typed | {"reason": "endotoxaemia"})
    after = put(form, answers, bench, "dose", **typed, reason="colic surgery")
    assert (after["drug.1.amount"], after["drug.1.reason"]) == ("1500", "colic surgery")
    [given] = form.build(after).visit.given
    assert given.per_kg == pytest.approx(3)


def test_a_missing_weight_withholds_the_volume_and_not_the_note(desk):
    form, answers, bench = visit(desk, "drug-1", weights=())
    assert "no volume is reckoned" in faults(bench, "dose", drug="flunixin")["weight_kg"]
    assert not [
        p for p in form.problems(answers | {"drug.1.drug": "flunixin"}) if "weight" in p.field
    ]
    after = put(form, answers, bench, "dose", drug="flunixin", weight_kg="1102.3 lb")
    assert (after["drug.1.route"], float(after["drug.1.amount"])) == (
        "IV",
        pytest.approx(550, abs=1),
    )


def test_no_horses_dose_is_reckoned_for_a_donkey_until_the_vet_types_one(desk):
    bench = visit(desk, "drug-1", {"weight_kg": "180"}, species=Species.DONKEY)[2]
    assert "none for a donkey" in faults(bench, "dose", drug="flunixin")["per_kg"]
    ways = [o.words for o in fields(bench, "dose", drug="flunixin")["dose"].given]
    assert not any("mg/kg" in words for words in ways)
    assert "198 mg" in text(bench, "dose", drug="flunixin", per_kg="1.1")


def test_a_sedative_spoken_of_in_micrograms_is_read_as_such(desk):
    bench = visit(desk, "drug-1", {"weight_kg": "500"})[2]
    for typed in ("20 ug/kg", "0.02", "20"):
        assert "10 mg" in text(bench, "dose", drug="detomidine", per_kg=typed), typed


# EU label, lidocaine 20 mg/mL: at most 4 mg/kg over all sites, 500 kg: 2000 mg = 100 mL.
def test_local_anaesthetic_adds_what_is_on_record_and_in_this_visit(desk):
    first = {"drug.1.drug": "lidocaine", "drug.1.amount": "1500", "weight_kg": "500"}
    form, answers, bench = visit(desk, "wound-A", first)
    assert (bench.slot, bench.label) == (2, "A")
    said = text(bench, "local", volume_ml="10")
    assert "before this: 1,500 mg" in said
    assert "3.40 mg/kg at 500 kg" in said
    assert "15 mL left" in said
    assert "over 4 mg/kg" in faults(bench, "local", volume_ml="26")["reason"]
    over = worked(bench, "local", volume_ml="26", reason="second wound")
    assert over.problems == ()
    after = put(form, answers, bench, "local", volume_ml="10")
    assert (after["drug.2.drug"], after["drug.2.amount"]) == ("lidocaine", "200")
    assert sum(d.amount for d in form.build(after).visit.given) == 1700
    again = form.bench(after, "drug-2")
    assert "before this: 1,500 mg" in text(again, "local", volume_ml="10")


def test_a_result_never_takes_the_place_of_another_drug(desk):
    first = {"drug.1.drug": "flunixin", "drug.2.drug": "mepivacaine", "drug.2.amount": "200"}
    form, answers, bench = visit(desk, "drug-1", first | {"weight_kg": "500"})
    for page, drug in (("local", "lidocaine"), ("dose", "butorphanol")):
        typed = {"volume_ml": "5", "drug": drug}
        after = put(form, answers, bench, page, **typed)
        assert [after[f"drug.{n}.drug"] for n in (1, 2, 3)] == ["flunixin", "mepivacaine", drug]
    assert "also today: mepivacaine 200 mg" in text(bench, "local", volume_ml="5")


def test_the_anaesthetic_of_the_same_days_visit_counts_too(desk):
    ref = next(c.ref for c in desk.find_cases(status="open") if c.horse == "Bramble")
    given = {"drug.1.drug": "lidocaine", "drug.1.amount": "1000", "at": "1h"}
    Recheck(desk, ref).save(given | {"weight_kg": "500"})
    bench = Recheck(desk, ref).bench({"weight_kg": "500"}, "due")
    assert "before this: 1,000 mg" in text(bench, "local", volume_ml="1")
    assert "before this: 1,000 mg" in text(bench_of(desk, ref), "local", volume_ml="1")


# 0.1 %: Equine Clinical Medicine, Surgery and Reproduction, 2nd ed., p. 1305
def test_a_dilution_fills_an_empty_lavage_and_leaves_a_full_one(desk):
    form, answers, bench = visit(desk, "care-A")
    assert "10 mL stock + 990 mL diluent" in text(bench, "dilution")
    after = put(form, answers, bench, "dilution", final_ml="5 l")
    [care] = form.build(after).visit.care
    assert (care.lavage.fluid, care.lavage.volume_ml) == ("povidone-iodine 0.1 %", 5000)
    full = form.bench(answers | {"care.A.lavage": "saline 1 l"}, "care-A")
    assert "care.A.lavage" not in dict(worked(full, "dilution").reckoned.into({}))
    assert "over the stock" in faults(bench, "dilution", target_percent="20")["target-percent"]
    near = text(bench, "dilution", antiseptic="chlorhexidine")
    assert "joint, sheath or bursa is not excluded" in near


# AAEP adult horse vaccination chart: booster when the last dose is over 6 months ago.
def test_tetanus_starts_from_the_record_and_the_practices_interval(desk):
    history = Tetanus(TetanusHistory.DATED, dt.date(2025, 6, 1))
    form, answers, bench = visit(desk, "animal", {"injured_at": "2026-03-01"}, tetanus=history)
    found = fields(bench, "tetanus")
    assert (found["wounded"].default, found["last"].default) == ("2026-03-01", "2025-06-01")
    assert found["rule-months"].default == str(desk.practice().tetanus_rule_months)
    assert "toxoid: yes" in text(bench, "tetanus", rule_months="6")
    assert "toxoid: no" in text(bench, "tetanus", rule_months="12")
    assert "antitoxin: 1,500 IU" in text(bench, "tetanus", history="never")
    assert "toxoid: yes" in put(form, answers, bench, "tetanus", rule_months="6")["reckoned"]
    assert "after the wound" in faults(bench, "tetanus", last="2026-03-02")["last"]
    assert "needed" in faults(bench, "tetanus", last="")["last"]
    assert "antitoxin: 1,500 IU" in text(bench, "tetanus", course="first")
    begun = replace(history, finished=False)
    assert "antitoxin: 1,500 IU" in text(visit(desk, "animal", tetanus=begun)[2], "tetanus")


# Worked example: girth 20, padding 2.5, height 35, roll 10 cm, half overlap: 7 turns, 250 cm.
def test_bandage_material_puts_girth_and_height_into_the_wounds_bandage(desk):
    form, answers, bench = visit(desk, "care-A")
    assert fields(bench, "bandage")["girth-cm"].default
    typed = {"girth_cm": "20", "height_cm": "35", "padding_cm": "2.5", "passes": "2"}
    assert "length 499.9 cm" in text(bench, "bandage", **typed)
    after = put(form, answers, bench, "bandage", **typed)
    [care] = form.build(after).visit.care
    assert (care.bandage.girth_cm, care.bandage.height_cm) == (20, 35)
    assert "2 roll(s)" in after["reckoned"]
    assert "at most 300" in faults(bench, "bandage", girth_cm="1000")["girth-cm"]


def test_triage_knows_the_cases_painkiller_and_puts_the_urgency_into_the_note(desk):
    ref = next(c.ref for c in desk.find_cases(status="open") if c.horse == "Bramble")
    form = Recheck(desk, ref)
    form.save({"drug.1.drug": "flunixin", "at": "2h", "weight_kg": "500", "drug.1.reason": "pain"})
    bench = Recheck(desk, ref).bench({}, "due")
    calm = {"signs.next_visit": "heat", "gait": "normal", "temperature_c": "37.8"}
    found = work_out(PAGE["triage"], bench, calm)
    assert "normal proves nothing now" in "\n".join(found.reckoned.lines)
    assert "report: to be seen same day" in found.reckoned.note
    hot = work_out(PAGE["triage"], bench, {"temperature_c": "101"})
    assert [p.field for p in hot.problems] == ["temperature_c"]


def test_without_a_case_everything_is_typed_and_nothing_takes_a_result(desk):
    bench = bench_of(desk)
    assert bench.answers is None
    assert {"species", "weight_kg", "drug"} <= set(fields(bench, "dose"))
    assert "11.0 mL" in text(bench, "dose", drug="flunixin", weight_kg="500")
    assert "no weight formula" in faults(bench, "weight", species="mule", girth="150")["build"]
    assert "roll(s)" in text(bench, "bandage", region="left.hind.metatarsus.dorsal")
    assert "signs" in faults(bench, "triage")
    assert (
        "report: to be seen now"
        in work_out(PAGE["triage"], bench, {"signs.now": "bleeding"}).reckoned.note
    )


def test_a_second_result_is_added_to_the_note(desk):
    form, answers, bench = visit(desk)
    after = put(form, answers, bench, "dilution")
    after = put(form, after, form.bench(after, "case"), "weight", girth="180", length="160")
    assert after["reckoned"].count("stock") >= 1
    assert "weight taken as" in after["reckoned"]


def test_a_drug_is_found_by_any_part_of_its_name(desk):
    field = fields(visit(desk)[2], "dose")["drug"]
    parts = {"penicil": "penicillin", "butaz": "phenylbutazone", "LIGNO": "lidocaine",
             "cain": "lidocaine", "procaine pen": "penicillin"}  # fmt: skip
    for part, name in parts.items():
        assert any(name in o.words for o in field.find(part)), part
    assert field.find("zzz") == ()
    assert field.read("flunix") == "flunixin"


@pytest.mark.parametrize("page", PAGE)
def test_whatever_is_typed_is_refused_at_a_field_of_the_page(desk, page):
    first = {"drug": "flunixin"} if page == "dose" else {}
    for bench in (visit(desk, "drug-1", {"weight_kg": "500"})[2], bench_of(desk)):
        for key in [*fields(bench, page, **first), "dose", "per_kg", "kind", "girth-cm"]:
            for text in ("", "x", "-1", "99999999", "0", "2031-01-01"):
                answers = first | {key: text}
                there = PAGE[page].fields(bench, answers)
                for problem in work_out(PAGE[page], bench, answers).problems:
                    assert any(f.answers_for(problem.field) for f in there), (key, text, problem)
