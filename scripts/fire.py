"""A shop under fire: killed in the middle of writes, restores and copies, a full disk, a clock gone back, two at once.

Prints its figures, and ends with 1 where anything acknowledged was lost. It works on a shop of its own in a folder that
ends with it. ``--kills`` says how often; ``make fire`` asks for 500, the tests for a few.
"""

import argparse
import errno
import os
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from random import Random

LONGEST_S = 0.6
"""A writer lives at most so long: some dozens of writes. Our choice."""
Acknowledged = tuple[str, str, str]
"""What was written, its key, and what it must say."""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=500)
    parser.add_argument("--book", type=Path, help="a book of today's version to begin from, else one is made")
    args = parser.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="levelwind-fire-"))
    os.environ |= {"LEVELWIND_DATA": str(folder / "shop"), "DJANGO_SETTINGS_MODULE": "levelwind.project.settings"}
    (folder / "shop").mkdir()
    if args.book:
        shutil.copy2(args.book, folder / "shop" / "book.sqlite3")
    try:
        return run(folder, args.kills)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def run(folder: Path, kills: int) -> int:
    from levelwind.cli.django_setup import bring_up_to_date, set_up

    set_up()
    bring_up_to_date()
    failed = False
    for what, does in (
        ("killed while writing", lambda: writes_killed(folder, kills)),
        ("killed while copying", lambda: copies_killed(folder, max(1, kills // 20))),
        ("killed while restoring", lambda: restores_killed(folder, max(1, kills // 20))),
        ("a copy cut short", lambda: copy_cut_short(folder)),
        ("a full disk", lambda: full_disk(folder)),
        ("a clock in 1970", clock_back),
        ("two on one book", lambda: two_at_once(folder)),
    ):
        began = time.monotonic()
        try:
            said = does()
        except AssertionError as lost:
            failed, said = True, f"LOST: {lost}"
        print(f"{what}: {said} ({time.monotonic() - began:.0f} s)", flush=True)
    return int(failed)


def forked(does: Callable[[], None], kill_after_s: float | None = None, once_grown: Path | None = None) -> int:
    """``does`` in a process of its own; gives how it ended (minus the signal, or its status).

    Killed after so long, counted from when the file ``once_grown`` has grown, where one is named.
    """
    from django.db import connections

    connections.close_all()
    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        status = 1
        try:
            does()
            status = 0
        except BaseException:
            traceback.print_exc()
        os._exit(status)
    if kill_after_s is not None:
        size = once_grown.stat().st_size if once_grown else 0
        while once_grown and once_grown.stat().st_size == size:
            time.sleep(0.001)
        time.sleep(kill_after_s)
        os.kill(child, signal.SIGKILL)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def writes_killed(folder: Path, kills: int) -> str:
    """Each writer acknowledges what it wrote in a line of a file; whatever stands there must be in the book."""
    dice, told = Random(20261130), folder / "acknowledged"
    told.touch()
    for number in range(kills):
        forked(lambda number=number: write_on(told, number), dice.random() * LONGEST_S, told)
        if number % 50 == 49 or number == kills - 1:
            shop_is_whole()
    found = all_there(told)
    assert len(found) > kills, f"only {len(found)} writes in {kills} lives: too few to tell"
    return f"{kills} kills, {len(found)} writes acknowledged, none lost; ledgers and files whole"


def write_on(told: Path, number: int) -> None:
    """Jobs, money, stock, photos and recordings through the services, one after another, until it is killed."""
    from django.core.files.base import ContentFile
    from PIL import Image

    from levelwind.recordings.photos import Photo as Read
    from levelwind.shop.jobs.services import photos
    from levelwind.shop.jobs.services.booking import job_book_in
    from levelwind.shop.models import Job, Owner, Parcel, Part
    from levelwind.shop.money.services.ledger import payment_take
    from levelwind.shop.parts.services.shelf import part_add, stock_bought
    from levelwind.shop.readings.services import readings

    readings.work_start = lambda pk: None  # reading a file is not what is tried here
    drawing = BytesIO()
    Image.new("RGB", (400, 300), "gray").save(drawing, "JPEG")
    picture = drawing.getvalue()
    with told.open("a", buffering=1) as line:
        for turn in range(10_000):
            mark = f"{number}-{turn}"
            reel = Job(reel=f"Skerry {mark}", complaint="the drag slips")
            job = job_book_in(owner=Owner(name=f"Ansa Vell {mark}"), parcel=Parcel(), reels=[reel])[0]
            line.write(f"job\t{job.pk}\t{job.reel}\n")
            paid = payment_take(job=job, amount_minor=100 + turn, text="cash")
            line.write(f"money\t{paid.pk}\t{paid.amount_minor}\n")
            part = Part.objects.first() or part_add(number="B-7", name="bearing")
            bought = stock_bought(part=part, count=1 + turn % 3)
            line.write(f"stock\t{bought.pk}\t{bought.change}\n")
            drawn = picture + mark.encode() * 2000
            photos.photo_of = lambda file, drawn=drawn, mark=mark: Read(
                drawn, 400, 300, drawn, 400, 300, "JPEG", photos.sha256(mark.encode()).hexdigest()
            )
            photo = photos.photo_add(file=ContentFile(b""), job=job)
            line.write(f"photo\t{photo.pk}\t{photo.picture_sha256}\n")
            log = ContentFile(f"time,force\n0,{turn}\n".encode() * 400, name="log.csv")
            reading = readings.recording_upload(job=job, kind="pull", moment="found", file=log)
            line.write(f"reading\t{reading.pk}\t{reading.sha256}\n")


def acknowledged(told: Path) -> Iterator[Acknowledged]:
    """Whole lines alone: one cut in the middle was never heard."""
    for line in told.read_text().splitlines(keepends=True) if told.exists() else ():
        parts = line.rstrip("\n").split("\t")
        if line.endswith("\n") and len(parts) == 3:
            yield (parts[0], parts[1], parts[2])


def all_there(told: Path) -> list[Acknowledged]:
    from levelwind.shop.models import Job, MoneyEntry, Photo, Reading, StockEntry

    says = {
        "job": (Job, "reel"),
        "money": (MoneyEntry, "amount_minor"),
        "stock": (StockEntry, "change"),
        "photo": (Photo, "picture_sha256"),
        "reading": (Reading, "sha256"),
    }
    book = {
        kind: {str(pk): str(said) for pk, said in model._default_manager.values_list("pk", column)}
        for kind, (model, column) in says.items()
    }
    found = list(acknowledged(told))
    for kind, key, said in found:
        assert book[kind].get(key) == said, (
            f"{kind} {key} was acknowledged as {said}, the book has {book[kind].get(key)}"
        )
    return found


def shop_is_whole() -> None:
    from levelwind.core.errors import LevelwindError
    from levelwind.shop.book.services.proving import shop_prove

    try:
        shop_prove()
    except LevelwindError as refusal:
        raise AssertionError(refusal) from None


def copies_killed(folder: Path, kills: int) -> str:
    """What is called a backup is whole, whenever its making was cut off."""
    from levelwind.shop.book.services.backups import backup_make
    from levelwind.shop.book.services.files import backups_in
    from levelwind.shop.book.services.proving import backup_prove

    into, dice = folder / "copies", Random(1)
    into.mkdir()
    for _ in range(kills):
        forked(lambda: void(backup_make(into=into)), dice.random() * 1.5)
    made = backups_in(into)
    for copy in made:
        backup_prove(folder=copy)
        shutil.rmtree(copy)
    time.sleep(1.1)  # a copy is named by its second, and a half of this one may lie there
    backup_make(into=into)
    return f"{kills} kills, {len(made)} came through and each is whole; the halves are not called backups"


def restores_killed(folder: Path, kills: int) -> str:
    """The next start finds the old shop or the restored one, whole."""
    from levelwind.shop.book.services.backups import backup_restore, refuse_a_lost_book, restore_finish

    dice, went = Random(2), 0
    for _ in range(kills):
        went += forked(lambda: void(backup_restore(folder=folder / "copies")), dice.random() * 2.0) == 0
        restore_finish()
        refuse_a_lost_book()
        shop_is_whole()
        for aside in (folder / "shop").glob("before-restore-*"):
            shutil.rmtree(aside)
    return f"{kills} kills, {went} came through; the shop was whole after each"


def copy_cut_short(folder: Path) -> str:
    from levelwind.shop.book.services.proving import backup_prove

    cut = folder / "cut" / "levelwind-backup-20260101-000000"
    shutil.copytree(next((folder / "copies").glob("levelwind-backup-*")), cut)
    victim = max((path for path in cut.rglob("*") if path.is_file()), key=lambda path: path.stat().st_size)
    os.truncate(victim, victim.stat().st_size // 2)
    return f"refused: {refusal_of(lambda: void(backup_prove(folder=cut)), folder)}"


def full_disk(folder: Path) -> str:
    """By the limit on a file's size, which needs no rights; on a small disk in memory too, where this is root."""
    from levelwind.shop.book.services.backups import backup_make

    def under_limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))
        (folder / "said").write_text(refusal_of(lambda: void(backup_make(into=folder / "tight")), folder))

    assert forked(under_limit) == 0, "no sentence"
    said = [f"limit: {(folder / 'said').read_text()}"]
    small = folder / "small"
    small.mkdir()
    if (
        os.geteuid() == 0
        and not subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=300k", "tmpfs", str(small)], capture_output=True, check=False
        ).returncode
    ):
        try:
            said.append(f"small disk: {refusal_of(lambda: void(backup_make(into=small)), folder)}")
            assert not list(small.iterdir()), "half a copy stays"
        finally:
            subprocess.run(["umount", str(small)], check=True)
    shop_is_whole()
    return "; ".join(said)


def clock_back() -> str:
    from django.utils import timezone

    from levelwind.shop.people.clock import clock_hold

    real = timezone.now
    timezone.now = lambda: datetime(1970, 1, 1, tzinfo=UTC)  # type: ignore[assignment]
    try:
        return f"refused: {refusal_of(clock_hold)}"
    finally:
        timezone.now = real


def two_at_once(folder: Path) -> str:
    """A second process, as ``levelwind open`` or ``restore`` would begin, while this one holds the book."""
    from levelwind.cli.latch import the_only_one

    def second() -> None:
        with the_only_one():
            pass

    said = folder / "second"
    with the_only_one():
        assert forked(lambda: void(said.write_text(refusal_of(second, folder)))) == 0, "both came in"
    second()
    return f"refused: {said.read_text()}"


def refusal_of(does: Callable[[], None], folder: Path | None = None) -> str:
    from levelwind.core.errors import LevelwindError

    try:
        does()
    except LevelwindError as refusal:
        return str(refusal).replace(f"{folder}/", "") if folder else str(refusal)
    except OSError as error:
        raise AssertionError(f"a bare {errno.errorcode.get(error.errno or 0)}") from None
    raise AssertionError("nothing was refused")


def void(_: object) -> None:
    """What it gave is of no use here."""


if __name__ == "__main__":
    sys.exit(main())
