"""How long a film takes to read, on generated films from fixed seeds; how well it is read: ``make prove-numbers``.

    python bench/spin_film.py [films, 20 unless said]

Wanted: at most 1.5 times the time of decoding and steadying alone; at least 5 times faster than real time. Times are
those of the processor (all its cores together), algebra on one thread, as a second one's waiting would count as work;
and once more by the clock on the wall, as a person waits.
"""

import os
import sys
from pathlib import Path
from time import perf_counter, process_time

os.environ["OPENBLAS_NUM_THREADS"] = "1"

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "src")]

from tests.core.spin.films import Filmed, draw_scene, encoded, make_film  # noqa: E402
from tests.simulations.test_spin_films import SEED  # noqa: E402

from levelwind.core.spin.film import watch  # noqa: E402
from levelwind.core.spin.film_steady import steady  # noqa: E402
from levelwind.recordings.video import decode_film  # noqa: E402

FILMS, EVERY = 20, 10
"""Every tenth of those that the simulation draws."""


def timed(film: Filmed) -> np.ndarray:
    """Seconds for decoding, for steadying, and for the whole analysis with its steadying: processor's, then wall's."""
    large = film.frames.repeat(9, axis=1).repeat(9, axis=2)
    data = encoded(large, film.t_s, 23)
    marks = [(process_time(), perf_counter())]
    for part in (
        lambda: decode_film(data, title="film"),
        lambda: steady(film.frames),
        lambda: watch(film.frames, film.t_s, rng=np.random.default_rng(1)),
    ):
        part()
        marks.append((process_time(), perf_counter()))
    return np.diff(marks, axis=0).T


def main(count: int) -> None:
    times, lengths = [], []
    for number in range(0, EVERY * count, EVERY):
        dice = np.random.default_rng([SEED, number])
        film = make_film(draw_scene(dice), dice)
        times.append(timed(film))
        lengths.append((film.t_s[-1], len(film.t_s)))
    tell_times(np.array(times), *np.array(lengths).T)


def tell_times(times: np.ndarray, seconds: np.ndarray, frames: np.ndarray) -> None:
    """Of all, then of the longer films: fitting costs about the same whatever the length."""
    for name, some in (("all", frames > 0), ("over 400 frames", frames > 400)):
        if not some.any():
            continue
        for clock, (read, held, whole) in zip(("processor", "wall"), times[some].sum(0), strict=True):
            over, faster = (read + whole) / (read + held), seconds[some].sum() / (read + whole)
            print(
                f"{name} ({some.sum()} films, {seconds[some].sum():.0f} s, {frames[some].sum():.0f} frames), {clock}:"
            )
            print(f"  decoding (1080 lines) {read:.1f} s, steadying {held:.1f} s, analysis with it {whole:.1f} s")
            print(f"  over decoding and steadying {over:.2f} (wanted 1.5), {faster:.1f} times real time (wanted 5)")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else FILMS)
