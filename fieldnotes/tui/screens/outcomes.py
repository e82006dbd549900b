"""Outcomes over all cases: days to closure, complications and bandages, in three groupings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from fieldnotes.casework.outcomes import By, practice_outcomes
from fieldnotes.clinical.outcomes import share_open
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.base import DeskScreen
from fieldnotes.tui.widgets.rows import TextPanel, fitted, joined, wrapped

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from fieldnotes.casework.outcomes import OutcomeGroup, Outcomes
    from fieldnotes.clinical.outcomes import Rate

WORDS = {By.REGION: "place on the body", By.CLOSURE: "closure", By.BANDAGE: "bandage"}
STILL_OPEN_ON = (14, 28, 56, 84)
COUNTED = {"dehiscence": "breakdown", "infection": "infection", "proud_flesh": "proud flesh"}


class OutcomesCounted(Message):
    """The outcomes of all wounds were counted."""

    def __init__(self, found: Outcomes) -> None:
        super().__init__()
        self.found = found


class OutcomesScreen(DeskScreen):
    """What became of all wounds."""

    NAME = "outcomes"
    HEADING = "Outcomes"
    EXPLAINS = (
        "What became of every wound, grouped by place, closure or bandage ('b' changes it). Days "
        "to closure run from the injury to the day a wound was first seen healed; the median is "
        "Kaplan and Meier's, and a wound whose horse died or was referred, or that is still open, "
        "counts up to that day. '*' marks too few wounds to compare. Each wound stands under its "
        "first closure and the bandage it wore most. The groups were not drawn by lot: a worse "
        "figure may only mean worse wounds."
    )

    def __init__(self) -> None:
        super().__init__()
        self._by = By.REGION

    def body(self) -> ComposeResult:
        """Give the table."""
        yield TextPanel(id="outcomes", classes="panel")

    def on_mount(self) -> None:
        """Take the keys."""
        self.query_one("#outcomes").focus()

    def on_screen_resume(self) -> None:
        """Count again: something may have been saved."""
        self._count()

    def _count(self) -> None:
        desk, by = self.desk, self._by
        self.ask(lambda: OutcomesCounted(practice_outcomes(desk, by)), "outcomes")

    def action_group(self) -> None:
        """Group by the next thing."""
        kinds = list(By)
        self._by = kinds[(kinds.index(self._by) + 1) % len(kinds)]
        self._count()

    @on(OutcomesCounted)
    def _show(self, event: OutcomesCounted) -> None:
        found = event.found
        total = found.total
        heading = f"Outcomes by {WORDS[found.by]}   {total.wounds} wounds, {total.closed} closed"
        self.query_one("#heading", Static).update(lit(heading))
        self.query_one("#outcomes", TextPanel).show(lambda w: outcomes_text(found, w))


def outcomes_text(found: Outcomes, width: int) -> Content:
    """Give a block for each group, the bandages used, and what was counted as what."""
    if not found.wounds:
        return Content.styled("No wound is recorded yet.", "$quiet")
    lines = [_columns("", "wounds", "closed", "median", width=width, style="$quiet")]
    for group in (found.total, *found.groups):
        lines += _block(group, width, "bold $primary" if group is found.total else "bold")
    if found.bandages:
        used = ", ".join(f"{kind} {count}" for kind, count in found.bandages)
        lines += [Content(""), wrapped(f"Bandages used (wounds): {used}", width, "", 0, 2)]
    notes = [
        f"* fewer than {found.few_below} wounds (median: closed wounds): counted, not compared.",
        *(f"{d.words}. Source: {d.source}" for d in found.definitions if d.id in COUNTED),
    ]
    lines += [Content(""), *(wrapped(note, width, "$quiet", 0, 2) for note in notes)]
    return Content("\n").join(lines)


def _columns(name: str, *counts: str, width: int, style: str) -> Content:
    room = max(width - 3 * 10 - 3 * 2, 12)
    cells = (fitted(text, 10, style, right=True) for text in counts)
    return joined((fitted(name, room, style), *cells))


def _block(group: OutcomeGroup, width: int, style: str) -> list[Content]:
    counts = (str(group.wounds), str(group.closed), _median(group))
    known = [d for d in STILL_OPEN_ON if d <= group.followed_to_day]
    shares = ", ".join(f"day {d}: {share_open(group.curve, d):.0%}" for d in known)
    words = f"still open {shares}" if known else "not followed for two weeks yet"
    rates = ", ".join(f"{name} {_told(getattr(group, key))}" for key, name in COUNTED.items())
    return [
        _columns(group.name, *counts, width=width, style=style),
        wrapped(rates, width, "", 2),
        wrapped(words, width, "$quiet", 2),
    ]


def _median(group: OutcomeGroup) -> str:
    if group.median_days is None:
        return "not yet"
    return f"{group.median_days:g} d" + (" *" if group.few_closed else "")


def _told(rate: Rate | None) -> str:
    """Give a share with its interval; too few wounds are only counted."""
    if rate is None:
        return "-"
    counts = f"{rate.count} of {rate.total}"
    return f"{counts} *" if rate.few else f"{rate.share:.0%} ({rate.low:.0%}-{rate.high:.0%})"
