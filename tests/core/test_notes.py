"""A note carries its quantities until it is shown, in whichever unit of force."""

import json
from math import floor, log10

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.codec import as_shown, as_stored, from_stored
from levelwind.core.errors import InputError, LevelwindError, NotDeterminedError
from levelwind.core.notes import AS_WRITTEN, Amount, Carried, Note, newtons, plain
from levelwind.core.quantities import NEWTONS_PER, Quantity

REGISTRY = pint.UnitRegistry()
PINT = {"N": "newton", "kgf": "kilogram_force", "lbf": "pound_force"}
"""Units of force by their names in pint (a general library of units, its own definitions)."""
NEWTONS_IN = {unit: float(REGISTRY.Quantity(1.0, name).to("newton").magnitude) for unit, name in PINT.items()}

forces = st.floats(1e-4, 1e7) | st.floats(-1e7, -1e-4)
LIMIT = Note.of("limit", "the scale reached its limit of {most}", most=newtons(490.3, figures=4))
units = st.sampled_from(["N", "kgf", "lbf"])


def of_pint(value_N: float, unit: str) -> float:
    return value_N / NEWTONS_IN[unit]


@given(forces, units, st.integers(1, 6))
def test_a_plain_force_reads_back_as_itself(value: float, unit: str, figures: int) -> None:
    """Within half of the last figure shown; in another unit two figures at least and three at most."""
    number, _, of = Note.of("force", "{force}", force=newtons(value, figures=figures)).words(unit).partition(" ")
    written = len(f"{value:.{figures}g}".split("e")[0].replace(".", "").lstrip("-0"))  # without noughts at the end
    kept = figures if unit == "N" else min(max(written, 2), 3)
    true = of_pint(value, unit)
    step = 10.0 ** (floor(log10(abs(true))) - kept + 1)
    assert of == unit
    assert float(number) == pytest.approx(true, abs=0.500001 * step)


@given(forces, st.sampled_from(["kgf", "lbf"]), st.integers(0, 3))
def test_a_force_written_with_decimals_keeps_its_figures_in_another_unit(
    value: float, unit: str, decimals: int
) -> None:
    number = newtons(value, decimals=decimals).shown(unit).value.removesuffix(f" {unit}")
    assert "e" not in number
    assert float(number) == pytest.approx(of_pint(value, unit), rel=0.0501)


@given(forces, st.floats(1e-3, 0.4), units)
def test_an_interval_reads_back_in_every_unit(value: float, width: float, unit: str) -> None:
    half = abs(value) * width
    shown = Amount(Quantity(value, value - half, value + half), "N").shown(unit)
    low, high = (float(end) for end in shown.interval.split(" to "))
    number, of = shown.value.split(" ")
    true, wide = of_pint(value, unit), of_pint(half, unit)
    assert of == unit
    assert float(number) == pytest.approx(true, abs=0.6 * abs(wide) + 0.005 * abs(true))
    assert low == pytest.approx(true - wide, abs=0.6 * abs(wide) + 0.01 * abs(true))
    assert high == pytest.approx(true + wide, abs=0.6 * abs(wide) + 0.01 * abs(true))


def test_a_peak_of_185_kgf() -> None:
    """185 kgf are 1814 N and 408 lbf (by the definitions of the units)."""
    peak = newtons(185 * NEWTONS_PER["kgf"], figures=3)
    doubt = Note.of("peak", "a peak of {peak} is hard to believe", peak=peak)
    assert doubt.words("lbf") == "a peak of 408 lbf is hard to believe"
    assert doubt.words("kgf") == "a peak of 185 kgf is hard to believe"
    assert str(doubt) == "a peak of 1810 N is hard to believe"


def test_what_is_no_force_stays_as_it_is() -> None:
    note = Note.of("hand", "{turn} through the thread, after {time}", turn=plain(0.5, "N m"), time=plain(2.5, "s"))
    assert note.words("lbf") == "0.5 N m through the thread, after 2.5 s"


def test_a_name_with_braces_or_newtons_in_it_stays_as_it_is() -> None:
    assert Note.of("column", "{name} is read", name="{top} 12 N").words("lbf") == "{top} 12 N is read"


def test_a_note_within_a_note_is_shown_in_the_same_unit() -> None:
    led = LIMIT.after("as found")
    assert led.key == "limit"
    assert led.words("kgf") == "as found: the scale reached its limit of 50.0 kgf"


numbers = st.builds(
    lambda value, half, unit, decimals: Amount(Quantity(value, value - half, value + half), unit, decimals),
    forces,
    st.floats(0, 1),
    st.sampled_from(["N", "s", "rev/s", ""]),
    st.none() | st.integers(0, 3),
)
carried = st.recursive(
    numbers | st.text() | st.integers(0, 1000),
    lambda inner: inner.map(lambda each: Note.of("inner", "said: {it}", it=each)),
    max_leaves=3,
)


@given(carried, units)
def test_a_note_survives_the_trip_through_json(each: Carried | Note, unit: str) -> None:
    note = Note.of("some", "about {it}", it=each)
    back = from_stored(Note, json.loads(json.dumps(as_stored(note))))
    assert back == note
    assert back.words(unit) == note.words(unit)


def test_json_says_a_note_in_newtons() -> None:
    assert as_shown({"cautions": (LIMIT,)}) == {"cautions": ["the scale reached its limit of 490.3 N"]}


def test_what_has_only_its_words_is_shown_as_it_stands() -> None:
    note = Note.as_written("the highest reading at start-up was 41.0 N {so}")
    assert note.key == AS_WRITTEN
    assert note.words("lbf") == "the highest reading at start-up was 41.0 N {so}"


def test_notes_can_be_told_apart_and_counted_once() -> None:
    one, same = (Note.of("hz", "{hz} a second", hz=plain(4.0, decimals=1)) for _ in range(2))
    assert len({one, same, Note.of("hz", "{hz} a second", hz=plain(5.0, decimals=1))}) == 2


def test_a_refusal_keeps_the_quantities_it_was_raised_with() -> None:
    bare = NotDeterminedError(Note.of("still", "every force is {it}", it=newtons(9.80665, figures=6)))
    assert str(bare) == "every force is 9.80665 N"
    assert Note.from_error(bare).words("kgf") == "every force is 1.00 kgf"
    entered = InputError("breakaway", newtons(98.0665, figures=6), "no less than the running drag")
    assert str(entered) == "breakaway was 98.0665 N; allowed is no less than the running drag"
    assert Note.from_error(entered).words("kgf") == "breakaway was 10.0 kgf; allowed is no less than the running drag"
    assert Note.from_error(LevelwindError("it is gone")).words("lbf") == "it is gone"


def test_a_unit_that_is_none_is_refused() -> None:
    with pytest.raises(InputError, match="unit was 'stone'; allowed is one of N, kN"):
        newtons(1.0).shown("stone")


def test_a_force_whose_unit_stands_behind_another_is_turned_with_it() -> None:
    low = Amount(Quantity.exact(26.0), "N", decimals=0, unit_follows=True)
    note = Note.of("range", "{low} to {high}", low=low, high=newtons(45.0, decimals=0))
    assert (note.words(), note.words("kgf")) == ("26 to 45 N", "2.7 to 4.6 kgf")
