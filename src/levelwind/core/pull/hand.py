"""What comes and goes by the hand that pulls, and not by the drag: its tremor, and its surges.

Through a springy line a tremor sets the spool trembling, and a drag that minds its pace holds more while the hand
surges. Neither shows which washer is warped.
"""

from collections.abc import Iterator

from levelwind.core.notes import Note, plain
from levelwind.core.pull.ridge import READINGS_A_TURN
from levelwind.core.pull.turns import FASTEST_TURNS_S, FEWEST_TURNS, Turning

QUICKEST_TOLD = 6.4
"""Turns a second in the mean beyond which what comes and goes is no turn of the spool: ``FASTEST_TURNS_S``, and what a
count may be over it. Our choice."""
TREMBLES_HZ, TREMBLES_EXPLAINED = 3.8, 0.75
"""Rate from which a hand trembles (4 to 10 a second: common practice, no source), less what a count may be short of it,
and the part of the unevenness beyond the readings' scatter that a wave so quick must explain: a tremor of the hand is
one unevenness among others, and comes and goes. Set on simulated logs."""
SURGES_EXPLAINED, SURGES_SHARE = 0.85, 0.02
"""Where no narrow line stands out, the part of the unevenness beyond the readings' scatter that a wave explains, or the
part of the running drag that it reaches: what does neither may be how a hand surges on a drag that minds its pace. Set
on simulated logs."""
FEW_TURNS = 3.0
"""Turns below which a wave has to reach ``SURGES_SHARE``, however much it explains. Our choice: two or three surges in
a pull are nothing unusual."""


def of_the_hand(turning: Turning, stands_out: bool, seconds: float) -> bool:
    """Whether what comes and goes for so many ``seconds`` may be the hand's; ``stands_out`` is a narrow line."""
    if _trembles(turning, seconds):
        return True
    if turning.half_span()[0] >= SURGES_SHARE * abs(float(turning.fit.values[0])):
        return False
    return turning.turns < FEW_TURNS or (not stands_out and turning.beyond_noise < SURGES_EXPLAINED)


def why_no_wave(turning: Turning, seconds: float, hz: float, *, settled: bool) -> Iterator[Note]:
    """What kept a wave from being told; of the hand only where it is not ``settled`` otherwise what comes and goes."""
    rate = turning.turns / seconds
    if turning.turns == 0 and hz < READINGS_A_TURN * FASTEST_TURNS_S:
        seldom = "a wave that comes round more than {most} times a second would not show at {hz} readings a second"
        slow = plain(hz / READINGS_A_TURN, decimals=1), plain(hz, decimals=1)
        yield Note.of("wave_too_quick", seldom, most=slow[0], hz=slow[1])
    elif 0 < turning.turns < FEWEST_TURNS:
        few = "fewer than two turns were drawn, too few to tell a warped washer from a change of the drag"
        yield Note.of("few_turns", few)
    elif settled:
        return
    elif turning.turns > 0 and _trembles(turning, seconds):
        trembling = (
            "tension comes and goes {rate} times a second, as it does when a hand trembles: whether a washer is warped "
            "is not told from that; pull again, with the elbow held to your side"
        )
        yield Note.of("hand_trembles", trembling, rate=plain(rate, decimals=1))
    elif 0 < turning.turns < FEW_TURNS:
        surging = (
            "tension comes and goes by little, and came round fewer than three times: it may be a hand that surges; "
            "draw off more line to tell a warped washer from that"
        )
        yield Note.of("hand_surges", surging)


def _trembles(turning: Turning, seconds: float) -> bool:
    rate = turning.turns / seconds
    return rate > QUICKEST_TOLD or (rate > TREMBLES_HZ and turning.beyond_noise < TREMBLES_EXPLAINED)
