"""The form that answers a raised flag: accepted, wait or not applicable, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.aftercare import ANSWERS, raised_flag
from fieldnotes.domain.entries import FlagAnswered
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.tui.fields.choices import ChoiceField, lettered, of_words
from fieldnotes.tui.fields.field import LongText
from fieldnotes.tui.forms.small import CaseForm

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import CaseFile
    from fieldnotes.domain.entries import Body
    from fieldnotes.tui.forms.form import Form, Reading
    from fieldnotes.tui.forms.small import Fields


def _raised(file: CaseFile) -> list[tuple[str, str]]:
    """Give every flag of the case, those to be answered first, with wound and reason."""
    to_answer = [(w, f, "") for w in file.wounds for f in w.flags]
    answered = [(w, f, f" (answered {a.answer})") for w in file.wounds for f, a in w.answered]
    return [
        (f"{w.wound.label}:{f.flag}", f"{w.wound.label} {f.flag.replace('_', ' ')}: {f.why}{said}")
        for w, f, said in (*to_answer, *answered)
    ]


def _fields(_desk: Casework, file: CaseFile) -> Fields:
    raised = _raised(file)
    return (
        ChoiceField(key="flag", label="Flag", given=lettered(raised), required=True,
                    default=raised[0][0], also=("wound",)),
        ChoiceField(key="answer", label="Answer", given=of_words(ANSWERS), required=True,
                    hint="it returns when the numbers get worse"),
        LongText(key="reason", label="Because", required=True),
    )  # fmt: skip


def flag_answer(desk: Casework, ref: str) -> Form:
    """Give the form; RefusedInputError where nothing is flagged."""
    file = desk.file(ref)
    if not _raised(file):
        raise RefusedInputError("flag", "nothing is flagged in this case")

    def build(r: Reading) -> Body:
        wound, _, flag = (r.get("flag") or _raised(file)[0][0]).partition(":")
        found = raised_flag(file.wounds, flag, wound)
        said = (r.get("answer") or "", r.get("reason") or "")
        return FlagAnswered(flag, wound, *said, found.level, found.rule)

    return CaseForm(desk, ref, "flag_answer", "Answer a flag", _fields, build)
