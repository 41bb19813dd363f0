"""Every version of one recording: what was said each time, and what that changed."""

from dataclasses import dataclass, replace

from levelwind.core.changes import change
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.options import options_in_words
from levelwind.shop.readings.selectors.readings import versions_of_file
from levelwind.shop.readings.selectors.stored import law_of
from levelwind.web.readings.rows import facts
from levelwind.web.readings.spot import Spot


@dataclass(frozen=True, slots=True)
class Version:
    """One reading of a file. ``said``: what was new in that; ``changed``: against the one it corrects."""

    reading: Reading
    address: str
    restore: str
    said: str
    changed: tuple[str, ...]
    law: int | None = None
    """The version of the law that read it."""
    here: bool = False
    counts: bool = False
    """The newest that is not struck out, should the same file have been sent twice."""


def versions_of(spot: Spot, reading: Reading, unit: str) -> tuple[Version, ...]:
    """The first first; none where the file was read only once."""
    rows = list(versions_of_file(reading))
    if len(rows) < 2:
        return ()
    by_pk = {row.pk: row for row in rows}
    counting = max((row.pk for row in rows if not row.struck_out), default=0)
    versions = (_version(spot, row, by_pk.get(row.corrects_id or 0), unit) for row in rows)
    return tuple(replace(each, here=each.reading == reading, counts=each.reading.pk == counting) for each in versions)


def _version(spot: Spot, row: Reading, before: Reading | None, unit: str) -> Version:
    earlier = before.options if before else {}
    new = {key: row.options.get(key) for key in earlier | row.options if earlier.get(key) != row.options.get(key)}
    changed = _changed(before, row, unit) if before else ()
    to, restore = spot.url("reading", row.pk), spot.url("reading_act", row.pk, "restore")
    return Version(row, to, restore, options_in_words(new, unit), changed, law_of(row))


def _changed(before: Reading, after: Reading, unit: str) -> tuple[str, ...]:
    """Both numbers alone: they come from one recording, which ``change`` does not know."""
    if not (before.gives_number and after.gives_number):
        return ("now it gives a number",) if after.gives_number else ()
    earlier = {fact.key: fact for fact in facts(before, unit)}
    words = []
    for fact in facts(after, unit):
        old = earlier.get(fact.key)
        if old and old.value and fact.value:
            both = change(fact.name, fact.unit, old.value, fact.value)
            words += [] if both.reads_the_same else [both.ends]
    return tuple(words) or ("no number changed",)
