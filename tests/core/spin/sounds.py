"""Sounds of spools running down, made so that the truth is known: invented, after what a phone hears on a bench."""

import io
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from levelwind.core.spin.law import Law, energy_shares, speed_after, time_between, turns_after

FloatArray = NDArray[np.float64]
SAMPLE_HZ = 24_000


@dataclass(frozen=True, slots=True, eq=False)
class Made:
    """A sound and the truth behind it."""

    samples: NDArray[np.float32]
    marks: int
    broken: bool
    """Whether it breaks the law: friction rises towards rest, and the spool is out of balance."""
    flick_s: float
    stop_s: float
    time_s: FloatArray
    rev_s: FloatArray
    law: Law
    """Its rise towards rest included."""

    def shares(self, start_s: float, end_s: float) -> FloatArray:
        """Energy shares of dry friction, oil and air between two times."""
        return energy_shares(self.law, *np.interp([start_s, end_s], self.time_s, self.rev_s))


@cache
def recording(seed: int, *, model_error: bool | None = None, codec: str | None = "") -> Made:
    """One of a fixed family by its number: speeds, losses, marks, noises all drawn. Every third breaks the law."""
    rng = np.random.default_rng(seed)
    broken = seed % 3 == 0 if model_error is None else model_error
    law, start, stop = _spool(rng)
    flick = rng.uniform(0.3, 2.0)
    length = flick + stop * (1.0 if rng.random() < 0.8 else rng.uniform(0.5, 0.9)) + rng.uniform(0.3, 2.0)
    t, turns, speed, law = _motion(law, start, stop, broken, rng)
    marks = int(rng.choice([1, 1, 1, 2, 3, 4, 6]))
    ticks = _tick_times(t, turns, marks, rng)
    samples = ticking(ticks + flick, np.interp(ticks, t, speed) / start, length, marks, rng)
    samples = samples + _background(len(samples), flick, rng)
    samples = _recorded(samples, rng)
    chosen = rng.choice(["none", "none", "aac", "clip"]) if codec == "" else codec
    if chosen == "aac":
        samples = through_codec(samples)
    inside = (t + flick <= length) & (turns < turns[-1] - (0.5 if broken else 0.0))
    speed = _over_a_turn(t, turns, speed) if broken else speed
    return Made(samples, marks, broken, flick, flick + float(t[-1]), t[inside] + flick, speed[inside], law)


def speed_errors(made: Made, times: FloatArray, speeds: FloatArray, *, short_of_rest: float = 0.0) -> FloatArray:
    """Relative errors at the times between flick and rest, or up to ``short_of_rest`` turns before it."""
    inside = (times >= made.time_s[0]) & (times <= made.time_s[-1])
    if short_of_rest:
        turns = np.concatenate([[0.0], np.cumsum(np.diff(made.time_s) * (made.rev_s[1:] + made.rev_s[:-1]) / 2)])
        inside &= times <= np.interp(turns[-1] - short_of_rest, turns, made.time_s)
    truth = np.interp(times[inside], made.time_s, made.rev_s)
    return np.asarray(np.abs(speeds[inside] - truth) / np.maximum(truth, 0.02 * made.rev_s[0]))


def _spool(rng: np.random.Generator) -> tuple[Law, float, float]:
    start, stop = rng.uniform(8, 45), rng.uniform(5, 35)
    parts = rng.dirichlet([1, 1, 1]) + np.array([0.03, 0, 0])
    shape = Law(parts[0], parts[1] / start * 1.5, parts[2] / start**2 * 2)
    scale = float(time_between(shape, start, 0.0)) / stop
    return Law(*(float(x) * scale for x in shape.coefficients)), start, stop


def _motion(
    law: Law, start: float, stop: float, broken: bool, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray, FloatArray, Law]:
    """Times since the flick, turns, speeds and the law; a broken one rises towards rest and is out of balance."""
    dry, oil, air = (float(x) for x in law.coefficients)
    t = np.arange(0.0, stop, 0.002)
    rise, width, lump = (
        (rng.uniform(0, 0.8), rng.uniform(0.3, 3.0), rng.uniform(0, 0.6) * dry) if broken else (0.0, 1.0, 0.0)
    )
    if broken:

        def slows(_: float, y: FloatArray) -> list[float]:
            f = max(y[0], 0.0)
            loss = dry * (1 + rise * np.exp(-f / width)) + oil * f + air * f * f + lump * np.sin(2 * np.pi * y[1])
            return [-loss if y[0] > 1e-3 else 0.0, f]

        solved = solve_ivp(slows, (0, stop), [start, 0.13], t_eval=t, rtol=1e-8, atol=1e-8)
        speed, turns = solved.y[0], solved.y[1]
        moving = speed > 0.02
        t, speed, turns = t[moving], speed[moving], turns[moving]
    else:
        speed, turns = speed_after(law, start, t), turns_after(law, start, t) + 0.13
    return t, turns, speed, Law(dry, oil, air, rise, width)


def _over_a_turn(t: FloatArray, turns: FloatArray, speed: FloatArray) -> FloatArray:
    """Speed without what an unbalance does within each turn: one turn over the time it took."""
    half = 0.5
    whole = (turns > turns[0] + half) & (turns < turns[-1] - half)
    took = np.interp(turns + half, turns, t) - np.interp(turns - half, turns, t)
    return np.where(whole, 1 / np.maximum(took, 1e-9), speed)


def _tick_times(t: FloatArray, turns: FloatArray, marks: int, rng: np.random.Generator) -> FloatArray:
    """When each mark ticks, unevenly placed by a few hundredths of a turn, jittered, some missing."""
    places = (np.arange(marks) + rng.normal(0, 0.02 if marks > 1 else 0.0, marks)) / marks
    every = (np.arange(int(turns[-1]) + 1)[:, None] + places).ravel()
    every = every[(every > turns[0]) & (every < turns[-1])]
    times = np.interp(every, turns, t) + rng.normal(0, rng.uniform(0.0, 0.0006), len(every))
    return times[rng.random(len(times)) > rng.uniform(0, 0.15)]


def ticking(ticks: FloatArray, relative: FloatArray, length: float, marks: int, rng: np.random.Generator) -> FloatArray:
    """Each tick a ringing of two tones that dies away in a millisecond or so, louder when faster."""
    n = int(length * SAMPLE_HZ)
    out = np.zeros(n)
    ring = np.arange(int(0.012 * SAMPLE_HZ)) / SAMPLE_HZ
    tones, fades = rng.uniform(1500, 8000, 2), rng.uniform(0.0006, 0.003, 2)
    loud = relative ** rng.uniform(0.0, 0.8) * rng.lognormal(0, 0.25, len(ticks))
    loud = loud * np.tile(rng.lognormal(0, 0.2, marks), len(ticks) // marks + 1)[: len(ticks)]
    for at, size in zip(ticks, loud, strict=True):
        first = int(np.ceil(at * SAMPLE_HZ))
        since = ring + (first / SAMPLE_HZ - at)
        burst = sum(np.sin(2 * np.pi * f * since + 0.3) * np.exp(-since / d) for f, d in zip(tones, fades, strict=True))
        end = min(n, first + len(ring))
        if 0 <= first < n:
            out[first:end] += size * np.asarray(burst)[: end - first]
    return out


def _background(n: int, flick: float, rng: np.random.Generator) -> FloatArray:
    """Hiss, hum, at times a voice, a knock at the flick, and the rush of the spool's air."""
    t = np.arange(n) / SAMPLE_HZ
    noise = rng.normal(0, 10 ** rng.uniform(-2.0, -0.6), n)
    mains = rng.choice([50.0, 60.0])
    noise += 10 ** rng.uniform(-2.5, -0.5) * sum(np.sin(2 * np.pi * mains * k * t + k) / k for k in (1, 2, 3, 5))
    if rng.random() < 0.4:
        noise += voice(n, rng) * rng.uniform(0.05, 0.5)
    knock = int(flick * SAMPLE_HZ)
    noise[knock : knock + 2000] += rng.normal(0, 0.8, len(noise[knock : knock + 2000])) * np.exp(
        -np.arange(len(noise[knock : knock + 2000])) / 400
    )
    return noise


def voice(n: int, rng: np.random.Generator) -> FloatArray:
    """Syllables of a gliding pitch with its overtones, and breaths between."""
    out, at = np.zeros(n), 0
    while at < n:
        size = min(int(rng.uniform(0.12, 0.5) * SAMPLE_HZ), n - at)
        t = np.arange(size) / SAMPLE_HZ
        pitch = rng.uniform(90, 230) * (1 + rng.uniform(-0.3, 0.2) * t + 0.02 * np.sin(2 * np.pi * 5.5 * t))
        phase = 2 * np.pi * np.cumsum(pitch) / SAMPLE_HZ
        formants = rng.uniform([300, 900, 2200], [800, 2200, 3200])
        loud = [sum(np.exp(-(((k * 150 - f) / 250) ** 2)) for f in formants) for k in range(1, 24)]
        out[at : at + size] += np.hanning(size) * sum(a * np.sin(k * phase) for k, a in enumerate(loud, 1))
        at += size + int(rng.uniform(0.02, 0.5) * SAMPLE_HZ)
    return out


def unturned(kind: str, seed: int) -> NDArray[np.float32]:
    """Twelve seconds in which no spool runs down: "voice", "hiss", "hum", or an "even" ticking that never slows."""
    rng = np.random.default_rng(1000 + seed)
    n = 12 * SAMPLE_HZ
    if kind == "voice":
        return _recorded(voice(n, rng) + rng.normal(0, 0.01, n), rng)
    if kind == "hum":
        return _recorded(
            sum(np.sin(2 * np.pi * 50 * k * np.arange(n) / SAMPLE_HZ) / k for k in (1, 2, 3)) + rng.normal(0, 0.02, n),
            rng,
        )
    if kind == "even":
        rate = rng.uniform(2, 60)
        ticks = np.arange(0.1, 11.9, 1 / rate)
        return _recorded(ticking(ticks, np.ones(len(ticks)), 12.0, 1, rng) + rng.normal(0, 0.02, n), rng)
    return _recorded(rng.normal(0, 0.1, n), rng)


def _recorded(samples: FloatArray, rng: np.random.Generator) -> NDArray[np.float32]:
    """As a phone writes it: a gain that may clip, 16 bits."""
    loud = np.quantile(np.abs(samples), 0.9995)
    gain = rng.uniform(0.1, 0.9) / loud if rng.random() < 0.85 else rng.uniform(1.5, 4.0) / loud
    return (np.round(np.clip(samples * gain, -1, 1) * 32767) / 32767).astype(np.float32)


def through_codec(samples: NDArray[np.float32], codec: str = "aac", container: str = "mp4") -> NDArray[np.float32]:
    """Encoded and decoded again, cut to the length it had."""

    from levelwind.recordings.sound import decode_sound

    data = encoded(samples, codec, container)
    back = decode_sound(data, title="made")[0]

    return back[1024 if codec == "aac" else 0 :][: len(samples)]


def encoded(samples: NDArray[np.float32], codec: str = "aac", container: str = "mp4", bit_rate: int = 64_000) -> bytes:
    """A file as a phone would save it."""
    import av

    buffer = io.BytesIO()
    with av.open(buffer, "w", format=container) as out:
        stream = out.add_stream(codec, rate=SAMPLE_HZ if codec != "libopus" else 48_000)
        if not codec.startswith(("pcm", "flac")):
            stream.bit_rate = bit_rate
        frame = av.AudioFrame.from_ndarray(np.asarray(samples)[None, :], format="flt", layout="mono")
        frame.sample_rate = SAMPLE_HZ
        resampler = av.AudioResampler(format=stream.format.name, layout=stream.layout.name, rate=stream.rate)
        for piece in [*resampler.resample(frame), *resampler.resample(None)]:
            out.mux(stream.encode(piece))
        out.mux(stream.encode(None))
    return buffer.getvalue()
