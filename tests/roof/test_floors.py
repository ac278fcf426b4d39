"""A floor leans only on what lies below: foreign keys and migrations point down."""

import ast
from pathlib import Path

import pytest
from django.apps import apps
from django.db.migrations.loader import MigrationLoader

FLOORS = ["coop", "inventory", "batches", "members", "roof"]
LIBRARIES = {"auth", "contenttypes", "sessions", "messages", "account", "mfa"}
ROOT = Path(__file__).parents[2]


def level(label):
    return FLOORS.index(label) if label in FLOORS else -1


def test_every_foreign_key_points_down_or_stays():
    up = [
        f"{model._meta.label}.{field.name} -> {field.related_model._meta.label}"
        for model in apps.get_models()
        if model._meta.app_label in FLOORS
        for field in model._meta.get_fields()
        if field.is_relation and not field.auto_created and field.related_model
        if level(field.related_model._meta.app_label) > level(model._meta.app_label)
    ]
    assert up == []


def test_every_migration_depends_on_its_own_floor_or_a_lower_one():
    loader = MigrationLoader(None)
    up = [
        f"{key} -> {parent}"
        for key, migration in loader.disk_migrations.items()
        if key[0] in FLOORS
        for parent in migration.dependencies
        if parent[0] != "__setting__" and level(parent[0]) > level(key[0])
    ]
    assert up == []


def test_every_app_is_a_floor_or_a_library():
    labels = {config.label for config in apps.get_app_configs() if list(config.get_models())}
    assert labels <= set(FLOORS) | LIBRARIES


def test_the_grounds_package_is_empty():
    assert (ROOT / "coop" / "__init__.py").read_text() == ""


@pytest.mark.parametrize("app", ["inventory", "batches", "members"])
def test_science_imports_neither_the_framework_nor_the_house(app):
    for module in (ROOT / app / "science").glob("*.py"):
        for node in ast.walk(ast.parse(module.read_text())):
            names = [one.name for one in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            for name in names:
                assert not name.startswith(("django", "rest_framework", "celery", "coop")), f"{module}: {name}"
                inside = name.split(".")
                assert inside[0] not in FLOORS or inside[1:2] == ["science"], f"{module}: {name}"


def test_the_top_level_is_what_a_newcomer_expects():
    known = {"README.md", "DEVELOPERS.md", "manage.py", "pyproject.toml", "coop", "batches", "members", "inventory"}
    known |= {"tests", "deploy"}
    there = {path.name for path in ROOT.iterdir() if not path.name.startswith((".", "__"))}
    assert there <= known, there - known
