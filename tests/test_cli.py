"""The command line keeps its contract on the demo practice, and refuses in words."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import shutil
import subprocess
import sys
import time
from typing import TYPE_CHECKING, Any

import pytest

from fieldnotes.cli.main import main

if TYPE_CHECKING:
    from pathlib import Path

NOW = "2026-03-02T07:00:00+00:00"
TODAY = dt.date(2026, 3, 2)


@pytest.fixture(scope="session")
def demo_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "store"
    assert main(["--now", NOW, "demo", "--no-open", "--dir", str(folder)]) == 0
    return folder


@pytest.fixture
def store(demo_store: Path, tmp_path: Path) -> Path:
    return shutil.copytree(demo_store, tmp_path / "store")


class Result:
    """What a command printed and how it ended."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@pytest.fixture
def run(capsysbinary: pytest.CaptureFixture[bytes]) -> Any:
    def call(store: Path | None, *words: str) -> Result:
        capsysbinary.readouterr()
        before = ["--now", NOW] if store is None else ["--data", str(store), "--now", NOW]
        try:
            code = main([*before, *words])
        except SystemExit as stop:  # argparse: wrong usage
            code = int(stop.code or 0)
        out, err = capsysbinary.readouterr()
        return Result(code, out.decode(), err.decode())

    return call


def test_demo_prints_its_path_alone_and_refuses_a_folder_that_holds_something(
    run: Any, tmp_path: Path
) -> None:
    folder = tmp_path / "new"
    first = run(None, "demo", "--no-open", "--dir", str(folder))
    assert (first.code, first.out) == (0, f"{folder}\n")
    again = run(None, "demo", "--no-open", "--dir", str(folder))
    assert again.code == 1
    assert "not empty" in again.err


def test_the_demo_has_a_full_practice(run: Any, demo_store: Path) -> None:
    cases = run(demo_store, "case", "list", "--json").json
    assert len(cases) >= 20
    assert {"ref", "horse", "owner", "opened", "status", "wounds"} <= set(cases[0])
    assert {"label", "region", "view"} <= set(cases[0]["wounds"][0])
    assert {c["status"] for c in cases} >= {"open", "healed", "discharged", "died"}
    for name in {c["horse"] for c in cases} | {c["owner"] for c in cases}:
        assert all(part.isalpha() for part in name.split())


def test_case_list_is_narrowed_by_each_filter(run: Any, demo_store: Path) -> None:
    every = run(demo_store, "case", "list", "--json").json
    horse = every[0]["horse"]
    by_horse = run(demo_store, "case", "list", "--json", "--horse", horse[:3].lower()).json
    assert 0 < len(by_horse) < len(every)
    assert all(horse[:3].lower() in c["horse"].lower() for c in by_horse)
    open_ones = run(demo_store, "case", "list", "--open", "--json").json
    closed = run(demo_store, "case", "list", "--closed", "--json").json
    assert len(open_ones) + len(closed) == len(every)
    owner = every[0]["owner"]
    assert {
        c["owner"] for c in run(demo_store, "case", "list", "--json", "--owner", owner).json
    } == {owner}
    assert run(demo_store, "case", "list", "--json", "--text", "zzzz nothing").json == []


def test_due_gives_windows_states_reasons_and_sources(run: Any, demo_store: Path) -> None:
    due = run(demo_store, "due", "--json").json
    keys = {
        "case",
        "horse",
        "premises",
        "what",
        "by",
        "earliest",
        "due",
        "latest",
        "state",
        "reason",
        "source",
    }
    assert all(keys <= set(line) and line["reason"] and line["source"] for line in due)
    for line in due:
        earliest, on, latest = (
            dt.date.fromisoformat(line[k]) for k in ("earliest", "due", "latest")
        )
        assert earliest <= on <= latest
        wanted = "overdue" if latest < TODAY else "due" if earliest <= TODAY else "coming"
        assert line["state"] == wanted
        assert (earliest - TODAY).days <= 7
    by_vet = [line for line in due if line["by"] == "vet"]
    assert len({line["premises"] for line in by_vet if line["due"] <= TODAY.isoformat()}) >= 8
    assert sum(line["state"] == "overdue" for line in by_vet) >= 2


def test_a_note_is_on_disk_when_its_id_is_printed(run: Any, store: Path) -> None:
    ref = run(store, "case", "list", "--open", "--json").json[0]["ref"]
    text = "[/] [L hind] [@click=app.quit] Ü — so\x1b[31m said"
    noted = run(store, "note", ref[:4], text)
    assert noted.code == 0
    entry = noted.out.strip()
    shown = run(store, "case", "show", ref, "--json").json
    found = next(e for e in shown["entries"] if e["id"] == entry)
    assert found["kind"] == "note"
    assert found["text"] == "[/] [L hind] [@click=app.quit] Ü — so[31m said"
    assert run(store, "check").code == 0


def test_an_amendment_stands_beside_the_entry_it_amends(run: Any, demo_store: Path) -> None:
    cases = run(demo_store, "case", "list", "--json").json
    shown = [run(demo_store, "case", "show", c["ref"], "--json").json for c in cases]
    told = "".join(run(demo_store, "case", "show", c["ref"]).out for c in cases)
    assert all(words in told for words in ("closed by ", "in place: drain", "bandage: "))
    amended = [e for s in shown for e in s["entries"] if e["amendments"]]
    assert amended
    assert {"what", "why", "by", "when"} <= set(amended[0]["amendments"][0])


def test_a_killed_save_is_no_finding_but_a_changed_letter_is(run: Any, store: Path) -> None:
    (store / "entries" / ".writing-abc").write_bytes(b"half")
    assert run(store, "check").code == 0
    path = sorted((store / "entries").rglob("*-register.json"))[3]
    path.write_bytes(path.read_bytes().replace(b"a", b"b", 1))
    checked = run(store, "check", "--json")
    assert checked.code == 1
    assert checked.json["findings"][0]["place"].endswith(path.name)


def test_a_missing_entry_is_found(run: Any, store: Path) -> None:
    sorted((store / "entries").rglob("*-register.json"))[5].unlink()
    checked = run(store, "check")
    assert checked.code == 1
    assert "is missing" in checked.out


def test_a_backup_restores_to_the_same_records(run: Any, store: Path, tmp_path: Path) -> None:
    archive = tmp_path / "out.zip"
    assert run(store, "backup", str(archive)).code == 0
    assert run(tmp_path / "again", "restore", str(archive)).code == 0
    before = run(store, "case", "list", "--json").out
    assert run(tmp_path / "again", "case", "list", "--json").out == before
    assert run(tmp_path / "again", "restore", str(archive)).code == 1
    data = bytearray(archive.read_bytes())
    data[len(data) // 2] ^= 0xFF
    archive.write_bytes(data)
    spoilt = run(tmp_path / "third", "restore", str(archive))
    assert spoilt.code == 1
    assert not (tmp_path / "third" / "store.json").exists()


def test_export_gives_every_case_and_defuses_formulas(run: Any, store: Path) -> None:
    whole = run(store, "export").json
    assert len(whole["cases"]) == len(run(store, "case", "list", "--json").json)
    rows = list(csv.DictReader(io.StringIO(run(store, "export", "--table", "cases").out)))
    assert len(rows) == len(whole["cases"])


def test_an_import_is_all_or_nothing(run: Any, store: Path, tmp_path: Path) -> None:
    ref = "zz222"
    whole = run(store, "export").json
    patient, person = whole["cases"][0]["patient"], next(iter(whole["register"]["people"]))
    good = {
        "format": "fieldnotes-case",
        "version": 1,
        "case": ref,
        "entries": [
            {
                "day": -1,
                "time": "09:00",
                "by": person,
                "kind": "opened",
                "body": {
                    "horse": patient["id"],
                    "premises": patient["premises"],
                    "injured_at": "@-1T08:00",
                    "wounds": [{"label": "A", "region": "left.neck.lateral"}],
                },
            }
        ],
    }
    bad = json.loads(json.dumps(good))
    bad["case"] = "zz333"
    bad["entries"][0]["body"]["hors"] = "x"
    for name, document in (("good", good), ("bad", bad)):
        (tmp_path / f"{name}.json").write_text(json.dumps(document), "utf-8")
    refused = run(store, "import", str(tmp_path / "good.json"), str(tmp_path / "bad.json"))
    assert refused.code == 1
    assert "bad.json" in refused.err
    assert run(store, "case", "show", ref).code == 1
    written = run(store, "import", str(tmp_path / "good.json"))
    assert written.code == 0, written.err
    assert run(store, "case", "show", ref).code == 0
    assert run(store, "import", str(tmp_path / "good.json")).code == 1


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (("case", "show", "nosuch"), "no case begins with"),
        (("due", "--date", "tomorrow"), "--date"),
        (("note", "nosuch", "x"), "no case begins with"),
        (("handout", "nosuch"), "no case begins with"),
    ],
)
def test_a_refusal_names_the_argument_and_exits_with_1(
    run: Any, demo_store: Path, words: tuple[str, ...], reason: str
) -> None:
    refused = run(demo_store, *words)
    assert refused.code == 1
    assert reason in refused.err
    assert "Traceback" not in refused.err


def test_wrong_usage_exits_with_2(run: Any, demo_store: Path) -> None:
    assert run(demo_store, "dew").code == 2
    assert run(demo_store, "case").code == 2


def test_an_empty_store_says_what_to_do(run: Any, tmp_path: Path) -> None:
    for words in (("case", "list"), ("due",), ("route",), ("calendar",)):
        refused = run(tmp_path / "none", *words)
        assert refused.code == 1
        assert "set one up" in refused.err
        assert "demo" in refused.err


def test_commands_that_only_print_answer_fast() -> None:
    """Target 150 ms on a quiet laptop; three times that here, where other work runs beside."""
    command = [
        sys.executable,
        "-m",
        "fieldnotes",
        "reckon",
        "wound",
        "--length-cm",
        "8",
        "--width-cm",
        "3",
    ]
    times = []
    for _ in range(3):
        started = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        times.append(time.perf_counter() - started)
    assert min(times) < 0.45
