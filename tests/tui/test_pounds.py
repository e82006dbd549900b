"""A practice with US units: every field of a body weight reads pounds and shows kilograms."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fieldnotes.casework.settings import change_setting
from fieldnotes.cli.main import main
from fieldnotes.domain.entries import PracticeSet
from fieldnotes.tui.fields.weights import WeightField
from fieldnotes.tui.forms.drafted import drafted
from fieldnotes.tui.forms.first_visit import FirstVisit
from fieldnotes.tui.forms.horse_form import animal, new_horse
from fieldnotes.tui.forms.post_forms import weight
from fieldnotes.tui.forms.recheck import Recheck
from fieldnotes.tui.forms.reckoning import PAGES, bench_of
from fieldnotes.tui.screens.case_words import header

POUNDS, KG = "1050", 476.3  # 1050 x 0.45359237 = 476.27


@pytest.fixture
def desk(desk_and_drafts):
    desk, _ = desk_and_drafts
    desk.save(PracticeSet(replace(desk.practice(), units="us")))
    return desk


def ref_of(desk):
    return desk.find_cases("bramble")[0].ref


def weight_fields_of(desk):
    ref = ref_of(desk)
    horse = desk.file(ref).horse.id
    forms = [
        (new_horse(desk), {}), (animal(desk, ref), {}), (weight(desk, ref), {}),
        (Recheck(desk, ref), {}), (FirstVisit(desk), {"horse": horse}),
    ]  # fmt: skip
    for form, answers in forms:
        yield (
            form.title,
            next(f for p in form.panes(answers) for f in p.fields if f.key == "weight_kg"),
        )
    for page in PAGES:
        for f in page.fields(bench_of(desk, ref), {}):
            if f.key == "weight_kg":
                yield page.title, f


def test_every_weight_field_reads_a_bare_figure_as_pounds_and_echoes_kilograms(desk):
    found = list(weight_fields_of(desk))
    assert len(found) >= 7
    for where, field in found:
        assert isinstance(field, WeightField), where
        assert field.read(POUNDS) == KG, where
        assert field.echo(POUNDS) == "476.3 kg (1050 lb)", where
        assert field.read("480 kg") == 480, where


def test_with_metric_a_bare_figure_is_kilograms_and_pounds_may_be_named(desk_and_drafts):
    desk, _ = desk_and_drafts
    for where, field in weight_fields_of(desk):
        assert field.read("500") == 500, where
        assert field.echo("500") == "500 kg", where
        assert field.read("1050 lb") == KG, where


def test_the_weight_on_record_stands_there_with_its_unit_and_is_not_a_new_one(desk):
    form = Recheck(desk, ref_of(desk))
    [field] = [f for p in form.panes({}) for f in p.fields if f.key == "weight_kg"]
    known = desk.file(ref_of(desk)).horse.weight().kg
    assert field.default.endswith(" kg")
    assert field.read(field.default) == known
    keys = {f.key for p in form.panes({"weight_kg": f"{known:g}kg"}) for f in p.fields}
    assert "weight_by" not in keys


def test_a_visit_keeps_kilograms_and_its_review_says_both(desk):
    ref = ref_of(desk)
    form = weight(desk, ref)
    answers = {"weight_kg": POUNDS, "weight_by": "scale"}
    assert "476.3 kg (1050 lb)" in " ".join(form.summary(answers))
    form.save(answers)
    assert desk.file(ref).horse.weight().kg == KG
    assert "476.3 kg (1050 lb)" in header(desk.file(ref), desk.today(), 100).plain


@pytest.mark.parametrize("wrong", ["5000", "10", "12 st"])
def test_a_weight_that_cannot_be_right_is_refused_at_its_field(desk, wrong):
    [problem] = weight(desk, ref_of(desk)).problems({"weight_kg": wrong, "weight_by": "scale"})
    assert problem.field == "weight_kg"


def test_a_draft_keeps_the_unit_so_that_other_units_do_not_change_it(desk):
    form = weight(desk, ref_of(desk))
    kept = drafted(form, {"weight_kg": POUNDS})
    assert kept["weight_kg"] == "1050 lb"
    change_setting(desk, "units", "metric")
    assert drafted(weight(desk, ref_of(desk)), kept) == kept


def test_a_note_in_one_line_takes_pounds_and_fills_in_a_unit(desk):
    form = Recheck(desk, ref_of(desk))
    _, offer = form.hear("weighs 1050 lb", {}, "due", 80)
    assert offer is not None
    assert dict(offer.answers)["weight_kg"] == "476.3 kg"


def test_the_calculators_of_the_command_line_read_the_practices_units(desk, store, capsys):
    where = ["--data", str(store), "reckon", "dose", "flunixin"]
    assert main([*where, "--weight", POUNDS]) == 0
    assert "476.3 kg" in capsys.readouterr().out
    assert main([*where, "--weight-kg", "480"]) == 0
    assert "480 kg" in capsys.readouterr().out
    assert main(["reckon", "dose", "flunixin", "--weight", POUNDS]) == 1
    assert "1050kg or 1050lb" in capsys.readouterr().err
    assert main(["reckon", "anaesthetic", "lidocaine", "--weight", "1050lb", "--percent", "2",
                 "--ml", "10"]) == 0  # fmt: skip
    assert "476.3 kg" in capsys.readouterr().out


def test_units_are_a_setting_and_a_wrong_word_is_refused(desk, store, capsys):
    change_setting(desk, "units", "metric")
    assert desk.practice().units == "metric"
    assert main(["--data", str(store), "settings", "units", "stone"]) == 1
    assert "metric, us" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("1235", ""),  # 560.2 kg beside the 560 on record
        ("560", "55 % less than on record ("),  # kilograms typed where pounds are
        ("560 kg", ""),
        ("1700 lb", "38 % more than on record"),
    ],
)
def test_a_weight_far_from_the_one_on_record_is_questioned_before_the_save(desk, typed, told):
    form = Recheck(desk, ref_of(desk))
    answers = {"weight_kg": typed, "weight_by": "tape", "findings.A.size": "7x3"}
    found = [c.message for c in form.outlook(answers).cautions if c.field == "weight_kg"]
    assert found == [] if not told else told in found[0]
