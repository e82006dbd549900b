"""The vet's desk: what a case leads to, what is refused at which field, and what owners get."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from icalendar import Calendar

from fieldnotes.casework.desk import Casework
from fieldnotes.cli.demo import make_demo
from fieldnotes.domain.cases import Status
from fieldnotes.domain.entries import (
    REGISTER,
    Amendment,
    CaseEnd,
    Discharge,
    Estimate,
    HorseSet,
    Note,
    Outcome,
    OwnerReport,
    OwnerSet,
    PersonSet,
    PracticeSet,
    PremisesSet,
    Vitals,
    WoundAdded,
)
from fieldnotes.domain.errors import NoStoreError, RefusedInputError, UnknownNameError
from fieldnotes.domain.followups import State
from fieldnotes.domain.patients import PartyRole, Position
from fieldnotes.domain.wounds import Phase
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.checking import check_store
from fieldnotes.storage.outbox import Outbox
from tests.builders import (
    a_bandage,
    a_care,
    a_closure,
    a_device,
    a_drug_dispensed,
    a_drug_given,
    a_finding,
    a_horse,
    a_person,
    a_practice,
    a_premises,
    a_task,
    a_visit,
    a_wound,
    an_opening,
    an_outcome,
    an_owner,
    at,
    day,
)
from tests.fakes import RecordsInMemory

DEMO_NOW = dt.datetime(2026, 3, 2, 7, 0, tzinfo=dt.UTC)
CLOSED = a_care(closure=a_closure(), placed=(a_device(),), bandage=a_bandage())


class Clock:
    """A clock the test sets."""

    def __init__(self, moment):
        self.moment = moment

    def __call__(self):
        return self.moment


@pytest.fixture
def clock():
    return Clock(at(0, 12))


def known(desk, **owner):
    for body in (
        PracticeSet(a_practice()),
        PersonSet(a_person()),
        OwnerSet(an_owner(**owner)),
        PremisesSet(a_premises()),
        HorseSet(a_horse()),
    ):
        desk.save(body)
    return desk


def first_visit(**changes):
    values = {"findings": (a_finding(),), "care": (CLOSED,)} | changes
    return a_visit(0, **values)


@pytest.fixture
def records():
    return RecordsInMemory()


@pytest.fixture
def desk(records, clock):
    return known(Casework(records, clock))


@pytest.fixture
def ref(desk):
    return desk.open_case(an_opening(), first_visit()).ref


# ----- from the first visit to the healed wound


@pytest.fixture(params=["in memory", "on disk"])
def either_desk(request, tmp_path, clock):
    if request.param == "in memory":
        return known(Casework(RecordsInMemory(), clock))
    create_store(tmp_path / "store")
    return known(Casework(Casebook(tmp_path / "store"), clock))


def test_a_case_opened_with_its_first_visit_has_a_plan_with_windows_and_reasons(either_desk):
    ref = either_desk.open_case(an_opening(), first_visit()).ref
    plan = either_desk.file(ref).plan
    assert {"drain", "suture"} <= {w for t in plan for w in ("drain", "suture") if w in t.what}
    for task in plan:
        assert task.earliest <= task.due <= task.latest
        assert task.reason
        assert task.source
        assert task.case == ref


def test_a_recheck_that_takes_the_drain_out_closes_its_task(either_desk, clock):
    ref = either_desk.open_case(an_opening(), first_visit()).ref
    drains = [t for t in either_desk.file(ref).plan if "drain" in t.what]
    clock.moment = at(3, 12)
    out = a_care(removed=("drain",))
    either_desk.record(ref, a_visit(3, findings=(a_finding(),), care=(out,)))
    left = {t.key for t in either_desk.file(ref).plan}
    assert drains
    assert not left & {t.key for t in drains}


def test_a_visit_closes_the_tasks_it_names_and_leaves_the_others(either_desk, clock):
    ref = either_desk.open_case(an_opening(), first_visit()).ref
    either_desk.record(ref, a_task("look at the far leg", 1, 2, 5))
    (by_hand,) = (t for t in either_desk.file(ref).plan if t.what == "look at the far leg")
    clock.moment = at(2, 12)
    before = {t.key for t in either_desk.file(ref).plan}
    either_desk.record(ref, a_visit(2, tasks_done=(by_hand.key,)))
    after = {t.key for t in either_desk.file(ref).plan}
    assert by_hand.key not in after
    assert any("suture" in t.what for t in either_desk.file(ref).plan)
    assert before - after


def test_what_is_past_its_window_is_overdue_and_comes_first(desk, ref, clock):
    clock.moment = at(40, 8)
    lines = desk.due()
    states = [line.state for line in lines]
    assert states[0] is State.OVERDUE
    assert states == sorted(states, key=[State.OVERDUE, State.DUE, State.COMING].index)


def test_a_discharged_case_plans_nothing_and_leaves_the_open_list(desk, ref, clock):
    clock.moment = at(30, 12)
    desk.record(ref, Discharge(CaseEnd.HEALED, day(30)))
    assert desk.file(ref).plan == ()
    assert desk.find_cases(status="open") == ()
    assert [s.line.status for s in desk.find_cases(status="ended")] == [Status.HEALED]


def test_what_is_written_is_signed_and_clean(desk, records, ref):
    desk.note(ref, "quiet\x1b[2J \u202enow")
    entry = records.entries[-1]
    assert entry.body.text == "quiet[2J now"
    assert entry.author == "vet1"


def test_the_day_is_the_practices_own_day_not_that_of_greenwich():
    records = RecordsInMemory()
    desk = Casework(records, Clock(dt.datetime(2025, 6, 2, 23, 30, tzinfo=dt.UTC)))
    desk.save(PracticeSet(a_practice()))
    assert desk.today() == day(1)  # British Summer Time, UTC+1


def test_a_desk_without_a_practice_says_so(records, clock):
    with pytest.raises(NoStoreError, match="no practice"):
        Casework(records, clock).practice()


# ----- what is refused, and at which field

OPENINGS = {
    "unknown horse": (an_opening(horse="nobody"), "horse"),
    "unknown premises": (an_opening(premises="nowhere"), "premises"),
    "future injury": (an_opening(injured_at=at(1)), "injured_at"),
    "no wound": (replace(an_opening(), wounds=()), "wounds"),
    "one letter twice": (an_opening((a_wound(), a_wound())), "wounds.A.label"),
    "unknown region": (an_opening((a_wound(region="left.wing"),)), "wounds.A.region"),
}


@pytest.mark.parametrize("slip", OPENINGS)
def test_a_case_that_cannot_be_is_refused_at_its_field_and_nothing_is_written(desk, records, slip):
    opened, field = OPENINGS[slip]
    before = list(records.entries)
    with pytest.raises(RefusedInputError) as refused:
        desk.open_case(opened)
    assert refused.value.field == field
    assert refused.value.reason
    assert records.entries == before


VISITS = {
    "a wound of 4 m": ({"findings": (a_finding(length_mm=4000.0),)}, "findings.A.length_mm"),
    "a wound of no length": ({"findings": (a_finding(length_mm=-8.0),)}, "findings.A.width_mm"),
    "width over length": ({"findings": (a_finding(width_mm=90.0),)}, "findings.A.width_mm"),
    "length alone": ({"findings": (a_finding(width_mm=None),)}, "findings.A.width_mm"),
    "depth below nothing": ({"findings": (a_finding(depth_mm=-1.0),)}, "findings.A.depth_mm"),
    "a round that is no number": (
        {"findings": (a_finding(perimeter_cm=float("nan")),)},
        "findings.A.perimeter_cm",
    ),
    "granulation grade 7": (
        {"findings": (a_finding(granulation_grade=7),)},
        "findings.A.granulation_grade",
    ),
    "unknown wound seen": ({"findings": (a_finding("Q"),)}, "findings.Q"),
    "unknown wound cared for": ({"care": (a_care("Q"),)}, "care.Q"),
    "one wound twice": ({"findings": (a_finding(), a_finding())}, "findings.A"),
    "fever in Fahrenheit": ({"vitals": Vitals(temperature_c=102.0)}, "vitals.temperature_c"),
    "no heart beat": ({"vitals": Vitals(heart_per_min=0)}, "vitals.heart_per_min"),
    "lameness 6": ({"lameness": 6}, "lameness"),
    "a drug without name": ({"given": (a_drug_given(name=" "),)}, "given.0.name"),
    "a drug without route": ({"given": (a_drug_given(route=""),)}, "given.0.route"),
    "less than no drug": ({"given": (a_drug_given(amount=-5.0),)}, "given.0.amount"),
    "no drug": ({"dispensed": (a_drug_dispensed(amount=0.0),)}, "dispensed.0.amount"),
    "less than nothing wasted": ({"given": (a_drug_given(wasted=-1.0),)}, "given.0.wasted"),
    "less than no volume": ({"given": (a_drug_given(volume_ml=-2.0),)}, "given.0.volume_ml"),
    "expired without a reason": (
        {"given": (a_drug_given(expiry=day(-1)),)},
        "given.0.expiry",
    ),
    "expired and dispensed": (
        {"dispensed": (a_drug_dispensed(expiry=day(-1)),)},
        "dispensed.0.expiry",
    ),
    "a course of a year": ({"dispensed": (a_drug_dispensed(days=365.0),)}, "dispensed.0.days"),
}


@pytest.mark.parametrize("slip", VISITS)
def test_a_visit_that_cannot_be_is_refused_at_its_field_and_nothing_is_written(desk, records, slip):
    changes, field = VISITS[slip]
    before = list(records.entries)
    with pytest.raises(RefusedInputError) as refused:
        desk.open_case(an_opening(), first_visit(**changes))
    assert refused.value.field == field
    assert records.entries == before


@pytest.mark.parametrize("slip", VISITS)
def test_a_correction_cannot_bring_in_what_a_visit_may_not_hold(desk, records, ref, slip):
    changes, field = VISITS[slip]
    visit = next(e for e in desk.case(ref).entries if e.kind == "visit")
    before = list(records.entries)
    with pytest.raises(RefusedInputError) as refused:
        desk.amend(ref, visit.id, "sizes", "misread", first_visit(**changes))
    assert refused.value.field == f"corrected.{field}"
    assert records.entries == before


def test_a_visit_before_the_injury_or_after_now_is_refused(desk, ref):
    for when in (at(0, 6), at(1, 9)):
        with pytest.raises(RefusedInputError) as refused:
            desk.record(ref, a_visit(when))
        assert refused.value.field == "at"


def test_an_expired_drug_with_a_reason_is_recorded(desk, ref):
    used = a_drug_given(expiry=day(-1), reason="none other at hand, owner told")
    assert desk.record(ref, a_visit(0, given=(used,))).entries


LATER = {
    "recheck moved into the past": (
        an_outcome("recheck", Outcome.MOVED, moved_to=day(-1)),
        "moved_to",
    ),
    "moved to no day": (an_outcome("recheck", Outcome.MOVED), "moved_to"),
    "appointment in the past": (
        an_outcome("recheck", Outcome.MOVED, appointment=at(-1)),
        "appointment",
    ),
    "done tomorrow": (an_outcome("recheck", Outcome.DONE, 1), "on"),
    "empty note": (Note(" \n\t"), "text"),
    "a note of nothing visible": (Note("\u200b\x00"), "text"),
    "empty report": (OwnerReport(at(0), "phone", "  "), "text"),
    "report from the future": (OwnerReport(at(2), "phone", "well"), "at"),
    "task that is nothing": (a_task(" "), "what"),
    "task ends before it begins": (a_task("look", 3, 2, 1), "due"),
    "task in the past": (a_task("look", -3, -2, -1), "latest"),
    "discharged before the injury": (Discharge(CaseEnd.HEALED, day(-1)), "on"),
    "discharged tomorrow": (Discharge(CaseEnd.HEALED, day(1)), "on"),
    "wound A again": (WoundAdded(a_wound("A")), "wound.label"),
    "wound nowhere": (WoundAdded(a_wound("B", "left.wing")), "wound.region"),
    "estimate below nothing": (Estimate(day(0), -1.0, 100.0, "GBP"), "amount"),
    "limit below nothing": (Estimate(day(0), 1.0, -100.0, "GBP"), "limit"),
}


@pytest.mark.parametrize("slip", LATER)
def test_an_entry_that_cannot_be_is_refused_at_its_field(desk, records, ref, slip):
    body, field = LATER[slip]
    before = list(records.entries)
    with pytest.raises(RefusedInputError) as refused:
        desk.record(ref, body)
    assert refused.value.field == field
    assert records.entries == before


REGISTERED = {
    "bad email": (OwnerSet(an_owner(email="olive at example.org")), "email"),
    "two addresses in one": (OwnerSet(an_owner(email="a@example.org, b@example.org")), "email"),
    "practice's bad email": (PracticeSet(a_practice(email="vets@nowhere")), "email"),
    "unknown time zone": (PracticeSet(a_practice(zone="Mars/Base")), "zone"),
    "half a time zone": (PracticeSet(a_practice(zone="Europe")), "zone"),
    "no time zone": (PracticeSet(a_practice(zone="")), "zone"),
    "day ends first": (PracticeSet(a_practice(day_end=dt.time(6))), "day_end"),
    "latitude 95": (PremisesSet(a_premises(position=Position(95.0, 0.0))), "lat"),
    "longitude 200": (PremisesSet(a_premises(position=Position(0.0, 200.0))), "lon"),
    "unborn horse": (HorseSet(a_horse(born=day(1))), "born"),
    "horse nowhere": (HorseSet(a_horse(premises="nowhere")), "premises"),
    "horse of 5 t": (HorseSet(a_horse(weight_kg=5000.0)), "kg"),
}


@pytest.mark.parametrize("slip", REGISTERED)
def test_a_record_that_cannot_be_is_refused_at_its_field(desk, records, slip):
    body, field = REGISTERED[slip]
    before = list(records.entries)
    with pytest.raises(RefusedInputError) as refused:
        desk.save(body)
    assert refused.value.field.rpartition(".")[2] == field
    assert records.entries == before


def test_all_that_is_wrong_is_listed_at_once(desk):
    opened = an_opening((a_wound(region="left.wing"),), injured_at=at(1), horse="nobody")
    found = a_finding(length_mm=4000.0, granulation_grade=7)
    visit = first_visit(findings=(found,), vitals=Vitals(temperature_c=102.0))
    fields = {p.field for p in desk.check_opening(opened, visit)}
    assert fields >= {
        "horse",
        "injured_at",
        "wounds.A.region",
        "at",
        "findings.A.length_mm",
        "findings.A.granulation_grade",
        "vitals.temperature_c",
    }


def test_a_sound_case_has_no_problem(desk):
    assert desk.check_opening(an_opening(), first_visit()) == ()


def test_an_amendment_names_an_entry_of_its_case_and_says_why(desk, ref):
    with pytest.raises(UnknownNameError):
        desk.amend(ref, "d9-9", "what", "why")
    with pytest.raises(RefusedInputError) as refused:
        desk.amend(ref, desk.case(ref).entries[1].id, "what", "  ")
    assert refused.value.field == "why"


def test_only_records_of_the_register_go_into_the_register(desk):
    with pytest.raises(RefusedInputError):
        desk.save(Amendment("d1-1", "x", "y"))
    with pytest.raises(RefusedInputError):
        desk.save(Note("x"))


# ----- what leaves the desk


def test_a_message_to_an_owner_without_email_is_refused_naming_the_owner(records, clock):
    desk = known(Casework(records, clock), email="")
    ref = desk.open_case(an_opening(), first_visit()).ref
    with pytest.raises(RefusedInputError, match="Olive Owner"):
        desk.handout(ref, "eml")
    assert b"Bramble" in desk.handout(ref, "markdown")
    assert "email" in desk.file(ref).missing


def test_a_calendar_with_nothing_due_is_refused(desk, ref, clock):
    clock.moment = at(30, 12)
    desk.record(ref, Discharge(CaseEnd.HEALED, day(30)))
    for one in (ref, None):
        with pytest.raises(RefusedInputError):
            desk.calendar(one)


def test_a_handout_is_given_for_a_case_of_which_little_is_known(desk):
    desk.save(HorseSet(a_horse(weight_kg=None, born=None, parties=())))
    ref = desk.open_case(an_opening()).ref
    text = desk.handout(ref, "text").decode()
    assert "Bramble" in text
    assert set(desk.file(ref).missing) == {"body weight", "owner"}


def test_a_queued_handout_is_in_the_outbox_and_in_the_record(tmp_path, clock):
    create_store(tmp_path / "store")
    book, box = Casebook(tmp_path / "store"), Outbox(tmp_path / "store")
    desk = known(Casework(book, clock, mail=box))
    ref = desk.open_case(an_opening(), first_visit()).ref
    desk.queue_handout(ref)
    (mail,), (said,) = desk.outbox(), desk.case(ref).handouts
    assert mail.recipients == said.body.recipients == ("olive@example.org",)
    assert mail.sha256 == said.body.sha256
    desk.queue_handout(ref)
    assert len(desk.outbox()) == 2


# ----- what cannot be read


@pytest.mark.parametrize("damaged", ["its opening", "its horse"])
def test_a_case_that_cannot_be_read_is_told_and_the_rest_of_the_day_stands(
    tmp_path, clock, damaged
):
    create_store(tmp_path / "store")
    desk = known(Casework(Casebook(tmp_path / "store"), clock))
    desk.save(HorseSet(a_horse(id="horse2", name="Clover")))
    well = desk.open_case(an_opening(), first_visit()).ref
    ill = desk.open_case(an_opening(horse="horse2"), first_visit()).ref
    sought = f"-{ill}.json" if damaged == "its opening" else "00000005-register.json"
    path = min(p for p in (tmp_path / "store").rglob("*.json") if p.name.endswith(sought))
    path.write_bytes(path.read_bytes()[:-9])
    if damaged == "its horse":  # the index still knows her; without it she must be read anew
        for cached in (tmp_path / "store" / "index").iterdir():
            cached.unlink()
    again = Casework(Casebook(tmp_path / "store"), clock)
    assert {line.task.case for line in again.due(days=30)} == {well}
    assert {case for stop in again.board().stops for case in stop.cases} <= {well}
    assert Calendar.from_ical(again.calendar()).walk("VEVENT")
    assert path.name in " ".join(again.problems())
    assert again.open_case(an_opening(), first_visit()).entries


# ----- every case of the demo


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo") / "store"
    make_demo(folder, DEMO_NOW)
    return Casework(Casebook(folder), lambda: DEMO_NOW)


def concerned(desk, file):
    """Give the names of the clients a case may name."""
    ids = {p.owner for p in file.horse.parties}
    return {o.name for o in desk.register().owners.values() if o.id in ids}


def test_every_open_case_gives_a_handout_in_each_format_and_a_calendar_or_a_refusal(demo):
    cases = demo.find_cases(status="open")
    assert len(cases) >= 10
    for case in cases:
        file = demo.file(case.ref)
        for form in ("markdown", "html", "text"):
            assert file.horse.name.encode() in demo.handout(case.ref, form)
        if file.owner is not None and file.owner.email:
            assert b"Message-ID:" in demo.handout(case.ref, "eml")
        else:
            with pytest.raises(RefusedInputError):
                demo.handout(case.ref, "eml")
        if file.plan:
            assert Calendar.from_ical(demo.calendar(case.ref)).walk("VEVENT")
        else:
            with pytest.raises(RefusedInputError):
                demo.calendar(case.ref)


def test_nothing_of_another_client_or_animal_stands_in_a_handout(demo):
    register = demo.register()
    told = 0
    for case in demo.find_cases():
        file = demo.file(case.ref)
        text = demo.handout(case.ref, "text").decode()
        mine = concerned(demo, file)
        others = {o.name for o in register.owners.values()} - mine
        phones = {o.phone for o in register.owners.values() if o.name in others and o.phone}
        animals = {h.name for h in register.horses.values()} - {file.horse.name}
        words = set(text.replace(",", " ").replace(".", " ").split())
        assert not [name for name in others if name in text]
        assert not [phone for phone in phones if phone in text]
        assert not animals & words
        told += any(name in text for name in mine)
    assert told  # the loop would see a name if one stood there


def test_a_message_goes_to_its_own_clients_alone(demo):
    register = demo.register()
    for case in demo.find_cases(status="open"):
        file = demo.file(case.ref)
        if file.owner is None or not file.owner.email:
            continue
        head = demo.handout(case.ref, "eml").partition(b"\r\n\r\n")[0].decode()
        others = {o.email for o in register.owners.values() if o.email} - {file.owner.email}
        assert file.owner.email in head
        assert not [email for email in others if email in head]


def test_the_vets_calendar_holds_every_open_case_with_vet_visits(demo):
    summary = demo.calendar().decode()
    assert Calendar.from_ical(summary).walk("VEVENT")
    days = demo.due(days=30)
    assert {line.horse for line in days if line.task.by == "vet"} <= {
        h.name for h in demo.register().horses.values() if h.name in summary
    }


def test_the_demo_store_is_sound_and_its_healed_wounds_are_closed(demo):
    assert check_store(demo._records).findings == ()
    healed = [s.ref for s in demo.find_cases(status="healed")]
    assert healed
    for ref in healed:
        assert any(f.phase is Phase.HEALED for w in demo.file(ref).wounds for _, f in w.findings)


def test_the_owner_of_a_case_is_its_owner_of_the_day(demo):
    for case in demo.find_cases(status="open"):
        file = demo.file(case.ref)
        wanted = file.horse.party(PartyRole.OWNER, demo.today())
        assert wanted is None or file.owner.id == wanted
    assert REGISTER not in {s.ref for s in demo.find_cases()}
