"""The day sheet of the demo practice stays as it is: its order, times, signs and load."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.cli.demo import make_demo
from fieldnotes.cli.main import main
from fieldnotes.cli.opening import moment
from fieldnotes.domain.agreements import Estimate
from fieldnotes.storage.casebook import Casebook

NOW = "2026-03-02T07:00:00+00:00"
GOLDEN = Path(__file__).parent / "golden"


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    folder = tmp_path_factory.mktemp("golden") / "store"
    make_demo(folder, moment(NOW, "now"))
    return folder


@pytest.mark.parametrize(("form", "file"), [("markdown", "route.md"), ("gpx", "route.gpx")])
def test_the_route_of_the_demo_day_is_the_golden_one(store, tmp_path, form, file):
    out = tmp_path / file
    words = ["--data", str(store), "--now", NOW, "route", "--format", form, "--output", str(out)]
    assert main(words) == 0
    assert out.read_text("utf-8") == (GOLDEN / file).read_text("utf-8")


def test_an_estimate_passed_is_warned_of(store):
    now = moment(NOW, "now")
    desk = Casework(Casebook(store), lambda: now)
    ref = next(c.ref for c in desk.find_cases(status="open") if desk.case(c.ref).visits)
    before = [c for c in desk.cautions(ref) if c.field == "estimate"]
    desk.record(ref, Estimate(now.date(), 400.0, 500.0, "GBP", spent=620.0))
    assert not before
    [warned] = [c for c in desk.cautions(ref) if c.field == "estimate"]
    assert "over the agreed limit of 500.00" in warned.why
