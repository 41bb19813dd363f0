"""The rows of a planned list written into the book, many at a time; what came by it is noted, so that it can go."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

from django.db import connection
from django.db.models import CharField, Field, Model, TextField
from django.db.models.base import ModelState
from django.utils import timezone

from levelwind.documents.money import format_money
from levelwind.shop.book.packed import spans
from levelwind.shop.book.selectors.import_made import MADE_OF, NEVER_CHANGED, digests
from levelwind.shop.book.selectors.lines import Line
from levelwind.shop.book.selectors.plan_fits import FILLABLE as FIT_FILLABLE
from levelwind.shop.book.selectors.plan_fits import Reel
from levelwind.shop.book.selectors.plan_shelf import COUNTS
from levelwind.shop.book.selectors.plans import Plan, Tell
from levelwind.shop.history import OF_ITSELF
from levelwind.shop.jobs.services.booking import last_number, tag_number
from levelwind.shop.models import (
    Deed,
    Fit,
    Import,
    Job,
    JobEvent,
    Owner,
    Parcel,
    Part,
    Pattern,
    PatternPlace,
    PlaceLimit,
    Replacement,
    StockEntry,
)
from levelwind.shop.parts.services.fits import USUALLY_SURE
from levelwind.shop.people.selectors import currency, shop_get

BATCH = 500
"""Rows in one statement; our choice: it is told how far the writing is, and looked whether to stop, after each."""

MOST_VALUES = 30_000
"""Values in one statement: SQLite takes 32,766 (sqlite.org, Limits In SQLite, from memory)."""


class Writer:
    """Writes rows in batches, tells how far it is, and keeps the keys of what it made."""

    def __init__(self, one: Import, plan: Plan, tell: Tell) -> None:
        self.one, self.plan, self._tell = one, plan, tell
        self.keys: dict[str, list[int]] = defaultdict(list)
        self.filled: list[list[Any]] = []
        self._done, self._all = 0, 1

    def expect(self, rows: int) -> None:
        self._all = max(rows, 1)

    def create(self, model: type[Model], rows: Iterable[Model]) -> None:
        made = list(rows)
        words = str(model._meta.verbose_name_plural)
        at_once = min(BATCH, MOST_VALUES // len(model._meta.concrete_fields))
        for start in range(0, len(made), at_once):
            batch = made[start : start + at_once]
            _insert(model, batch)
            self.keys[model._meta.model_name or ""] += [row.pk for row in batch]
            self._tell_of(model, [row.pk for row in batch], f"Brought in from the list {self.one.file_name}.")
            self._on(len(batch), words)

    def fill(self, model: type[Model], pk: int, said: dict[str, Any]) -> None:
        """Fields that stood blank in a row of the book."""
        if said:
            model._default_manager.filter(pk=pk).update(**said)
            self.filled.append([model._meta.model_name, pk, said])
            names = ", ".join(str(getattr(model._meta.get_field(name), "verbose_name", name)) for name in said)
            self._tell_of(model, [pk], f"Filled in from the list {self.one.file_name}: {names}.")
        self._on(1, str(model._meta.verbose_name_plural))

    def _tell_of(self, model: type[Model], keys: Sequence[int], words: str) -> None:
        """Rows written many at a time send no word of themselves: their history is written here."""
        if kind := OF_ITSELF.get(model):
            first = Deed(kind=kind, by=self.one.by, text=words[:300])
            _insert(Deed, list(_made_like(first, ({"ref": pk} for pk in keys))))

    def made(self) -> dict[str, Any]:
        """By table, the keys of what came as runs, and by what it is known whether it was changed since."""
        runs = {name: spans(keys) for name, keys in self.keys.items()}
        known = {name: digests(MADE_OF[name], run) for name, run in runs.items() if name not in NEVER_CHANGED}
        return {"keys": runs, "digests": known, "filled": self.filled}

    def _on(self, rows: int, words: str) -> None:
        self._done += rows
        self._tell(min(self._done / self._all, 1.0), f"writing {words}")


def _insert(model: type[Model], rows: Sequence[Model]) -> None:
    """New rows in one statement, each given its key. Django's own bulk_create takes three times as long over them."""
    fields = [each for each in model._meta.concrete_fields if not each.primary_key]
    columns = [_prepared(each, rows) for each in fields]
    quoted = connection.ops.quote_name
    names = ", ".join(quoted(str(each.column)) for each in fields)
    marks = ", ".join([f"({', '.join(['%s'] * len(fields))})"] * len(rows))
    table, key = quoted(model._meta.db_table), quoted(str(model._meta.pk and model._meta.pk.column))
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {table} ({names}) VALUES {marks} RETURNING {key}",  # noqa: S608
            [value for row in zip(*columns, strict=True) for value in row],
        )
        for row, (pk,) in zip(rows, cursor.fetchall(), strict=True):
            row.pk = pk
            row._state.adding = False


def _prepared(field: "Field[Any, Any]", rows: Sequence[Model]) -> list[Any]:
    """A column's values as the database takes them: text as it is, anything else worked out once where it comes again.

    Most columns hold one value in every row.
    """
    values = [getattr(row, field.attname) for row in rows]
    if all(each is values[0] for each in values):
        return [field.get_db_prep_save(values[0], connection)] * len(rows)
    if isinstance(field, CharField | TextField):
        return values
    if field.get_internal_type() == "JSONField":
        return [field.get_db_prep_save(each, connection) for each in values]
    known = {each: field.get_db_prep_save(each, connection) for each in set(values)}
    return [known[each] for each in values]


def _made_like(first: Model, said: Iterable[dict[str, Any]]) -> Iterator[Model]:
    """Rows as the first one, but for what is said of each: Django takes five times as long to begin each by itself."""
    for each in said:
        row = type(first).__new__(type(first))
        vars(row).update(vars(first), _state=ModelState(), **each)
        yield row


def rows_write(one: Import, plan: Plan, tell: Tell, by: str) -> dict[str, Any]:
    """All of it, within the caller's transaction; gives what ``Import.made`` keeps."""
    writer = Writer(one, plan, tell)
    WRITES[plan.kind.key](writer, by)
    return writer.made()


def _filled(writer: Writer) -> list[Line]:
    return [line for line in writer.plan.lines if line.fate == "known" and line.known and line.fills]


def _owners(writer: Writer, by: str) -> None:
    new, filled = writer.plan.of("new"), _filled(writer)
    writer.expect(len(new) + len(filled))
    writer.create(Owner, [line.made for line in new if line.made])
    _fill_all(writer, Owner)


def _shelf(writer: Writer, by: str) -> None:
    new, filled = writer.plan.of("new"), _filled(writer)
    writer.expect(2 * len(new) + len(filled))
    writer.create(Part, [line.made for line in new if line.made])
    entries = [entry for line in new if line.made for entry in _counted(writer, line.made.pk, line.values, by)]
    for line in filled:
        assert line.known
        writer.fill(Part, line.known, {name: value for name, value in line.fills.items() if name not in COUNTS})
        entries += _counted(writer, line.known, line.fills, by)
    writer.create(StockEntry, entries)


def _counted(writer: Writer, part: int, values: dict[str, Any], by: str) -> Iterable[StockEntry]:
    note = f"from the list {writer.one.file_name}"[:200]
    for name in COUNTS:
        if values.get(name):
            yield StockEntry(
                part_id=part,
                used=name == "used",
                change=values[name],
                why="counted",
                note=note,
                by=by,
                came_by=writer.one,
            )


def _fits(writer: Writer, by: str) -> None:
    new = [writer.plan.says[line.row] for line in writer.plan.of("new")]
    filled = _filled(writer)
    writer.expect(3 * len(new) + len(filled))
    numbers = {(id(says.reel), says.place): says.number for says in new if says.number}
    _patterns(writer, [says.reel for says in new], numbers)
    parts = {id(says.part): says.part for says in new if says.part and says.new_part}
    writer.create(Part, [part for part in parts.values() if not part.pk])
    for says in new:
        if says.fit and says.part:
            says.fit.pattern, says.fit.part = says.reel.pattern, says.part
    said = {line.row for line in writer.plan.of("new") if "sure" in line.values}
    for row, says in writer.plan.says.items():
        if says.fit and row not in said:
            says.fit.sure = USUALLY_SURE[says.fit.basis]
    writer.create(Fit, [says.fit for says in new if says.fit])
    for line in filled:
        assert line.known
        blank = Fit.objects.filter(pk=line.known).values(*FIT_FILLABLE).first() or {}
        writer.fill(Fit, line.known, {name: value for name, value in line.fills.items() if not blank.get(name)})


def _patterns(writer: Writer, spoken_of: Iterable[Reel], numbers: dict[tuple[int, str], str]) -> None:
    """Those that are new, and what is said of places of all of them."""
    reels = {id(reel): reel for reel in spoken_of}
    writer.create(Pattern, [reel.pattern for reel in reels.values() if not reel.pattern.pk])
    writer.create(PatternPlace, _places(writer, reels, numbers))


def _limits(writer: Writer, by: str) -> None:
    wears = [writer.plan.wears[line.row] for line in writer.plan.of("new")]
    writer.expect(2 * len(wears))
    _patterns(writer, [wear.reel for wear in wears], {})
    for wear in wears:
        wear.limit.pattern = wear.reel.pattern
    writer.create(PlaceLimit, [wear.limit for wear in wears])
    _fill_all(writer, PlaceLimit)


def _replacements(writer: Writer, by: str) -> None:
    new = writer.plan.of("new")
    writer.expect(len(new))
    writer.create(Replacement, [line.made for line in new if line.made])
    _fill_all(writer, Replacement)


def _fill_all(writer: Writer, model: type[Model]) -> None:
    for line in _filled(writer):
        assert line.known
        writer.fill(model, line.known, line.fills)


def _places(writer: Writer, reels: dict[int, Reel], numbers: dict[tuple[int, str], str]) -> list[PatternPlace]:
    """The maker's numbers; and what a new pattern lacks as most of its family do, but for what the list speaks of."""
    from levelwind.reference.families import family

    rows = []
    for number, reel in reels.items():
        own = {place: said for (which, place), said in numbers.items() if which == number}
        fresh = reel.pattern.pk in writer.keys["pattern"]
        lacking = {place.key for place in family(reel.pattern.family).places if place.seldom} if fresh else set()
        known = {row.key: row for row in PatternPlace.objects.filter(pattern=reel.pattern, key__in=own)}
        for place, said in own.items():
            if place in known:
                writer.fill(PatternPlace, known[place].pk, {"part_number": said})
            else:
                rows.append(PatternPlace(pattern=reel.pattern, key=place, part_number=said))
        rows += [PatternPlace(pattern=reel.pattern, key=key, absent=True) for key in sorted(lacking - reel.needs)]
    return rows


def _jobs(writer: Writer, by: str) -> None:
    new = writer.plan.of("new")
    pasts = [writer.plan.pasts[line.row] for line in new]
    filled = _filled(writer)
    owners = {id(past.owner): past.owner for past in pasts if past.new_owner}
    writer.expect(len(owners) + 3 * len(pasts) + len(filled))
    writer.create(Owner, owners.values())
    came = ({"owner_id": past.owner.pk, "arrived_at": past.job.booked_in_at} for past in pasts)
    parcels = list(_made_like(Parcel(), came))
    writer.create(Parcel, parcels)
    for past, parcel in zip(pasts, parcels, strict=True):
        past.job.owner_id, past.job.parcel_id = past.owner.pk, parcel.pk
    _tags([past.job for past in pasts])
    writer.create(Job, [past.job for past in pasts])
    money = currency(shop_get())
    events = []
    for past in pasts:
        words = [f"Brought in from the list {writer.one.file_name}: a job of before this book."]
        if past.charged_minor is not None:
            words.append(f"Charged then: {format_money(past.charged_minor, money)}.")
        if past.number_then and past.number_then != past.job.tag:
            words.append(f"Its number then: {past.number_then}.")
        events.append({"job_id": past.job.pk, "at": past.job.booked_in_at, "text": " ".join(words)[:300]})
    writer.create(JobEvent, _made_like(JobEvent(by=by), events))
    _fill_all(writer, Job)


WRITES: dict[str, Callable[[Writer, str], None]] = {
    **{"owners": _owners, "shelf": _shelf, "fits": _fits, "limits": _limits, "replacements": _replacements},
    "jobs": _jobs,
}
"""What writes the rows of each kind of list."""


def _tags(jobs: Sequence[Job]) -> None:
    """Those without one get the next number of the year they came in."""
    given = {job.tag.casefold() for job in jobs}
    last: dict[int, int] = {}
    for job in jobs:
        while not job.tag:
            year = timezone.localtime(job.booked_in_at).year
            last[year] = last.get(year, last_number(year) if year not in last else 0) + 1
            tag = tag_number(year, last[year])
            job.tag = "" if tag.casefold() in given else tag
        given.add(job.tag.casefold())
