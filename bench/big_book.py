"""Every page's processor time, in the demo's book and in one grown from its rows to fifty thousand jobs.

``python bench/big_book.py [FOLDER] [SIZE]``: the two books are made in the folder and kept, or thrown away where none
is named; with a size of 0.1 the big one has a tenth of everything. Grown by copying the demo's rows over and over, each
copy some days older than the one before, every job of a copy ended, and paid but for one in a hundred.

Wanted: no page over 100 ms, and none that grows with the book. SQLite.
"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
from math import ceil
from pathlib import Path
from time import process_time
from typing import Any

JOBS, OWNERS, PATTERNS, PARTS, FITS, PHOTOS = 50_000, 15_000, 5_000, 200_000, 1_000_000, 300_000
DAYS = 9
"""So many days each copy lies before the one before: some ten years of a shop with four hundred copies."""
STEP = 100_000
"""Between the keys of a row and of its next copy; the demo has fewer rows than that in any table."""
UNPAID = 100
"""One in so many copies of a job that was not paid stays unpaid."""
COPIED = {
    "Pattern": ("Pattern", "PatternPlace", "Build", "PlaceLimit", "PatternSign", "PatternPicture"),
    "Part": ("Part", "Replacement"),
    "Owner": ("Owner",),
    "Fit": ("Fit",),
    "Photo": ("Photo",),
    "Job": (
        *("Parcel", "Reel", "Job", "JobEvent", "JobNote", "Piece", "StepDone", "DragPlan", "Seen", "Reading", "Stuck"),
        *("Sighting", "Price", "PriceLine", "Word", "Promise", "Bill", "MoneyEntry", "Sending", "StockEntry"),
        *("PartOrder", "BoneReel", "Letter", "LetterWay"),
    ),
}
"""The tables that are copied, by the one whose number of rows says how many times."""
ANOTHER = {
    "Owner.name": "name || ' ' || k",
    "Owner.kind": "''",
    "Owner.phone": "phone || k",
    "Pattern.model": "model || '-' || k",
    "Part.number": "number || '-' || k",
    "PatternPlace.part_number": "CASE part_number WHEN '' THEN '' ELSE part_number || '-' || k END",
    "Job.tag": "tag || '-' || k",
    "Job.stage": "CASE WHEN stage IN ('home', 'sent_back', 'spares', 'sold') THEN stage ELSE 'home' END",
    "Job.turn": "'mine'",
    "Job.short_of": "''",
    "Job.waiting_since": "NULL",
    "Job.paused_since": "NULL",
    "Job.after_no": "''",
    "Bill.number": "number || '-' || k",
    "Bill.press": "NULL",
    "Letter.once": "lower(hex(randomblob(16)))",
    "Sending.follow_up_note": "CASE WHEN k % 100 AND follow_up_note = '' THEN 'well' ELSE follow_up_note END",
    "Piece.where": "CASE \"where\" WHEN 'cell' THEN 'reel' ELSE \"where\" END",
    "Piece.cell": "NULL",
    "PartOrder.arrived_on": "CASE WHEN k % 100 THEN COALESCE(arrived_on, expected_on, ordered_on) END",
}
"""What a copy has otherwise, but for its keys and days."""
ENDED_SO = (
    # Tags and bills of each year, counted from 1001: the demo's own are fewer.
    """UPDATE shop_job SET tag = n.tag FROM (SELECT id, printf('%02d-%04d', strftime('%Y', booked_in_at) % 100, 1000 +
    row_number() OVER (PARTITION BY strftime('%Y', booked_in_at) ORDER BY booked_in_at)) AS tag
    FROM shop_job WHERE id > :step) n WHERE n.id = shop_job.id""",
    """UPDATE shop_bill SET number = n.number FROM (SELECT id, printf('B%02d-%04d', strftime('%Y', issued_at) % 100,
    1000 + row_number() OVER (PARTITION BY strftime('%Y', issued_at) ORDER BY issued_at)) AS number
    FROM shop_bill WHERE id > :step) n WHERE n.id = shop_bill.id""",
    """INSERT INTO shop_sending (job_id, old_parts_bagged, old_parts_refused, follow_up_note, came_back, carrier,
    tracking, proof, sent_at) SELECT j.id, 0, 0, '', 0, '', '', '{}', j.stage_since FROM shop_job j LEFT JOIN
    shop_sending s ON s.job_id = j.id WHERE j.id > :step AND j.stage = 'home' AND s.id IS NULL""",
    """UPDATE shop_sending SET sent_at = (SELECT stage_since FROM shop_job j WHERE j.id = job_id) WHERE id > :step
    AND sent_at IS NULL AND (SELECT stage FROM shop_job j WHERE j.id = job_id) = 'home'""",
    """INSERT INTO shop_moneyentry (at, "by", note, job_id, kind, text, count, amount_minor)
    SELECT max(at), '', '', job_id, CASE WHEN sum(amount_minor) > 0 THEN 'payment' ELSE 'refund' END, 'settled', 1,
    -sum(amount_minor) FROM shop_moneyentry WHERE job_id > :step AND (job_id / :step) % :unpaid
    GROUP BY job_id HAVING sum(amount_minor) <> 0""",
)
"""What makes a shop's past of the copies."""


def counts(size: float) -> dict[str, int]:
    """By the name of a table: how many times the demo's rows are in the big book."""
    from django.apps import apps

    wanted = {"Pattern": PATTERNS, "Part": PARTS, "Owner": OWNERS, "Fit": FITS, "Photo": PHOTOS, "Job": JOBS}
    rows = {name: apps.get_model("shop", name)._default_manager.count() for name in wanted}
    times = {name: max(ceil(size * count / max(rows[name], 1)), 2) for name, count in wanted.items()}
    # No two copies of a statement are about the same part and pattern: one is even, the other odd and not its multiple.
    times["Pattern"] += times["Pattern"] % 2
    times["Part"] += 1 - times["Part"] % 2
    return {name: times[leader] for leader, names in COPIED.items() for name in names}


def grow(size: float) -> None:
    """Copy the rows of the open book over and over: the keys and days of a copy are moved, and its names changed."""
    from django.apps import apps
    from django.db import connection, transaction

    from levelwind.shop.finding.kept import findings_keep, findings_let_go
    from levelwind.shop.sums import sums_keep, sums_let_go

    times = counts(size)
    findings_let_go()
    sums_let_go()
    with connection.constraint_checks_disabled(), transaction.atomic(), connection.cursor() as cursor:
        for name in times:
            fields = apps.get_model("shop", name)._meta.concrete_fields
            table = fields[0].model._meta.db_table
            named = ", ".join(f'"{field.column}"' for field in fields)
            values = ", ".join(_moved(field, times) for field in fields)
            cursor.execute(
                f"INSERT OR IGNORE INTO {table} ({named}) WITH RECURSIVE copy(k) AS "  # noqa: S608
                f"(SELECT 1 UNION ALL SELECT k + 1 FROM copy WHERE k < {times[name] - 1}) "
                f"SELECT {values} FROM copy CROSS JOIN {table} WHERE {table}.id < {STEP}"
            )
        for statement in ENDED_SO:
            cursor.execute(statement.replace(":step", str(STEP)).replace(":unpaid", str(UNPAID)))
    findings_keep()
    sums_keep()
    with connection.cursor() as cursor:
        cursor.execute("VACUUM")


def _moved(field: Any, times: dict[str, int]) -> str:
    """What stands in a column of copy ``k``, as SQL."""
    column, here = f'"{field.column}"', field.model.__name__
    if (name := f"{here}.{field.name}") in ANOTHER:
        return ANOTHER[name]
    if field.primary_key:
        return f"{column} + k * {STEP}"
    if field.is_relation:
        there = times.get(field.related_model.__name__, 1)
        return column if there == 1 else f"{column} + (k % {there}) * {STEP}"
    if field.get_internal_type() == "DateTimeField":
        return f"datetime({column}, '-' || (k * {DAYS}) || ' days')"
    return f"date({column}, '-' || (k * {DAYS}) || ' days')" if field.get_internal_type() == "DateField" else column


def pages() -> dict[str, str]:
    """Each page's address by its name, of things that are in both books: only what lies around them differs."""
    from levelwind.shop.models import BoneReel, Job, Part, Stage

    ours = Job.objects.filter(pk__lt=STEP, pattern__isnull=False).order_by("pk")
    home = ours.filter(stage=Stage.HOME, readings__isnull=False, bills__isnull=False).first()
    jobs = {"home": home, **{stage: ours.filter(stage=stage).first() for stage in Stage.values if stage != "home"}}
    apart, fresh = jobs["apart"], jobs["booked_in"]
    assert home and apart and fresh and apart.pattern
    part = Part.objects.filter(pk__lt=STEP, fits__isnull=False, entries__isnull=False).order_by("pk").first()
    bone = BoneReel.objects.filter(pk__lt=STEP).order_by("pk").first()
    place = apart.pattern.fits.order_by("pk").values_list("place", flat=True).first()
    assert part and bone and place
    steps = {
        f"{name}, {stage}": f"/jobs/{job.tag}/{name}/"
        for stage, name in (
            *(("booked_in", "look-over"), ("looked_over", "price"), ("agreed", "parts"), ("apart", "apart")),
            *(("apart", "parts"), ("apart", "drag"), ("together", "together"), ("together", "prove")),
            *(("proved", "box"), ("home", "money"), ("home", "prove"), ("home", "stays"), ("booked_in", "name")),
            *(("price_sent", "price"), ("agreed", "ready"), ("apart", "notes"), ("proved", "prove")),
        )
        if (job := jobs[stage])
    }
    return {
        "bench": "/",
        "gone home": "/?ended",
        "gone home, page 500": "/?ended&page=500",
        "bench, past the promise": "/?due=late",
        "find, a word": "/find/?q=slips",
        "find, two words": "/find/?q=drag+slips",
        "find, a tag": f"/find/?q={home.tag}",
        "find, an owner": f"/find/?q={home.owner.name.split()[0]}",
        "find, mistyped": "/find/?q=handel+slpis",
        "find, two letters": "/find/?q=dr",
        "book in": "/book-in/",
        "job": f"/jobs/{apart.tag}/",
        "job, home": f"/jobs/{home.tag}/",
        **steps,
        "proof.pdf": f"/jobs/{home.tag}/proof.pdf",
        "pattern book": "/patterns/",
        "pattern book, a word": "/patterns/?q_pattern=star",
        "pattern book, page 90": "/patterns/?page=90",
        "pattern": f"/patterns/{apart.pattern.pk}/",
        "place of a pattern": f"/patterns/{apart.pattern.pk}/place/{place}/",
        "pattern, add": "/patterns/add/",
        "shelf": "/shelf/",
        **{f"shelf, {view}": f"/shelf/?view={view}" for view in ("here", "short", "ordered")},
        "shelf, a word": "/shelf/?q_part=washer",
        "part": f"/shelf/part/{part.pk}/",
        "orders": "/shelf/orders/",
        "bone box": "/shelf/bone-box/",
        "donor reel": f"/shelf/bone-box/{bone.pk}/",
        "counter": "/counter/",
        "counter, typing": f"/counter/?owner={home.owner.name[:4]}",
        "owner": f"/counter/owners/{home.owner_id}/",
        "shop": "/counter/shop/",
        "promises": "/counter/promises/",
        "hours": "/counter/hours/",
        "own reels": "/counter/own/",
        "sell": "/counter/sell/",
        "book to take along": "/counter/book/",
        "how the shop did": "/counter/sunday/",
        "reels behind it": "/counter/sunday/reels/",
        "owners not seen": "/counter/sunday/not-seen/",
        "service due": "/counter/service/",
        "next job": "/next/",
        "what to order": "/shelf/orders/plan/",
        "count": "/shelf/count/",
        "bill": f"/counter/bills/{home.bills.first().number}/",
        "fits": "/fits/",
        "fits, a bearing": "/fits/?kind=bearing&bore_mm=8&outer_mm=22&width_mm=7",
    }


def timed() -> dict[str, tuple[float, float, int, int]]:
    """Each page's processor milliseconds, when it was asked for first and the least of three; its queries and bytes.

    The first has what a process reads once, its modules and files too: it is to be held against the demo's.
    """
    from django.conf import settings
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    settings.ALLOWED_HOSTS = ["testserver"]
    client, found = Client(), {}
    for name, address in pages().items():
        told = []
        for _ in range(3):
            with CaptureQueriesContext(connection) as asked:
                start = process_time()
                answer = client.get(address)
                size = len(b"".join(answer)) if answer.streaming else len(answer.content)
                told.append(process_time() - start)
            if told[0] > 3:
                break
        if answer.status_code != 200:
            name = f"{name} ({answer.status_code})"
        found[name] = (1000 * told[0], 1000 * min(told), len(asked), size)
    return found


def in_book(folder: Path, *what: str) -> str:
    """Run this file on the book in the folder: settings are read once, so each book has its own process."""
    told = {"LEVELWIND_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "levelwind.project.settings"}
    run = subprocess.run(
        [sys.executable, __file__, *what], env=os.environ | told, check=True, stdout=subprocess.PIPE, text=True
    )
    return run.stdout


def told(what: str, *values: str) -> None:
    import django
    from django.core.management import call_command

    django.setup()
    start = process_time()
    call_command("migrate", verbosity=0)
    if what == "--seed":
        from levelwind.demo.seed import seed

        seed()
    elif what == "--grow":
        grow(float(values[0]))
    else:
        print(json.dumps({"migrated": process_time() - start, "pages": timed()}))


def made(folder: Path, size: float) -> tuple[Path, Path]:
    demo, big = folder / "demo", folder / f"big-{size:g}"
    if not demo.exists():
        demo.mkdir(parents=True)
        in_book(demo, "--seed")
    if not big.exists():
        shutil.copytree(demo, big)
        in_book(big, "--grow", str(size))
    return demo, big


def main() -> None:
    if sys.argv[1:2] and sys.argv[1].startswith("--"):
        return told(*sys.argv[1:])
    with tempfile.TemporaryDirectory() as passing:
        folder = Path(sys.argv[1] if sys.argv[1:] else passing)
        demo, big = made(folder, float(sys.argv[2]) if sys.argv[2:] else 1.0)
        small, large = (json.loads(in_book(book, "--time")) for book in (demo, big))
    print(f"{'page':28}{'demo: first, ms':>17}{'big: first, ms':>16}{'times':>7}{'queries':>9}{'kB':>6}")
    for name, (first, ms, asked, _) in small["pages"].items():
        big_first, big_ms, big_asked, size = large["pages"].get(name, (float("nan"), float("nan"), 0, 0))
        times = f"{first:9.0f}{ms:8.0f}{big_first:8.0f}{big_ms:8.0f}{big_ms / ms:7.1f}"
        print(f"{name:28}{times}{f'{asked} {big_asked}':>9}{size // 1000:6}")
    over = sum(ms > 100 for _, ms, *_ in large["pages"].values())
    print(f"{over} of {len(large['pages'])} pages over 100 ms; migrations took {large['migrated']:.1f} s")


if __name__ == "__main__":
    main()
