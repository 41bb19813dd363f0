"""The sound of a spin against pitch trackers and a ridge: how long each takes, and how near it comes to the truth.

python bench/spin_sound.py [NUMBER] [FIRST]     20 recordings, every tenth from number 0 unless told otherwise

How well a sound is read: ``make prove-numbers``. Prints one line a recording and a summary. Each also goes to librosa's
pYIN (Mauch and Dixon, ICASSP 2014, p. 659), if it is installed (the bench extra): to the sound as it is, in frames that
hold two of its longest periods, and to its loudness 2,000 times a second, where ticks are the only pitch. Its times are
of the sound as it is, once it is compiled; its errors of the better one. Times are those of the processor, algebra on
one thread; ours once more by the clock on the wall, as a person waits. pYIN's frame is the usual one for so low a
pitch, two of the longest periods up to the next power of two; its hop of a quarter of that and all else are as librosa
has them.
"""

import importlib.util
import os
import sys
from pathlib import Path
from time import perf_counter, process_time

os.environ["OPENBLAS_NUM_THREADS"] = "1"

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "src")]

from tests.core.spin.sounds import SAMPLE_HZ, Made, recording, speed_errors  # noqa: E402

from levelwind.core.errors import NotDeterminedError  # noqa: E402
from levelwind.core.spin.options import SpinOptions  # noqa: E402
from levelwind.core.spin.sound import analyse_sound  # noqa: E402
from levelwind.core.spin.sound_envelope import envelope_of  # noqa: E402

PYIN = importlib.util.find_spec("librosa") is not None
EVERY = 10
LOWEST_HZ, HIGHEST_HZ = 6.0, 400.0


def main(number: int, first: int) -> None:
    rows = []
    if PYIN:
        _pyin(np.zeros(SAMPLE_HZ, np.float32), float(SAMPLE_HZ), 8192, np.zeros(1))
    for seed in range(first, first + EVERY * number, EVERY):
        if row := judged(seed):
            rows.append(row)
            print(" ".join(f"{name}={value:.2g}" for name, value in row.items()), flush=True)
    summary(rows)


def judged(seed: int) -> dict[str, float]:
    """Errors and times; empty where nothing in it is found to tick as a spool does."""
    made = recording(seed)
    length = len(made.samples) / SAMPLE_HZ
    begun, clock = process_time(), perf_counter()
    try:
        options = SpinOptions(marks=made.marks)
        result = analyse_sound(made.samples, float(SAMPLE_HZ), np.random.default_rng(1), options=options)
    except NotDeterminedError:
        return {}
    took, waited = process_time() - begun, perf_counter() - clock
    spin = max(result.spins, key=lambda each: (each.end_s or 0) - (each.start_s or 0))
    times, speeds = (np.array(x) for x in zip(*spin.speed, strict=True))
    row: dict[str, float] = {
        "seed": seed,
        "median": float(np.median(speed_errors(made, times, speeds))),
        "faster": length / took,
        "faster_wall": length / waited,
    }
    begun = process_time()
    pitch = yin(made, times) / made.marks
    row["yin_faster"] = length / (process_time() - begun)
    row["yin"] = float(np.median(speed_errors(made, times, pitch)))
    row["ridge"] = float(np.median(speed_errors(made, times, ridge(made, times) / made.marks)))
    if PYIN:
        row["pyin"], seconds = pyin(made, times)
        row["pyin_slower"] = seconds / took
    return row


def pyin(made: Made, times: np.ndarray) -> tuple[float, float]:
    """Median error of the better of sound and loudness, and the seconds that the sound took."""
    begun = process_time()
    heard = _pyin(made.samples, float(SAMPLE_HZ), 8192, times)
    took = process_time() - begun
    loud = np.abs(made.samples[: len(made.samples) // 12 * 12].reshape(-1, 12)).mean(1)
    seen = _pyin(loud - loud.mean(), SAMPLE_HZ / 12, 1024, times)
    return min(float(np.median(speed_errors(made, times, hz / made.marks))) for hz in (heard, seen)), took


def _pyin(samples: np.ndarray, hz: float, frame: int, times: np.ndarray) -> np.ndarray:
    """Pitch at ``times``, between frames it calls voiced; all frames where it calls none so."""
    import librosa

    pitch, voiced, _ = librosa.pyin(samples, fmin=LOWEST_HZ, fmax=HIGHEST_HZ, sr=hz, frame_length=frame, fill_na=None)
    used = voiced if voiced.any() else np.ones(len(voiced), dtype=bool)
    return np.interp(times, (np.arange(len(pitch)) * frame / 4 / hz)[used], pitch[used])


def yin(made: Made, times: np.ndarray) -> np.ndarray:
    """A plain pitch tracker on the loudness: the YIN difference, de Cheveigné and Kawahara, JASA 111, 2002, p. 1917."""
    envelope = np.abs(made.samples[: len(made.samples) // 12 * 12].reshape(-1, 12)).mean(1)
    hz, size = SAMPLE_HZ / 12, 1024
    out = []
    for t in times:
        i = int(np.clip(t * hz - size, 0, max(len(envelope) - 2 * size, 0)))
        x = envelope[i : i + 2 * size]
        power = np.cumsum(np.concatenate([[0.0], x * x]))
        lags = np.arange(4, min(size, len(x) // 2))
        spectrum = np.fft.rfft(x, 4 * size) * np.conj(np.fft.rfft(x[:size], 4 * size))
        both = np.fft.irfft(spectrum)[lags]
        difference = power[size] + power[lags + size] - power[lags] - 2 * both
        normal = difference * np.arange(1, len(lags) + 1) / np.maximum(np.cumsum(difference), 1e-12)
        low = np.flatnonzero(normal < 0.15)
        out.append(hz / lags[low[0] if len(low) else int(np.argmin(normal))])
    return np.array(out)


def ridge(made: Made, times: np.ndarray) -> np.ndarray:
    """The strongest line of the envelope's spectrogram, half a second at a time."""
    envelope = envelope_of(made.samples, float(SAMPLE_HZ))
    size = int(0.5 * envelope.hz)
    out = []
    for t in times:
        i = int(np.clip(t * envelope.hz - size / 2, 0, max(len(envelope.at) - size, 0)))
        power = np.abs(np.fft.rfft(envelope.at[i : i + size] * np.hanning(size), 4096))
        power[: int(6 * 4096 / envelope.hz)] = 0
        out.append(float(np.argmax(power[: int(330 * 4096 / envelope.hz)])) * envelope.hz / 4096)
    return np.array(out)


def summary(rows: list[dict[str, float]]) -> None:
    for name in ("yin", "ridge"):
        print(f"{name}: median error {_middle(rows, name):.1e}")
    slow, middle, quick = np.quantile([row["faster"] for row in rows], [0.05, 0.5, 0.95])
    print(f"ours: {middle:.0f} times faster than real time ({slow:.0f} to {quick:.0f}; wanted 30), ", end="")
    print(f"{_middle(rows, 'faster_wall'):.0f} by the clock on the wall; ", end="")
    print(f"yin, at 240 moments of a spin: {_middle(rows, 'yin_faster'):.0f}")
    if PYIN:
        ours, theirs = _middle(rows, "median"), _middle(rows, "pyin")
        print(f"pYIN, {len(rows)} recordings: {_middle(rows, 'pyin_slower'):.1f} times slower (wanted 10), ", end="")
        print(f"median error {theirs:.1e} against {ours:.1e}: {theirs / ours:.0f} times as large (wanted 5)")
    else:
        print("pYIN was not run: pip install -e .[bench]")


def _middle(rows: list[dict[str, float]], name: str) -> float:
    return float(np.median([row[name] for row in rows]))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20, int(sys.argv[2]) if len(sys.argv) > 2 else 0)
