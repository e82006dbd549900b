"""The vet's desk: what a case leads to, and what its owner gets."""

from __future__ import annotations

import datetime as dt
from functools import cache

import pytest
from icalendar import Calendar

from fieldnotes.casework.desk import Casework
from fieldnotes.cli.demo import make_demo
from fieldnotes.domain.cases import Status
from fieldnotes.domain.entries import (
    REGISTER,
    CaseEnd,
    Discharge,
    HorseSet,
    PracticeSet,
)
from fieldnotes.domain.errors import NoStoreError, RefusedInputError
from fieldnotes.domain.followups import State
from fieldnotes.domain.patients import PartyRole
from fieldnotes.domain.wounds import Phase
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.checking import check_store
from fieldnotes.storage.outbox import Outbox
from tests.builders import (
    a_care,
    a_finding,
    a_horse,
    a_practice,
    a_task,
    a_visit,
    an_opening,
    at,
    day,
)
from tests.desks import Clock, first_visit, known
from tests.fakes import RecordsInMemory

DEMO_NOW = dt.datetime(2026, 3, 2, 7, 0, tzinfo=dt.UTC)


@pytest.fixture
def clock():
    return Clock(at(0, 12))


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


# ----- what leaves the desk


def test_a_message_to_an_owner_without_email_is_refused_naming_the_owner(records, clock):
    desk = known(Casework(records, clock), email="")
    ref = desk.open_case(an_opening(), first_visit()).ref
    with pytest.raises(RefusedInputError, match="Olive Owner"):
        desk.post.handout(ref, "eml")
    assert b"Bramble" in desk.post.handout(ref, "markdown")
    assert "email" in desk.file(ref).missing


def test_a_calendar_with_nothing_due_is_refused(desk, ref, clock):
    clock.moment = at(30, 12)
    desk.record(ref, Discharge(CaseEnd.HEALED, day(30)))
    for one in (ref, None):
        with pytest.raises(RefusedInputError):
            desk.post.calendar(one)


def test_a_handout_is_given_for_a_case_of_which_little_is_known(desk):
    desk.save(HorseSet(a_horse(weight_kg=None, born=None, parties=())))
    ref = desk.open_case(an_opening()).ref
    text = desk.post.handout(ref, "text").decode()
    assert "Bramble" in text
    assert set(desk.file(ref).missing) == {"body weight", "owner"}


def test_a_queued_handout_is_in_the_outbox_and_in_the_record(tmp_path, clock):
    create_store(tmp_path / "store")
    book, box = Casebook(tmp_path / "store"), Outbox(tmp_path / "store")
    desk = known(Casework(book, clock, mail=box))
    ref = desk.open_case(an_opening(), first_visit()).ref
    desk.post.queue_handout(ref)
    (mail,), (said,) = desk.post.outbox(), desk.case(ref).handouts
    assert mail.recipients == said.body.recipients == ("olive@example.org",)
    assert mail.sha256 == said.body.sha256
    desk.post.queue_handout(ref)
    assert len(desk.post.outbox()) == 2


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
    assert Calendar.from_ical(again.post.calendar()).walk("VEVENT")
    assert path.name in " ".join(again.problems())
    assert again.open_case(an_opening(), first_visit()).entries


# ----- every case of the demo


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo") / "store"
    make_demo(folder, DEMO_NOW)
    return Casework(Casebook(folder), lambda: DEMO_NOW)


@pytest.fixture(scope="module")
def handout(demo):
    return cache(demo.post.handout)  # each takes a tenth of a second, and three tests read them


def concerned(desk, file):
    """Give the names of the clients a case may name."""
    ids = {p.owner for p in file.horse.parties}
    return {o.name for o in desk.register().owners.values() if o.id in ids}


def test_every_open_case_gives_a_handout_in_each_format_and_a_calendar_or_a_refusal(demo, handout):
    cases = demo.find_cases(status="open")
    assert len(cases) >= 10
    for case in cases:
        file = demo.file(case.ref)
        for form in ("markdown", "html", "text"):
            assert file.horse.name.encode() in handout(case.ref, form)
        if file.owner is not None and file.owner.email:
            assert b"Message-ID:" in handout(case.ref, "eml")
        else:
            with pytest.raises(RefusedInputError):
                handout(case.ref, "eml")
        if file.plan:
            assert Calendar.from_ical(demo.post.calendar(case.ref)).walk("VEVENT")
        else:
            with pytest.raises(RefusedInputError):
                demo.post.calendar(case.ref)


def test_nothing_of_another_client_or_animal_stands_in_a_handout(demo, handout):
    register = demo.register()
    told = 0
    for case in demo.find_cases():
        if case.line.status is Status.DIED:
            with pytest.raises(RefusedInputError, match="died"):
                handout(case.ref, "text")
            continue
        file = demo.file(case.ref)
        text = handout(case.ref, "text").decode()
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


def test_a_message_goes_to_its_own_clients_alone(demo, handout):
    register = demo.register()
    for case in demo.find_cases(status="open"):
        file = demo.file(case.ref)
        if file.owner is None or not file.owner.email:
            continue
        head = handout(case.ref, "eml").partition(b"\r\n\r\n")[0].decode()
        others = {o.email for o in register.owners.values() if o.email} - {file.owner.email}
        assert file.owner.email in head
        assert not [email for email in others if email in head]


def test_the_vets_calendar_holds_every_open_case_with_vet_visits(demo):
    summary = demo.post.calendar().decode()
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
