"""The sheet as markdown, HTML page and plain text; all three say the same words."""

from __future__ import annotations

import re
from functools import cache
from hashlib import sha256
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import Problem
from fieldnotes.rendering.handout.wording import full_day, number_text
from fieldnotes.rendering.markdown import escape, html_body, plain_text
from fieldnotes.resources import template

if TYPE_CHECKING:
    import datetime as dt

    from jinja2 import Template

    from fieldnotes.rendering.handout.sheet import AftercareSheet, Picture

TEMPLATE, PAGE = "handout.md.j2", "handout.html"
BODY = "{{body}}"
ALARMS = ("now", "today", "three")
_BLANK_LINES = re.compile(r"\n{3,}")


class _Markup(str):
    """Text that is markdown already and is not escaped again."""

    __slots__ = ()


def _finalize(value: object) -> object:
    return escape(value) if isinstance(value, str) and not isinstance(value, _Markup) else value


def _phone(number: str) -> _Markup:
    dial = "".join(c for c in number if c in "+0123456789")
    return _Markup(f"[{escape(number)}](tel:{dial})" if dial else escape(number))


def _picture(picture: Picture) -> _Markup:
    return _Markup(_placeholder(picture))


def _placeholder(picture: Picture) -> str:
    return escape(picture.words)


def _day(day: dt.date) -> str:
    return full_day(day)


@cache
def _compiled(source: str) -> Template:
    from jinja2 import StrictUndefined  # noqa: PLC0415  (print-only commands start fast)
    from jinja2.sandbox import ImmutableSandboxedEnvironment  # noqa: PLC0415

    env = ImmutableSandboxedEnvironment(
        autoescape=False,  # the output is markdown: `finalize` escapes every value for it
        finalize=_finalize,
        undefined=StrictUndefined,
    )
    env.filters |= {"phone": _phone, "picture": _picture, "fullday": _day, "number": number_text}
    return env.from_string(source)


def filled_template(source: str, **values: object) -> str:
    """Fill a markdown template; every text that comes from a record is escaped."""
    return _BLANK_LINES.sub("\n\n", _compiled(source).render(**values)).strip() + "\n"


def filled_or_shipped(name: str, own: str | None, **values: object) -> tuple[str, Problem | None]:
    """Fill the practice's own template where it works, else the shipped one.

    A template with an error is named with its line.
    """
    from jinja2 import TemplateError  # noqa: PLC0415  (print-only commands start fast)

    if own is None:
        return filled_template(template(name), **values), None
    try:
        return filled_template(own, **values), None
    except (TemplateError, TypeError, ValueError, ArithmeticError, LookupError) as error:
        problem = Problem(name, f"{_line_of(error)}{error}; the shipped one is used")
        return filled_template(template(name), **values), problem


def _line_of(error: Exception) -> str:
    line = getattr(error, "lineno", None)
    trace = error.__traceback__
    while trace is not None and line is None:
        if trace.tb_frame.f_code.co_filename == "<template>":
            line = trace.tb_lineno
        trace = trace.tb_next
    return f"line {line}: " if line else ""


def handout_text(markdown: str) -> str:
    """Give the plain-text twin, with the same words."""
    return plain_text(markdown)


def cid_of(picture: Picture) -> str:
    """Give the content id a message's page names a picture by."""
    return sha256(picture.name.encode()).hexdigest()[:16] + "@picture"


def handout_html(
    sheet: AftercareSheet, markdown: str, *, inline: bool = True, page: str = ""
) -> str:
    """Give a complete HTML page with its own styles for phone and paper.

    Pictures stand in it as SVG; else it names the parts of the message that hold them.
    """
    return paper_html(
        sheet.title,
        markdown,
        sheet.pictures,
        inline=inline,
        boxes=ALARMS,
        look="handout",
        page=page,
        language=sheet.language,
    )


def paper_html(
    title: str,
    markdown: str,
    pictures: tuple[Picture, ...],
    *,
    inline: bool = True,
    boxes: tuple[str, ...] = (),
    look: str = "letter",
    page: str = "",
    language: str = "en",
) -> str:
    """Give a complete page of a paper; `boxes` names the looks of its first sections.

    `page` is the practice's own frame, empty for the shipped one.
    """
    from html import escape as text  # noqa: PLC0415  (named for its one use)

    figures = {p.words: _figure(p, inline=inline) for p in pictures}
    body = html_body(markdown, figures)
    frame = (page or template(PAGE)).replace("{{title}}", text(title)).replace("{{look}}", look)
    frame = frame.replace("{{lang}}", language)
    return frame.replace(BODY, _boxed(body, boxes))


def _figure(picture: Picture, *, inline: bool) -> str:
    from html import escape as text  # noqa: PLC0415  (named for its one use)

    alt = text(picture.alt)
    drawn = picture.svg if inline else f'<img src="cid:{cid_of(picture)}" alt="{alt}">'
    return (
        f'<figure class="{picture.kind}" role="img" aria-label="{alt}">{drawn}'
        f"<figcaption>{text(picture.words)}</figcaption></figure>"
    )


def _boxed(body: str, names: tuple[str, ...]) -> str:
    """Put each section of the page in a box of its own, the first ones of their own look."""
    head, *sections = body.split("<h2>")
    boxes = [
        f'<section class="{names[i] if i < len(names) else "part"}">\n<h2>{s}</section>\n'
        for i, s in enumerate(sections)
    ]
    return f"<header>\n{head}</header>\n" + "".join(boxes)
