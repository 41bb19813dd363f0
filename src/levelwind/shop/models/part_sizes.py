"""One size of a part as the database finds it by an index."""

from typing import Any

from django.db.models import F, FloatField, Func, Index

INDEXED = ("outer diameter", "inner diameter", "width", "length", "thread diameter", "wire diameter")
"""Sizes that have an index, for most parts are asked for by two of them at least: our choice."""


class SizeOf(Func):
    """The size of this name in mm, none where the part has none that is a number.

    The name is written out in the query, where Django would hand it over beside: only so an index is used.
    """

    output_field = FloatField()

    def __init__(self, name: str, **extra: Any) -> None:
        if not name.replace(" ", "").isalpha():
            raise ValueError(f"{name!r} is no name of a size")
        super().__init__(F("sizes_mm"), **extra)
        self.name = name

    def as_sqlite(self, compiler: Any, connection: Any, **context: Any) -> Any:
        return super().as_sql(
            compiler, connection, template=f"json_extract(%(expressions)s, '$.\"{self.name}\"')", **context
        )

    def as_postgresql(self, compiler: Any, connection: Any, **context: Any) -> Any:
        number = f"(%(expressions)s ->> '{self.name}')::double precision"
        # of what is no number it would make an error
        template = f"(CASE jsonb_typeof(%(expressions)s -> '{self.name}') WHEN 'number' THEN {number} END)"
        return super().as_sql(compiler, connection, template=template, **context)


def size_indexes() -> list[Index]:
    """By kind and one size."""
    return [Index(F("kind"), SizeOf(name), name=f"part_kind_{name.replace(' ', '_')}") for name in INDEXED]
