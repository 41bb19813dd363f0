"""Numbers and days as a shop writes them, and read again as they were typed."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.columns.cells import typed_number
from levelwind.core.errors import InputError
from levelwind.core.notes import newtons
from levelwind.core.quantities import Quantity, in_words, with_figures
from levelwind.core.writing import DAYS, MARKS, Writing, day_in_words, read_back, retold, written, written_as
from levelwind.documents.money import Currency, format_money

COMMA = Writing("comma", "points")


@pytest.mark.sampled
@given(st.sampled_from(list(MARKS)), st.decimals(-9999999, 9999999, places=2), st.booleans())
def test_what_is_written_is_read_again(numbers: str, number: Decimal, grouped: bool) -> None:
    with written_as(lambda: Writing(numbers)):
        words = written(number, ",f" if grouped else "f")
        assert read_back(words) == typed_number(words, grouped=grouped) == number


def test_a_comma_and_a_point_are_read_whatever_the_shop_writes() -> None:
    typed = {"12,5": "12.5", "12.5": "12.5", ",5": "0.5", ".112": "0.112", "1.234,50": "1234.5", "1,234.50": "1234.5"}
    meant = {text: Decimal(number) for text, number in typed.items()}
    for numbers in MARKS:
        with written_as(lambda numbers=numbers: Writing(numbers)):
            assert {text: typed_number(text) for text in typed} == meant


def test_what_can_be_read_two_ways_is_asked_unless_it_is_the_shop_s_own_way() -> None:
    with pytest.raises(InputError, match=r"1250, or 1\.25"):
        typed_number("1,250")
    assert typed_number("1,250", grouped=True) == 1250
    with written_as(lambda: COMMA):
        assert typed_number("1,250") == Decimal("1.250") and typed_number("1.250", grouped=True) == 1250
        with pytest.raises(InputError, match="1250, or 1,25"):
            typed_number("1.250")


def test_numbers_sums_and_sentences_carry_the_shop_s_signs() -> None:
    with written_as(lambda: COMMA):
        assert in_words(Quantity(8.4361, 8.4223, 8.4498), "lbf") == "8,44 lbf (8,42 to 8,45)"
        assert newtons(41.0, decimals=1).shown("lbf").value == "9,22 lbf" and with_figures(1814.23, 5) == "1814,2"
        assert format_money(123450, Currency("EUR", "€")) == "€1.234,50"
        assert retold("M3x0.5, 2.5 mm wide, version 0.1.0") == "M3x0.5, 2,5 mm wide, version 0.1.0"
    with written_as(lambda: Writing("space")):
        assert format_money(123450, Currency("EUR", "€")) == "€1\N{NO-BREAK SPACE}234,50"
    assert in_words(Quantity(8.4361, 8.4223, 8.4498), "lbf") == "8.44 lbf (8.42 to 8.45)"


def test_a_day_is_told_in_each_way() -> None:
    day = date(2026, 5, 4)
    told = {}
    for days in DAYS:
        with written_as(lambda days=days: Writing(days=days)):
            told[days] = (day_in_words(day), day_in_words(day, year=False), day_in_words(day, weekday="short"))
    assert told == {
        "named": ("4 May 2026", "4 May", "Mon 4 May 2026"),
        "points": ("04.05.2026", "04.05.", "Mon 04.05.2026"),
        "slashes": ("04/05/2026", "04/05", "Mon 04/05/2026"),
        "month_first": ("05/04/2026", "05/04", "Mon 05/04/2026"),
        "year_first": ("2026-05-04", "05-04", "Mon 2026-05-04"),  # ISO 8601-1:2019, 5.2.2.1
    }
    with pytest.raises(InputError, match="one of point, comma"):
        Writing("dash")
