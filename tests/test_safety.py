"""At the vet's desk: what may hurt is refused without a reason, warned of, or said."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from builders import (
    DAY0,
    a_bandage,
    a_care,
    a_case,
    a_drug_dispensed,
    a_drug_given,
    a_finding,
    a_horse,
    a_person,
    a_practice,
    a_premises,
    a_visit,
    a_wound,
    an_opening,
    an_owner,
    at,
    day,
)

from fieldnotes.casework.caution import Bedside
from fieldnotes.casework.desk import Casework
from fieldnotes.casework.safety import cautions
from fieldnotes.casework.treatments import patient_of, recorded
from fieldnotes.cli.demo import make_demo
from fieldnotes.cli.main import main
from fieldnotes.domain.agreements import Consent, ConsentKind
from fieldnotes.domain.anatomy import MapPoint
from fieldnotes.domain.entries import (
    HorseSet,
    OwnerReport,
    OwnerSet,
    PersonSet,
    PracticeSet,
    PremisesSet,
    Vitals,
)
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.patients import FoodChain, Sex, Species
from fieldnotes.domain.treatment import Lavage, Layer, SynovialTest
from fieldnotes.domain.urgency import Urgency
from fieldnotes.domain.wounds import Phase, SynovialEntry
from fieldnotes.knowledge.library import Library
from fieldnotes.storage.casebook import Casebook, create_store

if TYPE_CHECKING:
    from pathlib import Path

    from fieldnotes.casework.caution import Caution
    from fieldnotes.domain.patients import Horse

CAREFUL = "no other drug is at hand, owner told of the risk"
HOCK = "left.hind.tarsus.medial"


class Yard:
    """A store with one horse, and the desk over it at a moment that can be moved on."""

    def __init__(self, folder: Path, horse: Horse) -> None:
        create_store(folder)
        self.now = at(0, 20)
        self.desk = Casework(Casebook(folder), lambda: self.now)
        place, owner = PremisesSet(a_premises()), OwnerSet(an_owner())
        for body in (PracticeSet(a_practice()), PersonSet(a_person()), owner, place):
            self.desk.save(body)
        self.desk.save(HorseSet(horse))

    def problems(self, **visit):
        return {p.field: p.message for p in self.desk.check_opening(an_opening(), a_visit(**visit))}

    def cautions(self, **visit) -> tuple[Caution, ...]:
        return self.desk.cautions(an_opening(), a_visit(**visit))

    def opened(self, **visit) -> str:
        return self.desk.open_case(an_opening(), a_visit(**visit)).ref


@pytest.fixture
def yard(tmp_path):
    made = []

    def make(horse=None, **changes) -> Yard:
        made.append(Yard(tmp_path / f"store{len(made)}", horse or a_horse(**changes)))
        return made[-1]

    return make


def kept_out(**changes) -> Horse:
    return a_horse(food_chain=FoodChain.EXCLUDED, **changes)


def levels(found, field):
    return {c.level for c in found if c.field == field}


# ----- what must not go together
# Sources stand in knowledge/data/interactions.toml; each rule is proved against them in
# tests/clinical/test_interactions.py. Here: that the desk holds a visit to them.


def test_a_second_nsaid_within_a_day_needs_a_typed_reason(yard):
    """UK data sheets, phenylbutazone: no other NSAID at once or within 24 h."""
    y = yard(kept_out())
    flunixin = a_drug_given("flunixin", reason="pain")
    bute = a_drug_given("phenylbutazone", amount=2200.0)
    refused = y.problems(given=(flunixin, bute))
    assert "give a reason to do it all the same" in refused["given.1.reason"]
    assert not y.problems(given=(flunixin, replace(bute, reason=CAREFUL)))


def test_a_reason_for_the_first_drug_does_not_excuse_the_second(yard):
    bute = a_drug_given("phenylbutazone", amount=2200.0)
    both = (replace(bute, reason=CAREFUL), a_drug_given("flunixin"))
    assert "given.1.reason" in yard(kept_out()).problems(given=both)


def test_a_drug_of_an_earlier_visit_counts_within_its_time_and_then_no_more(yard):
    y = yard(kept_out())
    ref = y.opened(given=(a_drug_given("flunixin"),))
    meloxicam = a_drug_given("meloxicam", amount=300.0, at=at(1, 8))
    y.now = at(9, 20)
    soon = y.desk.check(ref, a_visit(at(1, 8), given=(meloxicam,)))
    late = y.desk.check(ref, a_visit(at(5, 8), given=(replace(meloxicam, at=at(5, 8)),)))
    assert [p.field for p in soon] == ["given.0.reason"]
    assert not late


def test_the_drugs_of_another_case_of_the_same_horse_count(yard):
    y = yard(kept_out())
    y.opened(given=(a_drug_given("flunixin"),))
    second = a_visit(given=(a_drug_given("meloxicam", amount=300.0, at=at(0, 12)),))
    fields = [p.field for p in y.desk.check_opening(an_opening(), second)]
    assert fields == ["given.0.reason"]


def test_what_another_vet_gave_is_a_fact_that_warns_and_never_refuses(yard):
    y = yard(kept_out())
    theirs = a_drug_given("phenylbutazone", amount=2200.0, given_by="other")
    visit = {"given": (a_drug_given("flunixin", given_by="owner"), theirs)}
    assert not y.problems(**visit)
    assert any("two NSAIDs" in c.why and c.level == "warn" for c in y.cautions(**visit))
    mine = a_drug_given("flunixin")
    assert "given.1.reason" in y.problems(given=(theirs, mine))


def test_an_nsaid_the_owner_spoke_of_counts_although_nobody_named_it(yard):
    y = yard(kept_out())
    ref = y.opened()
    y.now = at(1, 20)
    y.desk.record(ref, OwnerReport(at(1, 7), "phone", "had a sachet", last_nsaid_at=at(1, 6)))
    found = y.desk.check(ref, a_visit(at(1, 9), given=(a_drug_given("flunixin", at=at(1, 9)),)))
    assert "owner gave" in found[0].message


def test_an_owners_dose_of_the_course_left_with_them_is_not_a_second_drug(yard):
    y = yard(kept_out())
    course = a_drug_dispensed("phenylbutazone", amount=1100.0, unit="mg")
    ref = y.opened(dispensed=(course,))
    y.now = at(1, 20)
    y.desk.record(ref, OwnerReport(at(1, 7), "phone", "gave it", last_nsaid_at=at(1, 6)))
    again = a_drug_given("phenylbutazone", amount=1500.0, at=at(1, 9), reason="low on purpose")
    assert not y.desk.check(ref, a_visit(at(1, 9), given=(again,)))


def test_iv_trimethoprim_sulfonamide_with_detomidine_is_refused(yard):
    """UK data sheets, detomidine and romifidine."""
    drugs = (
        a_drug_given("detomidine", amount=5.0),
        a_drug_given("trimethoprim-sulfonamide", amount=10700.0, route="intravenous"),
    )
    assert "fatal arrhythmia" in yard().problems(given=drugs)["given.1.reason"]


def test_procaine_penicillin_into_the_vein_is_refused(yard):
    """Large Animal Surgery open textbook, Univ. Minnesota, equine antibiotics."""
    y = yard()
    shot = a_drug_given("procaine-penicillin", amount=11e6, unit="IU")
    assert "given.0.reason" in y.problems(given=(shot,))
    with pytest.raises(RefusedInputError, match="into the vein"):
        y.opened(given=(shot,))
    assert not y.problems(given=(replace(shot, route="IM", amount=11e6),))


def test_phenylbutazone_in_a_food_chain_horse_waits_for_the_lasting_exclusion(yard):
    """21 CFR 530.41; no reason replaces the record of the exclusion."""
    y = yard(food_chain=FoodChain.INTENDED)
    ref = y.opened()
    y.now = at(1, 20)
    bute = a_drug_given("phenylbutazone", amount=2200.0, at=at(1, 9), reason=CAREFUL)
    visit = a_visit(at(1, 9), given=(bute,))
    (refused,) = y.desk.check(ref, visit)
    assert refused.field == "given.0.reason"
    assert "record a lasting food-chain change" in refused.message
    said = Consent(ConsentKind.FOOD_CHAIN, day(1), "excluded for good", by="owner1", given=False)
    y.desk.record(ref, said)
    assert y.desk.check(ref, visit)
    agreed = replace(said, given=True, written=True, document_on=day(1))
    refusal = {p.field for p in y.desk.check(ref, replace(agreed, document_on=None))}
    assert refusal == {"document_on"}
    y.desk.record(ref, agreed)
    assert not y.desk.check(ref, visit)


def test_an_allergy_on_record_is_met_by_the_drugs_class_whatever_else_was_written(yard):
    y = yard(allergies=("penicillin: hives three years ago",))
    shot = a_drug_given("procaine-penicillin", route="IM", amount=11e6, unit="IU")
    assert "allergy to penicillin" in y.problems(given=(shot,))["given.0.reason"]
    assert not y.problems(given=(replace(shot, reason=CAREFUL),))
    assert any("allergy" in c.why for c in y.cautions(given=(replace(shot, reason=CAREFUL),)))


def test_hydration_once_said_to_be_good_quiets_the_aminoglycoside_warning(yard):
    """UK data sheet, gentamicin: care with other nephrotoxic drugs and dehydration."""
    y = yard()
    drugs = (a_drug_given("flunixin"), a_drug_given("gentamicin", amount=3300.0))
    unknown = y.cautions(given=drugs)
    good = y.cautions(given=drugs, vitals=Vitals(hydration="good"))
    assert any(c.level == "warn" and "hydration" in c.why for c in unknown)
    assert not any(c.level == "warn" and "aminoglycoside" in c.why for c in good)
    dry = y.problems(given=drugs, vitals=Vitals(hydration="slightly dry"))
    assert "dehydrated" in dry["given.0.reason"]


def test_a_corrected_visit_does_not_meet_its_own_first_version(yard):
    y = yard(kept_out())
    ref = y.opened(given=(a_drug_given("flunixin"),))
    entry = y.desk.case(ref).visits[0].entry.id
    corrected = a_visit(given=(a_drug_given("meloxicam", amount=300.0),))
    y.desk.amend(ref, entry, "drug", "wrong bottle read", corrected)
    worse = a_visit(given=(a_drug_given("doxycycline", amount=5000.0),))
    with pytest.raises(RefusedInputError) as refused:
        y.desk.amend(ref, entry, "drug", "again", worse)
    assert refused.value.field == "corrected.given.0.reason"


@pytest.mark.parametrize(
    ("drug", "amount", "horse", "word"),
    [
        ("acepromazine", 15.0, {"sex": Sex.STALLION}, "stallion"),
        ("meloxicam", 300.0, {"sex": Sex.MARE, "foaling_due": day(60)}, "pregnant"),
        ("meloxicam", 300.0, {"sex": Sex.MARE, "lactating": True}, "lactating"),
        ("flunixin", 550.0, {"conditions": ("renal disease since spring",)}, "renal disease"),
    ],
)
def test_the_animals_own_state_is_asked_of_the_register(yard, drug, amount, horse, word):
    """UK data sheets, acepromazine and phenylbutazone; UK SPC, meloxicam, 2021."""
    given = (a_drug_given(drug, amount=amount),)
    assert word in yard(**horse).problems(given=given)["given.0.reason"]
    assert not yard(sex=Sex.GELDING).problems(given=given)


# ----- doses


def test_a_dose_over_its_range_needs_a_reason_and_one_rounded_to_a_syringe_mark_does_not(yard):
    """21 CFR 522.970: flunixin 1.1 mg/kg, 550 mg for 500 kg."""
    y = yard()
    assert not y.problems(given=(a_drug_given("flunixin", amount=575.0),))
    double = a_drug_given("flunixin", amount=1100.0, unit="mg")
    assert "above the highest published dose" in y.problems(given=(double,))["given.0.reason"]
    assert not y.problems(given=(replace(double, reason=CAREFUL),))


def test_grams_are_read_as_grams(yard):
    y = yard(kept_out())
    grams = a_drug_given("phenylbutazone", amount=2.2, unit="g")
    assert not y.problems(given=(grams,))
    assert "given.0.reason" in y.problems(given=(replace(grams, amount=22.0),))


def test_a_day_of_phenylbutazone_over_four_grams_needs_a_reason_in_whatever_forms(yard):
    """21 CFR 520.1720a: not over 4 g a day."""
    y = yard(kept_out(weight_kg=700.0))
    course = a_drug_dispensed(amount=2500.0, unit="mg")
    assert "5,000 mg in one day" in y.problems(dispensed=(course,))["dispensed.0.reason"]
    assert not y.problems(dispensed=(replace(course, amount=2000.0),))
    evening = replace(course, amount=2000.0, starts=at(0, 18))
    vein = a_drug_given("phenylbutazone", amount=3000.0)
    assert "dispensed.0.reason" in y.problems(given=(vein,), dispensed=(evening,))


def test_local_anaesthetic_adds_up_over_all_wounds_of_the_visit(yard):
    """EU label, lidocaine 20 mg/mL: 4 mg/kg over all sites; 1200 + 1200 mg in 500 kg is 4.8."""
    y = yard()
    one = a_drug_given("lidocaine", route="infiltration", amount=1200.0, volume_ml=60.0)
    apart = [c for c in y.cautions(given=(one,)) if "over the total" in c.why]
    both = [c for c in y.cautions(given=(one, one)) if "over the total" in c.why]
    assert not apart
    assert "4.80 mg/kg over 4 mg/kg" in both[0].why


def test_without_a_weight_the_visit_is_saved_and_the_missing_check_is_said(yard):
    y = yard(weight_kg=None)
    visit = {"given": (a_drug_given("flunixin", amount=5000.0),)}
    assert not y.problems(**visit)
    assert any("no body weight" in c.why for c in y.cautions(**visit))


def test_no_limit_of_a_horse_is_put_on_a_donkey_silently(yard):
    y = yard(species=Species.DONKEY, weight_kg=160.0)
    visit = {"given": (a_drug_given("flunixin", amount=1000.0),)}
    assert not y.problems(**visit)
    assert any("published for horses, none for a donkey" in c.why for c in y.cautions(**visit))
    hot = y.cautions(vitals=Vitals(temperature_c=39.9))
    assert [c.level for c in hot if "temperature" in c.why] == ["note"]


# ----- vital signs, wounds, bandages


def test_vital_signs_are_held_against_the_ranges_of_the_age(yard):
    adult = yard().cautions(vitals=Vitals(temperature_c=38.8, heart_per_min=70))
    assert {c.field for c in adult} >= {"vitals.temperature_c", "vitals.heart_per_min"}
    foal = yard(born=DAY0 - dt.timedelta(days=40))
    young = foal.cautions(vitals=Vitals(temperature_c=38.8, heart_per_min=70))
    assert not any(c.field.startswith("vitals") for c in young)


def bed_of(wound, **horse):
    return Bedside(a_horse(**horse), (wound,), None, (), Library(), at(0, 20))


def said(bed, **visit):
    return cautions(bed, a_visit(**visit))


@pytest.mark.parametrize(
    ("region", "word"),
    [
        ("left.chest.axilla", "pneumothorax"),
        ("right.fore.heel_bulb", "Heel bulb"),
        ("left.fore.foot.frog_central_third", "frog"),
        (HOCK, "Possible entry"),
    ],
)
def test_a_wound_where_something_may_be_open_says_what_to_do(region, word):
    found = said(bed_of(a_wound(region=region)), findings=(a_finding(depth_mm=20.0),))
    synovial = [c for c in found if c.field == "findings.A.synovial_entry"]
    assert any(word in c.why and c.level == "warn" for c in synovial)


def test_an_entry_excluded_by_the_vet_stays_excluded_and_is_no_more_warned_of(yard):
    excluded = a_finding(synovial_entry=SynovialEntry.EXCLUDED)
    wound = a_wound(region=HOCK)
    case = a_case(a_visit(0, findings=(excluded,)), wounds=(wound,))
    bed = replace(bed_of(wound), case=case)
    later = cautions(bed, a_visit(2, findings=(a_finding(phase=Phase.INFLAMMATORY),)))
    assert not any(c.level == "warn" for c in later)


def test_chlorhexidine_and_strong_iodine_near_a_possible_entry_are_warned_of():
    """Baird et al., Am J Vet Res 51:1488, 1990: 0.5 % povidone-iodine, severe synovitis."""
    bed = bed_of(a_wound(region=HOCK))

    def lavage(fluid, percent=None):
        care = a_care(lavage=Lavage(fluid, 1000.0, percent))
        return levels(said(bed, findings=(a_finding(),), care=(care,)), "care.A.lavage")

    assert lavage("chlorhexidine 0.05 %") == {"warn"}
    assert lavage("povidone-iodine", 0.5) == {"warn"}
    assert lavage("povidone-iodine") == {"warn"}
    assert not lavage("povidone-iodine 0.1 %")
    assert not lavage("saline")


def bandaged(bandage, region=HOCK, **finding):
    bed = bed_of(a_wound(region=region))
    visit = a_visit(findings=(a_finding(**finding),), care=(a_care(bandage=bandage),))
    return " ".join(c.why for c in cautions(bed, visit) if c.field == "care.A.bandage")


def test_a_bandage_says_only_what_matters_now():
    """AAEP leg bandaging guidelines: padding 2.5 cm; Howard et al. 1993: occlusion delays."""
    cannon = "left.hind.metatarsus.dorsal"
    sound = a_bandage()
    assert not bandaged(sound, cannon)
    thin = replace(
        sound, layers=(*sound.layers[:2], Layer("padding", "wool", 1.0), Layer("cover", "x"))
    )
    assert "2.5 cm" in bandaged(thin, cannon)
    bare = replace(sound, layers=(sound.layers[0], Layer("compression", "cohesive bandage")))
    assert "compressive layer ever on skin" in bandaged(bare, cannon)
    assert "lower wrap" in bandaged(replace(sound, kind="hock"))
    below = (*sound.layers, Layer("support", "lower wrap to the foot"))
    assert not bandaged(replace(sound, kind="hock", layers=below))
    shut = a_bandage("fully occlusive dressing")
    assert "occlusive" in bandaged(shut, cannon, phase=Phase.GRANULATING)
    assert not bandaged(shut, cannon)


@pytest.mark.parametrize(
    ("outer", "warned"),
    [
        ("cohesive elastic 7.5 cm", True),
        ("elastic 8 cm x 4.5 m", True),
        ("cohesive elastic 10 cm", False),
        ("cohesive elastic", False),
    ],
)
def test_a_roll_written_narrower_than_ten_centimetres_is_warned_of(outer, warned):
    """Bandage-width article: rolls 10-15 cm wide, narrower ones make pressure points."""
    sound = a_bandage()
    layers = (*sound.layers, Layer("outer", outer))
    said = bandaged(replace(sound, layers=layers), "left.hind.metatarsus.dorsal")
    assert ("pressure points" in said) is warned


def test_round_the_neck_the_airway_and_the_jugular_are_spoken_of_and_a_loose_cover_is_not():
    """From memory: neck and trunk, elastic all round must not restrict breathing."""
    tight = (Layer("dressing", "foam"), Layer("outer", "cohesive elastic 10 cm"))
    groove = bandaged(a_bandage(kind="neck wrap", layers=tight), "left.neck.ventral")
    assert "airway" in groove
    assert "jugular groove" in groove
    crest = bandaged(a_bandage(kind="neck wrap", layers=tight), "neck.dorsal")
    assert "airway" in crest
    assert "jugular" not in crest
    loose = (Layer("dressing", "foam"), Layer("outer", "stockinette round the head, loose"))
    assert not bandaged(a_bandage(kind="head", layers=loose), "head.forehead")


def test_a_synovial_sample_alarms_and_never_clears():
    """Steel, Vet Clin Equine 24:437, 2008: over 30 x 10^9 cells/L is septic."""
    bed = bed_of(a_wound(region=HOCK))

    def fluid(**measures):
        care = a_care(synovial_tests=(SynovialTest("hock joint", **measures),))
        return [c for c in said(bed, care=(care,)) if c.field.startswith("care.A.synovial")]

    (septic,) = fluid(cells_per_nl=60.0)
    (low,) = fluid(cells_per_nl=0.5, protein_g_per_l=10.0)
    assert (septic.level, low.level) == ("warn", "note")
    assert "septic" in septic.why
    assert "never clear" in low.why
    assert "it is open" in fluid(leaked=True)[0].why


# ----- the owner's report, what stands, and the sample practice


def test_a_normal_temperature_within_a_recorded_nsaids_time_proves_nothing(yard):
    y = yard(kept_out())
    ref = y.opened(given=(a_drug_given("flunixin"),))
    sign = next(s.id for s in y.desk.knowledge.triage.signs if s.infection)
    report = OwnerReport(at(0, 18), "phone", "a bit warm", (sign,), temperature_c=37.8)
    found = y.desk.triage(ref, report, gait_normal=True)
    assert found.masked
    assert found.urgency is not Urgency.NEXT_VISIT
    late = y.desk.triage(ref, replace(report, at=at(9, 18)), gait_normal=True)
    assert not late.masked


def test_infection_under_an_antimicrobial_first_asks_to_examine_and_sample(yard):
    y = yard()
    ref = y.opened(
        dispensed=(a_drug_dispensed("trimethoprim-sulfonamide", amount=12000.0, unit="mg"),)
    )
    sign = next(s.id for s in y.desk.knowledge.triage.signs if s.infection)
    report = OwnerReport(at(2, 8), "phone", "more discharge", (sign,))
    steps = y.desk.knowledge.triage.steps
    assert set(steps) <= set(y.desk.triage(ref, report).notes)
    assert not set(steps) & set(y.desk.triage(ref, replace(report, at=at(20, 8))).notes)


def test_competition_times_run_from_the_last_dose_and_end(yard):
    y = yard(competes=True)
    ref = y.opened(given=(a_drug_given("flunixin"),))
    times = y.desk.clearances(ref)
    assert times
    assert all(t.until > y.now for t in times)
    y.now = at(200)
    assert not y.desk.clearances(ref)


def test_what_stands_of_an_open_case_stays_in_sight(yard):
    y = yard()
    opening = an_opening((a_wound(region=HOCK),))
    ref = y.desk.open_case(opening, a_visit(findings=(a_finding(),))).ref
    assert any("Possible entry" in c.why for c in y.desk.cautions(ref))


def test_every_caution_has_a_level_a_field_and_a_source():
    drugs = tuple(a_drug_given(d.id, amount=1.0, unit=d.unit) for d in Library().drugs)
    bed = bed_of(a_wound(region=HOCK), sex=Sex.STALLION, food_chain=FoodChain.INTENDED)
    for caution in said(bed, given=drugs, findings=(a_finding(),)):
        assert caution.level in {"block", "warn", "note"}
        assert caution.field.split(".")[0] in {"given", "dispensed", "care", "findings", "vitals"}
        assert caution.source.strip()
        assert caution.why.strip()


NOW = dt.datetime(2026, 3, 3, 10, 30, tzinfo=dt.UTC)


@pytest.fixture(scope="module")
def sample(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("sample") / "store"
    make_demo(folder, NOW)
    return folder


def test_the_sample_practice_gives_a_reason_wherever_one_is_needed(sample):
    desk = Casework(Casebook(sample), lambda: NOW)
    refused = [
        (summary.ref, caution.field, caution.why)
        for summary in desk.find_cases()
        for visit in desk.case(summary.ref).visits
        if visit.body.given or visit.body.dispensed
        for caution in desk.cautions(summary.ref, visit.body, visit.entry.id)
        if caution.refuses
    ]
    assert not refused


def test_a_shown_case_names_what_stands_and_when_a_drug_may_be_found(sample, capsysbinary):
    words = ["--data", str(sample), "--now", NOW.isoformat(), "case", "show"]
    assert main([*words, "n8p4j", "--json"]) == 0
    document = json.loads(capsysbinary.readouterr().out)
    assert any("refer today" in c["why"] for c in document["cautions"])
    assert all(dt.datetime.fromisoformat(c["until"]) > NOW for c in document["clearances"])
    assert main([*words, "n8p4j"]) == 0
    text = capsysbinary.readouterr().out.decode()
    assert "refer today" in text
    assert "no withdrawal time" not in text, "this horse does not compete"


def test_the_patient_is_read_from_the_register_as_the_rules_ask():
    horse = a_horse(conditions=("chronic renal disease, 2024",), allergies=("Procaine : collapse",))
    bed = Bedside(horse, (), None, (), Library(), at(0, 20))
    patient = patient_of(bed, a_visit())
    assert patient.conditions == ("renal disease",)
    assert patient.allergies[0].strip() == "Procaine"
    assert recorded(bed) == ()


def test_a_wound_shown_on_the_map_names_every_region_it_reaches_once_it_is_measured(yard):
    place = a_wound(region="left.chest.wall", view="left", point=MapPoint(150, 115))
    opening = an_opening(wounds=(place,))
    desk = yard().desk
    for length, width, spans in ((900.0, 400.0, True), (30.0, 20.0, False), (None, None, False)):
        finding = a_finding(length_mm=length, width_mm=width)
        told = [c.why for c in desk.cautions(opening, a_visit(findings=(finding,)))
                if c.field == "wounds.A.region"]  # fmt: skip
        assert bool(told) == spans
        if spans:
            assert "spans" in told[0]
            assert "left" in told[0]
