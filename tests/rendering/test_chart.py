import io
from xml.etree import ElementTree as ET

import pytest

from fieldnotes.clinical.course import Site
from fieldnotes.clinical.expected import band_words, expected_band
from fieldnotes.clinical.projection import Closure
from fieldnotes.knowledge.healing import load_healing
from fieldnotes.rendering.chart import (
    Chart,
    Line,
    Marker,
    Window,
    draw_chart,
    legend_lines,
    tick_step,
)
from fieldnotes.rendering.chart_png import chart_png
from fieldnotes.rendering.chart_svg import chart_svg

LINE = Line("wound A", ((0, 4.0), (7, 5.0), (14, 6.0), (21, 4.44), (28, 3.11)))


def a_chart(**changes):
    band = expected_band(4.0, range(0, 121, 2), Site("distal limb"), load_healing())
    shown = {
        "band": band,
        "windows": (Window(0, Closure(56, 64, 76)),),
        "markers": (Marker(14, "T", "trim"),),
    }
    return Chart(**({"lines": (LINE,)} | shown | changes))


@pytest.mark.parametrize("size", [(76, 12), (116, 20), (20, 6)])
def test_a_chart_fills_its_cells_and_shows_all_it_holds(size):
    rows = draw_chart(a_chart(), *size)
    assert (len(rows[0]), len(rows)) == size
    assert {len(row) for row in rows} == {size[0]}
    slots = {cell.slot for row in rows for cell in row}
    assert {"line1", "band", "projected", "marker", "label"} <= slots


def test_every_measurement_is_marked_and_higher_values_stand_higher():
    rows = draw_chart(a_chart(band=(), windows=()), 76, 12)
    marks = {x: y for y, row in enumerate(rows[1:]) for x, c in enumerate(row) if c.char == "●"}
    heights = [marks[x] for x in sorted(marks)]
    assert len(heights) == 5
    assert heights[2] == min(heights)
    assert heights[4] == max(heights)


def test_a_line_runs_through_the_signs_of_its_measurements():
    line = Line("wound A", ((0, 9.0), (10, 5.0), (20, 5.0), (30, 1.0)))
    rows = draw_chart(Chart((line,)), 67, 15)[1:-2]
    cells = {(y, x): c.char for y, row in enumerate(rows) for x, c in enumerate(row)}
    signs = [place for place, char in cells.items() if char == "●"]
    assert len(signs) == 4
    for y, x in signs:
        beside = (cells[y + dy, x + dx] for dy in (-1, 0, 1) for dx in (-1, 1)
                  if (y + dy, x + dx) in cells)  # fmt: skip
        assert any("⠀" < char <= "⣿" for char in beside)
    middle = sorted(signs, key=lambda place: place[1])[1:3]
    between = {cells[middle[0][0], x] for x in range(middle[0][1] + 1, middle[1][1])}
    assert middle[0][0] == middle[1][0]
    assert all("⠀" < char <= "⣿" for char in between)


def test_one_point_or_a_healed_wound_is_drawn_too():
    for points in (((0, 4.0),), ((0, 0.0),), ()):
        assert len(draw_chart(Chart((Line("A", points),)), 40, 8)) == 8


def test_the_drawing_for_the_record_holds_the_same_and_escapes_labels():
    chart = a_chart(markers=(Marker(14, "T", "<trim> & more"),))
    root = ET.fromstring(chart_svg(chart))  # noqa: S314  (our own output)
    kinds = [element.tag.rpartition("}")[2] for element in root.iter()]
    assert kinds.count("circle") == 5
    assert kinds.count("polygon") == 1
    assert "<trim> & more" in [element.text for element in root.iter()]


def test_the_band_holds_published_courses_and_is_not_invented_elsewhere():
    # Bischofberger et al., Vet Surg 42:154, 2013: 4 cm2 closed on day 64; Wilmink et al. 1999:
    # twice the area within 2 weeks.
    day_14, day_64 = expected_band(4.0, (14, 64), Site("distal limb"), load_healing())
    assert day_14.most_cm2 == pytest.approx(8.0)
    assert day_64.least_cm2 == 0
    assert expected_band(4.0, (0, 7), Site("trunk"), load_healing()) == ()


def test_an_edge_that_went_back_stands_below_nothing_on_the_axis():
    back = Line("wound A", ((0, 0.0), (14, -3.0), (28, 2.0)))
    rows = draw_chart(a_chart(band=(), windows=()), 60, 12)
    assert not any("-" in "".join(c.char for c in row[:6]) for row in rows)
    rows = draw_chart(Chart((back,), unit="mm"), 60, 12)
    assert any("-2" in "".join(c.char for c in row[:6]) for row in rows)
    assert chart_svg(Chart((back,), unit="mm")).count("<circle") == 3


def test_what_was_done_on_one_day_stands_side_by_side():
    done = (Marker(7, "B", "bandage changed"), Marker(7, "D", "drugs"), Marker(7, "G", "graft"))
    axis = "".join(c.char for c in draw_chart(a_chart(markers=done), 76, 12)[-2])
    assert "BDG" in axis


def test_the_band_names_its_series_and_their_limits():
    words = band_words(Site("distal limb"), load_healing())
    for part in (
        "F1, F2, F3",
        "F11, F12: donkeys",
        "left out: F13, F14, F15",
        "0.08-0.26 mm a day",
    ):
        assert part in words


def test_the_picture_of_the_record_is_a_png_that_opens():
    image = pytest.importorskip("PIL.Image")
    with image.open(io.BytesIO(chart_png(a_chart()))) as picture:
        assert (picture.format, picture.size) == ("PNG", (960, 440))
        assert len(picture.convert("RGB").getcolors(100_000)) > 5


def test_ticks_are_round():
    assert [tick_step(s, 4) for s in (3.9, 8, 17, 90)] == [1, 2, 5, 50]


def test_a_long_tail_of_the_forecast_does_not_crush_the_axis():
    wide = Window(0, Closure(40, 60, 208, open_ended=True))
    chart = a_chart(windows=(wide,), band=())
    assert chart.last_day == 76
    bottom = "".join(c.char for c in draw_chart(chart, 76, 12)[-3])
    assert bottom.rstrip().endswith("▶")
    assert "█" in bottom
    assert "▶ goes on" in "".join(c.char for c in draw_chart(chart, 76, 12)[0])
    assert not a_chart().cut(Window(0, Closure(56, 64, 76)))


def test_each_of_several_wounds_has_its_own_closing_days_under_its_own_sign():
    other = Line("wound B", ((0, 9.0), (28, 5.0)))
    windows = (Window(0, Closure(56, 64, 76)), Window(1, Closure(50, 70, 80)))
    rows = draw_chart(a_chart(lines=(LINE, other), windows=windows, band=()), 76, 14)
    signs = {c.slot: c.char for row in rows[-4:-2] for c in row if c.slot in {"line1", "line2"}}
    assert set(signs) == {"line1", "line2"}
    drawn = ["".join(c.char for c in row) for row in rows[-4:-2]]
    assert "◆▓" in drawn[0]
    assert "●▓" in drawn[1]


CROWDED = {
    "lines": tuple(Line(f"wound {w}", LINE.points) for w in "ABC"),
    "windows": (Window(0, Closure(40, 60, 208, open_ended=True)),),
    "markers": tuple(
        Marker(n, sign, what)
        for n, (sign, what) in enumerate(
            (("B", "bandage"), ("C", "closed"), ("D", "drugs"), ("T", "trimmed"), ("G", "graft"))
        )
    ),
}


@pytest.mark.parametrize("width", [30, 36, 44, 60, 76, 100, 120])
def test_no_word_of_the_legend_is_cut_in_a_narrow_panel(width):
    row = "".join(c.char for c in draw_chart(a_chart(**CROWDED), width, 10)[0]).rstrip()
    full = "".join(c.char for c in draw_chart(a_chart(**CROWDED), 300, 10)[0])
    assert row.split()[-1] in {*full.split(), "A", "B", "C"}
    assert ("trimmed" in row) is (width >= 120)
    assert ("wound" in row) is (width >= 76)
    assert "expected" in row or width < 44


def test_the_legend_of_a_picture_tells_all_in_two_lines_that_fit():
    lines = legend_lines(a_chart(**CROWDED), 93)
    assert len(lines) == 2
    assert max(map(len, lines)) <= 93
    assert " · ".join(lines).endswith("C closed · D drugs · T trimmed · G graft")
    assert all(line in chart_svg(a_chart(**CROWDED)) for line in lines)
