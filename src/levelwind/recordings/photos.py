"""A photo from a phone in, a clean upright JPEG and its thumbnail out. Where it was taken stays with the phone."""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

from levelwind.core.errors import InputError
from levelwind.recordings.limited import Answer, run_limited

LARGEST_BYTES = 40_000_000
LARGEST_PIXELS = {"JPEG": 100_000_000, "PNG": 40_000_000, "WebP": 25_000_000, "HEIC": 50_000_000}
"""As many as are decoded in the memory there is. A large JPEG is made smaller while it is decoded, the others hold the
whole picture once or several times. Phones save up to 50 megapixels as HEIC, and pictures of the screen as PNG."""
LARGEST_PROGRESSIVE = 40_000_000
"""Pixels of a JPEG that comes into view bit by bit: its decoder holds all of it before the first row is done."""
MEGABYTES = 512
LONG_SIDE = 2400
THUMBNAIL_SIDE = 480
GAP = 2.0
"""At least so many times larger than it is kept a picture is decoded, so that nothing of its sharpness goes."""
ALLOWED = "a photo saved as JPEG, PNG, WebP or HEIC"

_HEIC_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo as the shop keeps it: turned upright, at most 2400 px long, without position or any other metadata."""

    jpeg: bytes
    width: int
    height: int
    thumbnail: bytes
    thumbnail_width: int
    thumbnail_height: int
    kind: str
    """What came in: JPEG, PNG, WebP or HEIC."""
    sha256: str
    """Of what came in."""


def read_photo(source: bytes | Path, *, name: str = "") -> Photo:
    """Check, decode in a limited process, and keep only the picture.

    Raises InputError in one sentence for what is no photo, is damaged, or has more bytes or pixels than are read.
    """
    name = name or (source.name if isinstance(source, Path) else "the photo")
    data, kind = sorted_out(source, name)
    answer = run_limited(decode_photo, data, name=name, seconds=20, megabytes=MEGABYTES, title=name, kind=kind)
    (jpeg, thumbnail), (width, height) = answer.blobs, answer.facts["size"]
    small_width, small_height = answer.facts["thumbnail"]
    return Photo(jpeg, width, height, thumbnail, small_width, small_height, kind, sha256(data).hexdigest())


def sorted_out(source: bytes | Path, name: str) -> tuple[bytes, str]:
    """The file's bytes and the kind of picture they are. Raises InputError for what is none, or too large."""
    size = source.stat().st_size if isinstance(source, Path) else len(source)
    if size > LARGEST_BYTES:
        raise InputError(name, f"{size / 1e6:.0f} MB", f"a photo of at most {LARGEST_BYTES / 1e6:.0f} MB")
    data = source.read_bytes() if isinstance(source, Path) else source
    kind = kind_of(data)
    if kind is None:
        raise InputError(name, _what_it_is(data), ALLOWED)
    return data, kind


def kind_of(data: bytes) -> str | None:
    """The kind of picture by its first bytes, whatever its name says.

    >>> kind_of(b"\\xff\\xd8\\xff\\xe0"), kind_of(b"hello")
    ('JPEG', None)
    """
    if data[:3] == b"\xff\xd8\xff":
        return "JPEG"
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        return "PNG"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WebP"
    return "HEIC" if data[4:8] == b"ftyp" and data[8:12] in _HEIC_BRANDS else None


def decode_photo(data: bytes, *, title: str, kind: str) -> Answer:
    """The part that touches pixels; runs in the limited process."""
    with refusing(title):
        image = checked(data, title, kind)
        by = LONG_SIDE * GAP / max(image.size)
        image.draft(None, (int(image.width * by), int(image.height * by)))  # a JPEG alone can be decoded smaller
        image = _plain(image)
        image.thumbnail((LONG_SIDE, LONG_SIDE), reducing_gap=GAP)
        image = _flat(ImageOps.exif_transpose(image))
    small = image.copy()
    small.thumbnail((THUMBNAIL_SIDE, THUMBNAIL_SIDE))
    return Answer({"size": image.size, "thumbnail": small.size}, (_jpeg(image, 85), _jpeg(small, 80)))


def checked(data: bytes, title: str, kind: str) -> Image.Image:
    """The picture, opened and not yet decoded. Raises InputError where it has too many pixels."""
    Image.MAX_IMAGE_PIXELS = None  # our own limit is checked on the header, with a sentence
    if kind == "HEIC":
        from pillow_heif import register_heif_opener

        register_heif_opener(thumbnails=False, depth_images=False, aux_images=False)
    image: Image.Image = Image.open(io.BytesIO(data), formats=["HEIF" if kind == "HEIC" else kind.upper()])
    progressive = kind == "JPEG" and "progressive" in image.info
    most = LARGEST_PROGRESSIVE if progressive else LARGEST_PIXELS[kind]
    pixels = image.width * image.height
    if pixels > most:
        allowed = f"a {'progressive ' * progressive}{kind} of at most {most / 1e6:.0f} megapixels"
        raise InputError(title, f"{pixels / 1e6:.0f} megapixels", allowed)
    return image


@contextmanager
def refusing(title: str) -> Iterator[None]:
    try:
        yield
    except UnidentifiedImageError as error:
        raise InputError(title, "damaged at its start", ALLOWED) from error
    except (OSError, SyntaxError, ValueError, EOFError, RuntimeError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError(title, "cut short or damaged", "a whole photo; send it again") from error


def _plain(image: Image.Image) -> Image.Image:
    """In a mode that can be made smaller without spoiling it."""
    if image.mode.startswith("I"):
        return image.convert("I").point(lambda level: level * (1 / 256)).convert("L")
    if image.mode in ("P", "1", "PA"):
        return image.convert("RGBA")
    return image


def _flat(image: Image.Image) -> Image.Image:
    """Three colours on white, and nothing else that came with the file."""
    if image.has_transparency_data:
        whole = image.convert("RGBA")
        image = Image.alpha_composite(Image.new("RGBA", whole.size, "white"), whole)
    image = image.convert("RGB")
    image.info.clear()
    return image


def _jpeg(image: Image.Image, quality: int) -> bytes:
    buffer = io.BytesIO()
    image.save(buffer, "JPEG", quality=quality)
    return buffer.getvalue()


def _what_it_is(data: bytes) -> str:
    if not data:
        return "empty"
    if data[:3] == b"GIF":
        return "a GIF"
    if data[:4] == b"%PDF":
        return "a PDF"
    printable = sum(32 <= byte < 127 or byte in b"\t\r\n" for byte in data[:400])
    return "a text file" if printable > 0.95 * len(data[:400]) else "not a picture"
