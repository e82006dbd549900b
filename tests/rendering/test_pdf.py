from __future__ import annotations

import datetime as dt
import io
import struct
import sys

import pytest
from pypdf import PdfReader

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.rendering.bodymap.layers import BandageLayer, layers_png
from fieldnotes.rendering.handout.sheet import Picture
from fieldnotes.rendering.markdown import escape
from fieldnotes.rendering.pdf import pdf_bytes
from tests.builders import a_horse
from tests.rendering.handouts import a_sheet, handout_markdown

MADE = dt.datetime(2025, 6, 2, 9, tzinfo=dt.UTC)
LAYERS = layers_png((BandageLayer("foam", "dressing", 0.5), BandageLayer("wrap", "cover", 0.2)))


def read(data):
    return PdfReader(io.BytesIO(data))


def words(reader):
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


@pytest.fixture(scope="module")
def printed():
    sheet = a_sheet(horse=a_horse(name="Ébène Größe Čáslava"))
    markdown, _ = handout_markdown(sheet)
    picture = Picture("map", "", "where the wound is", LAYERS)
    return read(pdf_bytes(f"{markdown}\n\n{picture.words}\n", sheet.title, MADE, (picture,)))


def test_a_printed_handout_says_what_the_sheet_says_umlauts_included(printed):
    text = words(printed)
    for said in ("Ébène Größe Čáslava", "38.6 °C", "01632 960001", "2025-06-15", "Batch: B123"):
        assert said in text


def test_an_ordinary_handout_fits_two_numbered_pages(printed):
    assert len(printed.pages) == 2
    assert "page 2 of 2" in printed.pages[1].extract_text()


def test_the_fonts_are_in_the_file_and_so_is_the_picture(printed):
    fonts = [f.get_object() for p in printed.pages for f in p["/Resources"]["/Font"].values()]
    for font in fonts:
        inner = font["/DescendantFonts"][0].get_object()
        assert "/FontFile2" in inner["/FontDescriptor"]
    assert sum(len(page.images) for page in printed.pages) == 1


def test_a_sign_the_font_lacks_is_a_question_mark_and_markup_stays_text():
    line = "Star \U0001f40e **bold** [link](tel:1) <b>x</b>"
    text = words(read(pdf_bytes(f"# {escape(line)}\n\n{escape(line)}\n", "x", MADE)))
    assert text.count("Star ? **bold** [link](tel:1) <b>x</b>") == 2


def test_without_the_extra_the_refusal_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "fontpkg_noto_sans", None)
    with pytest.raises(RefusedInputError, match=r"fieldnotes\[pdf\]"):
        pdf_bytes("# x\n", "x", MADE)


def test_the_layers_are_a_png_of_their_bands():
    # PNG specification, W3C, 2003: the header's first eight bytes are width and height.
    assert LAYERS.startswith(b"\x89PNG")
    assert struct.unpack(">II", LAYERS[16:24]) == (320, 32 * 3)
