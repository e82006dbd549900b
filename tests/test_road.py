"""Today on the road: what is said is kept, a restart goes on, nothing of another client is told."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import replace
from email import message_from_bytes, policy

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.cli.demo import make_demo
from fieldnotes.cli.main import main
from fieldnotes.domain.driving import Leg, Rule
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.urgency import Urgency
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.outbox import Outbox
from fieldnotes.tui.screens.route import day_stops, next_lines, route_rows, signs

MORNING = dt.datetime(2026, 3, 2, 7, 0, tzinfo=dt.UTC)


@pytest.fixture(scope="module")
def sample(tmp_path_factory):
    folder = tmp_path_factory.mktemp("road") / "store"
    make_demo(folder, MORNING)
    return folder


class Vet:
    """A vet with a clock, at one desk until it is opened anew."""

    def __init__(self, folder):
        self.folder = folder
        self.now = MORNING
        self.restart()

    def restart(self):
        self.desk = Casework(Casebook(self.folder), lambda: self.now)

    @property
    def road(self):
        return self.desk.road

    def at(self, hour, minute=0):
        self.now = MORNING.replace(hour=hour, minute=minute)
        return self.road

    def order(self):
        return [s.stop for s in self.road.live().plan.stops]


@pytest.fixture
def vet(sample, tmp_path):
    import shutil

    return Vet(shutil.copytree(sample, tmp_path / "store"))


def test_what_is_said_on_the_road_outlives_a_restart(vet):
    first, second, third = vet.order()[:3]
    vet.at(7, 40).set_off()
    vet.at(7, 52).there(first)
    vet.at(8, 30).done(first)
    vet.restart()
    live = vet.at(8, 31).live()
    assert [m.stop for m in live.marks.values()] == ["base", first]
    assert (live.marks[first].leg.start, live.marks[first].leg.minutes) == ("base", 12)
    assert live.marks[first].stay.minutes == 38
    assert vet.order()[:2] == [second, third]
    assert live.plan.start.astimezone(dt.UTC) == vet.now.replace(minute=31)


def test_between_two_stops_the_next_is_kept_and_arrives_when_it_would(vet):
    first, second = vet.order()[:2]
    vet.at(8, 30).done(first)
    drive = vet.at(8, 30).live().plan.stops[0].drive_min
    live = vet.at(8, 33).live()
    assert live.standing.heading == second
    assert (live.plan.stops[0].arrive - vet.now).total_seconds() / 60 == pytest.approx(
        drive - 3, abs=0.01
    )
    late = vet.at(9, 30).live().plan.stops[0].arrive
    assert abs(late - vet.now) < dt.timedelta(seconds=1)


def test_a_delay_moves_what_comes_after_and_nothing_before(vet):
    first, second = vet.order()[:2]
    vet.at(8, 0).there(first)
    before = {s.stop: s.arrive for s in vet.road.live().plan.stops}
    vet.road.delay(first, 15)
    after = {s.stop: s.arrive for s in vet.road.live().plan.stops}
    assert (after[second] - before[second]) == dt.timedelta(minutes=15)
    other = vet.order()[1]
    vet.road.delay(other, 20)
    moved = {s.stop: s for s in vet.road.live().plan.stops}
    assert moved[second].arrive == after[second]
    assert moved[other].start - after[other] == dt.timedelta(minutes=20)


def test_an_arrival_that_was_not_said_is_reckoned_and_marked_so(vet):
    first = vet.order()[0]
    vet.at(7, 35).set_off()
    planned = next(s.service_min for s in vet.road.live().stops if s.premises == first)
    vet.at(9, 0).done(first)
    mark = vet.road.live().marks[first]
    assert mark.leg.reckoned
    assert mark.leg.minutes == pytest.approx(85 - planned)
    assert mark.stay is None


def test_times_that_cannot_be_are_refused(vet):
    first, second = vet.order()[:2]
    vet.at(8, 0).there(first)
    with pytest.raises(RefusedInputError, match="not marked done"):
        vet.road.there(second)
    with pytest.raises(RefusedInputError, match="still to come"):
        vet.road.done(first, vet.now + dt.timedelta(hours=1))
    with pytest.raises(RefusedInputError, match="after it is reached"):
        vet.road.done(first, vet.now - dt.timedelta(minutes=5))
    with pytest.raises(RefusedInputError, match="not on today"):
        vet.road.there("nowhere")


def test_a_call_waits_as_a_proposal_with_its_price_until_it_is_accepted(vet):
    order = vet.order()
    vet.at(7, 30).set_off()
    free = next(p for p in vet.desk.register().premises if p not in order and p != "pike-end")
    vet.at(9, 15).insert(free, 30, Urgency.SAME_DAY, "colic")
    live = vet.road.live()
    assert vet.order() == order
    assert free in [s.stop for s in live.replan.proposal.stops]
    assert "min driving" in live.price
    vet.road.accept()
    assert free in vet.order()
    call = vet.road.live().calls[0]
    vet.road.withdraw(call.id, "settled by itself")
    assert free not in vet.order()


def test_skipping_asks_why_and_once_more_past_the_last_day(vet):
    live = vet.road.live()
    waits = next(s for s in live.open if s.until > live.date)
    with pytest.raises(RefusedInputError, match="why"):
        vet.road.skip(waits.premises, " ")
    vet.road.skip(waits.premises, "owner away")
    assert waits.premises not in vet.order()
    assert dict(vet.desk.board().route.skipped)[waits.premises] == "owner away"
    last = next(s for s in live.open if s.until <= live.date and s.position)
    with pytest.raises(RefusedInputError, match="last day"):
        vet.road.skip(last.premises, "no time")
    vet.road.skip(last.premises, "no time", past_latest=True)
    vet.road.reopen(last.premises)
    assert last.premises in vet.order()


def test_today_follows_the_day_as_it_runs(vet):
    first, second = vet.order()[:2]
    assert vet.road.board_now() == vet.desk.board()  # nothing said yet: the whole day
    vet.at(7, 30).set_off()
    vet.at(9).done(first, arrived=MORNING.replace(hour=8))
    vet.at(9, 1)
    board, live = vet.road.board_now(), vet.road.live()
    assert [s.stop for s in board.route.stops] == [s.stop for s in live.plan.stops]
    gone, following = day_stops(board)[:2]
    assert (gone.due.premises, following.due.premises) == (first, second)
    assert signs(gone, board.date) == (("✓ done", "$done"),)
    row = route_rows(board, 100)[1].text.plain
    assert f"{gone.mark.left.astimezone(vet.desk.now().tzinfo):%H:%M}" in row
    shown = next_lines(board, vet.desk.now(), 100).plain
    assert f"Next  {following.due.name}" in shown
    assert f"1 done · {len(live.plan.stops)} to go" in shown


def test_a_lock_that_puts_an_infected_case_first_asks_why(vet):
    live = vet.road.live()
    dirty = next(s for s in live.open if s.contaminated and s.urgency is Urgency.NEXT_VISIT)
    with pytest.raises(RefusedInputError, match="infected cases are seen last"):
        vet.road.lock(dirty.premises, Rule.FIRST)
    vet.road.lock(dirty.premises, Rule.FIRST, why="the owner flies at ten")
    first = vet.road.live().plan.stops[0]
    assert (first.stop, first.reason) == (dirty.premises, "lock")
    assert "clean down" in first.note
    clean = next(s for s in live.open if not s.contaminated and s.position)
    vet.road.lock(clean.premises, Rule.AT, MORNING.replace(hour=11))
    at = next(s for s in vet.road.live().plan.stops if s.stop == clean.premises)
    assert at.start.astimezone(dt.UTC) == MORNING.replace(hour=11)
    assert vet.desk.board().route.stops[0].stop == dirty.premises


def test_an_owner_reads_of_their_own_horses_only_and_what_is_told_binds(vet):
    vet.at(7, 30).set_off()
    texts = vet.road.texts("millbeck")
    assert len(texts) > 1
    register = vet.desk.register()
    for text in texts:
        for horse in register.horses.values():
            theirs = text.promise.owner in {p.owner for p in horse.parties}
            assert horse.name not in text.text or theirs, text.text
        for owner in register.owners.values():
            assert owner.name not in text.text
        assert register.practice.phone in text.text
        width = text.promise.closes - text.promise.opens
        assert width >= dt.timedelta(minutes=30)
        assert text.promise.opens.minute % 15 == text.promise.closes.minute % 15 == 0
    vet.road.tell(texts[0])
    planned = next(s for s in vet.road.live().plan.stops if s.stop == "millbeck")
    assert planned.reason == "promised"
    assert texts[0].promise.opens <= planned.start <= texts[0].promise.closes


def test_an_arrival_goes_into_the_outbox_under_a_case_of_that_owner_alone(vet):
    queue = Outbox(vet.folder)
    desk = Casework(Casebook(vet.folder), lambda: vet.now, mail=queue)
    texts = desk.road.texts("millbeck")
    written = [t for t in texts if desk.register().owners[t.promise.owner].email]
    assert written
    for text in written:
        desk.post.queue_arrival(text)
        [mail] = [m for m in queue.list() if m.case == text.case]
        sent = message_from_bytes(queue.message(mail.id), policy=policy.default)
        owner = desk.register().owners[text.promise.owner]
        assert [a.addr_spec for a in sent["To"].addresses] == [owner.email] == [*mail.recipients]
        assert sent.get_body(("plain",)).get_content().strip() == text.text
        assert desk.case(text.case).handouts[-1].body.paper == "arrival"
    assert len({t.file_name for t in texts}) == len(texts)
    with pytest.raises(RefusedInputError, match="no case of theirs"):
        desk.post.queue_arrival(replace(texts[0], case=""))


def test_eight_logged_drives_refit_the_model_and_an_odd_one_is_offered(vet):
    road = vet.road.book().road
    assert road.legs() == ()
    order = vet.order()
    clock = MORNING.replace(hour=7, minute=30)
    vet.now = clock
    vet.road.set_off()
    for number, stop in enumerate(order[:9]):
        drive = vet.road.live().plan.stops[0].drive_min
        clock += dt.timedelta(minutes=round(drive * 0.8) + (60 if number == 4 else 0))
        vet.now = clock
        vet.road.there(stop)
        clock += dt.timedelta(minutes=10)
        vet.now = clock
        vet.road.done(stop)
    live = vet.road.live()
    assert live.travel.legs == 9
    assert live.travel.minutes(10) < 15.5
    [odd] = vet.road.odd_legs()
    assert odd.minutes > 60
    vet.road.keep_drive(odd)
    assert vet.road.odd_legs() == ()
    assert vet.road.book().travel.known_minutes(odd.start, odd.end) == odd.minutes
    assert isinstance(odd, Leg)


def test_the_whole_day_is_planned_whatever_the_hour(vet, capsys):
    vet.at(7, 30).set_off()
    vet.at(8, 40).done(vet.order()[0])
    words = ["--data", str(vet.folder), "--now", "2026-03-02T15:00:00+00:00"]
    assert main([*words, "route", "--json"]) == 0
    whole = json.loads(capsys.readouterr().out)
    assert whole["start"] < "2026-03-02T08"
    assert main([*words, "day", "--json"]) == 0
    rest = json.loads(capsys.readouterr().out)
    assert rest["plan"]["start"] >= "2026-03-02T08:40"
    assert len(rest["plan"]["stops"]) < len(whole["stops"])
    assert rest["marks"][0]["leg"] is None


def test_the_day_is_run_from_the_command_line(vet, capsys):
    words = ["--data", str(vet.folder), "--now", "2026-03-02T08:00:00+00:00", "day"]
    assert main([*words, "set-off", "--at", "07:30"]) == 0
    assert main([*words, "arrive", "bracken", "--at", "07:41"]) == 0
    assert main([*words, "delay", "bracken", "25"]) == 0
    assert main([*words, "insert", "Copper", "--urgency", "now", "--minutes", "40"]) == 0
    assert "Proposed" in capsys.readouterr().out
    assert main([*words, "accept"]) == 0
    assert main([*words, "text", "skelder", "--told"]) == 0
    assert "between" in capsys.readouterr().out
    assert main([*words, "drives"]) == 0
    assert "1 drives logged" in capsys.readouterr().out
    assert main([*words, "done", "nobody"]) == 1
    assert "nothing fits 'nobody'" in capsys.readouterr().err


def in_truck(vet):
    return {line.item: line.count for line in vet.road.stock()}


def test_a_done_stop_uses_up_what_its_tasks_need_until_it_is_taken_back_or_counted_anew(vet):
    vet.at(7, 20).count("Gloves", 50, "pair")
    vet.road.count("chart", 5, "each")
    first = vet.order()[0]
    due = next(s for s in vet.road.live().stops if s.premises == first)
    [needs] = [
        x.count for x in vet.road.book().load((), (due,), vet.now.date()) if x.item == "gloves"
    ]
    whole = next(x.count for x in vet.road.board(vet.now.date()).load if x.item == "gloves")
    vet.at(8, 30).done(first)
    assert in_truck(vet) == {"Gloves": 50 - needs, "chart": 5}
    left = next(x for x in vet.road.board(vet.now.date()).load if x.item == "gloves")
    assert (left.count, left.stock) == (whole - needs, 50 - needs)
    vet.at(8, 32).done(first, vet.now.replace(minute=31))
    vet.restart()
    assert in_truck(vet)["Gloves"] == 50 - needs
    vet.road.reopen(first)
    assert in_truck(vet)["Gloves"] == 50
    vet.road.done(first)
    vet.at(8, 40).count("gloves", 44, "pair")
    assert [line.count for line in vet.road.stock() if line.unit == "pair"] == [44]


def test_a_stop_left_out_and_taken_back_comes_in_behind_the_one_locked_first(vet):
    first, second, third = vet.order()[:3]
    vet.at(7, 40).lock(first, Rule.FIRST, why="on the way")
    vet.road.skip(third, "the owner is away", past_latest=True)
    vet.road.accept()
    vet.at(7, 45).reopen(third)
    assert vet.order()[:2] == [first, second]
    assert third in vet.road.live().proposed_order


def test_a_stop_done_or_skipped_on_the_road_is_not_planned_again_today(vet, capsysbinary):
    done, skipped = vet.order()[:2]
    vet.at(8, 30).done(done)
    vet.at(8, 31).skip(skipped, "the owner is away", past_latest=True)
    coming = vet.road.rounds(2, lambda done, _of, _cost: False)
    names = {v.id: v.premises for v in coming.visits}
    planned = {names[s.stop] for s in coming.rounds.days[0].stops}
    later = {names[s.stop] for day in coming.rounds.days[1:] for s in day.stops}
    assert not planned & {done, skipped}
    assert skipped in later
    assert [v.premises for v in coming.done] == [done]
    with pytest.raises(RefusedInputError, match="still open"):
        vet.road.skip(done, "twice", past_latest=True)
    assert all(t.earliest <= vet.now.date() for v in coming.done for t in v.tasks)
    said = ["--data", str(vet.folder), "--now", vet.now.isoformat(), "rounds", "--days", "1"]
    assert main(said) == 0
    text = capsysbinary.readouterr().out.decode()
    assert f"done today on the road, not planned again: {coming.done[0].name}" in text
    vet.at(8, 40).reopen(done)
    assert vet.road.rounds(1, lambda done, _of, _cost: False).done == ()
