"""The register refuses what cannot be right, books draws from visits, and lists what is open."""

from __future__ import annotations

import datetime as dt

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.casework.dying import death_problems, record_death
from fieldnotes.casework.pharmacy import Pharmacy
from fieldnotes.domain.cases import Status
from fieldnotes.domain.entries import Amendment, Death, PracticeSet
from fieldnotes.domain.errors import RefusedInputError, StoreError, UnknownNameError
from fieldnotes.domain.vials import MoveKind, VialCorrection, VialCount, VialReceived
from fieldnotes.storage.casebook import Casebook, create_store
from tests.builders import (
    a_drug_given,
    a_move,
    a_practice,
    a_vial,
    a_visit,
    an_opening,
    at,
    day,
)
from tests.desks import Clock, first_visit, known
from tests.fakes import RecordsInMemory

TORB = {"amount": 5.0, "unit": "mg", "route": "IV", "volume_ml": 0.5, "at": at(0, 9)}


def butorphanol(**changes):
    return a_drug_given("butorphanol", **(TORB | {"reason": "field dose"} | changes))


@pytest.fixture
def desk():
    desk = known(Casework(RecordsInMemory(), Clock(at(0, 12))))
    desk.save(PracticeSet(a_practice(jurisdiction="US")))
    desk.pharmacy.write(VialReceived(a_vial()))
    return desk


def refused(desk, body):
    with pytest.raises(RefusedInputError) as error:
        desk.pharmacy.write(body)
    return error.value


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"drug": ""}, "drug"),
        ({"batch": " "}, "batch"),
        ({"received_from": ""}, "received_from"),
        ({"unit": ""}, "unit"),
        ({"id": "V1"}, "id"),
        ({"amount_per_ml": 0}, "amount_per_ml"),
        ({"amount_per_ml": float("nan")}, "vial.amount_per_ml"),
        ({"volume_ml": 0}, "volume_ml"),
        ({"volume_ml": 5000}, "volume_ml"),
        ({"received_at": at(2)}, "received_at"),
        ({"expiry": dt.date(2024, 1, 1)}, "expiry"),
    ],
)
def test_a_receipt_that_cannot_be_right_is_refused_at_its_field(desk, changes, field):
    assert refused(desk, VialReceived(a_vial(**({"id": "V2"} | changes)))).field == field


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"volume_ml": 0}, "volume_ml"),
        ({"volume_ml": 10.1}, "volume_ml"),
        ({"at": at(1)}, "at"),
        ({"at": at(0, 5)}, "at"),
        ({"who": ""}, "who"),
        ({"who": "stranger"}, "who"),
        ({"horse": ""}, "horse"),
        ({"witness": "ada vet"}, "witness"),
        ({"what": MoveKind.WASTED, "reason": "spilt"}, "witness"),
        ({"what": MoveKind.WASTED, "witness": "Jo"}, "reason"),
        ({"what": MoveKind.DESTROYED}, "witness"),
        ({"what": MoveKind.LOST, "witness": "Jo"}, "reason"),
        ({"what": MoveKind.RETURNED}, "to"),
    ],
)
def test_a_move_that_cannot_be_right_is_refused_at_its_field(desk, changes, field):
    assert refused(desk, a_move(**changes)).field == field


def test_a_draw_beyond_the_balance_passes_with_a_reason_only(desk):
    assert "10 mL reckoned to be left" in refused(desk, a_move(11)).reason
    desk.pharmacy.write(a_move(11, reason="overfilled vial, counted after"))
    assert desk.pharmacy.account("v1").balance_ml == -1


def test_an_expired_vial_is_refused_without_a_typed_reason(desk):
    desk.pharmacy.write(
        VialReceived(a_vial(id="V2", expiry=day(-1), reason="for destruction, client's return"))
    )
    assert "V2 expired on 01 Jun 2025" in refused(desk, a_move(vial="V2")).reason
    desk.pharmacy.write(a_move(vial="V2", reason="nothing else on the truck"))


def test_a_vial_nobody_received_is_refused_by_its_mark(desk):
    with pytest.raises(UnknownNameError, match="no vial is marked 'V9': there are V1"):
        desk.pharmacy.write(a_move(vial="V9"))


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"of": "d9-1"}, "of"),
        ({"why": " "}, "why"),
        ({"volume_ml": 1.0, "struck": True}, "volume_ml"),
        ({"volume_ml": -1.0}, "volume_ml"),
        ({}, "text"),
        ({"text": "x", "at": at(3)}, "at"),
    ],
)
def test_a_correction_names_an_entry_says_why_and_changes_something(desk, changes, field):
    first = desk.pharmacy.account("V1").lines[0].entry.id
    values = {"of": first, "why": "misread", "who": "vet1", "at": at(0, 11)} | changes
    assert refused(desk, VialCorrection(**values)).field.endswith(field)


def test_a_count_may_find_nothing_but_never_less(desk):
    desk.pharmacy.write(VialCount("v1", 0.0, at(0, 11), "vet1"))
    assert desk.pharmacy.account("V1").discrepancy.volume_ml == -10
    assert refused(desk, VialCount("V1", -1.0, at(0, 11), "vet1")).field.endswith("volume_ml")


def test_a_visit_that_names_the_vial_books_its_draw(desk):
    saved = desk.open_case(an_opening(), first_visit(given=(butorphanol(vial="V1"),)))
    line = desk.pharmacy.account("V1").lines[-1]
    assert (line.what, line.balance_ml) == ("drawn", 9.5)
    body = line.entry.body
    assert (body.case, body.horse, body.visit, body.item) == (
        saved.ref, "horse1", saved.entries[1], 0,
    )  # fmt: skip
    assert desk.pharmacy.open_doses() == ()


def test_what_was_drawn_up_is_booked_where_it_was_more_than_was_given(desk):
    desk.open_case(an_opening(), first_visit(given=(butorphanol(vial="V1", drawn=0.7),)))
    assert desk.pharmacy.account("V1").balance_ml == 9.3


def test_a_dose_not_booked_is_an_open_item_until_it_is(desk):
    saved = desk.open_case(an_opening(), first_visit(given=(butorphanol(),)))
    (still,) = desk.pharmacy.open_doses()
    assert (still.case, still.horse, still.volume_ml) == (saved.ref, "Bramble", 0.5)
    desk.pharmacy.write(a_move(0.5, case=saved.ref, visit=still.visit, item=still.item))
    assert desk.pharmacy.open_doses() == ()


def test_a_dose_booked_otherwise_than_the_corrected_visit_says_is_open_again(desk):
    saved = desk.open_case(an_opening(), first_visit(given=(butorphanol(vial="V1"),)))
    right = first_visit(given=(butorphanol(vial="V1", amount=10.0, volume_ml=1.0),))
    desk.record(saved.ref, Amendment(saved.entries[1], "10 mg given", "misread", right))
    (still,) = desk.pharmacy.open_doses()
    assert (still.volume_ml, still.booked_ml) == (1.0, 0.5)


def test_a_horse_euthanased_from_no_vial_is_an_open_dose_until_it_is_booked(desk):
    ref = desk.open_case(an_opening(), first_visit()).ref
    death = Death(day(0), euthanased=True, drug="Pentobarbital")
    assert not list(death_problems(desk, ref, death, (), "", unbooked=True))
    record_death(desk, ref, death, (), "")
    (dose,) = desk.pharmacy.open_doses()
    assert (dose.case, dose.drug, dose.volume_ml) == (ref, "pentobarbital", None)
    desk.pharmacy.write(VialReceived(a_vial(id="V2", drug="pentobarbital", name="pentobarbital")))
    desk.pharmacy.write(a_move(vial="V2", case=ref, visit=dose.visit, item=dose.item, at=dose.at))
    assert desk.pharmacy.open_doses() == ()


def test_a_draw_booked_with_the_death_leaves_nothing_open_and_no_name_is_refused(desk):
    ref = desk.open_case(an_opening(), first_visit()).ref
    (problem,) = death_problems(desk, ref, Death(day(0), euthanased=True), (), "", unbooked=True)
    assert problem.field == "drug"
    desk.pharmacy.write(VialReceived(a_vial(id="V2", drug="pentobarbital", name="pentobarbital")))
    death = Death(day(0), euthanased=True, drug="pentobarbital")
    record_death(desk, ref, death, (("V2", 5.0),), "")
    assert desk.pharmacy.open_doses() == ()


def test_a_draw_that_cannot_be_booked_is_told_and_the_death_stands(desk, monkeypatch):
    ref = desk.open_case(an_opening(), first_visit()).ref
    desk.pharmacy.write(VialReceived(a_vial(id="V2", drug="pentobarbital", name="pentobarbital")))

    def full(*_):
        raise StoreError("the disk is full")

    monkeypatch.setattr(Pharmacy, "write", full)
    death = Death(day(0), euthanased=True, drug="pentobarbital")
    saved = record_death(desk, ref, death, (("V2", 5.0),), "")
    assert desk.case(ref).status is Status.DIED
    assert saved.unwritten.startswith("5 mL from vial V2 not booked")
    assert "the disk is full" in saved.unwritten


def test_what_owner_or_another_vet_gave_is_not_booked_here(desk):
    desk.open_case(an_opening(), first_visit(given=(butorphanol(given_by="other"),)))
    assert desk.pharmacy.open_doses() == ()


@pytest.mark.parametrize(
    ("doses", "says"),
    [
        ((butorphanol(vial="V9"),), "no vial is marked"),
        ((a_drug_given("flunixin", vial="V1"),), "V1 holds butorphanol, not flunixin"),
        ((butorphanol(vial="V1", volume_ml=None, amount=None),), "how much came out"),
        ((butorphanol(vial="V1", drawn=6.0, reason=""),) * 2, "12 mL is more than the 10 mL"),
    ],
)
def test_a_visit_is_refused_at_a_vial_that_cannot_be_right(desk, doses, says):
    found = desk.check_opening(an_opening(), first_visit(given=doses))
    assert any(says in p.message and p.field.startswith("given.") for p in found)


def test_the_report_of_a_period_holds_the_vials_and_what_is_open(desk):
    desk.open_case(an_opening(), first_visit(given=(butorphanol(vial="V1"), butorphanol())))
    report = desk.pharmacy.report(day(0), day(0))
    assert [p.closing_ml for p in report.accounts] == [9.5]
    assert len(report.open_doses) == 1
    assert report.law.id == "US"
    with pytest.raises(RefusedInputError, match="is before"):
        desk.pharmacy.report(day(1), day(0))


def test_the_register_on_disk_survives_the_loss_of_its_index(tmp_path):
    create_store(tmp_path / "store")
    desk = known(Casework(Casebook(tmp_path / "store"), Clock(at(0, 12))))
    desk.pharmacy.write(VialReceived(a_vial()))
    desk.pharmacy.write(a_move(2))
    again = Casework(Casebook(tmp_path / "store"), Clock(at(0, 12)))
    for file in (tmp_path / "store" / "index").iterdir():
        file.unlink()
    assert [a.balance_ml for a in again.pharmacy.accounts()] == [8]
    assert again.pharmacy.next_mark() == "V2"


def test_a_later_visit_books_its_draw_as_well(desk):
    saved = desk.open_case(an_opening(), first_visit())
    dose = butorphanol(vial="V1", at=at(0, 11))
    desk.record(saved.ref, a_visit(at(0, 11), given=(dose,)))
    assert desk.pharmacy.account("V1").balance_ml == 9.5


def test_a_visit_whose_draw_cannot_be_written_is_saved_and_the_dose_stays_open(desk, monkeypatch):
    records = desk._records
    append = records.append

    def broken(stream, bodies, author, time):
        if stream == "register":
            raise StoreError("the disk is full")
        return append(stream, bodies, author, time)

    monkeypatch.setattr(records, "append", broken)
    saved = desk.open_case(an_opening(), first_visit(given=(butorphanol(vial="V1"),)))
    assert len(saved.entries) == 2
    assert [x.case for x in desk.pharmacy.open_doses()] == [saved.ref]
