"""`fieldnotes day drives`: what the drive times rest on, and odd drives to keep as known."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.day_text import drives_words
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework


def run_drives(desk: Casework, keep: int | None, *, as_json: bool) -> int:
    """Print the fit and the odd drives; put one of them into the known ones if asked."""
    odd = desk.road.odd_legs()
    if keep is not None:
        if not 1 <= keep <= len(odd):
            raise RefusedInputError("--keep", f"there are {len(odd)} odd drives")
        desk.road.keep_drive(odd[keep - 1])
        odd = desk.road.odd_legs()
    live, book = desk.road.live(), desk.road.book()
    legs = book.road.legs()
    if as_json:
        emit_json(
            {
                "a_min": live.travel.a_min,
                "b_min_per_km": live.travel.b_min_per_km,
                "rests_on_legs": live.travel.legs,
                "logged": len(legs),
                "reckoned": sum(g.reckoned for g in legs),
                "spread_min": live.travel.spread_min,
                "odd": [
                    {"from": live.names.get(g.start, g.start), "to": live.names.get(g.end, g.end),
                     "km": g.km, "minutes": g.minutes} for g in odd
                ],
                "known": [
                    {"from": live.names.get(p.start, p.start), "to": live.names.get(p.end, p.end),
                     "minutes": p.minutes} for p in book.practice.known_drives
                ],
            }
        )  # fmt: skip
        return 0
    reckoned = sum(g.reckoned for g in legs)
    print(drives_words(live))
    print(f"{len(legs)} drives logged, the arrival reckoned for {reckoned} of them")
    for number, leg in enumerate(odd, 1):
        ends = f"{live.names.get(leg.start, leg.start)} - {live.names.get(leg.end, leg.end)}"
        print(f"odd {number}: {ends}, {leg.km:.1f} km in {leg.minutes:.0f} min; keep with --keep")
    return 0
