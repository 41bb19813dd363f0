"""End float and handle torque against what the pattern allows."""

import pytest

from levelwind.core.quantities import Quantity
from levelwind.shop.models import Pattern
from levelwind.shop.readings.selectors.limits import limits_of
from levelwind.shop.readings.selectors.readings import readings_of
from tests.jobs import a_job, a_pattern
from tests.shop.readings.reading_rows import a_gauge

pytestmark = pytest.mark.django_db


@pytest.fixture
def pattern() -> Pattern:
    return a_pattern(end_float_low_mm=0.1, end_float_high_mm=0.4, turn_most_Nm=0.3)


@pytest.mark.parametrize(
    ("end_float_mm", "words"),
    [
        (0.0, "Too little: the pattern allows 0.1 to 0.4 mm; the bearings may be pinched."),
        (0.08, "A little too little, by less than can be told"),
        (0.1, ""),
        (0.25, ""),
        (0.4, ""),
        (0.42, "A little too much, by less than can be told"),
        (0.6, "Too much: the pattern allows 0.1 to 0.4 mm"),
    ],
)
def test_an_end_float_outside_is_said_with_how_surely(pattern: Pattern, end_float_mm: float, words: str) -> None:
    job = a_job(pattern=pattern)
    a_gauge(job, "end_float", "left", end_float_mm)
    pair = readings_of(job).pair("end_float")
    assert pair and pair.outside.startswith(words) and bool(pair.outside) == bool(words)


def test_what_counts_is_how_it_leaves(pattern: Pattern) -> None:
    job = a_job(pattern=pattern)
    a_gauge(job, "turn", "found", 0.9)
    pair = readings_of(job).pair("turn")
    assert pair and pair.outside.startswith("Too much: the pattern allows at most 0.3 N m")
    a_gauge(job, "turn", "left", 0.2)
    pair = readings_of(job).pair("turn")
    assert pair and pair.outside == ""


def test_a_pattern_that_says_nothing_limits_nothing() -> None:
    assert limits_of(None) == {}
    assert limits_of(a_pattern()) == {}


def test_a_limit_on_one_side_only() -> None:
    limit = limits_of(a_pattern(end_float_low_mm=0.1))["end_float"]
    assert limit.words == "at least 0.1 mm"
    assert limit.outside(Quantity.exact(9.0)) == "" and limit.outside(Quantity.exact(0.0))
