import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.documents.letters import BOX, LAST_LATIN_LETTER, MAY_BREAK, _is_held, fit_to_print, shortened

NAMES = ["Łukasz Żółć", "Ødegård", "Ναυτίλος", "Иван", "Đặng Văn", "Ştefan Ţârnă", "שלום", "سلام", "N̈aïve"]


@pytest.mark.parametrize("name", NAMES)
def test_names_in_european_and_near_eastern_letters_are_printed_whole(name: str) -> None:
    assert fit_to_print(name) == unicodedata.normalize("NFC", name)


def test_every_letter_of_latin_1_and_extended_a_is_in_the_type() -> None:
    letters = [chr(c) for c in range(0x20, ord(LAST_LATIN_LETTER) + 1)]
    printing = [c for c in letters if unicodedata.category(c) not in ("Cc", "Cf")]
    assert [c for c in printing if not _is_held(c)] == []


@pytest.mark.parametrize(("text", "printed"), [("名前", BOX * 2), ("go 🎣!", f"go {BOX}!"), ("\ud800x", f"{BOX}x")])
def test_a_letter_the_type_lacks_prints_as_a_box(text: str, printed: str) -> None:
    assert fit_to_print(text) == printed


def test_controls_and_marks_that_turn_the_reading_direction_are_taken_out() -> None:
    assert fit_to_print("a\x00b\x1b[31mc\u202egnp.exe\u2066d\ufeff") == "ab[31mcgnp.exed"


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r", "\u2028", "\x85"])
def test_lines_stay_apart_whatever_ends_them(end: str) -> None:
    assert fit_to_print(f" one {end}\ttwo \x00 words{end}{end}") == "one\ntwo words"


def test_a_word_too_long_for_a_column_may_break_and_loses_nothing() -> None:
    printed = fit_to_print("x" * 100)
    assert printed.replace(MAY_BREAK, "") == "x" * 100
    assert max(map(len, printed.split(MAY_BREAK))) <= 4


def test_a_sum_of_money_keeps_its_space_that_does_not_break() -> None:
    assert fit_to_print("kr\u00a01,234.56") == "kr\u00a01,234.56"


@given(st.text(max_size=40))
def test_what_was_made_fit_to_print_stays_as_it_is(text: str) -> None:
    once = fit_to_print(text)
    assert fit_to_print(once.replace(MAY_BREAK, "")) == once


@given(st.text(max_size=60), st.integers(1, 40))
def test_a_shortened_text_says_that_there_is_more(text: str, longest: int) -> None:
    short = shortened(text, longest)
    assert short == text if len(text) <= longest else short.endswith("…") and len(short) <= longest + 2
