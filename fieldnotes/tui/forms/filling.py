"""What fills a form at once: a note in one line, the last visit, a template of the practice."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.tui.forms.form import fits

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from fieldnotes.domain.wound_templates import WoundTemplate
    from fieldnotes.tui.forms.form import Answers, Form

MARK = "mark."  # an answer's mark lies beside it under this and its key, so drafts keep it


@dataclass(frozen=True)
class Offer:
    """A way to fill the form: its name, the answers, what each is marked with, texts to keep."""

    id: str
    title: str
    answers: tuple[tuple[str, str], ...]
    mark: str
    kept: tuple[str, ...] = ()


@dataclass(frozen=True)
class Shelf:
    """What is offered as it stands now, and what can be done with a template, by its id."""

    offers: Callable[[], tuple[Offer, ...]]
    drop: Callable[[str], object]
    rename: Callable[[str, str], object]
    name_fault: Callable[[str, str], str]


def marked(answers: Iterable[tuple[str, str]], mark: str) -> dict[str, str]:
    """Give answers with a mark beside each: it stands until the vet confirms or changes it."""
    found = dict(answers)
    return {**found, **{MARK + key: mark for key in found}}


def marks_of(answers: Mapping[str, str]) -> dict[str, str]:
    """Give the marks that still stand, by field."""
    return {k.removeprefix(MARK): m for k, m in answers.items() if k.startswith(MARK) and m}


def offers_of(templates: Mapping[str, WoundTemplate], form: Form) -> tuple[Offer, ...]:
    """Give the practice's templates for a form, by name; what a field no longer takes is told."""
    found = []
    for template in sorted(templates.values(), key=lambda t: t.name.casefold()):
        if template.dropped or template.form != form.name:
            continue
        answers = dict(template.answers)
        tries = [
            {f.key: f for p in form.panes(each) for f in p.fields}
            for each in (answers, _on_a_side(answers))
        ]
        good = tuple(
            (k, a)
            for k, a in template.answers
            if any(k in t and (k.endswith(".region") or fits(t[k], a)) for t in tries)
        )
        left = tuple(f"{k}: {a}" for k, a in template.answers if (k, a) not in good)
        found.append(Offer(template.id, template.name, good, f"template {template.name}", left))
    return tuple(found)


def _on_a_side(answers: Answers) -> dict[str, str]:
    """Give a template's answers with its places on the left: what is worn there hangs on them."""
    return {k: f"left.{a}" if k.endswith(".region") else a for k, a in answers.items()}
