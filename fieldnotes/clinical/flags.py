"""Flags on a healing course: what a rule found, how urgent it is, and whether it was answered."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.clinical.flag_tests import TESTS
from fieldnotes.clinical.signs import NO_SIGNS, Evidence, Grounds, Signs
from fieldnotes.domain.errors import KnowledgeError
from fieldnotes.domain.urgency import Urgency

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldnotes.clinical.course import Course
    from fieldnotes.domain.entries import FlagAnswered
    from fieldnotes.knowledge.healing import FlagRule, HealingTables

_ORDER = tuple(Urgency)


@dataclass(frozen=True)
class Flag:
    """A warning: what, how urgent, why with its numbers, by which rule; a larger level is worse."""

    flag: str
    urgency: Urgency
    why: str
    source: str
    rule: str
    level: float


def judge(course: Course, tables: HealingTables, signs: Signs = NO_SIGNS) -> tuple[Flag, ...]:
    """Give the flags that stand on the last visit, the urgent first; one per kind of flag."""
    if course.healed:
        return ()
    raised: dict[str, Flag] = {}
    seen = Evidence(course, signs, tables)
    for rule in tables.flag_rules:
        if rule.flag not in raised:
            found = _grounds(rule, seen)
            if found is not None:
                raised[rule.flag] = _flag(rule, found, seen)
    return tuple(sorted(raised.values(), key=lambda flag: _ORDER.index(flag.urgency)))


def standing_flags(flags: Iterable[Flag], answers: Iterable[FlagAnswered]) -> tuple[Flag, ...]:
    """Give the flags still to be answered: those without an answer, or worse than when answered.

    The answers are those of the same wound, in order; the last one of a kind of flag counts.
    """
    answered = {answer.flag: answer for answer in answers}
    return tuple(flag for flag in flags if not _settled(flag, answered.get(flag.flag)))


def settled_flags(
    flags: Iterable[Flag], answers: Iterable[FlagAnswered]
) -> tuple[tuple[Flag, FlagAnswered], ...]:
    """Give the flags that hold but have been answered, each with its answer."""
    answered = {answer.flag: answer for answer in answers}
    pairs = ((flag, answered.get(flag.flag)) for flag in flags)
    return tuple((f, answer) for f, answer in pairs if answer is not None and _settled(f, answer))


def _settled(flag: Flag, answer: FlagAnswered | None) -> bool:
    """Whether an answer still covers a flag: raised by the same rule, its numbers no worse."""
    if answer is None or (answer.rule and answer.rule != flag.rule):
        return False
    return answer.level is None or flag.level <= answer.level


def _grounds(rule: FlagRule, seen: Evidence) -> Grounds | None:
    if rule.test not in TESTS:
        raise KnowledgeError(f"healing.toml, {rule.id}, test: there is no check '{rule.test}'")
    return TESTS[rule.test](rule, seen)


def _flag(rule: FlagRule, found: Grounds, seen: Evidence) -> Flag:
    words = {name: f"{value:g}" for name, value in rule.numbers}
    words |= {"day": f"{seen.day:g}", "until": f"{seen.course.retraction_until:g}"}
    words |= dict(found.words)
    try:
        why = rule.why.format_map(words)
    except (KeyError, ValueError, IndexError) as error:
        raise KnowledgeError(f"healing.toml, {rule.id}, why: no word for {error}") from error
    return Flag(rule.flag, rule.urgency, why, rule.source, rule.id, found.level)
