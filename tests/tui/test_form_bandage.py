"""The page of a bandage: who changes it and how often is asked before anything is saved."""

from __future__ import annotations

from fieldnotes.tui.forms.first_visit import FirstVisit

BANDAGED = {
    "horse": "",
    "wounds.A.region": "left.hind.metatarsus.dorsal",
    "findings.A.size": "8x3",
    "care.A.bandage": "distal limb",
}


def form_of(desk) -> tuple[FirstVisit, dict[str, str]]:
    horse = next(h.id for h in desk.register().horses.values() if h.name == "Bramble")
    return FirstVisit(desk), BANDAGED | {"horse": horse}


def field(form, answers, key):
    return next(f for p in form.panes(answers) for f in p.fields if f.key == key)


def test_a_bandage_left_to_the_owner_without_an_interval_is_asked_about(desk_and_drafts):
    desk, _ = desk_and_drafts
    form, answers = form_of(desk)
    [problem] = form.problems(answers)
    assert problem.field == "care.A.bandage.change_every_days"
    assert field(form, answers, "care.A.every").answers_for(problem.field)
    assert form.problems(answers | {"care.A.every": "2"}) == ()
    assert form.problems(answers | {"care.A.changed_by": "vet"}) == ()


def test_over_a_drain_a_graft_or_bare_tendon_the_vet_is_put_down_first(desk_and_drafts):
    desk, _ = desk_and_drafts
    form, answers = form_of(desk)
    assert field(form, answers, "care.A.changed_by").default == "owner"
    for beneath in (
        {"care.A.placed": "drain"},
        {"care.A.placed": "bandage cast"},
        {"care.A.closure": "skin graft"},
        {"findings.A.exposed": "tendon"},
    ):
        assert field(form, answers | beneath, "care.A.changed_by").default == "vet"
        assert form.problems(answers | beneath) == ()


def test_what_the_vet_changes_stands_in_the_plan_as_a_visit(desk_and_drafts):
    desk, _ = desk_and_drafts
    form, answers = form_of(desk)
    drained = answers | {"care.A.placed": "drain", "care.A.closure": "primary closure"}
    changes = [line for line in form.outlook(drained).lines if "bandage change" in line]
    assert len(changes) == 1
    assert "  vet  " in changes[0]


def test_the_girth_and_height_a_bandage_covers_are_kept_for_the_count_of_rolls(desk_and_drafts):
    desk, _ = desk_and_drafts
    form, answers = form_of(desk)
    saved = form.save(answers | {"care.A.every": "2", "care.A.girth_cm": "24"})
    bandage = desk.case(saved.ref).visits[0].body.care[0].bandage
    assert (bandage.girth_cm, bandage.height_cm) == (24.0, 35.0)


def test_what_a_change_takes_is_reckoned_from_the_girth_as_it_is_typed(desk_and_drafts):
    # W2 of reference sheet B (D): girth 20, height 35: 2 x 7 turns of 35.7 cm are 5.0 m
    form, answers = form_of(desk_and_drafts[0])
    usual = field(form, answers, "care.A.height_cm").hint
    assert "2 roll cohesive elastic" in usual
    assert "usual 20-24 cm" in usual
    thin = field(form, answers | {"care.A.girth_cm": "20"}, "care.A.height_cm").hint
    assert "2 x 7.0 turns of 35.7 cm = 5.0 m; girth 20 cm, measured" in thin
    assert field(form, answers | {"care.A.girth_cm": "999"}, "care.A.girth_cm").hint == (
        field(form, answers, "care.A.girth_cm").hint
    )
