"""What the app needs of the outside, as small protocols: drafts on disk, and making a store."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldnotes.casework.desk import Casework
    from fieldnotes.domain.patients import Person, Practice


class Draft(Protocol):
    """A form as last typed."""

    @property
    def id(self) -> str:
        """Names the draft."""

    @property
    def form(self) -> str:
        """Which form."""

    @property
    def case(self) -> str:
        """The case it is about, empty for a new one."""

    @property
    def title(self) -> str:
        """The words it is offered under."""

    @property
    def changed(self) -> str:
        """When it was last typed in."""

    @property
    def answers(self) -> Mapping[str, str]:
        """What was typed, by field."""


class Drafts(Protocol):
    """The journal of forms being filled in."""

    def save(  # noqa: PLR0917  (it has these parts)
        self,
        draft_id: str,
        form: str,
        case: str,
        title: str,
        changed: str,
        answers: Mapping[str, str],
    ) -> None:
        """Put a draft on disk."""

    def load(self, draft_id: str) -> Draft | None:
        """Give a draft."""

    def list(self) -> tuple[Draft, ...]:
        """Give all drafts, the last changed first."""

    def discard(self, draft_id: str) -> None:
        """Delete a draft whose form was saved."""


class Founding(Protocol):
    """Makes a store where there is none yet; each gives the desk and drafts over it."""

    def set_up(self, practice: Practice, person: Person) -> tuple[Casework, Drafts]:
        """Make an empty store of a practice."""

    def demo(self) -> tuple[Casework, Drafts]:
        """Make a copy of the sample practice."""

    def bring_in(self, file: str) -> tuple[Casework, Drafts]:
        """Make a store from a file of records."""
