"""Photographs of a case: copied in, named by content, found again; a refusal loses nothing."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import stat
import zipfile

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.cli.main import main
from fieldnotes.domain.errors import RefusedInputError, StoreError, UnknownNameError
from fieldnotes.domain.pictures import Measurement
from fieldnotes.domain.wounds import Finding, Measuring, Phase
from fieldnotes.storage.backup import back_up, restore
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.checking import check_store
from tests.builders import a_case, a_finding, a_visit, an_opening, at
from tests.desks import Clock, known
from tests.pictures import drawn, saved, with_exif

NOW = at(10, 12)
CROSSED = ((0.0, 0.0), (2.0, 2.0), (2.0, 0.0), (0.0, 2.0))


@pytest.fixture
def store(tmp_path):
    create_store(tmp_path / "store")
    return tmp_path / "store"


@pytest.fixture
def desk(store):
    return known(Casework(Casebook(store), Clock(NOW), "vet1"))


@pytest.fixture
def ref(desk):
    return desk.open_case(an_opening(), a_visit(0, findings=(a_finding(),))).ref


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "wound.jpg"
    path.write_bytes(saved(exif=with_exif("2025:06:10 09:30:00")))
    return str(path)


def files_in(store):
    return [p for p in (store / "attachments").rglob("*") if p.is_file()]


def test_a_photograph_is_copied_in_and_told_in_the_record(desk, store, ref, file):
    entry = desk.album.add(ref, file, "A", "from the front").entries[0]
    (photo,) = desk.album.list(ref)
    assert (photo.entry, photo.picture.wound, photo.picture.caption) == (
        entry,
        "A",
        "from the front",
    )
    assert f"{photo.when:%Y-%m-%d %H:%M}" == "2025-06-10 09:30"
    assert desk.album.bytes(ref, entry)[:2] == b"\xff\xd8"
    (kept,) = files_in(store)
    assert kept.name == photo.picture.sha256
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600


def test_the_same_picture_twice_is_refused_and_the_first_stays(desk, store, ref, file, tmp_path):
    desk.album.add(ref, file)
    given_out = desk.album.give_out(ref, str(tmp_path / "out"))
    for again in (file, *given_out):
        with pytest.raises(RefusedInputError, match="in the case already"):
            desk.album.add(ref, again)
    assert len(desk.album.list(ref)) == len(files_in(store)) == 1
    desk.album.add(desk.open_case(an_opening(), None).ref, file)  # another case has its own


def test_a_refused_file_leaves_nothing_behind(desk, store, ref, file, tmp_path):
    (tmp_path / "folder").mkdir()
    (tmp_path / "empty.jpg").touch()
    (tmp_path / "cut.jpg").write_bytes(saved()[:5000])
    for name in ("", "missing.jpg", "folder", "empty.jpg", "cut.jpg", "a\0b"):
        assert desk.album.fault(ref, str(tmp_path / name))
        with pytest.raises(RefusedInputError):
            desk.album.add(ref, str(tmp_path / name))
    with pytest.raises(RefusedInputError, match="no wound Q"):
        desk.album.add(ref, file, "Q")
    assert files_in(store) == []
    assert desk.album.list(ref) == ()


def test_a_huge_file_is_refused_before_it_is_read(desk, ref, tmp_path):
    huge = tmp_path / "huge.jpg"
    with huge.open("wb") as out:
        out.truncate(60_000_000)
    assert "60 MB, more than 40" in desk.album.fault(ref, str(huge))


def test_check_finds_a_picture_altered_or_gone(desk, store, ref, file):
    desk.album.add(ref, file)
    assert check_store(Casebook(store)).findings == ()
    (kept,) = files_in(store)
    kept.write_bytes(kept.read_bytes()[:-1] + b"x")
    (found,) = check_store(Casebook(store)).findings
    assert "was altered" in found.what
    kept.unlink()
    (found,) = check_store(Casebook(store)).findings
    assert "is missing" in found.what
    with pytest.raises(StoreError, match="is missing"):
        desk.album.bytes(ref, "")


def test_a_backup_carries_the_pictures(desk, store, ref, file, tmp_path):
    desk.album.add(ref, file)
    back_up(store, tmp_path / "b.zip", NOW)
    restore(tmp_path / "b.zip", tmp_path / "again")
    assert [p.name for p in files_in(tmp_path / "again")] == [p.name for p in files_in(store)]
    assert check_store(Casebook(tmp_path / "again")).findings == ()


def test_nothing_is_overwritten_when_photographs_are_given_out(desk, ref, file, tmp_path):
    desk.album.add(ref, file, "A")
    (path,) = desk.album.give_out(ref, str(tmp_path / "out"))
    assert path.rsplit("/", 1)[1].startswith(f"{ref}-A-20250610-")
    with pytest.raises(RefusedInputError, match="there already"):
        desk.album.give_out(ref, str(tmp_path / "out"))


def test_one_photograph_is_named_by_the_end_of_its_id(desk, ref, file, tmp_path):
    entry = desk.album.add(ref, file).entries[0]
    other = tmp_path / "other.png"
    other.write_bytes(saved("PNG", drawn((300, 300))))
    desk.album.add(ref, str(other))
    assert desk.album.photo(ref, entry[-3:]).entry == entry
    with pytest.raises(UnknownNameError, match="more than one"):
        desk.album.photo(ref, "")
    with pytest.raises(UnknownNameError, match="no such"):
        desk.album.photo(ref, "zzz")


def test_the_command_adds_what_it_can_and_names_what_it_refuses(store, ref, file, capsys):
    now = ["--now", NOW.isoformat(), "--data", str(store)]
    code = main([*now, "photo", "add", ref, file, "/nowhere.jpg", "--wound", "A"])
    out, err = capsys.readouterr()
    assert code == 1
    assert "nowhere.jpg: there is no file" in err
    assert main([*now, "photo", "list", ref, "--json"]) == 0
    (photo,) = json.loads(capsys.readouterr().out)
    assert photo["id"] == out.strip()
    assert (photo["wound"], photo["format"], photo["position_kept"]) == ("A", "jpeg", False)


def test_a_measurement_renews_the_size_and_leaves_the_rest_as_it_was_seen():
    seen = a_visit(0, findings=(a_finding(length_mm=80, width_mm=30, infection_signs=("heat",)),))
    outline = ((0.0, 0.0), (4.0, 0.0), (4.0, 3.0))
    traced = Finding("A", area_cm2=6.0, measuring=Measuring.TRACING, outline_cm=outline)
    case = a_case(seen, Measurement(at(5), traced, "d1-2"))
    when, last = case.findings("A")[-1]
    assert (when, last.area_cm2, last.length_mm) == (at(5), 6.0, None)
    assert last.outline_cm == outline
    assert last.infection_signs == ("heat",)


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({}, "nothing was measured"),
        ({"wound": "Q", "area_cm2": 2.0}, "no wound Q"),
        ({"area_cm2": -2.0}, "negative"),
        ({"area_cm2": 20.0, "perimeter_cm": 2.0}, "cannot go round"),
        ({"area_cm2": 2.0, "outline_cm": CROSSED}, "crosses"),
    ],
)  # fmt: skip
def test_a_measurement_that_cannot_be_is_refused(desk, ref, changes, why):
    found = Finding(**({"wound": "A"} | changes))
    with pytest.raises(RefusedInputError, match=why):
        desk.record(ref, Measurement(NOW, found))


def test_nothing_is_measured_tomorrow(desk, ref):
    tomorrow = NOW + dt.timedelta(days=1)
    with pytest.raises(RefusedInputError, match="measured yet"):
        desk.record(ref, Measurement(tomorrow, Finding("A", area_cm2=2.0)))


def test_a_healed_wound_is_seen_again_not_only_measured(desk, ref):
    desk.record(ref, a_visit(5, findings=(a_finding(phase=Phase.HEALED),)))
    with pytest.raises(RefusedInputError, match="found healed"):
        desk.record(ref, Measurement(NOW, Finding("A", area_cm2=2.0)))


def test_the_command_measures_a_wound_and_keeps_how_it_was_done(desk, store, ref, tmp_path, capsys):
    now = ["--now", NOW.isoformat(), "--data", str(store)]
    points = tmp_path / "points.csv"
    points.write_text("0,0\n4,0\n4,3\n")
    for way, area, name in (
        (("--outline", str(points)), 6.0, "tracing"),
        (("--squares", "40", "--square-cm", "0.5"), 10.0, "squares"),
        (("--area-cm2", "9", "--perimeter-cm", "12"), 9.0, "given"),
    ):
        assert main([*now, "measure", ref, *way, "--depth-mm", "4"]) == 0
        _, last = Casework(Casebook(store), Clock(NOW)).case(ref).findings("A")[-1]
        assert (last.area_cm2, last.measuring, last.depth_mm) == (area, name, 4)
    capsys.readouterr()
    assert main([*now, "measure", ref, "--length-cm", "3", "--width-cm", "2", "--wound", "Q"]) == 1
    assert "no wound Q" in capsys.readouterr().err
    assert main([*now, "case", "show", ref]) == 0
    assert "measured in different ways" in capsys.readouterr().out


def test_an_export_carries_the_pictures_and_the_hashes_of_all_it_holds(  # noqa: PLR0917  (fixtures)
    desk, store, ref, file, tmp_path, capsys
):
    entry = desk.album.add(ref, file, "A").entries[0]
    run = ["--now", NOW.isoformat(), "--data", str(store), "export", "--format", "zip"]
    assert main([*run, "--output", str(tmp_path / "all.zip")]) == 0
    with zipfile.ZipFile(tmp_path / "all.zip") as archive:
        held = {name: archive.read(name) for name in archive.namelist()}
    sums = dict(reversed(line.split("  ")) for line in held.pop("SHA256SUMS").decode().splitlines())
    assert sums == {name: hashlib.sha256(data).hexdigest() for name, data in held.items()}
    (case,) = json.loads(held["records.json"])["cases"]
    (told,) = case["photographs"]
    assert told["id"] == entry
    assert held[told["file"]] == desk.album.bytes(ref, entry)
    assert sums[told["file"]] == told["sha256"]
    (kept,) = files_in(store)
    kept.unlink()
    assert main([*run, "--output", str(tmp_path / "gone.zip")]) == 0
    assert "is missing" in capsys.readouterr().err
    with zipfile.ZipFile(tmp_path / "gone.zip") as archive:
        assert set(archive.namelist()) == {"records.json", "SHA256SUMS"}
