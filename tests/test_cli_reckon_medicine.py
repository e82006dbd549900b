"""The medicine calculators on the command line: keys, exit codes, words."""

from __future__ import annotations

import json

import pytest

from fieldnotes.cli.main import main


@pytest.fixture
def reckon(capsys):
    """Run `reckon ...` and give the exit code, stdout and stderr."""

    def run(*words):
        code = main(["reckon", *words])
        out, err = capsys.readouterr()
        return code, out, err

    return run


@pytest.fixture
def document(reckon):
    """Run `reckon ... --json` and give the parsed document."""

    def run(*words):
        code, out, _ = reckon(*words, "--json")
        assert code == 0
        return json.loads(out)

    return run


def test_weight_gives_kilograms_formula_and_source(document):
    found = document("weight", "--girth-cm", "180", "--length-cm", "160")
    assert found["weight_kg"] == pytest.approx(436.4, abs=0.05)
    assert "11,880" in found["formula"]
    assert found["source"]


def test_weight_reads_inches_too(document):
    found = document("weight", "--girth-in", "76", "--length-in", "65")
    assert found["weight_kg"] == pytest.approx(516.1, rel=0.005)


@pytest.mark.parametrize(
    ("words", "argument"),
    [
        (["--girth-cm", "76", "--length-cm", "160"], "--girth-cm"),
        (["--girth-in", "180", "--length-cm", "160"], "--girth-in"),
        (["--girth-cm", "180"], "--length-cm"),
        (["--girth-cm", "180", "--girth-in", "70", "--length-cm", "160"], "--girth-in"),
        (["--build", "mule", "--girth-cm", "180", "--length-cm", "160"], "--build"),
        (["--build", "foal", "--girth-in", "34"], "--age-days"),
    ],
)
def test_a_refused_weight_names_the_argument(reckon, words, argument):
    code, out, err = reckon("weight", *words)
    assert (code, out) == (1, "")
    assert argument in err


def test_dose_gives_one_option_per_route_and_strength_for_a_typed_dose(document):
    found = document("dose", "flunixin", "--weight-kg", "500", "--per-kg", "1.1")
    pairs = [(o["route"], o["concentration"], o["form"]) for o in found["options"]]
    assert len(pairs) == len(set(pairs)) == 3
    vein = found["options"][0]
    assert (vein["unit"], vein["amount"], vein["volume_ml"]) == ("mg", 550, 11)
    assert vein["sites"] == 1
    assert vein["source"]


def test_dose_in_micrograms_reads_either_way(document):
    for text in ("40", "40ug", "40mcg/kg", "0.04", "0.04 mg/kg"):
        found = document("dose", "detom", "--weight-kg", "500", "--per-kg", text, "--route", "sl")
        assert found["options"][0]["volume_ml"] == pytest.approx(2.63, rel=0.005)


def test_a_drug_name_of_two_words_needs_no_quotes(document):
    found = document("dose", "tetanus", "antitoxin", "--weight-kg", "500")
    assert found["id"] == "tetanus-antitoxin"
    assert {o["volume_ml"] for o in found["options"] if o["amount"] == 1500} == {5, 1}


def test_dose_over_a_limit_exits_0_and_warns(document):
    found = document("dose", "lidocaine", "--weight-kg", "500", "--per-kg", "9")
    assert any("4 mg/kg" in w for w in found["warnings"])
    assert any("8 mg/kg" in w for w in found["warnings"])


@pytest.mark.parametrize(
    ("words", "argument"),
    [
        (["ceftiofur", "--weight-kg", "500"], "ceftiofur crystalline free acid"),
        (["nothing", "--weight-kg", "500"], "NAME"),
        (["flunixin", "--weight-kg", "-1"], "--weight-kg"),
        (["flunixin", "--weight-kg", "nan"], "--weight-kg"),
        (["flunixin", "--weight-kg", "500", "--per-kg", "much"], "--per-kg"),
        (["flunixin", "--weight-kg", "500", "--per-kg", "1.2.3"], "--per-kg"),
        (["penicillin", "--weight-kg", "500", "--route", "iv"], "never IV"),
        (["gentamicin", "--weight-kg", "500", "--route", "perfusion"], "record-only"),
        (["gentamicin", "--weight-kg", "500", "--route", "ear"], "--route"),
    ],
)
def test_a_refused_dose_names_the_argument(reckon, words, argument):
    code, out, err = reckon("dose", *words)
    assert (code, out) == (1, "")
    assert argument in err


def test_dose_text_is_complete_with_working_source_and_caution(reckon):
    code, out, _ = reckon("dose", "penicillin", "--weight-kg", "500")
    assert code == 0
    assert "amount = dose per kg x weight" in out
    assert "US label" in out
    assert "Canadian label" in out
    assert out.endswith("Label, local law and the vet's judgement rule.\n")


def test_dilute(document, reckon):
    found = document(
        "dilute", "--stock-percent", "10", "--target-percent", "0.1", "--final-ml", "1000"
    )
    assert found["stock_ml"] == pytest.approx(10)
    assert found["diluent_ml"] == pytest.approx(990)
    assert found["parts"] == pytest.approx(99)
    code, _, err = reckon(
        "dilute", "--stock-percent", "1", "--target-percent", "2", "--final-ml", "1000"
    )
    assert code == 1
    assert "--target-percent" in err


def test_tetanus(document, reckon):
    found = document("tetanus", "--wounded", "2025-07-11", "--never")
    assert found["toxoid"] is True
    assert found["antitoxin_units"] == 1500
    assert found["next_dose"] == ["2025-08-08", "2025-08-22"]
    found = document(
        "tetanus", "--wounded", "2025-08-01", "--last", "2025-01-10", "--rule-months", "12"
    )
    assert (found["toxoid"], found["antitoxin_units"], found["next_dose"]) == (False, None, None)
    code, _, err = reckon("tetanus", "--wounded", "11/07/2025")
    assert code == 1
    assert "--wounded" in err


def test_bandage_of_a_left_hind_cannon(document):
    found = document(
        *("bandage", "left.hind.metatarsus.dorsal", "--girth-cm", "20", "--height-cm", "35"),
        *("--padding-cm", "2.5", "--passes", "2"),
    )
    assert found["turns"] == pytest.approx(7)
    assert found["length_cm"] == pytest.approx(500, abs=0.2)
    assert (found["rolls"], found["direction"]) == (2, "counter-clockwise")
    assert found["layers"][0]["role"] == "dressing"
    assert found["warnings"] == []


def test_bandage_warns_of_thin_padding_little_overlap_and_the_missing_lower_wrap(document):
    words = ("right.hind.tarsus.dorsal", "--padding-cm", "2", "--overlap-percent", "25")
    found = document("bandage", *words)
    assert [w.split(":")[0] for w in found["warnings"]] == ["B2", "B4", "B15"]
    assert found["direction"] == "clockwise"


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (["cannon"], "fore.metacarpus.dorsal"),
        (["tailfeather"], "REGION"),
        (["stifle", "--girth-cm", "0"], "--girth-cm"),
        (["stifle", "--girth-cm", "90", "--overlap-percent", "100"], "--overlap-percent"),
    ],
)
def test_a_refused_bandage_names_what_is_wrong(reckon, words, named):
    code, out, err = reckon("bandage", *words)
    assert (code, out) == (1, "")
    assert named in err


# Malone, acute wound management, Univ. Minnesota (bleeding); practice default (unclear, one sign).
@pytest.mark.parametrize(
    ("words", "urgency", "said"),
    [
        (["bleeding"], "now", "press a clean pad"),
        (["heat"], "same day", "sign of infection"),
        (["heat", "--gait", "normal", "--temperature-c", "37.8"], "next visit", "heat"),
        (["--unclear", "bleeding"], "same day", "ask again"),
        (["--temperature-c", "38", "--species", "mule"], "next visit", "no sourced fever limit"),
        (
            ["--temperature-c", "39", "--species", "mule", "--normal-up-to-c", "38"],
            "now",
            "typed by the vet",
        ),
    ],
)
def test_triage_gives_the_urgency_with_its_reasons(reckon, document, words, urgency, said):
    found = document("triage", *words)
    assert found["urgency"] == urgency
    assert all(r["why"] and r["source"] for r in found["reasons"])
    code, out, _ = reckon("triage", *words)
    assert code == 0
    assert out.startswith(f"to be seen: {urgency}")
    assert said in out


# Rule of this project: within an anti-inflammatory's likely action nothing normal reassures.
def test_triage_is_not_reassured_while_an_anti_inflammatory_may_act(document):
    calm = ("triage", "heat", "--gait", "normal", "--temperature-c", "37.8")
    masked = document(*calm, "--last-nsaid-h", "4", "--nsaid", "flunixin")
    assert (masked["urgency"], masked["masked"]) == ("same day", True)
    worn_off = document(*calm, "--last-nsaid-h", "200")
    assert (worn_off["urgency"], worn_off["masked"]) == ("next visit", False)


@pytest.mark.parametrize(
    ("words", "named"),
    [
        ([], "bleeding"),
        (["bleding"], "SIGN"),
        (["--temperature-c", "101"], "--temperature-c"),
        (["heat", "--last-nsaid-h", "-1"], "--last-nsaid-h"),
        (["heat", "--nsaid", "flunixin"], "--last-nsaid-h"),
        (["heat", "--last-nsaid-h", "3", "--nsaid", "zzz"], "--nsaid"),
    ],
)
def test_a_refused_triage_names_what_is_wrong(reckon, words, named):
    code, out, err = reckon("triage", *words)
    assert (code, out) == (1, "")
    assert named in err


def test_the_total_of_a_local_anaesthetic_is_held_against_each_ceiling(capsys):
    words = ["reckon", "anaesthetic", "lidocaine", "--weight-kg", "100", "--percent", "2"]
    assert main([*words, "--ml", "10", "5"]) == 0
    said = capsys.readouterr().out
    assert "10 + 5 mL of 20 mg/mL = 300 mg = 3.00 mg/kg" in said  # 15 mL x 20 mg/mL / 100 kg
    assert "OVER" not in said
    assert main([*words, "--ml", "40", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["total_mg"], found["mg_per_kg"]) == (800, 8)
    assert any(x["over"] for x in found["ceilings"])
    assert main(["reckon", "anaesthetic", "flunixin", *words[3:], "--ml", "1"]) == 1
    assert "no local anaesthetic" in capsys.readouterr().err
    assert main([*words, "--ml", "0"]) == 1
