"""The printed measuring sheet: its marks lie where the reader thinks they lie, by OpenCV's own detector."""

from datetime import date
from typing import Literal

import cv2
import numpy as np
import pytest
import typst

from levelwind.core.fits.sheet import sheet
from levelwind.documents import measuring_sheet, press
from levelwind.documents.letters import type_case

PPI = 120


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_every_mark_is_read_at_its_place(paper: Literal["a4", "us-letter"]) -> None:
    forme = measuring_sheet.layout(paper, "Bench", date(2026, 5, 1))
    png = typst.compile(press.files(forme), format="png", ppi=PPI, font_paths=type_case())  # type: ignore[call-overload]
    page = cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_GRAYSCALE)
    assert page is not None
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50))
    corners, numbers, _ = detector.detectMarkers(page)
    seen = dict(zip(np.ravel(numbers).tolist(), corners, strict=True))  # type: ignore[arg-type]
    assert len(seen) == 12
    for mark in sheet(paper).marks:
        at_mm = (seen[mark.number].reshape(4, 2) + 0.5) * 25.4 / PPI
        assert np.abs(at_mm - mark.corners).max() < 0.3
    assert not press.cautions(forme)
