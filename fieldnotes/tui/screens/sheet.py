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
    return Content("\n").join(_Sheet(min(width, MOST_WIDTH)).read(parser().parse(markdown)))


class _Sheet:
    """The lines so far, and what the token at hand stands in."""

    def __init__(self, room: int) -> None:
        self._room = room
        self._lines: list[Content] = []
        self._table: list[list[str]] = []
        self._style = self._prefix = ""

    def read(self, tokens: Iterable[Token]) -> list[Content]:
        """Give the lines of all tokens."""
        for token in tokens:
            if token.type == "inline":
                self._inline(token)
            elif token.nesting > 0:
                self._open(token)
            elif token.nesting < 0:
                self._close(token)
        return self._lines

    def _open(self, token: Token) -> None:
        match token.type:
            case "heading_open":
                self._style = HEADINGS.get(token.tag, "bold")
            case "list_item_open":
                self._prefix = f"{token.info}. " if token.info else "- "
            case "tr_open":
                self._table.append([])
            case _:
                pass

    def _inline(self, token: Token) -> None:
        if self._table:
            self._table[-1].append(_words(token.children))
            return
        style = self._style or ("bold" if _is_strong(token) else "")
        text, hang = self._prefix + _words(token.children), len(self._prefix)
        self._lines.append(wrapped(text, self._room, style, 0, hang))
        self._prefix = ""

    def _close(self, token: Token) -> None:
        match token.type:
            case "table_close":
                self._lines += [*_table(self._table, self._room), Content("")]
                self._table = []
            case "heading_close":
                self._style = ""
            case "bullet_list_close" | "ordered_list_close":
                self._lines.append(Content(""))
            case "paragraph_close" if not token.hidden:
                self._lines.append(Content(""))
            case _:
                pass


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
