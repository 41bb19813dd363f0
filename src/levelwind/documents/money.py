"""Money as it stands on a page and on a screen. Inside the house it is whole minor units: cents, öre, yen."""

from dataclasses import dataclass

from levelwind.core.errors import InputError
from levelwind.core.writing import written

MINUS = "\N{MINUS SIGN}"
NO_BREAK = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True, slots=True)
class Currency:
    """A currency: its ISO 4217 code, the sign the shop writes, and how many decimals its minor unit has.

    ISO 4217 gives 2 decimals to most currencies, 0 to JPY, 3 to KWD. Without a sign the code is written.
    """

    code: str
    symbol: str = ""
    decimals: int = 2

    def __post_init__(self) -> None:
        if not (len(self.code) == 3 and self.code.isascii() and self.code.isalpha() and self.code.isupper()):
            raise InputError("currency code", repr(self.code), "three capital letters, such as EUR")
        if not 0 <= self.decimals <= 4:
            raise InputError("decimals of the currency", self.decimals, "0 to 4")


def format_money(minor: int, currency: Currency) -> str:
    """The amount with its sign, thousands set apart as the shop writes them, and a true minus.

    A sign made of letters, and the code that stands in for a missing sign, keep a space that does not break.

    >>> format_money(123450, Currency("USD", "$"))
    '$1,234.50'
    >>> format_money(1200, Currency("JPY", "¥", 0))
    '¥1,200'
    """
    if isinstance(minor, bool) or not isinstance(minor, int):
        raise InputError("amount of money", repr(minor), "a whole number of minor units, such as cents")
    whole, part = divmod(abs(minor), 10**currency.decimals)
    digits = written(f"{whole:,}" + (f".{part:0{currency.decimals}d}" if currency.decimals else ""), "")
    sign = currency.symbol or currency.code
    gap = NO_BREAK if sign[-1].isalpha() else ""
    return f"{MINUS if minor < 0 else ''}{sign}{gap}{digits}"
