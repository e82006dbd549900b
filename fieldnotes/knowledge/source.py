"""Where a fact comes from, and strict reading of the tables it stands in."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from fieldnotes.domain.errors import KnowledgeError

COMMON_PRACTICE = "common practice"
FROM_MEMORY = "from memory"
PRACTICE_DEFAULT = "practice default"
UNSOURCED = (COMMON_PRACTICE, FROM_MEMORY, PRACTICE_DEFAULT)


@dataclass(frozen=True)
class Table:
    """The parsed text of one knowledge file; `file` is named in every error about it."""

    file: str
    data: dict[str, Any]

    def rows(self, name: str) -> tuple[Row, ...]:
        """Give the array of tables called `name`; KnowledgeError if it is none."""
        rows = self.data.get(name)
        if not isinstance(rows, list) or not all(isinstance(r, dict) for r in rows):
            raise KnowledgeError(f"{self.file}: [[{name}]] must be a list of tables")
        return tuple(Row(self.file, f"{name} {i + 1}", r) for i, r in enumerate(rows))


@dataclass(frozen=True)
class Row:
    """One row of a table, read field by field with errors that name file, row and field."""

    file: str
    name: str
    data: dict[str, Any]

    def error(self, field: str, reason: str) -> KnowledgeError:
        """Give the error to raise about one field of this row."""
        label = self.data.get("id", self.name)
        return KnowledgeError(f"{self.file}, {label}, {field}: {reason}")

    def text(self, field: str, default: str | None = None) -> str:
        """Give a text; required unless a default is given."""
        value = self.data.get(field, default)
        if not isinstance(value, str):
            raise self.error(field, "a text is needed")
        return value

    def source(self, field: str = "source") -> str:
        """Give the source, which no row may lack."""
        value = self.text(field)
        if not value.strip():
            raise self.error(field, "every row names its source, or 'from memory'")
        return value

    def number(
        self,
        field: str,
        default: float | None = None,
        *,
        least: float = float("-inf"),
        most: float = float("inf"),
    ) -> float:
        """Give a finite number within least..most; required unless a default is given."""
        value = self.data.get(field, default)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.error(field, "a number is needed")
        if not least <= value <= most:
            raise self.error(field, f"{value} is not within {least} to {most}")
        return float(value)

    def number_or_none(self, field: str, *, least: float = float("-inf")) -> float | None:
        """Give a number, or None where the row has none."""
        return None if field not in self.data else self.number(field, least=least)

    def texts(self, field: str, default: tuple[str, ...] | None = None) -> tuple[str, ...]:
        """Give a list of texts; required unless a default is given."""
        value = self.data.get(field, default)
        if not isinstance(value, list | tuple) or not all(isinstance(v, str) for v in value):
            raise self.error(field, "a list of texts is needed")
        return tuple(value)

    def flag(self, field: str, default: bool | None = None) -> bool:
        """Give true or false; required unless a default is given."""
        value = self.data.get(field, default)
        if not isinstance(value, bool):
            raise self.error(field, "true or false is needed")
        return value

    def pair(self, field: str) -> tuple[float, float]:
        """Give two numbers, the first not above the second."""
        value = self.data.get(field)
        if (
            not isinstance(value, list)
            or len(value) != 2
            or not all(isinstance(v, int | float) and not isinstance(v, bool) for v in value)
            or value[0] > value[1]
        ):
            raise self.error(field, "two numbers [low, high] are needed")
        return float(value[0]), float(value[1])


def parse_table(file: str, text: str) -> Table:
    """Parse TOML text; KnowledgeError names the file and the parser's line."""
    try:
        return Table(file, tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise KnowledgeError(f"{file}: {error}") from error


def shipped_text(file: str) -> str:
    """Give the text of a knowledge file that ships with the package."""
    return files(__package__).joinpath("data", file).read_text(encoding="utf-8")


def shipped_table(file: str) -> Table:
    """Give one of the shipped TOML tables, parsed."""
    return parse_table(file, shipped_text(file))
