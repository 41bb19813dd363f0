"""The square code that opens a job on a phone (ISO/IEC 18004), as an SVG drawing."""

from io import BytesIO

import segno

from levelwind.core.errors import InputError


def svg(url: str) -> bytes:
    """The code for an address, with its quiet zone of four modules; level Q reads with some of it soiled."""
    try:
        code = segno.make(url, error="q", micro=False, boost_error=False)
    except segno.DataOverflowError as error:
        raise InputError("address in the code", f"{len(url)} letters long", "at most about 1,600 letters") from error
    out = BytesIO()
    code.save(out, kind="svg", xmldecl=False, border=4)
    return out.getvalue()
