"""Templates hold what is common to wounds, marks tell what is not confirmed yet."""

from __future__ import annotations

from fieldnotes.casework.wound_templates import WoundTemplates, common_answers
from fieldnotes.domain.wound_templates import WoundTemplate
from fieldnotes.tui.forms.filling import marked, marks_of, offers_of
from fieldnotes.tui.forms.first_visit import FirstVisit

TYPED = {
    "horse": "h1",
    "injured_at": "4h",
    "weight_kg": "520",
    "mechanism": "wire",
    "wounds.A.region": "left.hind.metatarsus.dorsal@left 10.00 20.00 0",
    "findings.A.size": "8x3",
    "findings.A.synovial_entry": "excluded",
    "care.A.exploration": "bone not felt",
    "care.A.closure": "second intention",
    "care.A.bandage": "distal limb",
    "care.A.every": "3",
    "drug.1.drug": "flunixin",
    "drug.1.batch": "B7",
    "photos.A": "one.jpg",
    "care.A.synovial_tests.0.result": "clear",
    "mark.care.A.every": "template x",
}


def test_a_template_keeps_nothing_of_one_horse_or_day():
    assert dict(common_answers(TYPED)) == {
        "mechanism": "wire",
        "wounds.A.region": "hind.metatarsus.dorsal",
        "care.A.closure": "second intention",
        "care.A.bandage": "distal limb",
        "care.A.every": "3",
        "drug.1.drug": "flunixin",
    }


def test_a_template_is_kept_and_offered_to_its_form(desk_and_drafts):
    desk, _ = desk_and_drafts
    WoundTemplates(desk).keep("Wire cut", "first_visit", TYPED)
    offer, _ = offers_of(desk.register().templates, FirstVisit(desk))
    assert ("wounds.A.region", "hind.metatarsus.dorsal") in offer.answers
    answers = {**marked(offer.answers, offer.mark), "care.A.every": "2"}
    assert marks_of(answers)["care.A.closure"] == "template Wire cut"
    region = next(
        f for p in FirstVisit(desk).panes({}) for f in p.fields if f.key == "wounds.A.region"
    )
    assert len(region.options("hind.metatarsus.dorsal")) == 2  # the side is the vet's to say


def test_what_a_field_no_longer_takes_is_told_and_a_dropped_template_is_gone(desk_and_drafts):
    desk, _ = desk_and_drafts
    answers = (("mechanism", "wire"), ("wounds.A.kind", "nonsense"))
    odd = WoundTemplate("odd", "Odd", "first_visit", answers)
    gone = WoundTemplate("gone", "Gone", "first_visit", answers, dropped=True)
    form = FirstVisit(desk)
    [offer] = offers_of({"odd": odd}, form)
    assert offer.answers == (("mechanism", "wire"),)
    assert offer.kept == ("wounds.A.kind: nonsense",)
    assert offers_of({"gone": gone}, form) == ()
