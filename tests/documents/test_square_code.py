import re
import xml.etree.ElementTree as ET

import pytest
import segno
from PIL import Image

from levelwind.core.errors import InputError
from levelwind.documents import square_code, tag
from tests.documents.paper import pages
from tests.documents.sheets import TAG

QUIET_ZONE = 4
"""Modules of white round a QR code: ISO/IEC 18004:2015, 9.1."""

FINDER = ["1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"]
"""The finder pattern in three corners: ISO/IEC 18004:2015, 6.3.3."""

DPI = 300
MILLIMETRE = DPI / 25.4


def printed_modules(page: Image.Image, count: int) -> list[str]:
    """The code as it stands on the slip, read module by module from the ink between the rule and the words."""
    left, top = round(3 * MILLIMETRE), round(14 * MILLIMETRE)
    crop = page.crop((left, top, round(30 * MILLIMETRE), round(40 * MILLIMETRE)))
    box = crop.point(lambda grey: 255 if grey < 100 else 0).getbbox()
    assert box
    x0, y0, x1, y1 = box
    module = ((x1 - x0) / count, (y1 - y0) / count)
    middles = [(x0 + (i + 0.5) * module[0], y0 + (i + 0.5) * module[1]) for i in range(count)]
    return ["".join("1" if crop.getpixel((int(x), int(y))) < 128 else "0" for x, _ in middles) for _, y in middles]


def test_the_code_on_the_slip_is_the_code_of_the_address() -> None:
    wanted = ["".join(map(str, row)) for row in segno.make(TAG.url, error="q", boost_error=False, micro=False).matrix]
    printed = printed_modules(pages(tag.layout(TAG), DPI)[0], len(wanted))
    assert [row[:7] for row in printed[:7]] == FINDER
    assert [row[-7:] for row in printed[:7]] == FINDER
    assert [row[:7] for row in printed[-7:]] == FINDER
    assert printed == wanted


def test_the_code_keeps_its_quiet_zone() -> None:
    drawing = ET.fromstring(square_code.svg("http://192.168.1.20/j/1/"))
    size = int(drawing.attrib["width"])
    assert (size - 2 * QUIET_ZONE - 17) % 4 == 0, "a code of version v has 17 + 4 v modules a side"
    path = next(e.attrib["d"] for e in drawing.iter() if "d" in e.attrib)
    assert re.match(rf"M{QUIET_ZONE} {QUIET_ZONE}\.5h7", path)


def test_an_address_too_long_for_a_code_is_refused_in_words() -> None:
    with pytest.raises(InputError, match="address in the code was 2000 letters long"):
        square_code.svg("x" * 2000)
