"""How SQLite goes about the questions that were asked of it."""

from typing import Any

from django.db import connection


def plans_of(asked: Any) -> list[str]:
    """The steps of each question that was captured."""
    lines = []
    with connection.cursor() as cursor:
        for question in asked:
            if question["sql"].startswith("SELECT") and not question["sql"].startswith("SELECT 1 "):
                cursor.execute("EXPLAIN QUERY PLAN " + question["sql"].replace("%", "%%"))
                lines += [line for *_, line in cursor.fetchall()]
    return lines
