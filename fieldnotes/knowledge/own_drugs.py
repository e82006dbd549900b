"""The practice's own doses, strengths, choices and confirmations laid over the formulary."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.knowledge.drugs import Regimen, Strength

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Container, Mapping

    from fieldnotes.domain.formulary import OwnDose, OwnStrength, PracticeDrug
    from fieldnotes.knowledge.drugs import Drug, Drugs

INJECTED_FORM = "injection"


def signed(set_by: str, on: dt.date) -> str:
    """Give who decided and when, as it stands beside a figure."""
    return f"{set_by} on {on:%d %b %Y}"


def _source(own: OwnDose | OwnStrength) -> str:
    return f"practice, set by {signed(own.set_by, own.on)}: {own.why}"


def _regimen(own: OwnDose) -> Regimen:
    return Regimen(
        label="set by the practice",
        route=own.route,
        low=own.low,
        high=own.high,
        per_kg=own.per_kg,
        interval_h=own.interval_h,
        interval_most_h=own.interval_h,
        days=None,
        doses=None,
        age_days=None,
        weight_kg=None,
        forms=(),
        site_ml=None,
        printed="",
        species="horse",
        source=_source(own),
        changed=signed(own.set_by, own.on),
    )


def _strength(own: OwnStrength) -> Strength:
    return Strength(
        amount=own.amount,
        per=own.per,
        form=own.form,
        routes=own.routes,
        printed="",
        step=None if own.per in {"mL", "g"} else 1.0,
        pack=own.pack,
        source=_source(own),
        changed=signed(own.set_by, own.on),
    )


def _strengths(drug: Drug, own: PracticeDrug) -> tuple[Strength, ...]:
    """Give the strengths in stock first; an injection serves a route only the practice doses."""
    stocked = tuple(_strength(s) for s in own.strengths)
    same = {(s.amount, s.per, s.form) for s in stocked}
    found = (*stocked, *(s for s in drug.strengths if (s.amount, s.per, s.form) not in same))
    served = {route for s in found for route in s.routes}
    more = tuple(dict.fromkeys(d.route for d in own.doses if d.route not in served))
    return tuple(
        replace(s, routes=(*s.routes, *more)) if s.form.startswith(INJECTED_FORM) else s
        for s in found
    )


def _regimens(drug: Drug, own: PracticeDrug) -> tuple[Regimen, ...]:
    """Give, route by route, the practice's doses, what it chose, then the rest; none is left out.

    The routes stay in the order of the published doses, one only the practice doses comes last.
    """
    chosen = {(c.route, c.label): signed(c.set_by, c.on) for c in own.choices}
    marked = (replace(r, chosen=chosen.get((r.route, r.label), "")) for r in drug.regimens)
    found = (*(_regimen(d) for d in own.doses), *sorted(marked, key=lambda r: not r.chosen))
    routes = list(dict.fromkeys(r.route for r in (*drug.regimens, *found)))
    return tuple(sorted(found, key=lambda r: routes.index(r.route)))


def _with_own(drug: Drug, own: PracticeDrug) -> Drug:
    confirmed = drug.confirmed
    if own.confirmed_by and own.confirmed_on is not None:
        confirmed = signed(own.confirmed_by, own.confirmed_on)
    return replace(
        drug,
        regimens=_regimens(drug, own),
        strengths=_strengths(drug, own),
        confirmed=confirmed,
    )


def with_practice(
    drugs: Drugs, own: Mapping[str, PracticeDrug], confirmed: Container[str] = ()
) -> Drugs:
    """Lay what the practice decided over the formulary, each figure marked with who and when.

    `confirmed` are the ids its settings name as confirmed, without who and when.
    """
    known = (replace(d, confirmed="the practice") if d.id in confirmed else d for d in drugs)
    return tuple(_with_own(d, own[d.id]) if d.id in own else d for d in known)
