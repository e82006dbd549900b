"""The entries of a case in words, newest first; an amendment stands beside what it amends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content

from fieldnotes.domain.entries import Amendment, CaseOpened
from fieldnotes.rendering.entry_words import happened_at, texts_of, title_of
from fieldnotes.tui.widgets.rows import wrapped

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.entries import Body, Entry


def timeline(
    case: Case, people: Mapping[str, str], zone: dt.tzinfo, width: int, seen: str = ""
) -> Content:
    """Give every entry, newest first, amendments beneath; `seen` says how old the wounds were."""
    amended: dict[str, list[Entry]] = {}
    for entry in case.entries:
        if isinstance(entry.body, Amendment):
            amended.setdefault(entry.body.of, []).append(entry)
    shown = [e for e in case.entries if not isinstance(e.body, Amendment)]
    blocks = []
    for entry in sorted(shown, key=lambda e: (happened_at(e), e.order), reverse=True):
        lines = [_head(entry, people, zone), *_lines(entry.body, width)]
        if isinstance(entry.body, CaseOpened) and seen:
            lines.append(wrapped(seen, width, "", 2))
        for correction in amended.get(entry.id, ()):
            lines += _amendment(correction, people, zone, width)
        blocks.append(Content("\n").join(lines))
    return Content("\n\n").join(blocks)


def _head(entry: Entry, people: Mapping[str, str], zone: dt.tzinfo) -> Content:
    at = happened_at(entry).astimezone(zone)
    when = Content.styled(f"{at.day:>2} {at:%b %Y %H:%M}  ", "$quiet")
    by = wrapped(people.get(entry.author, entry.author), 200, "$quiet")
    return Content("").join((when, Content.styled(f"{title_of(entry)}   ", "bold $primary"), by))


def _amendment(
    entry: Entry, people: Mapping[str, str], zone: dt.tzinfo, width: int
) -> Iterator[Content]:
    body = entry.body
    if not isinstance(body, Amendment):
        return
    at = entry.time.astimezone(zone)
    who = people.get(entry.author, entry.author)
    head = f"> amended {at.day} {at:%b %Y %H:%M} by {who}: {body.what}. Why: {body.why}"
    yield wrapped(head, width, "bold $due", 2)
    if body.corrected is not None:
        yield Content.styled("  > as it should read:", "$due")
        yield from _lines(body.corrected, width, "> ")


def _lines(body: Body, width: int, mark: str = "") -> Iterator[Content]:
    for text in texts_of(body):
        hang = 3 if text[1:3] == "  " else 0
        yield wrapped(mark + text, width, "", 2, hang)
