"""Rooms import one way, and the core can be used without screens, stores or network."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "fieldnotes"
CORE = ("domain", "knowledge", "clinical", "planning", "rendering", "casework")
BARRED = ("textual", "rich", "tinydb", "filelock", "smtplib")


def modules_of(room: str) -> list[str]:
    paths = sorted((PACKAGE / room).rglob("*.py"))
    names = [".".join(p.relative_to(ROOT).with_suffix("").parts) for p in paths]
    return [n.removesuffix(".__init__") for n in names]


@pytest.mark.parametrize("room", CORE)
def test_a_core_room_loads_without_screens_stores_or_network(room: str) -> None:
    modules = modules_of(room)
    assert modules
    code = (
        "import importlib, sys\n"
        f"for name in {modules!r}: importlib.import_module(name)\n"
        f"print([b for b in {BARRED!r} if b in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_import_contracts_hold() -> None:
    linter = Path(sys.executable).with_name("lint-imports")
    if not linter.exists():
        pytest.skip("import-linter is not installed beside this Python")
    done = subprocess.run(
        [linter, "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout


def test_printing_the_version_does_not_load_textual() -> None:
    code = (
        "import sys\nfrom fieldnotes.cli.main import main\nmain(['--version'])\n"
        "print('textual' in sys.modules, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "False"
    assert done.stdout.startswith("fieldnotes ")
