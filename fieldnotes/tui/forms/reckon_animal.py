"""Calculators about the animal: weight, tetanus, and how soon a report must be seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.checks import out_of_bounds
from fieldnotes.casework.safety import judge_report
from fieldnotes.clinical.reckoned_text import CAUTION, tetanus_lines, triage_lines, weight_lines
from fieldnotes.clinical.tetanus import tetanus_decision
from fieldnotes.clinical.weight import Tape, check_species, estimate_weight
from fieldnotes.domain.body_weight import weight_answer, weight_text
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.patients import TetanusHistory, WeightMethod
from fieldnotes.domain.units import CM_PER_IN
from fieldnotes.knowledge.ages import is_foal
from fieldnotes.knowledge.weights import MEASURES
from fieldnotes.tui.fields.choices import ChoiceField, of_words
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.fields.moments import DateField
from fieldnotes.tui.forms.horse_form import COURSE_OF, COURSES, FIRST_ONLY
from fieldnotes.tui.forms.reckon_page import Reckoned, age_field, animal, whose
from fieldnotes.tui.forms.report import asked_fields, report_of
from fieldnotes.tui.forms.weighing import METHOD, WEIGHT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.domain.patients import Horse
    from fieldnotes.knowledge.weights import Weights
    from fieldnotes.tui.fields.field import Field
    from fieldnotes.tui.forms.form import Answers, Reading
    from fieldnotes.tui.forms.reckon_page import Bench

EARLIER = 3  # weights shown beside a new one
INCHES = (("in", CM_PER_IN), ("inch", CM_PER_IN))
MEASURED = {
    "girth": "Girth",
    "length": "Body length",
    "height": "Height at withers",
    "neck": "Neck girth",
    "umbilical": "Belly girth",
}


def _usual_build(bench: Bench, weights: Weights) -> str:
    """Give the build the record names, else what the age and species say; empty for a mule."""
    horse = bench.patient.horse
    if horse is None:
        return "adult"
    age = "foal" if is_foal(horse.age_days(bench.today)) else horse.build
    made_for = {f.build for f in weights.formulas if f.species == horse.species}
    return next((b for b in (age, horse.build, horse.species.value) if b in made_for), "")


def weight_fields(bench: Bench, answers: Answers) -> tuple[Field, ...]:
    """Give the build, and the measures any formula of that build takes."""
    weights = bench.library.weights
    usual = _usual_build(bench, weights)
    build = answers.get("build", usual)
    rows = [f for f in (*weights.formulas, *weights.ideals) if f.build == build]
    wanted = {m for f in rows for m in f.needs} or {"girth", "length"}
    first = next((f.text for f in rows), "no formula: weigh it or type the weight")
    measures = (
        NumberField(key=m, label=MEASURED[m], unit="cm", scales=INCHES,
                    hint=f"cm, or inches as 70 in; {first}")
        for m in MEASURES if m in wanted
    )  # fmt: skip
    by_age = any(f.age_days for f in rows) and bench.patient.horse is not None
    return (
        *whose(bench),
        ChoiceField(key="build", label="Build", given=of_words(weights.builds), default=usual,
                    hint="the formula was made for this kind; none fits another species"),
        *((age_field(bench.patient.horse, bench.today),) if by_age else ()),
        *measures,
    )  # fmt: skip


def _earlier(horse: Horse, kg: float, units: str) -> Iterator[str]:
    """Give the last weights on record, and how far the newest lies from this one."""
    for n, known in enumerate(sorted(horse.weights, key=lambda w: w.on)[: -EARLIER - 1 : -1]):
        off = (kg - known.kg) / known.kg * 100
        beside = f"; this is {abs(off):.0f} % {'more' if off > 0 else 'less'}" if n == 0 else ""
        said = weight_text(known.kg, units)
        yield f"  on record: {said} ({known.method}, {known.on:%d %b %Y}){beside}"


def weight(bench: Bench, r: Reading) -> Reckoned:
    """Estimate the weight; the form gets whole kilograms, and both figures are said."""
    weights, horse = bench.library.weights, animal(bench, r)
    build = r.get("build") or ""
    check_species(weights, build, horse.species.value)
    tape = Tape(**{f"{m}_cm": r.get(m) for m in MEASURES})
    found = estimate_weight(weights, build, tape, r.get("age-days", horse.age_days(bench.today)))
    kg = found.chosen.weight_kg
    lines = weight_lines(found, tape)
    whole = f"taken as {kg:.0f} kg, rounded from {kg:.1f} kg"
    return Reckoned(
        (*lines, *_earlier(horse, kg, bench.patient.units), whole, CAUTION),
        f"weight {whole}: {lines[0]}, {lines[1].strip()}",
        (
            (WEIGHT, weight_answer(round(kg), bench.patient.units)),
            (METHOD, WeightMethod.FORMULA.value),
        ),
    )


def tetanus_fields(bench: Bench, answers: Answers) -> tuple[Field, ...]:
    """Give the wound's day, the history on record, and the practice's interval."""
    known = bench.patient.horse.tetanus if bench.patient.horse else None
    history = known.history if known else TetanusHistory.UNKNOWN
    last = DateField(key="last", label="Last toxoid", today=bench.today, past=True,
                     default=known.last.isoformat() if known and known.last else "")  # fmt: skip
    course = ChoiceField(key="course", label="Tetanus course", given=COURSES,
                         default=COURSE_OF[known.finished if known else None],
                         hint="was that dose the first of a course only?")  # fmt: skip
    dated = answers.get("history", history) == TetanusHistory.DATED
    months = tuple(str(i.months) for i in bench.library.tetanus.intervals)
    wounded = bench.injured_on or bench.today
    return (
        DateField(key="wounded", label="Wounded on", today=bench.today, past=True, required=True,
                  default=wounded.isoformat()),
        ChoiceField(key="history", label="Vaccinated", given=of_words(tuple(TetanusHistory)),
                    default=history, also=("never",), required=True,
                    hint="unknown counts as never"),
        *((last, course) if dated else ()),
        ChoiceField(key="rule-months", label="Booster after", given=of_words(months),
                    default=str(bench.tetanus_months), hint="months, as the practice has it"),
    )  # fmt: skip


def tetanus(bench: Bench, r: Reading) -> Reckoned:
    """Decide toxoid and antitoxin."""
    history, last = r.get("history"), r.get("last")
    if history == TetanusHistory.DATED and last is None:
        raise RefusedInputError("last", "the day of the last dose is needed")
    decision = tetanus_decision(
        bench.library.tetanus,
        r.get("wounded"),
        last if history == TetanusHistory.DATED else None,
        int(r.get("rule-months") or bench.tetanus_months),
        never=history == TetanusHistory.NEVER,
        begun=history == TetanusHistory.DATED and r.get("course") == FIRST_ONLY,
    )
    lines = tetanus_lines(decision)
    return Reckoned((*lines, CAUTION), "tetanus: " + ", ".join(x.strip() for x in lines))


def triage_fields(bench: Bench, _answers: Answers) -> tuple[Field, ...]:
    """Give what an owner's report asks for."""
    return (*whose(bench), *asked_fields(bench.library.triage.signs, bench.patient.now))


def triage(bench: Bench, r: Reading) -> Reckoned:
    """Judge what was reported, with what the case knows."""
    report = report_of(r, bench.patient.now)
    if not report.signs and not report.unclear and report.temperature_c is None:
        raise RefusedInputError("signs", "a sign, one that is not clear, or the temperature")
    for problem in out_of_bounds(report, bench.library.limits):
        raise RefusedInputError(problem.field, problem.message)
    found = judge_report(bench.case, animal(bench, r), report, bench.library)
    told = "; ".join(f"{x.why} ({x.source})" for x in found.reasons) or "no sign named"
    return Reckoned((*triage_lines(found), CAUTION), f"report: to be seen {found.urgency}: {told}")
