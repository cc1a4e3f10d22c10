"""Budgets and habits: short files and functions, no hidden imports, no signals, no vague names."""

from __future__ import annotations

import ast
from collections.abc import Iterator

from tests.architecture.source_tree import PROJECT, ROOMS, Module, imports, modules

FILE_LINES = 400
FUNCTION_LINES = 60
VAGUE = {"utils", "util", "helpers", "helper", "common", "core", "manager", "base", "misc"}
Function = ast.FunctionDef | ast.AsyncFunctionDef


def written_by_hand() -> Iterator[Module]:
    return (module for module in (*modules(), *modules("tests", "bench")) if not module.is_migration)


def functions(module: Module) -> Iterator[Function]:
    return (node for node in ast.walk(module.tree) if isinstance(node, Function))


def test_files_keep_to_their_budget() -> None:
    long = [f"{module.shown}: {module.lines}" for module in written_by_hand() if module.lines > FILE_LINES]
    assert long == []


def test_style_sheets_and_page_scripts_are_split_before_they_sprawl() -> None:
    found = [path for kind in ("js", "mjs") for path in (PROJECT / "static/js").rglob(f"*.{kind}")]
    long = [
        f"{path.relative_to(PROJECT)}: {count}"
        for path in found
        if (count := path.read_text(encoding="utf-8").count("\n")) > FILE_LINES
    ]
    assert long == []


def test_functions_keep_to_their_budget() -> None:
    long = [
        f"{module.shown}:{function.lineno} {function.name}: {length}"
        for module in written_by_hand()
        for function in functions(module)
        if (length := (function.end_lineno or 0) - function.lineno + 1) > FUNCTION_LINES
    ]
    assert long == []


def test_no_room_is_imported_inside_a_function() -> None:
    hidden = [
        f"{module.shown}:{found.line} {found.name}"
        for module in modules()
        for found in imports(module)
        if found.inside_function and found.name.split(".")[0] in ROOMS
    ]
    assert hidden == []


def test_there_are_no_signal_receivers() -> None:
    guilty = [
        f"{module.shown}:{node.lineno}"
        for module in modules()
        for node in ast.walk(module.tree)
        if (isinstance(node, ast.Name) and node.id == "receiver")
        or (isinstance(node, ast.Attribute) and node.attr == "connect" and "signal" in ast.dump(node).lower())
    ]
    assert guilty == []


def test_files_and_folders_are_named_for_what_they_are() -> None:
    vague = [module.shown for module in written_by_hand() if VAGUE & set(module.name.split("."))]
    assert vague == []


def test_the_admin_is_not_mounted() -> None:
    guilty = [
        f"{module.shown}:{found.line}"
        for module in modules()
        for found in imports(module)
        if found.name.startswith("django.contrib.admin")
    ]
    assert guilty == []
