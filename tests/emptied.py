"""For tests whose writes are really committed: their ledgers must be emptied afterwards, which the triggers forbid.

A test that asks for ``emptied_afterwards`` runs with the triggers in place; they are lifted while its rows are cleared
away and put back for the next test.
"""

from collections.abc import Iterator
from importlib import import_module
from typing import Any

import pytest
from django.apps import apps
from django.db import connection

ONLY_GROW = import_module("levelwind.shop.migrations.0002_ledgers_only_grow")
MAY_GO = import_module("levelwind.shop.migrations.0046_lists_brought_in")
NOT_EMPTIED = import_module("levelwind.shop.migrations.0029_ledgers_are_not_emptied")


@pytest.fixture
def triggers_back(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    yield
    with django_db_blocker.unblock(), connection.schema_editor() as editor:
        if connection.vendor == "sqlite":  # a book whose counters ran on would have lost rows
            editor.execute("DELETE FROM sqlite_sequence")
        ONLY_GROW.forbid(apps, editor)
        MAY_GO.may_go(apps, editor)
        NOT_EMPTIED.forbid(apps, editor)


@pytest.fixture
def emptied_afterwards(triggers_back: None, transactional_db: None) -> Iterator[None]:
    yield
    with connection.schema_editor() as editor:
        NOT_EMPTIED.allow(apps, editor)
        MAY_GO.stays(apps, editor)
        ONLY_GROW.allow(apps, editor)
