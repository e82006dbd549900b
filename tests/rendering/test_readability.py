import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.cli.main import main
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.rendering.readability import grade, grade_counts, verdict
from fieldnotes.rendering.syllables import number_syllables, syllables

PLATYPUS = (13, 1, 24, 0)  # the published example sentence of the Flesch-Kincaid grade


# Kincaid et al., Derivation of new readability formulas, 1975; Flesch 1948.
@pytest.mark.parametrize(
    ("counts", "grade_level", "ease"),
    [
        (PLATYPUS, 11.26, 37.46),
        ((570, 100, 581.4, 0), -1.33, 114.76),
        ((1, 1, 1, 0), -3.40, 121.22),
        ((2, 1, 2, 0), -3.01, 120.205),
        ((15, 3, 15, 0), -1.84, 117.16),
        ((23, 3, 31, 1), 3.30, 85.03),
    ],
)
def test_the_grades_are_the_published_ones(counts, grade_level, ease):
    reading = grade_counts(*counts)
    assert reading.flesch_kincaid_grade == pytest.approx(grade_level, abs=0.01)
    assert reading.flesch_reading_ease == pytest.approx(ease, abs=0.01)


@pytest.mark.parametrize(("hard", "smog"), [(64, 11.473), (80, 12.458), (0, 3.1291)])
def test_smog_is_the_published_one(hard, smog):
    # McLaughlin, SMOG grading - a new readability formula, 1969.
    assert grade_counts(300, 30, 450, hard).smog == pytest.approx(smog, abs=0.001)


@pytest.mark.parametrize(
    ("level", "says"),
    [(-1.84, "pass"), (6.0, "pass"), (6.1, "amber"), (8.0, "amber"), (8.64, "fail")],
)
def test_a_sheet_passes_up_to_grade_6_and_fails_above_8(level, says):
    assert verdict(level) == says


@pytest.mark.parametrize(
    ("text", "counts"),
    [  # counted by hand
        ("Keep the leg dry. Check the wrap twice a day. Call us if it slips.", (15, 3, 15, 0)),
        (
            (
                "Give the medicine with food each morning. Do not ride until the recheck. "
                "Swelling above the bandage means it may be too tight."
            ),
            (23, 3, 31, 1),
        ),
        (
            (
                "Look at the bandage twice a day. It must be clean and dry. If it slips, call us "
                "the same day. Do not pull it tight again."
            ),
            (27, 4, 29, 0),
        ),
    ],
)
def test_a_text_is_counted_as_by_hand(text, counts):
    reading = grade(text)
    assert (reading.words, reading.sentences) == counts[:2]
    assert reading.syllables == pytest.approx(counts[2], abs=1)
    by_hand = grade_counts(*counts).flesch_kincaid_grade
    assert reading.flesch_kincaid_grade == pytest.approx(by_hand, abs=1)


def test_a_heading_a_list_item_and_a_table_row_each_end_a_sentence():
    items = "# Call now\n\n- cold foot\n- [ ] off food\n  or dull\n\n"
    text = items + "| Drug | Dose |\n|---|---|\n| Pen | one |\n"
    assert grade(text).sentences == 5
    assert grade(text).words == 12
    assert grade(text, without_tables=True).sentences == 3


def test_figures_with_units_dates_phones_and_addresses_are_no_words():
    text = (
        "Give 12 ml by 2026-11-25 or 3 June 2026. Call 01632 960123 at 38.6 °C. "
        "Write to vet@example.org or https://example.org/x."
    )
    reading = grade(text)
    assert reading.words == 8  # Give by or Call at Write to or


def test_emphasis_links_and_short_forms_are_read_as_written():
    reading = grade("**Rest** the [horse](https://example.org), e.g. in a box. Done.")
    assert (reading.words, reading.sentences) == (9, 2)


@pytest.mark.parametrize(
    ("word", "count"),
    [
        ("table", 2), ("safely", 2), ("cleaned", 1), ("treated", 2), ("handled", 2),
        ("bandages", 3), ("makes", 1), ("antibiotic", 5), ("temperature", 4), ("layer", 2),
        ("applied", 2), ("serious", 3), ("special", 2), ("non-stick", 2), ("horse's", 1),
        ("iodine", 3), ("immediately", 5), ("cohesive", 3), ("28", 3),
    ],
)  # fmt: skip
def test_syllables_are_counted_as_spoken(word, count):
    assert syllables(word) == count


def test_numbers_are_counted_as_spoken():
    spoken = {7: 2, 11: 3, 21: 3, 70: 3, 100: 3, 1000: 3, 250: 5}
    assert {n: number_syllables(n) for n in spoken} == spoken


def test_the_hardest_sentence_is_named():
    hard = "Immediately administer antibiotic medication intramuscularly."
    assert grade(f"Keep it dry. {hard}").hardest == (hard,)
    assert grade("Keep it dry. Call us.").hardest == ()


@given(st.text(max_size=200))
def test_any_text_is_graded_or_refused(text):
    try:
        reading = grade(text)
    except RefusedInputError:
        return
    assert reading.sentences <= reading.words <= reading.syllables


def test_the_command_grades_a_file_or_given_counts(capsys, tmp_path):
    sheet = tmp_path / "sheet.md"
    sheet.write_text("Keep the leg dry. Check the wrap twice a day. Call us if it slips.")
    assert main(["reckon", "readability", str(sheet), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["words"] == 15
    assert main(["reckon", "readability", "--counts", "13,1,24,0", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["flesch_kincaid_grade"] == pytest.approx(11.26, abs=0.01)
    for bad in ("1,2", "0,0,0,0", "5,9,5,0"):
        assert main(["reckon", "readability", "--counts", bad]) == 1
        assert "counts" in capsys.readouterr().err
