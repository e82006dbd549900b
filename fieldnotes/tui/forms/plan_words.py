"""A plan as lines of text for the review page and after a save, and how a horse stands in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.patients import TetanusHistory

if TYPE_CHECKING:
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.patients import Horse

MOST = 42  # characters of a follow-up that leave room for its days at 80 columns
TETANUS = "tetanus"  # the kind of task
NOTHING_DUE = "Nothing is due from the rules."


def plan_lines(plan: tuple[FollowUp, ...]) -> tuple[str, ...]:
    """Give each follow-up with its day, who, what and the last day; 80 columns hold it."""
    if not plan:
        return (NOTHING_DUE,)
    width = min(MOST, max(len(t.what) for t in plan))
    return tuple(
        f"{t.due:%a %d %b}  {t.by.value:<5}  {_cut(t.what, width)}  by {t.latest:%d %b}"
        for t in plan
    )


def tetanus_line(horse: Horse, plan: tuple[FollowUp, ...]) -> str:
    """Say what is known of a horse's tetanus vaccination and what a plan still asks for."""
    known = horse.tetanus
    told = f"last dose {known.last:%d %b %Y}" if known.last else f"history {known.history}"
    if known.history is TetanusHistory.NEVER:
        told = "never vaccinated"
    told += ", the first of a course only" if known.finished is False else ""
    due = [f"{t.what}, by {t.latest:%d %b}" for t in plan if t.kind == TETANUS]
    return f"Tetanus: {told}; {'; '.join(due) or 'nothing is due'}"


def _cut(text: str, width: int) -> str:
    return f"{text:<{width}}" if len(text) <= width else f"{text[: width - 3]}..."
