"""CommonMark in and out: escaping of record text, the HTML page and the plain-text twin."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fieldnotes.domain.text import clean_line

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from markdown_it import MarkdownIt
    from markdown_it.token import Token

_ALWAYS = re.compile(r"[*`\[\]<|~]")
_BACKSLASH = re.compile(r"\\(?=[!-/:-@\[-`{-~]|$)")
_ENTITY = re.compile(r"&(?=#?[0-9A-Za-z]{1,31};)")
_UNDERSCORE = re.compile(r"(?<![0-9A-Za-z])_|_(?![0-9A-Za-z])")
_OPENER = re.compile(r"^([#>+=-]|(?<!\S)\d{1,9}(?=[.)](\s|$)))")
_CLOSING_HASHES = re.compile(r"#+$")
_IMAGE = re.compile(r"!(?=\\\[)")


def escape(text: str) -> str:
    r"""Give one line of record text so that CommonMark shows it as written.

    Only what would become markup gets a backslash; letters and spaces are untouched.
    """
    line = clean_line(text)
    line = _BACKSLASH.sub(r"\\\\", line)
    line = _ALWAYS.sub(lambda m: f"\\{m.group()}", line)
    line = _IMAGE.sub(r"\\!", line)
    line = _ENTITY.sub(r"\\&", line)
    line = _UNDERSCORE.sub(r"\\_", line)
    line = _CLOSING_HASHES.sub(lambda m: "\\#" * len(m.group()), line)
    return _OPENER.sub(_opened, line)


def _opened(match: re.Match[str]) -> str:
    found = match.group()
    # A number is no punctuation: the sign after it carries the backslash.
    return f"{found}\\" if found.isdigit() else f"\\{found}"


def parser() -> MarkdownIt:
    """Give the one parser used for HTML and text: tables, no raw HTML, no autolinks."""
    from markdown_it import MarkdownIt  # noqa: PLC0415  (print-only commands start fast)

    rules = ["autolink", "html_inline", "html_block", "code", "reference"]
    return MarkdownIt("commonmark", {"html": False}).enable("table").disable(rules)


def html_body(markdown: str, pictures: Mapping[str, str]) -> str:
    """Give the page's body; a paragraph that is a placeholder becomes its picture."""
    from markdown_it.common.utils import escapeHtml  # noqa: PLC0415  (as the parser writes text)

    body = str(parser().render(markdown))
    for placeholder, figure in pictures.items():
        body = body.replace(f"<p>{escapeHtml(placeholder)}</p>", figure)
    return body


def plain_text(markdown: str) -> str:
    """Give the same words without markup, in lines for a mail or a terminal."""
    lines: list[str] = []
    _blocks(parser().parse(markdown), lines)
    return "\n".join(lines).strip() + "\n"


def _inline(children: Iterable[Token] | None) -> str:
    parts = []
    for token in children or ():
        if token.type in {"softbreak", "hardbreak"}:
            parts.append("\n")
        elif token.type in {"text", "code_inline", "text_special"}:
            parts.append(token.content)
    return "".join(parts)


def _blocks(tokens: Sequence[Token], lines: list[str]) -> None:  # noqa: C901  (one case for each kind of token)
    prefix, heading, in_cell = "", "", False
    cells: list[str] = []
    for token in tokens:
        match token.type:
            case "heading_open":
                heading = token.tag
            case "list_item_open":
                prefix = f"{token.info}. " if token.info else "- "
            case "tr_open":
                cells = []
            case "th_open" | "td_open":
                in_cell = True
            case "th_close" | "td_close":
                in_cell = False
            case "tr_close":
                lines.append(" | ".join(cells))
            case "inline" if in_cell:
                cells.append(_inline(token.children))
            case "inline":
                lines += _text_lines(prefix + _inline(token.children), heading)
                prefix = ""
            case "heading_close" | "table_close" | "bullet_list_close" | "ordered_list_close":
                lines.append("")
                heading = ""
            case "paragraph_close" if not token.hidden:
                lines.append("")
            case _:
                pass


def _text_lines(text: str, heading: str) -> list[str]:
    if heading == "h1":
        return [text, "=" * len(text)]
    return [text.upper() if heading == "h2" else text]
