"""What the practice changed in the follow-up rules, and how it settled what the sources dispute."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True)
class RuleFact:
    """A fact a rule asks for and the words one of which it must have."""

    fact: str
    any_of: tuple[str, ...]


@dataclass(frozen=True)
class RuleChange:
    """A rule as the practice wants it, or one of its own; what is empty stays as shipped.

    `off` leaves the rule out, `shipped` takes every change back. `window_days` is earliest, due,
    latest after the anchor.
    """

    id: str
    off: bool = False
    shipped: bool = False
    kind: str = ""
    what: str = ""
    owner_words: str = ""
    by: str = ""
    anchor: str = ""
    window_days: tuple[int, ...] = ()
    every_days: int | None = None
    until_days: int | None = None
    urgency: str = ""
    when: tuple[RuleFact, ...] = ()
    unless: tuple[RuleFact, ...] = ()
    done_by: tuple[str, ...] = ()
    reason: str = ""
    set_by: str = ""
    on: dt.date | None = None


@dataclass(frozen=True)
class RuleSet:
    """A change of a follow-up rule that holds from now on."""

    followup_rule: RuleChange


@dataclass(frozen=True)
class Settled:
    """Which of the figures that sources dispute the practice goes by; `id` is the dispute."""

    id: str
    choice: str
    reason: str
    set_by: str
    on: dt.date


@dataclass(frozen=True)
class DisputeSet:
    """A dispute as the practice settles it from now on."""

    dispute: Settled


RuleBody: TypeAlias = RuleSet | DisputeSet
RULE_KINDS: Mapping[str, type[RuleBody]] = {"followup_rule": RuleSet, "dispute": DisputeSet}
