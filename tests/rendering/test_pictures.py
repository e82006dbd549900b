"""A photograph is checked in full, set upright, and keeps nothing hidden but its time."""

from __future__ import annotations

import io
import re
import struct
import sys
import zlib

import pytest
from PIL import Image, PngImagePlugin

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.knowledge.limits import load_limits
from fieldnotes.rendering.pictures import prepare
from tests.pictures import drawn, saved, with_exif

LIMITS = load_limits()
XMP = (
    b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><exif:GPSLatitude>54,3.0N</exif:GPSLatitude></x:xmpmeta>'
)


def reopened(data):
    return Image.open(io.BytesIO(data))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_position_goes_and_the_time_stays(kind):
    data = saved(kind, exif=with_exif(), **({"xmp": XMP} if kind != "PNG" else {}))
    found = prepare(data, LIMITS)
    exif = reopened(found.data).getexif()
    assert dict(exif.get_ifd(0x8825)) == {}
    assert b"GPSLatitude" not in found.data
    assert b"a camera" not in found.data
    assert exif.get_ifd(0x8769)[0x9003] == "2026:03:01 09:30:00"
    assert f"{found.taken:%Y-%m-%d %H:%M}" == "2026-03-01 09:30"
    assert not found.position_kept


def test_the_position_stays_when_it_is_wanted():
    found = prepare(saved(exif=with_exif()), LIMITS, keep_position=True)
    assert reopened(found.data).getexif().get_ifd(0x8825)[1] == "N"
    assert found.position_kept
    assert not prepare(saved(), LIMITS, keep_position=True).position_kept


def test_text_beside_the_pixels_of_a_png_goes():
    notes = PngImagePlugin.PngInfo()
    notes.add_text("Comment", "taken at the low yard")
    notes.add_itxt("XML:com.adobe.xmp", XMP.decode())
    found = prepare(saved("PNG", pnginfo=notes), LIMITS)
    assert b"low yard" not in found.data
    assert b"xmpmeta" not in found.data


def test_what_hangs_behind_the_picture_goes():
    found = prepare(saved() + b"secret tail", LIMITS)
    assert b"secret tail" not in found.data


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_turned_picture_stands_upright(orientation):
    # Exif 2.3 (CIPA DC-008-2012), tag Orientation: 5 to 8 lie on their side.
    found = prepare(saved(exif=with_exif(orientation=orientation)), LIMITS)
    assert (found.width_px > found.height_px) == (orientation < 5)
    assert reopened(found.data).getexif().get(0x0112, 1) == 1


def test_an_upright_jpeg_keeps_its_own_quality():
    data = saved(quality=80)
    found = prepare(data, LIMITS)
    assert abs(len(found.data) - len(data)) < 0.02 * len(data)


@pytest.mark.parametrize("taken", ["0000:00:00 00:00:00", "yesterday", "", "2026:13:45 99:00:00"])
def test_a_camera_that_was_never_set_gives_no_time(taken):
    assert prepare(saved(exif=with_exif(taken=taken)), LIMITS).taken is None


def test_a_camera_that_knows_its_zone_is_believed():
    found = prepare(saved(exif=with_exif(offset="+02:00")), LIMITS)
    assert found.taken.utcoffset().total_seconds() == 7200


def _bomb(side=30_000):
    """A PNG that claims so many pixels a side and holds none."""
    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    chunks = [(b"IHDR", head), (b"IDAT", zlib.compress(b"")), (b"IEND", b"")]
    parts = (
        struct.pack(">I", len(d)) + n + d + struct.pack(">I", zlib.crc32(n + d)) for n, d in chunks
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def _moving():
    frames = [drawn((64, 64)), Image.new("RGB", (64, 64))]
    out = io.BytesIO()
    frames[0].save(out, format="WEBP", save_all=True, append_images=frames[1:])
    return out.getvalue()


WHOLE = saved()


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "empty"),
        (b"hello, this is a letter", "no JPEG, PNG or WebP"),
        (b"%PDF-1.7 and so on", "no JPEG, PNG or WebP"),
        (b"GIF89a" + b"\0" * 100, "no JPEG, PNG or WebP"),
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "HEIC"),
        (WHOLE[: len(WHOLE) // 2], "damaged or cut off"),
        (WHOLE[:30], "damaged or cut off"),
        (saved("PNG")[:-200], "damaged or cut off"),
        (saved("WEBP")[:-200], "damaged or cut off"),
        (saved("PNG").replace(b"IDAT", b"IDAT\0", 1), "damaged or cut off"),
        (_bomb(), "bomb"),
        (_bomb(10_000), "100 megapixels cannot be right"),
        (saved(picture=Image.new("RGB", (4000, 3))), "shorter side"),
        (_moving(), "moving picture"),
    ],
    ids=str,
)  # fmt: skip
def test_what_is_no_whole_photograph_is_refused(data, why):
    with pytest.raises(RefusedInputError, match=re.escape(why)):
        prepare(data, LIMITS)


def test_bytes_changed_anywhere_never_bring_a_traceback():
    for kind in ("JPEG", "PNG", "WEBP"):
        whole = bytearray(saved(kind, drawn((160, 120)), exif=with_exif()))
        for at in [*range(200), *range(200, len(whole), max(len(whole) // 60, 1))]:
            hurt = bytes(whole[:at]) + bytes([whole[at] ^ 0x5A]) + bytes(whole[at + 1 :])
            try:
                prepare(hurt, LIMITS)
            except RefusedInputError as error:
                assert error.reason  # noqa: PT017  (either outcome is right, a traceback is not)


def test_without_the_library_a_sentence_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "PIL", None)
    with pytest.raises(RefusedInputError, match=r"fieldnotes\[pictures\]"):
        prepare(WHOLE, LIMITS)
