"""The sentence a proof sheet opens with: short, and never more than what was measured."""

from dataclasses import replace

import pytest

from levelwind.core.changes import Verdict, change
from levelwind.core.in_short import in_short
from levelwind.core.notes import Note
from levelwind.core.quantities import Quantity
from levelwind.core.spin.compare import SpinsCompared


def known(value: float, part: float = 0.01) -> Quantity:
    return Quantity(value, value * (1 - part), value * (1 + part))


def pull(
    found: float, left: float, ratios: tuple[float, float] = (1.2, 1.2), so: str = "", part: float = 0.01
) -> Verdict:
    changes = (
        change("running drag", "N", known(found, part), known(left, part), key="running_N"),
        change("start-up ratio", "", known(ratios[0], part), known(ratios[1], part), key="startup_ratio"),
    )
    return Verdict(changes, changes, (Note.of(so, "-"),) if so else (), ())


def spin(found: float, left: float, part: float = 0.01) -> SpinsCompared:
    time = change("free spin", "s", known(found, part), known(left, part), key="spin_time_s")
    return SpinsCompared((time,), (time,), (), (), (), 20.0, 2.0)


@pytest.mark.parametrize(
    ("of_pull", "said"),
    [
        (pull(20, 24, so="stick_slip_gone"), "no longer sticks and slips and holds 24.0 N, 20 % more than before."),
        (pull(20, 20, so="stick_slip_come"), "now sticks and slips and holds 20.0 N, about as before."),
        (pull(20, 10, (1.6, 1.1)), "starts more smoothly and holds 10.0 N, 50 % less than before."),
        (pull(20, 20.2, (1.1, 1.6)), "starts less smoothly than before and holds 20.2 N, about as before."),
        (pull(20, 23, part=0.2), "holds 23 N: whether more or less than before cannot be told."),
    ],
)
def test_the_drag(of_pull: Verdict, said: str) -> None:
    assert in_short({"pull": of_pull}, {}, "N") == f"The drag {said}"


def test_units_are_those_on_a_scale() -> None:
    """24 N are 5.40 lbf and 2.4 kgf, by the definitions of the pound-force and the kilogram-force."""
    verdict = {"pull": pull(20, 24)}
    assert in_short(verdict, {}, "lbf") == "The drag holds 5.40 lb, 20 % more than before."
    assert in_short(verdict, {}, "kgf") == "The drag holds 2.45 kg, 20 % more than before."


def test_the_spool() -> None:
    assert in_short({"spin": spin(9, 12)}, {}, "N") == "The spool spins longer, 12.00 s where it was 9.00 s."
    assert in_short({"spin": spin(12, 9)}, {}, "N") == "The spool spins shorter, 9.00 s where it was 12.00 s."
    untold = "Whether the spool spins longer or shorter than before cannot be told."
    assert in_short({"spin": spin(9, 9.3, part=0.1)}, {}, "N") == untold
    assert in_short({"pull": pull(20, 24), "spin": spin(9, 9.3, part=0.1)}, {}, "N").endswith("than before.")
    cut = replace(spin(9, 12), to_rest=False)
    assert in_short({"spin": cut}, {}, "N") == "The spool loses speed more slowly than before."


def test_both_in_one_sentence_and_nothing_where_nothing_was_measured() -> None:
    both = in_short({"pull": pull(20, 24), "spin": spin(9, 12)}, {}, "N")
    assert both == "The drag holds 24.0 N, 20 % more than before; the spool spins longer, 12.00 s where it was 9.00 s."
    left = {"running": known(8.6), "spin_time": known(12)}
    assert in_short({}, left, "lbf") == "The drag holds 8.60 lb; the spool spins 12.00 s."
    assert in_short({}, {}, "N") == ""
