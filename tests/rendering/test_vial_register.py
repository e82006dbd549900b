"""The printed register keeps every word of the record as written, in a table that stays a table."""

from __future__ import annotations

import csv
import datetime as dt
import io

import pytest
from markdown_it import MarkdownIt

from fieldnotes.domain.vial_book import fold_vials, period
from fieldnotes.domain.vials import MoveKind, VialCorrection, VialCount, VialReceived
from fieldnotes.rendering import vial_register
from fieldnotes.rendering.vial_register import CSV_HEADS, HEADS
from tests.builders import a_move, a_vial, at, day, entries

HOSTILE = "a | b \\| *c* [d] <e> `f` =1+1"


@pytest.fixture
def kept():
    bodies = (
        VialReceived(a_vial(batch=HOSTILE)),
        a_move(1, what=MoveKind.WASTED, witness=HOSTILE, reason=HOSTILE),
        VialCount("V1", 8.5, at(1), "vet1", note="=HYPERLINK()"),
        VialCorrection("d1-2", "misread | twice", "vet1", at(2), volume_ml=1.1),
    )
    account = fold_vials(entries(*bodies, stream="register"))[0]
    return (period(account, day(0), day(3), dt.UTC),)


def rows(kept):
    return {
        "V1": [vial_register.line_cells(x, {"vet1": "Ada Vet"}, {}, dt.UTC) for x in kept[0].lines]
    }


def test_the_markdown_table_has_every_cell_in_its_column(kept):
    page = vial_register.markdown(("Controlled drugs", HOSTILE), kept, rows(kept), ("a | note",))
    tokens = MarkdownIt("commonmark").enable("table").parse(page)
    cells = [tokens[n + 1].content for n, t in enumerate(tokens) if t.type == "td_open"]
    assert len(cells) == 3 * len(HEADS)
    assert all("misread | twice" in c for c in cells if "should read 1.1 mL" in c)
    shown = MarkdownIt("commonmark", {"html": False}).enable("table").render(page)
    assert "<e>" not in shown
    assert "<em>" not in shown


def test_the_text_says_what_was_found_what_is_off_and_what_corrects_what(kept):
    page = vial_register.text(("Controlled drugs",), kept, rows(kept), ())
    assert (
        "0.4 mL less than reckoned, seen 03 Jun 2025 09:00, arose after 02 Jun 2025 06:00" in page
    )
    assert "first said 1 mL; d1-4 by vet1: should read 1.1 mL, because misread | twice" in page
    assert "carried forward 8.9 mL" in page
    assert "witness a | b" in page


def test_no_cell_of_the_table_file_is_run_as_a_formula(kept):
    read = list(csv.DictReader(io.StringIO(vial_register.csv_rows(kept, {}))))
    assert tuple(read[0]) == CSV_HEADS
    assert read[2]["reason"] == "'=HYPERLINK()"
    assert (read[2]["difference_ml"], read[2]["counted_ml"]) == ("-0.4", "8.5")
