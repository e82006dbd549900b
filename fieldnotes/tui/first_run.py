"""The first run of a store: whose practice it is is asked before anything else is shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldnotes.casework.desk import Casework
    from fieldnotes.tui.app import FieldnotesApp
    from fieldnotes.tui.ports import Drafts

DRAFT = "set-up"
"""The one draft of a first run."""


def begun(drafts: Drafts) -> Mapping[str, str] | None:
    """Give the answers of a first run that was left; None if none was."""
    draft = drafts.load(DRAFT)
    return draft.answers if draft is not None else None


class FirstRun:
    """Leads into the pages of a first run and out of them."""

    def __init__(self, app: FieldnotesApp) -> None:
        self._app = app

    def settled(self) -> bool:
        """Say whether it is known whose practice the store is."""
        return self._app.desk.register().practice is not None

    def store_made(self, desk: Casework, drafts: Drafts) -> None:
        """Work in a store just made or brought in; where nobody has, set its practice up first."""
        self._app.take_up(desk, drafts)
        left = begun(drafts)
        if self.settled() and left is None:
            self._app.open_store(desk, drafts)
        else:
            self.show(left or {})

    def show(self, answers: Mapping[str, str]) -> None:
        """Show the page that was left, or the first."""
        from fieldnotes.tui.forms.assistant import as_known  # noqa: PLC0415  (likewise)
        from fieldnotes.tui.screens.assistant import AssistantScreen  # noqa: PLC0415  (seldom needed)

        founding, register = self._app.founding, self._app.desk.register()
        zone = founding.zone() if founding is not None else ""
        self._app.push_screen(AssistantScreen(zone, as_known(register, answers), register.practice))

    def leave(self) -> None:
        """Go to the day if the practice is known, else to the three keys of an empty store."""
        self._app.pop_screen()
        if self.settled():
            self._app.open_store(self._app.desk, self._app.drafts)
