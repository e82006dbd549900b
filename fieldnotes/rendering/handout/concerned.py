"""Everyone a paper about a case is written for or about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.patients import Horse, Owner, Person, Practice, Premises


@dataclass(frozen=True)
class Concerned:
    """Everyone a handout is about; nobody else's record is at hand when it is made."""

    case: Case
    horse: Horse
    owner: Owner | None
    premises: Premises | None
    practice: Practice
    vet: Person | None = None
