"""Bayes over what a reel may be: against sums done by hand, and against what a bench expects of it."""

from math import log2

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.naming import (
    NONE,
    SIZES,
    Answer,
    Key,
    Kind,
    Look,
    Sights,
    Sign,
    all_kinds,
    family_chances,
    name_reel,
    next_looks,
    year_made,
)
from levelwind.core.naming.compute.before import LIKE_NOTHING, NONE_OF_THESE
from levelwind.core.naming.compute.columns import Kinds
from levelwind.core.naming.compute.marks import (
    BESIDE,
    GAP,
    MATCH,
    MISMATCH,
    STANDS,
    alignment,
    alignments,
    letters,
    mark_ratio,
    text_ratio,
)
from levelwind.core.naming.compute.posterior import OTHERWISE, SLIP, in_any_year, in_year, shown, years_of
from levelwind.core.naming.compute.telling import MOST_EDGES, _edges, bits

YES_NO = (Answer("yes", "yes"), Answer("no", "no"))
STAR = Look("star", "Is there a star?", 0.1, YES_NO, {"star": (0.95, 0.05), "lever": (0.03, 0.97), "fly": (0.02, 0.98)})
SWING = Look("swing", "Does a lever swing?", 0.1, YES_NO, {"star": (0.04, 0.96), "lever": (0.96, 0.04), "fly": (0, 1)})
SLOW = Look("slow", "The same with a tool", 5.0, YES_NO, STAR.odds)
FAMILIES = {"star": 0.5, "lever": 0.3, "fly": 0.2}


def pattern(key: str, family: str = "star", **more: object) -> Kind:
    return Kind(key, family, 1.0, in_book=True, **more)  # type: ignore[arg-type]


def a_key(*patterns: Kind, looks: tuple[Look, ...] = (STAR, SWING, SLOW)) -> Key:
    return Key(looks, all_kinds(FAMILIES, patterns))


def by_hand(seen: list[tuple[Look, int]]) -> dict[str, float]:
    """The same law, one multiplication after another: what is like nothing, and like each family in part, is none."""
    known = {family: (1 - NONE_OF_THESE) * chance for family, chance in FAMILIES.items()}
    partly = {family: NONE_OF_THESE * (1 - LIKE_NOTHING) * chance for family, chance in FAMILIES.items()}
    nothing = NONE_OF_THESE * LIKE_NOTHING

    def with_slip(chance: float) -> float:
        return (1 - SLIP) * chance + SLIP / 2

    for look, place in seen:
        anything = 0.25 + sum(row[place] for row in look.odds.values()) / len(look.odds) / 2
        nothing *= with_slip(anything)
        for family, row in look.odds.items():
            known[family] *= with_slip(row[place])
            partly[family] *= with_slip((1 - OTHERWISE) * row[place] + OTHERWISE * anything)
    whole = sum(known.values()) + sum(partly.values()) + nothing
    return {NONE: (sum(partly.values()) + nothing) / whole} | {family: each / whole for family, each in known.items()}


@given(st.lists(st.integers(0, 1), min_size=3, max_size=3))
def test_the_chances_are_those_of_a_sum_by_hand(places: list[int]) -> None:
    seen = list(zip((STAR, SWING, SLOW), places, strict=True))
    found = name_reel(a_key(), Sights({look.key: YES_NO[place].key for look, place in seen})).families
    assert found == pytest.approx(by_hand(seen))
    assert list(found.values()) == sorted(found.values(), reverse=True)


def test_cannot_tell_says_nothing_and_is_not_asked_again() -> None:
    before, after = name_reel(a_key(), Sights()), name_reel(a_key(), Sights({"star": ""}))
    assert after.families == pytest.approx(before.families)
    assert "star" not in [look.key for look in next_looks(a_key(), Sights({"star": ""}))]


def test_none_of_these_rises_as_all_else_falls() -> None:
    start, torn = name_reel(a_key(), Sights()), name_reel(a_key(), Sights({"star": "yes", "swing": "yes"}))
    assert torn.none > 2 * start.none
    assert name_reel(a_key(), Sights({"star": "yes", "swing": "no"})).none < start.none


def test_a_look_tells_what_a_noisy_channel_carries() -> None:
    """A binary symmetric channel that errs with 0.11 carries 1 - H(0.11) = 0.5 bits (Shannon 1948, section 12)."""
    channel = np.array([[0.89, 0.11], [0.11, 0.89]])
    assert bits(np.array([0.5, 0.5]), channel) == pytest.approx(0.5, abs=5e-4)
    assert bits(np.array([0.5, 0.5]), channel) == pytest.approx(1 + 0.11 * log2(0.11) + 0.89 * log2(0.89))


def test_of_two_looks_that_tell_alike_the_quick_one_is_next() -> None:
    looks = next_looks(a_key(), Sights())
    keys = [look.key for look in looks]
    assert keys.index("star") < keys.index("slow") and keys[0] in ("star", "swing")
    assert looks[0].apart in (("star", "lever"), ("lever", "star"))
    told = {look.key: look.bits for look in looks}
    assert told["star"] == pytest.approx(told["slow"])


def test_the_shops_mix_is_mild() -> None:
    assert family_chances(FAMILIES, {}) == pytest.approx(FAMILIES)
    assert family_chances(FAMILIES, {"fly": 10_000})["star"] == pytest.approx(0.25)


def test_letters_that_cannot_be_read_are_forgiven() -> None:
    """Worn, mistaken, left out, in another order of lines: still the text; something else: hardly a word against it."""
    texts = [letters("Skerry & Vane"), letters("Harbour Light 30")]

    def ratio(read: str) -> float:
        return mark_ratio(text_ratio(letters(read), text) for text in texts)

    for read in ("H?RB??R LIGHT", "HARBOR LIGHT 30", "LIGHT 3?", "SKERRV & V?NE", "skerry"):
        assert 10 < ratio(read) <= 1.001 * ratio("HARBOUR LIGHT 30"), read
    assert ratio("PATENT APPLIED FOR") < 1
    assert 1 - STANDS <= ratio("QUQUQU") < 0.6
    assert alignment("????", texts[0]) == 0.0


def test_a_mark_of_the_maker_leaves_room_for_a_reel_not_in_the_book() -> None:
    book = [pattern("1", marks=("Skerry", "Harbour 30")), pattern("2", "lever", marks=("Vane",))]
    maker, model = (name_reel(a_key(*book), Sights(marks=marks)) for marks in ("SKERRY", "SKERRY\nHARBO?R 30"))
    assert maker.not_in_book > 0.4 > model.not_in_book
    assert model.in_book[0].kind.key == "1" and model.in_book[0].probability > 0.6


def test_a_thousand_patterns_are_weighed_in_little_room() -> None:
    """Of many texts only the likeliest are told from one another: no table of all texts by all patterns."""
    looks = next_looks(a_key(*(pattern(str(n), marks=(f"MAKER{n}",)) for n in range(1000))), Sights())
    read = next(look for look in looks if look.key == "marks")
    assert 0 < read.bits < 5


READ = st.text("AB?", max_size=5)


@given(READ, st.lists(READ, max_size=3))
def test_many_texts_are_aligned_as_one_by_one(read: str, texts: list[str]) -> None:
    """Letter by letter in a table, as Smith and Waterman write it (1981)."""
    for text, found in zip(texts, alignments(read, texts), strict=True):
        beside = [sum(BESIDE for sign in read[:n] if sign != "?") for n in range(len(read) + 1)]
        table = [[0.0] * (len(text) + 1)]
        for n, sign in enumerate(read, 1):
            table.append([beside[n]])
            for place, there in enumerate(text, 1):
                step = 0.0 if "?" in (sign, there) else MATCH if sign == there else MISMATCH
                ways = (table[-2][place - 1] + step, table[-2][place] + GAP, table[-1][-1] + GAP)
                table[-1].append(max(beside[n], *ways))
        assert found == pytest.approx(max(max(row) + beside[-1] - beside[n] for n, row in enumerate(table)))


def test_of_many_patterns_only_those_with_a_sign_of_their_own_are_told_one_by_one() -> None:
    """And measuring is weighed between so many edges, however many sizes the book has."""
    sign, wide = (Sign("star", "no"),), {"spool_width_mm": 44.0}
    book = [pattern(str(n), signs=sign if n < 3 else (), sizes_mm={"foot_mm": 30 + n / 10}) for n in range(800)]
    kinds = all_kinds(FAMILIES, book)
    assert len(kinds) == 1 + 2 * len(FAMILIES) + 3 * len(book)
    assert [len(shown(kinds, look).rows) for look in (STAR, SWING)] == [
        1 + 2 * len(FAMILIES) + 3,
        1 + 2 * len(FAMILIES),
    ]
    foot, width = (_edges(kinds, size) for size in (SIZES[3], SIZES[0]))
    assert foot is not None and len(foot) <= MOST_EDGES + 2 and foot[0] == 20 and foot[-1] == 150 and width is None
    few = _edges(Kinds([pattern("1", sizes_mm=wide)]), SIZES[0])
    assert few is not None and few.tolist() == pytest.approx([3, 42.8, 45.2, 200])


def test_a_family_is_as_likely_as_it_is_common() -> None:
    """The weights of a key times how common a family is are those of the key made for it."""
    book, sights = [pattern("1", marks=("Skerry",)), pattern("2", "lever")], Sights({"star": "yes"}, marks="SKER?Y")
    made = name_reel(a_key(*book), sights)
    shared = Key((STAR, SWING, SLOW), all_kinds(dict.fromkeys(FAMILIES, 1.0), book), FAMILIES)
    assert name_reel(shared, sights).families == pytest.approx(made.families)


def test_another_size_of_a_known_model_is_not_in_the_book() -> None:
    book = [pattern("1", marks=("Skerry", "Harbour 30"), sizes_mm={"spool_width_mm": 38.0})]
    for sights in (Sights(marks="SKERRY\nHARBOUR 50"), Sights({}, {"spool_width_mm": 31.0}, "HARBOUR")):
        found = {named.kind.key: named.probability for named in name_reel(a_key(*book), sights).ranked}
        assert found["1, other size"] > 3 * found["1"]
    known = {named.kind.key: named.probability for named in name_reel(a_key(*book), Sights(marks="HARB?UR 3?")).ranked}
    assert known["1"] > 3 * known["1, other size"]
    other = Sights({}, {"spool_width_mm": 38.0}, "BLAKELEY\nCOMPOSITE 7")
    twin = {named.kind.key: named.probability for named in name_reel(a_key(*book), other).ranked}
    assert twin["1, other name"] > twin["1"] > twin["1, other size"]


def test_a_size_speaks_for_its_pattern_and_against_its_neighbour() -> None:
    narrow, wide = {"spool_width_mm": 38.0}, {"spool_width_mm": 44.0}
    book = [pattern("1", sizes_mm=narrow), pattern("2", sizes_mm=wide), pattern("3")]
    before, after = (
        {named.kind.key: named.probability for named in name_reel(a_key(*book), sights).ranked}
        for sights in (Sights(), Sights(sizes_mm={"spool_width_mm": 38.3}))
    )
    assert after["1"] > 0.6 and after["2"] < before["2"] / 5
    assert after["1"] > 2 * after["1, other name"] > after["1, other size"]
    assert after["3"] / after["fly"] == pytest.approx(before["3"] / before["fly"])
    assert "spool_width_mm" in [look.key for look in next_looks(a_key(*book), Sights())]
    assert "foot_mm" not in [look.key for look in next_looks(a_key(*book), Sights())]


def test_dated_signs_tell_the_year() -> None:
    plate = Look("plate", "Is the plate riveted?", 0.2, YES_NO, dict.fromkeys(FAMILIES, (0.03, 0.97)))
    signs = (Sign("plate", "yes", None, 1959), Sign("star", "yes", 1955, None))
    made = pattern("1", signs=signs, year_from=1950, year_to=1979)
    key = a_key(made, looks=(STAR, plate))
    early, late = year_made(key, made, {"plate": "yes"}), year_made(key, made, {"plate": "no"})
    assert early and late and early.high <= 1964 and early.value <= 1956
    assert late.low >= 1954 and late.value >= 1965
    both = year_made(key, made, {"plate": "yes", "star": "yes"})
    assert both and 1953 <= both.value <= 1960
    assert year_made(key, made, {}) is None and year_made(key, made, {"plate": ""}) is None
    by_year = [in_year(plate, made, year, np.array([0.03, 0.97])) for year in years_of(made)]
    assert in_any_year(plate, made, np.array([0.03, 0.97])) == pytest.approx(np.mean(by_year, axis=0))
    found = name_reel(key, Sights({"plate": "yes"}))
    assert found.in_book[0].probability > name_reel(key, Sights()).in_book[0].probability


@pytest.mark.parametrize(
    ("sights", "says"),
    [
        (lambda: Sights({"moon": "yes"}), "look"),
        (lambda: Sights({"star": "perhaps"}), "one of yes, no"),
        (lambda: Sights(sizes_mm={"spool_width_mm": 5000.0}), "3 to 200 mm"),
        (lambda: Sights(sizes_mm={"spool_width_mm": float("nan")}), "3 to 200 mm"),
        (lambda: Sights(sizes_mm={"horn_mm": 5.0}), "one of spool_width_mm"),
        (lambda: Sights(marks="A" * 300), "up to 200"),
    ],
)
def test_nonsense_is_refused_in_words(sights: "type[Sights]", says: str) -> None:
    with pytest.raises(InputError, match=says):
        name_reel(a_key(), sights())


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Look("a", "?", 0.1, YES_NO, {"star": (0.9, 0.9)}), "add up to 1"),
        (lambda: Look("a", "?", 0.1, YES_NO, {"star": (1.2, -0.2)}), "from 0 to 1"),
        (lambda: Look("a", "?", 0.1, YES_NO[:1], {}), "2 or more"),
        (lambda: Look("a", "?", 0.0, YES_NO, {}), "above 0"),
        (lambda: Key((STAR,), (Kind("x", "wheel", 1.0),)), "without wheel"),
        (lambda: Key((STAR, STAR), all_kinds(FAMILIES, ())), "not there yet"),
        (lambda: Key((STAR,), all_kinds(FAMILIES, (pattern("1", signs=(Sign("star", "maybe"),)),))), "one of yes, no"),
        (lambda: Kind("x", "star", 0.0), "above 0"),
        (lambda: Key((STAR,), all_kinds(FAMILIES, (pattern(str(n)) for n in range(10_000)))), "1 to 30000"),
    ],
)
def test_a_bad_key_is_refused_in_words(make: "type[Key]", says: str) -> None:
    with pytest.raises(InputError, match=says):
        make()
