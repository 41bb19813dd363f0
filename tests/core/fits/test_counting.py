"""Ears, keys and teeth are counted with how sure that is, or not at all."""

import numpy as np
import pytest

from levelwind.core.fits.counting import SURE_BY_DOUBTS, teeth_aslant
from levelwind.core.fits.outlines import Edge, Outline, SeenPiece
from levelwind.core.fits.shapes import Sizes, flat_sizes
from levelwind.core.fits.sheet_sizes import Said, SaidOfPiece, measure
from tests.sheets import circle, outline, sheet_seen

SURE, DOUBTED = SURE_BY_DOUBTS


def _edge(points: np.ndarray, normals: np.ndarray, keep: slice | np.ndarray = slice(None)) -> Edge:
    every = np.ones(len(points[keep]), dtype=bool)
    return Edge(points[keep], normals[keep], every, every)


def _eared(at_deg: list[float], high: float = 2.0) -> tuple[np.ndarray, np.ndarray]:
    """A round edge of radius 14 mm with ears 4 mm wide."""
    points, normals = circle(100, 150, 14.0)
    turn = np.arctan2(points[:, 1] - 150, points[:, 0] - 100)
    for way in np.radians(at_deg):
        own = np.abs((turn - way + np.pi) % (2 * np.pi) - np.pi) < 0.14
        points[own] += high * normals[own]
    return points, normals


def _toothed(teeth: int, broken: int = 0) -> Sizes:
    turn = np.linspace(-np.pi, np.pi, 1600, endpoint=False)
    swing = np.clip(1.5 * np.cos(teeth * turn), -0.6, 0.6)
    swing[np.abs(turn) < broken * np.pi / teeth] = -0.6
    points = (12 + swing)[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    return flat_sizes(_edge(points, points / 12), [])


def test_clear_ears_are_sure() -> None:
    count = flat_sizes(_edge(*_eared([10, 100, 190, 280])), []).counts["ears"]
    assert (count.number, count.sure, count.doubts) == (4, SURE, ())


@pytest.mark.parametrize(
    ("edge", "shaded", "number", "words"),
    [
        (_edge(*_eared([10, 100, 190])), 0.0, 3, "do not stand evenly, as if one were missing"),
        (_edge(*_eared([10])), 0.0, 1, "only one stands off"),
        (_edge(*_eared([10, 190], high=0.4)), 0.0, 2, "but little"),
        (_edge(*_eared([10, 130, 250])), 0.2, 3, "a shadow or another piece"),
        (_edge(*_eared([10, 190]), np.r_[0:60, 100:400]), 0.0, 2, "part of its edge is not seen"),
        (_edge(*_eared([10, 100, 190])), 0.2, None, "a shadow or another piece"),
    ],
)
def test_what_speaks_against_a_count_is_said(edge: Edge, shaded: float, number: int | None, words: str) -> None:
    count = flat_sizes(edge, [], shaded=shaded).counts["ears"]
    assert count.number == number and words in " and ".join(count.doubts)
    assert count.sure == (DOUBTED if number else 0.0)


def test_two_keys_that_face_one_another_are_no_flats() -> None:
    points, normals = _eared([10, 190], high=-1.5)
    inside = flat_sizes(_edge(*circle(100, 150, 20.0)), [_edge(points, -normals)])
    assert inside.counts["keys inside"].number == 2 and "across the flats inside" not in inside.sizes


def test_two_flats_are_no_keys_however_shallow() -> None:
    """A bore of 7.3 mm with two flats 6.04 mm apart."""
    points, normals = circle(100, 150, 3.65, -1.0)
    points[:, 1] = 150 + np.clip(points[:, 1] - 150, -3.02, 3.02)
    inside = flat_sizes(_edge(*circle(100, 150, 10.0)), [_edge(points, normals)])
    assert inside.sizes["across the flats inside"] == pytest.approx(6.04, abs=0.02) and not inside.counts


@pytest.mark.parametrize(("stands_out", "clear"), [(1.15, 0.9), (1.0, 0.45)])
def test_a_nut_is_told_by_what_is_foot_or_rim_for_certain(stands_out: float, clear: float) -> None:
    """Of a thick one seen aslant the sides between foot and rim stand out, as ears would; where they hide whole
    sides, the rest alone does not tell it."""
    turn = np.linspace(0, 2 * np.pi, 600, endpoint=False)
    side = (turn + np.pi / 6) % (np.pi / 3) - np.pi / 6
    ray = np.column_stack([np.cos(turn), np.sin(turn)])
    normals = np.column_stack([np.cos(turn - side), np.sin(turn - side)])
    points, told = 5 / np.cos(side)[:, None] * ray, np.abs(np.sin(turn - 0.6)) < clear
    points[~told] *= stands_out
    found = flat_sizes(Edge(points, normals, told, np.ones_like(told)), [])
    assert found.looks == "six-sided" and found.sizes["width across flats"] == pytest.approx(10, abs=0.02)


@pytest.mark.parametrize("ears", [6, 8])
def test_low_ears_are_no_teeth_of_twice_their_number(ears: int) -> None:
    found = flat_sizes(_edge(*_eared([10 + n * 360 / ears for n in range(ears)], high=0.9)), [])
    assert found.looks == "eared" and found.counts["ears"].number == ears


def test_four_slots_are_no_square_hole() -> None:
    points, normals = _eared([10, 100, 190, 280], high=1.0)
    ahead = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
    normals = np.column_stack([-ahead[:, 1], ahead[:, 0]]) / np.hypot(*ahead.T)[:, None]
    found = flat_sizes(_edge(*circle(100, 150, 20.0)), [_edge(points, normals)])
    assert found.counts["slots inside"].number == 4 and found.sizes["inner diameter"] == pytest.approx(28, abs=0.05)


@pytest.mark.parametrize("teeth", [14, 37, 60])
def test_teeth_are_counted_twice(teeth: int) -> None:
    count = _toothed(teeth).counts["tooth count"]
    assert (count.number, count.sure) == (teeth, SURE)


def test_a_gear_with_broken_teeth_is_not_sure_of_them() -> None:
    count = _toothed(30, broken=2).counts["tooth count"]
    assert count.sure < SURE and "broken or hidden" in " ".join(count.doubts)


def test_teeth_seen_aslant_are_counted_by_their_spacing_where_the_edge_is_clear() -> None:
    """Across the way that the gear leans, its sides fill the gaps; how often the rest swings still tells 33."""
    turn = np.linspace(-np.pi, np.pi, 1600, endpoint=False)
    swing = np.clip(1.5 * np.cos(33 * turn), -0.6, 0.6)
    told = np.abs(np.cos(turn)) > 0.35
    swing[~told] = 0.5
    points = (12 + swing)[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    found = flat_sizes(Edge(points, points / 12, told, np.ones_like(told)), [], hidden_mm=2.0)
    assert found.counts["tooth count"].number == 33 and found.sizes["outer diameter"] == pytest.approx(25.2, abs=0.05)
    assert teeth_aslant(33, 33, 0.0).sure == SURE and teeth_aslant(31, 33, 0.0).number is None


def test_the_person_reads_what_is_doubted() -> None:
    hole = outline(*circle(100, 150, 5.0, -1.0))
    sheet = sheet_seen(SeenPiece(outline(*_eared([10, 100, 190])), (hole,)))
    said = Said(100.0, 100.0, {1: SaidOfPiece(0.05)})
    (piece,) = measure(sheet, said)
    assert piece.cautions == (
        "Ears: 3, but not sure, as they do not stand evenly, as if one were missing: count by eye.",
    )
    (shaded,) = measure(sheet_seen(SeenPiece(outline(*_eared([10, 100, 190])), (hole,), None, 0.04)), said)
    assert shaded.size("ears") is None and "these data cannot tell how many" in shaded.cautions[0]


def test_two_pieces_that_touch_are_told_apart_from_an_ear() -> None:
    left, right = circle(100, 150, 14.0), circle(122, 150, 8.0)
    outside = [np.hypot(*(edge[0] - other).T) > radius for edge, other, radius in
               ((left, (122, 150), 8.0), (right, (100, 150), 14.0))]  # fmt: skip
    both = [np.vstack([left[n][outside[0]], right[n][outside[1]]]) for n in (0, 1)]
    (piece,) = measure(
        sheet_seen(SeenPiece(Outline(*(tuple(map(tuple, each.tolist())) for each in both)))), Said(100.0, 100.0)
    )
    assert not piece.sizes and any("touch" in each for each in piece.cautions)
