"""The project's own Python files as syntax trees: modules, imports with their lines, functions."""

import ast
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.architecture.layers import LAYERS, PURE

PROJECT = Path(__file__).resolve().parents[2]
ROOMS = tuple(room for line in LAYERS for room in line)
TESTING = ("pytest", "hypothesis", "_pytest")


@dataclass(frozen=True)
class Import:
    """One imported module, where it stands, and whether inside a function."""

    name: str
    line: int
    inside_function: bool


@dataclass(frozen=True)
class Module:
    """One Python file; `name` is dotted, for a package without its `__init__`."""

    name: str
    path: Path
    tree: ast.Module
    lines: int

    @property
    def room(self) -> str:
        return self.name.split(".")[0]

    @property
    def shown(self) -> str:
        return str(self.path.relative_to(PROJECT))

    @property
    def is_migration(self) -> bool:
        return ".migrations." in f"{self.name}."


def _name(path: Path) -> str:
    parts = list(path.relative_to(PROJECT).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def modules(*tops: str) -> tuple[Module, ...]:
    """All modules below the named top-level folders, by default those of the rooms that stand."""
    found = []
    for top in tops or ROOMS:
        for path in sorted((PROJECT / top).rglob("*.py")):
            text = path.read_text(encoding="utf-8")
            found.append(Module(_name(path), path, ast.parse(text), text.count("\n")))
    return tuple(found)


def existing_rooms() -> set[str]:
    return {module.room for module in modules()}


@cache
def _known_names() -> frozenset[str]:
    return frozenset(_name(path) for top in (*ROOMS, "tests") for path in (PROJECT / top).rglob("*.py"))


@cache
def imports(module: Module) -> tuple[Import, ...]:
    """The imports of a module, worked out once."""
    return tuple(_imports(module))


def _imports(module: Module) -> Iterator[Import]:
    """Every import, in functions too; `from room import module` is given as `room.module` where that is a module."""
    package = module.name if module.path.name == "__init__.py" else module.name.rpartition(".")[0]
    for node, inside in _statements(module.tree.body, inside=False):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield Import(alias.name, node.lineno, inside)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*above, *([base] if base else [])])
            for alias in node.names:
                full = f"{base}.{alias.name}"
                yield Import(full if full in _known_names() else base, node.lineno, inside)


def _statements(nodes: Sequence[ast.AST], *, inside: bool) -> Iterator[tuple[ast.AST, bool]]:
    """Every statement with those in it, and whether inside a function; expressions hold no import."""
    for node in nodes:
        yield node, inside
        deeper = inside or isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        for part in ("body", "orelse", "finalbody", "handlers", "cases"):
            yield from _statements(getattr(node, part, ()), inside=deeper)


def is_pure(name: str) -> bool:
    return any(name == pure or name.startswith(f"{pure}.") for pure in PURE)


FIXTURES_OF_DJANGO = frozenset(
    "admin_client client db django_assert_num_queries django_assert_max_num_queries django_db_blocker "
    "django_capture_on_commit_callbacks django_user_model live_server mailoutbox page rf served settings "
    "transactional_db".split()
)


@cache
def _tests_by_name() -> dict[str, Module]:
    return {module.name: module for module in modules("tests")}


def _needs_django(module: Module, seen: frozenset[str]) -> bool:
    tests = _tests_by_name()
    for found in imports(module):
        top = found.name.split(".")[0]
        if top in sys.stdlib_module_names or top in TESTING or is_pure(found.name):
            continue
        if found.name in ("portfolio", "scoring", "tests"):  # bare packages hold no code
            continue
        if found.name in seen:
            continue
        if found.name in tests and not _needs_django(tests[found.name], seen | {found.name}):
            continue
        return True
    arguments = {node.arg for node in ast.walk(module.tree) if isinstance(node, ast.arg)}
    marks = {node.attr for node in ast.walk(module.tree) if isinstance(node, ast.Attribute)}
    return bool(arguments & FIXTURES_OF_DJANGO) or "django_db" in marks


def pure_tests() -> list[Path]:
    """Test files that use pure modules only; they are run where Django cannot be imported."""
    return [
        module.path
        for module in modules("tests")
        if module.path.name.startswith("test_")
        and module.path.relative_to(PROJECT).parts[1] not in ("architecture", "browser")
        and not _needs_django(module, frozenset({module.name}))
    ]
