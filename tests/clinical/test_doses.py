"""Doses against the worked examples of published labels and textbooks, and their arithmetic.

Where a row's outside fact is a label, it is named; the rest follows by amount = dose x weight
and volume = amount / strength.
"""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldnotes.clinical.courses import course, dose_count, dose_times
from fieldnotes.clinical.dose_text import dose_line
from fieldnotes.clinical.doses import dose, first_of_each, read_per_kg, told_apart
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.domain.formulary import OwnDose, PracticeDrug
from fieldnotes.domain.patients import DoseOverride
from fieldnotes.domain.units import kg_from_lb
from fieldnotes.knowledge.drugs import load_drugs, one_drug, with_overrides
from fieldnotes.knowledge.own_drugs import with_practice

DRUGS = load_drugs()
LB_1000 = kg_from_lb(1000)


def drug(name):
    return one_drug(DRUGS, name)


def typed(name, per_kg, weight_kg=500, route=None):
    """The options of a typed dose."""
    return dose(drug(name), weight_kg, per_kg=per_kg, route=route).options


def listed(name, weight_kg, label, route=None, form=None):
    """The published options with a label."""
    return [
        o
        for o in dose(drug(name), weight_kg, route=route).options
        if label in o.label and (form is None or o.strength.form == form)
    ]


def near(value):
    return pytest.approx(value, rel=0.005)


@pytest.mark.parametrize(
    ("name", "per_kg", "route", "amount", "volume_ml"),
    [
        ("procaine penicillin", 22000, "IM", 11_000_000, 36.67),
        # Canadian label, procaine penicillin G 300,000 IU/mL: 7 mL/100 kg
        ("procaine penicillin", 21000, "IM", 10_500_000, 35.0),
        # UK data sheet, gentamicin 100 mg/mL for horses
        ("gentamicin", 6.6, "IV", 3300, 33.0),
        ("ceftiofur sodium", 2.2, "IM", 1100, 22.0),
        # Merck Veterinary Manual, dosages of cephalosporins
        ("crystalline", 6.6, "IM", 3300, 16.5),
        # J Equine Vet Sci, 2014: suspension 24 mg/kg q12h
        ("flunixin", 1.1, "IV", 550, 11.0),
        ("detomidine", 0.04, "SL", 20, 2.63),
        # 21 CFR 522.2076, romifidine 40-120 ug/kg
        ("romifidine", 0.04, "IV", 20, 2.0),
        ("romifidine", 0.12, "IV", 60, 6.0),
        # UK/EU SPC, butorphanol 10 mg/mL
        ("butorphanol", 0.05, "IV", 25, 2.5),
        ("butorphanol", 0.1, "IV", 50, 5.0),
        ("detomidine", 0.012, "IV", 6, 0.60),
        ("butorphanol", 0.025, "IV", 12.5, 1.25),
        ("xylazine", 0.5, "IV", 250, 2.5),
        # EU label, lidocaine 20 mg/mL: 4 mg/kg in all
        ("lidocaine", 4, "infiltration", 2000, 100),
        ("lidocaine", 8, "infiltration", 4000, 200),
        # 21 CFR 522.2474, tolazoline: 4 mL/100 kg
        ("tolazoline", 4, "IV", 2000, 20),
    ],
)
def test_a_dose_per_kg_gives_amount_and_volume_for_500_kg(name, per_kg, route, amount, volume_ml):
    (option,) = typed(name, per_kg, route=route)
    assert option.amount == near(amount)
    assert option.volume_ml == near(volume_ml)


@pytest.mark.parametrize(
    ("name", "label", "route", "amounts", "volumes_ml"),
    [
        # US label, procaine penicillin G: 3,000 IU/lb
        ("procaine penicillin", "US label", "IM", [3_000_000], [10.0]),
        # 21 CFR 522.1720: 1-2 g per 1000 lb
        ("phenylbutazone", "US label", "IV", [1000, 2000], [5.0, 10.0]),
        # 21 CFR 522.970: 0.5 mg/lb
        ("flunixin", "US label", "IV", [500], [10.0]),
        # 21 CFR 522.1225: 1 mg/lb
        ("ketoprofen", "US label", "IV", [1000], [10.0]),
        # 21 CFR 522.2662: 0.5 mg/lb IV, 1 mg/lb IM
        ("xylazine", "US label", "IV", [500], [5.0]),
        ("xylazine", "US label", "IM", [1000], [10.0]),
        # 21 CFR 522.23: 2-4 mg/100 lb
        ("acepromazine", "US label", "IV", [20, 40], [2.0, 4.0]),
    ],
)
def test_a_label_in_pounds_gives_its_own_figures_for_1000_lb(
    name, label, route, amounts, volumes_ml
):
    options = listed(name, LB_1000, label, route)
    strong = [o for o in options if o.strength == options[0].strength]
    assert [o.amount for o in strong] == [near(a) for a in amounts]
    assert [o.volume_ml for o in strong] == [near(v) for v in volumes_ml]
    assert {o.sites for o in strong} == {1}


def test_penicillin_sites_follow_the_strictest_label_and_show_the_other():
    (option,) = typed("procaine penicillin", 22000)
    assert (option.sites, option.each_ml) == (4, near(9.17))
    assert any("15 mL" in text and "3 sites of 12.22 mL" in text for text in option.limits)


def test_the_canadian_dose_goes_by_the_canadian_site_limit():
    (option,) = typed("procaine penicillin", 21000)
    assert option.sites == 3
    assert "Canadian" in option.source


def test_export_label_penicillin_is_1_ml_per_25_kg():
    # Export label, procaine penicillin 300 mg/mL: 12 mg/kg = 1 mL/25 kg
    (option,) = listed("procaine penicillin", 500, "export label")
    assert option.volume_ml == near(20.0)
    assert option.interval_h == 24


def test_crystalline_ceftiofur_goes_into_one_site_and_is_due_again_after_96_h():
    # Merck Veterinary Manual, dosages of cephalosporins
    (option,) = typed("crystalline", 6.6, route="IM")
    assert (option.sites, option.interval_h) == (1, 96)


def test_ceftiofur_sodium_needs_three_sites():
    (option,) = typed("ceftiofur sodium", 2.2, route="IM")
    assert option.sites == 3


def test_trimethoprim_sulfonamide_powder_label_is_30_mg_per_kg():
    # 21 CFR 520.2613: 3.75 g per 50 kg of 67 + 333 mg/g
    (option,) = listed("trimethoprim", 500, "powder label")
    assert option.units == near(37.5)
    assert option.amount == near(15000)
    assert option.per_kg == near(30)


def test_tablets_show_the_exact_quotient_the_count_and_the_dose_it_really_gives():
    (tablet,) = [o for o in typed("trimethoprim", 30) if o.strength.form == "tablet"]
    assert tablet.units == near(15.63)
    assert tablet.units_rounded == 16
    assert tablet.per_kg_rounded == near(30.7)


def test_trimethoprim_suspension_of_the_safety_study_is_30_ml_every_12_h():
    (option,) = listed("trimethoprim", 500, "suspension study")
    assert (option.amount, option.volume_ml) == (near(12000), near(30.0))
    assert option.interval_h == 12


def test_metronidazole_paste_is_20_g_for_500_kg():
    # Australian label: 10 g drug = 20 g of 500 mg/g paste per 500 kg
    (option,) = listed("metronidazole", 500, "Australian")
    assert (option.amount, option.units, option.unit_name) == (near(10000), near(20), "g")


def test_metronidazole_and_doxycycline_tablets_for_500_kg():
    (metronidazole,) = [o for o in typed("metronidazole", 15) if o.strength.per == "tablet"]
    assert metronidazole.units == near(15)
    (doxycycline,) = [
        o
        for o in typed("doxycycline", 10)
        if o.strength.per == "tablet" and o.strength.amount == 100
    ]
    assert (doxycycline.units, doxycycline.interval_h) == (near(50), 12)


def test_flunixin_by_the_1_ml_per_45_kg_sheet_differs_from_1_1_mg_per_kg_by_one_percent():
    # Data sheet, flunixin 50 mg/mL: 1 mL/45 kg
    (sheet,) = listed("flunixin", 500, "1 mL/45 kg")
    (round_dose,) = listed("flunixin", 500, "common rounding")
    assert sheet.volume_ml == near(11.11)
    assert round_dose.volume_ml == near(11.0)
    assert sheet.source != round_dose.source


@pytest.mark.parametrize(("pounds", "per_kg"), [(800, 0.157), (1300, 0.097)])
def test_one_firocoxib_tablet_gives_its_published_dose_at_both_ends(pounds, per_kg):
    # 21 CFR 520.928: one 57 mg tablet for 800-1300 lb
    (option,) = listed("firocoxib", kg_from_lb(pounds), "one tablet")
    assert option.per_kg == near(per_kg)
    assert option.units_rounded == 1
    assert not any(t.startswith("OVER") for t in option.limits)


def test_a_horse_outside_the_tablets_weight_range_is_said():
    assert any("800" in w or "363 to 590 kg" in w for w in dose(drug("firocoxib"), 700).warnings)


def test_meloxicam_volume_follows_the_strength():
    volumes = {o.strength.amount: o.volume_ml for o in typed("meloxicam", 0.6)}
    assert volumes == {15: near(20.0), 20: near(15.0)}


def test_a_foals_gentamicin_dose_is_shown_with_its_own_interval():
    # Ohio State antimicrobial guidelines, 2018: 12 mg/kg q36h under 2 weeks
    found = dose(drug("gentamicin"), 50, age_days=5, route="IV")
    foal = [o for o in found.options if "under 2 weeks" in o.label]
    assert [(o.amount, o.volume_ml, o.interval_h) for o in foal] == [(600, 6.0, 36)]


def test_a_foal_is_told_which_doses_are_adult_ones_and_that_sources_disagree():
    # UK data sheet, gentamicin 100 mg/mL for horses: not recommended in foals
    warned = dose(drug("gentamicin"), 50, age_days=5).warnings
    assert any("adult doses" in w for w in warned)
    assert any("not recommended (UK label)" in w for w in warned)
    assert not any("adult doses" in w for w in dose(drug("gentamicin"), 500).warnings)


def test_infiltration_cap_of_the_uk_label_is_two_mg_per_kg_at_500_kg():
    # UK data sheet, lidocaine 2 % with adrenaline, 2024: at most 50 mL
    (option,) = typed("lidocaine", 2)
    assert option.volume_ml == near(50)
    assert not any(t.startswith("OVER: at most 50 mL") for t in option.limits)
    assert any(t.startswith("OVER: at most 50 mL") for t in typed("lidocaine", 2.1)[0].limits)


@pytest.mark.parametrize(("per_kg", "alerts"), [(4, 0), (4.1, 1), (8, 1), (8.1, 2)])
def test_local_anaesthetic_alerts_at_four_and_again_at_eight_mg_per_kg(per_kg, alerts):
    (option,) = typed("lidocaine", per_kg)
    assert sum("in one visit" in text for text in option.over) == alerts


def test_phenylbutazone_over_four_grams_a_day_warns():
    # UK day 1, 4.4 mg/kg q12h, against the 4 g a day of 21 CFR 520.1720
    warned = dose(drug("phenylbutazone"), 500, per_kg=4.4, route="PO").warnings
    assert any("4,000 mg a day" in w and "4,400 mg a day" in w for w in warned)


def test_a_dose_above_everything_published_warns_and_still_calculates():
    found = dose(drug("flunixin"), 500, per_kg=3, route="IV")
    assert found.options[0].amount == 1500
    assert any("above the highest published dose" in w for w in found.warnings)


def test_penicillin_into_the_vein_is_refused_and_says_why():
    with pytest.raises(UnknownNameError, match="never IV"):
        dose(drug("procaine penicillin"), 500, route="IV")


@pytest.mark.parametrize("weight", [0, -5, 5000, float("nan"), float("inf")])
def test_an_impossible_weight_is_refused(weight):
    with pytest.raises(RefusedInputError, match="weight_kg"):
        dose(drug("flunixin"), weight)


def test_a_donkey_is_told_that_the_dose_is_a_horses():
    assert "donkey" in dose(drug("flunixin"), 150, species="donkey").warnings[0]


def test_micrograms_typed_as_a_plain_number_are_read_as_such_and_said():
    assert read_per_kg(drug("detomidine"), 12) == (0.012, "12 was read as 12 ug/kg = 0.012 mg/kg")
    assert read_per_kg(drug("detomidine"), 0.012) == (0.012, None)
    assert read_per_kg(drug("flunixin"), 110) == (110, None)
    with pytest.raises(RefusedInputError, match="IU"):
        read_per_kg(drug("procaine penicillin"), 12, "mg")


def test_the_line_for_the_form_holds_dose_route_volume_interval_and_source():
    (option,) = listed("flunixin", 500, "common rounding")
    assert dose_line("flunixin", option).startswith(
        "flunixin 1.1 mg/kg IV = 550 mg = 11.0 mL (50 mg/mL), every 24 h, 21 CFR 522.970"
    )


def test_a_changed_dose_says_so_in_its_line():
    own = DoseOverride("flunixin", "IV", 0.25, 8, "A. Vet", "low dose")
    changed = one_drug(with_overrides(DRUGS, [own]), "flunixin")
    assert "CHANGED by A. Vet" in dose_line("flunixin", dose(changed, 500).options[0])


def test_next_doses_keep_the_real_interval_over_the_change_of_clocks():
    zone = ZoneInfo("Europe/London")
    start = dt.datetime(2026, 10, 24, 20, 0, tzinfo=zone)
    second = dose_times(start, 12, 2)[1]
    assert second.astimezone(dt.UTC) - start.astimezone(dt.UTC) == dt.timedelta(hours=12)
    assert second.hour == 7


def test_a_dose_time_without_zone_is_refused():
    with pytest.raises(RefusedInputError, match="zone"):
        dose_times(dt.datetime(2026, 11, 25, 8), 12, 2)  # noqa: DTZ001  (the point of the test)


def test_a_five_day_penicillin_course_adds_up_to_ten_doses_and_four_bottles():
    (option,) = typed("procaine penicillin", 22000)
    total = course(option, days=5)
    assert (total.doses, total.volume_ml, total.containers) == (10, near(366.7), 4)


def test_a_course_of_tablets_adds_up_what_is_really_given():
    (tablet,) = [o for o in typed("trimethoprim", 30) if o.strength.form == "tablet"]
    total = course(tablet, days=5)
    assert total.units == 16 * dose_count(tablet.interval_h, 5)
    assert total.amount == total.units * 960


@given(st.sampled_from([d for d in DRUGS if d.regimens]), st.floats(20, 1000), st.floats(1.01, 1.5))
def test_a_heavier_horse_never_gets_less(medicine, weight, factor):
    lighter, heavier = dose(medicine, weight).options, dose(medicine, weight * factor).options
    assert all(a.amount <= b.amount for a, b in zip(lighter, heavier, strict=True))


@given(st.sampled_from([d for d in DRUGS if d.regimens]), st.floats(20, 1000))
def test_what_is_drawn_up_or_counted_holds_the_amount_and_the_sites_hold_the_volume(
    medicine, weight
):
    for option in dose(medicine, weight).options:
        measured = option.volume_ml if option.volume_ml is not None else option.units
        assert measured * option.strength.amount == pytest.approx(option.amount)
        assert option.source
        if option.volume_ml is not None:
            assert option.sites * option.each_ml == pytest.approx(option.volume_ml)


def test_the_eu_limit_of_lidocaine_is_120_ml_at_600_kg():
    # EU label, lidocaine 20 mg/mL: 4 mg/kg in all
    (option,) = dose(drug("lidocaine"), 600, per_kg=4, route="infiltration").options
    assert option.volume_ml == near(120)


@settings(max_examples=60)
@given(st.sampled_from(load_drugs()), st.floats(60, 1100), st.integers(0, 4000) | st.none())
def test_no_dose_comes_without_a_source_or_the_mark_of_who_set_it(medicine, weight, age_days):
    if not medicine.regimens:
        return
    own = OwnDose("IV", 1.0, 2.0, 24, "label", "A. Vet", dt.date(2025, 6, 2))
    (changed,) = with_practice((medicine,), {medicine.id: PracticeDrug(medicine.id, doses=(own,))})
    for option in dose(medicine, weight, age_days=age_days).options:
        assert option.source.strip()
        assert not option.changed
    marked = [o for o in dose(changed, weight, route="IV").options if o.changed]
    assert marked or not any("IV" in s.routes for s in changed.strengths)
    for option in marked:
        assert option.source == "practice, set by A. Vet on 02 Jun 2025: label"
        assert "CHANGED by A. Vet on 02 Jun 2025" in dose_line(medicine.name, option)


def test_pieces_too_large_to_count_a_dose_out_of_are_not_offered_where_smaller_ones_hold_it():
    # UK/IE data sheet: 2.2 mg/kg in 500 kg are 1.1 g: one piece of 1 g, but never one of 2 or 4 g
    options = dose(one_drug(load_drugs(), "phenylbutazone"), 500).options
    light = [
        n for n, o in enumerate(options) if (o.label, o.unit_name) == ("UK, days 2-4", "bolus")
    ]
    assert sorted(options[n].strength.amount for n in light) == [1000, 2000, 4000]
    offered = told_apart(options)
    assert [options[n].strength.amount for n in light if n in offered] == [1000]
    assert len(offered) < len(options)
    kept = next(n for n in light if n not in offered)
    assert kept in told_apart(options, kept=kept)


def test_a_long_list_is_told_dose_by_dose_with_every_strength_of_the_one_chosen():
    options = dose(one_drug(load_drugs(), "phenylbutazone"), 500).options
    offered = told_apart(options)
    doses = {(o.route, o.label, o.end) for o in options}
    shorter = [options[n] for n in first_of_each(options, offered, options[0])]
    assert {(o.route, o.label, o.end) for o in shorter} == doses
    chosen = [o for o in shorter if (o.route, o.label, o.end) == ("PO", "US label", "low")]
    assert {o.strength.form for o in chosen} >= {"tablet", "bolus", "paste", "gel"}
    assert len(shorter) == len(doses) + len(chosen) - 1 < len(offered) / 2
    few = dose(one_drug(load_drugs(), "flunixin"), 500).options
    assert first_of_each(few, told_apart(few), few[0]) == told_apart(few)
