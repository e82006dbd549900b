"""Photographs: is it a whole picture, what may be kept of its hidden data, its pixels as shown.

Pillow does the decoding; it is imported where it is needed, and may be missing.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import struct
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.pictures import PictureFormat

if TYPE_CHECKING:
    from PIL import Image

    from fieldnotes.knowledge.limits import Limits

FORMATS = ("JPEG", "PNG", "WEBP")
HEIF_BRANDS = (b"heic", b"heix", b"mif1", b"msf1", b"heim", b"hevc", b"avif")
_ORIENTATION, _EXIF, _GPS = 0x0112, 0x8769, 0x8825
_TAKEN, _TAKEN_OFFSET = 0x9003, 0x9011
QUALITY, PAPER_QUALITY = 95, 82
# What Pillow raises on bytes that are no whole picture of the format they claim to be.
BROKEN = (OSError, SyntaxError, ValueError, EOFError, struct.error, zlib.error, KeyError,
          IndexError, TypeError, OverflowError, MemoryError)  # fmt: skip


@dataclass(frozen=True)
class Prepared:
    """A picture fit to be kept: upright, whole, and with no hidden data but its time.

    `taken` is the camera's own time, without a zone where the camera gave none.
    """

    data: bytes
    format: PictureFormat
    width_px: int
    height_px: int
    original_sha256: str
    taken: dt.datetime | None
    position_kept: bool


def prepare(data: bytes, limits: Limits, *, keep_position: bool = False) -> Prepared:
    """Check a picture in full and take out what it tells besides; RefusedInputError says why not.

    Kept are the time it was taken and, only if asked for, where. Position stands in EXIF, XMP
    and text chunks alike, so everything else goes; turned pictures are set upright.
    """
    image = decoded(data, limits)
    taken, place, turned = _exif(image)
    kept = _kept_exif(taken, place if keep_position else {})
    out = _rewritten(image, kept, turned=turned)
    again = decoded(out, limits)
    return Prepared(
        data=out,
        format=_format(image),
        width_px=again.width,
        height_px=again.height,
        original_sha256=hashlib.sha256(data).hexdigest(),
        taken=_moment(taken),
        position_kept=keep_position and bool(place),
    )


def decoded(data: bytes, limits: Limits) -> Image.Image:
    """Give a picture with all its pixels read; RefusedInputError if it is not a whole one."""
    pil = pillow()
    if not data:
        raise RefusedInputError("file", "the file is empty")
    if data[4:8] == b"ftyp" and data[8:12] in HEIF_BRANDS:
        raise RefusedInputError("file", "a HEIC or AVIF picture: save it as JPEG first")
    try:
        image: Image.Image = pil.open(io.BytesIO(data), formats=FORMATS)
        _refuse_size(image, limits)
        if image.format in {"PNG", "WEBP"} and getattr(image, "n_frames", 1) > 1:
            raise RefusedInputError("file", "a moving picture; a photograph is needed")
        image.load()
    except pil.UnidentifiedImageError as error:
        raise RefusedInputError("file", "this is no JPEG, PNG or WebP picture") from error
    except (*BROKEN, pil.DecompressionBombError) as error:
        raise RefusedInputError("file", f"the picture is damaged or cut off ({error})") from error
    return image


def smaller(data: bytes, side_px: int, limits: Limits) -> bytes:
    """Give a photograph as a JPEG no larger than a square, for paper; never larger than it was."""
    image = decoded(data, limits).convert("RGB")
    image.thumbnail((side_px, side_px))
    out = io.BytesIO()
    image.save(out, format="JPEG", quality=PAPER_QUALITY)
    return out.getvalue()


def pillow() -> Any:  # noqa: ANN401  (a module)
    """Give the library that draws and decodes; RefusedInputError says what to install."""
    try:
        from PIL import Image  # noqa: PLC0415  (heavy, and an extra)
    except ImportError as error:
        raise RefusedInputError(
            "photograph", "pictures need the Pillow library: install fieldnotes[pictures]"
        ) from error
    return Image


def _refuse_size(image: Image.Image, limits: Limits) -> None:
    """Refuse by the sizes the header claims, before any pixel is unpacked."""
    for name, value in (
        ("picture_megapixels", image.width * image.height / 1e6),
        ("picture_side_px", min(image.size)),
    ):
        if fault := limits[name].fault(value):
            raise RefusedInputError("file", fault)


def _format(image: Image.Image) -> PictureFormat:
    # MPO is a telephone's JPEG with a second view behind it; the first is the photograph.
    return PictureFormat.JPEG if image.format == "MPO" else PictureFormat(str(image.format).lower())


def _exif(image: Image.Image) -> tuple[dict[int, Any], dict[int, Any], bool]:
    """Give what is told of time and place, and whether it is turned; unreadable data tells none."""
    try:
        exif = image.getexif()
        turned = exif.get(_ORIENTATION, 1) in range(2, 9)
        return dict(exif.get_ifd(_EXIF)), dict(exif.get_ifd(_GPS)), turned
    except BROKEN:
        return {}, {}, False


def _kept_exif(taken: dict[int, Any], place: dict[int, Any]) -> bytes:
    exif = pillow().Exif()
    times = {tag: taken[tag] for tag in (_TAKEN, _TAKEN_OFFSET) if tag in taken}
    if times:
        exif[_EXIF] = times
    if place:
        exif[_GPS] = place
    try:
        return bytes(exif.tobytes()) if times or place else b""
    except BROKEN:  # what cannot be written again is dropped with the rest
        return b""


def _rewritten(image: Image.Image, exif: bytes, *, turned: bool) -> bytes:
    """Give the picture anew, upright; a JPEG that need not be turned keeps its own quality."""
    from PIL import ImageOps  # noqa: PLC0415  (heavy, and an extra)

    kind, colours = _format(image), image.info.get("icc_profile")
    upright = ImageOps.exif_transpose(image) if turned else image
    upright.info = {}
    more: dict[str, Any] = {"icc_profile": colours} if colours else {}
    if exif:
        more["exif"] = exif
    if kind is not PictureFormat.PNG:
        more["quality"] = "keep" if image.format == "JPEG" and not turned else QUALITY
    out = io.BytesIO()
    try:
        upright.save(out, format=kind.name, **more)
    except BROKEN as error:
        raise RefusedInputError("file", f"the picture cannot be kept ({error})") from error
    return out.getvalue()


def _moment(taken: dict[int, Any]) -> dt.datetime | None:
    """Read the camera's time; a camera that was never set gives zeros or nonsense: None."""
    text = str(taken.get(_TAKEN, "")).strip("\0 ")
    offset = str(taken.get(_TAKEN_OFFSET, "")).strip("\0 ")
    for shape, given in (("%Y:%m:%d %H:%M:%S%z", text + offset), ("%Y:%m:%d %H:%M:%S", text)):
        try:
            return dt.datetime.strptime(given, shape)  # noqa: DTZ007  (a camera has no zone)
        except ValueError:
            continue
    return None
