"""A copy each day, proved, told with its age; of the earlier ones as many as are worth keeping."""

import shutil
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from django.test import Client
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st
from pytest_django import Settings

from levelwind.core.errors import LevelwindError
from levelwind.shop.book.services import schedule
from levelwind.shop.book.services.files import BOOK, PREFIX, backups_in
from levelwind.shop.book.services.schedule import copies_to_let_go, copy_sweep, folder_choose, made_at
from levelwind.shop.people.safekeeping import safekeeping_get, safekeeping_set
from tests.full_size import cases
from tests.jobs import a_job

NOON = datetime(2026, 11, 30, 12)  # noqa: DTZ001 - the names of copies are in UTC throughout


def named(at: datetime) -> Path:
    return Path(f"{PREFIX}{at:%Y%m%d-%H%M%S}")


def test_a_year_of_days_leaves_seven_days_four_weeks_and_twelve_months() -> None:
    """Kept by hand from the calendar of 2026: 24 to 30 November; Sundays 8, 15, 22 and 29 or the newest; month ends."""
    folders: list[Path] = []
    for day in range(400, -1, -1):
        folders.append(named(NOON - timedelta(days=day)))
        gone = copies_to_let_go(folders)
        folders = [folder for folder in folders if folder not in gone]
    kept = {folder.name[len(PREFIX) : len(PREFIX) + 8] for folder in folders}
    days, weeks = {f"202611{day}" for day in range(24, 31)}, {"20261130", "20261129", "20261122", "20261115"}
    ends = "20251231 20260131 20260228 20260331 20260430 20260531 20260630 20260731 20260831 20260930 20261031 20261130"
    assert kept == days | weeks | set(ends.split())


@pytest.mark.sampled
@given(st.lists(st.integers(0, 800 * 24), min_size=1, max_size=60, unique=True))
@settings(max_examples=cases(10, 200))
def test_the_newest_is_never_let_go_nor_more_than_needs_be_and_doing_it_twice_is_once(hours: list[int]) -> None:
    folders = [named(NOON - timedelta(hours=hour)) for hour in hours]
    gone = copies_to_let_go(folders)
    kept = [folder for folder in folders if folder not in gone]
    assert max(folders) in kept and len(kept) <= 7 + 4 + 12
    assert copies_to_let_go(kept) == [] and set(gone) <= set(folders)
    assert {made_at(folder) for folder in folders} >= {made_at(folder) for folder in kept}
    assert copies_to_let_go([Path("levelwind-backup-of-mine"), Path("photos"), *kept]) == []


@pytest.mark.django_db(transaction=True)
def test_the_day_s_copy_is_made_proved_told_and_tried_again(
    settings: Settings, tmp_path: Path, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.DATA = tmp_path / "data"
    settings.MEDIA_ROOT = settings.DATA / "media"
    settings.MEDIA_ROOT.mkdir(parents=True)
    stick = tmp_path / "stick"
    a_job()
    assert "No copy of the book has been made from here" in client.get("/counter/").content.decode()
    for wrong in ("stick", str(stick), str(settings.DATA), str(settings.MEDIA_ROOT)):
        assert client.post("/counter/copies/", {"folder": wrong}).status_code == 422
    copy_sweep()
    assert not safekeeping_get().tried_at, "nothing is copied anywhere unasked"
    stick.mkdir()
    client.post("/counter/copies/", {"folder": str(stick)})
    half = stick / f".{PREFIX}20200101-000000.unfinished"
    half.mkdir()
    copy_sweep()
    copy_sweep()
    (folder,) = backups_in(stick)
    assert (folder / BOOK).is_file() and not half.exists()
    assert "last copied and proved" in client.get("/counter/").content.decode()
    assert str(folder) in client.get("/counter/copies/").content.decode()

    safekeeping_set(tried_at=timezone.now() - timedelta(hours=25))
    shutil.move(stick, tmp_path / "pulled out")
    copy_sweep()
    assert "The last try failed: folder for copies was" in client.get("/counter/").content.decode()
    assert "can be one that is there now" in client.post("/counter/copies/now/", follow=True).content.decode()
    shutil.move(tmp_path / "pulled out", stick)
    copy_sweep()
    assert len(backups_in(stick)) == 1, "not tried again before an hour"
    monkeypatch.setattr(schedule, "AGAIN", timedelta(0))
    shutil.rmtree(folder)
    copy_sweep()
    assert len(backups_in(stick)) == 1 and not safekeeping_get().said


@pytest.mark.django_db
def test_on_the_network_only_who_runs_the_shop_says_where_copies_go(settings: Settings, client: Client) -> None:
    from django.contrib.auth.models import User

    settings.NETWORK, settings.ALLOWED_HOSTS = "192.0.2.7", ["testserver"]
    client.force_login(User.objects.create_user("merle"))
    assert client.post("/counter/copies/", {"folder": "/"}).status_code == 403
    with pytest.raises(LevelwindError, match="one that is there now"):
        folder_choose(folder="relative")
