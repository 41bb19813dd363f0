"""Jobs in hand described in TOML; every refusal names the table and the key."""

from datetime import date, timedelta
from pathlib import Path

from levelwind.cli.supply_rows import day_if, day_of, spread_if, spread_of
from levelwind.cli.text_file import text_of
from levelwind.core.errors import InputError
from levelwind.core.supply import Calendar, Coming, Found, Job, Shop, Spread, Wait
from levelwind.core.supply.model import LONGEST_DAYS
from levelwind.reference.toml_rows import TomlTable, read_toml

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def read(path: Path, today: date) -> Shop:
    """The shop the file describes; ``today`` counts where the file names none."""
    file = read_toml(path.name, text_of(path, "file", "a TOML file that describes the jobs in hand"))
    shop = Shop(
        today=day_if(file, "today") or today,
        calendar=Calendar(_hours(file.row("hours")), _days_off(file.rows("off"))),
        jobs=tuple(_job(row) for row in file.rows("job")),
        shared=tuple(_shared(row) for row in file.rows("wait")),
        coming=tuple(_coming(row) for row in file.rows("coming")),
        benches=file.count("benches"),
        pace=spread_if(file, "pace") or Spread(1, 1, 1),
    )
    file.done()
    return shop


def _hours(row: TomlTable) -> tuple[float, ...]:
    """Of a weekday that is not named: none."""
    row.read.update(WEEKDAYS)
    hours = tuple(row.number(day) if day in row.values else 0.0 for day in WEEKDAYS)
    row.done()
    return hours


def _days_off(rows: list[TomlTable]) -> frozenset[date]:
    off: set[date] = set()
    for row in rows:
        first = day_of(row, "from")
        last = day_if(row, "to") or first
        row.done()
        if not 0 <= (last - first).days <= LONGEST_DAYS:
            raise InputError(f"{row.where}: to", last, f"from {first} on, at most {LONGEST_DAYS} days")
        off |= {first + timedelta(days=each) for each in range((last - first).days + 1)}
    return frozenset(off)


def _job(row: TomlTable) -> Job:
    tag = row.text("tag")
    row.where = f"{row.where.rpartition(', ')[0]}, job {tag}"
    job = Job(
        tag=tag,
        minutes=spread_of(row, "minutes"),
        first=spread_if(row, "first_minutes"),
        owner=_wait(row, "owner", "asked", f"the owner's answer for {tag}"),
        parts=_wait(row, "parts", "ordered", f"the part for {tag}"),
        waits=row.texts("waits"),
        found=_found(row),
        urgent=row.yes("urgent"),
        promised=day_if(row, "promised"),
    )
    row.done()
    return job


def _wait(row: TomlTable, who: str, asked: str, what: str) -> Wait | None:
    days, since = spread_if(row, f"{who}_days"), day_if(row, f"{who}_{asked}")
    if days is None and since is not None:
        raise InputError(f"{row.where}: {who}_days", "absent", f"days, as {who}_{asked} is given")
    return None if days is None else Wait(days, since, what=what)


def _found(row: TomlTable) -> Found | None:
    row.read.add("found_chance")
    chance = row.number("found_chance") if "found_chance" in row.values else None
    days = spread_if(row, "found_days")
    if chance is None and days is None:
        return None
    if chance is None or days is None:
        raise InputError(f"{row.where}: found_chance and found_days", "one without the other", "both, or neither")
    return Found(chance, days)


def _shared(row: TomlTable) -> Wait:
    wait = Wait(spread_of(row, "days"), day_if(row, "since"), row.text("key"), row.text("what", ""))
    row.done()
    return wait


def _coming(row: TomlTable) -> Coming:
    coming = Coming(row.number("a_week"), spread_of(row, "minutes"), row.text("what", ""))
    row.done()
    return coming
