"""The bare Textual app that first paint is compared with: header, footer, a 30-row table."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.app import App
from textual.widgets import DataTable, Footer, Header

if TYPE_CHECKING:
    from textual.app import ComposeResult


class Baseline(App[None]):
    """Nothing but what every app of this kind has."""

    BINDINGS = [("q", "quit", "Quit")]  # noqa: RUF012  (Textual's own convention)

    def compose(self) -> ComposeResult:
        """Header, table, footer."""
        yield Header()
        yield DataTable()
        yield Footer()

    def on_mount(self) -> None:
        """Fill the table."""
        table = self.query_one(DataTable)
        table.add_columns("ref", "horse", "owner", "premises", "injured", "status", "wounds")
        for row in range(30):
            table.add_row(*(f"cell {row} {column}" for column in range(7)))


if __name__ == "__main__":
    Baseline().run()
