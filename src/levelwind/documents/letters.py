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
    lines = unicodedata.normalize("NFC", text).strip().splitlines()
    return "\n".join(" ".join(_fit(word) for word in re.split("[ \t]+", line.strip())) for line in lines)


def shortened(text: str, longest: int) -> str:
    """The text, or its beginning and a mark that there is more.

    >>> shortened("the drag slips", 8)
    'the drag …'
    """
    return text if len(text) <= longest else text[:longest].rstrip() + " …"


def _fit(word: str) -> str:
    kept = "".join(BOX if unicodedata.category(c) == "Cs" else c for c in word if _may_stand(c))
    if any(c > LAST_LATIN_LETTER for c in kept):
        kept = _boxed(kept)
    return kept if len(kept) <= LONGEST_UNBROKEN else _breakable(kept)


def _may_stand(letter: str) -> bool:
    """No controls, no marks that turn the reading direction of what follows, no bare choosers of emoji style."""
    return unicodedata.category(letter) not in ("Cc", "Cf") and letter not in "\ufe0e\ufe0f"


def _breakable(word: str) -> str:
    return MAY_BREAK.join(word[i : i + 4] for i in range(0, len(word), 4))


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
