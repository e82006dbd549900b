"""A handout as its reader sees it: headings, lists and tables, in lines of the screen's width."""

from __future__ import annotations

from itertools import zip_longest
from typing import TYPE_CHECKING

from rich.cells import cell_len
from textual.content import Content

from fieldnotes.rendering.markdown import parser
from fieldnotes.tui.widgets.rows import joined, wrapped

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from markdown_it.token import Token

HEADINGS = {"h1": "bold reverse", "h2": "bold $primary", "h3": "bold"}
MOST_WIDTH = 84
"""Longer lines are hard to read."""


def sheet_text(markdown: str, width: int) -> Content:
    """Give the sheet; nothing in it can be followed or pressed."""
    room = min(width, MOST_WIDTH)
    blocks: list[Content] = []
    table: list[list[str]] = []
    style, prefix = "", ""
    for token in parser().parse(markdown):
        match token.type:
            case "heading_open":
                style = HEADINGS.get(token.tag, "bold")
            case "list_item_open":
                prefix = f"{token.info}. " if token.info else "- "
            case "tr_open":
                table.append([])
            case "inline" if table:
                table[-1].append(_words(token.children))
            case "inline":
                shown = style or ("bold" if _is_strong(token) else "")
                text = prefix + _words(token.children)
                blocks.append(wrapped(text, room, shown, 0, hang=len(prefix)))
                prefix = ""
            case "table_close":
                blocks += [*_table(table, room), Content("")]
                table = []
            case "heading_close":
                style = ""
            case "bullet_list_close" | "ordered_list_close":
                blocks.append(Content(""))
            case "paragraph_close" if not token.hidden:
                blocks.append(Content(""))
            case _:
                pass
    return Content("\n").join(blocks)


def _words(children: Iterable[Token] | None) -> str:
    kept = {"text", "code_inline", "text_special"}
    return "".join(
        " " if "break" in token.type else token.content
        for token in children or ()
        if token.type in kept or "break" in token.type
    )


def _is_strong(token: Token) -> bool:
    return bool(token.children) and any(c.type == "strong_open" for c in token.children or ())


def _table(rows: Sequence[Sequence[str]], room: int) -> list[Content]:
    """Give a table in aligned columns; the longest column gets the room that is left."""
    columns = range(max(len(row) for row in rows))
    widths = [max(cell_len(row[i]) if i < len(row) else 0 for row in rows) for i in columns]
    longest = max(columns, key=widths.__getitem__)
    others = sum(widths) - widths[longest] + 2 * (len(widths) - 1)
    widths[longest] = max(min(widths[longest], room - others), 16)
    return [
        line for n, row in enumerate(rows) for line in _row(row, widths, "$quiet" if n == 0 else "")
    ]


def _row(row: Sequence[str], widths: Sequence[int], style: str) -> list[Content]:
    cells = [
        str(wrapped(text, width, style).plain).split("\n")
        for text, width in zip(row, widths, strict=False)
    ]
    return [
        joined(
            Content.styled(part + " " * max(width - cell_len(part), 0), style)
            for part, width in zip(parts, widths, strict=False)
        )
        for parts in zip_longest(*cells, fillvalue="")
    ]
