"""Where every piece is: the tray's cells, and what keeps a job from being called finished."""

from collections.abc import Iterable, Mapping

from levelwind.core.takedown.model import Piece, Rules, State, Step, Whereabouts


def tray_cells(rules: Rules, steps: Iterable[Step], taken: Mapping[str, int] | None = None) -> dict[str, int]:
    """The tray cell of each place, numbered from 1 in the order of the steps.

    Pieces that come off in one step share a cell, unless any two of them can be mistaken for one another: then each
    has its own, so that a stack of washers lies in the order it came.
    ``taken`` are cells given out earlier in the same job; their numbers stay, and new ones follow them.
    """
    cells = dict(taken or {})
    last = max(cells.values(), default=0)
    for step in steps:
        fresh = [place for place in step.frees if place not in cells]
        apart = any(rules.place(place).look_alikes & set(step.frees) for place in step.frees)
        for number, place in enumerate(fresh):
            cells[place] = last + 1 + (number if apart else 0)
        last = max(cells.values(), default=0)
    return cells


def unaccounted(pieces: Iterable[Piece]) -> tuple[Piece, ...]:
    """The pieces that are nowhere: nobody said where, or in the tray but in no cell.

    A piece stated to be missing is accounted for; its place then waits for a new one (see `open_questions`).
    """
    return tuple(piece for piece in pieces if _nowhere(piece))


def open_questions(pieces: Iterable[Piece]) -> tuple[str, ...]:
    """What stands between these pieces and a finished reel, one sentence each; empty when nothing does.

    >>> open_questions([Piece(place="dog_spring", name="dog spring")])
    ('dog spring: nobody has said where it is.',)
    """
    pieces = tuple(pieces)
    lost = unaccounted(pieces)
    sentences = [_where_question(piece) for piece in lost]
    sentences += [f"{p.name}: still in tray cell {p.cell}." for p in pieces if p.where is Whereabouts.TRAY and p.cell]
    sentences += [f"{p.name}: still on order." for p in pieces if p.where is Whereabouts.ORDER]
    waiting = {piece.place for piece in pieces if _may_yet_go_in(piece)}
    places = dict.fromkeys(piece.place for piece in pieces)
    for place in places:
        sentences += _count_questions([piece for piece in pieces if piece.place == place], place in waiting)
    return tuple(sentences)


def _nowhere(piece: Piece) -> bool:
    if piece.where is None:
        return piece.state is not State.MISSING
    return piece.where is Whereabouts.TRAY and piece.cell is None


def _where_question(piece: Piece) -> str:
    if piece.where is Whereabouts.TRAY:
        return f"{piece.name}: in the tray, but in no cell."
    return f"{piece.name}: nobody has said where it is."


def _may_yet_go_in(piece: Piece) -> bool:
    return _nowhere(piece) or piece.where in (Whereabouts.TRAY, Whereabouts.ORDER)


def _count_questions(pieces: list[Piece], waiting: bool) -> list[str]:
    """Does the place hold as many pieces as it came with?"""
    name = pieces[0].name
    belongs = sum(piece.count for piece in pieces if not piece.replacement)
    inside = sum(
        piece.count for piece in pieces if piece.where is Whereabouts.REEL and piece.state is not State.MISSING
    )
    if inside > belongs:
        return [f"{name}: {inside} are said to be in the reel where {belongs} belong{'s' if belongs == 1 else ''}."]
    if inside < belongs and not waiting:
        what = "no new one is in the reel" if belongs == 1 else f"{inside} of {belongs} are in the reel"
        return [f"{name}: {what}."]
    return []
