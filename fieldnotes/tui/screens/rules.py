"""The follow-up rules in force: windows, who, where each comes from, and what is disputed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static

from fieldnotes.casework.rulebook import RuleBook
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.records import RecordScreen
from fieldnotes.tui.widgets.rows import Row, RowList, fitted, joined, wrapped

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from fieldnotes.casework.rulebook import DisputeLine, RuleLine

DISPUTE = "dispute:"
WIDE = 100  # columns, from which a task's anchor is shown beside it
STATES = {"shipped": "", "changed": "* changed", "own": "+ own", "off": "x off"}


class RulesRead(Message):
    """The rules and disputes as they stand."""

    def __init__(self, rules: tuple[RuleLine, ...], disputes: tuple[DisputeLine, ...]) -> None:
        super().__init__()
        self.rules = rules
        self.disputes = disputes


class RulesScreen(RecordScreen):
    """Every rule, and the figures the sources dispute."""

    NAME = "rules"
    HEADING = "Follow-up rules"
    EXPLAINS = (
        "What is due after what. Days count from the event named: earliest, due, latest. Enter "
        "changes a rule, leaves it out or puts it back as shipped; the change is signed and its "
        "reason stands in every plan that uses it. At the end are the figures the sources "
        "dispute. '*' changed, '+' the practice's own, 'x' left out. The vet decides."
    )

    def body(self) -> ComposeResult:
        """Give the list, and one line about the row under the cursor."""
        yield RowList(id="rules", classes="panel")
        yield Static(id="about")

    def on_mount(self) -> None:
        """Take the keys."""
        self._read: RulesRead | None = None
        self.query_one("#rules").focus()

    def on_screen_resume(self) -> None:
        """Ask again: a rule may have been changed."""
        book = RuleBook(self.desk)
        self.ask(lambda: RulesRead(book.rules(), book.disputes()), "rules")

    @on(RulesRead)
    def _show(self, event: RulesRead) -> None:
        self._read = event
        changed = sum(line.state != "shipped" for line in event.rules)
        words = f"Follow-up rules   {len(event.rules)}, {changed} not as shipped"
        self.query_one("#heading", Static).update(lit(words))
        self.query_one("#rules", RowList).show(lambda w: rule_rows(event, w))

    @on(OptionList.OptionHighlighted)
    def _tell(self) -> None:
        width = max(self.size.width - 2, 40)
        self.query_one("#about", Static).update(wrapped(self._about(), width, "$quiet"))

    def _about(self) -> str:
        chosen, read = self.chosen_case(), self._read
        if read is None or not chosen:
            return ""
        if chosen.startswith(DISPUTE):
            line = next(d for d in read.disputes if DISPUTE + d.dispute.id == chosen)
            others = (f"{o.words} ({o.source})" for o in line.dispute.options)
            return f"{line.dispute.topic}: {' / '.join(others)}"
        return next(x.rule.source for x in read.rules if x.rule.id == chosen)

    def chosen_case(self) -> str:
        """Give the rule or dispute under the cursor."""
        return self.query_one("#rules", RowList).chosen

    def action_open(self) -> None:
        """Change the rule, or settle the dispute, under the cursor."""
        self.action_form("dispute" if self.chosen_case().startswith(DISPUTE) else "rule")

    async def action_back(self) -> None:
        """Go back to the day's round."""
        await self.fieldnotes.action_go("today")

    @on(OptionList.OptionSelected)
    def _row_chosen(self) -> None:
        self.action_open()


def rule_rows(read: RulesRead, width: int) -> tuple[Row, ...]:
    """Give one row for each rule by its kind, then one for each dispute."""
    rows: list[Row] = []
    for kind in dict.fromkeys(line.rule.kind for line in read.rules):
        rows.append(Row(Content.styled(kind, "bold $primary")))
        same = (line for line in read.rules if line.rule.kind == kind)
        rows += [Row(_rule(line, width), line.rule.id) for line in same]
    rows.append(Row(Content.styled("disputed by the sources", "bold $primary")))
    rows += [Row(_dispute(line, width), DISPUTE + line.dispute.id) for line in read.disputes]
    return tuple(rows)


def _rule(line: RuleLine, width: int) -> Content:
    style = {"off": "$quiet", "shipped": ""}.get(line.state, "bold $due")
    window, wide = "-".join(map(str, line.window)), width >= WIDE
    return joined(
        (
            fitted(window, 9, right=True),
            fitted(line.rule.by, 5, "$quiet"),
            fitted(line.rule.what, width - (55 if wide else 31), style),
            *((fitted(f"after {line.rule.anchor}", 22, "$quiet"),) if wide else ()),
            fitted(STATES[line.state], 9, style),
        )
    )


def _dispute(line: DisputeLine, width: int) -> Content:
    state = "* settled" if line.settled else ""
    return joined(
        (
            fitted(state, 9, "bold $due"),
            fitted(line.chosen.words, 30),
            fitted(line.dispute.topic, max(width - 47, 20), "$quiet"),
        )
    )
