"""The pages of a first run: the practice, who signs, where it starts, mail, import, ready."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.casework.founding import ASKED, Founding, blank, person_id
from fieldnotes.casework.settings import setting_named, with_settings
from fieldnotes.domain.body_weight import METRIC, US
from fieldnotes.domain.errors import Problem
from fieldnotes.domain.mail import IMPLICIT_TLS_PORT, MailServer
from fieldnotes.domain.patients import Person, PersonRole
from fieldnotes.tui.fields.choices import ChoiceField, of_words
from fieldnotes.tui.fields.field import Field, Option
from fieldnotes.tui.forms.form import Answers, Pane, Reading
from fieldnotes.tui.forms.post_forms import read_server, server_fields
from fieldnotes.tui.forms.settings import setting_field

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable

    from fieldnotes.domain.patients import Practice
    from fieldnotes.domain.register import Register

FORM, PAGE = "set_up", "page"
"""The form's name in its draft, and the answer that says which page was left."""
AFTER = ("import", "ready")
"""The pages after all that was asked is kept."""
MOST_PEOPLE = 6
UNITS = (Option(METRIC, "kilograms", "k"), Option(US, "pounds, kilograms beside", "p"))


@dataclass(frozen=True)
class Step:
    """One page: its word among the steps, its title, what it says, and what it asks."""

    id: str
    word: str
    title: str
    says: str
    fields: Callable[[Answers], tuple[Field, ...]]


def _practice(_answers: Answers) -> tuple[Field, ...]:
    return tuple(
        setting_field(setting_named(key), blank())
        for key in ("name", "phone", "emergency_phone", "email", "address")
    )


def _people(answers: Answers) -> tuple[Field, ...]:
    fields: list[Field] = []
    for n in range(1, MOST_PEOPLE + 1):
        p = f"person.{n}"
        label, hint = ("Vet", "as it stands on papers") if n == 1 else ("Also signs", "or nobody")
        fields.append(Field(key=f"{p}.name", label=label, required=n == 1, hint=hint))
        if n > 1 and not answers.get(f"{p}.name", "").strip():
            break
        if n > 1:
            fields.append(
                ChoiceField(key=f"{p}.role", label="  as", default=PersonRole.VET,
                            given=of_words(r.value for r in PersonRole))
            )  # fmt: skip
        fields.append(
            Field(key=f"{p}.licence", label="  registration", hint="number; may stay empty")
        )
    return tuple(fields)


def _base(zone: str) -> Callable[[Answers], tuple[Field, ...]]:
    known = blank(zone)
    return lambda _answers: (
        setting_field(setting_named("base"), known),
        ChoiceField(key="units", label="Body weights", given=UNITS, default=METRIC,
                    hint="what a bare figure means; doses are reckoned in kilograms either way"),
        setting_field(setting_named("zone"), known),
    )  # fmt: skip


def _mail(_answers: Answers) -> tuple[Field, ...]:
    return server_fields(MailServer(""), required=False)


def _nothing(_answers: Answers) -> tuple[Field, ...]:
    return ()


def steps(zone: str) -> tuple[Step, ...]:
    """Give the pages in order."""
    return (
        Step("practice", "Practice", "Your practice",
             "What owners read on their handouts. Name and phone are needed; the rest can wait.",
             _practice),
        Step("people", "People", "Who signs",
             "Every entry carries a name. The first one signs unless another is chosen.", _people),
        Step("base", "Base", "Where the day starts",
             "Rounds are reckoned from here. Paste a position from any map; without one, stops are "
             "listed but not timed.", _base(zone)),
        Step("mail", "Mail", "Sending handouts",
             "The server that takes your mail. Leave it empty and handouts are printed or saved.",
             _mail),
        Step("import", "Import", "Bring in what you have",
             "Owners, places and horses from a table (.csv), or records in our own form.",
             _nothing),
        Step("ready", "Ready", "Ready", "All of this can be changed at any time:", _nothing),
    )  # fmt: skip


def as_known(register: Register, answers: Answers) -> Answers:
    """Give the answers of a run left after all was kept as the register has them by now."""
    practice = register.practice
    if practice is None or answers.get(PAGE) not in AFTER:
        return answers
    server = practice.mail_server or MailServer("", IMPLICIT_TLS_PORT)
    found = {key: setting_named(key).of(practice) for key in ASKED}
    found |= {"host": server.host, "port": str(server.port), "user": server.user,
              "from": server.sender}  # fmt: skip
    for n in range(1, MOST_PEOPLE + 1):
        person = register.people.get(person_id(n))
        if person is not None:
            p = f"person.{n}"
            found |= {f"{p}.name": person.name, f"{p}.role": person.role,
                      f"{p}.licence": person.licence}  # fmt: skip
    return {**answers, **found}


class Assistant:
    """Reads the pages: what is wrong on one, and what all of them come to."""

    def __init__(self, zone: str, known: Practice | None = None) -> None:
        self._blank = known or blank(zone)
        self.steps = steps(zone)

    def at(self, page: str) -> int:
        """Give the place of a page; the first one for a name not known."""
        return next((n for n, s in enumerate(self.steps) if s.id == page), 0)

    def fields(self, at: int, answers: Answers) -> tuple[Field, ...]:
        """Give what a page asks for these answers."""
        return self.steps[at].fields(answers)

    def _reading(self, answers: Answers) -> Reading:
        panes = (Pane(s.id, s.title, s.fields(answers)) for s in self.steps)
        return Reading(tuple(panes), answers)

    def founding(self, answers: Answers) -> Founding:
        """Give the practice and who signs, of what was typed and can be read."""
        r = self._reading(answers)
        bad = {p.field for p in r.faults()}
        keys = [
            f.key for at in (0, 2) for f in self.fields(at, answers) if f.key not in bad
        ]  # fmt: skip
        practice = with_settings(self._blank, {key: r.text(key) for key in keys})
        server = read_server(r) if r.get("host", "") else None
        people = (
            Person(
                person_id(n), r.get(f"person.{n}.name", ""),
                PersonRole(r.get(f"person.{n}.role") or PersonRole.VET),
                r.get(f"person.{n}.licence", ""),
            )
            for n in range(1, MOST_PEOPLE + 1)
            if r.get(f"person.{n}.name", "")
        )  # fmt: skip
        return Founding(replace(practice, mail_server=server), tuple(people))

    def problems(self, at: int, answers: Answers, today: dt.date) -> tuple[Problem, ...]:
        """Give what is wrong on one page."""
        fields = self.fields(at, answers)
        faults = Reading((Pane("", "", fields),), answers).faults()
        if faults:
            return faults
        found = list(self.founding(answers).problems(today))
        mail = any(answers.get(key, "").strip() for key in ("user", "from"))
        if mail and not answers.get("host", "").strip():
            found.append(Problem("host", "the server is needed; or leave all of this page empty"))
        return tuple(p for p in found if any(f.answers_for(p.field) for f in fields))

    def first_wrong(self, answers: Answers, today: dt.date) -> int | None:
        """Give the first page with something wrong; None if there is none."""
        wrong = (n for n in range(len(self.steps)) if self.problems(n, answers, today))
        return next(wrong, None)

    def closing(self, answers: Answers) -> tuple[tuple[str, str, str], ...]:
        """Give what was set up, and by which key each can be changed from Today."""
        made = self.founding(answers)
        practice = made.practice
        base = setting_named("base").of(practice) or "no base position yet"
        weights = next(o.words for o in UNITS if o.id == practice.units)
        server = practice.mail_server
        return (
            ("Practice", f"{practice.name}, {practice.phone}", "^r  Settings"),
            ("Signs", ", ".join(p.name for p in made.people), "V   Who signs"),
            ("Base", f"{base}; {practice.zone}", "^r  Settings"),
            ("Weights", weights, "^r  Settings"),
            ("Mail", server.host if server else "not yet", "4 m Outbox, mail server"),
            ("Records", "a table or a file, at any time", "U i Upkeep, import"),
        )
