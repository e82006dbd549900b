"""A second language, whole enough to print a handout, a calendar and a mail in it."""

from __future__ import annotations

import re
import string
from email import message_from_bytes, policy

import pytest
from icalendar import Calendar

from fieldnotes.casework.desk import Casework
from fieldnotes.domain.entries import OwnerSet, PracticeSet
from fieldnotes.domain.errors import KnowledgeError
from fieldnotes.domain.patients import LANGUAGES
from fieldnotes.domain.treatment import DeviceKind
from fieldnotes.knowledge.handout import load_handout
from fieldnotes.knowledge.language import load_language
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.knowledge.rules import load_rules
from fieldnotes.rendering.owner_text import Expected, owner_text
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.outbox import Outbox
from fieldnotes.storage.templates import shipped
from tests.builders import (
    a_bandage,
    a_care,
    a_device,
    a_drug_dispensed,
    a_drug_given,
    a_practice,
    an_opening,
    an_owner,
    at,
)
from tests.desks import Clock, first_visit, known

OTHERS = [code for code in LANGUAGES if code != "en"]
ENGLISH_WORDS = r"\b(the|you|your|and|with|wound|each|give|call|do not|we|days?|to)\b"


def fields(text):
    return sorted(name for _, name, _, _ in string.Formatter().parse(text) if name)


@pytest.mark.parametrize("code", OTHERS)
def test_a_language_has_every_text_an_owner_is_told_with_the_same_parts(code):
    texts, language = load_handout(), load_language(code)
    meant = {b.text for b in texts.blocks} | {w.text for w in texts.words}
    meant |= {rule.owner_words for rule in load_rules().rules if rule.owner_words}
    meant |= {cls.lay_template for cls in load_regions().classes}
    assert [text for text in sorted(meant) if text not in language.texts] == []
    for english, other in language.texts.items():
        if "°F" not in english:
            assert fields(english) == fields(other), english


@pytest.mark.parametrize("code", OTHERS)
def test_a_language_has_every_template_for_an_owner_with_the_same_values(code):
    texts = shipped()
    for name in ("handout.md.j2", "labels.md.j2", "cast.md.j2"):
        values = [set(re.findall(r"{[{%].*?[}%]}", texts[n])) for n in (name, f"{code}/{name}")]
        loops = [sorted(v for v in found if v.startswith("{%")) for found in values]
        assert loops[0] == loops[1], name


@pytest.fixture
def desk(tmp_path):
    create_store(tmp_path / "s")
    box = Outbox(tmp_path / "s")
    return known(Casework(Casebook(tmp_path / "s"), Clock(at(0, 12)), mail=box), language="de")


def a_case(desk):
    cast = a_care(placed=(a_device(DeviceKind.SPLINT),), bandage=a_bandage(change_every_days=2.0))
    left = a_drug_dispensed("phenylbutazone", amount=1.2, batch="B77")
    opening = an_opening(mechanism="Stacheldraht")
    visit = first_visit(care=(cast,), dispensed=(left,), instructions="Trocken halten.")
    return desk.open_case(opening, visit).ref


def test_a_whole_handout_is_in_the_owners_language(desk):
    ref = a_case(desk)
    text = desk.post.handout(ref, "text").decode()
    for said in ("SOFORT ANRUFEN", "Nachsorge für Bramble", "Mo 2. Juni", "38,6 °C",
                 "zweimal am Tag", "Hinterröhre links, vorne", "Wartezeit", "Bild: "):  # fmt: skip
        assert said in text
    own = ("foam", "dressing", "padding", "wrap", "tape", "gauze", "cohesive", "elastic")
    lines = [x for x in text.split("\n") if not any(word in x for word in own)]
    left = [x for x in lines if re.search(ENGLISH_WORDS, x, re.IGNORECASE)]
    assert left == []
    page = desk.post.handout(ref, "html").decode()
    assert '<html lang="de">' in page
    assert '<section class="now">\n<h2>Sofort anrufen' in page
    assert "Aftercare for" in desk.post.handout(ref, "text", "en").decode()
    for kind in ("labels", "cast"):
        paper = desk.post.paper(ref, kind, "text").decode()
        assert not re.search(r"\b(the|Batch|Morning|owner)\b", paper), paper


def test_a_sedatives_times_of_the_next_day_are_in_it_too(desk):
    sedated = a_drug_given("detomidine", amount=10.0, at=at(0, 19))
    late = Casework(desk._records, Clock(at(0, 20)))
    visit = first_visit(given=(sedated,))
    text = late.post.handout(late.open_case(an_opening(), visit).ref, "text").decode()
    assert "am Di 3. Juni" in text
    assert " on Di" not in text


def test_the_calendar_and_the_mail_are_in_it_too(desk):
    ref = a_case(desk)
    events = list(Calendar.from_ical(desk.post.calendar(ref)).walk("VEVENT"))
    assert events
    for event in events:
        said = f"{event['SUMMARY']} {event['DESCRIPTION']}"
        assert re.search(r"Fragen: Telefon", said)
        assert not re.search(r"\b(the|Vet visit|To do|Best day)\b", said), said
    desk.post.queue_handout(ref)
    desk.post.withdraw(ref)
    subjects = [
        str(message_from_bytes(desk._mail.message(m.id), policy=policy.default)["Subject"])
        for m in desk.post.outbox()
    ]
    assert sorted(subjects) == ["Kalender von Bramble: Termine entfernt", "Nachsorge für Bramble"]


def test_an_owner_is_told_in_it_when_the_vet_comes():
    told = Expected("Hill", "01632 960001", "Farm", ("A", "B"), at(0, 9), at(0, 10))
    text = owner_text(told, load_language("de"))
    assert "am Montag 2. Juni zwischen" in text
    assert "bei A und B: Farm. Wenn das nicht passt" in text


def test_the_practices_language_holds_where_the_owner_has_none_and_no_grade_is_invented(desk):
    ref = a_case(desk)
    assert desk.post.grade(ref) is None
    desk.save(OwnerSet(an_owner(language="")))
    assert "Aftercare for" in desk.post.handout(ref, "text").decode()
    desk.save(PracticeSet(a_practice(language="de")))
    assert "Nachsorge" in desk.post.handout(ref, "text").decode()
    with pytest.raises(KnowledgeError, match="there are en, de"):
        load_language("xx")
