"""Rows that belong to a case are reached through their room's access, services and selectors only."""

from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest
from django.apps import apps
from django.db.models import Model

from portfolio.models import Portfolio
from tests.architecture.source_tree import ROOMS, Module, is_pure, modules

DOORS = ("access", "services", "selectors")
OF_MANAGERS = frozenset(
    "add aggregate all annotate bulk_create count create delete exclude exists filter first get get_or_create in_bulk "
    "last order_by prefetch_related remove select_related set update update_or_create values values_list".split()
)
MANAGERS = ("objects", "_default_manager", "_base_manager", "history")


def models_with_a_path_to_a_case() -> set[type[Model]]:
    """A case, the portfolio and patient it hangs from, and every own model whose foreign keys lead there."""
    reached: set[type[Model]] = {Portfolio}
    own = [model for model in apps.get_models() if model._meta.app_label in ROOMS]
    while True:
        more = {
            model
            for model in own
            for field in model._meta.get_fields()
            if field.is_relation and not field.auto_created and field.related_model in reached
        }
        if more <= reached:
            return reached
        reached |= more


def related_managers() -> set[str]:
    """Names under which a related manager of such a model appears on another row, e.g. `finding_set`."""
    private = models_with_a_path_to_a_case()
    return {
        str(name)
        for model in apps.get_models()
        for field in model._meta.related_objects
        if (field.one_to_many or field.many_to_many) and field.related_model in private
        if (name := field.get_accessor_name())
    }


def behind_a_door(module: Module) -> bool:
    """Doors stand in a room or in a part of it: `imaging.services`, `imaging.tracing.services`.

    Pure modules know no rows: what looks like a manager there is an attribute of plain data.
    """
    return is_pure(module.name) or module.is_migration or bool(set(module.name.split(".")[1:3]) & set(DOORS))


def reached_past_the_door(tree: ast.Module, names: set[str], related: set[str]) -> Iterator[int]:
    """Lines with `Case.objects` (under any name it was imported by) or `row.finding_set.all()` and the like."""
    known = set(names)
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            known |= {alias.asname for alias in node.names if alias.name in names and alias.asname}
    for node in ast.walk(tree):
        if not isinstance(node, ast.Attribute):
            continue
        if node.attr in MANAGERS:
            owner = node.value
            name = (
                owner.id
                if isinstance(owner, ast.Name)
                else owner.attr
                if isinstance(owner, ast.Attribute)
                else ""
            )
            if name in known:
                yield node.lineno
        elif (
            isinstance(node.value, ast.Attribute) and node.value.attr in related and node.attr in OF_MANAGERS
        ):
            yield node.lineno


def test_nothing_reaches_past_the_door() -> None:
    names = {model.__name__ for model in models_with_a_path_to_a_case()}
    related = related_managers()
    guilty = [
        f"{module.shown}:{line}"
        for module in modules()
        if not behind_a_door(module)
        for line in reached_past_the_door(module.tree, names, related)
    ]
    assert guilty == []


def test_the_models_behind_the_door_are_those_of_cases() -> None:
    names = {model.__name__ for model in models_with_a_path_to_a_case()}
    assert {
        "Portfolio",
        "Patient",
        "Case",
        "RecordSet",
        "Sheet",
        "Finding",
        "SheetChange",
        "Consent",
    } <= names
    assert "User" not in names


@pytest.mark.parametrize(
    "line",
    [
        "from portfolio.models import Case\nCase.objects.get(pk=1)",
        "from portfolio.models import Case as Row\nRow.objects.all()",
        "from portfolio import models\nmodels.Case.objects.all()",
        "from portfolio.models import Case\nCase._default_manager.count()",
    ],
)
def test_reaching_past_the_door_is_found(line: str) -> None:
    assert list(reached_past_the_door(ast.parse(line), {"Case"}, set()))


def test_a_related_manager_is_found() -> None:
    assert list(reached_past_the_door(ast.parse("sheet.findings.all()\n"), set(), {"findings"})) == [1]
    assert list(reached_past_the_door(ast.parse("sheet.findings\n"), set(), {"findings"})) == []
