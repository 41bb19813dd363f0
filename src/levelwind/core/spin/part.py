"""Only a part of a recording: "this is the start", "it ends here". Times stay those of the recording."""

from dataclasses import replace

from levelwind.core.errors import InputError
from levelwind.core.notes import Note, plain
from levelwind.core.options import Span
from levelwind.core.spin.model import SpeedCurve, Spin
from levelwind.core.writing import written

WHAT = "the part to look at"
OVER_S = 0.1
"""s; ends marked no further than this outside the recording are taken as its ends. Our choice: a last frame is shown on
past its own time."""
LEAST_S = 1.5
"""s; shortest film or sound, or part of one, that is looked at. Our choice: a spin takes some seconds (common practice,
no source)."""


def part_of(first_s: float, last_s: float, between_s: Span, least_s: float) -> Span:
    """``between_s`` held to the recording. Raises InputError where it lies outside, or is shorter than ``least_s``.

    >>> part_of(0.0, 12.3, (2.0, 12.35), 1.5)
    (2.0, 12.3)
    """
    start, end = between_s
    if start < first_s - OVER_S or end > last_s + OVER_S:
        raise InputError(
            WHAT,
            f"{written(start)} to {written(end)} s",
            f"a start and an end within {written(first_s)} to {written(last_s, '.4g')} s",
        )
    if end - start < least_s:
        raise InputError(WHAT, f"{written(end - start, '.2g')} s long", f"at least {written(least_s)} s")
    return max(start, first_s), min(end, last_s)


def only(between_s: Span | None) -> tuple[Note, ...]:
    """The caution that goes with a part: none for the whole.

    >>> print(*only((2.0, 9.5)))
    only 2.0 to 9.5 s of the recording were looked at
    """
    if between_s is None:
        return ()
    start, end = plain(between_s[0], decimals=1), plain(between_s[1], "s", decimals=1)
    return (Note.of("only_part", "only {start} to {end} of the recording were looked at", start=start, end=end),)


def later(spin: Spin, seconds: float) -> Spin:
    """The same spin by a clock that shows ``seconds`` more."""
    if not seconds or spin.start_s is None or spin.end_s is None:
        return spin
    speed = SpeedCurve(tuple(round(t + seconds, 4) for t in spin.speed.t_s), spin.speed.rev_s)
    return replace(spin, start_s=spin.start_s + seconds, end_s=spin.end_s + seconds, speed=speed)
