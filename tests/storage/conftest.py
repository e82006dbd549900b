"""A sound store with a register and two cases, and a copy of it to damage."""

from __future__ import annotations

import datetime as dt
import shutil

import pytest

from fieldnotes.domain.entries import (
    HorseSet,
    Note,
    OwnerSet,
    PersonSet,
    PracticeSet,
    PremisesSet,
)
from fieldnotes.storage.casebook import Casebook, create_store
from tests.builders import (
    a_horse,
    a_person,
    a_practice,
    a_premises,
    a_visit,
    an_opening,
    an_owner,
)

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sound") / "store"
    create_store(folder)
    book = Casebook(folder)
    book.append(
        "register",
        [
            PracticeSet(a_practice()),
            PersonSet(a_person()),
            OwnerSet(an_owner()),
            PremisesSet(a_premises()),
            HorseSet(a_horse()),
        ],
        "vet1",
        NOW,
    )
    for ref in ("k7m2q", "p3x9z"):
        notes = [Note(f"note {n} of {ref}") for n in range(6)]
        book.append(ref, [an_opening(), a_visit(0), *notes], "vet1", NOW)
    return folder


@pytest.fixture
def store(sound, tmp_path):
    return shutil.copytree(sound, tmp_path / "store")
