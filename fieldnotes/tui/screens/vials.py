"""The controlled-drug register: vials with balances, doses not booked, the entries of one vial."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static

from fieldnotes.rendering.vial_register import discrepancy_text, line_cells, ml, vial_line
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.records import RecordScreen
from fieldnotes.tui.widgets.rows import Row, RowList, TextPanel, fitted, joined, wrapped

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from textual.app import ComposeResult

    from fieldnotes.casework.pharmacy import OpenDose
    from fieldnotes.domain.vial_book import VialAccount

DOSE = "dose:"
SOON_DAYS = 60  # practice default: how early an expiry is pointed out


class RegisterRead(Message):
    """The vials and the doses not booked."""

    def __init__(  # noqa: PLR0917  (it has these parts)
        self,
        accounts: tuple[VialAccount, ...],
        doses: tuple[OpenDose, ...],
        law: str,
        people: Mapping[str, str],
        horses: Mapping[str, str],
        now: dt.datetime,
    ) -> None:
        super().__init__()
        self.accounts = accounts
        self.doses = doses
        self.law = law
        self.people = people
        self.horses = horses
        self.now = now


class VialsScreen(RecordScreen):
    """Vials in stock, or all of them; below, the entries of the one under the cursor."""

    NAME = "vials"
    HEADING = "Controlled drugs"
    EXPLAINS = (
        "The register of controlled drugs: each vial with the balance reckoned from its entries. "
        "A count that differs is a discrepancy until an entry explains it; nothing is ever "
        "overwritten. A dose given in a visit without a vial is listed as not booked; Enter books "
        "it. p writes the register of a period into a file. Law and licence rule."
    )

    def __init__(self) -> None:
        super().__init__()
        self._read: RegisterRead | None = None
        self._all = False

    def body(self) -> ComposeResult:
        """Give the list and the entries."""
        yield RowList(id="vials", classes="panel")
        yield TextPanel(id="entries", classes="panel")

    def on_mount(self) -> None:
        """Take the keys."""
        self.query_one("#vials").border_title = "Vials"
        self.query_one("#entries").border_title = "Entries"
        self.query_one("#vials").focus()

    def on_screen_resume(self) -> None:
        """Ask again: a visit may have booked something."""
        desk = self.desk

        def read() -> Message:
            register, practice = desk.register(), desk.practice()
            law = desk.knowledge.controlled.jurisdiction(practice.jurisdiction)
            words = f"{law.id}: {law.asks}" if law else "no law of the table is set"
            return RegisterRead(
                desk.pharmacy.accounts(), desk.pharmacy.open_doses(), words,
                {p.id: p.name for p in register.people.values()},
                {h.id: h.name for h in register.horses.values()}, desk.now(),
            )  # fmt: skip

        self.ask(read, "vials")

    @on(RegisterRead)
    def _show(self, event: RegisterRead) -> None:
        self._read = event
        self.redraw()
        self.look_for_drafts()

    def redraw(self) -> None:
        """Draw list and entries from what was read."""
        read = self._read
        if read is None:
            return
        off = sum(a.discrepancy is not None for a in read.accounts)
        words = f"Controlled drugs   {len(read.doses)} not booked, {off} off   {read.law}"
        self.query_one("#heading", Static).update(lit(words))
        self.query_one("#vials", RowList).show(lambda w: vial_rows(read, w, everything=self._all))
        self._show_entries()

    @on(OptionList.OptionHighlighted)
    def _moved(self) -> None:
        self._show_entries()

    def _show_entries(self) -> None:
        read, mark = self._read, self.chosen_case()
        if read is not None:
            account = next((a for a in read.accounts if a.vial.id == mark), None)
            self.query_one("#entries", TextPanel).show(lambda w: entry_text(read, account, w))

    def chosen_case(self) -> str:
        """Give the mark of the vial under the cursor."""
        return self.query_one("#vials", RowList).chosen

    def action_status(self) -> None:
        """Show the vials in stock, or all."""
        self._all = not self._all
        self.redraw()

    def action_open(self) -> None:
        """Book the dose under the cursor, or show a vial's entries large."""
        chosen = self.chosen_case()
        if chosen.startswith(DOSE):
            self._prepare("vial_book", chosen.removeprefix(DOSE), None)
        elif chosen:
            self.action_large("entries")

    def action_form(self, name: str) -> None:
        """Open a form, about the vial under the cursor where it needs one."""
        mark = self.chosen_case()
        if name in {"vial_receive", "vial_print"}:
            self._prepare(name, "", None)
        elif not mark or mark.startswith(DOSE):
            self.say("! choose a vial first; n takes one into stock", "overdue")
        else:
            self._prepare(name, mark, None)

    @on(OptionList.OptionSelected)
    def _row_chosen(self) -> None:
        self.action_open()

    def action_back(self) -> None:
        """Put the list back beside the entries."""
        if self.large:
            self.action_large(self.large)


def _heading(words: str) -> Row:
    return Row(Content.styled(words, "bold $quiet"))


def vial_rows(read: RegisterRead, width: int, *, everything: bool) -> tuple[Row, ...]:
    """Give the vials, what is off first, then by drug and expiry; then the doses not booked."""
    kept = [a for a in read.accounts if everything or a.balance_ml > 0 or a.discrepancy]
    kept.sort(key=lambda a: (a.discrepancy is None, a.vial.name, a.vial.expiry))
    rows = [_heading("All vials" if everything else "In stock")]
    rows += [Row(_vial(a, read.now, width), a.vial.id) for a in kept]
    if not kept:
        rows.append(Row(Content.styled("No vial. n takes one into stock.", "$quiet")))
    if read.doses:
        rows.append(_heading("Given, not booked"))
        rows += [Row(_dose(x, read, width), f"{DOSE}{x.id}") for x in read.doses]
    return tuple(rows)


def _dose(dose: OpenDose, read: RegisterRead, width: int) -> Content:
    at = dose.at.astimezone(read.now.tzinfo)
    said = "volume not said" if dose.volume_ml is None else f"{ml(dose.volume_ml)} mL"
    booked = f", booked {ml(dose.booked_ml)} mL" if dose.booked_ml else ""
    return joined((
        fitted("! open", 6, "bold $overdue"),
        fitted(f"{at:%d %b %H:%M}", 12),
        fitted(dose.name, 14, "bold"),
        fitted(said, 15),
        fitted(f"{dose.horse} ({dose.case}){booked}", max(width - 55, 10), "$quiet"),
    ))  # fmt: skip


def _state(account: VialAccount, now: dt.datetime) -> tuple[str, str]:
    days = (account.vial.expiry - now.date()).days
    if (off := account.discrepancy) is not None:
        since = off.agreed_at.astimezone(now.tzinfo)
        return f"off by {off.volume_ml:+g} mL since {since:%d %b}", "bold $overdue"
    if account.balance_ml < 0:
        return "more drawn than it held", "bold $overdue"
    if days < 0:
        return "EXPIRED", "bold $overdue"
    if days <= SOON_DAYS:
        return f"expires in {days} days", "$due"
    counted = account.counted
    if counted is None:
        return "not counted yet", "$quiet"
    return f"counted {counted.at.astimezone(now.tzinfo):%d %b}", "$quiet"


def _vial(account: VialAccount, now: dt.datetime, width: int) -> Content:
    vial = account.vial
    words, style = _state(account, now)
    sign = "!" if style.startswith("bold") else " "
    return joined((
        fitted(f"{sign} {vial.id}", 6, "bold"),
        fitted(vial.name, 14),
        fitted(f"{vial.amount_per_ml:g} {vial.unit}/mL", 11),
        fitted(f"{ml(account.balance_ml)} of {ml(vial.volume_ml)} mL", 14, "bold"),
        fitted(f"{vial.expiry:%d %b %Y}", 11),
        fitted(words, max(width - 61, 10), style),
    ), " ")  # fmt: skip


def entry_text(read: RegisterRead, account: VialAccount | None, width: int) -> Content:
    """Give a vial's entries, newest first, with the balance after each."""
    if account is None:
        return Content.styled("The entries of the vial under the cursor stand here.", "$quiet")
    lines = [wrapped(vial_line(account.vial), width, "bold")]
    if off := discrepancy_text(account, read.now.tzinfo):
        lines.append(wrapped(f"! {off}", width, "bold $overdue"))
    for line in reversed(account.lines):
        cells = line_cells(line, read.people, read.horses, read.now.tzinfo)
        when, _, what, came, went, left, about, who, witness, said = cells
        moved = f"+{came}" if came else f"-{went}" if went else ""
        head = f"{when}  {what} {moved}".rstrip() + f" = {left} mL"
        rest = ", ".join(p for p in (about, who, witness and f"witness {witness}", said) if p)
        lines.append(wrapped(f"{head}  {rest}", width, hang=4))
    return Content("\n").join(lines)
