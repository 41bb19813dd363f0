"""Any result goes through the book and comes back the same; what is damaged is refused in words."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.codec import UNSHOWN, as_shown, as_stored, from_stored
from levelwind.core.errors import InputError
from levelwind.core.notes import Note, Question, newtons
from levelwind.core.pull.model import Pull, PullResult
from levelwind.core.pull.options import PullOptions
from levelwind.core.quantities import SCALE_UNITS, Quantity
from levelwind.core.spin.model import Losses, Shares, SpeedCurve, Spin, SpinResult
from levelwind.core.spin.options import Bearing, SpinOptions

FINITE = st.floats(allow_nan=False, allow_infinity=False)
QUANTITIES = st.lists(FINITE, min_size=3, max_size=3).map(lambda ends: Quantity(*(sorted(ends)[i] for i in (1, 0, 2))))


class Mood(StrEnum):
    GOOD = "good"
    BAD = "bad"


@dataclass(frozen=True, slots=True)
class Sentence:
    key: str
    force_N: Quantity

    def shown(self) -> str:
        return f"{self.key} {self.force_N.value:g} N"


@dataclass(frozen=True, slots=True)
class Outcome:
    pairs: tuple[tuple[float, float], ...]
    mood: Mood = Mood.GOOD
    count: int | None = None
    of_parts: Mapping[str, float] = field(default_factory=dict)
    notes: tuple[Sentence, ...] = ()
    seen: bool = False
    from_s: float | None = field(default=None, metadata=UNSHOWN)


OUTCOMES = st.builds(
    Outcome,
    pairs=st.lists(st.tuples(FINITE, FINITE), max_size=4).map(tuple),
    mood=st.sampled_from(Mood),
    count=st.none() | st.integers(-(2**53), 2**53),
    of_parts=st.dictionaries(st.text(max_size=5), FINITE, max_size=3),
    notes=st.lists(st.builds(Sentence, key=st.text(max_size=9), force_N=QUANTITIES), max_size=3).map(tuple),
    seen=st.booleans(),
    from_s=st.none() | FINITE,
)


@settings(deadline=None)
@given(OUTCOMES)
def test_what_is_stored_comes_back_the_same(outcome: Outcome) -> None:
    assert from_stored(Outcome, json.loads(json.dumps(as_stored(outcome)))) == outcome


def test_shown_are_sentences_and_no_field_that_only_the_book_needs() -> None:
    outcome = Outcome(((0.0, 1.0),), notes=(Sentence("peak", Quantity(3.0, 2.0, 4.0)),), from_s=1.5)
    assert as_shown(outcome) == {
        "pairs": [[0.0, 1.0]],
        "mood": "good",
        "count": None,
        "of_parts": {},
        "notes": ["peak 3 N"],
        "seen": False,
    }


def test_arrays_and_numbers_of_numpy_are_plain() -> None:
    plain = as_stored({"t_s": np.array([0.5, 1.0]), "mean_s": np.float64(0.75), "seen": np.bool_(True)})
    assert json.dumps(plain) == '{"t_s": [0.5, 1.0], "mean_s": 0.75, "seen": true}'


def test_an_older_shape_is_read_by_defaults_and_what_it_had_more_is_passed_over() -> None:
    assert from_stored(Outcome, {"pairs": [[1, 2]], "colour": "red"}) == Outcome(((1.0, 2.0),))


@pytest.mark.parametrize(
    ("stored", "where"),
    [
        ([], "object"),
        ({}, "pairs"),
        ({"pairs": [[0, "1"]]}, r"\$\.pairs\[0\]\[1\]"),
        ({"pairs": [], "mood": "glad"}, r"\$\.mood"),
        ({"pairs": [], "seen": 1}, r"\$\.seen"),
        ({"pairs": [], "count": 1.5}, r"\$\.count"),
        ({"pairs": [], "notes": [{"key": "a"}]}, "force_N"),
    ],
)
def test_what_is_damaged_is_refused_with_its_place(stored: Any, where: str) -> None:
    with pytest.raises(InputError, match=rf"the reading was .*{where}.*; allowed is as Levelwind writes it"):
        from_stored(Outcome, stored, "the reading")


def test_a_class_refuses_a_value_in_its_own_words() -> None:
    with pytest.raises(InputError, match=r"interval was .* allowed is one that holds the value 5\.0"):
        from_stored(Quantity, {"value": 5.0, "low": 6.0, "high": 7.0})


NOTES = st.builds(
    Note.of,
    st.sampled_from(["peak", "left_out"]),
    st.just("it read {peak} in {file}"),
    peak=st.builds(newtons, FINITE, decimals=st.integers(0, 3)),
    file=st.text(max_size=9),
)
MANY_NOTES = st.lists(NOTES, max_size=2).map(tuple)
SPANS = st.lists(st.integers(0, 80_000), min_size=2, max_size=6, unique=True).map(
    lambda ends: [(float(a), float(b)) for a, b in zip(sorted(ends)[::2], sorted(ends)[1::2], strict=False)]
)
PULLS = st.builds(
    Pull,
    start_s=st.none() | FINITE,
    end_s=st.none() | FINITE,
    breakaway_N=QUANTITIES,
    running_N=QUANTITIES,
    startup_ratio=QUANTITIES,
    wobble_N=st.none() | QUANTITIES,
    stick_slip=st.booleans(),
    cautions=MANY_NOTES,
    steady_s=st.none() | st.tuples(FINITE, FINITE),
)
CURVES = st.lists(st.tuples(FINITE, FINITE), max_size=4).map(
    lambda points: SpeedCurve(tuple(t for t, _ in points), tuple(speed for _, speed in points))
)
SPINS = st.builds(
    Spin,
    start_s=st.none() | FINITE,
    end_s=st.none() | FINITE,
    initial_rev_s=st.none() | QUANTITIES,
    spin_time_s=st.none() | QUANTITIES,
    speed=CURVES,
    losses=st.none() | st.builds(Losses, QUANTITIES, QUANTITIES, QUANTITIES),
    energy_share=st.none() | st.builds(Shares, QUANTITIES, QUANTITIES, QUANTITIES),
    cautions=MANY_NOTES,
)
ANSWERS = st.lists(st.integers(1, 60) | st.floats(1, 100) | st.sampled_from(["N", "kgf"]), max_size=4).map(tuple)
KEPT = st.one_of(
    st.builds(
        PullResult, st.lists(PULLS, max_size=2).map(tuple), MANY_NOTES, st.just("kgf"), st.none() | FINITE, FINITE
    ),
    st.builds(
        SpinResult,
        st.lists(SPINS, max_size=2).map(tuple),
        MANY_NOTES,
        st.sampled_from(["video", "sound", "table"]),
        st.lists(st.builds(Question, st.just("marks"), NOTES, ANSWERS), max_size=2).map(tuple),
    ),
    st.builds(
        PullOptions,
        unit=st.none() | st.sampled_from(list(SCALE_UNITS)),
        capacity_N=st.none() | st.floats(0.1, 5000),
        spans_s=st.none() | SPANS,
    ),
    st.builds(
        SpinOptions,
        marks=st.none() | st.integers(1, 60),
        slowed=st.none() | st.floats(1, 100),
        between_s=st.none() | SPANS.map(lambda spans: spans[0]),
        mark_at=st.none() | st.tuples(st.floats(0, 1), st.floats(0, 1)),
        bearing=st.none() | st.builds(Bearing, st.integers(3, 60), st.floats(0.3, 30), st.floats(37, 150)),
    ),
)


@settings(deadline=None)
@given(KEPT)
def test_so_does_whatever_a_reading_keeps(kept: PullResult | SpinResult | PullOptions | SpinOptions) -> None:
    stored = json.loads(json.dumps(as_stored(kept)))
    assert from_stored(type(kept), stored) == kept
    json.dumps(as_shown(kept), allow_nan=False)
