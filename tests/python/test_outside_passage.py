"""First passage and random wear against closed forms in 50 digits, fits made elsewhere, and another library.

Relative tolerances are those that the reference file states (``rtol``, or its head) unless named; ``abs`` ones are
half a unit of the last printed digit.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import scipy.integrate
import scipy.optimize
import scipy.stats

from outside import column, expected, half_a_unit, table
from wheelend import passage

# ---- row 25: probability that a limit is reached, closed forms in 50 digits


def models() -> list[tuple[str, float, dict[str, float], float, str]]:
    out = []
    for row in table("limit_crossing_cdf"):
        parts = (part.partition("=") for part in row["parameters"].split(";"))
        out.append((row["model"], float(row["t"]), {k: float(v) for k, _, v in parts}, float(row["cdf"]), row["pdf"]))
    return out


def model_of(name: str, p: dict[str, float]) -> Any:
    if name == "wiener":
        return passage.Wiener(p["drift"], p["vol"], p["D"])
    if name == "gamma_process":
        return passage.GammaProcess(p["alpha"], p["scale"], p["D"])
    if name == "lognormal_rate":
        return passage.LognormalRate(p["mu"], p["sigma"], p["D"])
    assert name == "bernstein"
    # worn depth a + b t reaches L; what is left is L - a, so its covariance with the rate turns sign
    return passage.NormalLine(p["L"] - p["mu_a"], p["sd_a"], p["mu_b"], p["sd_b"], -p["rho"] * p["sd_a"] * p["sd_b"])


@pytest.mark.parametrize(("name", "t", "parameters", "cdf", "pdf"), models())
def test_passage_against_closed_forms(name: str, t: float, parameters: dict[str, float], cdf: float, pdf: str) -> None:
    model = model_of(name, parameters)
    # 1e-10: tolerance of the file, tails included; a probability that no double holds is 0 there too
    assert float(model.reached_by(t)) == pytest.approx(cdf, rel=1e-10, abs=0)
    assert float(model.not_reached_by(t)) == pytest.approx(1 - cdf, rel=1e-10, abs=1e-15)  # digits that 1 - cdf has
    if pdf:
        assert float(model.density(t)) == pytest.approx(float(pdf), rel=1e-10, abs=0)
    if 0 < cdf < 0.999:  # above, the digits of cdf do not hold t
        assert float(model.quantile(cdf)) == pytest.approx(t, rel=1e-10)


def test_the_reference_has_all_four_models() -> None:
    assert {name for name, *_ in models()} == {"wiener", "gamma_process", "lognormal_rate", "bernstein"}
    assert len(models()) == 35


# ---- row 2: fifteen lasers, all increments over 250 h at one common rate


def laser_steps() -> tuple[np.ndarray, np.ndarray, dict[str, Any]]:
    rows = table("laser_degradation")
    dx, dy = passage.steps(column(rows, "unit"), column(rows, "hours"), column(rows, "increase"))
    assert dx.size == dy.size == 240
    assert set(dx) == {250.0}
    return dx, dy, expected("laser_stochastic_wear")


def test_wiener_wear_of_lasers() -> None:
    dx, dy, every = laser_steps()
    want, rtol = every["wiener"], every["rtol"]
    found = passage.fit_wiener(dx, dy)
    assert found.drift == pytest.approx(want["drift_per_hour"], rel=rtol)
    assert found.volatility == pytest.approx(want["volatility_per_root_hour"], rel=rtol)
    assert found.log_likelihood == pytest.approx(want["loglik"], rel=rtol)
    for hours, p in want["p_limit_10_by_h"].items():
        assert float(found.passage(10.0).reached_by(float(hours))) == pytest.approx(p, rel=rtol)


def test_gamma_wear_of_lasers() -> None:
    dx, dy, every = laser_steps()
    want, rtol = every["gamma_process"], every["rtol"]
    found = passage.fit_gamma(dx, dy)
    assert found.shape_rate == pytest.approx(want["shape_per_hour"], rel=rtol)
    assert found.scale == pytest.approx(want["scale"], rel=rtol)
    assert found.log_likelihood == pytest.approx(want["loglik"], rel=rtol)
    for hours, p in want["p_limit_10_by_h"].items():
        assert float(found.passage(10.0).reached_by(float(hours))) == pytest.approx(p, rel=rtol)


def test_inverse_gaussian_wear_of_lasers() -> None:
    dx, dy, every = laser_steps()
    want, rtol = every["inverse_gaussian_process"], every["rtol"]
    found = passage.fit_inverse_gaussian(dx, dy)
    assert found.rate == pytest.approx(want["mean_per_hour"], rel=rtol)
    assert found.shape * 250**2 == pytest.approx(want["shape_of_250h_increment"], rel=rtol)
    assert found.log_likelihood == pytest.approx(want["loglik"], rel=rtol)


# ---- another library


@pytest.mark.parametrize(("drift", "volatility", "distance"), [
    (0.085, 0.35, 12.7), (1.0, 1.0, 1.0), (0.3, 2.0, 5.0), (2.0, 0.5, 40.0),
])  # fmt: skip
def test_wiener_passage_against_scipy(drift: float, volatility: float, distance: float) -> None:
    mean, shape = distance / drift, (distance / volatility) ** 2
    theirs = scipy.stats.invgauss(mu=mean / shape, scale=shape)
    ours = passage.Wiener(drift, volatility, distance)
    x = mean * np.array([0.2, 0.5, 0.8, 1.0, 1.2, 2.0, 4.0])
    # 1e-10, as in row 25: theirs joins logs of two terms, which costs some digits in the tails
    assert ours.reached_by(x) == pytest.approx(theirs.cdf(x), rel=1e-10, abs=1e-300)
    assert ours.not_reached_by(x) == pytest.approx(theirs.sf(x), rel=1e-10, abs=1e-300)
    assert ours.density(x) == pytest.approx(theirs.pdf(x), rel=1e-10, abs=1e-300)
    p = np.array([1e-6, 0.01, 0.1, 0.5, 0.9, 0.99])
    assert ours.quantile(p) == pytest.approx(theirs.ppf(p), rel=1e-8)  # their search stops there


def test_gamma_and_inverse_gaussian_passage_against_scipy() -> None:
    x = np.array([40.0, 90.0, 150.0, 300.0])
    gamma = passage.GammaProcess(0.34, 0.25, 12.7)
    assert gamma.reached_by(x) == pytest.approx(scipy.stats.gamma.sf(12.7, 0.34 * x, scale=0.25), rel=1e-10)
    assert gamma.not_reached_by(x) == pytest.approx(scipy.stats.gamma.cdf(12.7, 0.34 * x, scale=0.25), rel=1e-10)
    worn = passage.InverseGaussianProcess(0.085, 0.03, 12.7)
    theirs = scipy.stats.invgauss(mu=0.085 * x / (0.03 * x**2), scale=0.03 * x**2)
    assert worn.reached_by(x) == pytest.approx(theirs.sf(12.7), rel=1e-10)
    assert worn.not_reached_by(x) == pytest.approx(theirs.cdf(12.7), rel=1e-10)
    p = np.array([1e-4, 0.3, 0.8])
    assert worn.reached_by(worn.quantile(p)) == pytest.approx(p, rel=1e-10)


@pytest.mark.parametrize("x", [1e-9, 1e-4, 0.3, 5.0])
def test_early_tail_of_inverse_gaussian_wear_against_its_integral(x: float) -> None:
    # Wear by x beyond 2, from the density of the inverse Gaussian law (Chhikara, Folks 1989, section 2.1)
    mean, shape = 0.8 * x, 0.3 * x**2

    def density(w: float) -> float:
        return math.sqrt(shape / (2 * math.pi * w**3)) * math.exp(-shape * (w - mean) ** 2 / (2 * mean**2 * w))

    area, error = scipy.integrate.quad(density, 2.0, math.inf, epsabs=0, epsrel=1e-12)
    assert error < 1e-9 * area
    assert float(passage.InverseGaussianProcess(0.8, 0.3, 2.0).reached_by(x)) == pytest.approx(area, rel=1e-9, abs=0)


@pytest.mark.parametrize("model", [
    passage.Wiener(0.085, 0.35, 12.7), passage.Wiener(-0.02, 0.5, 3.0), passage.LognormalRate(-2.5, 0.3, 12.7),
    passage.NormalLine(12.4, 0.4, 0.085, 0.02, 0.0024), passage.NormalLine(5.0, 0.6, 0.04, 0.004, -0.001),
])  # fmt: skip
def test_densities_add_up_to_the_probability(model: Any) -> None:
    for low, high in ((20.0, 60.0), (60.0, 150.0), (150.0, 400.0)):
        area, error = scipy.integrate.quad(lambda x: float(model.density(x)), low, high, epsabs=1e-13, epsrel=1e-11)
        assert float(model.reached_by(high) - model.reached_by(low)) == pytest.approx(area, abs=1e-11 + error)


def test_wiener_wear_that_may_never_arrive() -> None:
    # Of paths with drift -v the share exp(-2 v D / s^2) ever reaches D (Karlin, Taylor 1975, section 7.5)
    model = passage.Wiener(-0.1, 1.0, 2.0)
    ever = math.exp(-2 * 0.1 * 2.0)
    assert float(model.reached_by(math.inf)) == pytest.approx(ever, rel=1e-14)
    assert float(model.reached_by(1e9)) == pytest.approx(ever, rel=1e-12)
    assert math.isinf(model.quantile(0.9))
    assert math.isfinite(model.quantile(0.6))


@pytest.mark.parametrize("seed", range(3))
def test_random_wear_over_uneven_steps_against_a_general_search(seed: int) -> None:
    rng = np.random.default_rng(seed)
    dx = rng.uniform(2.0, 20.0, 60)
    dy = rng.gamma(0.34 * dx, 0.25)
    gamma, wiener, inverse = passage.fit_gamma(dx, dy), passage.fit_wiener(dx, dy), passage.fit_inverse_gaussian(dx, dy)

    def by_scipy(log_likelihood: Any, start: list[float]) -> tuple[np.ndarray, float]:
        best = scipy.optimize.minimize(
            lambda p: -log_likelihood(*np.exp(p)), np.log(start), method="Nelder-Mead",
            options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 10_000, "maxfev": 10_000},
        )  # fmt: skip
        return np.exp(best.x), -best.fun

    # 1e-5: at a maximum the place is known to the root of what the value is known to
    place, value = by_scipy(lambda a, c: scipy.stats.gamma.logpdf(dy, a * dx, scale=c).sum(), [0.2, 0.5])
    assert [gamma.shape_rate, gamma.scale] == pytest.approx(place, rel=1e-5)
    assert gamma.log_likelihood == pytest.approx(value, rel=1e-9)
    place, value = by_scipy(lambda v, s: scipy.stats.norm.logpdf(dy, v * dx, s * np.sqrt(dx)).sum(), [0.2, 0.5])
    assert [wiener.drift, wiener.volatility] == pytest.approx(place, rel=1e-5)
    assert wiener.log_likelihood == pytest.approx(value, rel=1e-9)

    def inverse_gaussian(rate: float, shape: float) -> Any:
        return scipy.stats.invgauss.logpdf(dy, rate * dx / (shape * dx**2), scale=shape * dx**2).sum()

    place, value = by_scipy(inverse_gaussian, [0.1, 0.05])
    assert [inverse.rate, inverse.shape] == pytest.approx(place, rel=1e-5)
    assert inverse.log_likelihood == pytest.approx(value, rel=1e-9)


# ---- formula reference, section 9.4


@pytest.mark.parametrize(("reading", "sd_mil", "p"), [
    (4.0, 9.02, 0.5), (4.0, 12.0, 0.5), (4.0, 15.7, 0.5),
    (4.5, 9.02, 0.04161), (4.5, 12.0, 0.09644), (4.5, 15.7, 0.15981),
    (5.0, 9.02, 0.00027), (5.0, 12.0, 0.00460), (5.0, 15.7, 0.02327),
])  # fmt: skip
def test_probability_that_a_tire_is_below_its_limit_already(reading: float, sd_mil: float, p: float) -> None:
    # ME21: limit 4/32 in; 1/32 in is 31.25 mil
    now = passage.NormalLine(31.25 * (reading - 4.0), sd_mil, 0.0, 0.0)
    assert float(now.reached_by(0.0)) == pytest.approx(p, abs=half_a_unit(5))


def test_from_distance_to_date() -> None:
    # ME22: 78 +- 7.33757 thousand miles to go, at 10 a month known to 10 %: 7.800 +- 1.0709 months. That error shows in
    # the density at the middle, which is there the density of a normal law with it.
    ahead = passage.NormalLine(78.0, 7.33757, 10.0, 1.0)
    assert float(ahead.quantile(0.5)) == pytest.approx(7.8, rel=1e-12)
    error = 1 / (math.sqrt(2 * math.pi) * float(ahead.density(7.8)))
    assert error == pytest.approx(1.0709, abs=half_a_unit(4))


# ---- the ways in


def test_steps_are_taken_within_units_and_in_order() -> None:
    dx, dy = passage.steps(["b", "a", "a", "b", "a"], [10, 5, 0, 0, 2], [3.0, 1.5, 0.0, 1.0, 0.5])
    assert dx.tolist() == [2.0, 3.0, 10.0]
    assert dy.tolist() == [0.5, 1.0, 2.0]


def test_shapes_and_missing_values_are_kept() -> None:
    model = passage.Wiener(1.0, 1.0, 5.0)
    found = model.reached_by([[1.0, np.nan], [-1.0, 0.0]])
    assert found.shape == (2, 2)
    assert np.isnan(found[0, 1])
    assert found[1].tolist() == [0.0, 0.0]
    assert np.isnan(model.quantile([0.0, 1.0, np.nan])).all()
    assert model.reached_by(3.0).shape == ()


def test_bad_calls_of_passages_are_refused() -> None:
    for words, call in {
        "above 0 where": lambda: passage.Wiener(1.0, 0.0, 5.0),
        "not finite": lambda: passage.GammaProcess(math.nan, 1.0, 1.0),
        "a parameter": lambda: passage.NormalLine(1.0, 0.1, 1.0, 0.1, 0.5),
        "wear is not above 0": lambda: passage.fit_gamma([1, 1, 1], [1, 0, 2]),
        "exposure is not above 0": lambda: passage.fit_wiener([1, 0, 1], [1, 0, 2]),
        "at one rate": lambda: passage.fit_inverse_gaussian([1, 2, 3], [2, 4, 6]),
        "two steps": lambda: passage.fit_wiener([1], [1]),
        "expected one length": lambda: passage.steps([1, 1], [0, 1, 2], [0, 1, 2]),
    }.items():
        with pytest.raises(ValueError, match=words):
            call()
