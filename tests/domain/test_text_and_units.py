"""Text is shown as written without what would steer a screen; units convert exactly."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.domain.entries import VisitKind
from fieldnotes.domain.text import clean, clean_line, clean_record
from fieldnotes.domain.units import (
    celsius_from_fahrenheit,
    cm_from_in,
    fahrenheit_from_celsius,
    in_from_cm,
    kg_from_lb,
    lb_from_kg,
)
from tests.builders import a_finding, a_visit

# The explicit directional characters of Unicode Standard Annex 9, Unicode Bidirectional
# Algorithm, Unicode Consortium, table "Explicit Directional Formatting".
DIRECTION = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


@given(st.text())
def test_cleaned_text_holds_no_control_and_no_change_of_direction(text):
    cleaned = clean(text)
    assert not set(cleaned) & set(DIRECTION)
    assert all(c in "\n\t" or unicodedata.category(c) not in {"Cc", "Cs"} for c in cleaned)


@given(st.text())
def test_cleaning_twice_changes_nothing_more(text):
    assert clean(clean(text)) == clean(text)
    assert clean_line(clean_line(text)) == clean_line(text)
    assert "\n" not in clean_line(text)


SIGNS = "[]/@=(){}<>&%'\"\\ abcÜß\u0448\u05e2\u0628\u0645\U0001f434é-_*#|"


@given(st.text(st.sampled_from(SIGNS)))
def test_brackets_signs_letters_of_all_scripts_and_emoji_stay_as_written(text):
    assert clean(text) == unicodedata.normalize("NFC", text)


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("so\x1b[31m said", "so[31m said"),
        ("2.5\u202e5.2 mg", "2.55.2 mg"),
        ("one\r\ntwo\rthree", "one\ntwo\nthree"),
        ("a\x00b\x7fc\x9bd", "abcd"),
        ("e\u0301", "é"),
        ("\ud800x", "x"),
        ("\U000e0041hidden", "hidden"),
    ],
)
def test_what_steers_a_terminal_or_hides_is_removed(typed, shown):
    assert clean(typed) == shown


def test_every_text_of_a_record_is_cleaned_however_deep():
    visit = a_visit(0, history="kick\x1b[2J", findings=(a_finding(note="pus\u202e"),))
    cleaned = clean_record(visit)
    assert cleaned.history == "kick[2J"
    assert cleaned.findings[0].note == "pus"
    assert cleaned.kind is VisitKind.FIRST
    assert cleaned.findings[0].length_mm == visit.findings[0].length_mm


def test_a_clean_record_is_given_back_unchanged():
    visit = a_visit(0, findings=(a_finding(),))
    assert clean_record(visit) is visit


def test_pounds_inches_and_fahrenheit_convert_by_definition():
    # Weights and Measures Act 1985 (UK), schedule 1: pound 0.45359237 kg, yard 0.9144 m.
    assert kg_from_lb(1) == 0.45359237
    assert cm_from_in(36) == pytest.approx(91.44)
    assert celsius_from_fahrenheit(212) == 100
    assert fahrenheit_from_celsius(-40) == -40


@given(st.floats(0, 5000))
def test_conversions_come_back(value):
    assert lb_from_kg(kg_from_lb(value)) == pytest.approx(value)
    assert in_from_cm(cm_from_in(value)) == pytest.approx(value)
    assert celsius_from_fahrenheit(fahrenheit_from_celsius(value)) == pytest.approx(value)
