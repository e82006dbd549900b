from __future__ import annotations

from email import message_from_bytes, policy

import mistune
import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.casework.letters import KINDS
from fieldnotes.domain.entries import Death, HorseSet, Note
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.treatment import DeviceKind
from fieldnotes.domain.wounds import SynovialEntry
from fieldnotes.rendering.markdown import html_body
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.outbox import Outbox
from fieldnotes.storage.templates import export_shipped
from tests.builders import (
    a_care,
    a_device,
    a_drug_dispensed,
    a_drug_given,
    a_finding,
    a_horse,
    an_opening,
    at,
    day,
)
from tests.desks import Clock, first_visit, known
from tests.fakes import RecordsInMemory
from tests.rendering.test_pdf import LAYERS
from tests.rendering.test_second_opinion import structure


@pytest.fixture
def told():
    desk = known(Casework(RecordsInMemory(), Clock(at(0, 12))))
    sedated = a_drug_given("detomidine", amount=10.0, at=at(0, 8))
    ref = desk.open_case(an_opening(), first_visit(given=(sedated,))).ref
    desk.record(ref, Note("Kicks **hard** <b>behind</b>."))
    return lambda kind, form="text": desk.post.paper(ref, kind, form).decode()


@pytest.mark.parametrize("kind", ["referral", "handover"])
def test_a_letter_says_that_a_mare_is_in_foal_and_that_a_horse_competes(kind):
    desk = known(Casework(RecordsInMemory(), Clock(at(0, 12))))
    ref = desk.open_case(an_opening(), first_visit()).ref
    text = " ".join(desk.post.paper(ref, kind, "text").decode().split())
    assert "Competes: not on record. Breeding: nothing on record." in text
    desk.save(HorseSet(a_horse(competes=True, governing_body="FEI", foaling_due=day(90))))
    text = " ".join(desk.post.paper(ref, kind, "text").decode().split())
    assert f"Competes: yes, under the rules of FEI. Breeding: in foal, due {day(90)}." in text


@pytest.mark.parametrize("kind", ["referral", "handover"])
def test_a_letter_tells_of_the_synovial_doubt_and_an_area_without_sides(kind):
    seen = a_finding(synovial_entry=SynovialEntry.SUSPECTED, length_mm=None, width_mm=None,
                     area_cm2=12.5, exposed=("bone",))  # fmt: skip
    desk = known(Casework(RecordsInMemory(), Clock(at(0, 12))))
    ref = desk.open_case(an_opening(), first_visit(findings=(seen,))).ref
    text = desk.post.paper(ref, kind, "text").decode()
    for said in ("12.5 cm2", "synovial entry suspected", "exposed: bone"):
        assert said in text


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


def test_a_report_has_the_course_the_timeline_and_each_amendment_beside_what_it_amends(told):
    text = told("report")
    assert (
        text.index("TIMELINE")
        < text.index("first visit, Ada Vet")
        < text.index("ENTRIES AS SIGNED")
    )
    assert "Picture: Drawing of a horse" in text
    page = told("report", "html")
    assert page.count("<figure") >= 1
    assert "<svg" in page


def test_labels_and_a_cast_sheet_are_papers_of_their_own_or_refused_in_words():
    desk = known(Casework(RecordsInMemory(), Clock(at(0, 12))))
    cast = a_care(placed=(a_device(DeviceKind.CAST),))
    left = a_drug_dispensed("phenylbutazone", amount=1.2, batch="B77")
    ref = desk.open_case(an_opening(), first_visit(care=(cast,), dispensed=(left,))).ref
    label = desk.post.paper(ref, "labels", "text").decode()
    # The must-have list of the handout: animal, owner, drug, dose, days, batch, expiry, vet, date.
    for said in ("Bramble", "B77", "Use by:", "Withdrawal time:", "2025-06-02", "children"):
        assert said in label
    sheet = desk.post.paper(ref, "cast", "text").decode()
    for said in ("CALL NOW", "smell", "Do not take it off", "Day | Morning | Evening"):
        assert said in sheet
    plain = desk.open_case(an_opening(), first_visit()).ref
    with pytest.raises(RefusedInputError, match="no cast or splint"):
        desk.post.paper(plain, "cast", "text")
    with pytest.raises(RefusedInputError, match="no drug is with"):
        desk.post.paper(plain, "labels", "text")


def test_a_paper_by_mail_needs_an_address_and_goes_even_for_a_horse_that_died(told, tmp_path):
    create_store(tmp_path / "s")
    box = Outbox(tmp_path / "s")
    desk = known(Casework(Casebook(tmp_path / "s"), Clock(at(0, 12)), mail=box))
    ref = desk.open_case(an_opening(), first_visit()).ref
    desk.record(ref, Death(day(0), euthanased=True, consented_by="the owner"))
    with pytest.raises(RefusedInputError, match="which email"):
        desk.post.queue_paper(ref, "report", "")
    desk.post.queue_paper(ref, "report", "clinic@example.org")
    (mail,) = desk.post.outbox()
    assert mail.recipients == ("clinic@example.org",)
    message = message_from_bytes(box.message(mail.id), policy=policy.default)
    assert "image/png" in [p.get_content_type() for p in message.walk()]
    from fieldnotes.casework.mailroom import Mailroom

    assert Mailroom(desk, box, None).held(mail) == ""
    assert desk.case(ref).handouts[0].body.paper == "report"


def test_a_photograph_stands_in_the_report_and_a_lost_one_is_said(tmp_path):
    create_store(tmp_path / "s")
    book = Casebook(tmp_path / "s")
    desk = known(Casework(book, Clock(at(0, 12))))
    ref = desk.open_case(an_opening(), first_visit()).ref
    file = tmp_path / "p.png"
    file.write_bytes(LAYERS)
    desk.album.add(ref, str(file), "A", 'it\'s "raw" & <b>wet</b>')
    page = desk.post.paper(ref, "report", "html").decode()
    assert "data:image/jpeg;base64," in page
    assert "<b>wet" not in page
    (kept,) = desk.album.list(ref)
    book.pictures.path(ref, kept.picture.sha256).write_bytes(b"x")
    assert "was altered" in desk.post.paper(ref, "report", "text").decode()


def test_the_day_sheet_has_phones_tasks_and_the_load(told):
    desk = known(Casework(RecordsInMemory(), Clock(at(0, 12))))
    ref = desk.open_case(an_opening(), first_visit()).ref
    text = desk.post.day_sheet("text", day(1)).decode()
    for said in ("DAY SHEET", "Bramble", f"case {ref}", "07700 900101", "TO LOAD", "☐"):
        assert said.casefold() in text.casefold()


def test_the_practices_own_templates_and_blocks_are_used_and_an_error_is_named_with_its_line(
    tmp_path,
):
    create_store(tmp_path / "s")
    desk = known(Casework(Casebook(tmp_path / "s"), Clock(at(0, 12))))
    ref = desk.open_case(an_opening(), first_visit()).ref
    shipped = desk.post.handout(ref, "markdown")
    assert len(export_shipped(tmp_path / "s")) >= 6
    assert desk.post.handout(ref, "markdown") == shipped  # a copy says the same

    own = tmp_path / "s" / "templates" / "handout.md.j2"
    own.write_text("# Ours\n\nFor {{ sheet.horse }}.\n")
    assert desk.post.handout(ref, "text") == b"Ours\n====\n\nFor Bramble.\n"
    own.write_text("# Ours\n\n{{ sheet.horse }\n")
    assert desk.post.handout(ref, "markdown") == shipped
    assert any("handout.md.j2, line 3: " in fault for fault in desk.post.faults())
    own.write_bytes(b"\xff\xfe")
    assert desk.post.handout(ref, "markdown") == shipped
    own.unlink()

    blocks = tmp_path / "s" / "templates" / "handout.toml"
    text = blocks.read_text()
    blocks.write_text(text.replace("{horse} is dull", "{horse} is sad"))
    assert b"Bramble is sad" in desk.post.handout(ref, "markdown")
    blocks.write_text(text + "\n[[block]\n")
    assert desk.post.handout(ref, "markdown") == shipped
    line = len(text.splitlines()) + 2
    assert any(f"at line {line}" in fault for fault in desk.post.faults())
    assert export_shipped(tmp_path / "s") == ("handout.md.j2",)  # never over the practice's own


def test_another_commonmark_library_renders_every_paper_with_the_same_structure():
    desk = known(Casework(RecordsInMemory(), Clock(at(0, 12))))
    splint = a_care(placed=(a_device(DeviceKind.SPLINT),))
    left = a_drug_dispensed("phenylbutazone", amount=1.2)
    visit = first_visit(care=(splint,), dispensed=(left,), instructions="*Keep* | it <b>dry</b>")
    ref = desk.open_case(an_opening(), visit).ref
    papers = [desk.post.paper(ref, kind, "markdown").decode() for kind in KINDS]
    for markdown in (*papers, desk.post.day_sheet("markdown", day(1)).decode()):
        theirs = str(mistune.create_markdown(plugins=["table"])(markdown))
        assert structure(theirs) == structure(html_body(markdown, {})), markdown[:40]
