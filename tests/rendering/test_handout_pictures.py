from __future__ import annotations

import pytest

from fieldnotes.casework.drawings import earlier_marks, mark_of, pictures, view_of
from fieldnotes.casework.views import CaseFile, WoundFile
from fieldnotes.domain.treatment import ClosureMethod, DeviceKind
from fieldnotes.domain.wounds import Phase
from fieldnotes.knowledge.bodymap import load_view
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.rendering.bodymap.svg import draw_svg
from tests.builders import (
    a_bandage,
    a_care,
    a_case,
    a_closure,
    a_device,
    a_finding,
    a_horse,
    a_practice,
    a_visit,
    a_wound,
)

UNMEASURED = {"length_mm": None, "width_mm": None}


def mark(*visits):
    wound = a_wound()
    view = view_of(wound)
    assert view is not None
    return view, mark_of(view, wound, a_case(*visits, wounds=(wound,)))


def test_wounds_of_earlier_cases_are_faint_with_a_small_letter_and_the_year_in_words():
    healed = a_case(a_visit(0, findings=(a_finding(phase=Phase.HEALED),)), wounds=(a_wound(),))
    view = view_of(a_wound())
    [earlier] = earlier_marks(view, (healed,))
    assert (earlier.sign, earlier.faint, earlier.shade) == ("a", True, "past")
    assert earlier.words == "Wound a, of an earlier case (2025)"
    assert "stroke-dasharray" in draw_svg(view, wounds=(earlier,))
    assert earlier_marks(load_view("head-left"), (healed,)) == ()


def said(*visits):
    return mark(*visits)[1].words


def test_a_wound_keeps_the_size_it_was_last_measured_at():
    unmeasured = a_visit(3, findings=(a_finding(**UNMEASURED),))
    assert said(a_visit(0, findings=(a_finding(),)), unmeasured) == "Wound A, 8 x 3 cm, open"


def test_no_size_is_made_up_for_a_wound_never_measured():
    assert said() == "Wound A, open"
    assert said(a_visit(0, findings=(a_finding(**UNMEASURED),))) == "Wound A, open"
    assert said(a_visit(0, findings=(a_finding(width_mm=None),))) == "Wound A, open"


@pytest.mark.parametrize(
    ("method", "state"),
    [
        (ClosureMethod.PRIMARY, "stitched"),
        (ClosureMethod.PARTIAL, "open"),
        (ClosureMethod.SECOND_INTENTION, "open"),
    ],
)
def test_a_wound_is_called_stitched_only_when_it_is_closed_all_along(method, state):
    care = a_care(closure=a_closure(method=method))
    assert said(a_visit(0, findings=(a_finding(),), care=(care,))).endswith(state)


def test_a_stitched_wound_that_came_apart_is_open():
    closed = a_visit(0, findings=(a_finding(),), care=(a_care(closure=a_closure()),))
    apart = a_visit(3, findings=(a_finding(dehiscence="partial"),))
    assert said(closed, apart).endswith("open")


def test_a_healed_wound_is_drawn_as_an_outline_without_a_size():
    healed = a_visit(60, findings=(a_finding(phase=Phase.HEALED, **UNMEASURED),))
    view, drawn = mark(a_visit(0, findings=(a_finding(),)), healed)
    assert drawn.words == "Wound A, healed"
    assert "stroke-dasharray" in draw_svg(view, wounds=(drawn,))


@pytest.mark.parametrize(("placed", "shown"), [((), True), ((DeviceKind.CAST,), False)])
def test_bandage_layers_are_drawn_only_where_no_cast_covers_them(placed, shown):
    wound, bandage = a_wound(), a_bandage()
    care = a_care(bandage=bandage, placed=tuple(a_device(kind) for kind in placed))
    case = a_case(a_visit(0, care=(care,)), wounds=(wound,))
    region = load_regions().get(wound.region)
    kept = WoundFile(wound, region, (), None, "", (), None, bandage)
    file = CaseFile(case, a_practice(), a_horse(), None, None, (kept,), (), ())
    assert any(p.name.startswith("layers") for p in pictures(file)) is shown
