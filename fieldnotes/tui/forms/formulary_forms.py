"""Forms of the practice's formulary: own dose, strength, choice, mark and price of one drug."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.formulary import MEASURES
from fieldnotes.clinical.costs import strength_item
from fieldnotes.domain.errors import Problem, RefusedInputError
from fieldnotes.tui.fields.choices import YES_NO, ChoiceField, ManyField, lettered
from fieldnotes.tui.fields.field import Field, Option
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.forms.finding import find_among
from fieldnotes.tui.forms.form import Answers, Form, Pane, Reading

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.formulary import Formulary
    from fieldnotes.casework.views import Saved
    from fieldnotes.knowledge.drugs import Drug

Fields = tuple[Field, ...]
WHY = Field(
    key="why",
    label="Source",
    required=True,
    hint="where the figure comes from; it is shown wherever the figure is used",
)


class DecisionForm(Form):
    """One page of fields that become one decision of the practice about a drug."""

    def __init__(  # noqa: PLR0917  (it has these parts)
        self,
        desk: Casework,
        name: str,
        words: str,
        drug: Drug | None,
        fields: Fields,
        decide: Callable[[Formulary, Reading], Saved],
    ) -> None:
        self._desk = desk
        self.name = name
        self.case = drug.id if drug else ""
        self.title = f"{words}: {drug.name}" if drug else words
        self._pane = (Pane(name, words, fields),)
        self._decide = decide

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the one page."""
        _ = answers
        return self._pane

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give what cannot be read, else what the decision is refused for."""
        r = Reading(self._pane, answers)
        if faults := r.faults():
            return faults
        try:
            self._decide(self._desk.formulary.trial(), r)
        except RefusedInputError as error:
            return (Problem(error.field, error.reason),)
        return ()

    def save(self, answers: Answers) -> Saved:
        """Write the decision."""
        return self._decide(self._desk.formulary, Reading(self._pane, answers))


def _routes(desk: Casework) -> tuple[tuple[str, str], ...]:
    return tuple((r.id, f"{r.id} {r.name}") for r in desk.knowledge.routes if r.id != "topical")


def own_dose(desk: Casework, drug_id: str) -> Form:
    """Give the form for the dose the practice uses."""
    drug = desk.formulary.drug(drug_id)
    fields = (
        ChoiceField(key="route", label="Route", given=lettered(_routes(desk)), required=True),
        NumberField(key="dose", label="Dose", unit=drug.unit, required=True),
        NumberField(key="high", label="Up to", unit=drug.unit, hint="empty: no range"),
        ChoiceField(key="total", label="Is", default="per_kg", hint="in all: whatever it weighs",
                    given=lettered((("per_kg", "per kg"), ("total", "in all")))),
        NumberField(key="interval_h", label="Every", unit="h", hint="empty: once"),
        WHY,
    )  # fmt: skip
    return DecisionForm(
        desk, "own_dose", "Own dose", drug, fields,
        lambda f, r: f.set_dose(
            drug.id, r.get("route", ""), r.get("dose"), r.get("high"),
            interval_h=r.get("interval_h"), why=r.get("why", ""),
            per_kg=r.get("total") != "total",
        ),
    )  # fmt: skip


def own_strength(desk: Casework, drug_id: str) -> Form:
    """Give the form for a strength the practice stocks."""
    drug = desk.formulary.drug(drug_id)
    fields = (
        NumberField(key="amount", label="Holds", unit=drug.unit, required=True),
        ChoiceField(key="per", label="In one", default="mL",
                    given=lettered((m, m) for m in MEASURES)),
        Field(key="form", label="Form", default="injection", hint="injection, tablet, paste ..."),
        NumberField(key="pack", label="Bottle or box of", hint="mL, tablets ... in one; the "
                    "load list counts bottles by it"),
        ManyField(key="routes", label="Given", given=lettered(_routes(desk)), required=True,
                  hint="letters tick"),
        WHY,
    )  # fmt: skip
    return DecisionForm(
        desk, "own_strength", "Strength in stock", drug, fields,
        lambda f, r: f.set_strength(
            drug.id, r.get("amount"), r.get("per") or "mL", r.get("form", ""),
            r.get("routes", ()), r.get("why", ""), r.get("pack"),
        ),
    )  # fmt: skip


def own_choice(desk: Casework, drug_id: str) -> Form:
    """Give the form that chooses among published doses that disagree."""
    drug = desk.formulary.drug(drug_id)
    published = [r for r in drug.regimens if not r.changed]
    given = lettered(
        (str(n), f"{r.route} {r.low:.4g}-{r.high:.4g} {drug.unit}: {r.label}")
        for n, r in enumerate(published)
    )
    fields = (
        ChoiceField(key="label", label="Goes by", given=given, required=True,
                    hint="the others stay in sight"),
    )  # fmt: skip

    def decide(f: Formulary, r: Reading) -> Saved:
        regimen = published[int(r.get("label"))]
        return f.choose(drug.id, regimen.route, regimen.label)

    return DecisionForm(desk, "own_choice", "Choose a dose", drug, fields, decide)


def own_mark(desk: Casework, drug_id: str) -> Form:
    """Give the form that puts a drug into the controlled-drug register, or takes it out."""
    drug = desk.formulary.drug(drug_id)
    kept = drug.id in desk.pharmacy.registered()
    fields = (
        ChoiceField(key="controlled", label="In register", given=YES_NO,
                    default="" if kept else "yes"),
        WHY,
    )  # fmt: skip
    return DecisionForm(
        desk, "own_mark", "Controlled-drug register", drug, fields,
        lambda f, r: f.mark(drug.id, r.get("why", ""), controlled=bool(r.get("controlled"))),
    )  # fmt: skip


def own_price(desk: Casework, drug_id: str) -> Form:
    """Give the form for the price of one of a drug's strengths."""
    drug = desk.formulary.drug(drug_id)
    items = [(strength_item(drug.name, drug.unit, s), s.per) for s in drug.strengths]
    last = next(iter(desk.formulary.prices()), None)
    fields = (
        ChoiceField(key="item", label="One measure of", required=True, default="0",
                    given=lettered((str(n), f"{item}") for n, (item, _) in enumerate(items))),
        NumberField(key="amount", label="Costs", required=True, hint="0 takes the price away"),
        Field(key="currency", label="Currency", default=last.currency if last else "EUR",
              required=True),
    )  # fmt: skip

    def decide(f: Formulary, r: Reading) -> Saved:
        item, per = items[int(r.get("item"))]
        return f.set_price(item, per, r.get("amount"), r.get("currency", ""))

    return DecisionForm(desk, "own_price", "Price", drug, fields, decide)


def material_price(desk: Casework, _ref: str = "") -> Form:
    """Give the form for the price of a material or anything else the load list names."""
    units = desk.road.loadable()
    last = next(iter(desk.formulary.prices()), None)
    fields = (
        find_among("item", "One", tuple(Option(x, f"{x} ({units[x]})") for x in sorted(units)),
                   "item", required=True, free=True, hint="as the load list has it, or any other"),
        Field(key="per", label="Counted in", hint="empty: as the load list has it"),
        NumberField(key="amount", label="Costs", required=True, hint="0 takes the price away"),
        Field(key="currency", label="Currency", default=last.currency if last else "EUR",
              required=True),
    )  # fmt: skip

    def decide(f: Formulary, r: Reading) -> Saved:
        item = r.get("item", "")
        per = r.get("per") or units.get(item, "each")
        return f.set_price(item, per, r.get("amount"), r.get("currency", ""))

    return DecisionForm(desk, "material_price", "Price of a material", None, fields, decide)
