"""Until when a drug may be found at a competition, from every published time."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldnotes.clinical.patient_facts import Treatment
    from fieldnotes.knowledge.drugs import Drug


@dataclass(frozen=True)
class Clearance:
    """A published time after a drug's last dose; not a withdrawal time, the vet adds a margin."""

    drug: str
    name: str
    body: str
    kind: str
    until: dt.datetime
    source: str
    own: bool = False
    """Whether it is a time of the body under whose rules the animal competes."""


def clearances(
    drugs: Mapping[str, Drug], treatments: tuple[Treatment, ...], governing_body: str = ""
) -> tuple[Clearance, ...]:
    """Give all published times for what was given, the latest of each drug's doses counting.

    Those of the governing body stand first; the others stay in sight.
    """
    ours = governing_body.strip().casefold()
    latest: dict[tuple[str, str], dt.datetime] = {}
    for t in treatments:
        key = (t.drug, t.route)
        latest[key] = max(t.last, latest.get(key, t.last))
    found = (
        Clearance(
            drug=drug_id,
            name=drugs[drug_id].name,
            body=time.body,
            kind=time.kind,
            until=last + dt.timedelta(hours=time.most_hours),
            source=time.source,
            own=bool(ours) and ours in time.body.casefold(),
        )
        for (drug_id, route), last in latest.items()
        if drug_id in drugs
        for time in drugs[drug_id].competition
        if time.route in {"", route}
    )
    return tuple(sorted(found, key=lambda c: not c.own))
