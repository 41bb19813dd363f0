"""Lengths and pitches as people type them, and what is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.fits import length, pitch


@pytest.mark.parametrize(
    ("typed", "mm", "unit"),
    [
        ("2.81mm", 2.81, "mm"),
        ("3,5", 3.5, "mm"),
        (" 3 MM ", 3.0, "mm"),
        (".7", 0.7, "mm"),
        (".112", 2.8448, "in"),
        (".1120 in", 2.8448, "in"),
        ("112 thou", 2.8448, "thou"),
        ("9/32", 7.14375, "in"),
        ("1 1/4 inch", 31.75, "in"),
        ("¼", 6.35, "in"),
        ("1¼″", 31.75, "in"),
        ('0.25"', 6.35, "in"),
        ("2.", 2.0, "mm"),
        ("1.2 cm", 12.0, "cm"),
    ],
)
def test_a_length_is_read_in_the_unit_the_person_thinks_in(typed: str, mm: float, unit: str) -> None:
    read = length(typed)
    assert read.value_mm == pytest.approx(mm, abs=1e-9)
    assert (read.unit, read.typed) == (unit, typed.strip())


@pytest.mark.parametrize(
    ("typed", "mm", "unit", "over"),
    [
        ("40tpi", 0.635, "tpi", 0),
        ("40 TPI", 0.635, "tpi", 0),
        ("40/in", 0.635, "tpi", 0),
        ("40 threads per inch", 0.635, "tpi", 0),
        ("32", 25.4 / 32, "tpi", 0),
        ("0,5", 0.5, "mm", 0),
        (".025", 0.635, "in", 0),
        ("3.81mm over 6", 0.635, "mm", 6),
        ("3.81 over 6 threads", 0.635, "mm", 6),
    ],
)
def test_a_pitch_is_a_length_threads_an_inch_or_a_length_over_several(
    typed: str, mm: float, unit: str, over: int
) -> None:
    read = pitch(typed)
    assert read.value_mm == pytest.approx(mm, abs=1e-9)
    assert (read.unit, read.over) == (unit, over)


NO_LENGTH = "allowed is a length such as"


@pytest.mark.parametrize(
    ("read", "typed", "said"),
    [
        (length, "0", "more than 0 and up to 300 mm"),
        (length, "-3", "more than 0"),
        (length, "−3 mm", "more than 0"),
        (length, "3 mm mm", NO_LENGTH),
        (length, "", NO_LENGTH),
        (length, "mm", NO_LENGTH),
        (length, "1,234.5", NO_LENGTH),
        (length, "1/0", NO_LENGTH),
        (length, "0/8", "more than 0"),
        (length, "3 furlongs", NO_LENGTH),
        (length, "nan", NO_LENGTH),
        (length, "inf", NO_LENGTH),
        (length, "1e3", NO_LENGTH),
        (length, "9" * 400, NO_LENGTH),
        (length, "1/" + "9" * 30, NO_LENGTH),
        (length, "3\0mm", NO_LENGTH),
        (length, "💥", NO_LENGTH),
        (length, "301", "up to 300 mm"),
        (pitch, "400 tpi", "4 to 150 threads an inch"),
        (pitch, "3 tpi", "4 to 150 threads an inch"),
        (pitch, "0tpi", "4 to 150 threads an inch"),
        (pitch, "3.81 over 1", "2 to 50"),
        (pitch, "3.81 over 6000000000", "2 to 50"),
        (pitch, "over 6", "a pitch such as"),
        (pitch, "half", "a pitch such as"),
        (pitch, "-0.5", "more than 0"),
    ],
)
def test_what_is_no_length_is_refused_in_a_sentence(read, typed: str, said: str) -> None:
    with pytest.raises(InputError) as refused:
        read(typed, "bore")
    assert said in str(refused.value) and "bore" in str(refused.value) and len(str(refused.value)) < 220


@given(st.text(alphabet='0123456789.,/-+ x"¼½²mcintpi over\0′″', max_size=45))
def test_whatever_is_typed_is_a_length_above_nothing_or_refused(typed: str) -> None:
    for read in (length, pitch):
        try:
            assert 0 < read(typed).value_mm <= 300
        except InputError as refused:
            assert len(str(refused)) < 220
