"""What cannot be right in the order of a wound's findings: twice at one time, open after healed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.errors import Problem
from fieldnotes.domain.pictures import Measurement
from fieldnotes.domain.wounds import Phase

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.entries import Visit
    from fieldnotes.domain.wounds import Finding


def order_problems(visit: Visit, case: Case, without: str = "") -> Iterator[Problem]:
    """Check a visit's findings against those before and after; `without` is what it corrects."""
    for finding in visit.findings:
        path = f"findings.{finding.wound}"
        if finding.area_cm2 == 0 and finding.phase is not Phase.HEALED:
            yield Problem(f"{path}.phase", "an area of 0 is a healed wound: choose healed")
        others = sorted(_others(case, finding.wound, without), key=lambda seen: seen[0])
        yield from _against(finding, visit.at, others, path)


def _others(case: Case, label: str, without: str) -> Iterator[tuple[dt.datetime, Finding]]:
    for visit in case.visits:
        if visit.entry.id != without:
            yield from ((visit.body.at, f) for f in visit.body.findings if f.wound == label)
    for measured in case.bodies(Measurement):
        if measured.body.found.wound == label:
            yield measured.body.at, measured.body.found


def _against(
    finding: Finding, at: dt.datetime, others: list[tuple[dt.datetime, Finding]], path: str
) -> Iterator[Problem]:
    wound = finding.wound
    if any(when == at for when, _ in others):
        yield Problem("at", f"wound {wound} was described at this very time already")
    before = [(when, f) for when, f in others if when < at]
    if before and before[-1][1].healed and not finding.healed:
        yield Problem(
            f"{path}.phase",
            f"wound {wound} was found healed on {before[-1][0]:%d %b %Y}: one that opens again is "
            "a new wound with a letter of its own; if it was never healed, amend that visit",
        )
    after = next((when for when, f in others if when > at and not f.healed), None)
    if finding.healed and after is not None:
        yield Problem(
            f"{path}.phase", f"wound {wound} was still open on {after:%d %b %Y}, after this"
        )
