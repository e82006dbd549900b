"""Interaction rules R1-R20, each firing where its source says and silent where not."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from fieldnotes.clinical.interactions import check_treatments
from fieldnotes.clinical.patient_facts import Patient, Treatment
from fieldnotes.domain.errors import KnowledgeError
from fieldnotes.knowledge.drugs import load_drugs
from fieldnotes.knowledge.interactions import load_interactions
from fieldnotes.knowledge.source import parse_table

TABLES = load_interactions()
DRUGS = load_drugs()
DAY0 = dt.datetime(2026, 11, 25, 9, 0, tzinfo=dt.UTC)
SOUND = Patient(
    sex="gelding", age_days=3000, weight_kg=500, hydration="good", food_chain="excluded"
)
MARE = replace(SOUND, sex="mare")


def given(drug, route="IV", hours=0.0, days=0.0, **more):
    """A treatment that starts `hours` after DAY0 and goes on for `days`."""
    start = DAY0 + dt.timedelta(hours=hours)
    return Treatment(drug, route, start, start + dt.timedelta(days=days), **more)


def found(*treatments, patient=SOUND):
    """The rules that hold, with their level."""
    return [(f.rule, f.level) for f in check_treatments(TABLES, DRUGS, patient, tuple(treatments))]


@pytest.mark.parametrize(
    ("hours", "expected"),
    [(0, "block"), (10, "block"), (23.9, "block"), (25, "note")],
)
def test_a_second_nsaid_within_24_h_is_blocked_and_after_25_h_noted(hours, expected):
    # UK data sheets, phenylbutazone; Reed et al., Am J Vet Res 67:398, 2006
    assert ("R1", expected) in found(given("phenylbutazone"), given("flunixin", hours=hours))


def test_an_nsaid_the_owner_gave_yesterday_counts_and_the_order_of_entry_does_not():
    bute = given("phenylbutazone", "PO", -10, given_by="owner")
    assert ("R1", "block") in found(given("flunixin"), bute)
    assert ("R1", "block") in found(bute, given("flunixin"))
    assert found(given("flunixin"), given("phenylbutazone", "PO", -100)) == []


def test_a_second_nsaid_during_the_course_of_the_first_is_blocked():
    assert ("R1", "block") in found(
        given("phenylbutazone", "PO", days=4), given("flunixin", hours=72)
    )


def test_detomidine_today_and_iv_trimethoprim_sulfonamide_are_blocked():
    # UK data sheets, detomidine
    sedated = given("detomidine")
    assert ("R4", "block") in found(sedated, given("trimethoprim-sulfonamide", "IV", 1))
    assert found(sedated, given("trimethoprim-sulfonamide", "PO", 1)) == [("R4", "note")]
    assert found(sedated, given("trimethoprim-sulfonamide", "PO", 6)) == []


@pytest.mark.parametrize(
    ("drug", "route", "expected"),
    [
        # IV doxycycline in horses (PMID 1555539), 1992
        ("doxycycline", "IV", ("R5", "block")),
        # Large Animal Surgery open textbook, Univ. Minnesota
        ("procaine-penicillin", "IV", ("R6", "block")),
        # Merck student stories, clostridial myositis in horses
        ("flunixin", "IM", ("R7", "warn")),
        ("firocoxib", "IM", ("R7", "warn")),
        ("phenylbutazone", "IM", ("R7", "block")),
    ],
)
def test_routes_that_harm(drug, route, expected):
    assert expected in found(given(drug, route))


@pytest.mark.parametrize(
    ("drug", "change", "expected"),
    [
        # UK data sheets, phenylbutazone
        ("flunixin", {"hydration": "poor"}, ("R2", "block")),
        ("flunixin", {"conditions": ("Renal disease",)}, ("R2", "block")),
        # SAEVA Proceedings, aminoglycosides and kidney injury, 2015
        ("gentamicin", {"hydration": "poor"}, ("R3", "warn")),
        # Large Animal Surgery open textbook; UK data sheets, acepromazine
        ("acepromazine", {"sex": "stallion"}, ("R8", "block")),
        ("acepromazine", {"conditions": ("blood loss",)}, ("R8", "block")),
        ("acepromazine", {"conditions": ("penile wound",)}, ("R8", "block")),
        # UK data sheets, detomidine and romifidine
        ("romifidine", {"pregnant_until": dt.date(2026, 12, 20)}, ("R9", "warn")),
        # UK SPC, meloxicam, 2021
        ("meloxicam", {"pregnant_until": dt.date(2027, 6, 1)}, ("R11", "block")),
        ("meloxicam", {"lactating": True}, ("R11", "block")),
        ("meloxicam", {"age_days": 41}, ("R11", "block")),
        # 21 CFR 530.41 and 520.1720
        ("metronidazole", {"food_chain": "intended"}, ("R12", "block")),
        ("nitrofurazone", {"food_chain": "intended"}, ("R12", "block")),
        ("phenylbutazone", {"food_chain": "unknown"}, ("R12", "warn")),
        # Ellerbrock et al., Equine Vet J, 2019
        ("enrofloxacin", {"age_days": 60}, ("R13", "warn")),
        # Ohio State antimicrobial guidelines, 2018; UK data sheet
        ("gentamicin", {"age_days": 5}, ("R14", "warn")),
        # UK/EU SPC, butorphanol
        ("butorphanol", {"conditions": ("impaction colic",)}, ("R20", "warn")),
    ],
)
def test_what_the_patient_is_decides(drug, change, expected):
    assert expected in found(given(drug), patient=replace(MARE, **change))
    assert found(given(drug), patient=MARE) == []


def test_an_alpha_2_earlier_in_pregnancy_is_not_warned():
    assert (
        found(given("romifidine"), patient=replace(MARE, pregnant_until=dt.date(2027, 6, 1))) == []
    )


def test_gentamicin_with_an_nsaid_warns_strongly_only_if_hydration_is_unknown_or_poor_or_in_foals():
    both = (given("gentamicin"), given("flunixin"))
    assert found(*both) == [("R3", "note")]
    assert ("R3", "warn") in found(*both, patient=replace(SOUND, hydration="unknown"))
    assert ("R3", "warn") in found(*both, patient=replace(SOUND, age_days=20))


def test_furosemide_with_gentamicin_and_steroid_with_oxytetracycline_warn():
    assert found(given("gentamicin"), given("furosemide")) == [("R3", "warn")]
    assert found(given("oxytetracycline"), given("dexamethasone", "IM", 12)) == [("R10", "warn")]


def test_the_food_chain_block_passes_by_a_lasting_change_not_by_a_reason():
    patient = replace(SOUND, food_chain="intended")
    (block,) = check_treatments(TABLES, DRUGS, patient, (given("metronidazole", "PO"),))
    assert not block.needs_reason
    assert "food-chain change" in block.remedy
    (other,) = check_treatments(TABLES, DRUGS, SOUND, (given("doxycycline"),))
    assert other.needs_reason


def test_what_a_label_says_of_the_food_chain_is_noted_for_a_horse_intended_for_it():
    # UK data sheet, gentamicin 100 mg/mL for horses: not for horses intended for meat or milk
    intended = replace(SOUND, food_chain="intended")
    assert found(given("gentamicin"), patient=intended) == [("R12", "note")]
    assert found(given("gentamicin")) == []
    assert found(given("procaine-penicillin", "IM"), patient=intended) == []


def test_local_anaesthetic_adds_over_all_wounds_of_the_visit():
    # EU label, lidocaine 20 mg/mL: 4 mg/kg in all
    wounds = [given("lidocaine", "infiltration", amount=1200), given("lidocaine", "infiltration")]
    assert found(*wounds) == []
    second = given("lidocaine", "infiltration", 0.5, amount=900)
    assert found(wounds[0], second) == [("R15", "warn")]
    assert found(wounds[0], replace(second, amount=3000)) == [("R15", "warn")] * 2


@pytest.mark.parametrize(
    ("drug", "route", "days", "expected"),
    [
        # 21 CFR 522.1720: 5 successive days; 522.970; 522.1225; package text, firocoxib: 14 in all
        ("phenylbutazone", "IV", 4, []),
        ("phenylbutazone", "IV", 5, [("R16", "warn")]),
        ("flunixin", "IV", 5, [("R16", "warn")]),
        ("ketoprofen", "IV", 5, [("R16", "warn")]),
        ("firocoxib", "PO", 13, []),
        ("firocoxib", "PO", 14, [("R16", "warn")]),
    ],
)
def test_a_course_over_its_label_warns_from_the_first_day_over(drug, route, days, expected):
    assert found(given(drug, route, days=days)) == expected


def test_firocoxib_days_add_over_injection_and_paste():
    injected = given("firocoxib", "IV", days=4)
    assert found(injected, given("firocoxib", "PO", 5 * 24, days=8)) == []
    assert found(injected, given("firocoxib", "PO", 5 * 24, days=9)) == [("R16", "warn")]


@pytest.mark.parametrize(
    ("drug", "percent", "near", "fires"),
    [
        # Baird et al., Am J Vet Res 51:1488, 1990
        ("povidone-iodine", 0.5, "synovial", True),
        ("povidone-iodine", 0.1, "synovial", False),
        ("chlorhexidine", 0.05, "synovial", True),
        ("chlorhexidine", 0.05, "eye", True),
        ("povidone-iodine", 1, "face", False),
    ],
)
def test_antiseptics_near_joints_and_eyes(drug, percent, near, fires):
    treatment = given(drug, "topical", percent=percent, near=(near,))
    assert found(treatment) == ([("R17", "warn")] if fires else [])


def test_antitoxin_alone_in_an_unvaccinated_horse_asks_for_the_series():
    # Updated tetanus guidelines, NZ
    bare = replace(SOUND, tetanus_unvaccinated=True)
    antitoxin = given("tetanus-antitoxin", "SC")
    assert found(antitoxin, patient=bare) == [("R18", "warn")]
    assert found(antitoxin, given("tetanus-toxoid", "IM"), patient=bare) == []
    assert found(antitoxin) == []


def test_a_competition_horse_gets_the_date_of_each_published_time():
    # FEI report of 2011: meloxicam 72 h
    patient = replace(SOUND, competes=True)
    (note,) = check_treatments(TABLES, DRUGS, patient, (given("meloxicam"),))
    assert (note.rule, note.level) == ("R19", "note")
    assert "2026-11-28 09:00" in note.why
    assert found(given("meloxicam")) == []


@pytest.mark.parametrize("allergy", ["penicillin", "beta-lactam", " Procaine "])
def test_a_recorded_allergy_blocks(allergy):
    patient = replace(SOUND, allergies=(allergy,))
    assert ("allergy", "block") in found(given("procaine-penicillin", "IM"), patient=patient)
    assert found(given("gentamicin"), patient=patient) == []


def test_blocks_come_first_and_every_finding_names_its_source():
    patient = replace(SOUND, hydration="poor", competes=True)
    findings = check_treatments(
        TABLES, DRUGS, patient, (given("gentamicin"), given("flunixin"), given("phenylbutazone"))
    )
    levels = [f.level for f in findings]
    assert levels == sorted(levels, key=("block", "warn", "note").index)
    assert all(f.source and f.why for f in findings)


def test_every_rule_r1_to_r20_is_there():
    assert {r.id for r in TABLES.rules} == {f"R{n}" for n in range(1, 21)}


def test_a_rule_of_unknown_kind_is_refused_by_name():
    text = '[[rule]]\nid = "R99"\nkind = "hunch"\nlevel = "block"\n'
    text += "[[age]]\n[[pregnancy]]\ndays = 345\nlast_days = 31\n"
    with pytest.raises(KnowledgeError, match="R99, kind"):
        load_interactions(parse_table("own.toml", text))
