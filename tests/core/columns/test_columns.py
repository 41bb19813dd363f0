"""Cells read as people write them; what can be read two ways is asked. Columns guessed from headings and contents."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.columns.cells import day, day_order, decimal_mark, number, sum_minor
from levelwind.core.columns.guess import guess, heading_row
from levelwind.core.columns.model import Field, Money
from levelwind.core.errors import InputError

USD, JPY, NOK = Money("USD", "$", 2), Money("JPY", "¥", 0), Money("NOK", "kr.", 2)


@given(st.dates(date(1969, 1, 1), date(2068, 12, 31)), st.booleans())
def test_a_day_is_read_back_however_it_was_written(was: date, short: bool) -> None:
    """ISO 8601's calendar date, and strftime's own ways of writing (the Python library reference) as the outside."""
    year = "%y" if short else "%Y"
    ways = {
        f"%d/%m/{year}": "day",
        f"%m/%d/{year}": "month",
        f"%d %B {year}": "",
        f"%b %d, {year}": "",
        f"%d.%m.{year}": "",
    }
    assert day(was.isoformat(), "") == was
    assert all(day(was.strftime(way), order) == was for way, order in ways.items())


def test_what_can_be_read_two_ways_is_asked() -> None:
    assert (day_order(["3/4/2025", "7/8/2025"]), day_order(["3/4/2025", "13/4/2025"])) == ("?", "day")
    assert day_order(["4/13/2025", "5/5/2025"]) == "month"
    assert day_order(["4/13/2025", "13/4/2025"]) == "?"
    assert day_order(["1.2.2025"]) == "day" and day_order(["2025-02-01", "1 Feb 2025", ""]) == ""
    assert (decimal_mark(["1,234"]), decimal_mark(["1,234", "1,50"]), decimal_mark(["1,234,567"])) == ("?", ",", ".")
    with pytest.raises(InputError, match="3/4/2025"):
        day("3/4/2025", "")


@pytest.mark.parametrize("text", ["=1+1", "12,34.5", "1.2.3", "", "12 kg", "1e9", "9" * 100_000, "\t" * 130_000 + "x"])
def test_no_number_is_refused_at_once(text: str) -> None:
    with pytest.raises(InputError):
        number(text, ".")
    with pytest.raises(InputError):
        day(text, "day")


def test_a_sum_is_in_the_shops_money_or_refused() -> None:
    assert [sum_minor(text, ".", USD) for text in ("12", "$ 1,250.5", "12.50 usd", "USD12.5000")] == [
        1200,
        125050,
        1250,
        1250,
    ]
    assert (sum_minor("¥1,200", ".", JPY), sum_minor("kr. 1.250,50", ",", NOK)) == (1200, 125050)
    for text in ("€12", "12.505", "-3", "(3.00)", "=A1"):
        with pytest.raises(InputError):
            sum_minor(text, ".", USD)


def test_columns_are_guessed_from_headings_and_from_what_stands_in_them() -> None:
    fields = [
        Field("name", "name", ("customer", "owner")),
        Field("email", "e-mail", ("email", "mail"), "mail"),
        Field("phone", "telephone", ("phone", "mobile"), "phone"),
        Field("since", "since", ("customer since",), "day"),
    ]
    rows = [["Book of 2025"], ["Customer since", "Customer name", "Mobile no.", "Reach"]]
    rows += [
        ["3/4/2021", "Ansa Vell", "+47 555 0117", "ansa@example.com"],
        ["4/13/2021", "Tove", "555 0118", "t@example.com"],
    ]
    start = heading_row(rows)
    columns = list(zip(*rows[start + 1 :], strict=True))
    assert guess(fields, rows[start], columns) == {"since": 0, "name": 1, "phone": 2, "email": 3}
    assert guess(fields, ["Since"], [["not", "a day"]]) == {}
