"""Modules and functions keep the sizes that make them readable, and say what they are."""

from __future__ import annotations

import ast
from pathlib import Path
from statistics import median, quantiles

PACKAGE = Path(__file__).parent.parent / "fieldnotes"
FILES = sorted(PACKAGE.rglob("*.py"))
TREES = {path: ast.parse(path.read_text("utf-8")) for path in FILES}
Function = ast.FunctionDef | ast.AsyncFunctionDef
FORBIDDEN_NAMES = {"utils", "util", "helpers", "helper", "manager", "misc", "common"}
BROAD_ALLOWED = {"app.py"}  # the app's last line of defence


def functions() -> list[tuple[Path, Function]]:
    return [
        (path, node)
        for path, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, Function)
    ]


def body_lines(node: Function) -> int:
    doc = ast.get_docstring(node, clean=False)
    first = node.body[1] if doc is not None and len(node.body) > 1 else node.body[0]
    return (node.end_lineno or first.lineno) - first.lineno + 1


def test_no_module_has_400_lines() -> None:
    long = {p.name: n for p in FILES if (n := len(p.read_text("utf-8").splitlines())) >= 400}
    assert not long


def test_the_median_module_is_short() -> None:
    assert median(len(p.read_text("utf-8").splitlines()) for p in FILES) <= 150


def test_functions_are_short() -> None:
    sizes = [body_lines(node) for _, node in functions()]
    long = [f"{p.name}:{n.name}" for p, n in functions() if body_lines(n) > 60]
    assert not long
    assert median(sizes) <= 8
    assert quantiles(sizes, n=10)[-1] <= 28


def test_no_module_hides_behind_a_name_that_says_nothing() -> None:
    assert not [p for p in FILES if p.stem in FORBIDDEN_NAMES]


def test_public_functions_and_classes_say_what_they_do() -> None:
    silent = [
        f"{path.relative_to(PACKAGE)}:{node.name}"
        for path, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, Function | ast.ClassDef)
        and not node.name.startswith("_")
        and not ast.get_docstring(node)
        and not _is_nested(node, tree)
    ]
    assert not silent


def _is_nested(node: ast.AST, tree: ast.Module) -> bool:
    return any(
        node is inner
        for outer in ast.walk(tree)
        if isinstance(outer, Function)
        for inner in ast.walk(outer)
        if inner is not outer
    )


def test_nothing_is_left_to_do_or_caught_blindly() -> None:
    for path, tree in TREES.items():
        text = path.read_text("utf-8")
        assert "TODO" not in text, path
        assert "FIXME" not in text, path
        for node in ast.walk(tree):
            if isinstance(node, ast.ExceptHandler) and path.name not in BROAD_ALLOWED:
                assert node.type is not None, path
                name = getattr(node.type, "id", "")
                assert name not in {"Exception", "BaseException"}, path
