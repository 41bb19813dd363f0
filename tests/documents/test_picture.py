import re
from base64 import b64decode
from io import BytesIO

import pytest
from PIL import Image

from levelwind.documents import proof
from levelwind.documents.picture import LONGEST_SIDE, Picture, prepared
from tests.documents.sheets import PROOF, photo

SIDEWAYS = 6
"""EXIF tag Orientation (0x0112): the top of the scene is at the right of the stored picture."""


def decoded(svg: bytes | None) -> Image.Image:
    found = re.search(rb"base64,([^\"]+)", svg or b"")
    assert found
    return Image.open(BytesIO(b64decode(found.group(1))))


def with_exif() -> bytes:
    exif = Image.Exif()
    exif[0x0112] = SIDEWAYS
    exif[0x8825] = {1: "N", 2: (54.0, 12.0, 0.0)}
    out = BytesIO()
    Image.new("RGB", (160, 120)).save(out, "JPEG", exif=exif)
    return out.getvalue()


def test_a_picture_is_turned_upright() -> None:
    assert decoded(prepared(Picture(with_exif()))).size == (120, 160)


def test_where_a_picture_was_taken_does_not_go_out_with_the_paper() -> None:
    taken_somewhere = with_exif()
    assert b"Exif" in taken_somewhere
    sheet = proof.ProofSheet(
        PROOF.shop, PROOF.job, PROOF.dated, "", "", pictures=(proof.PicturePair(Picture(taken_somewhere), None),)
    )
    printed = proof.render(sheet)
    assert b"\xff\xd8\xff" in printed, "the JPEG stands in the PDF as it is, so its EXIF would be seen"
    assert b"Exif" not in printed


def test_a_large_picture_is_brought_down_to_what_paper_shows() -> None:
    assert max(decoded(prepared(Picture(photo(3000, 2000)))).size) == LONGEST_SIDE


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "JPEG"])
def test_common_kinds_are_read(kind: str) -> None:
    assert decoded(prepared(Picture(photo(kind=kind)))).format == "JPEG"


def test_what_is_transparent_is_paper() -> None:
    out = BytesIO()
    Image.new("RGBA", (20, 20), (0, 0, 0, 0)).save(out, "PNG")
    assert decoded(prepared(Picture(out.getvalue()))).convert("L").getextrema()[0] > 250


def gif() -> bytes:
    return photo(kind="GIF")


@pytest.mark.parametrize(
    "data",
    [b"", b"not a picture", photo()[:400], b"<svg xmlns='http://www.w3.org/2000/svg'/>", gif()],
    ids=["empty", "text", "cut off", "drawing", "kind not taken"],
)
def test_what_cannot_be_read_as_a_picture_is_known_as_such(data: bytes) -> None:
    assert prepared(Picture(data)) is None


def test_a_picture_of_too_many_pixels_is_not_decoded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 5000)
    assert prepared(Picture(photo(160, 120))) is None
