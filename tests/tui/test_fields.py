"""What a field takes: days, times, sizes, choices, places; nonsense is refused in words."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.domain.anatomy import MapPoint
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.wounds import Measuring
from fieldnotes.knowledge.bandages import load_bandages
from fieldnotes.knowledge.bodymap import VIEW_KEYS
from fieldnotes.knowledge.limits import load_limits
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.tui.fields.choices import ChoiceField, ManyField, lettered, of_words
from fieldnotes.tui.fields.field import Field
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.fields.moments import DateField, MomentField
from fieldnotes.tui.fields.place import Spot, read_spot
from fieldnotes.tui.fields.position import PositionField
from fieldnotes.tui.fields.sizes import SizeField
from fieldnotes.tui.forms.finding import find_region

NOW = dt.datetime(2026, 3, 3, 10, 30, tzinfo=dt.UTC)  # a Tuesday
TODAY = NOW.date()


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        ("today", "2026-03-03"),
        ("tomorrow", "2026-03-04"),
        ("+3d", "2026-03-06"),
        ("2w", "2026-03-17"),
        ("-1d", "2026-03-02"),
        ("fri", "2026-03-06"),
        ("Tuesday", "2026-03-03"),
        ("2026-02-28", "2026-02-28"),
    ],
)
def test_a_day_is_typed_as_it_is_said(typed, day):
    field = DateField(key="due", label="Due", today=TODAY)
    assert field.read(typed) == dt.date.fromisoformat(day)


def test_a_past_day_reads_weekdays_backwards():
    field = DateField(key="on", label="On", today=TODAY, past=True)
    assert field.read("fri") == dt.date(2026, 2, 27)
    assert field.read("3d") == dt.date(2026, 2, 28)


@pytest.mark.parametrize("typed", ["t", "30 Feb", "2026-02-30", "+3x", "soon", "12/3"])
def test_no_day_is_guessed(typed):
    with pytest.raises(RefusedInputError, match="not a day"):
        DateField(key="due", label="Due", today=TODAY).read(typed)


@pytest.mark.parametrize(
    ("typed", "moment"),
    [
        ("now", "2026-03-03T10:30"),
        ("4h", "2026-03-03T06:30"),
        ("14:30", "2026-03-02T14:30"),
        ("yesterday 08:15", "2026-03-02T08:15"),
        ("sun", "2026-03-01T12:00"),
        ("2026-03-02 14:30", "2026-03-02T14:30"),
    ],
)
def test_a_moment_lies_in_the_past(typed, moment):
    field = MomentField(key="at", label="At", now=NOW)
    assert field.read(typed) == dt.datetime.fromisoformat(moment).replace(tzinfo=dt.UTC)


@given(st.text(max_size=20))
def test_any_text_is_a_past_moment_or_refused(text):
    try:
        moment = MomentField(key="at", label="At", now=NOW).read(text)
    except RefusedInputError:
        return
    except OverflowError:
        pytest.fail("an out-of-range date must be refused in words")
    assert moment is not None


@pytest.mark.parametrize(
    ("typed", "sides"),
    [
        ("8x3", (80, 30, None)),
        ("8 x 3 x 1", (80, 30, 10)),
        ("80", (800, None, None)),
        ("80x30mm", (80, 30, None)),
        ("2,5*1", (25, 10, None)),
        ("1 x 1 in", (25.4, 25.4, None)),
    ],
)
def test_a_size_is_in_centimetres_unless_a_unit_is_written(typed, sides):
    size = SizeField(key="s", label="Size").read(typed)
    assert (size.length_mm, size.width_mm, size.depth_mm) == sides


@pytest.mark.parametrize("typed", ["big", "8x", "x3", "8x3x1x1", "8 ft", "-8x3"])
def test_no_size_is_guessed(typed):
    with pytest.raises(RefusedInputError, match="not a size"):
        SizeField(key="s", label="Size").read(typed)


def test_a_figure_keeps_its_bounds_and_unit():
    field = NumberField(key="kg", label="Weight", unit="kg", least=20, most=1200)
    assert field.read("480,5 kg") == 480.5
    assert field.read("") is None
    for nonsense in ("5000", "48 stone", "heavy", "nan", "-480"):
        with pytest.raises(RefusedInputError):
            field.read(nonsense)


def test_a_dose_is_never_shown_in_powers_of_ten():
    assert NumberField(key="iu", label="Amount", unit="IU").echo("12320000") == "12,320,000 IU"


def test_every_choice_of_a_field_has_its_own_letter():
    options = lettered((str(n), w) for n, w in enumerate(["drain", "dressing", "drip", "d"]))
    assert len({o.letter for o in options}) == len(options)
    field = ChoiceField(key="k", label="Kind", given=of_words(["cut", "kick"]))
    assert field.by_letter("K").id == "kick"
    with pytest.raises(RefusedInputError):
        field.read("bite")


def test_several_are_kept_in_their_own_order():
    field = ManyField(key="k", label="Signs", given=of_words(["heat", "pain", "smell"]))
    answer = field.toggled(field.toggled("", field.given[2]), field.given[0])
    assert field.read(answer) == ("heat", "smell")
    assert field.toggled(answer, field.given[2]) == "heat"


def test_what_is_needed_is_asked_for():
    with pytest.raises(RefusedInputError, match="needed"):
        Field(key="name", label="Name", required=True).read("  ")


@pytest.mark.parametrize(
    "typed", ["54.5, -1.25", "geo:54.5,-1.25", "54 30 0 N 1 15 0 W", "N 54 30 0 W 1 15 0"]
)
def test_a_position_is_read_as_people_paste_it(typed):
    position = PositionField(key="position", label="Position").read(typed)
    assert (round(position.lat, 6), round(position.lon, 6)) == (54.5, -1.25)


def test_a_position_off_the_earth_is_refused_with_a_hint():
    with pytest.raises(RefusedInputError, match="latitude 95"):
        PositionField(key="position", label="Position").read("95, 10")


@given(
    st.sampled_from(VIEW_KEYS),
    st.floats(-300, 300),
    st.floats(-300, 300),
    st.integers(0, 11).map(lambda n: n * 15.0),
)
def test_a_place_shown_on_the_map_survives_being_kept_in_a_draft(view, x, y, angle):
    spot = Spot("left.hind.metatarsus.dorsal", view, MapPoint(round(x, 2), round(y, 2)), angle)
    assert read_spot(spot.answer()) == spot


def test_typing_another_region_leaves_no_point_of_the_old_one():
    field = find_region("wounds.A.region", "Region", load_regions())
    shown = Spot("left.hind.metatarsus.dorsal", "left", MapPoint(230, 37)).answer()
    assert field.read(shown).point == MapPoint(230, 37)
    assert field.read("right.hind.metatarsus.dorsal") == Spot("right.hind.metatarsus.dorsal")
    with pytest.raises(RefusedInputError, match="fits no region"):
        field.read("left wing")


def test_no_two_layers_of_a_build_share_a_field():
    tables = load_bandages()
    for kind in tables.kinds:
        roles = [layer.role for layer in tables.layers if kind.id in layer.on]
        assert len(roles) == len(set(roles)), kind.id


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("400x3", "length 400 cm cannot be right"),
        ("3x400mm x 900 mm", "not a size"),
        ("80x30x900 mm", "depth 900 mm cannot be right"),
        ("90 in", "length 90 in cannot be right"),
    ],
)
def test_a_size_out_of_bounds_is_refused_in_the_unit_typed(typed, said):
    bounds = load_limits()  # editable defaults of ours: none of these can be a wound of a horse
    limits = tuple(bounds[side] for side in ("length_mm", "width_mm", "depth_mm"))
    with pytest.raises(RefusedInputError, match=said):
        SizeField(key="s", label="Size", limits=limits).read(typed)


@pytest.mark.parametrize("typed", ["tomorrow", "+1d", "2026-03-03 11:00"])
def test_what_is_still_to_come_is_not_taken_for_the_past(typed):
    with pytest.raises(RefusedInputError, match="still to come"):
        MomentField(key="at", label="At", now=NOW).read(typed)


def _size(text, **more):
    return SizeField(key="s", label="Size", **more).read(text)


@pytest.mark.parametrize(
    ("typed", "way", "area", "depth"),
    [
        ("8x3", "ellipse", 18.85, None),
        ("8x3 rect", "rectangle", 24.0, None),
        ("8x3x1 rect", "rectangle", 24.0, 10),
        ("80x30 mm rectangle; 5 mm deep", "rectangle", 24.0, 5),
        ("12.5 cm2", "given", 12.5, None),
        ("12,5 cm2, 14 round, 0.5 deep", "given", 12.5, 5),
        ("37 squares", "squares", 9.25, None),
        ("37.5 sq of 5 mm, 1 deep", "squares", 9.375, 10),
        ("20 squares 1 cm", "squares", 20.0, None),
    ],
)
def test_a_size_is_taken_in_every_way_a_wound_is_measured(typed, way, area, depth):
    size = _size(typed)
    assert size.measuring == way
    assert size.size().area_cm2 == pytest.approx(area, abs=0.005)
    assert size.depth_mm == depth


def test_an_outline_is_read_from_a_file_of_points_and_kept(tmp_path):
    file = tmp_path / "my points.csv"
    file.write_text("x,y\n0,0\n4,0\n4,3\n")
    size = _size(f"@{file}; 0.5 deep")
    assert (size.measuring, size.area_cm2, size.perimeter_cm) == ("tracing", 6.0, 12.0)
    assert size.outline_cm == ((0, 0), (4, 0), (4, 3))
    assert size.depth_mm == 5


@pytest.mark.parametrize("typed", ["@/nowhere.csv", "@/", "@a\0b", "@", "12 cm3", "8x3 blob",
                                   "8x3rectify",
                                   "12 cm2, 2 round", "99999 cm2"])  # fmt: skip
def test_what_is_no_size_is_refused(typed):
    with pytest.raises(RefusedInputError):
        _size(typed)


def test_a_wound_measured_as_a_rectangle_is_read_as_one_again():
    field = {"shape": Measuring.RECTANGLE}
    assert _size("8x3", **field).measuring == "rectangle"
    assert _size("8x3 oval", **field).measuring == "ellipse"
