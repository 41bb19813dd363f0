"""Words from outside made fit to print: no control characters, no letters the type lacks, no word too long to break.

The text face covers Latin; typst's own faces cover Greek, Cyrillic, Hebrew, Arabic and signs. What none of them has
(Han, Thai, emoji) prints as a visible box, never as nothing: see docs/decisions/documents-letters.md.
"""

import json
import re
import unicodedata
from functools import cache, lru_cache
from pathlib import Path

import typst

BOX = "\N{WHITE VERTICAL RECTANGLE}"
LONGEST_UNBROKEN = 18
LAST_LATIN_LETTER = "\N{LATIN SMALL LETTER LONG S}"
"""The faces hold every printing character of Latin-1 and Latin Extended-A (U+0020 to U+017F): tested."""

MAY_BREAK = "\N{ZERO WIDTH SPACE}"
FACES = "Atkinson Hyperlegible Next", "Libertinus Serif", "New Computer Modern", "DejaVu Sans Mono"

_LOST = "could not be displayed with font"
_TRIAL = '#set text(font: json("faces.json"))\n#let letter = read("letter.txt")\n#letter *#letter* #emph(letter)'
_CLUSTER = re.compile(r".[\u0300-\u036f]*", re.DOTALL)


@cache
def type_case() -> typst.Fonts:
    """The faces on this press: the text face in ``type/`` and those typst carries; never the machine's own."""
    return typst.Fonts(include_system_fonts=False, font_paths=[Path(__file__).with_name("type")])


def fit_to_print(text: str) -> str:
    """The text with what cannot be printed taken out or boxed; the lines stay apart.

    >>> fit_to_print("Ødegård\\x00's  reel\\r\\nno. 4")
    "Ødegård's reel\\nno. 4"
    >>> fit_to_print("reel 名 4")
    'reel ▯ 4'
    """
    return "\n".join(" ".join(_fit(word) for word in _cleaned(line).split(" ")) for line in text.splitlines()).strip()


def shortened(text: str, longest: int) -> str:
    """The text, or its beginning and a mark that there is more.

    >>> shortened("the drag slips", 8)
    'the drag …'
    """
    return text if len(text) <= longest else text[:longest].rstrip() + " …"


def _cleaned(line: str) -> str:
    """No controls, no marks that turn the reading direction of what follows, no bare choosers of emoji style."""
    kept = (
        BOX if unicodedata.category(c) == "Cs" else c
        for c in line.replace("\t", " ")
        if unicodedata.category(c) not in ("Cc", "Cf") and c not in "\ufe0e\ufe0f"
    )
    return re.sub(" +", " ", unicodedata.normalize("NFC", "".join(kept))).strip()


def _fit(word: str) -> str:
    fit = _boxed(word) if any(c > LAST_LATIN_LETTER for c in word) else word
    return fit if len(fit) <= LONGEST_UNBROKEN else _breakable(fit)


def _breakable(word: str) -> str:
    clusters = _CLUSTER.findall(word)
    return MAY_BREAK.join("".join(clusters[i : i + 4]) for i in range(0, len(clusters), 4))


def _boxed(word: str) -> str:
    """The word with each letter that no face holds turned into a box."""
    return "".join(cluster if _is_held(cluster) else BOX for cluster in _CLUSTER.findall(word))


@lru_cache(maxsize=8192)
def _is_held(cluster: str) -> bool:
    """Whether one letter with its accents can be printed upright, strong and slanted: the press is asked, once each."""
    files = {"main.typ": _TRIAL.encode(), "faces.json": json.dumps(FACES).encode(), "letter.txt": cluster.encode()}
    try:
        typst.compile(files, format="pdf", font_paths=type_case(), pdf_standards=["a-2b"], timestamp=0)  # type: ignore[call-overload]
    except typst.TypstError as error:
        if _LOST not in error.message:
            raise
        return False
    return True
