"""Copying forward repeats what is done again, and nothing that happens once."""

from __future__ import annotations

from builders import a_bandage, a_care, a_case, a_device, a_visit, a_wound

from fieldnotes.domain.treatment import Lavage, Layer
from fieldnotes.tui.forms.forward import carried, carried_answers
from fieldnotes.tui.forms.recheck import Recheck


def test_the_last_care_of_each_wound_is_repeated():
    bandage = a_bandage(changed_by="owner", change_every_days=3.0, shown=True, girth_cm=24.0)
    first = a_visit(0, care=(a_care(bandage=bandage, placed=(a_device(),), topical="old cream"),))
    lavage = Lavage("saline", 1000, device="bottle")
    later = a_visit(3, care=(a_care(topical="medical honey", lavage=lavage),), housing="box rest")
    answers, day = carried_answers(a_case(first, later, wounds=(a_wound(),)), "A")
    found = dict(answers)
    assert found["care.A.topical"] == "medical honey"
    assert found["care.A.lavage"] == "saline 1 l"
    assert (found["care.A.bandage"], found["care.A.every"]) == (bandage.kind, "3")
    assert (found["care.A.shown"], found["care.A.girth_cm"]) == ("yes", "24")
    assert found["housing"] == "box rest"
    assert not any("placed" in key or "closure" in key for key in found)
    assert day == f"{later.at:%d %b}"


def test_a_case_without_care_has_nothing_to_carry():
    assert carried_answers(a_case(a_visit(0), wounds=(a_wound(),)), "A") == ((), "")


def test_what_the_recheck_asks_for_is_filled_in_and_the_rest_is_said(desk_and_drafts):
    desk, _ = desk_and_drafts
    said = []
    for line in desk.find_cases(status="open"):
        form, case = Recheck(desk, line.ref), desk.case(line.ref)
        answers, left, _ = carried(form, case, "ABC")
        assert form.build(answers).r.faults() == ()
        said += left
    assert "skin: petrolatum" in said  # no field of the build: it must not vanish


def test_covers_go_into_the_further_layers():
    layers = (Layer("dressing", "foam"), Layer("cover", "tape"), Layer("cover", "sock"))
    case = a_case(a_visit(0, care=(a_care(bandage=a_bandage(layers=layers)),)), wounds=(a_wound(),))
    assert dict(carried_answers(case, "A")[0])["care.A.layers"] == "tape, sock"
