"""Places of patterns as the database is asked for many of them at once."""

from collections.abc import Iterable
from typing import Any

from django.db.models import BooleanField, F, Func

from levelwind.core.fits.chains import Slot

FITS = "JOIN shop_fit r ON r.pattern_id = v.column1 AND r.place = v.column2"
PLACES = 'JOIN shop_patternplace r ON r.pattern_id = v.column1 AND r."key" = v.column2'
PIECES = "JOIN shop_job j ON j.pattern_id = v.column1 JOIN shop_piece r ON r.job_id = j.id AND r.place = v.column2"


class AtSlots(Func):
    """Whether a row is of one of these slots: each pair is looked up by an index of both columns.

    As conditions joined by "or" Django takes longer over writing the question than the database over the answer, and a
    pair among pairs SQLite reads the whole table for.
    """

    output_field = BooleanField()

    def __init__(self, slots: Iterable[Slot], rows: str, **extra: Any) -> None:
        super().__init__(F("pk"), **extra)
        self.slots, self.rows = tuple(slots), rows
        if not self.slots:
            raise ValueError("no slot is asked for")

    def as_sql(self, compiler: Any, connection: Any, **context: Any) -> Any:  # type: ignore[override]
        (pk,) = self.get_source_expressions()
        key, params = compiler.compile(pk)
        marks = ", ".join(["(%s, %s)"] * len(self.slots))
        sql = f"{key} IN (SELECT r.id FROM (VALUES {marks}) v {self.rows})"  # noqa: S608
        return sql, [*params, *(each for slot in self.slots for each in slot)]
