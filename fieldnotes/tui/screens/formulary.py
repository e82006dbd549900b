"""The formulary: every drug, confirmed or not, with its doses and what the practice decided."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static

from fieldnotes.clinical.dose_text import drug_lines
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.records import RecordScreen
from fieldnotes.tui.widgets.rows import Row, RowList, TextPanel, fitted, joined, wrapped

if TYPE_CHECKING:
    from collections.abc import Mapping

    from textual.app import ComposeResult

    from fieldnotes.domain.formulary import Price
    from fieldnotes.knowledge.controlled import ControlledDrug
    from fieldnotes.knowledge.drugs import Drug, Drugs


class FormularyRead(Message):
    """The drugs as the practice has them; `said` is what was just done."""

    def __init__(
        self,
        drugs: Drugs,
        controlled: Mapping[str, ControlledDrug],
        prices: tuple[Price, ...],
        said: str = "",
    ) -> None:
        super().__init__()
        self.drugs = drugs
        self.controlled = controlled
        self.prices = prices
        self.said = said


class FormularyScreen(RecordScreen):
    """Drugs by name; below, the doses and strengths of the one under the cursor."""

    NAME = "formulary"
    HEADING = "Formulary"
    EXPLAINS = (
        "Every drug held here with its published doses, each with its source. A drug stays "
        "UNCONFIRMED until someone compared the figures with the label and pressed y. The "
        "practice's own doses, strengths and choices stand first and say who set them; nothing "
        "published is taken away. Label, law and your judgement rule."
    )

    def __init__(self) -> None:
        super().__init__()
        self._read: FormularyRead | None = None
        self._all = True

    def body(self) -> ComposeResult:
        """Give the list and the doses."""
        yield RowList(id="drugs", classes="panel")
        yield TextPanel(id="doses", classes="panel")

    def on_mount(self) -> None:
        """Take the keys."""
        self.query_one("#drugs").border_title = "Drugs"
        self.query_one("#doses").border_title = "Doses and strengths"
        self.query_one("#drugs").focus()

    def on_screen_resume(self) -> None:
        """Ask again: a form may have changed something."""
        self.ask(self._look, "formulary")

    def _look(self, said: str = "") -> Message:
        desk = self.desk
        drugs = tuple(sorted(desk.knowledge.drugs, key=lambda d: d.name))
        return FormularyRead(drugs, desk.pharmacy.registered(), desk.formulary.prices(), said)

    @on(FormularyRead)
    def _show(self, event: FormularyRead) -> None:
        self._read = event
        self.redraw()
        if event.said:
            self.say(event.said, "done")
        else:
            self.look_for_drafts()

    def redraw(self) -> None:
        """Draw list and doses from what was read."""
        read = self._read
        if read is None:
            return
        still = sum(not d.confirmed for d in read.drugs)
        words = f"Formulary   {still} of {len(read.drugs)} unconfirmed"
        self.query_one("#heading", Static).update(lit(words))
        self.query_one("#drugs", RowList).show(lambda w: drug_rows(read, w, everything=self._all))
        self._show_doses()

    @on(OptionList.OptionHighlighted)
    def _moved(self) -> None:
        self._show_doses()

    def _show_doses(self) -> None:
        read, key = self._read, self.chosen_case()
        if read is not None:
            drug = next((d for d in read.drugs if d.id == key), None)
            self.query_one("#doses", TextPanel).show(lambda w: dose_text(read, drug, w))

    def chosen_case(self) -> str:
        """Give the drug under the cursor."""
        return self.query_one("#drugs", RowList).chosen

    def action_status(self) -> None:
        """Show all drugs, or only those nobody confirmed."""
        self._all = not self._all
        self.redraw()

    def action_confirm(self) -> None:
        """Confirm the drug under the cursor, or take the confirmation back."""
        read, key = self._read, self.chosen_case()
        drug = next((d for d in read.drugs if d.id == key), None) if read else None
        if drug is None:
            return
        desk, confirmed = self.desk, not drug.confirmed

        def confirm() -> Message:
            desk.formulary.confirm(drug.id, confirmed=confirmed)
            words = "confirmed against the label" if confirmed else "unconfirmed again"
            return self._look(f"✓ {drug.name} {words}")

        self.ask(confirm, "formulary")

    def action_open(self) -> None:
        """Show the doses large."""
        self.action_large("doses")

    @on(OptionList.OptionSelected)
    def _row_chosen(self) -> None:
        self.action_open()

    def action_back(self) -> None:
        """Put the list back beside the doses."""
        if self.large:
            self.action_large(self.large)


def drug_rows(read: FormularyRead, width: int, *, everything: bool) -> tuple[Row, ...]:
    """Give a row for each drug: its name, who confirmed it, what is the practice's own."""
    kept = [d for d in read.drugs if everything or not d.confirmed]
    rows = tuple(Row(_drug(d, read, width), d.id) for d in kept)
    return rows or (Row(Content.styled("Every drug is confirmed.", "$done")),)


def _drug(drug: Drug, read: FormularyRead, width: int) -> Content:
    own = [f"own dose {r.route}" for r in drug.regimens if r.changed]
    own += [f"goes by {r.label}" for r in drug.regimens if r.chosen]
    own += [f"stocks {s.amount:g} {drug.unit}/{s.per}" for s in drug.strengths if s.changed]
    own += ["controlled"] if drug.id in read.controlled else []
    confirmed = f"✓ {drug.confirmed}" if drug.confirmed else "? UNCONFIRMED"
    return joined((
        fitted(drug.name, 27, "bold"),
        fitted(confirmed, 31, "$done" if drug.confirmed else "$due"),
        fitted("; ".join(own), max(width - 62, 8), "$quiet"),
    ))  # fmt: skip


def dose_text(read: FormularyRead, drug: Drug | None, width: int) -> Content:
    """Give a drug's doses and strengths with their sources, then prices and the register."""
    if drug is None:
        return Content.styled("The doses of the drug under the cursor stand here.", "$quiet")
    lines = [wrapped(f"{drug.name} ({drug.unit}), {', '.join(drug.classes)}", width, "bold")]
    lines += [wrapped(x, width, "bold" if "CHANGED" in x else "", hang=3) for x in drug_lines(drug)]
    row = read.controlled.get(drug.id)
    if row is not None:
        lines.append(wrapped(f"controlled: {row.schedule} ({row.source})", width, hang=3))
    lines += [
        wrapped(f"{p.item} costs {p.amount:,.2f} {p.currency} per {p.per}, {p.on:%d %b %Y}", width)
        for p in read.prices
        if p.item.casefold().startswith(f"{drug.name.casefold()} ")
    ]
    return Content("\n").join(lines)
