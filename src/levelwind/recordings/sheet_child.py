"""The part of ``sheet_photo.read_sheet`` that touches pixels; runs in the limited process, and needs OpenCV."""

import io
from dataclasses import dataclass

import cv2
import numpy as np
from PIL import Image, ImageOps

from levelwind.core.codec import as_stored
from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.fits.camera import Camera, Stood, from_corners, from_edges
from levelwind.core.fits.edges import linear_light, strongest, width_of
from levelwind.core.fits.model import Floats
from levelwind.core.fits.outlines import Eye
from levelwind.core.fits.seen import PaperSeen, SheetSeen
from levelwind.core.fits.sheet import CORNERS, MARK_MM, PAPERS, PER_SHEET, Mark, Sheet, sheet
from levelwind.recordings.limited_messages import Answer
from levelwind.recordings.photos import checked, refusing
from levelwind.recordings.sheet_pieces import Light, laid_flat, pieces_of

FEWEST_MARKS = 8
"""Of the twelve: with fewer the lens's bend is guessed. Our choice."""

FEWEST_PX_PER_MM = 4.0
"""A quarter of a millimetre a dot: coarser, a tenth of a millimetre is not seen. Our choice."""

MOST_BLUR_MM = 0.30
"""Spread of an edge: wider, small ears and threads run into one another. Our choice."""

FLATTEST_MM = 0.15
"""How far the marks may lie off a flat sheet: our choice."""

MOST_PIXELS = 26_000_000
"""A larger picture is read at half its size: still 13 dots a millimetre and more where the sheet fills it, and what the
reader was set on had 13 (docs/physics/fits.md)."""

SHOWN_PX_PER_MM = 6
"""Of the straightened picture that is kept."""

FOCAL_TAG, EXIF_IFD = 0xA405, 0x8769
"""Where a picture states its focal length for 36 by 24 mm: Exif 2.3."""


@dataclass(frozen=True, slots=True)
class Found:
    mark: Mark
    corners_px: Floats


def decode_sheet(data: bytes, *, title: str, kind: str) -> Answer:
    """Facts are those of ``SheetSeen``; the blob is the straightened picture as a JPEG."""
    cv2.setNumThreads(1)
    cv2.setRNGSeed(1)
    colours, focal_mm = _opened(data, title, kind)
    grey = cv2.cvtColor(colours, cv2.COLOR_RGB2GRAY)
    paper, found = _marks(grey, title)
    _not_cut_off(paper, found, title)
    light = Light(linear_light(np.arange(256) / 255).astype(np.float32)[grey])
    stood = _from_corners(found, grey.shape[1], grey.shape[0], focal_mm)
    stood, blur_mm = _by_edges(light, stood, found, focal_mm, title)
    if stood.off_mm > FLATTEST_MM:
        raise InputError(title, "of a sheet that is not flat", "a sheet pressed flat on the bench")
    seen = SheetSeen(
        paper=paper.paper,
        eye=Eye(*stood.camera.eye_mm, stood.eye_sd_mm),
        tilt_deg=stood.camera.tilt_deg,
        blur_mm=blur_mm,
        marks_off_mm=stood.off_mm,
        px_per_mm=float(np.median(stood.camera.px_per_mm(_middles(paper)))),
        printed=_paper_edges(light, stood.camera, paper, blur_mm),
        pieces=pieces_of(light, colours, stood.camera, paper, blur_mm),
    )
    return Answer(as_stored(seen), (_straightened(colours, stood.camera, paper),))


def _opened(data: bytes, title: str, kind: str) -> tuple[np.ndarray, float | None]:
    with refusing(title):
        image = checked(data, title, kind)
        stated = image.getexif().get_ifd(EXIF_IFD).get(FOCAL_TAG)
        if image.width * image.height > MOST_PIXELS:
            half = image.width // 2, image.height // 2
            image = image if image.draft(None, half) else image.reduce(2)
        image = ImageOps.exif_transpose(image).convert("RGB")
    focal = float(stated) if isinstance(stated, int | float) and 10 <= stated <= 200 else None
    return np.asarray(image), focal


def _marks(grey: np.ndarray, title: str) -> tuple[Sheet, list[Found]]:
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50), parameters)
    smaller = max(1, round(max(grey.shape) / 2400))
    small = (
        cv2.resize(grey, None, fx=1 / smaller, fy=1 / smaller, interpolation=cv2.INTER_AREA) if smaller > 1 else grey
    )
    corners, numbers, _ = detector.detectMarkers(small)
    found = {} if numbers is None else dict(zip(numbers.ravel().tolist(), corners, strict=True))
    papers = [sheet(name) for name in PAPERS]
    counts = [sum(mark.number in found for mark in each.marks) for each in papers]
    if max(counts) < 2:
        raise InputError(
            title,
            "without the measuring sheet's marks",
            "a picture of the printed sheet with its black marks, sharp and lit",
        )
    paper = papers[int(np.argmax(counts))]
    return paper, [
        Found(mark, (found[mark.number].reshape(4, 2).astype(float) + 0.5) * smaller - 0.5)
        for mark in paper.marks
        if mark.number in found
    ]


def _not_cut_off(paper: Sheet, found: list[Found], title: str) -> None:
    have = {each.mark.number % PER_SHEET for each in found}
    missing = [name for name, number in CORNERS.items() if number not in have]
    if len(missing) > 1 or len(found) < FEWEST_MARKS:
        where = f"the {' and the '.join(missing)}" if missing else f"{PER_SHEET - len(found)} marks along its sides"
        raise InputError(title, f"cut off or covered: {where} cannot be read", "a picture with the whole sheet on it")


def _from_corners(found: list[Found], width: int, height: int, focal_mm: float | None) -> Stood:
    points = np.array([corner for each in found for corner in each.mark.corners])
    return from_corners(points, np.vstack([each.corners_px for each in found]), (width, height), focal_mm)


def _by_edges(
    light: Light, stood: Stood, found: list[Found], focal_mm: float | None, title: str
) -> tuple[Stood, float]:
    """The camera from the marks' edges, and how far the picture blurs an edge, mm."""
    points, normals = _mark_edges([each.mark for each in found])
    scale = float(np.median(stood.camera.px_per_mm(points)))
    if scale < FEWEST_PX_PER_MM:
        allowed = f"nearer: at least {FEWEST_PX_PER_MM:g} dots a millimetre"
        raise InputError(title, f"taken from too far: {scale:.1f} dots a millimetre", allowed)
    blur_mm = 1.0 / scale
    for reach_mm in (1.2, 0.8):
        profiles, step = light.across(stood.camera, points, normals, reach_mm, 0.5 / scale)
        blurs = [width_of(side) for side in np.split(_levelled(profiles), len(profiles) // PER_SIDE)]
        blur_mm = max(float(np.nanmedian(blurs)) * step, 0.35 / scale)
        if not blur_mm <= MOST_BLUR_MM:
            was = f"too blurred: an edge spreads over {2 * blur_mm:.1f} mm"
            raise InputError(title, was, "a sharp one: hold still, more light, wipe the lens")
        at, _ = strongest(_levelled(profiles), blur_mm / step)
        off = (at - (profiles.shape[1] - 1) / 2) * step
        good = np.isfinite(off)
        if good.sum() < 0.5 * len(off):
            raise NotDeterminedError("The edges of the marks on the picture cannot be told: more light, or hold still.")
        seen = stood.camera.pixels(points + normals * np.nan_to_num(off)[:, None])
        ahead = stood.camera.pixels(points + normals * 0.1) - stood.camera.pixels(points)
        along = ahead / np.hypot(*ahead.T)[:, None]
        stood = from_edges(stood.camera, points[good], seen[good], along[good], focal_mm)
    return stood, blur_mm


PER_SIDE = 10
"""Points on each side of a mark."""


def _mark_edges(marks: list[Mark]) -> tuple[Floats, Floats]:
    """Points along the four outer edges of each mark, its corners left out, and the way out of it."""
    at = np.linspace(-0.36, 0.36, PER_SIDE) * MARK_MM
    half = np.full(PER_SIDE, MARK_MM / 2)
    zero, one = np.zeros(PER_SIDE), np.ones(PER_SIDE)
    sides = [(at, -half, zero, -one), (half, at, one, zero), (at, half, zero, one), (-half, at, -one, zero)]
    own = np.vstack([np.column_stack(side[:2]) for side in sides])
    out = np.vstack([np.column_stack(side[2:]) for side in sides])
    points = np.vstack([own + np.array([mark.x_mm, mark.y_mm]) for mark in marks])
    return points, np.vstack([out] * len(marks))


def _levelled(profiles: Floats) -> Floats:
    """Each line over its own brightest: a mark in the shade counts as one in the sun."""
    return np.asarray(profiles / np.maximum(np.percentile(profiles, 95, axis=1, keepdims=True), 1e-3))


def _middles(paper: Sheet) -> Floats:
    return np.array([(mark.x_mm, mark.y_mm) for mark in paper.marks])


PAPER_NEAR, PAPER_FAR = 14.0, 16.0
"""mm inside and outside of where the paper's edge should lie that are looked at."""


def _paper_edges(light: Light, camera: Camera, paper: Sheet, blur_mm: float) -> PaperSeen:
    """How wide and how high the paper itself is seen, in the sheet's own millimetres; None where an edge is not."""
    width, height = paper.width_mm, paper.height_mm
    along_x, along_y = np.linspace(0.08, 0.92, 40) * width, np.linspace(0.08, 0.92, 40) * height
    ones = np.ones(40)
    left = _edge_at(light, camera, np.column_stack([0 * ones, along_y]), (-1, 0), blur_mm)
    right = _edge_at(light, camera, np.column_stack([width * ones, along_y]), (1, 0), blur_mm)
    top = _edge_at(light, camera, np.column_stack([along_x, 0 * ones]), (0, -1), blur_mm)
    bottom = _edge_at(light, camera, np.column_stack([along_x, height * ones]), (0, 1), blur_mm)
    return PaperSeen(
        None if left is None or right is None else width + left + right,
        None if top is None or bottom is None else height + top + bottom,
    )


def _edge_at(light: Light, camera: Camera, points: Floats, out: tuple[int, int], blur_mm: float) -> float | None:
    """How far outside of the points the paper ends: one straight edge along most of the side."""
    normals = np.tile(np.array(out, dtype=float), (len(points), 1))
    reach = (PAPER_NEAR + PAPER_FAR) / 2
    middle = points + normals * (PAPER_FAR - PAPER_NEAR) / 2
    profiles, step = light.across(camera, middle, normals, reach, max(0.1, blur_mm))
    at, _ = strongest(_levelled(-profiles + profiles.max(axis=1, keepdims=True)), 1.5)
    off = (at - (profiles.shape[1] - 1) / 2) * step + (PAPER_FAR - PAPER_NEAR) / 2
    good = np.isfinite(off)
    if good.sum() < 0.5 * len(off):
        return None
    near = np.abs(off - np.median(off[good])) < 1.0
    return float(np.median(off[near])) if near.sum() > 0.5 * len(off) else None


def _straightened(colours: np.ndarray, camera: Camera, paper: Sheet) -> bytes:
    across, down = round(paper.width_mm * SHOWN_PX_PER_MM), round(paper.height_mm * SHOWN_PX_PER_MM)
    picture = laid_flat(colours, camera, across, down, lambda dots: (dots + 0.5) / SHOWN_PX_PER_MM)
    buffer = io.BytesIO()
    Image.fromarray(picture).save(buffer, "JPEG", quality=82)
    return buffer.getvalue()
