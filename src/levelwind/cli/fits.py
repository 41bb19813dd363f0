"""levelwind fits: what standard thing a piece is, from its measurements."""

import argparse
import json
import re
from dataclasses import dataclass
from pathlib import Path

GAUGE = "what the caliper may be off, nine times in ten (default 0.02mm, and the last figure you typed)"
LENGTH = "2.81mm, 3,5, 9/32 or .112 (inches)"


@dataclass(frozen=True, slots=True)
class Asked:
    """A kind of piece: what it is called, the name of each measurement, and what it says of itself."""

    about: str
    measures: dict[str, str]


PIECES = {
    "thread": Asked(
        "a screw thread",
        {
            "diameter": f"outside diameter; with --inside the bore of the nut: {LENGTH}",
            "pitch": "0.5mm, 40tpi or 3.81mm over 6",
        },
    ),
    "bearing": Asked("a ball bearing", {"bore": LENGTH, "od": "outside diameter", "width": "width"}),
    "oring": Asked("an O-ring", {"id": "inside diameter", "section": "thickness of the ring"}),
    "clip": Asked(
        "an E-clip or a circlip",
        {"shaft": "the shaft; with --inside the bore", "groove": "diameter in the groove", "thickness": "of the clip"},
    ),
    "spring": Asked(
        "a disc spring", {"od": "outside diameter", "id": "inside diameter", "thickness": "thickness of the sheet"}
    ),
}  # fmt: skip
INSIDE = {"thread": "it is a nut: the diameter is its bore", "clip": "it sits in a bore"}
"""Pieces that are another thing inside, and what to say."""

BELOW_NOTHING = re.compile(r"-[\d.,]")
"""A length below nothing is refused in a sentence: it is no option of argparse's."""


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("fits", help="what standard thing a piece is, from its measurements")
    pieces = parser.add_subparsers(title="pieces", dest="piece", required=True, metavar="PIECE")
    for key, asked in PIECES.items():
        piece = pieces.add_parser(key, help=asked.about, epilog="Any measurement may be left out.")
        piece._negative_number_matcher = BELOW_NOTHING
        for name, about in asked.measures.items():
            piece.add_argument(f"--{name}", metavar="LENGTH", help=about)
        piece.add_argument("--gauge", metavar="LENGTH", help=GAUGE)
        if key in INSIDE:
            piece.add_argument("--inside", action="store_true", help=INSIDE[key])
        if key == "thread":
            piece.add_argument("--hand", choices=("left", "right"), help="which way it turns, if you looked")
        piece.add_argument("--worn", action="store_true", help="it is worn")
        piece.add_argument("--any", action="store_true", help="do not count what is common on reels")
        piece.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
        piece.set_defaults(run=run)
    _add_sheet(pieces)


def _add_sheet(pieces: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    sheet = pieces.add_parser("sheet", help="pieces on a picture of the printed measuring sheet")
    sheet.add_argument("file", metavar="PICTURE", type=Path, help="JPEG, PNG, WebP or HEIC")
    for way in ("across", "down"):
        about = f"what the printed line of 100 mm {way} measures"
        sheet.add_argument(f"--{way}", metavar="LENGTH", help=about)
    about = "how thick piece N is, such as 2=1.2mm; once for each piece"
    sheet.add_argument("--thickness", metavar="N=LENGTH", action="append", default=[], help=about)
    sheet.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
    sheet.set_defaults(run=run_sheet)


def run_sheet(args: argparse.Namespace) -> int:
    from levelwind.core.errors import InputError
    from levelwind.core.fits import length
    from levelwind.core.fits.sheet_report import as_dict, as_text
    from levelwind.core.fits.sheet_sizes import Said, SaidOfPiece, measure
    from levelwind.recordings.sheet_photo import read_sheet

    def mm(text: str | None, what: str) -> float | None:
        return None if text is None else length(text, what).value_mm

    pieces = {}
    for said in args.thickness:
        number, _, text = said.partition("=")
        if not number.isdecimal() or not 0 < int(number[:4]) < 1000:
            raise InputError("thickness", repr(said[:40]), "a piece's number and its thickness, such as 2=1.2mm")
        pieces[int(number)] = SaidOfPiece(mm(text, f"thickness of piece {number}"))
    told = Said(mm(args.across, "printed line across"), mm(args.down, "printed line down"), pieces)
    seen = read_sheet(args.file).seen
    found = measure(seen, told)
    print(json.dumps(as_dict(seen, told, found), ensure_ascii=False) if args.json else "\n".join(as_text(found)))
    return 0


def run(args: argparse.Namespace) -> int:
    from levelwind.core.fits import length, measured, recognise
    from levelwind.core.fits.report import as_dict, as_text
    from levelwind.reference.standard_parts import kind_of, table

    typed = {name: text for name in PIECES[args.piece].measures if (text := getattr(args, name)) is not None}
    candidates = table(kind_of(args.piece, inside=getattr(args, "inside", False), measured=typed))
    answer = recognise(
        candidates,
        measured(candidates.kind, typed),
        gauge_mm=None if args.gauge is None else length(args.gauge, "error of the caliper").value_mm,
        worn=args.worn,
        common=not args.any,
        hand=getattr(args, "hand", None),
    )
    print(json.dumps(as_dict(answer), ensure_ascii=False) if args.json else "\n".join(as_text(answer)))
    return 0
