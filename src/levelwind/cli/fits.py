"""levelwind fits: what standard thing a piece is, from its measurements."""

import argparse
import json
import re
from dataclasses import dataclass

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
