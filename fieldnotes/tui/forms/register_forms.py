"""Forms of one page for the register: owner, premises."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING

from fieldnotes.domain.entries import REGISTER, Body, OwnerSet, PersonSet, PremisesSet
from fieldnotes.domain.patients import Owner, Person, PersonRole, Position, Premises
from fieldnotes.planning.positions import decimal_degrees
from fieldnotes.tui.fields.choices import ChoiceField, of_words
from fieldnotes.tui.fields.field import Field, LongText
from fieldnotes.tui.fields.position import PositionField
from fieldnotes.tui.forms.finding import find_among, named
from fieldnotes.tui.forms.form import Answers, Form, Pane, Reading

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.errors import Problem

Fields = tuple[Field, ...]


class RegisterForm(Form):
    """One page of fields that become one record of the register."""

    def __init__(
        self,
        desk: Casework,
        name: str,
        words: str,
        fields: Fields,
        build: Callable[[Reading], Body],
        *,
        case: str = "",
    ) -> None:
        self._desk = desk
        self.name, self.case = name, case
        self.title = words
        self._pane: tuple[Pane, ...] = (Pane(name, words, fields),)
        self._build = build

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the one page."""
        _ = answers
        return self._pane

    def reading(self, answers: Answers) -> Reading:
        """Give the reader of the page's answers."""
        return Reading(self._pane, answers)

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong."""
        r = self.reading(answers)
        body = self._build(r)
        return r.faults() or self._desk.check(REGISTER, body)

    def save(self, answers: Answers) -> Saved:
        """Put the record in the register."""
        return self._desk.save(self._build(self.reading(answers)))


def _new_id(prefix: str) -> str:
    return f"{prefix}-{secrets.token_hex(4)}"


def _position_field(path: str, position: Position | None = None) -> Field:
    return PositionField(
        key="position", label="Position", default=decimal_degrees(position) if position else "",
        also=(path, f"{path}.lat", f"{path}.lon"),
        hint="54.51, -1.62 or N 54 30 36 W 1 37 12, a geo: link or a plus code; "
        "without one a stop is listed untimed",
    )  # fmt: skip


def owner(desk: Casework, _ref: str = "") -> Form:
    """Give the form for a new owner."""
    names = (("name", "Name"), ("phone", "Phone"), ("email", "Email"), ("address", "Address"))
    fields = tuple(Field(key=k, label=w, required=k == "name") for k, w in names)

    def build(r: Reading) -> Body:
        texts = {k: r.get(k, "") for k in ("name", "phone", "email", "address", "note")}
        return OwnerSet(Owner(_new_id("owner"), **texts))

    note = LongText(key="note", label="Note")
    return RegisterForm(desk, "owner", "New owner", (*fields, note), build)


class PersonForm(RegisterForm):
    """Someone who signs: one more, or one known whose name or registration has changed."""

    def __init__(self, desk: Casework, _ref: str = "") -> None:
        super().__init__(desk, "person", "Who signs", (), self._person)
        self._new = Person(_new_id("person"), "")
        self._found = find_among("person", "Changes", named(desk.register().people), "person",
                                 hint="who it is that is changed; empty: one more")  # fmt: skip

    def _known(self, answers: Answers) -> Person:
        return self._desk.register().people.get(answers.get("person", ""), self._new)

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the one page, filled with what is known of the one chosen."""
        known = self._known(answers)
        fields = (
            Field(key="name", label="Name", required=True, default=known.name),
            ChoiceField(key="role", label="Role", given=of_words(r.value for r in PersonRole),
                        default=known.role),
            Field(key="licence", label="Registration", default=known.licence,
                  hint="number, as it stands on papers"),
            self._found,
        )  # fmt: skip
        return (Pane("person", "Who signs", fields),)

    def reading(self, answers: Answers) -> Reading:
        """Give the reader of the page's answers."""
        return Reading(self.panes(answers), answers)

    def _person(self, r: Reading) -> Body:
        role = PersonRole(r.get("role") or PersonRole.VET)
        id_ = self._known(r.answers).id
        return PersonSet(Person(id_, r.get("name", ""), role, r.get("licence", "")))


def premises(desk: Casework, _ref: str = "") -> Form:
    """Give the form for a new premises."""
    fields = (
        Field(key="name", label="Name", required=True),
        Field(key="address", label="Address"),
        _position_field("premises.position"),
        LongText(key="access", label="Access", hint="gates, dogs, where to park"),
    )
    return RegisterForm(
        desk, "premises", "New premises", fields,
        lambda r: PremisesSet(Premises(_new_id("place"), r.get("name", ""), r.get("address", ""),
                                       r.get("position"), r.get("access", ""))),
    )  # fmt: skip
