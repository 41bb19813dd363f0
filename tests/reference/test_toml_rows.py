"""Rows of a TOML file: numbers from outside, and what is no number."""

import pytest

from levelwind.core.errors import InputError
from levelwind.reference.toml_rows import LARGEST, read_toml


@pytest.mark.parametrize(("written", "read"), [("3", 3.0), ("-2.5", -2.5), ("1e9", 1e9), (str(LARGEST), 1e15)])
def test_a_number_is_read_as_a_float(written: str, read: float) -> None:
    assert read_toml("file", f"a = {written}").number("a") == read
    assert read_toml("file", f"a = [{written}, 0]").numbers("a") == (read, 0.0)


@pytest.mark.parametrize("written", ["true", '"3"', "nan", "inf", "-inf", "1979-05-27", "[]", "{}"])
def test_what_is_no_number_is_refused(written: str) -> None:
    row = read_toml("file", f"a = {written}\nb = [1, {written}]\nc = 1")
    with pytest.raises(InputError, match=r"file: a was .* allowed is a number"):
        row.number("a")
    with pytest.raises(InputError, match=r"file: b was .* allowed is a number"):
        row.numbers("b")
    with pytest.raises(InputError, match="file: c was 1; allowed is a list of numbers"):
        row.numbers("c")


@pytest.mark.parametrize(
    "vast",
    [str(10**400), str(-(10**16)), "0x" + "f" * 5000, "[" + str(10**400) + "]", "{ b = [1, 0x" + "f" * 5000 + "] }"],
)
def test_a_whole_number_no_float_can_hold_is_refused_by_its_key(vast: str) -> None:
    with pytest.raises(
        InputError, match=r"file: [ab] was a whole number of more than 15 digits; allowed is up to 1e\+15"
    ):
        read_toml("file", f"a = {vast}")


@pytest.mark.parametrize("text", ["a = " + "9" * 5000, "a = [" * 5000, "a = " + "[" * 5000, "a ="])
def test_what_the_parser_chokes_on_is_no_toml(text: str) -> None:
    with pytest.raises(InputError, match="file was not readable as TOML"):
        read_toml("file", text)


def test_keys_within_keys_are_no_trap() -> None:
    assert read_toml("file", ".".join("a" * 30) + " = 1").row("a").row("a").values


@pytest.mark.parametrize(
    "key", [".".join("a" * 40_000), "[" + " . ".join("a" * 40_000) + "]", ".".join(['"a b"', "'c d'"] * 9000)]
)
def test_a_key_of_thousands_of_parts_is_refused_before_it_is_read(key: str) -> None:
    """The parser took a minute and 6 GB over the first."""
    text = f"x = 1\n{key}" + ("" if key.startswith("[") else " = 1")
    with pytest.raises(
        InputError, match="file, line 2 was a key of more than 40 parts; allowed is one of two or three"
    ):
        read_toml("file", text)
