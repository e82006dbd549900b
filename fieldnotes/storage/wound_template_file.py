"""Wound templates as a JSON file, for another practice or another computer."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

import msgspec

from fieldnotes.domain.errors import Problem, RefusedInputError
from fieldnotes.domain.text import clean, clean_line
from fieldnotes.domain.wound_templates import WoundTemplate
from fieldnotes.storage.strict_json import loads

if TYPE_CHECKING:
    from collections.abc import Iterable

FORMAT: Final = "fieldnotes-wound-templates"
VERSION: Final = 1


@dataclass(frozen=True)
class TemplatesRead:
    """The templates of a file with the row each stands in, and what could not be read."""

    rows: tuple[tuple[int, WoundTemplate], ...] = ()
    problems: tuple[Problem, ...] = field(default=())

    @property
    def templates(self) -> tuple[WoundTemplate, ...]:
        """The templates alone."""
        return tuple(template for _, template in self.rows)


def written_file(templates: Iterable[WoundTemplate]) -> bytes:
    """Give the file's bytes, one field a line, so that a person may edit it."""
    rows = [{"name": t.name, "form": t.form, "answers": dict(t.answers)} for t in templates]
    document = {"format": FORMAT, "version": VERSION, "templates": rows}
    return (json.dumps(document, ensure_ascii=False, indent=2) + "\n").encode()


def read_file(data: bytes, name: str) -> TemplatesRead:
    """Read a file; a row that cannot be read joins the problems, any other fault is raised."""
    document = loads(data, name=name)
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise RefusedInputError(f"{name}, format", f"this is not '{FORMAT}'")
    if document.get("version") != VERSION:
        raise RefusedInputError(f"{name}, version", f"only version {VERSION} is read")
    rows = document.get("templates")
    if not isinstance(rows, list):
        raise RefusedInputError(f"{name}, templates", "a list is needed")
    found, problems = [], []
    for number, row in enumerate(rows, 1):
        try:
            found.append((number, _template(row)))
        except ValueError as error:
            problems.append(Problem(f"{name}, template {number}", str(error)))
    return TemplatesRead(tuple(found), tuple(problems))


def _template(row: object) -> WoundTemplate:
    """Give a row's template, every text cleaned; ValueError says what is wrong."""
    if not isinstance(row, dict):
        raise ValueError("a group of fields is needed: name, form, answers")  # noqa: TRY004  (one kind of fault a row)
    unknown = row.keys() - {"name", "form", "answers"}
    if unknown:
        raise ValueError(f"{clean_line(min(unknown))}: there is no such field")
    missing = [key for key in ("name", "form", "answers") if key not in row]
    if missing:
        raise ValueError(f"{missing[0]} is missing")
    answers = _texts(row["answers"])
    if not isinstance(row["name"], str) or not isinstance(row["form"], str):
        raise ValueError("name and form are texts")  # noqa: TRY004  (likewise)
    return WoundTemplate(
        "", clean_line(row["name"]), clean_line(row["form"]), tuple(sorted(answers.items()))
    )


def _texts(answers: Any) -> dict[str, str]:  # noqa: ANN401  (any JSON value)
    try:
        found = msgspec.convert(answers, dict[str, str])
    except msgspec.ValidationError as error:
        raise ValueError("answers: a text is needed for each field") from error
    return {clean_line(key): clean(text) for key, text in found.items()}
