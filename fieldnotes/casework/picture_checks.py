"""What cannot be right in a photograph, and in a wound measured apart from a visit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.clinical.measuring import finding_size, traced
from fieldnotes.domain.errors import Problem, RefusedInputError

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.pictures import Measurement, Photograph
    from fieldnotes.domain.wounds import Finding


def photograph_problems(photograph: Photograph, case: Case) -> Iterator[Problem]:
    """Check a photograph against the case it is added to."""
    if photograph.wound and case.wound(photograph.wound) is None:
        yield Problem("wound", f"there is no wound {photograph.wound} in this case")
    for known in case.photographs:
        hashes = {known.body.sha256, known.body.original_sha256}
        if {photograph.sha256, photograph.original_sha256} & hashes:
            yield Problem("file", f"this picture is in the case already ({known.entry.id})")
            return


def measurement_problems(
    measurement: Measurement, case: Case, now: dt.datetime
) -> Iterator[Problem]:
    """Check a measurement against the case; the size itself is checked as a finding's is."""
    before = [f for at, f in case.findings(measurement.found.wound) if at <= measurement.at]
    if before and before[-1].healed:
        why = "this wound was found healed; if it is not, amend the visit that says so"
        yield Problem("found.wound", why)
    if measurement.found.area_cm2 == 0:
        yield Problem("found.area_cm2", "an area of 0 is a healed wound: say that at a recheck")
    if finding_size(measurement.found) is None:
        yield Problem("found.area_cm2", "nothing was measured")
    if measurement.at > now:
        yield Problem("at", "it cannot have been measured yet")
    if measurement.at < case.opened.injured_at:
        yield Problem("at", "measured before the injury")


def size_problems(finding: Finding, path: str) -> Iterator[Problem]:
    """Check that a finding's area, perimeter and outline can belong together."""
    try:
        if finding.area_cm2 is not None:
            finding_size(finding)
        if finding.outline_cm:
            traced(finding.outline_cm)
    except RefusedInputError as error:
        yield Problem(f"{path}.area_cm2", error.reason)
