"""Films of a spool running down, generated: a disc with a tape mark or its own holes, seen by a hand-held phone.

The motion is stepped from its differential equation, not taken from the closed form that the analysis fits, and it may
disobey the law: friction that rises towards standstill (Stribeck) and a spool out of balance on a lying axle. The
picture has what phones do to it: blur of exposure, rows exposed one after another, noise, a shaking hand, a lamp that
flickers at twice the mains, exposure that drifts, compression, frames at uneven times.
"""

import io
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Array = NDArray[np.float64]

WIDTH, HEIGHT = 320, 240
SHRINK = 2
PAD = 20
STEP_S = 0.0005
RINGS, SECTORS = 96, 2048


@dataclass(frozen=True, slots=True)
class Scene:
    """What is filmed and how; lengths in pixels of the 320 by 240 picture, angles in turns unless named."""

    start_rev_s: float = 20.0
    dry_rev_s2: float = 1.2
    oil_per_s: float = 0.15
    air_per_rev: float = 0.004
    stribeck_rev_s2: float = 0.0
    stribeck_rev_s: float = 0.5
    unbalance_rev_s2: float = 0.0
    before_s: float = 0.6
    """At rest, then the flick."""
    after_s: float = 0.8
    """Filmed on after the stop; negative: the film ends before it."""
    skip_s: float = 0.0
    """Cut from the beginning; past ``before_s`` the film starts after the flick."""
    second_flick_at: float | None = None
    """Flicked again when the speed has fallen to this many rev/s."""
    frames_per_s: float = 60.0
    exposure_s: float = 0.003
    readout_s: float = 0.012
    uneven_s: float = 0.0
    way: int = 1
    """1 or -1: clockwise or against it."""
    marks: int = 1
    holes: int = 0
    contrast: float = 90.0
    mark_turns: float | None = None
    mark_from: float | None = None
    """Width of a mark, and the radius at which it begins, over the disc's own; None: drawn, as of a strip of tape."""
    edge_turns: float = 0.004
    """Over which a mark's edge goes from the face's brightness to its own."""
    face: float = 115.0
    """Brightness of the flange, in grey levels."""
    centre: tuple[float, float] = (165.0, 118.0)
    radius: float = 88.0
    tilt: float = 0.9
    """Short axis of the disc's ellipse over its long one."""
    leaning: float = 0.1
    noise: float = 3.0
    shake: float = 1.5
    roll: float = 0.0005
    lamp_hz: float = 100.0
    lamp_depth: float = 0.15
    drift: float = 0.05
    crf: int | None = None
    """Rate factor of H.264; None: not compressed."""


@dataclass(frozen=True, slots=True, eq=False)
class Filmed:
    """A film and the truth behind it. Times are those at which the middle of the disc is exposed."""

    frames: NDArray[np.uint8]
    t_s: Array
    true_t_s: Array
    true_turns: Array
    true_rev_s: Array
    flick_s: float
    stop_s: float
    scene: Scene

    def speed_at(self, t_s: Array) -> Array:
        """True speed in rev/s, averaged over the turn around each moment where it is out of balance."""
        here = np.interp(t_s, self.true_t_s, self.true_rev_s)
        if self.scene.unbalance_rev_s2 == 0:
            return here
        moving = np.append(np.diff(self.true_turns) > 0, False)
        turns = np.interp(t_s, self.true_t_s, self.true_turns)
        rising, when = self.true_turns[moving], self.true_t_s[moving]
        early, late = (np.interp(turns + half, rising, when) for half in (-0.5, 0.5))
        whole = (turns - 0.5 > rising[0]) & (turns + 0.5 < rising[-1])
        return np.asarray(np.where(whole, 1.0 / np.maximum(late - early, 1e-9), here))


def stop_after(scene: Scene, seconds: float) -> Scene:
    """The same shares of loss, scaled so that the spool runs for about ``seconds``."""
    f = np.linspace(1e-3, scene.start_rev_s, 4000)
    loss = scene.dry_rev_s2 + scene.oil_per_s * f + scene.air_per_rev * f * f
    factor = float(np.sum(1 / loss) * (f[1] - f[0])) / seconds
    return replace(
        scene,
        dry_rev_s2=scene.dry_rev_s2 * factor,
        oil_per_s=scene.oil_per_s * factor,
        air_per_rev=scene.air_per_rev * factor,
    )


def draw_scene(rng: np.random.Generator, *, model_error: bool = True) -> Scene:
    """A film as they come: most good, some hard."""
    start, frames = rng.uniform(6, 45), rng.choice([30.0, 60.0, 120.0], p=[0.5, 0.4, 0.1])
    shares = rng.dirichlet([1.5, 1.5, 1.0])
    scene = Scene(
        start_rev_s=start,
        dry_rev_s2=max(shares[0], 0.04),
        oil_per_s=shares[1] / start * 1.5,
        air_per_rev=shares[2] / start**2 * 2,
        before_s=rng.uniform(0.3, 1.0),
        after_s=rng.uniform(0.4, 1.2),
        frames_per_s=frames,
        exposure_s=min(10 ** rng.uniform(-3.3, -1.9), 0.8 / frames),
        readout_s=rng.uniform(0.004, min(0.025, 0.9 / frames)),
        uneven_s=rng.choice([0.0, 0.002], p=[0.7, 0.3]),
        way=int(rng.choice([-1, 1])),
        holes=int(rng.choice([0, 5, 6], p=[0.75, 0.15, 0.1])),
        contrast=rng.uniform(40, 110) * rng.choice([1, -1], p=[0.7, 0.3]),
        centre=(rng.uniform(140, 180), rng.uniform(108, 132)),
        radius=rng.uniform(60, 95),
        tilt=rng.uniform(0.75, 1.0),
        leaning=rng.uniform(0, 0.5),
        noise=rng.uniform(1, 6),
        shake=rng.uniform(0, 3),
        roll=rng.uniform(0, 0.001),
        lamp_hz=rng.choice([100.0, 120.0]),
        lamp_depth=rng.choice([0.0, rng.uniform(0.05, 0.3)]),
        drift=rng.uniform(0, 0.15),
        crf=int(rng.integers(20, 32)),
    )
    scene = stop_after(scene, rng.uniform(4.0, 9.0))
    if model_error and rng.random() < 0.5:
        rise = rng.uniform(0.2, 1.0) * scene.dry_rev_s2
        scene = replace(
            scene,
            stribeck_rev_s2=rise,
            stribeck_rev_s=rng.uniform(0.2, 1.0),
            unbalance_rev_s2=rng.uniform(0, 0.6) * scene.dry_rev_s2,
        )
    return scene


def motion(scene: Scene) -> tuple[Array, Array, Array, float, float]:
    """Times, turns and speeds, stepped; then when it was flicked last, and when it stopped."""
    speeds, turns = [0.0], [0.13]
    flicks, pushing, flicked = [scene.before_s], 0.12, 0
    t, stop = 0.0, None
    while stop is None or t < stop + max(scene.after_s, 0.0):
        f, turn = speeds[-1], turns[-1]
        if flicked < len(flicks) and t >= flicks[flicked]:
            pull = scene.start_rev_s / pushing
            if t >= flicks[flicked] + pushing:
                flicked += 1
                if scene.second_flick_at is not None and len(flicks) == 1:
                    flicks.append(np.inf)
        elif f > 0 or (flicked and stop is None):
            pull = -(scene.dry_rev_s2 + scene.oil_per_s * f + scene.air_per_rev * f * f)
            pull -= scene.stribeck_rev_s2 * np.exp(-f / scene.stribeck_rev_s)
            pull += scene.unbalance_rev_s2 * np.cos(2 * np.pi * turn)
            if len(flicks) == 2 and flicks[1] == np.inf and f <= (scene.second_flick_at or 0.0):
                flicks[1] = t
        else:
            pull = 0.0
        middle = f + pull * STEP_S / 2
        if flicked and f > 0 and f + pull * STEP_S <= 0 and flicked == len(flicks):
            stop = t
        speeds.append(max(f + pull * STEP_S, 0.0))
        turns.append(turn + max(middle, 0.0) * STEP_S)
        t += STEP_S
    return STEP_S * np.arange(len(speeds)), np.array(turns), np.array(speeds), flicks[-1] + pushing, stop


@cache
def filmed(scene: Scene) -> Filmed:
    """The film of a scene by one and the same dice, made once in a process."""
    return make_film(scene, np.random.default_rng(5))


def make_film(scene: Scene, rng: np.random.Generator) -> Filmed:
    """The film as ``read_film`` hands it over: luma, shrunk to 160 by 120."""
    return shoot_with_truth(scene, rng)[1]


def shoot_with_truth(scene: Scene, rng: np.random.Generator) -> tuple[NDArray[np.uint8], Filmed]:
    """Full frames before any compression, and the film that becomes of them."""
    shot, t, times, turns, speeds, flick, stop = _shoot(scene, rng)
    full = shot if scene.crf is None else decoded(encoded(shot, t, scene.crf))
    shape = (len(full), HEIGHT // SHRINK, SHRINK, WIDTH // SHRINK, SHRINK)
    frames = np.stack([np.rint(f.reshape(shape[1:]).mean((1, 3))).astype(np.uint8) for f in full])
    return shot, Filmed(frames, t, times, turns, speeds, flick, stop, scene)


def encoded(
    full: NDArray[np.uint8],
    t_s: Array,
    crf: int = 23,
    *,
    codec: str = "libx264",
    container: str = "mp4",
    rotation: int = 0,
) -> bytes:
    """A film file whose frames are shown at ``t_s``."""
    import av

    buffer = io.BytesIO()
    with av.open(buffer, "w", format=container) as out:
        stream = out.add_stream(codec, rate=60)
        stream.width, stream.height, stream.pix_fmt = full.shape[2], full.shape[1], "yuv420p"
        base = Fraction(1, 90000)
        stream.time_base = stream.codec_context.time_base = base  # the container may settle on another one
        stream.options = (
            {"crf": str(crf), "preset": "veryfast"}
            if codec != "libvpx-vp9"
            else {"crf": str(crf), "b": "0", "cpu-used": "8", "deadline": "realtime"}
        )
        for luma, when in zip(full, t_s, strict=True):
            frame = av.VideoFrame.from_ndarray(
                np.concatenate([luma, np.full((luma.shape[0] // 2, luma.shape[1]), 128, np.uint8)]), format="yuv420p"
            )
            frame.pts, frame.time_base = round(when * 90000), base
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return buffer.getvalue()


def decoded(data: bytes) -> list[NDArray[np.uint8]]:
    import av

    with av.open(io.BytesIO(data)) as container:
        return [
            np.frombuffer(f.planes[0], np.uint8).reshape(f.height, f.planes[0].line_size)[:, : f.width].copy()
            for f in container.decode(video=0)
        ]


def shoot(scene: Scene, rng: np.random.Generator) -> tuple[NDArray[np.uint8], Array]:
    """Full frames, 320 by 240, and their times, before any compression."""
    full, t, *_ = _shoot(scene, rng)
    return full, t


def _shoot(scene: Scene, rng: np.random.Generator):
    times, turns, speeds, flick, stop = motion(scene)
    end = times[-1] if scene.after_s >= 0 else stop + scene.after_s
    t = np.arange(0.0, end - 1.0 / scene.frames_per_s, 1.0 / scene.frames_per_s)
    t = np.sort(t + rng.uniform(-1, 1, len(t)) * scene.uneven_s)
    t = t[t >= max(scene.skip_s, 0.0)]
    late = scene.readout_s * scene.centre[1] / HEIGHT + scene.exposure_s / 2
    camera = _Camera(scene, rng, t)
    full = np.stack([camera.picture(k, when, times, turns, flick) for k, when in enumerate(t)])
    return full, t - t[0], times - late - t[0], turns, speeds, flick - late - t[0], stop - late - t[0]


def _smooth(rng: np.random.Generator, t: Array, seconds: float) -> Array:
    """A wandering of standard deviation one that changes over ``seconds``."""
    knots = np.arange(t[0] - seconds, t[-1] + 2 * seconds, seconds)
    from scipy.interpolate import CubicSpline

    return np.asarray(CubicSpline(knots, rng.standard_normal(len(knots)))(t))


class _Camera:
    def __init__(self, scene: Scene, rng: np.random.Generator, t: Array) -> None:
        self.scene, self.rng = scene, rng
        self.dx, self.dy = (scene.shake * (0.8 * _smooth(rng, t, 0.7) + 0.25 * _smooth(rng, t, 0.12)) for _ in range(2))
        self.lean = 2 * np.pi * scene.roll * _smooth(rng, t, 0.6)
        self.gain = 1 + scene.drift * _smooth(rng, t, 3.0)
        self.lamp_phase = rng.uniform(0, 2 * np.pi)
        self.rows, self.columns = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)
        self.bench = self._bench().astype(np.float32)
        whole = np.s_[PAD : PAD + HEIGHT, PAD : PAD + WIDTH]
        along_y, along_x = (g[whole] for g in np.gradient(self.bench))
        x, y = self.columns - scene.centre[0], self.rows - scene.centre[1]
        self.turned = (y * along_x - x * along_y).astype(np.float32)
        self.summed = np.concatenate([np.zeros((RINGS, 1)), np.cumsum(self._disc(), axis=1)], axis=1) / SECTORS

    def _bench(self) -> Array:
        """What does not turn: a bench top with grain, a few tools, a frame round the spool."""
        rng = self.rng
        shape = (HEIGHT + 2 * PAD, WIDTH + 2 * PAD)
        ground = 110 + 25 * ndimage.gaussian_filter(rng.standard_normal(shape), 20) * 30
        ground += 6 * ndimage.gaussian_filter(rng.standard_normal(shape), 1.5) * 3
        for _ in range(rng.integers(3, 9)):
            x, y = rng.integers(0, shape[1] - 60), rng.integers(0, shape[0] - 40)
            ground[y : y + rng.integers(8, 40), x : x + rng.integers(8, 60)] += rng.uniform(-50, 50)
        return ndimage.gaussian_filter(ground, 1.0)

    def _disc(self) -> Array:
        """The flange unrolled: rings by sectors."""
        scene, rng = self.scene, self.rng
        r, angle = np.meshgrid((np.arange(RINGS) + 0.5) / RINGS, np.arange(SECTORS) / SECTORS, indexing="ij")
        face = np.full(r.shape, scene.face) + 12 * np.cos(9 * r)
        if scene.holes:
            for hole in range(scene.holes):
                size = 0.13 * (1 + 0.15 * rng.standard_normal())
                away = _apart(angle, hole / scene.holes + 0.004 * rng.standard_normal()) * 2 * np.pi * 0.62
                face -= abs(scene.contrast) * _soft(size - np.hypot(away, r - 0.62), 0.02)
        else:
            width, inner = rng.uniform(0.03, 0.09), rng.uniform(0.35, 0.6)
            width, inner = scene.mark_turns or width, scene.mark_from or inner
            band = _soft(r - inner, 0.02) * _soft(0.94 - r, 0.02)
            for mark in range(scene.marks):
                within = width / 2 - np.abs(_apart(angle, mark / scene.marks))
                face += scene.contrast * band * _soft(within, scene.edge_turns)
        scratch = ndimage.gaussian_filter(rng.standard_normal(r.shape), (3, 12), mode="wrap")
        face += 4 * scratch / scratch.std()
        face[r < 0.16] = 45.0
        return face

    def picture(self, k: int, when: float, times: Array, turns: Array, flick: float) -> NDArray[np.uint8]:
        scene = self.scene
        light = self._bench_seen(k)
        opened = when + scene.readout_s * np.arange(HEIGHT) / HEIGHT
        self._spool_seen(light, k, opened, times, turns)
        self._hand(light, when - flick)
        ripple = scene.lamp_depth * np.sinc(scene.lamp_hz * scene.exposure_s)
        lamp = 1 + ripple * np.cos(2 * np.pi * scene.lamp_hz * (opened + scene.exposure_s / 2) + self.lamp_phase)
        light *= (self.gain[k] * lamp[:, None]).astype(np.float32)
        light += np.float32(scene.noise) * self.rng.standard_normal(light.shape, dtype=np.float32)
        return np.clip(np.rint(light), 0, 255).astype(np.uint8)

    def _bench_seen(self, k: int) -> NDArray[np.float32]:
        """Shifted by interpolation between neighbours, rolled to first order."""
        left, up = np.floor(-self.dx[k]), np.floor(-self.dy[k])
        across, down = np.float32(-self.dx[k] - left), np.float32(-self.dy[k] - up)
        x, y = int(left) + PAD, int(up) + PAD
        near = [self.bench[y + j : y + j + HEIGHT, x : x + WIDTH + 1] for j in (0, 1)]
        row = near[0] + down * (near[1] - near[0])
        return np.asarray(row[:, :-1] + across * (row[:, 1:] - row[:, :-1]) + np.float32(self.lean[k]) * self.turned)

    def _spool_seen(self, light: NDArray[np.float32], k: int, opened: Array, times: Array, turns: Array) -> None:
        scene, reach = self.scene, int(self.scene.radius * 1.06) + 2
        x0, y0 = scene.centre[0] + self.dx[k], scene.centre[1] + self.dy[k]
        top, left = max(int(y0) - reach, 0), max(int(x0) - reach, 0)
        window = np.s_[top : max(int(y0) + reach + 1, 0), left : max(int(x0) + reach + 1, 0)]
        x, y = self.columns[window] - np.float32(x0), self.rows[window] - np.float32(y0)
        if not x.size:
            return
        c, s = np.float32(np.cos(scene.leaning + self.lean[k])), np.float32(np.sin(scene.leaning + self.lean[k]))
        u, v = c * x + s * y, (c * y - s * x) / np.float32(scene.tilt)
        away = np.hypot(u, v) / np.float32(scene.radius)
        at = np.flatnonzero(away < 1.06)  # found once: every look by a mask would find it again
        u, v, away, x = (np.take(grid, at) for grid in (u, v, away, x))
        rows = at // self.columns[window].shape[1] + top
        first, last = (np.interp(o, times, turns) for o in (opened, opened + scene.exposure_s))
        last = np.maximum(last, first + 0.001)
        if scene.way < 0:
            first, last = -last, -first
        angle = np.arctan2(v, u) * np.float32(1 / (2 * np.pi))
        ring = np.minimum(away * RINGS, RINGS - 1).astype(np.intp)
        face = self._summed_to(ring, angle - first[rows]) - self._summed_to(ring, angle - last[rows])
        face /= (last - first)[rows]
        shade = 1 + np.float32(0.18 / scene.radius) * x  # light falls from one side and does not turn
        edge = np.clip((1.0 - away) * scene.radius + 0.5, 0, 1)
        seen = light[window].ravel()
        seen[at] = edge * face * shade + (1 - edge) * (seen[at] * 0.3 + 30.0 * (away > 1.0))
        light[window] = seen.reshape(light[window].shape)

    def _summed_to(self, ring: NDArray[np.intp], turn: Array) -> Array:
        """Integral over angle up to ``turn``, past whole turns too."""
        whole = np.floor(turn)
        at = (turn - whole) * SECTORS
        low = at.astype(np.intp)
        start = ring * (SECTORS + 1)
        below, above = self.summed.take(start + low), self.summed.take(start + low + 1)
        return np.asarray(below + (at - low) * (above - below) + whole * self.summed[:, -1].take(ring))

    def _hand(self, light: Array, since_flick: float) -> None:
        """A finger comes in from the right, flicks, and is gone a fifth of a second later."""
        reach = np.clip(1 - np.maximum(np.abs(since_flick + 0.1) - 0.1, 0) / 0.2, 0, 1)
        if reach <= 0:
            return
        x0, y0 = self.scene.centre
        tip = x0 + self.scene.radius * (2.2 - 1.6 * reach)
        finger = (np.abs(self.rows - y0 - 0.2 * (self.columns - tip)) < 16) & (self.columns > tip)
        light[finger] = 165.0


def _apart(angle: Array, other: float) -> Array:
    return np.asarray((angle - other + 0.5) % 1.0 - 0.5)


def _soft(x: Array, width: float) -> Array:
    return np.asarray(np.clip(x / width + 0.5, 0, 1))
