"""What would come of a list as it is matched now: each row new, known, or refused with its reason."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from levelwind.core.columns.guess import guess, words_of
from levelwind.shop.book.packed import unpacked
from levelwind.shop.book.selectors.columns import KINDS, Kind
from levelwind.shop.book.selectors.lines import Doubt, Line, Matched, doubts, read_lines
from levelwind.shop.book.selectors.plan_fits import Says, plan_fits
from levelwind.shop.book.selectors.plan_jobs import Past, plan_jobs
from levelwind.shop.book.selectors.plan_owners import plan_owners
from levelwind.shop.book.selectors.plan_shelf import plan_shelf
from levelwind.shop.book.selectors.plan_statements import Wear, plan_limits, plan_replacements
from levelwind.shop.book.sheets import Sheet
from levelwind.shop.models import Import

REASON = "Why it was not taken"
"""Heads the column that a file of refused rows has more than it came with."""


TOLD_EVERY = 500
"""Rows between two words of how far it is; our choice."""

Tell = Callable[[float, str], None]
"""Told the part done, 0 to 1, and what is being done; raises Stopped where somebody asked for it."""


@dataclass(frozen=True, slots=True)
class Plan:
    kind: Kind
    matched: Matched
    doubts: tuple[Doubt, ...]
    lines: list[Line]
    says: Mapping[int, Says] = field(default_factory=dict)
    pasts: Mapping[int, Past] = field(default_factory=dict)
    wears: Mapping[int, Wear] = field(default_factory=dict)

    @property
    def counts(self) -> dict[str, int]:
        """Rows new, known, filled in, refused, and in all."""
        counts = Counter(line.fate for line in self.lines)
        filled = sum(1 for line in self.lines if line.fills)
        return {fate: counts[fate] for fate in ("new", "known", "refused")} | {"filled": filled, "all": len(self.lines)}

    def of(self, fate: str) -> list[Line]:
        return [line for line in self.lines if line.fate == fate]


@dataclass(frozen=True, slots=True)
class Table:
    """A list's headings and what stands below them; ``rows`` begin with their number in the file."""

    headings: list[str]
    rows: list[list[Any]]

    def column(self, number: int) -> list[str]:
        return [row[number + 1] for row in self.rows if len(row) > number + 1]


def table_of(one: Import) -> Table:
    """The list's own table, as its row of headings divides it; columns without a heading are numbered."""
    rows = unpacked(one.rows)
    head: list[str] = next((row[1:] for row in rows if row[0] == one.head_row), [])
    below = [row for row in rows if row[0] > one.head_row]
    wide = max((len(row) - 1 for row in (*below[:1000], [0, *head])), default=0)
    headings = [(head[n].strip() if n < len(head) else "") or f"Column {n + 1}" for n in range(wide)]
    return Table(headings, below)


def headings_key(headings: Sequence[str]) -> str:
    """By which a set of headings is known again, in whatever order its columns come."""
    return "\n".join(sorted(words_of(heading) for heading in headings if words_of(heading) != words_of(REASON)))


def guessed(kind: Kind, table: Table, before: Mapping[str, Any] | None) -> dict[str, Any]:
    """How the list is matched to begin with: as the last of the same headings was, else by headings and contents."""
    if before:
        places = {words_of(heading): n for n, heading in enumerate(table.headings)}
        columns = {key: places[word] for key, word in before.get("headings", {}).items() if word in places}
        kept = {name: before[name] for name in ("same", "known") if name in before}
        return known_again(columns, table) | kept
    named = [heading if heading != REASON else "" for heading in table.headings]
    looked_at = table.rows[:200]
    columns = guess(
        kind.fields,
        named,
        [[row[n + 1] for row in looked_at if len(row) > n + 1] for n in range(len(named))],
    )
    return known_again(columns, table)


def known_again(columns: Mapping[str, int], table: Table) -> dict[str, Any]:
    """Which column holds what, and under which heading it will be looked for in the next list."""
    return {"columns": columns, "headings": {key: words_of(table.headings[n]) for key, n in columns.items()}}


def refused_of(plan: Plan, table: Table) -> Sheet | None:
    """The rows that are not taken, as they came and with their reasons, to be mended and sent again."""
    rows = [[*_wide(line.cells, len(table.headings)), "; ".join(line.why)] for line in plan.of("refused")]
    return Sheet("not taken", (*table.headings, REASON), rows) if rows else None


def _wide(cells: list[str], wide: int) -> list[str]:
    return [*cells, *[""] * (wide - len(cells))][:wide]


def _told(rows: Sequence[Line], tell: Tell) -> Iterator[Line]:
    for number, line in enumerate(rows):
        if not number % TOLD_EVERY:
            tell(number / len(rows), f"looking at row {number:,} of {len(rows):,}")
        yield line


def plan_of(one: Import, table: Table | None = None, tell: Tell | None = None) -> Plan:
    """What would come in now. A list in doubt is read as if nothing stood in the doubtful cells' favour: they are
    refused. Every so many rows ``tell`` hears how far it is."""
    table = table or table_of(one)
    kind = KINDS[one.kind]
    matched, open_now = doubts(kind.fields, Matched.of(one.matched), table.rows)
    rows = list(read_lines(kind.fields, matched, table.rows))
    lines = _told(rows, tell) if tell else rows
    plan = Plan(kind, matched, open_now, rows)
    if kind.key == "fits":
        return replace(plan, says=plan_fits(lines, matched.known))
    if kind.key == "limits":
        return replace(plan, wears=plan_limits(lines, matched.known))
    if kind.key == "jobs":
        return replace(plan, pasts=plan_jobs(lines, matched.known))
    {"owners": plan_owners, "shelf": plan_shelf, "replacements": plan_replacements}[kind.key](lines, matched.known)
    return plan
