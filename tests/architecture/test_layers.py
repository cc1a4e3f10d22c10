"""Imports and foreign keys point downwards only; pure modules do without Django; there are no circles."""

from __future__ import annotations

import ast
import subprocess
import sys
from itertools import pairwise

import pytest
from django.apps import apps

from tests.architecture.layers import ALLOWED_BESIDE, ALLOWED_UPWARDS, LAYERS, PURE, picture
from tests.architecture.source_tree import (
    PROJECT,
    ROOMS,
    Module,
    existing_rooms,
    imports,
    is_pure,
    modules,
    pure_tests,
)

HEIGHT = {room: -depth for depth, line in enumerate(LAYERS) for room in line}


def may_use(room: str, other: str) -> bool:
    return room == other or HEIGHT[other] < HEIGHT[room] or (room, other) in ALLOWED_BESIDE


def upward_imports(module: Module) -> list[str]:
    return [
        f"{module.shown}:{found.line} imports {found.name}"
        for found in imports(module)
        if found.name.split(".")[0] in ROOMS
        and not may_use(module.room, found.name.split(".")[0])
        and (module.room, found.name) not in ALLOWED_UPWARDS
    ]


def test_no_room_stands_on_two_lines() -> None:
    assert len(ROOMS) == len(set(ROOMS))


def test_every_folder_with_python_is_a_room_of_the_tuple() -> None:
    beside = {"tests", "bench"}
    found = {path.parent.name for path in PROJECT.glob("*/__init__.py")}
    assert found - beside <= set(ROOMS)


def test_python_imports_downwards_only() -> None:
    assert [line for module in modules() for line in upward_imports(module)] == []


def test_nothing_imports_tests_or_bench() -> None:
    guilty = [
        f"{module.shown}:{found.line}"
        for module in modules()
        for found in imports(module)
        if found.name.split(".")[0] in ("tests", "bench")
    ]
    assert guilty == []


def test_foreign_keys_point_downwards_only() -> None:
    guilty = [
        f"{model._meta.label}.{field.name} -> {field.related_model._meta.label}"
        for model in apps.get_models()
        if model._meta.app_label in ROOMS
        for field in model._meta.get_fields()
        if field.is_relation and not field.auto_created and isinstance(field.related_model, type)
        if field.related_model._meta.app_label in ROOMS
        if not may_use(model._meta.app_label, field.related_model._meta.app_label)
    ]
    assert guilty == []


def test_an_upward_import_inside_a_function_is_found() -> None:
    tree = ast.parse("def f():\n    import desk.views\n")
    fake = Module("portfolio.fake", PROJECT / "portfolio" / "fake.py", tree, 2)
    assert upward_imports(fake) == ["portfolio/fake.py:2 imports desk.views"]


def test_pure_modules_import_the_standard_library_and_each_other_only() -> None:
    allowed = {*sys.stdlib_module_names, "numpy", "scipy", "PIL", "pillow_heif", "pydicom", "tifffile"}
    guilty = [
        f"{module.shown}:{found.line} imports {found.name}"
        for module in modules()
        if is_pure(module.name)
        for found in imports(module)
        if found.name.split(".")[0] not in allowed and not is_pure(found.name)
    ]
    assert guilty == []


def test_every_pure_name_stands_for_a_module() -> None:
    names = {module.name for module in modules()}
    assert [name for name in PURE if name not in names] == []


def test_pure_modules_load_where_django_cannot_be_imported() -> None:
    names = [module.name for module in modules() if is_pure(module.name)]
    lines = ["import tests.without_django", *(f"import {name}" for name in names)]
    lines.append("import sys; assert not [n for n in sys.modules if n.split('.')[0] == 'django']")
    done = subprocess.run(
        [sys.executable, "-c", "\n".join(lines)], cwd=PROJECT, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr


def test_the_barrier_makes_the_import_of_django_fail() -> None:
    done = subprocess.run(
        [sys.executable, "-c", "import tests.without_django, django.conf"],
        cwd=PROJECT,
        capture_output=True,
        text=True,
    )
    assert done.returncode != 0
    assert "django is barred here" in done.stderr


def test_pure_tests_are_found() -> None:
    assert pure_tests(), "no test file does without Django"


def test_there_are_no_import_circles() -> None:
    graph = {
        module.name: {found.name for found in imports(module) if found.name.split(".")[0] in ROOMS}
        for module in modules()
        if not module.is_migration
    }
    circle = find_circle(graph)
    assert circle == [], " -> ".join(circle)


def test_a_circle_is_found() -> None:
    assert find_circle({"a": {"b"}, "b": {"c"}, "c": {"a"}}) == ["a", "b", "c", "a"]


def find_circle(graph: dict[str, set[str]]) -> list[str]:
    """The first circle met, as the names along it; empty where there is none."""
    done: set[str] = set()

    def follow(name: str, way: list[str]) -> list[str]:
        if name in way:
            return [*way[way.index(name) :], name]
        if name in done:
            return []
        for other in sorted(graph.get(name, set()) - {name}):
            found = follow(other, [*way, name])
            if found:
                return found
        done.add(name)
        return []

    for name in sorted(graph):
        found = follow(name, [])
        if found:
            return found
    return []


def test_the_picture_in_the_guide_is_the_tuple() -> None:
    guide = (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert f"```\n{picture(existing_rooms())}\n```" in guide, picture(existing_rooms())


@pytest.mark.parametrize(("upper", "lower"), list(pairwise(LAYERS)))
def test_a_room_may_use_the_line_below_and_not_the_line_above(
    upper: tuple[str, ...], lower: tuple[str, ...]
) -> None:
    assert may_use(upper[0], lower[0])
    assert not may_use(lower[0], upper[0])
