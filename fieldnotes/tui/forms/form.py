"""What a form is: panes of fields in, a frozen record out, each problem beside its field."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fieldnotes.domain.errors import Problem, RefusedInputError

if TYPE_CHECKING:
    from fieldnotes.casework.views import Saved
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.rendering.bodymap.wounds import WoundMark
    from fieldnotes.tui.fields.field import Field
    from fieldnotes.tui.forms.filling import Offer, Shelf
    from fieldnotes.tui.forms.reckon_page import Bench

Answers = Mapping[str, str]


@dataclass(frozen=True)
class Pane:
    """One page of a form: at most fifteen fields."""

    id: str
    title: str
    fields: tuple[Field, ...]


@dataclass(frozen=True)
class Outlook:
    """What a save would lead to, under its heading, and the cautions beside their fields."""

    heading: str = ""
    lines: tuple[str, ...] = ()
    cautions: tuple[Problem, ...] = ()


def fits(field: Field, answer: str) -> bool:
    """Say whether a field takes an answer as it is, leaving nothing of it out."""
    try:
        read = field.read(answer)
    except RefusedInputError:
        return False
    return not isinstance(read, tuple) or len(read) == len(answer.split(","))


class Reading:
    """Reads a form's answers field by field and collects what cannot be read."""

    def __init__(self, panes: tuple[Pane, ...], answers: Answers) -> None:
        self._fields = {f.key: f for pane in panes for f in pane.fields}
        self.answers = answers
        self.problems: list[Problem] = []

    def has(self, key: str) -> bool:
        """Whether the form has such a field now."""
        return key in self._fields

    def text(self, key: str) -> str:
        """Give what counts as typed in a field."""
        field = self._fields.get(key)
        return "" if field is None else self.answers.get(key, field.default)

    def get(self, key: str, otherwise: Any = None) -> Any:  # noqa: ANN401  (each field reads its own type)
        """Give a field's value; `otherwise` if it is not there or cannot be read."""
        field = self._fields.get(key)
        if field is None:
            return otherwise
        try:
            return field.read(self.text(key))
        except RefusedInputError as error:
            problem = Problem(key, error.reason)
            if problem not in self.problems:
                self.problems.append(problem)
            return otherwise

    def faults(self) -> tuple[Problem, ...]:
        """Read every field and give all that cannot be read."""
        for key in self._fields:
            self.get(key)
        return tuple(self.problems)


class Form(ABC):
    """A form over the desk. `name` is its row in the catalogue, `case` what it is about."""

    name = ""
    title = ""
    case = ""
    offers_handout = False
    """Whether saving it leads to the plan it changed, and the handout."""

    @abstractmethod
    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the pages as they are for these answers."""

    @abstractmethod
    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything that is wrong or missing."""

    @abstractmethod
    def save(self, answers: Answers) -> Saved:
        """Write the record; RefusedInputError or StoreError if that cannot be done."""

    def outlook(self, answers: Answers) -> Outlook:
        """Give what a save would lead to, for the review page."""
        _ = answers
        return Outlook()

    def bench(self, answers: Answers, pane: str) -> Bench | None:
        """Give what the calculators start from on a page; None where they put nothing in."""
        _ = answers, pane
        return None

    fills = False
    """Whether it can be filled in at once, by a line or a template."""

    def hear(
        self, text: str, answers: Answers, pane: str, width: int
    ) -> tuple[tuple[str, ...], Offer | None]:
        """Read a line said about a page: what to show of it, and what it would fill in."""
        _ = text, answers, pane, width
        return (), None

    def offers(self) -> tuple[Offer, ...]:
        """Give what would fill the form in at once."""
        return ()

    def keep_template(self, name: str, answers: Answers) -> None:
        """Keep the answers under a name; RefusedInputError if there is nothing to keep."""
        raise NotImplementedError

    def shelf(self) -> Shelf:
        """Give what is offered, and what can be done with a template."""
        raise NotImplementedError

    def instead(self, answers: Answers) -> tuple[str, str] | None:
        """Give the form (name, case) that may be the one wanted; None if there is none."""
        _ = answers
        return None

    def aside(self, answers: Answers) -> str:
        """Say what a save puts on disk besides; empty if nothing."""
        _ = answers
        return ""

    def others_on(self, view: View, answers: Answers, key: str) -> tuple[WoundMark, ...]:
        """Give the wounds to draw on the body map beside the one whose region is `key`."""
        _ = view, answers, key
        return ()

    def summary(self, answers: Answers) -> tuple[str, ...]:
        """Give the record in words, for the review page."""
        lines = []
        for pane in self.panes(answers):
            said = [
                f"{f.label.lstrip('0123456789 ')} {f.told(answers.get(f.key, f.default))}"
                for f in pane.fields
                if answers.get(f.key, f.default).strip()
            ]
            if said:
                lines.append(f"{pane.title}: " + "; ".join(said))
        return tuple(lines)
