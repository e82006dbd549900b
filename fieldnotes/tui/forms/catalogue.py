"""Every form by name, so that a key, the palette and a kept draft open the same one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.tui.forms import (
    flag_answer,
    formulary_forms,
    horse_form,
    post_forms,
    register_forms,
    road_forms,
    rule_forms,
    small,
    vial_forms,
)
from fieldnotes.tui.forms.death import DeathForm
from fieldnotes.tui.forms.first_visit import FirstVisit
from fieldnotes.tui.forms.photo import AddPhoto
from fieldnotes.tui.forms.recheck import Recheck
from fieldnotes.tui.forms.register_print import RegisterPrint
from fieldnotes.tui.forms.report import Report

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from fieldnotes.casework.desk import Casework
    from fieldnotes.tui.forms.form import Form

OPENERS: Mapping[str, Callable[[Casework, str], Form]] = {
    "first_visit": FirstVisit,
    "recheck": Recheck,
    "report": Report,
    "note": small.note,
    "photo": AddPhoto,
    "outcome": small.outcome,
    "discharge": small.discharge,
    "death": DeathForm,
    "referral": small.referral,
    "hold": small.hold,
    "consent": small.consent,
    "amendment": small.amendment,
    "flag_answer": flag_answer.flag_answer,
    "horse": horse_form.new_horse,
    "animal": horse_form.animal,
    "owner": register_forms.owner,
    "premises": register_forms.premises,
    "practice": register_forms.practice,
    "rule": rule_forms.RuleForm,
    "new_rule": rule_forms.new_rule,
    "dispute": rule_forms.DisputeForm,
    "mail_server": post_forms.mail_server,
    "wording": post_forms.wording,
    "contact": post_forms.contact,
    "weight": post_forms.weight,
    "own_dose": formulary_forms.own_dose,
    "own_strength": formulary_forms.own_strength,
    "own_choice": formulary_forms.own_choice,
    "own_mark": formulary_forms.own_mark,
    "own_price": formulary_forms.own_price,
    "material_price": formulary_forms.material_price,
    "road_call": road_forms.call,
    "road_days": road_forms.days,
    "stock": road_forms.stock,
    "road_skip": road_forms.skip,
    "road_lock": road_forms.lock,
    "road_withdraw": road_forms.withdraw,
    "vial_receive": vial_forms.receive,
    "vial_draw": vial_forms.draw,
    "vial_waste": vial_forms.waste,
    "vial_leave": vial_forms.leave,
    "vial_count": vial_forms.count,
    "vial_correct": vial_forms.correct,
    "vial_book": vial_forms.book,
    "vial_print": RegisterPrint,
}
NEEDS_CASE = frozenset(OPENERS) - {
    "first_visit", "horse", "owner", "premises", "practice", "new_rule",
    "road_call", "road_days", "stock", "mail_server", "material_price",
    "vial_print",
}  # fmt: skip
