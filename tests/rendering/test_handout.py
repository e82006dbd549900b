from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldnotes.domain.entries import Hold, Referral, ReferralState
from fieldnotes.domain.followups import Doer, Series
from fieldnotes.domain.paperwork import HandoutWording
from fieldnotes.domain.patients import Species
from fieldnotes.domain.text import clean_line
from fieldnotes.domain.treatment import DeviceKind
from fieldnotes.domain.wounds import Amount, Phase
from fieldnotes.rendering.handout.pages import handout_html, handout_text
from fieldnotes.rendering.markdown import escape, html_body, parser, plain_text
from tests.builders import (
    DAY0,
    a_bandage,
    a_care,
    a_case,
    a_device,
    a_drug_dispensed,
    a_drug_given,
    a_finding,
    a_followup,
    a_horse,
    a_visit,
    a_wound,
    an_owner,
    at,
    day,
)
from tests.rendering.handouts import a_sheet, handout_markdown, rich_visit, tables

GOLDEN = Path(__file__).parents[1] / "golden"

HOSTILE = [
    f"{start}{middle}{end}"
    for start in ("", "#", "1. ", "- ", "> ", "  ", "![x](y)", "Ébène ", "{{ 7*7 }}", "&lt;")
    for middle in (
        "[/]",
        "[L hind]",
        "[@click=app.quit]",
        "*star* _under_ __two__",
        "<b>bold</b>",
        "http://example.org <a@example.org>",
        "`code` ~~no~~",
        "a|b|c",
        "back\\slash \\* \\",
        "# no heading #",
    )
    for end in ("", " \U0001f40e\u0627\u0644")
]


def shown(markdown: str) -> str:
    return plain_text(markdown).rstrip("\n")


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_is_shown_as_written(name):
    assert shown(f"For {escape(name)}.") == f"For {clean_line(name)}."
    assert shown(escape(name)) == clean_line(name)
    body = html_body(escape(name), {})
    assert set(re.findall(r"</?([a-z0-9]+)", body)) == {"p"}


@given(st.text(max_size=60))
@settings(max_examples=300, deadline=None)
def test_any_record_text_stays_one_paragraph_of_its_own_words(text):
    cleaned = clean_line(text)
    tokens = parser().parse(escape(text))
    assert [t.type for t in tokens] in ([], ["paragraph_open", "inline", "paragraph_close"])
    assert shown(escape(text)) == cleaned.strip()


def test_escaping_leaves_letters_spaces_and_numbers_alone():
    assert escape("Bramble the Second, 16.2 hh") == "Bramble the Second, 16.2 hh"


def test_the_handout_names_horse_owner_phone_rechecks_and_drugs_with_amounts():
    markdown, problems = handout_markdown(a_sheet())
    assert problems == ()
    for said in (
        "Aftercare for Bramble",
        "Olive Owner",
        "01632 960001",
        "2025-06-05",
        "2025-06-15",
        "phenylbutazone: 1 sachet in feed (1 g)",
        "trimethoprim sulfonamide: 2 level scoops (15 g)",
        "Batch: B123",
        "silver sulfadiazine 1 % cream",
        "drain",
        "front of the left hind cannon bone",
    ):
        assert said in markdown


def test_urgent_signs_stand_before_those_of_the_same_day():
    # Sheet section 4.1: "urgent" rows must appear before "same day" rows.
    markdown, _ = handout_markdown(a_sheet())
    assert markdown.index("## Call now") < markdown.index("## Call the same day")
    assert markdown.index("39.0 °C (102.2 °F)") < markdown.index("38.6 °C (101.5 °F)")
    assert markdown.index("## Call the same day") < markdown.index("## What happened")


def test_text_and_html_say_the_same_words_as_the_markdown():
    sheet = a_sheet()
    markdown, _ = handout_markdown(sheet)
    body = handout_html(sheet, markdown).split("<body>")[1]
    in_html = re.sub(r"<[^>]+>", " ", body).replace("&amp;", "&").replace("&quot;", '"')
    in_text = re.sub(r"(?m)^(\d+\.|-) |=|\|", " ", handout_text(markdown))
    assert in_html.casefold().split() == in_text.casefold().split()


def test_a_cast_gets_the_cast_sheet_and_no_bandage_steps():
    visit = rich_visit(care=(a_care(placed=(a_device(DeviceKind.CAST),)),))
    sheet = a_sheet(visit)
    assert sheet.cast
    assert (sheet.bandages, sheet.bandage_notes, sheet.mistakes, sheet.purchases) == ((),) * 4


def test_a_removed_drain_is_not_spoken_of_any_more():
    gone = a_visit(3, care=(a_care(removed=("drain",)),))
    sheet = a_sheet(case=a_case(rich_visit(), gone))
    assert not any("drain" in line for line in sheet.today)


def test_a_donkey_has_limits_of_its_own():
    horse, donkey = a_sheet(), a_sheet(horse=a_horse(species=Species.DONKEY))
    assert horse.today[0] != donkey.today[0]


def test_a_bare_open_case_still_yields_a_handout_and_says_what_is_missing():
    sheet = a_sheet(
        case=a_case(),
        plan=(),
        horse=a_horse(weight_kg=None),
        owner=an_owner(email="", phone=""),
        premises=None,
        vet=None,
    )
    markdown, _ = handout_markdown(sheet)
    assert "No body weight" in markdown
    assert "no email" in markdown
    assert "no phone" in markdown
    assert "None" not in markdown


def test_farm_walk_and_questions_come_only_once():
    assert a_sheet(once=True).walk
    later = a_sheet(once=False)
    assert (later.walk, later.teach_back) == ((), ())


def test_a_horse_named_like_a_place_holder_keeps_its_name():
    assert "{call} will not put weight" in " ".join(a_sheet(horse=a_horse(name="{call}")).now)


def test_a_broken_template_is_named_by_line_and_the_shipped_one_is_used():
    good, _ = handout_markdown(a_sheet())
    for own in ("fine\n{% if %}", "fine\n{{ sheet.nothing }}"):
        markdown, problems = handout_markdown(a_sheet(), own)
        assert markdown == good
        assert "line 2" in problems[0].message


def test_the_practice_may_use_its_own_template():
    markdown, problems = handout_markdown(a_sheet(), "# {{ sheet.horse }}")
    assert (markdown, problems) == ("# Bramble\n", ())


def test_every_block_fills_all_its_place_holders():
    for block in tables().texts.blocks:
        known = {"horse", "call", "urgent", "cover", "hospital", "phone", "ended"}
        known |= {f"{s.what}_at" for s in tables().texts.sedation}
        assert set(re.findall(r"{(\w+)}", block.text)) <= known


@pytest.mark.parametrize("form", ["md", "txt", "html"])
def test_the_handout_reads_as_agreed(form):
    sheet = a_sheet()
    markdown, _ = handout_markdown(sheet)
    made = {
        "md": markdown,
        "txt": handout_text(markdown),
        "html": handout_html(sheet, markdown),
    }[form]
    assert made == (GOLDEN / f"handout.{form}").read_text(encoding="utf-8")


def test_a_course_of_three_days_once_a_day_has_three_dates():
    # Arithmetic: doses at 9:00 on 2, 3 and 4 June.
    course = a_drug_dispensed(starts=at(0, 9), interval_h=24.0, days=3.0)
    sheet = a_sheet(rich_visit(dispensed=(course,)), plan=())
    assert [row.when for row in sheet.days] == ["Mon 2 June to Wed 4 June"]
    assert sheet.medicines[0].days == "3 days, last dose on Wed 4 June"


def test_a_route_said_with_the_dose_is_not_said_twice():
    course = a_drug_dispensed(owner_dose="20 mL by mouth")
    markdown, _ = handout_markdown(a_sheet(rich_visit(dispensed=(course,))))
    assert markdown.count("by mouth") == 2  # the table and the label


def test_instructions_hold_until_a_visit_gives_new_ones_and_say_when_they_were_given():
    first = rich_visit(instructions="Walk in hand.")
    assert a_sheet(first).instructions == ("Walk in hand.",)
    silent, new = a_visit(2), a_visit(3, instructions="Box rest again.")
    assert a_sheet(case=a_case(first, silent)).instructions == (
        "Said on Mon 2 June:",
        "Walk in hand.",
    )
    assert a_sheet(case=a_case(first, silent, new)).instructions == ("Box rest again.",)


def test_a_skin_protectant_is_never_told_to_be_put_on_the_wound():
    def notes(topical):
        return " ".join(a_sheet(rich_visit(care=(a_care(topical=topical),))).ointment_notes)

    jelly = notes("petrolatum on the skin below")
    assert "on the wound only" not in jelly
    assert "Never put it in the wound" in jelly
    both = notes("silver sulfadiazine 1 % cream; petrolatum on the skin below")
    assert "wound cream on the wound only" in both
    assert "Never put it in the wound" in both


@pytest.mark.parametrize(("age_days", "normal"), [(82, "37.5"), (182, "37.5"), (183, "37.2")])
def test_a_foal_keeps_the_foal_limits_for_six_months(age_days, normal):
    # From memory: half a year, as the program counts foals elsewhere.
    foal = a_horse(born=DAY0 - dt.timedelta(days=age_days))
    assert a_sheet(horse=foal).normal_temperature.startswith(normal)


def cast_over_a_bandage():
    # An owner's own bandage first, the cast put over it two days later.
    cast = a_care(placed=(a_device(DeviceKind.CAST),))
    return a_case(rich_visit(), a_visit(2, care=(cast,)))


def test_trouble_in_a_cast_is_called_in_at_once_and_nowhere_put_off():
    sheet = a_sheet(case=cast_over_a_bandage())
    assert any("hot spot" in line for line in sheet.now)
    assert not any(re.search("lame|smell|rub|hot", line) for line in sheet.today)
    assert any("call us now" in line for line in sheet.cast)


def test_a_bandage_and_a_wound_under_a_cast_are_not_the_owners_to_tend():
    sheet = a_sheet(case=cast_over_a_bandage(), plan=())
    assert (sheet.bandages, sheet.purchases, sheet.cleaning, sheet.ointments) == ((),) * 4
    told = (*sheet.three, *sheet.now, *sheet.today, *sheet.bandage_notes, *sheet.teach_back)
    assert not any("bandage" in line for line in told)


def test_a_second_wound_outside_the_cast_keeps_its_own_advice():
    wounds = (a_wound("A"), a_wound("B", "left.hind.gaskin.lateral"))
    care = (a_care("A", placed=(a_device(DeviceKind.CAST),)), a_care("B", bandage=a_bandage()))
    sheet = a_sheet(case=a_case(rich_visit(care=care), wounds=wounds))
    assert "Keep the cast and the bandage clean and dry." in sheet.three
    assert any("pus" in line for line in sheet.today)


def test_skin_below_a_bandage_is_washed_when_the_bandage_is_changed():
    assert any(line.startswith("At each bandage change, wash") for line in a_sheet().cleaning)
    wet = (a_finding(exudate=Amount.HEAVY),)
    bare = a_sheet(rich_visit(findings=wet, care=(a_care(),)))
    assert any("each day" in line for line in bare.cleaning)
    ours = a_care(bandage=a_bandage(changed_by="vet"))
    assert not any("ash" in line for line in a_sheet(rich_visit(care=(ours,))).cleaning)


def test_a_visit_of_ours_that_is_late_shows_no_past_date():
    late = a_followup("recheck", -6, -5, -4)
    row = next(r for r in a_sheet(plan=(late,)).days if r.who == "We")
    assert (row.when, row.what) == ("overdue: call us for a time", "Recheck.")
    booked = a_followup("recheck", -6, -5, -4, appointment=at(1, 10))
    rows = a_sheet(plan=(booked,)).days
    assert any(r.when == "Tue 3 June 2025 (2025-06-03), 10:00" for r in rows)


def test_a_horse_sent_to_a_hospital_or_on_hold_says_whom_to_call():
    sent = Referral(ReferralState.ACCEPTED, DAY0, to="the hospital at Upper Hill")
    standing = a_sheet(case=a_case(rich_visit(), sent)).standing
    assert "under the care of the hospital at Upper Hill" in " ".join(standing)
    back = Referral(ReferralState.RETURNED, DAY0)
    assert a_sheet(case=a_case(rich_visit(), sent, back)).standing == ()
    held = a_sheet(case=a_case(rich_visit(), Hold(on_hold=True, on=DAY0))).standing
    assert "on hold. Call us on 01632" in " ".join(held)


def test_the_table_has_skin_under_a_bandage_washed_at_the_change_too():
    daily = Series(1, DAY0 + dt.timedelta(days=6))
    wash = a_followup(
        "wash below", by=Doer.OWNER, rule="skin-below-wound", wounds=("A",), series=daily
    )

    def row(visit):
        return next(r.what for r in a_sheet(visit, plan=(wash,)).days if "Wash" in r.what)

    assert row(rich_visit()) == "Wash below, at each bandage change."
    assert row(rich_visit(care=(a_care(),))) == "Wash below, each day."


def test_no_cream_goes_on_a_healed_wound():
    healed = a_visit(30, findings=(a_finding(phase=Phase.HEALED),))
    assert a_sheet(case=a_case(rich_visit(), healed)).ointments == ()


@pytest.mark.parametrize("kind", ["held", "sent"])
def test_a_held_or_sent_case_has_no_bandage_steps_no_layers_and_nothing_to_buy(kind):
    stop = {
        "held": Hold(on_hold=True, on=DAY0),
        "sent": Referral(ReferralState.ACCEPTED, DAY0, to="the hospital"),
    }[kind]
    sheet = a_sheet(case=a_case(rich_visit(), stop), plan=())
    assert (sheet.bandages, sheet.purchases, sheet.mistakes) == ((), (), ())
    (told,) = sheet.bandage_notes
    assert "Do not take" in told
    markdown, _ = handout_markdown(sheet)
    assert "bandage change" not in markdown
    assert "Wrap each layer" not in markdown


def test_a_horse_in_a_hospital_gets_no_stable_or_cream_orders_from_us():
    sent = Referral(ReferralState.ACCEPTED, DAY0, to="the hospital at Upper Hill")
    sheet = a_sheet(case=a_case(rich_visit(), sent), plan=())
    assert sheet.three[0] == "Do first what the hospital at Upper Hill tells you."
    assert (sheet.ointments, sheet.rest, sheet.days) == ((), (), ())


def test_what_an_owner_left_undone_is_for_today_and_no_past_day_is_printed():
    late = a_followup("change the bandage", -6, -5, -4, by=Doer.OWNER)
    running = a_followup("look", -6, -5, 5, by=Doer.OWNER, series=Series(1, day(5)))
    ended = a_followup("wash", -6, -5, -2, by=Doer.OWNER, series=Series(1, day(-2)))
    sheet = a_sheet(rich_visit(dispensed=()), plan=(late, running, ended))
    assert [row.day for row in sheet.days] == [DAY0] * 3
    assert [row.when for row in sheet.days] == [
        "overdue: today, Mon 2 June",
        "Mon 2 June to Sat 7 June",
        "overdue: today, Mon 2 June",
    ]


def test_the_sheet_says_whether_the_owner_was_shown_the_bandage_change():
    def notes(shown):
        bandage = a_bandage(change_every_days=2.0, shown=shown)
        return " ".join(a_sheet(rich_visit(care=(a_care(bandage=bandage),))).bandage_notes)

    assert "Do it as we showed you. If you are not sure" in notes(shown=True)
    assert "Call us before the first change." in notes(shown=False)
    assert "If you were not shown" in notes(shown=None)


def test_a_bandage_nobody_there_can_change_is_left_to_the_vet():
    ours = a_care(bandage=a_bandage(changed_by="nobody"))
    sheet = a_sheet(rich_visit(care=(ours,)))
    assert sheet.bandages == ()
    assert any("We change this bandage" in line for line in sheet.bandage_notes)


def test_after_a_sedative_the_sheet_says_from_when_to_feed_turn_out_and_drive():
    # Practice defaults of the table: 2, 4 and 6 hours after the last dose, here 9:30.
    sedated = rich_visit(given=(a_drug_given("detomidine", at=at(0, 9, 30)),))
    told = " ".join(a_sheet(sedated).rest)
    assert "no feed before 11:30" in told
    assert "No turnout before 13:30. No travel before 15:30." in told
    late = rich_visit(given=(a_drug_given("detomidine", at=at(0, 20)),))
    assert "No travel before 02:00 on Tue 3 June" in " ".join(a_sheet(late).rest)


def test_a_label_names_every_thing_a_dispensed_drug_must_carry():
    course = a_drug_dispensed(batch="", withdrawal="")
    label = a_sheet(rich_visit(dispensed=(course,))).medicines[0]
    said = (label.animal, label.owner, label.drug, label.dose, label.often, label.days, label.vet)
    assert all((*said, label.date))
    markdown, _ = handout_markdown(a_sheet(rich_visit(dispensed=(course,))))
    assert "Batch: not noted. Use by: not noted. Withdrawal time: ask us." in markdown


def test_no_closing_day_and_no_word_meant_for_the_vet_stand_on_the_sheet():
    markdown, _ = handout_markdown(a_sheet())
    for told in (
        "practice default",
        "from memory",
        "common practice",
        "closure",
        "left.hind",
        "[[",
    ):
        assert told not in markdown
    assert not re.search(r"will (be|have) (healed|closed) (on|by)", markdown)


def test_the_vets_own_words_for_one_case_stand_first_and_the_newest_count():
    first, second = HandoutWording("Ring me on Friday."), HandoutWording("Ring me on Monday.")
    sheet = a_sheet(case=a_case(rich_visit(), first, second))
    assert sheet.instructions[0] == "Ring me on Monday."
    gone = a_sheet(case=a_case(rich_visit(), first, HandoutWording("")))
    assert gone.instructions == ("Walk in hand 5 minutes from Friday.",)


def test_what_to_buy_counts_the_changes_the_plan_leaves_to_the_owner():
    # PLAN: every 2 days from day 2 up to day 14 is seven changes; one foam dressing at each, and
    # two rolls of elastic: hind cannon 22 cm, 35 cm high, padding 2.5 cm, 2 x 7 turns of 37.7 cm.
    bought = {p.item: p.number for p in a_sheet().purchases}
    assert bought["hydrophilic foam dressing"] == 7
    assert bought["cohesive elastic 10 cm x 4.5 m, roll"] == 14
    assert not a_sheet(plan=()).purchases
