"""The book taken to an older or the newest shape of its tables."""

from django.db import connection
from django.db.migrations.executor import MigrationExecutor


def migrate_to(name: str | None) -> None:
    """To the migration of this name; None for the newest."""
    executor = MigrationExecutor(connection)
    executor.migrate([("shop", name)] if name else executor.loader.graph.leaf_nodes("shop"))
