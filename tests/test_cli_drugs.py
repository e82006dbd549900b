"""`fieldnotes drugs`: the register from the command line, refused in words, printed whole."""

from __future__ import annotations

import csv
import io
import json

import pytest

from fieldnotes.cli.main import main

NOW = "2026-03-02T12:00:00+00:00"
RECEIVE = ("receive", "ketamine", "--strength", "100 mg/mL", "--ml", "10", "--batch", "=B|7*",
           "--expiry", "2026-12-31", "--from", "Wholesaler",
           "--at", "2026-03-01T09:00")  # fmt: skip


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    folder = tmp_path_factory.mktemp("drugs") / "store"
    assert main(["--now", NOW, "demo", "--no-open", "--dir", str(folder)]) == 0
    return folder


@pytest.fixture(scope="module")
def run(store):
    def call(capsys, *words):
        capsys.readouterr()
        try:
            code = main(["--data", str(store), "--now", NOW, "drugs", *words])
        except SystemExit as stop:
            code = int(stop.code or 0)
        out, err = capsys.readouterr()
        return code, out, err

    return call


def test_a_vial_from_receipt_to_the_printed_register(run, capsys):
    code, out, _ = run(capsys, *RECEIVE, "--json")
    received = json.loads(out)
    assert (code, received["vial"], received["balance_ml"]) == (0, "V1", 10)
    _, out, _ = run(capsys, "draw", "V1", "--amount", "220", "--horse", "Whistle", "--json")
    drawn = json.loads(out)
    assert drawn["balance_ml"] == 7.8
    words = ("--witness", "Jo Nurse", "--reason", "left in the syringe")
    assert run(capsys, "waste", "V1", "--ml", "0.2", *words)[0] == 0
    assert run(capsys, "count", "V1", "--ml", "7.5")[0] == 0
    _, out, _ = run(capsys, "list", "--json")
    (vial,) = [v for v in json.loads(out) if v["vial"] == "V1"]
    assert vial["discrepancy"]["difference_ml"] == -0.1
    assert run(capsys, "correct", drawn["entry"], "--ml", "2.3", "--why", "misread")[0] == 0
    _, out, _ = run(capsys, "register", "--from", "2026-03-01", "--json")
    (vial,) = [v for v in json.loads(out)["vials"] if v["vial"] == "V1"]
    assert (vial["carried_forward_ml"], vial["discrepancy"]) == (7.5, None)
    assert [e["what"] for e in vial["entries"]] == ["received", "drawn", "wasted", "counted"]
    assert vial["entries"][1]["corrections"][0]["why"] == "misread"
    _, out, _ = run(capsys, "register", "--format", "csv")
    rows = [r for r in csv.DictReader(io.StringIO(out)) if r["vial"] == "V1"]
    assert [r["balance_ml"] for r in rows] == ["10", "7.7", "7.5", "7.5"]
    assert rows[0]["batch"] == "'=B|7*"
    _, out, _ = run(capsys, "register", "--format", "markdown")
    assert "| drawn |  | 2.3 | 7.7 |" in out
    assert r"batch =B|7\*" in out or r"=B\|7\*" in out
    _, out, _ = run(capsys, "register")
    assert "brought forward 0 mL" in out
    assert "first said 2.2 mL" in out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("draw", "V7", "--ml", "1", "--horse", "Whistle"), "VIAL: no vial is marked 'V7'"),
        ((*RECEIVE[:2], "--strength", "strong", *RECEIVE[4:]), "--strength: 'strong' is not like"),
        ((*RECEIVE[:9], "soon", *RECEIVE[10:]), "--expiry: 'soon' is not a date"),
        (("receive", "moonshine", *RECEIVE[2:]), "no drug is called 'moonshine'"),
        (("register", "--from", "2026-03-03"), "is before"),
        (("correct", "x-1", "--ml", "1", "--why", "y"), "ENTRY: 'x-1' is no entry"),
        (("draw", "V1", "--dose", "x.0"), "--dose: no dose still open"),
    ],
)  # fmt: skip
def test_what_cannot_be_right_is_refused_naming_the_argument(run, capsys, words, says):
    code, out, err = run(capsys, *words)
    assert (code, out) == (1, "")
    assert says in err
    assert "Traceback" not in err


@pytest.fixture(scope="module")
def call(store):
    def formulary(capsys, *words):
        capsys.readouterr()
        code = main(["--data", str(store), "--now", NOW, *words])
        out, err = capsys.readouterr()
        return code, out, err

    return formulary


def test_a_changed_figure_says_so_in_reckon_dose_over_the_store_and_not_without(call, capsys):
    words = ("--low", "0.25", "--every-h", "8", "--source", "protocol")
    assert call(capsys, "formulary", "dose", "flunixin", "--route", "IV", *words)[0] == 0
    price = ("formulary", "price", "flunixin 50 mg/mL", "0.3", "--per", "mL")
    assert call(capsys, *price)[0] == 0
    reckon = ("reckon", "dose", "flunixin", "--weight-kg", "500", "--route", "IV", "--json")
    _, out, _ = call(capsys, *reckon)
    found = json.loads(out)
    first = found["options"][0]
    assert (first["amount"], first["interval_h"]) == (125, 8)
    assert "Ruth Calloway" in first["changed"]
    assert (first["cost"], first["currency"]) == (0.75, "EUR")
    assert found["confirmed"] is None
    assert "UNCONFIRMED" in found["warnings"][0]
    assert call(capsys, "formulary", "confirm", "flunixin")[0] == 0
    _, out, _ = call(capsys, *reckon)
    assert "Ruth Calloway" in json.loads(out)["confirmed"]
    assert main([*reckon]) == 0
    plain = json.loads(capsys.readouterr()[0])
    assert "confirmed" not in plain
    assert plain["options"][0]["amount"] == 550


def test_a_perfusion_is_record_only_until_the_practice_gives_a_sourced_dose(call, capsys):
    reckon = ("reckon", "dose", "gentamicin", "--weight-kg", "500", "--route", "perfusion")
    code, _, err = call(capsys, *reckon)
    assert (code, "record-only" in err) == (1, True)
    own = ("--low", "1000", "--total", "--source", "hospital protocol")
    call(capsys, "formulary", "dose", "gentamicin", "--route", "perfusion", *own)
    code, out, _ = call(capsys, *reckon)
    assert code == 0
    assert "= 1,000 mg = 10.0 mL" in out
