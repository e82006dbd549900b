"""The controlled-drug register adds up, shows what is off, and keeps what was corrected."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldnotes.domain.vial_book import fold_vials, period, said_ml
from fieldnotes.domain.vials import MoveKind, VialCorrection, VialCount, VialReceived
from tests.builders import a_move, a_vial, at, day, entries


def account(*bodies, **vial):
    return fold_vials(entries(VialReceived(a_vial(**vial)), *bodies, stream="register"))[0]


def count(volume_ml, when=1, hour=9, **more):
    return VialCount("V1", volume_ml, at(when, hour), "vet1", **more)


def correct(number, **changes):
    return VialCorrection(f"d1-{number}", "misread", "vet1", at(2), **changes)


def test_each_entry_carries_the_balance_after_it():
    found = account(
        a_move(0.6), a_move(0.1, what=MoveKind.WASTED), a_move(9.3, what=MoveKind.DESTROYED)
    )
    assert [line.balance_ml for line in found.lines] == [10, 9.4, 9.3, 0]


@settings(max_examples=60)
@given(st.lists(st.integers(1, 5000), max_size=30), st.randoms())
def test_what_came_in_less_what_went_out_is_what_is_left_in_any_order_of_reading(tenths, shuffle):
    moves = [a_move(n / 1000, at=at(0, 10) + dt.timedelta(minutes=n)) for n in tenths]
    read = list(entries(VialReceived(a_vial()), *moves, stream="register"))
    shuffle.shuffle(read)
    found = fold_vials(read)[0]
    assert found.balance_ml == pytest.approx(10 - sum(tenths) / 1000, abs=1e-6)
    assert len(found.lines) == len(tenths) + 1


def test_a_count_that_agrees_is_no_discrepancy_whatever_the_binary_rounding():
    assert account(a_move(0.1), a_move(0.2), count(9.7)).discrepancy is None


def test_a_discrepancy_says_how_much_since_which_good_count_and_when_first_seen():
    found = account(count(10, 1), a_move(1, at=at(1, 12)), count(8.5, 2), count(8.5, 3))
    off = found.discrepancy
    assert off is not None
    assert (off.volume_ml, off.agreed_at, off.seen_at) == (-0.5, at(1), at(2))


def test_a_discrepancy_of_a_vial_never_counted_well_arose_since_it_came_in():
    off = account(count(9, 1)).discrepancy
    assert off is not None
    assert off.agreed_at == at(0, 6)


def test_a_draw_booked_late_takes_its_place_by_the_time_it_was_drawn():
    found = account(count(9, 1), a_move(1, at=at(0, 12)))
    assert found.discrepancy is None
    assert [line.what for line in found.lines] == ["received", "drawn", "counted"]


def test_a_correction_stands_beside_what_it_corrects():
    found = account(a_move(3), correct(2, volume_ml=3.3))
    drawn = found.lines[1]
    assert (drawn.change_ml, drawn.balance_ml, said_ml(drawn.entry)) == (-3.3, 6.7, 3)
    assert [c.entry.id for c in drawn.corrections] == ["d1-3"]


def test_the_last_correction_of_an_entry_holds_and_a_struck_entry_moves_nothing():
    assert account(a_move(3), correct(2, volume_ml=2), correct(2, volume_ml=4)).balance_ml == 6
    struck = account(a_move(3), correct(2, struck=True))
    assert (struck.balance_ml, struck.lines[1].struck) == (10, True)


def test_a_struck_count_raises_no_discrepancy():
    assert account(count(5), correct(2, struck=True)).discrepancy is None


def test_a_correction_in_words_changes_no_volume():
    assert account(a_move(3), correct(2, text="for Whistle")).balance_ml == 7


def test_a_correction_of_what_the_vial_held_when_it_came_in_moves_every_balance():
    assert account(a_move(3), correct(1, volume_ml=10.4)).balance_ml == 7.4


def test_a_second_receipt_under_one_mark_adds_nothing_and_says_so():
    found = account(VialReceived(a_vial(received_at=at(1))))
    assert found.balance_ml == 10
    assert found.lines[1].doubled


def test_a_period_brings_forward_and_carries_forward():
    found = account(a_move(1), a_move(2, at=at(3)), a_move(3, at=at(5)))
    part = period(found, day(2), day(4), dt.UTC)
    assert (part.opening_ml, len(part.lines), part.closing_ml) == (9, 1, 7)
    quiet = period(found, day(10), day(12), dt.UTC)
    assert (quiet.opening_ml, quiet.lines, quiet.closing_ml) == (4, (), 4)
