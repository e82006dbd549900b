"""The only way text of the record reaches the screen: as written, never as markup."""

from __future__ import annotations

from rich.text import Text
from textual.content import Content

from fieldnotes.domain.text import clean, clean_line

MOST_CHARACTERS = 20_000


def lit(text: str, style: str = "") -> Content:
    """Give text for any widget but a table; brackets stay brackets."""
    shown = clean(text)[:MOST_CHARACTERS]
    return Content.styled(shown, style) if style else Content(shown)


def cell(text: str, style: str = "") -> Text:
    """Give text for one cell of a table, on one line."""
    return Text(clean_line(text)[:MOST_CHARACTERS], style=style, no_wrap=True, overflow="ellipsis")
