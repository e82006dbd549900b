"""Drawn pictures for tests: a red oval wound of known size above a ruler, both in pixels."""

from __future__ import annotations

import io
import math

from PIL import Image, ImageDraw

PX_PER_CM = 40.0
WOUND_CM = (12.0, 7.0)
MIDDLE = (600.0, 400.0)
RULER = ((200.0, 780.0), (1000.0, 780.0))  # 20 cm
RULER_CM = 20.0
GPS = {1: "N", 2: (54.0, 3.0, 2.0), 3: "W", 4: (2.0, 1.0, 0.0)}


def drawn(size=(1200, 900)) -> Image.Image:
    picture = Image.new("RGB", size, (150, 110, 80))
    draw = ImageDraw.Draw(picture)
    (x, y), (a, b) = MIDDLE, (s * PX_PER_CM / 2 for s in WOUND_CM)
    draw.ellipse((x - a, y - b, x + a, y + b), fill=(150, 30, 30))
    draw.rectangle((RULER[0][0], 780, RULER[1][0], 820), fill=(240, 240, 240))
    return picture


def edge(points: int) -> list[tuple[float, float]]:
    """Give points round the drawn wound's edge."""
    a, b = (s * PX_PER_CM / 2 for s in WOUND_CM)
    turns = (2 * math.pi * i / points for i in range(points))
    return [(MIDDLE[0] + a * math.cos(t), MIDDLE[1] + b * math.sin(t)) for t in turns]


def saved(kind="JPEG", picture=None, **more) -> bytes:
    out = io.BytesIO()
    (picture or drawn()).save(out, format=kind, **more)
    return out.getvalue()


def with_exif(taken="2026:03:01 09:30:00", offset="", orientation=1, gps=True) -> Image.Exif:
    exif = Image.Exif()
    times = {0x9003: taken} | ({0x9011: offset} if offset else {})
    exif[0x8769] = times
    exif[0x010F] = "a camera"
    exif[0x0112] = orientation
    if gps:
        exif[0x8825] = GPS
    return exif
