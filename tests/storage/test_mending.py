"""What is damaged, altered or lost comes back from the sealed copies; deleting leaves a trace."""

from __future__ import annotations

import datetime as dt
import random
import shutil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldnotes.domain.entries import (
    REGISTER,
    CaseEnd,
    Discharge,
    HorseSet,
    Note,
    OwnerSet,
    PersonSet,
    PracticeSet,
    PremisesSet,
)
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.storage import archives as sealing
from fieldnotes.storage.archives import Archives
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.checking import check_store
from fieldnotes.storage.mending import mend
from fieldnotes.storage.outbox import Outbox
from fieldnotes.storage.retention import purge, purgeable, retained
from tests.builders import a_horse, a_person, a_practice, a_premises, an_opening, an_owner, at
from tests.storage.test_checking import files, report, rewritten

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
DAMAGES = 40


def seal(folder, now=NOW):
    book = Casebook(folder)
    return Archives(folder, book.files).seal(now)


def kept(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in files(folder)}


# ----- one damage of each kind


def truncate(path, chance, folder):
    path.write_bytes(path.read_bytes()[: chance.randrange(path.stat().st_size)])


def zero(path, chance, folder):
    path.write_bytes(bytes(path.stat().st_size))


def flip(path, chance, folder):
    data = bytearray(path.read_bytes())
    data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
    path.write_bytes(data)


def tail(path, chance, folder):
    path.write_bytes(path.read_bytes() + bytes(chance.randrange(1, 400)))


def junk(path, chance, folder):
    path.write_bytes(path.read_bytes() + b"{}")


def swap(path, chance, folder):
    other = chance.choice([p for p in files(folder) if p != path])
    mine, theirs = path.read_bytes(), other.read_bytes()
    path.write_bytes(theirs)
    other.write_bytes(mine)


def empty(path, chance, folder):
    path.write_bytes(b"")


def remove(path, chance, folder):
    path.unlink()


def rewrite(path, chance, folder):
    rewritten(path, author="someone else")


DAMAGE = (truncate, zero, flip, tail, junk, swap, empty, remove, rewrite)


def damage_and_mend(sound, folder, chance):
    """Damage one file; gives whether it was found, was put back, and the bad one was kept."""
    shutil.copytree(sound, folder)
    seal(folder)
    whole = kept(folder)
    path = chance.choice(files(folder))
    chance.choice(DAMAGE)(path, chance, folder)
    lost = path.exists()
    found = bool(report(folder))
    book = Casebook(folder)
    told = mend(book)
    aside = list((folder / "quarantine").rglob("*.json"))
    back = kept(folder) == whole and all(m.good for m in told) and report(folder) == []
    shutil.rmtree(folder)
    return found, back and bool(told), bool(aside) == lost


def test_every_damage_is_found_and_mended_from_the_sealed_copy(sound, tmp_path):
    chance = random.Random(2026)  # noqa: S311  (which file is hit, no secret)
    for _ in range(DAMAGES):
        assert damage_and_mend(sound, tmp_path / "hit", chance) == (True, True, True)


@pytest.mark.long
def test_a_thousand_damages_are_found_and_mended(sound, tmp_path):
    chance = random.Random(7)  # noqa: S311
    for _ in range(1000):
        assert damage_and_mend(sound, tmp_path / "hit", chance) == (True, True, True)


def test_without_a_sealed_copy_the_damaged_one_is_set_aside_and_the_rest_opens(store):
    """The control of the test above: it is the archive that puts files back."""
    path = next(p for p in files(store) if "p3x9z" in p.name and int(p.name[:8]) > 14)
    path.write_bytes(b"torn")
    [told] = mend(Casebook(store))
    assert not told.good
    assert "no sealed copy" in told.what
    assert Casebook(store).case("k7m2q").notes
    assert any("was set aside" in line for line in report(store))


def test_what_was_lost_at_the_end_of_a_chain_comes_back_even_without_an_index(store):
    seal(store)
    whole = kept(store)
    for path in files(store)[-3:]:
        path.unlink()
    shutil.rmtree(store / "index", ignore_errors=True)
    assert any("19 to 21 is missing" in line or "is missing" in line for line in report(store))
    assert len(mend(Casebook(store))) == 3
    assert kept(store) == whole


def test_a_lost_card_and_a_lost_mail_come_back(store):
    Outbox(store).queue(b"Subject: x\r\n\r\ny\r\n", ("o@example.org",), "k7m2q", "<1@x>", at(0))
    seal(store)
    card = (store / "store.json").read_bytes()
    (store / "store.json").write_bytes(b"{")
    shutil.rmtree(store / "outbox")
    mend(Casebook(store))
    assert (store / "store.json").read_bytes() == card
    assert len(Outbox(store).list()) == 1


# ----- the sealed archives


def test_an_archive_holds_what_came_since_the_last_and_the_first_of_a_run_everything(
    store,
    monkeypatch,
):
    book = Casebook(store)
    archives = Archives(store, book.files)
    first = archives.seal(NOW)
    assert archives.seal(NOW + dt.timedelta(days=1)) is None
    book.append("k7m2q", [Note("new")], "vet1", NOW)
    assert archives.unsealed() == 1
    second = archives.seal(NOW + dt.timedelta(days=1))
    assert len(second.sha256) == 1
    assert len(first.sha256) == len(files(store))
    bounds = sealing.load_upkeep()
    monkeypatch.setattr(
        sealing, "load_upkeep", lambda: bounds.__class__(**vars(bounds) | {"archives": 2})
    )
    for day in range(2, 9):
        book.append("k7m2q", [Note(f"day {day}")], "vet1", NOW)
        archives.seal(NOW + dt.timedelta(days=day))
    assert [a.run for a in archives.all()][-1] == 1
    assert sum(a.run == 1 for a in archives.all()) == 2
    names = {name for archive in archives.all() for name in archive.sha256}
    assert {n for n in names if n.startswith("entries/")} == set(kept(store))


def test_a_damaged_archive_mends_nothing_wrong_and_its_files_are_sealed_anew(store):
    archive = seal(store)
    data = bytearray(archive.path.read_bytes())
    archive.path.write_bytes(data[: len(data) // 2])
    whole = kept(store)
    assert mend(Casebook(store)) == ()
    assert kept(store) == whole
    again = seal(store, NOW + dt.timedelta(days=1))
    assert again.run == 1


def test_a_damaged_entry_is_never_sealed_as_good(store):
    path = files(store)[3]
    path.write_bytes(path.read_bytes()[:-9])
    assert path.relative_to(store).as_posix() not in seal(store).sha256


# ----- retention


def closed(folder, ref, on):
    """Open and close a case, both written down on a day."""
    book = Casebook(folder)
    noon = dt.datetime.combine(on, dt.time(12), dt.UTC)
    opened = an_opening(injured_at=noon)
    book.append(ref, [opened, Note(f"about {ref}"), Discharge(CaseEnd.HEALED, on)], "vet1", noon)


@pytest.fixture
def old(store):
    closed(store, "aaaaa", dt.date(2018, 3, 1))
    closed(store, "bbbbb", dt.date(2019, 6, 1))
    Casebook(store).append("k7m2q", [Note("after them")], "vet1", NOW)
    Outbox(store).queue(b"Subject: x\r\n\r\ny\r\n", ("o@example.org",), "aaaaa", "<1@x>", at(0))
    seal(store)
    return store


def test_only_closed_cases_past_their_time_are_offered(old):
    assert [k.case for k in purgeable(Casebook(old), NOW.date())] == ["aaaaa"]
    assert retained(Casebook(old), "bbbbb").until == dt.date(2026, 6, 1)


@pytest.mark.parametrize("ref", ["bbbbb", "k7m2q"])
def test_a_younger_or_open_case_is_refused_and_then_none_is_deleted(old, ref):
    before = kept(old)
    with pytest.raises(RefusedInputError, match=ref):
        purge(Casebook(old), ["aaaaa", ref], "vet1", NOW)
    assert kept(old) == before


def test_a_purge_leaves_a_signed_tombstone_and_no_copy_and_the_chain_still_holds(old):
    book = Casebook(old)
    [stone] = purge(book, ["aaaaa"], "vet1", NOW)
    assert len(stone.entries) == 3
    verdict = check_store(Casebook(old))
    assert verdict.findings == ()
    assert verdict.purged == 3
    with pytest.raises(UnknownNameError):
        Casebook(old).case("aaaaa")
    everything = b"".join(p.read_bytes() for p in old.rglob("*") if p.is_file())
    assert b"about aaaaa" not in everything
    assert Outbox(old).list() == ()
    assert mend(Casebook(old)) == ()
    assert not any("aaaaa" in name for a in Archives(old, book.files).all() for name in a.sha256)


def test_an_entry_lost_without_a_tombstone_is_not_called_purged(old):
    """The control of the test above."""
    next(p for p in files(old) if "aaaaa" in p.name).unlink()
    verdict = check_store(Casebook(old))
    assert verdict.purged == 0
    assert any("is missing" in f.what for f in verdict.findings)


def test_a_purge_killed_after_its_tombstone_is_finished_by_the_next_mending(old, monkeypatch):
    monkeypatch.setattr("fieldnotes.storage.retention.finish_purges", lambda book: 0)
    purge(Casebook(old), ["aaaaa"], "vet1", NOW)
    monkeypatch.undo()
    assert any("still there" in line for line in report(old))
    mend(Casebook(old))
    assert report(old) == []


def test_a_clock_far_ahead_lets_nothing_be_deleted_early(old):
    book, far = Casebook(old), NOW + dt.timedelta(days=20 * 365)
    assert [k.case for k in purgeable(book, far.date())] == ["aaaaa"]
    with pytest.raises(RefusedInputError, match="bbbbb must be kept until 2026-06-01"):
        purge(book, ["bbbbb"], "vet1", far)
    book.append("k7m2q", [Note("the date is right")], "vet1", NOW + dt.timedelta(days=100))
    assert [k.case for k in purgeable(book, far.date())] == ["aaaaa", "bbbbb"]


days = st.integers(min_value=-400, max_value=12 * 366)
HISTORIES = st.lists(st.tuples(days, st.booleans()), min_size=1, max_size=3)
YEARS = st.integers(1, 12)


@settings(max_examples=40, deadline=None)
@given(HISTORIES, YEARS)
def test_no_case_younger_than_the_retention_time_is_ever_offered_or_deleted(
    tmp_path_factory, cases, years
):
    offers_only_the_old(tmp_path_factory, cases, years)


@pytest.mark.long
@settings(max_examples=1000, deadline=None)
@given(HISTORIES, YEARS)
def test_in_a_thousand_histories_no_young_case_is_deleted(tmp_path_factory, cases, years):
    offers_only_the_old(tmp_path_factory, cases, years)


def offers_only_the_old(tmp_path_factory, cases, years):
    """Make the cases, in a practice that keeps them so long, and try to delete each."""
    folder = tmp_path_factory.mktemp("history") / "store"
    create_store(folder)
    practice = PracticeSet(a_practice(retention_years=years))
    known = [practice, PersonSet(a_person()), OwnerSet(an_owner()), PremisesSet(a_premises())]
    Casebook(folder).append(REGISTER, [*known, HorseSet(a_horse())], "vet1", NOW)
    for number, (ago, ends) in enumerate(cases):
        on = NOW.date() - dt.timedelta(days=max(0, ago))
        noon = dt.datetime.combine(on, dt.time(8), dt.UTC)
        bodies = [an_opening(injured_at=noon)]
        bodies += [Discharge(CaseEnd.HEALED, on)] if ends else []
        Casebook(folder).append(f"c{number}", bodies, "vet1", noon)
    book = Casebook(folder)
    book.append(REGISTER, [practice], "vet1", NOW)  # a store in use: today's clock is its own
    offered = {k.case for k in purgeable(book, NOW.date())}
    for number, (ago, ends) in enumerate(cases):
        on = NOW.date() - dt.timedelta(days=max(0, ago))
        least = max(7, years)  # AVMA summary of state rules, 2019: 3 to 7 years
        old_enough = (NOW.date().year - on.year, NOW.month, NOW.day) > (least, on.month, on.day)
        assert (f"c{number}" in offered) == (ends and old_enough)
        if f"c{number}" not in offered:
            with pytest.raises(RefusedInputError):
                purge(book, [f"c{number}"], "vet1", NOW)
    if offered:
        stones = purge(book, sorted(offered), "vet1", NOW)
        assert {stone.case for stone in stones} == offered == set(Casebook(folder).purged())
        assert report(folder) == []
