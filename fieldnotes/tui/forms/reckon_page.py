"""What a calculator's page is: fields prefilled from the case in, lines and answers out.

A field's key is the name the calculation refuses it by, so that a refusal stands at its place.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import Problem, RefusedInputError
from fieldnotes.domain.patients import Horse, Species
from fieldnotes.tui.fields.choices import ChoiceField, of_words
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.forms.drug_panes import free_slot
from fieldnotes.tui.forms.form import Answers, Pane, Reading

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from fieldnotes.clinical.patient_facts import Treatment
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.wounds import Wound
    from fieldnotes.knowledge.library import Library
    from fieldnotes.tui.fields.field import Field
    from fieldnotes.tui.forms.drug_panes import Patient

FOR_PANE = {"drug": "dose", "wound": "local", "care": "dilution", "bandage": "bandage",
            "animal": "tetanus"}  # fmt: skip
NOTE = "reckoned"  # the visit's own field for how a figure was got


@dataclass(frozen=True)
class Bench:
    """What the calculators start from.

    `answers` are the visit form's, None where no form takes a result; `page` is the one shown
    first, `label` the wound and `slot` the drug page in front; `given` is what the animal got,
    on record and in this visit, `in_slot` what of it stands on that drug page.
    """

    library: Library
    patient: Patient
    tetanus_months: int
    answers: Answers | None = None
    page: str = ""
    label: str = ""
    slot: int = 1
    wounds: tuple[Wound, ...] = ()
    injured_on: dt.date | None = None
    case: Case | None = None
    given: tuple[Treatment, ...] = ()
    in_slot: Treatment | None = None

    @property
    def today(self) -> dt.date:
        """The present day."""
        return self.patient.now.date()

    def typed(self, key: str) -> str:
        """Give what stands in a field of the visit form; empty if nothing does."""
        return (self.answers or {}).get(key, "").strip()

    def page_of(self, drug: str) -> str:
        """Give the drug page a dose goes to: the one in front unless another drug stands there."""
        here = self.typed(f"drug.{self.slot}.drug") in {"", drug}
        return f"drug.{self.slot if here else free_slot(self.answers or {})}"


@dataclass(frozen=True)
class Reckoned:
    """A result: its lines, one line for the note, and answers for fields of the visit form.

    `stops` are what keeps it out of the visit until a reason is typed.
    """

    lines: tuple[str, ...]
    note: str
    puts: tuple[tuple[str, str], ...] = ()
    stops: tuple[Problem, ...] = ()

    def into(self, answers: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
        """Give the form's answers it leads to; the note is added to what is there."""
        before = answers.get(NOTE, "").strip()
        note = f"{before}; {self.note}" if before else self.note
        return (*(put for put in self.puts if put[1]), (NOTE, note))


@dataclass(frozen=True)
class Page:
    """One calculator; `reckon` raises RefusedInputError naming one of its fields."""

    id: str
    title: str
    fields: Callable[[Bench, Answers], tuple[Field, ...]]
    reckon: Callable[[Bench, Reading], Reckoned]


@dataclass(frozen=True)
class Worked:
    """A page worked out: its result, or what is wrong or missing and where."""

    reckoned: Reckoned | None
    problems: tuple[Problem, ...] = field(default=())


def work_out(page: Page, bench: Bench, answers: Answers) -> Worked:
    """Give a page's result for what has been typed."""
    r = Reading((Pane(page.id, page.title, page.fields(bench, answers)),), answers)
    if faults := r.faults():
        return Worked(None, faults)
    try:
        reckoned = page.reckon(bench, r)
    except RefusedInputError as error:
        return Worked(None, (Problem(error.field, error.reason),))
    return Worked(reckoned, reckoned.stops)


def page_for(pane: str) -> str:
    """Give the calculator most likely wanted on a page of the visit form; weight is the first."""
    return FOR_PANE.get(pane.partition("-")[0], "weight")


def needed(r: Reading, key: str, why: str) -> float:
    """Give a figure that the calculation cannot do without."""
    value: float | None = r.get(key)
    if value is None:
        raise RefusedInputError(key, why)
    return value


def age_field(horse: Horse | None, today: dt.date) -> NumberField:
    """Give the field of an age in days."""
    age = horse.age_days(today) if horse else None
    return NumberField(key="age-days", label="Age", unit="days", whole=True, most=20000,
                       default="" if age is None else str(age),
                       hint="foals differ; empty: grown, or not known")  # fmt: skip


def whose(bench: Bench) -> tuple[Field, ...]:
    """Give what must be asked of an animal that no record tells of."""
    if bench.patient.horse is not None:
        return ()
    species = ChoiceField(key="species", label="Species", given=of_words(tuple(Species)),
                          default=Species.HORSE)  # fmt: skip
    return (species, age_field(None, bench.today))


def animal(bench: Bench, r: Reading) -> Horse:
    """Give the case's animal, or one of which only species and age are known."""
    if bench.patient.horse is not None:
        return bench.patient.horse
    age = r.get("age-days")
    born = None if age is None else bench.today - dt.timedelta(days=age)
    return Horse("", "", Species(r.get("species") or Species.HORSE), "", born=born)
