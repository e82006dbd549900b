"""A plan as lines of text, one follow-up each, for the review page and after a save."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldnotes.domain.followups import FollowUp

MOST = 42  # characters of a follow-up that leave room for its days at 80 columns
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


def _cut(text: str, width: int) -> str:
    return f"{text:<{width}}" if len(text) <= width else f"{text[: width - 3]}..."
