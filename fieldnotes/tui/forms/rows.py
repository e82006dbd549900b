"""The rows of a page on the screen, kept in step with its fields."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.tui.fields.row import FieldRow

if TYPE_CHECKING:
    from collections.abc import Mapping

    from textual.containers import VerticalScroll

    from fieldnotes.tui.fields.field import Field


async def fit_rows(
    area: VerticalScroll, fields: tuple[Field, ...], answers: Mapping[str, str]
) -> None:
    """Renew the rows of a page; an answer may have brought or taken some."""
    rows = {row.field.key: row for row in area.query(FieldRow)}
    before = None
    for field in fields:
        row = rows.get(field.key)
        if row is None:
            row = FieldRow(field, answers.get(field.key))
            await area.mount(row, after=before)
        else:
            row.renew(field)
        before = row
    for key in rows.keys() - {f.key for f in fields}:
        await rows[key].remove()


def next_row(rows: list[FieldRow], step: int) -> int:
    """Give the place of the row after (or before) the one in focus; past the ends if none is."""
    return next((i for i, r in enumerate(rows) if r.has_focus_within), 0) + step
