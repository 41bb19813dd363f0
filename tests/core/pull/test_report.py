import numpy as np
import pytest

from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.pull import PullResult, analyse, typed
from levelwind.core.pull.report import as_text, average, rows


def log(level: float = 20.0, hz: float = 50.0, tare: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    t = np.arange(0.0, 9.0, 1 / hz)
    force = np.where(t < 1.5, 1.3 * level * (t - 1.0) * 2, level + 0.3 * level * np.exp((1.5 - t) * 20))
    noise = np.random.default_rng(3).normal(0, 0.03, len(t))
    return t, np.where((t > 1.0) & (t < 8.0), force, 0.0) + tare + noise


def test_the_average_of_pulls_is_no_surer_than_they_agree() -> None:
    def result(*ratios: float) -> PullResult:
        return PullResult(tuple(typed(r * 20.0, 20.0).pulls[0] for r in ratios))

    lone, agreed, torn = (average(result(*r), "startup_ratio") for r in ((1.5,), (1.5, 1.5), (1.1, 1.9)))
    assert lone.value == agreed.value == torn.value == pytest.approx(1.5)
    assert torn.high - torn.low > agreed.high - agreed.low
    with pytest.raises(NotDeterminedError, match="no pull in this log has a wobble"):
        average(result(1.5), "wobble_N")


def test_the_text_speaks_in_newtons_and_in_what_the_scale_shows() -> None:
    t, force = log()
    text = as_text(analyse(t, force, unit_found="kgf"))
    assert text.startswith("1 pull, 50.0 readings a second, forces written in kgf")
    assert "  running drag   20.0" in text or "  running drag   19.99" in text
    assert ", 2.0" in text and " kgf (" in text
    assert "wobble         nothing stands out" in text and "stick-slip     none seen" in text


def test_a_typed_pull_is_wide_and_claims_nothing_more() -> None:
    (pull,) = typed(30.0, 20.0, step_N=1.0).pulls
    assert (pull.running_N.low, pull.running_N.high) == pytest.approx((18.3, 21.7))
    assert pull.startup_ratio.value == 1.5 and pull.startup_ratio.low < 1.42 and pull.startup_ratio.high > 1.63
    assert pull.wobble_N is None and pull.fade_percent is None and pull.stick_slip_hz is None
    assert [dict(rows(pull))[name] for name in ("wobble", "stick-slip", "fade")] == ["not told"] * 3
    typed(19.0, 20.0)


@pytest.mark.parametrize(
    ("breakaway", "running", "sentence"),
    [
        (10.0, 0.0, "running drag was 0 N"),
        (10.0, -3.0, "running drag was -3 N"),
        (10.0, 20.0, "breakaway was 10 N; allowed is no less than the running drag of 20 N"),
        (float("nan"), 20.0, "breakaway was nan N"),
        (10.0, float("inf"), "running drag was inf N"),
    ],
)
def test_typed_nonsense_is_refused(breakaway: float, running: float, sentence: str) -> None:
    with pytest.raises(InputError, match=sentence):
        typed(breakaway, running)
