"""Where a wound is drawn whose place was typed, not shown on the map."""

from __future__ import annotations

import pytest
from builders import a_wound

from fieldnotes.casework.drawings import mark_on, view_of
from fieldnotes.domain.anatomy import MapPoint
from fieldnotes.domain.wounds import Finding
from fieldnotes.knowledge.bodymap import load_view, point_in
from fieldnotes.rendering.bodymap.wounds import regions_under
from fieldnotes.tui.forms.page_text import path_words

FRONT_OF_CANNON = "left.hind.metatarsus.dorsal"
MIDDLE = point_in(load_view("left"), FRONT_OF_CANNON)


def reached(**place) -> tuple[str, tuple[str, ...]]:
    wound = a_wound(region=FRONT_OF_CANNON, **place)
    view = view_of(wound)
    mark = mark_on(view, wound, Finding("A", length_mm=80, width_mm=30))
    return view.key, regions_under(view, mark)


@pytest.mark.parametrize("place", [{}, {"view": "left", "point": MapPoint(*MIDDLE)}])
def test_a_place_nobody_put_a_point_on_is_faced_and_alone_named(place):
    """From the horse's side the front of a cannon is a strip that 3 cm would leave."""
    assert reached(**place) == ("left.hind-dorsal", (FRONT_OF_CANNON,))


def test_a_point_put_on_the_map_stays_in_its_view_and_reaches_what_lies_there():
    x, y = MIDDLE
    view, regions = reached(view="left", point=MapPoint(x, y + 1))
    assert view == "left"
    assert len(regions) > 1


def test_a_caution_no_field_shows_is_headed_in_words():
    assert path_words("wounds.A.region") == "Wound A, Region"
    assert path_words("care.B.synovial_tests") == "Wound B, Synovial tests"
    assert path_words("estimate") == "Estimate"
