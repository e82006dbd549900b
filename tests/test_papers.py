from __future__ import annotations

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.domain.entries import Note
from fieldnotes.domain.errors import RefusedInputError
from tests.builders import a_drug_given, an_opening, at
from tests.desks import Clock, first_visit, known
from tests.fakes import RecordsInMemory


@pytest.fixture
def told():
    desk = known(Casework(RecordsInMemory(), Clock(at(0, 12))))
    sedated = a_drug_given("detomidine", amount=10.0, at=at(0, 8))
    ref = desk.open_case(an_opening(), first_visit(given=(sedated,))).ref
    desk.record(ref, Note("Kicks **hard** <b>behind</b>."))
    return lambda kind, form="text": desk.post.paper(ref, kind, form).decode()


def test_a_referral_letter_has_drugs_with_times_and_the_check_before_travel(told):
    text = told("referral")
    for said in (
        "detomidine 10 mg IV",
        "Limb stabilised",
        "Bleeding controlled",
        "Last sedative: 2025-06-02",
        "Tetanus:",
        "Allergies:",
        "Vet on call:",
        "01632",
    ):
        assert said in text


def test_a_handover_has_open_flags_next_tasks_and_the_last_temperature(told):
    text = told("handover")
    for said in ("LAST SEEN, AND OPEN FLAGS", "NEXT", "DRUGS WITH TIMES", "Allergies:"):
        assert said in text


def test_a_report_has_every_entry_and_record_text_never_turns_into_markup(told):
    text = told("report")
    assert "Kicks **hard** <b>behind</b>." in text
    assert "SHA-256" in text
    assert "<b>" not in told("report", "html")


def test_a_paper_there_is_not_is_refused_by_name(told):
    with pytest.raises(RefusedInputError, match="referral"):
        told("poem")
    with pytest.raises(RefusedInputError, match="markdown"):
        told("report", "docx")
