"""The measuring sheet's geometry, held to OpenCV's own marks and camera, and to pieces whose sizes are known."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.fits.camera import from_corners
from levelwind.core.fits.outlines import Outline, SeenPiece, Sides, brought_down
from levelwind.core.fits.shapes import flat_sizes, long_sizes
from levelwind.core.fits.sheet import CELLS, CODES, PAPERS, sheet
from levelwind.core.fits.sheet_report import as_dict, asked_of
from levelwind.core.fits.sheet_sizes import Said, SaidOfPiece, measure
from levelwind.core.quantities import Quantity
from tests.sheets import EYE, circle, outline, sheet_seen, washer


def test_the_marks_are_those_of_the_detectors_own_dictionary() -> None:
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    for paper in PAPERS:
        for mark in sheet(paper).marks:
            drawn = cv2.aruco.generateImageMarker(dictionary, mark.number, CELLS)
            assert {(int(row), int(column)) for row, column in np.argwhere(drawn > 127)} == set(mark.white)
    assert len({mark.number for paper in PAPERS for mark in sheet(paper).marks}) == len(CODES)


@pytest.mark.parametrize("bend", [0.0, 0.08, -0.08])
def test_the_camera_stands_where_opencv_put_it(bend: float) -> None:
    """Points thrown on to the picture by OpenCV's projectPoints; found again from the marks' corners alone."""
    points = np.array([corner for mark in sheet("a4").marks for corner in mark.corners])
    focal, size = 3150.0, (4032, 3024)
    intrinsic = np.array([[focal, 0, 2010.0], [0, focal, 1505.0], [0, 0, 1]])
    turn = cv2.Rodrigues(cv2.Rodrigues(np.array([0.25, -0.3, 0.0]))[0] @ cv2.Rodrigues(np.array([0, 0, 1.5]))[0])[0]
    shift = np.array([150.0, -100.0, 330.0])
    bends = np.array([bend, 0, 0, 0, 0])
    seen, _ = cv2.projectPoints(np.column_stack([points, np.zeros(len(points))]), turn, shift, intrinsic, bends)
    found = from_corners(points, seen.reshape(-1, 2), size)
    x, y, z = -cv2.Rodrigues(turn)[0].T @ shift
    assert found.camera.eye_mm == pytest.approx((x, y, -z), abs=0.02 * 330)
    assert found.off_mm < 0.02
    assert np.abs(found.camera.pixels(points) - seen.reshape(-1, 2)).max() < 0.4


def _upright_disc(x: float, y: float, radius: float, height: float) -> Outline:
    """What is seen of a disc with upright sides: the hull of its foot and of its top as seen from the lens."""
    stretch = EYE.height_mm / (EYE.height_mm - height)
    under = np.array([EYE.x_mm, EYE.y_mm])
    foot, _ = circle(x, y, radius)
    top = under + (foot - under) * stretch
    turn = np.radians(np.arange(0, 360, 1.0))
    ray = np.column_stack([np.cos(turn), np.sin(turn)])
    both = np.vstack([foot, top])
    hull = both[(both @ ray.T).argmax(axis=0)]
    return outline(hull, ray)


def test_an_upright_side_is_reckoned_with() -> None:
    for height in (0.5, 3.0, 8.0):
        down = brought_down(_upright_disc(150, 200, 12, height), EYE, height)
        assert flat_sizes(down, []).sizes["outer diameter"] == pytest.approx(24.0, abs=0.02)
        flat = brought_down(_upright_disc(150, 200, 12, height), EYE, 0.0)
        assert abs(flat_sizes(flat, []).sizes["outer diameter"] - 24.0) > 0.003 * height


def test_a_lying_bar_is_seen_between_its_two_tangents() -> None:
    """A bar of 5 mm along y, 60 mm beside the lens: its tangents worked out in the plane across it."""
    radius, aside, height = 2.5, 60.0, EYE.height_mm
    away, middle = np.hypot(aside, height - radius), np.arctan2(aside, height - radius)
    half = np.arcsin(radius / away)
    left, right = (height * np.tan(middle + side * half) for side in (-1, 1))
    axis = EYE.x_mm + aside
    sides = Sides(
        (axis, 110.0),
        (0.0, 1.0),
        0.1,
        (EYE.x_mm + right - axis,) * 200,
        (axis - EYE.x_mm - left,) * 200,
        (0.0, 20.0),
    )
    assert long_sizes(sides, EYE).sizes["width"] == pytest.approx(5.0, abs=0.01)


def test_a_lying_screw_is_told_by_its_crests() -> None:
    """M4x0.7 of 16 mm with a 60 degree thread, under the lens; its sides as sharp as a picture can show them."""
    at = np.arange(0, 17, 0.06)
    phase = np.abs((at / 0.7) % 1 - 0.5) * 2
    half = 2.0 - 0.61343 * 0.7 * np.clip((phase - 0.125) / 0.75, 0, 1)
    side = tuple((half * EYE.height_mm / (EYE.height_mm - 2)).tolist())
    start = (EYE.x_mm - 8, EYE.y_mm)
    found = long_sizes(Sides(start, (1.0, 0.0), 0.06, side, side, (0.5, 16.5)), EYE)
    assert found.looks == "threaded"
    assert found.sizes["thread pitch"] == pytest.approx(0.7 * (1 - 2 / 300), abs=0.003)
    assert found.sizes["thread diameter"] == pytest.approx(4.0, abs=0.15)


def test_the_end_of_a_lying_screw_that_looks_away_shows_its_last_turn_and_not_its_crests() -> None:
    """M4x0.7 of 16 mm, 60 to 76 mm aside of the lens: the rim of its far end, 0.8 pitches under the crests."""
    at = np.arange(0, 18, 0.06)
    phase = np.abs((at / 0.7) % 1 - 0.5) * 2
    half = 2.0 - 0.61343 * 0.7 * np.clip((phase - 0.125) / 0.75, 0, 1)
    side = tuple((half * EYE.height_mm / (EYE.height_mm - 2)).tolist())
    far = 76 * EYE.height_mm / (EYE.height_mm - (4 - 0.8 * 0.7))
    found = long_sizes(Sides((EYE.x_mm + 59.5, EYE.y_mm), (1.0, 0.0), 0.06, side, side, (0.5, far - 59.5)), EYE)
    assert found.looks == "threaded" and found.sizes["length"] == pytest.approx(16.0, abs=0.03)


def _outer(edge: Outline) -> Quantity:
    (piece,) = measure(sheet_seen(SeenPiece(edge)), Said(100.0, 100.0, {1: SaidOfPiece(0.05)}))
    outer = piece.size("outer diameter")
    assert outer is not None
    return outer


def test_an_edge_in_its_own_shadow_does_not_draw_the_circle() -> None:
    """Along nearly half of the outline a shadow's rim is seen, 0.1 mm too far out, as soft as such a rim is."""
    points, normals = circle(100, 150, 14.0)
    shaded = normals[:, 0] > 0.2
    clean = _outer(outline(points, normals))
    points[shaded] += 0.1 * normals[shaded]
    drawn = _outer(outline(points, normals))
    told = _outer(replace(outline(points, normals), soft=tuple(shaded.tolist())))
    assert told.value == pytest.approx(clean.value, abs=0.02) and drawn.value > clean.value + 0.05


def test_an_edge_that_strays_from_its_circle_widens_the_interval() -> None:
    points, normals = circle(100, 150, 14.0)
    clean = _outer(outline(points, normals))
    turn = np.arctan2(normals[:, 1], normals[:, 0])
    strayed = _outer(outline(points + 0.05 * np.cos(2 * turn)[:, None] * normals, normals))
    assert strayed.high - strayed.low > 1.5 * (clean.high - clean.low)


def test_a_washer_its_ears_and_what_is_asked_of_it() -> None:
    (found,) = measure(sheet_seen(washer(ears=4)), Said(pieces={1: SaidOfPiece(0.05)}))
    assert found.looks == "eared" and found.size("ears").value == 4  # type: ignore[union-attr]
    outer, inner = found.size("outer diameter"), found.size("inner diameter")
    assert outer is not None and inner is not None
    assert outer.low < 28.0 < outer.high and inner.low < 10.0 < inner.high
    assert outer.high - outer.low < 0.4 and not found.cautions
    (asked,) = asked_of(found, SaidOfPiece(0.05))
    assert (asked.piece, asked.fields["thickness"]) == ("washer", "0.05")
    (unsaid,) = measure(sheet_seen(washer()))
    assert "thickness is not said" in unsaid.cautions[0] and unsaid.asks_height
    wide = unsaid.size("outer diameter")
    assert wide is not None and wide.high - wide.low > 1.5 * (outer.high - outer.low)
    assert {each.piece for each in asked_of(unsaid, SaidOfPiece())} == {"washer", "bearing", "spring"}
    assert [each.piece for each in asked_of(unsaid, SaidOfPiece(1.8, round_edge=True))] == ["oring"]
    told = as_dict(sheet_seen(washer()), Said(), (unsaid,))
    assert told["pieces"][0]["sizes_mm"]["outer diameter"].keys() == {"value", "low", "high"}


def test_a_print_that_was_scaled_counts_only_once_it_is_measured() -> None:
    """Printed 2 % too small, the paper seems 2 % larger than ISO 216 has it."""
    small = sheet_seen(washer(), printed=(210 / 0.98, 297 / 0.98))
    with pytest.raises(NotDeterminedError, match=r"made the sheet 2\.0 % smaller: measure both printed lines"):
        measure(small)
    with pytest.raises(NotDeterminedError, match="Nobody measured the printed lines"):
        measure(sheet_seen(washer(), printed=(None, None)))
    assert measure(sheet_seen(washer(), printed=(None, 298.5)))
    (found,) = measure(small, Said(98.0, 98.0, {1: SaidOfPiece(0.001)}))
    outer = found.size("outer diameter")
    assert outer is not None and outer.value == pytest.approx(28.0 * 0.98, abs=0.01)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (lambda: Said(across_mm=50.0), "printed line across was 50 mm; allowed is 85 to 115 mm"),
        (lambda: SaidOfPiece(0.0), "thickness was 0 mm"),
        (lambda: SaidOfPiece(45.0), "up to 30 mm"),
        (lambda: sheet("a3"), "a4 or us-letter"),
    ],
)
def test_what_cannot_be_is_refused(said, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match=words):
        said()


def test_a_shadow_and_an_edge_over_the_room_are_said() -> None:
    piece = replace(washer(), unclear=0.2, cut_off=True)
    (found,) = measure(sheet_seen(piece), Said(100.0, 100.0, {1: SaidOfPiece(1.0)}))
    assert "over the edge of the room" in found.cautions[0] and "along 20 % of its edge" in found.cautions[1]
