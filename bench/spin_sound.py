"""The sound of a spin against the truth, on a fixed set of made recordings, and against pitch trackers and a ridge.

python bench/spin_sound.py [NUMBER] [FIRST]     200 recordings from number 0 unless told otherwise

Prints one line a recording and a summary. Every third recording breaks the law: dry friction rises towards rest and the
spool is out of balance. Speed errors are over the whole span for which a speed is given, and once more up to two turns
before rest, as bench/spin_film.py has them: in its last turns a spool out of balance has no one speed.

Every tenth recording also goes to librosa's pYIN (Mauch and Dixon, ICASSP 2014, p. 659), if it is installed (the bench
extra): to the sound as it is, in frames that hold two of its longest periods, and to its loudness 2,000 times a second,
where ticks are the only pitch. Its times are of the sound as it is, once it is compiled; its errors of the better one.
Times are those of the processor, algebra on one thread; ours once more by the clock on the wall, as a person waits.
pYIN's frame is the usual one for so low a pitch, two of the longest periods up to the next power of two; its hop of a
quarter of that and all else are as librosa has them.
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

from tests.core.spin.sounds import SAMPLE_HZ, Made, recording, unturned  # noqa: E402

from levelwind.core.errors import NotDeterminedError  # noqa: E402
from levelwind.core.spin.sound import analyse_sound  # noqa: E402
from levelwind.core.spin.sound_envelope import envelope_of  # noqa: E402

PYIN = importlib.util.find_spec("librosa") is not None
PYIN_EVERY = 10
LOWEST_HZ, HIGHEST_HZ = 6.0, 400.0


def main(number: int, first: int) -> None:
    rows = []
    if PYIN:
        _pyin(np.zeros(SAMPLE_HZ, np.float32), float(SAMPLE_HZ), 8192, np.zeros(1))
    for seed in range(first, first + number):
        row = judged(seed)
        rows.append(row)
        print(" ".join(f"{name}={_short(value)}" for name, value in row.items()), flush=True)
    summary(rows)
    false = [
        kind for seed in range(max(number // 5, 4)) for kind in ("voice", "hiss", "hum", "even") if _answers(kind, seed)
    ]
    print(f"answers to recordings in which nothing runs down: {len(false)} of {4 * max(number // 5, 4)} {false}")


def judged(seed: int) -> dict[str, object]:
    made = recording(seed)
    length = len(made.samples) / SAMPLE_HZ
    begun, clock = process_time(), perf_counter()
    try:
        result = analyse_sound(made.samples, float(SAMPLE_HZ), np.random.default_rng(1), marks=made.marks)
    except NotDeterminedError as refusal:
        return {"seed": seed, "broken": made.broken, "answered": 0, "marks": made.marks, "why": str(refusal)}
    took, waited = process_time() - begun, perf_counter() - clock
    spin = max(result.spins, key=lambda each: (each.end_s or 0) - (each.start_s or 0))
    times, speeds = (np.array(x) for x in zip(*spin.speed, strict=True))
    error = _errors(made, times, speeds)
    told = spin.energy_share
    assert told and spin.start_s is not None and spin.end_s is not None
    truth = made.shares(spin.start_s, spin.end_s)
    held = [q.low <= x <= q.high for q, x in zip((told.dry, told.oil, told.air), truth, strict=True)]
    row: dict[str, object] = {
        "seed": seed, "broken": made.broken, "answered": 1, "marks": made.marks,
        "median": float(np.median(error)), "p95": float(np.quantile(error, 0.95)),
        "p95_two": float(np.quantile(_errors(made, times, speeds, short_of_rest=2.0), 0.95)),
        "held": "".join("y" if h else "n" for h in held),
        "width": max(q.high - q.low for q in (told.dry, told.oil, told.air)),
        "said_broken": sum(note.key in ("friction_rises", "law_not_kept") for note in spin.cautions),
        "cautions": len(spin.cautions) + len(result.cautions), "faster": length / took,
        "faster_wall": length / waited,
    }  # fmt: skip
    first = spin.initial_rev_s
    assert first
    row["first"] = "ny"[int(first.low <= np.interp(spin.start_s, made.time_s, made.rev_s) <= first.high)]
    if spin.spin_time_s and made.stop_s <= length:
        row["stop"] = "ny"[int(spin.spin_time_s.low <= made.stop_s - spin.start_s <= spin.spin_time_s.high)]
    begun = process_time()
    pitch = yin(made, times) / made.marks
    row["yin_faster"] = length / (process_time() - begun)
    row["yin"] = float(np.median(_errors(made, times, pitch)))
    row["ridge"] = float(np.median(_errors(made, times, ridge(made, times) / made.marks)))
    if PYIN and seed % PYIN_EVERY == 0:
        row["pyin"], seconds = pyin(made, times)
        row["pyin_slower"] = seconds / took
    return row


def _errors(made: Made, times: np.ndarray, speeds: np.ndarray, *, short_of_rest: float = 0.0) -> np.ndarray:
    inside = (times >= made.time_s[0]) & (times <= made.time_s[-1])
    if short_of_rest:
        turns = np.concatenate([[0.0], np.cumsum(np.diff(made.time_s) * (made.rev_s[1:] + made.rev_s[:-1]) / 2)])
        inside &= times <= np.interp(turns[-1] - short_of_rest, turns, made.time_s)
    truth = np.interp(times[inside], made.time_s, made.rev_s)
    return np.abs(speeds[inside] - truth) / np.maximum(truth, 0.02 * made.rev_s[0])


def pyin(made: Made, times: np.ndarray) -> tuple[float, float]:
    """Median error of the better of sound and loudness, and the seconds that the sound took."""
    begun = process_time()
    heard = _pyin(made.samples, float(SAMPLE_HZ), 8192, times)
    took = process_time() - begun
    loud = np.abs(made.samples[: len(made.samples) // 12 * 12].reshape(-1, 12)).mean(1)
    seen = _pyin(loud - loud.mean(), SAMPLE_HZ / 12, 1024, times)
    return min(float(np.median(_errors(made, times, hz / made.marks))) for hz in (heard, seen)), took


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


def _answers(kind: str, seed: int) -> bool:
    try:
        analyse_sound(unturned(kind, seed), float(SAMPLE_HZ), np.random.default_rng(1))
    except NotDeterminedError:
        return False
    return True


def summary(rows: list[dict[str, object]]) -> None:
    told = [row for row in rows if row["answered"]]
    median, p95 = (np.array([row[name] for row in told], dtype=float) for name in ("median", "p95"))
    quiet = np.array([row["cautions"] == 0 for row in told])
    wrong = [int(np.sum((error > 0.03) & quiet)) for error in (p95, median)]
    print(f"\nanswered {len(told)} of {len(rows)}")
    print(f"speed error: median of the medians {np.median(median):.1e}, of the 95th percentiles {np.median(p95):.1e}")
    print(f"within 1 % at the 95th percentile: {100 * np.mean(p95 < 0.01):.0f} % of those answered")
    print(f"wrong by over 3 % without a caution: {wrong[0]} at the 95th percentile, {wrong[1]} by the median")
    for broken in (False, True):
        if some := [row for row in told if row["broken"] == broken]:
            _intervals("breaking" if broken else "keeping", some)
    two = np.array([row["p95_two"] for row in told], dtype=float)
    print(f"the same up to two turns before rest: {100 * np.mean(two < 0.01):.0f} %")
    for name in ("yin", "ridge"):
        print(f"{name}: median error {_middle(told, name):.1e}")
    slow, middle, quick = np.quantile(np.array([row["faster"] for row in told], dtype=float), [0.05, 0.5, 0.95])
    print(f"ours: {middle:.0f} times faster than real time ({slow:.0f} to {quick:.0f}; wanted 30), ", end="")
    print(f"{_middle(told, 'faster_wall'):.0f} by the clock on the wall; ", end="")
    print(f"yin, at 240 moments of a spin: {_middle(told, 'yin_faster'):.0f}")
    if some := [row for row in told if "pyin" in row]:
        ours, theirs = _middle(some, "median"), _middle(some, "pyin")
        print(f"pYIN, {len(some)} recordings: {_middle(some, 'pyin_slower'):.1f} times slower (wanted 10), ", end="")
        print(f"median error {theirs:.1e} against {ours:.1e}: {theirs / ours:.0f} times as large (wanted 5)")
    else:
        print("pYIN was not run: pip install -e .[bench]")


def _intervals(name: str, rows: list[dict[str, object]]) -> None:
    shares = np.mean([c == "y" for row in rows for c in str(row["held"])])
    first = np.mean([row["first"] == "y" for row in rows])
    stop = np.mean([row["stop"] == "y" for row in rows if "stop" in row])
    width = _middle(rows, "width")
    print(f"{name} the law ({len(rows)}), 90 % intervals held: shares {shares:.2f} (width {width:.3f}), ", end="")
    said = np.mean([bool(row["said_broken"]) for row in rows])
    print(f"first speed {first:.2f}, stop {stop:.2f}; said to be broken {said:.0%}")


def _middle(rows: list[dict[str, object]], name: str) -> float:
    return float(np.median([float(str(row[name])) for row in rows]))


def _short(value: object) -> str:
    return f"{value:.2g}" if isinstance(value, float) else str(value).replace(" ", "_")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200, int(sys.argv[2]) if len(sys.argv) > 2 else 0)
