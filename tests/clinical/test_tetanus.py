"""Tetanus after a wound, against the published intervals and their edges."""

from __future__ import annotations

import datetime as dt

import pytest

from fieldnotes.clinical.tetanus import add_months, tetanus_decision
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.knowledge.tetanus import load_tetanus

TABLE = load_tetanus()
LAST = dt.date(2025, 1, 10)


@pytest.mark.parametrize(
    ("wounded", "months", "booster"),
    [
        # AAEP adult horse vaccination chart: over 6 months
        (dt.date(2025, 7, 10), 6, False),
        (dt.date(2025, 7, 11), 6, True),
        (dt.date(2025, 8, 1), 6, True),
        # Updated tetanus guidelines, NZ: over 12 months
        (dt.date(2025, 8, 1), 12, False),
        (dt.date(2026, 1, 11), 12, True),
    ],
)
def test_a_vaccinated_horse_is_boosted_once_the_interval_is_over(wounded, months, booster):
    decision = tetanus_decision(TABLE, wounded, LAST, months)
    assert decision.toxoid is booster
    assert decision.antitoxin_units is None
    assert decision.next_dose is None


@pytest.mark.parametrize("never", [True, False])
def test_unknown_history_counts_as_never_vaccinated(never):
    # Updated tetanus guidelines, NZ; tetanus antitoxin label: 1,500 units, 7-14 days
    decision = tetanus_decision(TABLE, dt.date(2025, 7, 11), None, 6, never=never)
    assert decision.toxoid
    assert decision.antitoxin_units == 1500
    assert decision.next_dose == (dt.date(2025, 8, 8), dt.date(2025, 8, 22))
    assert decision.antitoxin_cover == (dt.date(2025, 7, 18), dt.date(2025, 7, 25))
    assert decision.antitoxin_repeat == dt.date(2025, 7, 18)


@pytest.mark.parametrize(
    ("wounded", "toxoid", "next_dose"),
    [
        (dt.date(2025, 1, 30), False, (dt.date(2025, 2, 7), dt.date(2025, 2, 21))),
        (dt.date(2025, 2, 7), True, None),
    ],
)
def test_the_first_dose_of_a_course_covers_nobody_before_the_second(wounded, toxoid, next_dose):
    # AAEP adult horse vaccination chart: the second dose 4-6 weeks after the first
    decision = tetanus_decision(TABLE, wounded, LAST, 6, begun=True)
    assert (decision.toxoid, decision.next_dose) == (toxoid, next_dose)
    assert decision.antitoxin_units == 1500
    assert "not covered" in decision.why
    with pytest.raises(RefusedInputError, match="which day"):
        tetanus_decision(TABLE, wounded, None, 6, begun=True)


def test_the_end_of_a_short_month_is_clamped():
    assert add_months(dt.date(2025, 8, 31), 6) == dt.date(2026, 2, 28)
    assert add_months(dt.date(2023, 8, 31), 6) == dt.date(2024, 2, 29)
    assert add_months(dt.date(2025, 12, 1), 12) == dt.date(2026, 12, 1)


def test_a_dose_after_the_wound_or_a_strange_interval_is_refused():
    with pytest.raises(RefusedInputError, match="after the wound"):
        tetanus_decision(TABLE, LAST - dt.timedelta(days=1), LAST, 6)
    with pytest.raises(RefusedInputError, match="7 is no published interval"):
        tetanus_decision(TABLE, LAST, LAST, 7)
    with pytest.raises(RefusedInputError, match="give one"):
        tetanus_decision(TABLE, LAST, LAST, 6, never=True)
