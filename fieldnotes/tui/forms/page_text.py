"""The texts of a form's page: the strip under the fields, and the review."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING

from fieldnotes.tui.fields.choices import ChoiceField, ManyField

if TYPE_CHECKING:
    from fieldnotes.domain.errors import Problem
    from fieldnotes.tui.fields.row import FieldRow
    from fieldnotes.tui.forms.form import Outlook


def path_words(path: str) -> str:
    """Say where a problem stands that no field of the form shows: "Wound A, Region"."""
    head, *rest = path.replace("_", " ").split(".")
    if head in {"wounds", "findings", "care"} and rest:
        return ", ".join([f"Wound {rest[0]}", *(word.capitalize() for word in rest[1:])])
    return " ".join((head, *rest)).capitalize()


def review_text(
    problems: tuple[Problem, ...], outlook: Outlook, summary: tuple[str, ...], width: int
) -> str:
    """Give problems, cautions, what a save leads to and the record in words, wrapped."""
    lines: list[str] = []
    if problems:
        lines.append("To be put right first (Enter goes to the first):")
        lines += _listed("!", problems, width)
    if outlook.cautions:
        lines += ["", "To be careful of:", *_listed("~", outlook.cautions, width)]
    if outlook.lines:
        lines += ["", outlook.heading]
        lines += [row for line in outlook.lines for row in _plan_rows(line, width)]
    lines.append("")
    lines += [row for line in summary for row in hung(line, width)]
    return "\n".join(lines).strip("\n")


def _listed(sign: str, found: tuple[Problem, ...], width: int) -> list[str]:
    told = (f"  {sign} {p.field}: {p.message}" for p in found)
    return [row for line in told for row in hung(line, width)]


def _plan_rows(line: str, width: int) -> list[str]:
    return [f"  {line}"] if len(line) + 2 <= width else hung(f"  {line}", width)


def hung(text: str, width: int) -> list[str]:
    """Give a line's rows, what follows the first indented further."""
    return wrap(text, width, subsequent_indent="    ")


ONE = "one: its letter chooses it and goes on"
SEVERAL = "several: each letter puts one in or takes it out, Enter goes on"


def strip_text(row: FieldRow, room: int, width: int) -> str:
    """Give the choices or matches of a field, as many as there is room for, else its hint."""
    field = row.field
    if isinstance(field, ChoiceField):
        return _choices(field, row.answer, room, width)
    matches = row.matches
    if not matches or not row.answer.strip():
        return field.hint
    lines = [f"{m.words}{'  ' + m.note if m.note else ''}" for m in matches]
    return _window(lines, row.marked, room, "arrows for more")


def _choices(field: ChoiceField, answer: str, room: int, width: int) -> str:
    """Give the choices in one flow if they fit, else a list around the chosen one."""
    several = isinstance(field, ManyField)
    hint = SEVERAL if several else field.hint
    words = [f"{o.letter} {o.words}" for o in field.given]
    flow = "   ".join(words)
    if several or len(flow) <= (room - 1) * (width - 10):  # the list follows what is chosen
        return f"{flow}\n{hint or ONE}"
    said = [line for part in hint.splitlines() for line in wrap(part, width - 2)]
    left = max(2, room - len(said))
    at = next((n for n, o in enumerate(field.given) if o.id == answer), 0)
    return "\n".join([*said[: room - left], _window(words, at, left, "Space for the next")])


def _window(lines: list[str], marked: int, room: int, more: str) -> str:
    """Give as many lines as there is room for, the marked one among them, and what is left out."""
    first = max(0, min(marked - room // 2, len(lines) - room))
    shown = list(enumerate(lines))[first : first + room]
    text = [f"{'>' if n == marked else ' '} {line}" for n, line in shown]
    if len(lines) > room:
        text[-1] += f"   ({first + 1}-{first + room} of {len(lines)}, {more})"
    return "\n".join(text)
