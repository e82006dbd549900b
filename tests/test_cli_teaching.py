"""Help that teaches: every example runs as it stands on the demo; Tab completes in a real bash."""

from __future__ import annotations

import datetime as dt
import shlex
import shutil
import subprocess

import pytest

from fieldnotes.cli.completion import whole_parser
from fieldnotes.cli.demo import make_demo
from fieldnotes.cli.examples import EXAMPLES, taught
from fieldnotes.cli.main import COMMANDS, main

NOW = dt.datetime(2026, 3, 3, 7, 30, tzinfo=dt.UTC)
SLOW = {"rounds", "route", "outcomes", "day", "backup", "paper"}
LINES = [(line, what) for rows in EXAMPLES.values() for line, what in rows]


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("teaching") / "store"
    make_demo(folder, NOW)
    return folder


def run_all(lines, demo, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    for line in lines:
        code = main(["--data", str(demo), "--now", NOW.isoformat(), *shlex.split(line)])
        said = capsys.readouterr()
        assert code == 0, (line, said.err)
        assert said.out.strip() or list(tmp_path.iterdir()), line


def test_every_quick_example_runs_as_it_stands(demo, tmp_path, monkeypatch, capsys):
    lines = [line for line, _ in LINES if line.split()[0] not in SLOW]
    run_all(lines, demo, tmp_path, monkeypatch, capsys)


@pytest.mark.long
def test_the_slow_examples_run_too(demo, tmp_path, monkeypatch, capsys):
    lines = [line for line, _ in LINES if line.split()[0] in SLOW]
    run_all(lines, demo, tmp_path, monkeypatch, capsys)


def test_examples_belong_to_commands_and_stand_in_their_help(capsys):
    assert set(EXAMPLES) <= {c.name for c in COMMANDS}
    with pytest.raises(SystemExit):
        main(["case", "--help"])
    assert taught("case") in capsys.readouterr().out


def test_the_whole_parser_knows_every_command():
    parser = whole_parser()
    for command in COMMANDS:
        assert command.name in parser.format_help()


@pytest.mark.skipif(shutil.which("bash") is None, reason="there is no bash here")
def test_tab_completes_commands_and_options_in_bash(capsys):
    pytest.importorskip("shtab")
    assert main(["completion", "bash"]) == 0
    script = capsys.readouterr().out

    def tab(*words):
        line = " ".join(map(shlex.quote, words))
        ask = f"\nCOMP_WORDS=({line}); COMP_CWORD={len(words) - 1}\n_shtab_fieldnotes\n"
        told = subprocess.run(
            ["bash", "-c", script + ask + 'printf "%s\\n" "${COMPREPLY[@]}"'],
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        return set(told.stdout.split())

    assert {"route", "rounds"} <= tab("fieldnotes", "ro")
    assert "note" in tab("fieldnotes", "reckon", "no")
    assert "--format" in tab("fieldnotes", "route", "--fo")
    assert "geojson" in tab("fieldnotes", "route", "--format", "geo")
