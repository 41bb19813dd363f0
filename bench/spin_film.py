"""How long a film takes to read over bare decoding, on generated films from fixed seeds.

    python bench/spin_film.py [films, 20 unless said]

How well it is read: ``make prove-numbers``. Each film is read as a phone saves it (1440 by 1080) and small (320 by
240), by a fresh process and by one forked from the process that the open app keeps. The baseline is PyAV that decodes
every frame and does nothing with it: nobody can read a film for less. Wanted: 1.3 times that at 1440 by 1080, and under
0.5 s more at 320 by 240, where what is fixed shows. Times are those of the processor, all its cores and processes
together, algebra on one thread; and once more by the clock on the wall, as a person waits.
"""

import os
import sys
from pathlib import Path
from resource import RUSAGE_CHILDREN, RUSAGE_SELF, getrusage
from tempfile import TemporaryDirectory
from time import perf_counter

os.environ["OPENBLAS_NUM_THREADS"] = "1"

import av
import numpy as np
import psutil

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "src")]

from tests.core.spin.films import draw_scene, encoded, make_film  # noqa: E402
from tests.simulations.test_spin_films import SEED  # noqa: E402

from levelwind.recordings.limited_start import NURSERY  # noqa: E402
from levelwind.recordings.spin_file import read_spin  # noqa: E402

FILMS, EVERY = 20, 10
"""Every tenth of those that the simulation draws."""
SIZES = {"1440 by 1080": 9, "320 by 240": 2}
WAYS = ("bare decoding", "read by a fresh process", "read by a forked process")


def bare(path: Path) -> None:
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        stream.thread_type = "AUTO"
        for _ in container.decode(stream):
            pass


def used() -> tuple[float, float]:
    """Seconds of the processor by this process and all that it had read for it, and of the clock."""
    own = sum(each.ru_utime + each.ru_stime for each in map(getrusage, (RUSAGE_SELF, RUSAGE_CHILDREN)))
    server = NURSERY._server
    if server is not None:
        times = psutil.Process(server._process.pid).cpu_times()
        own += times.children_user + times.children_system
    return own, perf_counter()


def timed(path: Path) -> np.ndarray:
    """Seconds of each way, by the processor and by the clock; shape (2, ways)."""
    marks = []
    for what, kept in ((bare, False), (read_spin, False), (read_spin, True)):
        NURSERY.kept = kept
        if (server := NURSERY._kept_server()) is not None:
            server.ready(60.0)
        begun = used()
        what(path)
        marks.append(np.subtract(used(), begun))
        if not kept:
            NURSERY.renew()
    return np.array(marks).T


def main(count: int) -> None:
    times: dict[str, list[np.ndarray]] = {size: [] for size in SIZES}
    seconds = frames = 0.0
    with TemporaryDirectory() as folder:
        for number in range(0, EVERY * count, EVERY):
            dice = np.random.default_rng([SEED, number])
            film = make_film(draw_scene(dice), dice)
            seconds, frames = seconds + film.t_s[-1], frames + len(film.t_s)
            for size, by in SIZES.items():
                path = Path(folder) / f"{number}_{by}.mp4"
                path.write_bytes(encoded(film.frames.repeat(by, axis=1).repeat(by, axis=2), film.t_s, 23))
                times[size].append(timed(path))
    NURSERY.renew()
    print(f"{count} films, {seconds:.0f} s, {frames:.0f} frames")
    for size, each in times.items():
        for clock, row in zip(("processor", "wall"), np.sum(each, axis=0), strict=True):
            print(f"{size}, {clock}: {WAYS[0]} {row[0] / count:.2f} s a film")
            for way, took in zip(WAYS[1:], row[1:], strict=True):
                over = f"{took / row[0]:.2f} times that, {(took - row[0]) / count:.2f} s more"
                print(f"  {way} {over}, {seconds / took:.1f} times real time")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else FILMS)
