"""Photographs kept with a case, and a wound measured apart from a visit."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum

from fieldnotes.domain.wounds import Finding


class PictureFormat(StrEnum):
    """The formats a photograph is kept in."""

    JPEG = "jpeg"
    PNG = "png"
    WEBP = "webp"


@dataclass(frozen=True)
class Photograph:
    """A picture of the case; the bytes lie in the store under `sha256`, their own hash.

    `original_sha256` is the hash of the file as it came, before position and other hidden data
    were taken out; `taken_at` is what the camera said, None where it said nothing.
    """

    sha256: str
    format: PictureFormat
    width_px: int
    height_px: int
    original_sha256: str
    wound: str = ""
    caption: str = ""
    taken_at: dt.datetime | None = None
    position_kept: bool = False


@dataclass(frozen=True)
class Measurement:
    """One wound measured apart from a visit; of `found` only the size and the note count.

    `photograph` is the id of the entry whose picture it was traced on.
    """

    at: dt.datetime
    found: Finding
    photograph: str = ""
