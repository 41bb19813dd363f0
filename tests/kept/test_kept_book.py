"""A book made by an older version opens in this one, whole: see README.md."""

import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import DatabaseError, connection
from django.db.models import Sum
from pytest_django import DjangoDbBlocker

from levelwind.cli.main import main
from levelwind.shop.models import (
    Bill,
    BoneReel,
    Draft,
    DragPlan,
    Job,
    MoneyEntry,
    Owner,
    PartOrder,
    Photo,
    Piece,
    Price,
    Reading,
    Stage,
    StepDone,
    StockEntry,
    Word,
)
from tests.kept.book import KEPT, Reader, opened, unpack

PAGES: dict[str, dict[str, Any]] = json.loads((KEPT / "book_pages.json").read_text())
SUMS: dict[str, Any] = json.loads((KEPT / "book_sums.json").read_text())


@pytest.fixture(scope="module")
def backup(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return unpack(tmp_path_factory.mktemp("kept"))


@pytest.fixture(scope="module", autouse=True)
def book(backup: Path, django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    with django_db_blocker.unblock():
        # Proved as it came, before its tables are brought up to date.
        assert main(["prove", str(backup), "--json"]) == 0
        with opened(backup):
            yield


def test_it_has_a_job_at_every_stage_and_every_kind_of_row() -> None:
    assert set(SUMS["stages"].values()) == set(Stage.values) - {Stage.SOLD}, "sold came after this book was kept"
    everywhere = (Bill, BoneReel, Draft, DragPlan, MoneyEntry, Owner, PartOrder, Photo, Piece, Price, StepDone, Word)
    assert all(model._default_manager.exists() for model in everywhere)
    assert set(Reading.objects.values_list("kind", flat=True)) == {"pull", "spin", "end_float", "turn"}
    assert set(MoneyEntry.objects.values_list("kind", flat=True)) >= {"charge", "tax", "payment", "credit"}
    assert set(Word.objects.values_list("said", flat=True)) == {"yes", "up_to", "no"}
    assert Reading.objects.filter(struck_out=True).exists() and Reading.objects.exclude(refused="").exists()


def test_nothing_points_to_nothing() -> None:
    with connection.cursor() as cursor:
        assert cursor.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert cursor.execute("PRAGMA foreign_key_check").fetchone() is None


def test_which_donor_a_part_came_off_is_read_out_of_the_old_notes_once() -> None:
    off = StockEntry.objects.filter(why="donor", note__contains="bone box")
    assert off.count() >= 8
    assert all(entry.bone and entry.note.endswith(f"bone box {entry.bone.pk}.") for entry in off)
    with pytest.raises(DatabaseError, match="never edited"), connection.cursor() as cursor:
        cursor.execute("UPDATE shop_stockentry SET bone_id = NULL")


def sums() -> dict[str, Any]:
    """Stages, money, stock, prices and pieces, by the tables alone."""
    jobs = list(Job.objects.order_by("tag"))
    money = MoneyEntry.objects.order_by("job__tag")
    lines = Price.objects.order_by("job__tag", "number")
    return {
        "stages": {job.tag: job.stage for job in jobs},
        "turns": {job.tag: job.turn for job in jobs if job.turn != "mine"},
        "promised": {job.tag: str(job.promised_on) for job in jobs if job.promised_on},
        "owed": dict(money.values_list("job__tag").annotate(Sum("amount_minor"))),
        "bills": {bill.number: bill.entries.aggregate(sum=Sum("amount_minor"))["sum"] for bill in Bill.objects.all()},
        "prices": {
            f"{price.job.tag} {price.number}": [
                sum(line.count * getattr(line, which) for line in price.lines.all())
                for which in ("low_minor", "likely_minor", "high_minor")
            ]
            for price in lines.select_related("job").prefetch_related("lines")
        },
        "words": [
            [word.price.job.tag, word.said, word.up_to_minor] for word in Word.objects.select_related("price__job")
        ],
        "stock": [
            list(row)
            for row in StockEntry.objects.order_by("part__number", "used")
            .values_list("part__number", "used")
            .annotate(Sum("change"))
        ],
        "on_order": [[order.part.number, order.count, bool(order.arrived_on)] for order in PartOrder.objects.all()],
        "bones": [[bone.reel, bone.spot, bone.paid_minor, bool(bone.stripped_on)] for bone in BoneReel.objects.all()],
        "pieces": [
            [tag, where, state, count]
            for (tag, where, state), count in sorted(
                Counter(Piece.objects.values_list("job__tag", "where", "state")).items()
            )
        ],
        "steps": dict(Counter(StepDone.objects.order_by("job__tag").values_list("job__tag", flat=True))),
        "typed": [[r.pk, r.kind, r.moment, r.typed] for r in Reading.objects.order_by("pk") if r.typed],
        "refused": {str(reading.pk): reading.refused for reading in Reading.objects.exclude(refused="")},
    }


def test_stages_money_stock_and_typed_numbers_are_as_they_were() -> None:
    now = json.loads(json.dumps(sums()))
    for what, kept in SUMS.items():
        assert now[what] == kept, what


@pytest.mark.parametrize("address", PAGES)
def test_every_page_and_paper_opens_with_its_figures(address: str) -> None:
    now, kept = Reader().read(address), dict(PAGES[address])
    figures = kept.pop("figures", [])
    there = now.pop("figures", [])
    lost = [figure for figure in figures if figure not in there]
    assert (now, lost) == (kept, [])


def test_it_is_backed_up_and_proved_by_this_version(
    tmp_path: Path, backup: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["backup", str(tmp_path / "safe"), "--json"]) == 0
    made = json.loads(capsys.readouterr().out)
    assert main(["prove", str(tmp_path / "safe"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["jobs"] == made["jobs"] == len(SUMS["stages"])
