"""The page area of a form: where the review is longer than the screen it is read page by page."""

from __future__ import annotations

from textual.actions import SkipAction
from textual.containers import VerticalScroll

REVIEW = "review"
FIRST_A_PAGE = "go back to a page first: what is taken back should be seen"
KEYS = "^s saves. Page Up, from the top, goes back to the pages."


class PageArea(VerticalScroll):
    """Leaves Page Up at the top to the screen, which goes to the page before."""

    def action_page_up(self) -> None:
        """Read back; SkipAction at the top."""
        if self.scroll_target_y <= 0:
            raise SkipAction
        super().action_page_up()
