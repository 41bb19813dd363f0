import io
import struct
import zlib
from pathlib import Path

import pillow_heif
import pytest
from PIL import Image, PngImagePlugin

from levelwind.core.errors import InputError
from levelwind.recordings import photos
from levelwind.recordings.photos import Photo, read_photo

pillow_heif.register_heif_opener()

ORIENTATION, GPS, LATITUDE = 0x0112, 0x8825, 2


def picture(width: int = 600, height: int = 400) -> Image.Image:
    """White, with the top left corner red: enough to see which way up it is."""
    image = Image.new("RGB", (width, height), "white")
    image.paste("red", (0, 0, width // 4, height // 4))
    return image


def encoded(image: Image.Image, kind: str, orientation: int = 1) -> bytes:
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif[0x010F] = "secretive"
    exif.get_ifd(GPS)[LATITUDE] = (54.0, 10.0, 3.25)
    extra: dict[str, object] = {}
    if kind == "JPEG":
        extra = {"comment": b"secretive", "xmp": b"<x>secretive</x>", "quality": 95}
    if kind == "PNG":
        text = PngImagePlugin.PngInfo()
        text.add_text("place", "secretive")
        extra = {"pnginfo": text}
    buffer = io.BytesIO()
    image.save(buffer, kind, exif=exif.tobytes(), **extra)
    return buffer.getvalue()


def opened(jpeg: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(jpeg))
    assert image.format == "JPEG"
    return image


def is_red(image: Image.Image, x: float, y: float) -> bool:
    red, green, _ = image.getpixel((int(x * image.width), int(y * image.height)))  # type: ignore[misc]
    return bool(red > 180 and green < 90)


@pytest.mark.parametrize(("kind", "named"), [("JPEG", "JPEG"), ("PNG", "PNG"), ("WEBP", "WebP"), ("HEIF", "HEIC")])
def test_every_kind_is_turned_upright_and_stripped(kind: str, named: str) -> None:
    photo = read_photo(encoded(picture(), kind, orientation=6))
    assert photo.kind == named
    for jpeg, size in ((photo.jpeg, (400, 600)), (photo.thumbnail, (320, 480))):
        image = opened(jpeg)
        assert image.size == size
        assert is_red(image, 0.95, 0.05)  # orientation 6: what was top left belongs top right
        assert not is_red(image, 0.05, 0.05)
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert not image.getexif()
        assert b"secretive" not in jpeg
    assert (photo.width, photo.height) == (400, 600)


@pytest.mark.limited
def test_a_large_photo_is_made_smaller_and_a_small_one_is_not_made_larger() -> None:
    large = read_photo(encoded(picture(3000, 1500), "JPEG"))
    assert (large.width, large.height, large.thumbnail_width, large.thumbnail_height) == (2400, 1200, 480, 240)
    small = read_photo(encoded(picture(100, 80), "JPEG"))
    assert (small.width, small.height, small.thumbnail_width) == (100, 80, 100)


def test_the_sum_is_of_the_bytes_that_came() -> None:
    # SHA-256 of the file named below by coreutils' sha256sum would be the same; hashlib is the reference here
    from hashlib import sha256

    data = encoded(picture(), "PNG")
    assert read_photo(data).sha256 == sha256(data).hexdigest()


def test_glass_is_laid_on_white_and_sixteen_bits_are_kept_in_proportion() -> None:
    glass = io.BytesIO()
    Image.new("RGBA", (50, 50), (0, 0, 0, 51)).save(glass, "PNG")
    assert opened(read_photo(glass.getvalue()).jpeg).getpixel((9, 9)) == pytest.approx((204, 204, 204), abs=2)
    deep = io.BytesIO()
    Image.new("I;16", (50, 50), 128 * 256).save(deep, "PNG")
    assert opened(read_photo(deep.getvalue()).jpeg).getpixel((9, 9)) == pytest.approx((128, 128, 128), abs=2)


def header_only(width: int, height: int) -> bytes:
    """A PNG that claims a size and holds next to nothing (PNG specification, third edition, 11.2.1 IHDR)."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\0" * 50)) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", r"reel.jpg was empty; allowed is a photo saved as JPEG"),
        (b"The drag slips.\n" * 20, r"reel.jpg was a text file; allowed is a photo"),
        (bytes(range(256)) * 8, r"reel.jpg was not a picture"),
        (b"GIF89a" + bytes(40), r"reel.jpg was a GIF"),
        (header_only(20000, 10000), r"reel.jpg was 200 megapixels; allowed is a PNG of at most 40 megapixels"),
        (header_only(300, 300), r"reel.jpg was cut short or damaged"),
        (encoded(picture(), "JPEG")[:3000], r"reel.jpg was cut short or damaged"),
        (encoded(picture(), "HEIF")[:300], r"reel.jpg was damaged at its start"),
        (b"\xff\xd8\xff\xe0" + bytes(500), r"reel.jpg was damaged at its start"),
        (b"\xff\xd8\xff" + bytes(40_000_000), r"reel.jpg was 40 MB; allowed is a photo of at most 40 MB"),
    ],
)
def test_what_is_no_photo_is_refused_in_one_sentence(data: bytes, sentence: str) -> None:
    with pytest.raises(InputError, match=sentence):
        read_photo(data, name="reel.jpg")


@pytest.mark.limited
def test_the_largest_photo_is_read_in_512_mb() -> None:
    buffer = io.BytesIO()
    Image.new("RGB", (11_540, 8660), "red").save(buffer, "JPEG")
    photo = read_photo(buffer.getvalue())
    assert (photo.width, photo.height) == (2400, 1801) and is_red(opened(photo.jpeg), 0.99, 0.99)


def test_a_photo_that_would_need_more_memory_is_refused_by_its_head(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "LARGEST_PROGRESSIVE", 100_000)
    monkeypatch.setitem(photos.LARGEST_PIXELS, "WebP", 200_000)
    buffer = io.BytesIO()
    picture().save(buffer, "JPEG", progressive=True)
    with pytest.raises(InputError, match=r"allowed is a progressive JPEG of at most 0 megapixels"):
        read_photo(buffer.getvalue())
    with pytest.raises(InputError, match=r"allowed is a WebP of at most 0 megapixels"):
        read_photo(encoded(picture(), "WEBP"))


@pytest.mark.limited
def test_a_file_is_read_by_its_content_and_called_by_its_name(tmp_path: Path) -> None:
    path = tmp_path / "side plate.png"
    path.write_bytes(encoded(picture(), "JPEG"))
    photo = read_photo(path)
    assert isinstance(photo, Photo) and photo.kind == "JPEG"
    path.write_bytes(b"not a picture at all")
    with pytest.raises(InputError, match=r"side plate\.png was a text file"):
        read_photo(path)


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_larger_picture_of_the_sheet_is_read_at_half_its_size(monkeypatch: pytest.MonkeyPatch, kind: str) -> None:
    from levelwind.recordings import sheet_child

    data = encoded(picture(), kind)
    assert sheet_child._opened(data, "sheet", kind)[0].shape == (400, 600, 3)
    monkeypatch.setattr(sheet_child, "MOST_PIXELS", 100_000)
    assert sheet_child._opened(data, "sheet", kind)[0].shape == (200, 300, 3)
