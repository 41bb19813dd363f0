"""The law's fit against scipy's and lmfit's least squares on the same data.

No package here carries certified data of NIST's: lmfit's wheel leaves its copy out, and the only set of statsmodels'
(Longley) is a straight line. lmfit is a general library of its own over MINPACK, and gives the errors as well.

Agreement is asked to four figures of every coefficient, as certified values are judged by matching digits (McCullough,
American Statistician 52, 1998, p. 358).
"""

import lmfit
import numpy as np
import pytest
from scipy.optimize import least_squares

from levelwind.core.spin.fit import fit_phase, fit_speed
from levelwind.core.spin.law import Law, speed_after, turns_after

LAW, START = Law(0.4, 0.06, 0.003), 28.0
TIME = np.linspace(0.0, 18.0, 160)
NOISE = np.sin(np.arange(160) * 2.399) * 0.002
"""Even enough that Huber's weights are all one, so that both sides solve the same problem."""


def _digits(ours: np.ndarray, theirs: np.ndarray) -> float:
    return float(-np.log10(np.max(np.abs(ours / theirs - 1))))


def test_speeds_against_scipy() -> None:
    speeds = speed_after(LAW, START, TIME) + NOISE

    def left(u: np.ndarray) -> np.ndarray:
        return speeds - speed_after(Law(*u[1:]), u[0], TIME)

    theirs = least_squares(
        left, [START, 0.4, 0.06, 0.003], x_scale=[1, 0.1, 0.01, 1e-3], xtol=1e-15, ftol=1e-15, gtol=1e-15
    )
    fit = fit_speed(TIME, speeds)
    assert _digits(np.array([fit.start_rev_s, *(float(x) for x in fit.law.coefficients)]), theirs.x) > 4


def test_phases_against_scipy() -> None:
    phases = turns_after(LAW, START, TIME) + NOISE + 0.3

    def left(u: np.ndarray) -> np.ndarray:
        return phases - u[4] - turns_after(Law(*u[1:4]), u[0], TIME)

    guess = [START, 0.4, 0.06, 0.003, 0.3]
    theirs = least_squares(left, guess, x_scale=[1, 0.1, 0.01, 1e-3, 1], xtol=1e-15, ftol=1e-15, gtol=1e-15)
    fit = fit_phase(TIME, phases)
    ours = np.array([fit.start_rev_s, *(float(x) for x in fit.law.coefficients), fit.offset_turns])
    assert _digits(ours, theirs.x) > 4
    assert float(np.sum(fit.residuals**2)) == pytest.approx(2 * theirs.cost, rel=1e-6)


def _by_lmfit(left) -> lmfit.minimizer.MinimizerResult:
    guess = lmfit.Parameters()
    for name, value in {"start": 26.0, "dry": 0.5, "oil": 0.05, "air": 0.004, "offset": 0.0}.items():
        guess.add(name, value, min=-np.inf if name == "offset" else 0.0)
    return lmfit.minimize(left, guess, method="leastsq", xtol=1e-14, ftol=1e-14)


def test_phases_and_their_errors_against_lmfit() -> None:
    """The same values to four figures; deviations, where the residuals are as good as independent, to a tenth."""
    noise = np.random.default_rng(7).uniform(-0.003, 0.003, len(TIME))  # within Huber's two deviations
    phases = turns_after(LAW, START, TIME) + noise + 0.3

    def left(p: lmfit.Parameters) -> np.ndarray:
        law = Law(p["dry"].value, p["oil"].value, p["air"].value)
        return np.asarray(phases - p["offset"].value - turns_after(law, p["start"].value, TIME))

    theirs = _by_lmfit(left)
    fit = fit_phase(TIME, phases)
    names = ("start", "dry", "oil", "air")
    ours = np.array([fit.start_rev_s, *(float(x) for x in fit.law.coefficients)])
    assert _digits(ours, np.array([theirs.params[name].value for name in names])) > 4
    plain = np.sqrt(np.diag(fit.covariance) / fit.correlation_length)
    assert plain == pytest.approx([theirs.params[name].stderr for name in names], rel=0.1)
