"""The practice's templates of common wounds: answers of a visit form under a name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True)
class WoundTemplate:
    """Answers of a form, by field; `dropped` takes the template off the list."""

    id: str
    name: str
    form: str
    answers: tuple[tuple[str, str], ...] = ()
    dropped: bool = False


@dataclass(frozen=True)
class TemplateSet:
    """A template as it stands from now on."""

    template: WoundTemplate


TemplateBody: TypeAlias = TemplateSet
TEMPLATE_KINDS: Mapping[str, type[TemplateBody]] = {"template": TemplateSet}
