"""The form of a death, with the vials a euthanasia drug was drawn from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.dying import Draw, death_problems, record_death
from fieldnotes.domain.entries import Death
from fieldnotes.tui.fields.choices import YES_NO, ChoiceField, lettered
from fieldnotes.tui.fields.field import Field
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.fields.moments import DateField
from fieldnotes.tui.forms.form import Answers, Form, Pane, Reading
from fieldnotes.tui.forms.vial_fields import NOT_BOOKED, vial_words

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.errors import Problem

NAMES = ("cause", "consented_by", "method", "drug")
VIALS = 2  # a heavy horse may take more than one


class DeathForm(Form):
    """A death; what was drawn for it goes into the controlled-drug register as it is saved."""

    name = "death"
    offers_handout = True

    def __init__(self, desk: Casework, ref: str) -> None:
        self._desk = desk
        file = desk.file(ref)
        self.case = file.case.ref
        self.title = f"Death: {file.horse.name}"
        self._stock = tuple(a for kept in desk.pharmacy.shelf().values() for a in kept)

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the page; the vials only for a horse that was euthanased."""
        today = self._desk.today()
        labels = ("Cause", "Consented by", "Method", "Drug")
        return (Pane(self.name, "Death", (
            DateField(key="on", label="On", today=today, past=True, default="today", required=True),
            ChoiceField(key="euthanased", label="Euthanased", given=YES_NO),
            *(Field(key=k, label=w) for k, w in zip(NAMES, labels, strict=True)),
            *(self._vials() if answers.get("euthanased") == "yes" else ()),
        )),)  # fmt: skip

    def _vials(self) -> tuple[Field, ...]:
        today = self._desk.today()
        given = [(a.vial.id, f"{a.vial.name}, {vial_words(a, today)}") for a in self._stock]
        given.append((NOT_BOOKED, "not booked"))
        fields: list[Field] = []
        for n in range(VIALS if self._stock else 1):
            label = "Second vial" if n else "Vial"
            fields += (
                ChoiceField(key=f"vial.{n}", label=label, given=lettered(given), hint="the draw is "
                            "booked in the controlled-drug register as the death is saved"),
                NumberField(key=f"drawn.{n}", label="Drawn", unit="mL", least=0.1, most=1000),
            )  # fmt: skip
        why = Field(key="why", label="Reason", hint="for an expired vial, or more than is left")
        return (*fields, why)

    def _death(self, r: Reading) -> Death:
        texts = {k: r.get(k, "") for k in NAMES}
        if not texts["drug"]:
            names = {a.vial.id: a.vial.name for a in self._stock}
            texts["drug"] = next((names[mark] for mark, _ in self._draws(r)), "")
        return Death(r.get("on"), bool(r.get("euthanased")), **texts)

    def _draws(self, r: Reading) -> tuple[Draw, ...]:
        chosen = ((r.get(f"vial.{n}") or "", r.get(f"drawn.{n}")) for n in range(VIALS))
        return tuple((mark, ml or 0.0) for mark, ml in chosen if mark not in {"", NOT_BOOKED})

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong."""
        r = Reading(self.panes(answers), answers)
        death, draws = self._death(r), self._draws(r)
        unbooked = r.get("vial.0") == NOT_BOOKED
        return r.faults() or tuple(
            death_problems(
                self._desk, self.case, death, draws, r.get("why") or "", unbooked=unbooked
            )
        )

    def save(self, answers: Answers) -> Saved:
        """Write the death and its draws."""
        r = Reading(self.panes(answers), answers)
        draws = self._draws(r)
        return record_death(self._desk, self.case, self._death(r), draws, r.get("why") or "")
