import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.documents.money import MINUS, NO_BREAK, Currency, format_money

MINOR_UNITS = {"EUR": 2, "USD": 2, "JPY": 0, "KRW": 0, "KWD": 3, "TND": 3, "CLF": 4}
"""ISO 4217:2015, list one, column 'minor unit'; from memory."""


@pytest.mark.parametrize(("code", "decimals"), MINOR_UNITS.items())
def test_a_currency_takes_the_minor_units_that_iso_4217_gives(code: str, decimals: int) -> None:
    printed = format_money(10**decimals * 1234567, Currency(code, "", decimals))
    assert printed == f"{code}{NO_BREAK}1,234,567" + ("." + "0" * decimals if decimals else "")


@pytest.mark.parametrize(
    ("minor", "currency", "printed"),
    [
        (0, Currency("GBP", "£"), "£0.00"),
        (7, Currency("GBP", "£"), "£0.07"),
        (-500, Currency("USD", "$"), f"{MINUS}$5.00"),
        (-7, Currency("JPY", "¥", 0), f"{MINUS}¥7"),
        (123456, Currency("NOK", "kr"), f"kr{NO_BREAK}1,234.56"),
    ],
)
def test_money_is_printed_with_its_sign_and_all_its_decimals(minor: int, currency: Currency, printed: str) -> None:
    assert format_money(minor, currency) == printed


@given(st.integers(-(10**15), 10**15), st.integers(0, 4))
def test_no_money_is_lost_in_print(minor: int, decimals: int) -> None:
    printed = format_money(minor, Currency("XTS", "¤", decimals))
    digits = int("".join(c for c in printed if c.isdigit()))
    assert (-digits if printed.startswith(MINUS) else digits) == minor


@pytest.mark.parametrize("minor", [12.5, True, "12", None])
def test_anything_but_whole_minor_units_is_refused(minor: object) -> None:
    with pytest.raises(InputError, match="whole number of minor units"):
        format_money(minor, Currency("EUR", "€"))  # type: ignore[arg-type]


@pytest.mark.parametrize("code", ["", "EU", "eur", "EURO", "E1R", "ÉUR"])
def test_a_code_that_iso_4217_cannot_hold_is_refused(code: str) -> None:
    with pytest.raises(InputError, match="three capital letters"):
        Currency(code)


@pytest.mark.parametrize("decimals", [-1, 5])
def test_decimals_outside_iso_4217_are_refused(decimals: int) -> None:
    with pytest.raises(InputError, match="0 to 4"):
        Currency("EUR", "€", decimals)
