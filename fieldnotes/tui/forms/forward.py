"""What was done last time, as the answers of a recheck: to be confirmed one by one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.tui.forms.form import fits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.treatment import Bandage, Care, Lavage
    from fieldnotes.tui.forms.form import Form

SHOWN = {True: "yes", False: "no", None: ""}


def carried(form: Form, case: Case, labels: str) -> tuple[dict[str, str], tuple[str, ...], str]:
    """Give the answers the form has fields for, the words it has none for, and their day."""
    found, day = carried_answers(case, labels)
    # first without any answer: a kind of bandage not offered here has no page of layers
    plain = {f.key: f for p in form.panes({}) for f in p.fields}
    usable = {k: a for k, a in found if k not in plain or fits(plain[k], a)}
    fields = {f.key for p in form.panes(usable) for f in p.fields}
    left = (f"{k.rpartition('.')[2]}: {a}" for k, a in found if k not in usable or k not in fields)
    return {k: a for k, a in usable.items() if k in fields}, tuple(left), day


def carried_answers(case: Case, labels: str) -> tuple[tuple[tuple[str, str], ...], str]:
    """Give the answers that would repeat each wound's last care, and the day they are from.

    Cleaning, topical, dressing and bandage, how it is changed, and the housing are repeated;
    what was placed, removed, closed, given or measured is not: that happens once.
    """
    found: dict[str, str] = {}
    day = ""
    for visit in reversed([v.body for v in case.visits]):
        for care in visit.care:
            if care.wound in labels and f"care.{care.wound}.bandage" not in found:
                found |= {k: a for k, a in _care(care) if a and k not in found}
                day = day or f"{visit.at:%d %b}"
        if "housing" not in found and visit.housing:
            found["housing"] = visit.housing
    return tuple(found.items()), day


def _care(care: Care) -> Iterator[tuple[str, str]]:
    c = f"care.{care.wound}"
    yield f"{c}.lavage", _lavage(care.lavage)
    yield f"{c}.lavage_device", care.lavage.device if care.lavage else ""
    yield f"{c}.topical", care.topical
    if care.bandage is not None:
        yield from _bandage(c, care.bandage)


def _lavage(lavage: Lavage | None) -> str:
    if lavage is None:
        return ""
    volume = f" {lavage.volume_ml / 1000:g} l" if lavage.volume_ml else ""
    return lavage.fluid + volume


def _bandage(c: str, bandage: Bandage) -> Iterator[tuple[str, str]]:
    yield f"{c}.bandage", bandage.kind
    for layer in bandage.layers:
        if layer.role != "cover":
            yield f"{c}.layer.{layer.role}", layer.material
    covers = (x.material for x in bandage.layers if x.role == "cover")
    yield f"{c}.layers", ", ".join(covers)
    numbers = (
        ("girth_cm", bandage.girth_cm),
        ("height_cm", bandage.height_cm),
        ("every", bandage.change_every_days),
    )
    for name, number in numbers:
        yield f"{c}.{name}", f"{number:g}" if number is not None else ""
    yield f"{c}.changed_by", bandage.changed_by
    yield f"{c}.shown", SHOWN[bandage.shown]
