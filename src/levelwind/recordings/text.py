"""The letters of a text file of which nothing is known but its bytes."""

import re

NO_LETTERS = re.compile(r"[\x00-\x08\x0e-\x1f\ufffe\uffff]")
"""What stands in no text: where it does, the bytes mean something else."""


def decoded(data: bytes, encoding: str = "") -> str:
    """As ``encoding`` where somebody said it, else as its first bytes tell: UTF-8, UTF-16, UTF-32 or cp1252.

    Raises UnicodeError for what is no text so.
    """
    if encoding:
        ways = [encoding]
    elif data[:4] in (b"\xff\xfe\0\0", b"\0\0\xfe\xff"):
        ways = ["utf-32"]
    elif data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        ways = ["utf-16"]
    elif data[1:200:2].count(0) > 0.8 * len(data[1:200:2]):
        ways = ["utf-16-le"]
    elif data[0:200:2].count(0) > 0.8 * len(data[0:200:2]):
        ways = ["utf-16-be"]
    else:
        ways, data = ["utf-8-sig", "cp1252"], data.rstrip(b"\0\x1a")  # what old loggers end a file with
    if ways[0].startswith("utf-16"):
        data = data[: len(data) // 2 * 2]  # one that broke off may end inside a letter
    for way in ways:
        try:
            text = data.decode(way)
        except UnicodeDecodeError:
            continue
        if not NO_LETTERS.search(text):
            return text
    raise UnicodeError("not text")
