"""Many benches on one book: eight clients on the same jobs and stock, and forty recordings read by workers, one killed.

On the embedded book, and on a PostgreSQL of its own where Debian's package is installed; there also a newer version
that changes the tables while older workers read. Prints its figures and the load, and ends with 1 where anything
was lost, done twice, or answered with a fault.
"""

import argparse
import http.client
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from random import Random
from threading import Thread
from typing import TYPE_CHECKING, Any

import psutil

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.postgres_server import NoServerError, postgres_server

if TYPE_CHECKING:
    from levelwind.shop.models import Job

PAUSE_S = 0.5
"""Between two presses of one person at a bench: quicker than anybody is. Our choice."""
STOCK, JOBS = 1000, 4
P95_S = 0.25
"""What the server's own time may take of 95 requests in 100, without the database; the wish of this program."""
LONGEST_S = 600
"""So long the recordings may take: a killed worker's are taken up after a minute. Our choice."""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=300)
    parser.add_argument("--clients", type=int, default=8)
    parser.add_argument("--recordings", type=int, default=40)
    parser.add_argument("--on", help=argparse.SUPPRESS)
    parser.add_argument("--serve", type=Path, help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.serve:
        return serve(args.serve)
    if args.on is not None:
        return run(args)
    failed = _again(args, "")
    try:
        with postgres_server() as address:
            failed |= _again(args, address)
    except NoServerError as why:
        print(f"PostgreSQL: not tried here: {why}")
    return failed


def _again(args: argparse.Namespace, address: str) -> int:
    """Settings are read once in a process: each book has one of its own."""
    folder = Path(tempfile.mkdtemp(prefix="levelwind-benches-"))
    shared = folder / "shared"
    shared.mkdir()
    here = {"LEVELWIND_DATA": str(folder / "own"), "LEVELWIND_DATABASE": address}
    here |= {"LEVELWIND_SHARED": str(shared)} if address else {}
    words = [f"--{name}={getattr(args, name)}" for name in ("seconds", "clients", "recordings")]
    command = [sys.executable, __file__, "--on", "PostgreSQL" if address else "the embedded book", *words]
    environment = os.environ | here | {"DJANGO_SETTINGS_MODULE": "levelwind.project.settings"}
    try:
        return subprocess.run(command, env=environment, check=False).returncode
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def run(args: argparse.Namespace) -> int:
    from levelwind.cli.django_setup import bring_up_to_date, set_up

    set_up()
    bring_up_to_date()
    failed, on_a_server = False, bool(os.environ["LEVELWIND_DATABASE"])
    parts = [
        (f"{args.clients} clients for {args.seconds:g} s", lambda: clients(args.clients, args.seconds)),
        (f"{args.recordings} recordings", lambda: recordings(args.recordings, 3 if on_a_server else 1)),
        ("an update with workers at work", lambda: updated_while_reading(args.recordings)),
    ]
    for what, does in parts if on_a_server else parts[:2]:
        try:
            said = does()
        except AssertionError as lost:
            failed, said = True, f"LOST: {lost}"
        print(f"{args.on}, {what}: {said}; load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores", flush=True)
    return int(failed)


# --- eight clients ---------------------------------------------------------------------------------------------------


def clients(people: int, seconds: float) -> str:
    from django.db.models import Sum

    from levelwind.shop.models import JobNote, MoneyEntry, StockEntry
    from levelwind.shop.parts.services.shelf import part_add

    jobs = [_job(number) for number in range(JOBS)]
    part = part_add(number="T-114", name="Drag washer", count=STOCK)
    told = Path(os.environ["LEVELWIND_DATA"]) / "requests"
    with _server(told) as port:
        before = _database_s()
        hands = [Client(port, number, jobs, part.pk) for number in range(people)]
        threads = [Thread(target=hand.work, args=(time.monotonic() + seconds,)) for hand in hands]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        database_s = _database_s() - before
    done = {what: sum(hand.done[what] for hand in hands) for what in ("taken", "paid", "noted")}
    faults = [fault for hand in hands for fault in hand.faults]
    assert not faults, f"{len(faults)} answers were faults: {faults[:3]}"
    taken = -(StockEntry.objects.filter(part=part, why="thrown").aggregate(all=Sum("change"))["all"] or 0)
    assert taken == done["taken"] <= STOCK, f"{taken} taken in the book, {done['taken']} told to the clients"
    paid, noted = MoneyEntry.objects.filter(job__tag__in=jobs).count(), JobNote.objects.count()
    assert (paid, noted) == (done["paid"], done["noted"]), f"{paid} payments and {noted} notes in the book, told {done}"
    assert all(done.values()), f"not everything was tried: {done}"
    return f"{json.dumps(done)}, each once; {_times(told, database_s)}"


def _job(number: int) -> str:
    from levelwind.shop.jobs.services.booking import job_book_in
    from levelwind.shop.models import Job, Owner, Parcel

    reel = Job(reel=f"Skerry {number}", complaint="the drag slips")
    return str(job_book_in(owner=Owner(name=f"Ansa Vell {number}"), parcel=Parcel(), reels=[reel])[0].tag)


class Client:
    """One person: looks at pages, takes from the shelf and money, writes notes, on the same jobs as the others."""

    def __init__(self, port: int, number: int, jobs: list[str], part: int) -> None:
        self.done, self.faults = dict.fromkeys(("taken", "paid", "noted"), 0), list[str]()
        self._http = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        self._dice, self._jobs, self._part, self._cookie = Random(number), jobs, part, ""

    def work(self, until: float) -> None:
        self._ask("GET", f"/shelf/part/{self._part}/")
        while time.monotonic() < until:
            job = self._dice.choice(self._jobs)
            {0: self._look, 1: self._take, 2: self._pay, 3: self._note}[self._dice.randrange(4)](job)
            time.sleep(self._dice.uniform(0, 2 * PAUSE_S))

    def _look(self, job: str) -> None:
        self._ask("GET", self._dice.choice(["/", "/shelf/", f"/jobs/{job}/", f"/jobs/{job}/money/", "/counter/"]))

    def _take(self, job: str) -> None:
        fields = "why=thrown&count=1&used=False&note=&unit_cost_minor="
        self.done["taken"] += self._ask("POST", f"/shelf/part/{self._part}/entry/", fields) == 302

    def _pay(self, job: str) -> None:
        fields = f"what=payment&amount_minor={self._dice.randrange(1, 90)}.00&text=cash"
        self.done["paid"] += self._ask("POST", f"/jobs/{job}/box/money/", fields) == 302

    def _note(self, job: str) -> None:
        fields = f"kind=note&outcome=&text={self._dice.random()}&at="
        self.done["noted"] += self._ask("POST", f"/jobs/{job}/notes/", fields) == 302

    def _ask(self, method: str, where: str, fields: str = "") -> int:
        token = re.search(r"csrftoken=(\w+)", self._cookie)
        head = {"Cookie": self._cookie, "Content-Type": "application/x-www-form-urlencoded"}
        head |= {"X-CSRFToken": token[1]} if token else {}
        self._http.request(method, where, fields or None, head)
        answer = self._http.getresponse()
        said = answer.read()
        if found := re.search(r"csrftoken=\w+", answer.getheader("Set-Cookie") or ""):
            self._cookie = found[0]
        if answer.status not in (200, 302, 422):
            self.faults.append(f"{answer.status} at {method} {where}: {said[:200]!r}")
        return answer.status


@contextmanager
def _server(told: Path) -> Iterator[int]:
    with subprocess.Popen([sys.executable, __file__, "--serve", told], stdout=subprocess.PIPE, text=True) as server:
        try:
            assert server.stdout
            line = server.stdout.readline()
            found = re.search(r":(\d+)/", line)
            assert found, f"the server said {line!r}"
            yield int(found[1])
        finally:
            server.terminate()


def serve(told: Path) -> int:
    """``levelwind open`` that writes down what each request took of clock and processor, in all and in the driver."""
    import django.core.wsgi

    from levelwind.cli.main import main as levelwind

    made = django.core.wsgi.get_wsgi_application
    lines = told.open("a", buffering=1)
    django.core.wsgi.get_wsgi_application = lambda: _timed(made(), lines.write)
    return levelwind(["open", "--port", "0"])


def _timed(app: Callable[..., Any], write: Callable[[str], object]) -> Callable[..., Any]:
    from django.db import connection

    def answer(environ: dict[str, Any], start: Callable[..., Any]) -> Any:
        driver = [0.0, 0.0]

        def ask(execute: Callable[..., Any], *args: Any) -> Any:
            clock, own = time.perf_counter(), time.thread_time()
            try:
                return execute(*args)
            finally:
                driver[0] += time.perf_counter() - clock
                driver[1] += time.thread_time() - own

        clock, own = time.perf_counter(), time.thread_time()
        with connection.execute_wrapper(ask):
            said = app(environ, start)
        row = [time.perf_counter() - clock, time.thread_time() - own, *driver]
        write(json.dumps(row) + "\n")
        return said

    return answer


def _times(told: Path, database_s: float | None) -> str:
    rows = [json.loads(line) for line in told.read_text().splitlines()]
    own = _p95([cpu - driver for _, cpu, _, driver in rows])
    assert own < P95_S, f"p95 of the server's own time is {own * 1e3:.0f} ms"
    said = {
        "the clock": _p95([row[0] for row in rows]),
        "the server's own processor": own,
        "the driver's": _p95([row[3] for row in rows]),
        "waiting for the database": _p95([max(0.0, row[2] - row[3]) for row in rows]),
    }
    words = ", ".join(f"{what} {seconds * 1e3:.0f} ms" for what, seconds in said.items())
    database = f"; the database's processor {database_s / len(rows) * 1e3:.1f} ms a request" if database_s else ""
    return f"{len(rows)} requests, no fault; p95 of {words}{database}"


def _p95(values: list[float]) -> float:
    return sorted(values)[int(0.95 * len(values))]


def _database_s() -> float:
    """Processor time of PostgreSQL, its ended backends too; the embedded book has none of its own."""
    if not os.environ["LEVELWIND_DATABASE"]:
        return 0.0
    times = [one.cpu_times() for one in psutil.process_iter(["name"]) if one.info["name"] == "postgres"]
    return float(sum(t.user + t.system + t.children_user + t.children_system for t in times))


# --- recordings over workers -----------------------------------------------------------------------------------------


def recordings(count: int, workers: int) -> str:
    from levelwind.shop.models import Reading, Work

    job, began = _handed_in(99, count), time.monotonic()
    with ExitStack() as ended:
        first, under_way = ended.enter_context(_worker(0)), Reading.objects.filter(work=Work.UNDER_WAY)
        _until(lambda: under_way.count() == 2, "both threads of the first have one")
        others = range(1, workers)
        for number in others:
            ended.enter_context(_worker(number))
        _until(lambda: under_way.count() > 2 or not others, "another has one too")
        first.kill()
        first.wait()
        if not others:
            ended.enter_context(_worker(workers))
        _until(lambda: not Reading.objects.filter(work__in=[Work.WAITING, Work.UNDER_WAY]).exists(), "all are read")
    read = list(Reading.objects.filter(job=job))
    assert len(read) == count and not any(one.refused for one in read), {one.refused for one in read}
    wrong = [one for one in read if len({p["running_N"]["value"] for p in one.analysis["pulls"]}) == 0]
    twice = sum(one.tries > 1 for one in read)
    assert not wrong and 0 < twice <= 2, f"{twice} were begun twice"
    took_s = time.monotonic() - began
    return f"read by {workers} workers in {took_s:.0f} s; one was killed, what it had ({twice}) was read by another"


def _handed_in(number: int, count: int) -> "Job":
    """A job with so many recordings that wait for a worker."""
    from django.core.files.base import ContentFile

    from levelwind.shop.models import Job
    from levelwind.shop.readings.services import readings
    from levelwind.shop.readings.services.work import recording_read

    readings.work_start = lambda pk: recording_read.enqueue(pk)  # left to the workers
    job: Job = Job.objects.get(tag=_job(number))
    for each in range(count):
        rows = "".join(f"{i / 20:.2f},{30 + each if i % 400 > 60 else 0}.{i % 7}\n" for i in range(4000))
        file = ContentFile(b"time (s),force (N)\n" + rows.encode(), name=f"{each}.csv")
        readings.recording_upload(job=job, kind="pull", moment="found", file=file)
    return job


LATER = """
from django.db import migrations, models

class Migration(migrations.Migration):
    dependencies = [("shop", "{newest}")]
    operations = [migrations.AddField("reading", "later", models.CharField(max_length=9, default="it came"))]
"""
"""A change of the table that workers write to, in a version to come: an older one cannot add a row to it any more."""


def updated_while_reading(count: int) -> str:
    """Two old workers read; a newer version is opened, changes the tables and reads what they left."""
    from django.db import connection

    import levelwind
    from levelwind.shop.models import Reading, Work

    job, began = _handed_in(98, count), time.monotonic()
    here, later = Path(levelwind.__file__).parent, Path(os.environ["LEVELWIND_DATA"]).with_name("later") / "levelwind"
    shutil.copytree(here, later, ignore=shutil.ignore_patterns("__pycache__", "site"))
    newest = max(path.stem for path in (here / "shop/migrations").glob("[0-9]*.py"))
    (later / "shop/migrations/9999_later.py").write_text(LATER.format(newest=newest))
    model = later / "shop/models/looks.py"
    field = "    later = models.CharField(max_length=9, default='it came')\n    taken_by ="
    model.write_text(model.read_text().replace("    taken_by =", field))
    with ExitStack() as ended:
        old = [ended.enter_context(_worker(number, said=subprocess.PIPE)) for number in (10, 11)]
        _until(lambda: Reading.objects.filter(job=job, work=Work.READ).count() > 2, "the old ones have read some")
        new = ended.enter_context(_worker(12, PYTHONPATH=str(later.parent)))
        closed = [(worker.communicate(timeout=LONGEST_S)[1], worker.returncode) for worker in old]
        by_old = Reading.objects.filter(job=job, work=Work.READ).count()
        at_work = Reading.objects.filter(job=job, work__in=[Work.WAITING, Work.UNDER_WAY])
        _until(lambda: not at_work.exists() or new.poll() is not None, "all are read")
        assert new.poll() is None, "the new one did not go"
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*), count(later), max(tries) FROM shop_reading WHERE job_id = %s", [job.pk])
        there, with_field, most = cursor.fetchone()
    assert all(status == 3 and "A newer Levelwind changed the book (9999_later)" in said for said, status in closed), (
        closed
    )
    assert there == with_field == count and most == 1, f"{there} of {count} are there, begun {most} times"
    assert not Reading.objects.filter(job=job).exclude(work=Work.READ, refused="").exists(), "not all were read"
    took_s = time.monotonic() - began
    told = f"{by_old} read by old workers until the tables were changed and they ended, the others by the new one"
    return f"{count} recordings in {took_s:.0f} s: {told}; each read once"


@contextmanager
def _worker(number: int, said: int | None = None, **more: str) -> "Iterator[subprocess.Popen[str]]":
    """On PostgreSQL each stands for a machine, with a folder of its own."""
    data = os.environ["LEVELWIND_DATA"] + (f"-worker-{number}" if "LEVELWIND_SHARED" in os.environ else "")
    command, environment = [sys.executable, "-m", "levelwind.cli", "work"], os.environ | {"LEVELWIND_DATA": data} | more
    with subprocess.Popen(command, env=environment, stderr=said, text=True) as worker:
        try:
            yield worker
        finally:
            worker.terminate()


def _until(there: Callable[[], bool], what: str) -> None:
    last = time.monotonic() + LONGEST_S
    while not there():
        assert time.monotonic() < last, f"not after {LONGEST_S} s: {what}"
        time.sleep(0.05)


if __name__ == "__main__":
    sys.exit(main())
