"""Pictures of the measuring sheet with what its reader knows nothing of, and some full of ears and teeth to count."""

from dataclasses import replace

import numpy as np

from tests.simulations.sheet_pictures import Odd, Shot, any_shot
from tests.simulations.sheet_shapes import BRASS, CARBON, STEEL, Piece, eared, gear, ring, slots


def tabbed(
    x: float, y: float, turn: float, outer: float, inner: float, tabs: int, deep: float, wide: float, height: float
) -> Piece:
    """A washer with tabs that stand into its bore (``deep`` above 0), or slots cut out of it (below)."""

    def within(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        radius, angle = np.hypot(a, b), np.arctan2(b, a)
        step = 2 * np.pi / tabs
        beside = (angle + step / 2) % step - step / 2
        on = (np.abs(radius * np.sin(beside)) < wide / 2) & (np.cos(beside) > 0)
        bore = np.where(on, radius < inner / 2 - deep, radius < inner / 2)
        return (radius < outer / 2) & ~bore

    truth = {"outer diameter": outer, "inner diameter": inner, "keys inside" if deep > 0 else "slots inside": tabs}
    return Piece("tabbed washer", x, y, turn, height, outer / 2, within, truth, STEEL)


def uneven(
    x: float, y: float, turn: float, outer: float, inner: float, at_deg: tuple[float, ...], high: float, height: float
) -> Piece:
    """A washer with ears that stand unevenly round it."""

    def within(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        radius, angle = np.hypot(a, b), np.arctan2(b, a)
        ear = np.zeros(radius.shape, dtype=bool)
        for way in np.radians(at_deg):
            beside = (angle - way + np.pi) % (2 * np.pi) - np.pi
            ear |= (np.abs(radius * np.sin(beside)) < 1.9) & (np.cos(beside) > 0) & (radius < outer / 2 + high)
        return ((radius < outer / 2) | ear) & (radius >= inner / 2)

    truth = {"outer diameter": outer, "inner diameter": inner, "ears": len(at_deg)}
    return Piece("eared washer", x, y, turn, height, outer / 2 + high, within, truth, CARBON)


def broken_gear(
    x: float, y: float, turn: float, teeth: int, module: float, bore: float, height: float, lost: int
) -> Piece:
    """A gear with some teeth side by side broken off: their places are still counted as teeth by nobody who looks."""
    whole = gear(x, y, turn, teeth, module, bore, height)
    root = teeth * module / 2 - 1.25 * module

    def within(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        gap = np.abs(np.arctan2(b, a)) < np.pi * lost / teeth
        return whole.within(a, b) & ~(gap & (np.hypot(a, b) >= root))

    return replace(whole, within=within, name="broken gear")


def _counted(paper: str, rng: np.random.Generator, count: int) -> list[Piece]:
    made = []
    for n, (x, y) in enumerate(slots(paper, rng)[:count]):
        turn, height = rng.uniform(0, 360), float(rng.choice([0.5, 1.0, 1.5, 2.0, 3.0]))
        outer = rng.uniform(16, 29)
        if n % 6 == 0:
            ears, high = int(rng.integers(2, 9)), rng.uniform(0.5, 3.0)
            made.append(eared(x, y, turn, outer, outer * 0.45, ears, outer + 2 * high, rng.uniform(1.6, 4), height))
        elif n % 6 == 1:
            inner, deep = outer * 0.5, rng.uniform(0.5, 1.6)
            made.append(tabbed(x, y, turn, outer, inner, int(rng.integers(2, 7)), deep, rng.uniform(1.4, 2.4), height))
        elif n % 6 == 2:
            inner, deep = outer * 0.45, -rng.uniform(0.5, 1.6)
            made.append(tabbed(x, y, turn, outer, inner, int(rng.integers(2, 7)), deep, rng.uniform(1.4, 2.4), height))
        elif n % 6 == 3:
            at = np.cumsum(rng.uniform(45, 110, int(rng.integers(2, 5))))
            made.append(uneven(x, y, turn, outer, outer * 0.4, tuple(at), rng.uniform(0.7, 2.5), height))
        elif n % 6 == 4:
            teeth = int(rng.integers(14, 60))
            module = min(rng.uniform(0.4, 0.8), 34 / (teeth + 2))
            made.append(gear(x, y, turn, teeth, module, teeth * module * 0.3, rng.uniform(1, 6)))
        else:
            teeth = int(rng.integers(20, 40))
            module = min(0.8, 34 / (teeth + 2))
            lost = int(rng.integers(0, 3))
            made.append(broken_gear(x, y, turn, teeth, module, teeth * module * 0.3, rng.uniform(1, 4), lost))
    return made


def counted_shot(seed: int, megapixels: float = 12.2, count: int = 12) -> Shot:
    """As ``any_shot``, with ears, keys, slots and teeth on every piece."""
    shot = any_shot(seed, megapixels, 1)
    return replace(shot, pieces=_counted(shot.paper, np.random.default_rng(seed + 10**6), count))


def odd_shot(seed: int, megapixels: float = 12.2, count: int = 9) -> Shot:
    """As ``any_shot``, with what the reader does not model; two of the pieces touch in every third picture."""
    shot, rng = any_shot(seed, megapixels, count), np.random.default_rng(seed + 2 * 10**6)
    odd = Odd(
        curl_mm=rng.uniform(0, 1.2),
        spot=rng.uniform(0, 0.8),
        spot_at=(rng.uniform(40, 170), rng.uniform(40, 240)),
        hand=rng.uniform(0.2, 0.6) if rng.random() < 0.5 else 0.0,
        hand_way_deg=rng.uniform(0, 360),
        hand_at_mm=rng.uniform(-20, 120),
        hand_soft_mm=rng.uniform(3, 20),
        gloss=rng.uniform(0, 0.9),
        bevel_mm=rng.uniform(0.1, 0.35) if rng.random() < 0.6 else 0.0,
        bevel_tone=rng.uniform(0.6, 1.7),
        denoise=int(rng.choice([0, 3])),
        halo=rng.uniform(0, 0.5),
        contrast=rng.uniform(0, 0.6),
    )
    pieces = list(shot.pieces)
    if seed % 3 == 0:
        first = pieces[0]
        outer = float(rng.uniform(8, 14))
        aside = first.truth["outer diameter"] / 2 + outer / 2 - 0.02
        turn = rng.uniform(0, 2 * np.pi)
        at = (first.x_mm + aside * np.cos(turn), first.y_mm + aside * np.sin(turn))
        pieces = [first, ring(*at, outer, outer * 0.5, first.height_mm, BRASS, "touching")]
        pieces += [each for each in shot.pieces[1:] if np.hypot(each.x_mm - at[0], each.y_mm - at[1]) > 34]
    return replace(shot, odd=odd, pieces=pieces)
