"""The invented shop, of which all tests here read one copy."""

from collections import Counter
from collections.abc import Iterator
from datetime import timedelta

import pytest
from django.db.models import F, Max, Min, Q
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries, DjangoDbBlocker

from levelwind.core.errors import LevelwindError
from levelwind.core.figures import Figure
from levelwind.demo.before import NOT_SEEN_SINCE, REELS
from levelwind.demo.owners import KEEPERS
from levelwind.demo.seed import OPENED, seed
from levelwind.documents.proof import ProofSheet, layout
from levelwind.shop.finding.selectors import find
from levelwind.shop.jobs.selectors.jobs import open_jobs, parts_short
from levelwind.shop.models import (
    Bill,
    BoneReel,
    Draft,
    Fit,
    Import,
    Job,
    JobEvent,
    MoneyEntry,
    Owner,
    PartOrder,
    Pattern,
    Photo,
    Piece,
    Reading,
    Sending,
    Shop,
    Stage,
    StepDone,
    Turn,
)
from levelwind.shop.papers.selectors.sheets import proof_sheet
from levelwind.shop.papers.selectors.takedown_guide import takedown_sheet
from levelwind.shop.parts.selectors.shelf import part_entries, part_list, parts_with_stock, stock_entries
from levelwind.shop.people.selectors import debt_list, follow_up_list
from levelwind.shop.readings.selectors.limits import limits_of
from levelwind.shop.readings.selectors.readings import readings_of
from levelwind.shop.takedown.selectors.pieces import job_work
from tests.demo_shop import book_in, demo_copy
from tests.documents.paper import pages


@pytest.fixture(scope="module", autouse=True)
def seeded(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[None]:
    with django_db_blocker.unblock(), book_in(demo_copy(tmp_path_factory.mktemp("demo") / "data")):
        yield


def test_there_are_jobs_at_every_stage_and_under_both_side_notes() -> None:
    stages = Counter(Job.objects.values_list("stage", flat=True))
    assert set(stages) == set(Stage) - {Stage.SOLD}, "the demo has no reel of the shop's own"
    assert open_jobs().count() >= 45 and Job.objects.count() >= 110
    turns = Counter(open_jobs().values_list("turn", flat=True))
    assert turns[Turn.OWNER] >= 4 and turns[Turn.PART] >= 3
    assert all(parts_short(job) for job in open_jobs().filter(turn=Turn.PART)), "nobody says which part"
    for stage in (Stage.TOGETHER, Stage.PROVED, Stage.BOXED):
        assert stages[stage] >= 3


def test_some_promises_are_late_and_most_are_not() -> None:
    late = open_jobs().filter(promised_on__lt=timezone.localdate()).count()
    assert 3 <= late <= open_jobs().count() // 4


def test_the_crate_came_as_one_parcel_with_a_picture_and_is_at_mixed_stages() -> None:
    crate = Job.objects.filter(owner__name="Charter boat Saltfern")
    assert crate.count() == 12 and crate.values("parcel").distinct().count() == 1
    assert len(set(crate.values_list("stage", flat=True))) >= 8
    assert crate.filter(photos__moment="found").distinct().count() == 12


def test_the_history_covers_two_years_the_first_from_lists_and_none_of_it_lies_ahead() -> None:
    now, today = timezone.now(), timezone.localdate()
    span = JobEvent.objects.aggregate(first=Min("at"), last=Max("at"))
    assert span["last"] < now and now - span["first"] > timedelta(days=700)
    before = Job.objects.filter(events__text__startswith="Brought in from the list")
    assert before.count() == REELS and not before.filter(stage_since__gt=now - timedelta(days=OPENED)).exists()
    assert not before.filter(pattern=None).exists(), "a reel of the old list has no pattern"
    assert Import.objects.filter(state="done").count() == 2
    for rows in (
        Job.objects.filter(Q(booked_in_at__gt=now) | Q(stage_since__gt=now)),
        StepDone.objects.filter(at__gt=now),
    ):
        assert not rows.exists()
    assert not stock_entries().filter(at__gt=now).exists() and not MoneyEntry.objects.filter(at__gt=now).exists()
    assert not PartOrder.objects.filter(Q(ordered_on__gt=today) | Q(arrived_on__gt=today)).exists()


def test_no_job_went_home_before_it_came_or_was_priced_before_it_was_looked_over() -> None:
    assert not Sending.objects.filter(sent_at__lte=F("job__booked_in_at")).exists()
    for job in Job.objects.filter(booked_in_at__gt=timezone.now() - timedelta(days=OPENED)).prefetch_related("events"):
        words = [event.text for event in sorted(job.events.all(), key=lambda event: (event.at, event.pk))]
        assert words[0].startswith("Booked in")
        marks = [words.index(mark) for mark in ("Now looked over.", "Now price sent.", "Now home.") if mark in words]
        assert marks == sorted(marks), job.tag


def test_tags_and_bills_are_numbered_in_the_order_of_time() -> None:
    tags = list(Job.objects.order_by("booked_in_at", "pk").values_list("tag", flat=True))
    assert tags == sorted(tags)
    bills = list(Bill.objects.order_by("issued_at", "pk").values_list("number", flat=True))
    assert bills == sorted(bills) and len(set(bills)) == len(bills)


def test_the_ledger_was_never_below_nothing() -> None:
    for part in parts_with_stock():
        assert min([entry.after for entry in part_entries(part)], default=0) >= 0, part


def test_the_shelf_has_what_a_shelf_has() -> None:
    assert part_list(view="here").count() >= 75
    assert part_list(view="short").exists() and part_list(view="order").exists()
    assert stock_entries().filter(used=True).exists()
    assert {row["why"] for row in stock_entries().values("why")} >= {"bought", "donor", "counted", "taken", "thrown"}
    assert set(Fit.objects.values_list("basis", flat=True)) >= {"declared", "measured", "standard", "tried"}
    assert BoneReel.objects.count() >= 10


def test_every_piece_of_an_open_reel_is_somewhere_and_a_closed_one_has_none_left_over() -> None:
    assert not Piece.objects.filter(where="cell", cell__isnull=True).exists()
    closed = Job.objects.filter(stage__in=[Stage.TOGETHER, Stage.PROVED, Stage.BOXED, Stage.HOME], pieces__isnull=False)
    for job in closed.distinct():
        assert job_work(job).questions == (), job.tag


def test_every_reading_and_every_picture_says_that_it_is_invented() -> None:
    assert Shop.objects.get().invented
    assert Reading.objects.count() > 100 and not Reading.objects.filter(invented=False).exists()
    logs = Reading.objects.exclude(file="")
    assert logs.count() >= 20 and not logs.exclude(refused="").exists()
    for log in logs[:3]:
        assert log.file.read().startswith(b"# invented")
    assert 15 <= Photo.objects.values("sha256").distinct().count() <= 40


def test_some_jobs_have_all_that_a_proof_sheet_shows() -> None:
    sheets = [proof_sheet(job) for job in Job.objects.filter(photos__moment="left").distinct()]
    assert sum(_shows_all(sheet) for sheet in sheets) >= 3


def both_drawn(figure: Figure | None) -> bool:
    return figure is not None and {"as-found", "as-left"} <= {line.role for line in figure.lines}


def test_some_spools_run_down_with_less_dry_friction_after_the_work_and_stand_among_others() -> None:
    tables = Reading.objects.filter(kind="spin", moment="left").exclude(file="")
    spun = Job.objects.filter(pk__in=tables.values("job"))
    sheets = [proof_sheet(job) for job in spun]
    with_curves = [sheet for sheet in sheets if both_drawn(sheet.speeds)]
    assert len(with_curves) >= 4 and all(len(sheet.shares) == 3 for sheet in with_curves)
    verdicts = [readings_of(job).verdict for job in spun]
    assert sum("dry friction takes less off the speed" in words for words in verdicts) >= 4
    assert sum(any("others of this pattern" in words for words in sheet.others) for sheet in sheets) >= 3
    assert all(len(pages(layout(sheet), 20)) <= 2 for sheet in with_curves)


def test_every_pattern_has_its_limits() -> None:
    for pattern in Pattern.objects.all():
        assert set(limits_of(pattern)) == {"end_float", "turn"}, pattern


def _shows_all(sheet: ProofSheet) -> bool:
    curves = both_drawn(sheet.curves)
    pictures = bool(sheet.pictures) and all(pair.as_found and pair.as_left for pair in sheet.pictures)
    return curves and pictures and bool(sheet.drag_check and sheet.setting and sheet.done and sheet.old_parts)


def test_a_reel_half_apart_has_a_guide_to_print() -> None:
    half_way = Job.objects.filter(stage=Stage.APART, pieces__where="cell").distinct()
    assert all(takedown_sheet(job).steps for job in half_way)


def test_money_is_owed_in_part_and_by_some() -> None:
    owed = debt_list()
    assert 3 <= len(owed) <= 12 and all(debt.owes_minor > 0 for debt in owed)
    assert MoneyEntry.objects.filter(kind="payment", text__contains="the rest to follow").exists()


def test_some_owners_are_to_be_asked_and_one_reel_came_back() -> None:
    due = follow_up_list(timezone.localdate())
    assert 1 <= due.count() <= 12
    back = Sending.objects.get(came_back=True)
    assert Job.objects.filter(serial=back.job.serial).exclude(pk=back.job.pk).get().stage == Stage.APART


def test_every_owner_of_the_plan_is_in_the_book_and_a_booking_stands_unfinished() -> None:
    assert Owner.objects.count() == len(KEEPERS) + len(NOT_SEEN_SINCE) and not Owner.objects.filter(jobs=None).exists()
    assert Draft.objects.get().data["reel2_reel"] == "Ulbren 40"


def test_the_search_finds_an_owner_in_few_questions(django_assert_max_num_queries: DjangoAssertNumQueries) -> None:
    with django_assert_max_num_queries(4):
        found = [one.subject for one in find("quarrie").answers]
    assert any(isinstance(one, Job) for one in found)
    assert all((one if isinstance(one, Owner) else one.owner).name == "Sunniva Quarrie" for one in found)


@pytest.mark.parametrize("address", ["/", "/shelf/", "/shelf/orders/", "/shelf/bone-box/", "/counter/", "/patterns/"])
def test_the_pages_of_the_shop_open(client: Client, address: str) -> None:
    assert client.get(address).status_code == 200


@pytest.mark.parametrize("stage", [stage for stage in Stage if stage != Stage.SOLD])
def test_every_step_of_a_job_at_each_stage_opens(client: Client, stage: Stage) -> None:
    tag = Job.objects.filter(stage=stage).order_by("-pk")[0].tag
    for step in ("", "look-over/", "price/", "apart/", "parts/", "drag/", "together/", "prove/", "box/", "proof.pdf"):
        assert client.get(f"/jobs/{tag}/{step}").status_code == 200, step


def test_a_second_shop_is_not_mixed_into_the_first() -> None:
    with pytest.raises(LevelwindError, match="not empty"):
        seed()
