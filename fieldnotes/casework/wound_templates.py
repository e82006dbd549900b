"""The practice's templates of common wounds: keeping, renaming, removing, and taking them in."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.domain.text import clean_line
from fieldnotes.domain.wound_templates import TemplateSet, WoundTemplate

if TYPE_CHECKING:
    from collections.abc import Container, Mapping

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved

FORMS = {"first_visit": "first visit", "recheck": "recheck"}
LONGEST_NAME = 60
_OWN = re.compile(  # what belongs to one horse on one day, and never to a template
    r"horse|premises|responsible|injured_at|history|at|kind|tasks_done|weight_.*|vitals\..*|lame.*"
    r"|conditions|reckoned|findings\..*\.(size|note|dehiscence|synovial_entry)|mark\..*|more\..*"
    r"|drug\.\d\.(batch|expiry|vial|amount|reason)|care\..*\.(girth_cm|exploration|radiographs|culture)"
    r"|photos\..*|care\..*\.synovial_tests\..*"
)
_PLACED = re.compile(r"(?:(?:left|right)\.)?([^@]*)(?:@.*)?", re.DOTALL)


def belongs_to_one_horse(key: str) -> bool:
    """Say whether a form's field is about one horse, its side or one day."""
    return _OWN.fullmatch(key) is not None


def common_answers(answers: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Give what of a form's answers is common to wounds: nothing of a horse, its side or a day."""
    kept = {
        key: _PLACED.sub(r"\1", text, count=1) if key.endswith(".region") else text
        for key, text in answers.items()
        if text.strip() and not belongs_to_one_horse(key)
    }
    return tuple(sorted(kept.items()))


@dataclass(frozen=True)
class Taken:
    """A template about to be taken in: the state it comes to, or why it is refused."""

    template: WoundTemplate
    state: str
    refused: str = ""


class WoundTemplates:
    """The templates over the desk; each change is an entry of the register."""

    def __init__(self, desk: Casework) -> None:
        self._desk = desk

    def all(self) -> tuple[WoundTemplate, ...]:
        """Give the templates that are offered, by name."""
        standing = (t for t in self._desk.register().templates.values() if not t.dropped)
        return tuple(sorted(standing, key=lambda t: t.name.casefold()))

    def named(self, text: str) -> WoundTemplate:
        """Give one by its name, or a beginning that only it has; UnknownNameError if none."""
        wanted, standing = clean_line(text).casefold(), self.all()
        fits = [t for t in standing if wanted == t.name.casefold()]
        fits = fits or [t for t in standing if wanted and t.name.casefold().startswith(wanted)]
        if len(fits) == 1:
            return fits[0]
        names = tuple(clean_line(t.name) for t in fits or standing)
        said = ", ".join(f"'{name}'" for name in names) or "no template is kept yet"
        why = "more than one begins so" if fits else f"no template is called '{clean_line(text)}'"
        raise UnknownNameError("template", f"{why}: {said}", names)

    def name_fault(self, name: str, but: str = "") -> str:
        """Say why a template cannot be called so; `but` is the id of the one that is renamed."""
        line = clean_line(name)
        if not _ident(line):
            return "a name is needed, with a letter or a digit in it"
        if len(line) > LONGEST_NAME:
            return f"a name has at most {LONGEST_NAME} characters"
        same = (t for t in self.all() if t.name.casefold() == line.casefold() and t.id != but)
        if next(same, None) is not None:
            return f"there is a template '{line}' already: choose another name"
        return ""

    def keep(self, name: str, form: str, answers: Mapping[str, str]) -> Saved:
        """Keep a form's answers under a name; RefusedInputError if nothing of them is common."""
        template = WoundTemplate("", clean_line(name), form, common_answers(answers))
        if not template.answers:
            raise RefusedInputError("name", "nothing here is common to wounds: fill in more first")
        if fault := self.name_fault(name):
            raise RefusedInputError("name", fault)
        ident = free_id(template.name, {t.id for t in self.all()})
        return self._desk.save(TemplateSet(replace(template, id=ident)))

    def rename(self, template: WoundTemplate, name: str) -> Saved:
        """Call a template otherwise; RefusedInputError if the name is not free."""
        if fault := self.name_fault(name, template.id):
            raise RefusedInputError("name", fault)
        return self._desk.save(TemplateSet(replace(template, name=clean_line(name))))

    def remove(self, template: WoundTemplate) -> Saved:
        """Take a template off the list."""
        return self._desk.save(TemplateSet(replace(template, dropped=True)))

    def judge(self, templates: tuple[WoundTemplate, ...], *, replacing: bool) -> tuple[Taken, ...]:
        """Say of each what taking it in comes to: new, known, replaced, or why it is refused."""
        standing = {t.name.casefold(): t for t in self.all()}
        seen: set[str] = set()
        found = []
        for template in templates:
            line = replace(template, name=clean_line(template.name))
            name = line.name.casefold()
            found.append(self._judged(line, standing.get(name), replacing=replacing))
            if name in seen:
                found[-1] = Taken(line, "refused", f"'{line.name}' stands twice in the file")
            seen.add(name)
        return tuple(found)

    def _judged(
        self, given: WoundTemplate, same: WoundTemplate | None, *, replacing: bool
    ) -> Taken:
        if fault := _row_fault(given) or self.name_fault(given.name, same.id if same else ""):
            return Taken(given, "refused", fault)
        common = replace(given, answers=common_answers(dict(given.answers)))
        if same is None:
            return Taken(common, "new")
        taken = replace(common, id=same.id)
        if (taken.form, taken.answers) == (same.form, same.answers):
            return Taken(taken, "known")
        if replacing:
            return Taken(taken, "replaced")
        why = f"another template is called '{given.name}'; rename one, or give --replace"
        return Taken(taken, "refused", why)

    def take_in(self, taken: tuple[Taken, ...]) -> int:
        """Keep what was judged new or replaced, all or none; gives how many were written."""
        held, bodies = {t.id for t in self.all()}, []
        for template in (t.template for t in taken if t.state in {"new", "replaced"}):
            kept = template if template.id else replace(template, id=free_id(template.name, held))
            held.add(kept.id)
            bodies.append(TemplateSet(kept))
        if bodies:
            self._desk.save(*bodies)
        return len(bodies)


def free_id(name: str, held: Container[str]) -> str:
    """Give the id of a new template: one renamed keeps the id it came by, so a name's may be held.

    One taken off the list holds none.
    """
    ident, number = _ident(name), 2
    while ident in held:
        ident, number = f"{_ident(name)}-{number}", number + 1
    return ident


def _ident(name: str) -> str:
    return "-".join(re.findall(r"[^\W_]+", name.casefold()))


def _row_fault(given: WoundTemplate) -> str:
    if given.form not in FORMS:
        return f"form: '{clean_line(given.form)}' is not one of {', '.join(FORMS)}"
    own = [key for key, _ in given.answers if belongs_to_one_horse(key)]
    if own:
        return f"answers: {clean_line(own[0])} is of one horse and one day, never of a template"
    return "" if common_answers(dict(given.answers)) else "answers: there is none"
