"""A desk with a practice, an owner and a horse known to it, and a first visit to write."""

from __future__ import annotations

from fieldnotes.domain.entries import HorseSet, OwnerSet, PersonSet, PracticeSet, PremisesSet
from tests.builders import (
    a_bandage,
    a_care,
    a_closure,
    a_device,
    a_finding,
    a_horse,
    a_person,
    a_practice,
    a_premises,
    a_visit,
    an_owner,
)

CLOSED = a_care(closure=a_closure(), placed=(a_device(),), bandage=a_bandage(changed_by="vet"))


class Clock:
    """A clock the test sets."""

    def __init__(self, moment):
        self.moment = moment

    def __call__(self):
        return self.moment


def known(desk, **owner):
    for body in (
        PracticeSet(a_practice()),
        PersonSet(a_person()),
        OwnerSet(an_owner(**owner)),
        PremisesSet(a_premises()),
        HorseSet(a_horse()),
    ):
        desk.save(body)
    return desk


def first_visit(**changes):
    values = {"findings": (a_finding(),), "care": (CLOSED,)} | changes
    return a_visit(0, **values)
