"""The year before this book: the lists that the shop kept till then, brought in on its first day as anybody would."""

import csv
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from io import StringIO
from random import Random

from levelwind.demo.clock import ScriptedClock
from levelwind.demo.names import BENCH
from levelwind.demo.owners import KEEPERS, Keeper, phone
from levelwind.demo.patterns import COMMON
from levelwind.demo.troubles import complaint, draw_trouble
from levelwind.shop.book.services.imports import import_begin, import_start
from levelwind.shop.models import Owner

REELS = 58
"""Past jobs of that year, a few more than half as many as of the next: the shop grew."""
FIRST, LAST = 790, 410
"""Days before today between which they came; the last was home again before this book began."""
UNMENDED = 0.08
"""Share of them that went back as they were."""
NOT_SEEN_SINCE = (
    Keeper("tolvadden", "Merrin Tolvadden", "2 Tinner's Rise\nDrumlow"),
    Keeper("harrowmere", "Stig Harrowmere", "11 Sluice Road\nWithymoor End"),
    Keeper("quillhame", "Agnes Quillhame", "Bell Cottage\nAldermanby"),
)
"""Owners who came that year and not again."""
OWNERS = ("owner", "email", "telephone", "address", "note")
WHOSE = ("date in", "date out", "owner", "email")
JOBS = (*WHOSE, "reel", "maker", "model", "size", "problem", "outcome", "work done", "charged")


def lists_brought_in(clock: ScriptedClock, rng: Random) -> dict[str, Owner]:
    """Everybody the shop knew, and the reels of the year before; the owners by their keys."""
    known = (*KEEPERS, *NOT_SEEN_SINCE)
    people = [(each.name, each.email, phone(n), each.address, each.note) for n, each in enumerate(known)]
    _brought_in("owners", "people.csv", OWNERS, people)
    _brought_in("jobs", "reels mended.csv", JOBS, _reels(clock.today, known, rng))
    by_mail = {owner.email: owner for owner in Owner.objects.all()}
    return {each.key: by_mail[each.email] for each in known}


def _brought_in(kind: str, name: str, headings: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    file = StringIO()
    csv.writer(file).writerows([headings, *rows])
    import_start(one=import_begin(kind=kind, file_name=name, data=file.getvalue().encode(), by=BENCH), by=BENCH)


def _reels(today: date, owners: Sequence[Keeper], rng: Random) -> list[tuple[object, ...]]:
    rows: list[tuple[object, ...]] = []
    for number in range(REELS):
        kind = rng.choice(COMMON)
        trouble = draw_trouble(rng, kind.family, kind.code)
        came = today - timedelta(days=FIRST - round((FIRST - LAST) * (number + rng.random()) / REELS))
        owner = owners[-number - 1] if number < len(NOT_SEEN_SINCE) else rng.choice(owners)
        mended = rng.random() > UNMENDED
        rows.append((
            came, came + timedelta(days=round(rng.triangular(8, 40, 18))), owner.name, owner.email,
            kind.reel, kind.maker, kind.model, kind.size, complaint(rng, trouble, old=kind.is_old),
            "returned" if mended else "not repaired",
            " ".join(trouble.done) if mended else "",
            f"{rng.randrange(45, 150)}.00" if mended else "",
        ))  # fmt: skip
    return rows
