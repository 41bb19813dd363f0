"""Reading recordings beside the pages: to the end, stopped in the midst, deleted in the midst, after a kill."""

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from threading import Event
from time import monotonic, sleep
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.db import OperationalError, ProgrammingError, transaction
from django.test import Client
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.recordings.limited import Stopped
from levelwind.shop import queue
from levelwind.shop.models import Job, JobEvent, Reading, Work
from levelwind.shop.queue import RECORDINGS, Workers, work_off
from levelwind.shop.readings.services import work as reading_work
from levelwind.shop.readings.services.analysis import Found
from levelwind.shop.readings.services.readings import reading_correct, reading_go_on, reading_stop, recording_upload
from levelwind.shop.readings.services.work import readings_sweep, work_wait
from tests.demo_shop import empty_book
from tests.emptied import emptied_afterwards, triggers_back
from tests.jobs import a_job
from tests.shop.readings.test_readings import a_log

pytestmark = [pytest.mark.usefixtures("emptied_afterwards"), pytest.mark.limited]
__all__ = ["emptied_afterwards", "triggers_back"]


@pytest.fixture
def desk() -> Iterator[None]:
    """The app is open: recordings are read in its threads."""
    workers = Workers([readings_sweep])
    yield
    workers.close()


GIVE_UP_S = 300


class SlowReader:
    """Takes the place of the analysis: it tells its progress and waits to be let go or stopped."""

    def __init__(self) -> None:
        self.let_go, self.may_stop = Event(), Event()
        self.may_stop.set()
        self.begun: list[int] = []
        self.ended: list[int] = []

    def __call__(self, reading: Reading, *, progress: Callable[[float, str], None], stop: Event) -> Found:
        self.begun.append(reading.pk)
        progress(0.4, "following the mark")
        try:
            while not self.let_go.wait(0.01):
                if stop.is_set():
                    self.may_stop.wait(GIVE_UP_S)
                    raise Stopped("stopped by hand")
            return Found({"kind": "pull", "seen": reading.pk})
        finally:
            self.ended.append(reading.pk)


@pytest.fixture
def reader(monkeypatch: pytest.MonkeyPatch) -> Iterator[SlowReader]:
    reader = SlowReader()
    monkeypatch.setattr(reading_work, "analyse", reader)
    yield reader
    reader.let_go.set()


def _soon(there: Callable[[], Any], what: str = "") -> None:
    """Wait for it; only where it never comes does the clock end the wait."""
    last = monotonic() + GIVE_UP_S
    while not there():
        assert monotonic() < last, f"still not so after {GIVE_UP_S} s: {what}"
        sleep(0.01)


def _upload(job: Job | None = None, **more: Any) -> Reading:
    return recording_upload(job=job or a_job(), kind="pull", moment="found", file=a_log(), **more)


def _now(reading: Reading) -> Reading:
    return Reading.objects.get(pk=reading.pk)


def test_a_log_is_read_beside_the_page_that_took_it_in(desk: None) -> None:
    reading = _upload()
    assert (reading.work, reading.analysis) in [(Work.WAITING, {}), (Work.UNDER_WAY, {})]
    work_wait(reading.pk, GIVE_UP_S)
    read = _now(reading)
    assert (read.work, read.part_done, read.doing, read.refused) == (Work.READ, 1.0, "", "")
    assert read.analysis["pulls"][0]["running_N"]["value"] == pytest.approx(30.2, abs=0.3)


def test_progress_is_in_the_book_while_it_is_read(desk: None, reader: SlowReader) -> None:
    reading = _upload()
    _soon(lambda: _now(reading).doing == "following the mark")
    assert (_now(reading).work, _now(reading).part_done) == (Work.UNDER_WAY, 0.4)
    work_wait(reading.pk, 0)
    assert _now(reading).work == Work.UNDER_WAY
    reader.let_go.set()
    work_wait(reading.pk, GIVE_UP_S)
    assert _now(reading).analysis == {"kind": "pull", "seen": reading.pk}


def test_progress_is_written_at_most_twice_a_second_but_for_what_is_new(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[tuple[float, str]] = []
    words = [(7.0, 0.1, "decoding"), (7.4, 0.2, "decoding"), (7.55, 0.3, "decoding"), (7.75, 0.4, "fitting")]

    def four_words(reading: Reading, *, progress: Callable[[float, str], None], stop: Event) -> Found:
        for clock, part, doing in words:
            monkeypatch.setattr(reading_work, "monotonic", lambda now=clock: now)
            progress(part, doing)
            seen.append((_now(reading).part_done, _now(reading).doing))
        return Found()

    monkeypatch.setattr(reading_work, "analyse", four_words)
    _upload()
    assert seen == [(0.1, "decoding"), (0.1, "decoding"), (0.3, "decoding"), (0.4, "fitting")]


def test_two_are_read_at_a_time_and_the_third_waits(desk: None, reader: SlowReader) -> None:
    job = a_job()
    readings = [_upload(job) for _ in range(3)]
    _soon(lambda: len(reader.begun) == 2)
    assert [_now(each).work for each in readings] == [Work.UNDER_WAY, Work.UNDER_WAY, Work.WAITING]
    reader.let_go.set()
    for each in readings:
        work_wait(each.pk, GIVE_UP_S)
    assert {_now(each).work for each in readings} == {Work.READ}


def test_nothing_is_begun_before_the_book_holds_the_reading(desk: None, reader: SlowReader) -> None:
    with transaction.atomic():
        _upload()
        sleep(0.1)
        assert reader.begun == []
    _soon(lambda: len(reader.begun) == 1)


def test_stopped_in_the_midst_it_keeps_its_file_and_goes_on_later(desk: None, reader: SlowReader) -> None:
    reading = _upload()
    _soon(lambda: reader.begun)
    assert reading_stop(reading=reading).work == Work.STOPPED
    _soon(lambda: reader.ended)
    assert (_now(reading).work, _now(reading).refused, _now(reading).file.size) == (Work.STOPPED, "", a_log().size)
    reader.let_go.set()
    assert reading_go_on(reading=reading).work in (Work.WAITING, Work.UNDER_WAY, Work.READ)
    work_wait(reading.pk, GIVE_UP_S)
    assert _now(reading).analysis["seen"] == reading.pk


def test_stopped_before_its_turn_it_is_never_begun(desk: None, reader: SlowReader) -> None:
    job = a_job()
    *_, third = [_upload(job) for _ in range(3)]
    _soon(lambda: len(reader.begun) == 2)
    reading_stop(reading=third)
    reader.let_go.set()
    work_wait(third.pk, GIVE_UP_S)
    assert (_now(third).work, third.pk in reader.begun) == (Work.STOPPED, False)


def test_going_on_before_it_has_noticed_the_stop_reads_it_all_the_same(desk: None, reader: SlowReader) -> None:
    reading = _upload()
    _soon(lambda: reader.begun)
    """Its other self still ends: it writes nothing more, for the row carries another signature."""
    reader.may_stop.clear()
    reading_stop(reading=reading)
    signed = _now(reading).taken_by
    reading_go_on(reading=reading)
    _soon(lambda: len(reader.begun) == 2, "begun again by the other thread")
    assert _now(reading).taken_by not in ("", signed)
    reader.may_stop.set()
    _soon(lambda: len(reader.ended) == 1)
    assert _now(reading).work == Work.UNDER_WAY
    reader.let_go.set()
    work_wait(reading.pk, GIVE_UP_S)
    assert (_now(reading).work, len(reader.begun)) == (Work.READ, 2)


def test_a_read_one_cannot_be_stopped(desk: None) -> None:
    reading = _upload()
    work_wait(reading.pk, GIVE_UP_S)
    assert reading_stop(reading=reading).work == Work.READ
    assert reading_go_on(reading=reading).work == Work.READ


def test_a_job_deleted_in_the_midst_is_no_fault(
    desk: None, reader: SlowReader, caplog: pytest.LogCaptureFixture
) -> None:
    reading = _upload()
    _soon(lambda: reader.begun)
    reading.job.delete()
    reader.let_go.set()
    _soon(lambda: reader.ended)
    work_wait(reading.pk, GIVE_UP_S)
    assert not Reading.objects.exists()
    assert not caplog.records


def test_one_deleted_or_stopped_elsewhere_ends_at_its_next_word(desk: None, monkeypatch: pytest.MonkeyPatch) -> None:
    ended = Event()

    def talkative(reading: Reading, *, progress: Callable[[float, str], None], stop: Event) -> Found:
        while True:
            progress(0.1, "listening")
            if stop.wait(0.01):
                ended.set()
                raise Stopped("")
        return Found()

    monkeypatch.setattr(reading_work, "analyse", talkative)
    monkeypatch.setattr(reading_work, "TELL_S", 0.02)
    reading = _upload()
    _soon(lambda: _now(reading).doing == "listening")
    Reading.objects.filter(pk=reading.pk).update(work=Work.STOPPED)
    assert ended.wait(GIVE_UP_S)


@pytest.mark.parametrize("fault", [ZeroDivisionError("spilt"), MemoryError(), InputError("x", "y", "z" * 500)])
def test_whatever_fails_the_row_is_read_and_says_so(
    desk: None, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture, fault: Exception
) -> None:
    def fails(*_: Any, **__: Any) -> Found:
        raise fault

    monkeypatch.setattr(reading_work, "analyse", fails)
    reading = _upload()
    work_wait(reading.pk, GIVE_UP_S)
    read = _now(reading)
    assert (read.work, read.analysis) == (Work.READ, {})
    if isinstance(fault, InputError):
        assert read.refused.startswith("x was y; allowed is zzz")
        assert not caplog.records
    else:
        assert "The file is kept" in read.refused
        assert type(fault).__name__ in caplog.text


def test_an_answer_that_the_book_will_not_take_is_refused(
    desk: None, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(reading_work, "analyse", lambda *_, **__: Found({"speed": float("nan")}))
    reading = _upload()
    work_wait(reading.pk, GIVE_UP_S)
    assert (_now(reading).work, "The file is kept" in _now(reading).refused) == (Work.READ, True)


def test_a_busy_book_costs_progress_and_not_the_reading(
    desk: None, reader: SlowReader, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    mine = reading_work._mine

    class Busy:
        def update(self, **fields: Any) -> int:
            raise OperationalError("database is locked")

        exists = update

    def busy_once(reading: Reading) -> Any:
        return mine(reading) if reader.let_go.is_set() else Busy()

    monkeypatch.setattr(reading_work, "_mine", busy_once)
    reading = _upload()
    _soon(lambda: "could not be written" in caplog.text)
    reader.let_go.set()
    work_wait(reading.pk, GIVE_UP_S)
    assert _now(reading).work == Work.READ


def test_closing_the_app_leaves_what_is_not_read_for_the_next_opening(reader: SlowReader) -> None:
    workers = Workers([readings_sweep])
    job = a_job()
    readings = [_upload(job) for _ in range(3)]
    _soon(lambda: len(reader.begun) == 2)
    workers.close()
    assert {_now(each).tries for each in readings} == {0}  # no worker was killed over them
    assert {_now(each).work for each in readings} == {Work.WAITING}
    assert len(reader.ended) == 2
    reader.let_go.set()
    workers = Workers([readings_sweep])
    for each in readings:
        work_wait(each.pk, GIVE_UP_S)
    assert {_now(each).work for each in readings} == {Work.READ}
    workers.close()


def test_once_a_newer_version_changed_the_book_nothing_more_is_taken_and_what_is_under_way_waits_for_it(
    reader: SlowReader, client: Client
) -> None:
    changed = Event()

    def may_go_on() -> None:
        if changed.is_set():
            raise LevelwindError("A newer Levelwind changed the book (9999_later): close this one")

    workers, job = Workers([readings_sweep], may_go_on), a_job()
    readings = [_upload(job) for _ in range(3)]
    _soon(lambda: len(reader.begun) == 2)
    changed.set()
    workers.wake()
    _soon(lambda: len(reader.ended) == 2 and {_now(each).work for each in readings} == {Work.WAITING})
    page = client.get("/")
    assert (page.status_code, "changed the book (9999_later)" in page.content.decode()) == (503, True)
    workers.close()
    assert ({_now(each).tries for each in readings}, len(reader.begun)) == ({0}, 2)


def test_what_the_book_did_not_take_is_read_again_and_not_called_unreadable(
    desk: None, reader: SlowReader, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def refuse(reading: Reading, found: Found) -> None:
        raise ProgrammingError("no such column")

    reader.let_go.set()
    with monkeypatch.context() as now:
        now.setattr(reading_work, "_write_down", refuse)
        reading = _upload()
        _soon(lambda: "it is read again" in caplog.text)
        assert (_now(reading).work, _now(reading).refused) == (Work.UNDER_WAY, "")
    Reading.objects.filter(pk=reading.pk).update(beat_at=timezone.now() - 2 * reading_work.LEASE)
    readings_sweep()
    work_wait(reading.pk, GIVE_UP_S)
    assert (_now(reading).work, _now(reading).tries) == (Work.READ, 2)


def test_a_correction_is_read_beside_the_page_too(desk: None) -> None:
    reading = _upload()
    work_wait(reading.pk, GIVE_UP_S)
    again = reading_correct(reading=_now(reading), options={"unit": "lbf"})
    assert (again.work != Work.READ, again.corrects, _now(reading).struck_out) == (True, reading, True)
    work_wait(again.pk, GIVE_UP_S)
    assert _now(again).analysis["pulls"][0]["running_N"]["value"] == pytest.approx(30.2 * 4.448, rel=0.02)
    assert JobEvent.objects.filter(text="pull as found read again in pounds.").exists()


def _long_log(rows: int) -> "ContentFile[bytes]":
    body = "".join(f"{i / 1000:.3f},{30 if i % 9000 > 1000 else 0}.{i % 7}\n" for i in range(rows))
    return ContentFile(b"time (s),force (N)\n" + body.encode(), name="long.csv")


def _children() -> set[int]:
    found = subprocess.run(["ps", "-o", "pid=", "--ppid", str(os.getpid())], capture_output=True, text=True, check=True)
    return {int(word) for word in found.stdout.split()}


def test_the_limited_process_itself_ends_when_it_is_stopped(desk: None) -> None:
    before = _children()
    reading = recording_upload(job=a_job(), kind="pull", moment="found", file=_long_log(400_000))
    _soon(lambda: _now(reading).doing == "reading the log")
    limited = _children() - before
    assert limited
    reading_stop(reading=reading)
    work_wait(reading.pk, GIVE_UP_S)
    _soon(lambda: not (_children() & limited))
    assert (_now(reading).work, _now(reading).file.size) == (Work.STOPPED, _long_log(400_000).size)
    reading_stop(reading=reading)  # and once more is no fault


def test_what_a_killed_worker_had_is_taken_up_by_another_until_it_is_plain_that_the_file_ends_them(
    reader: SlowReader,
) -> None:
    """A worker that was killed says nothing any more; one that only slept writes nothing when it wakes."""
    reader.let_go.set()
    reading = _upload()
    killed = {"work": Work.UNDER_WAY, "taken_by": "killed", "tries": 1}
    beat = timezone.now() - reading_work.LEASE / 2
    Reading.objects.filter(pk=reading.pk).update(**killed, analysis={}, beat_at=beat)
    readings_sweep()
    work_off(RECORDINGS)
    assert (_now(reading).work, _now(reading).taken_by) == (Work.UNDER_WAY, "killed")
    slept = _now(reading)
    Reading.objects.filter(pk=reading.pk).update(beat_at=beat - reading_work.LEASE)
    readings_sweep()
    work_off(RECORDINGS)
    assert (_now(reading).work, _now(reading).analysis["seen"], _now(reading).tries) == (Work.READ, reading.pk, 2)
    reading_work._write_down(slept, Found({"kind": "pull", "seen": -1}))
    assert _now(reading).analysis["seen"] == reading.pk
    Reading.objects.filter(pk=reading.pk).update(**killed | {"tries": 3}, beat_at=beat - reading_work.LEASE)
    readings_sweep()
    assert (_now(reading).work, "3 workers ended over this file" in _now(reading).refused) == (Work.READ, True)


def test_a_file_that_cannot_be_reached_is_tried_again_and_then_said(
    desk: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on a shared folder that is not there just now."""
    monkeypatch.setattr(reading_work, "AWAY", timedelta(seconds=0.1))
    monkeypatch.setattr(queue, "PAUSE_S", 0.05)
    reading = Reading(job=a_job(), kind="pull", moment="found", file="readings/ab/gone", work=Work.WAITING)
    reading.save()
    readings_sweep()
    _soon(lambda: _now(reading).work == Work.READ)
    assert (_now(reading).tries, "cannot be reached" in _now(reading).refused) == (3, True)


ROOT = Path(__file__).parents[3]
SERVER = """
import sys, time
import django
django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
from levelwind.shop.models import Reading
from levelwind.shop.queue import Workers
from levelwind.shop.readings.services.work import readings_sweep, work_resume, work_wait
from levelwind.shop.readings.services.readings import recording_upload
from tests.emptied import emptied_afterwards, triggers_back
from tests.jobs import a_job
work_resume()
workers = Workers([readings_sweep])
if sys.argv[1] == "upload":
    from tests.shop.readings.test_reading_work import _long_log
    recording_upload(job=a_job(), kind="pull", moment="found", file=_long_log(100_000))
    time.sleep(600)
reading = Reading.objects.get()
work_wait(reading.pk, 300)
workers.close()
reading.refresh_from_db()
print(reading.work, reading.refused, len(reading.analysis["pulls"]))
"""


def test_what_a_killed_server_was_reading_is_read_when_it_opens_again(tmp_path: Path) -> None:
    script = tmp_path / "server.py"
    script.write_text(SERVER)
    (tmp_path / "data").mkdir()
    shutil.copy(empty_book(), tmp_path / "data")
    here = {
        "LEVELWIND_DATA": str(tmp_path / "data"),
        "LEVELWIND_DATABASE": "",  # a book of its own: in one that others use its tag number may be taken
        "DJANGO_SETTINGS_MODULE": "levelwind.project.settings",
        "PYTHONPATH": os.pathsep.join([str(ROOT / "src"), str(ROOT)]),
    }
    server = subprocess.Popen([sys.executable, script, "upload"], env=os.environ | here)
    book = tmp_path / "data" / "book.sqlite3"
    _soon(lambda: book.exists() and _work(book) == ["under_way"], "under way in the server")
    server.kill()
    server.wait()
    assert _work(book) == ["under_way"]
    opened = subprocess.run([sys.executable, script, "open"], env=os.environ | here, capture_output=True, text=True)
    assert opened.stdout.split()[0] == "read", opened.stderr
    assert int(opened.stdout.split()[-1]) > 10


def _work(book: Path) -> list[str]:
    try:
        with sqlite3.connect(f"file:{book}?mode=ro", uri=True, timeout=5) as found:
            return [work for (work,) in found.execute("SELECT work FROM shop_reading")]
    except sqlite3.OperationalError:
        return []
