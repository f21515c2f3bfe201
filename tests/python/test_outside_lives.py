"""Laws of lives against published fits and fits made elsewhere: exact, still running, and between inspections.

Relative tolerances are those that the reference file states (``rtol``); ``abs`` ones are those that it gives for the
published numbers.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from outside import column, expected, half_a_unit, table
from wheelend import lives


def check(found: lives.LifeFit, want: dict[str, Any], rtol: float) -> None:
    assert found.location == pytest.approx(want["mu"], rel=rtol)
    assert found.log_likelihood == pytest.approx(want["loglik"], rel=rtol)
    if "sigma" in want:
        assert found.spread == pytest.approx(want["sigma"], rel=rtol)
    if "se_mu" in want:
        assert found.cov[0, 0] ** 0.5 == pytest.approx(want["se_mu"], rel=rtol)
    if "cov_mu_logsigma" in want:
        assert found.cov == pytest.approx(np.array(want["cov_mu_logsigma"]), rel=rtol)
    for ours, theirs in (("scale", "eta"), ("shape", "beta"), ("scale_se", "se_eta"), ("shape_se", "se_beta")):
        if theirs in want:
            assert getattr(found, ours) == pytest.approx(want[theirs], rel=rtol), ours
    if "quantile" in want:
        assert found.lives == pytest.approx(want["quantile"]["estimate"], rel=rtol)
        assert found.log_se == pytest.approx(want["quantile"]["se_log"], rel=rtol)


def shares(want: dict[str, Any]) -> list[float]:
    return list(want.get("quantile", {"p": [0.5]})["p"])


# ---- row 16: arrivals known only between inspections (Berkson 1966; Meeker, Escobar 1998, chapter 7)


@pytest.mark.parametrize("law", ["exponential", "weibull"])
@pytest.mark.parametrize("sample", ["20", "200", "10220"])
def test_lives_between_inspections(sample: str, law: Any) -> None:
    rows = [row for row in table("interval_censored_arrivals") if row["sample"] == sample]
    every = expected("interval_censored_arrivals")
    upper = [float(row["upper"] or "nan") for row in rows]  # none: still running
    want = every[law][sample]
    found = lives.fit_lives(column(rows, "lower"), upper, column(rows, "count"), law=law, p=shares(want))
    assert found.items == column(rows, "count").sum()
    check(found, want, every["rtol"])
    if law == "exponential":
        assert found.scale == pytest.approx(want["mean_life"], rel=every["rtol"])
        assert found.scale_se == pytest.approx(want["se_mean_life"], rel=every["rtol"])
        printed = every["published"][sample]  # Meeker, Escobar 1998, table 7.3, from memory
        assert found.scale == pytest.approx(printed["mean"], abs=half_a_unit(1))
        places = {"20": 0, "200": 2, "10220": 3}[sample]
        assert found.scale_se == pytest.approx(printed["se"], abs=half_a_unit(places))


# ---- row 1: a law of lives for the fifteen crossings of the lasers


@pytest.mark.parametrize("law", ["weibull", "lognormal"])
def test_laws_of_laser_crossings(law: Any) -> None:
    every = expected("laser_degradation")
    want = every["life_fit_to_pseudo_failures"][law]
    found = lives.fit_lives(every["pseudo_failure_hours"], law=law)
    assert found.log_likelihood == pytest.approx(want["loglik"], rel=1e-5)  # as rows 12 to 17
    if law == "weibull":
        assert (found.scale, found.shape) == pytest.approx((want["eta"], want["beta"]), rel=1e-5)
    else:
        assert (found.location, found.spread) == pytest.approx((want["mu"], want["sigma"]), rel=1e-5)


# ---- rows 12 to 15 and 17: parts of vehicles and machines


def observed(name: str, life: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rows = table(name)
    low = column(rows, life)
    failed = column(rows, "failed") if "failed" in rows[0] else np.ones(low.size)
    count = column(rows, "count") if "count" in rows[0] else np.ones(low.size)
    return low, np.where(failed == 1, low, np.inf), count


LIVES = [
    ("shock_absorber_life", "km", ("weibull", "lognormal")),
    ("locomotive_control_life", "kmi", ("weibull", "lognormal")),
    ("ball_bearing_life", "mrev", ("weibull", "lognormal")),
    ("bearing_cage_life", "hours", ("weibull",)),
    ("tractor_brake_life", "hours", ("weibull", "lognormal")),
]


@pytest.mark.parametrize(("name", "life", "law"), [(n, x, law) for n, x, laws in LIVES for law in laws])
def test_lives_of_parts(name: str, life: str, law: Any) -> None:
    every = expected(name)
    check(lives.fit_lives(*observed(name, life), law=law, p=shares(every[law])), every[law], every["rtol"])


@pytest.mark.parametrize("mode", [1, 2])
def test_shock_absorbers_by_mode_of_failure(mode: int) -> None:
    # The other mode ends observation.
    rows, every = table("shock_absorber_life"), expected("shock_absorber_life")
    low = column(rows, "km")
    high = np.where(column(rows, "mode") == mode, low, np.inf)
    want = every[f"weibull_mode{mode}"]
    check(lives.fit_lives(low, high, p=shares(want)), want, every["rtol"])


def test_published_lives() -> None:
    # All from memory (see the reference's table); last printed digit
    shock = lives.fit_lives(*observed("shock_absorber_life", "km"))
    want = expected("shock_absorber_life")["published"]
    assert shock.location == pytest.approx(want["weibull_mu"], abs=half_a_unit(2))
    assert shock.spread == pytest.approx(want["weibull_sigma"], abs=half_a_unit(4))
    assert shock.scale == pytest.approx(want["eta_km"], abs=half_a_unit(0))
    assert shock.cov[0, 0] ** 0.5 == pytest.approx(want["se_mu"], abs=half_a_unit(4))
    control = lives.fit_lives(*observed("locomotive_control_life", "kmi"), law="lognormal")
    assert (control.location, control.spread) == pytest.approx((5.117, 0.705), abs=half_a_unit(3))
    bearing = lives.fit_lives(*observed("ball_bearing_life", "mrev"))
    # 81.87 and 81.88 are both in print: one unit of the last digit, as the file says
    assert (bearing.scale, bearing.shape) == (pytest.approx(81.88, abs=0.01), pytest.approx(2.10, abs=half_a_unit(2)))
    cage = lives.fit_lives(*observed("bearing_cage_life", "hours"))
    assert cage.shape == pytest.approx(2.035, abs=half_a_unit(3))
    assert (cage.items, cage.failures) == (1703, 6)


# ---- the ways in


def test_lives_do_not_depend_on_order_or_on_how_rows_are_counted() -> None:
    low, high, count = [100, 200, 300, 250, 80], [200, 200, np.inf, 400, 80], [2, 1, 3, 1, 1]
    one = lives.fit_lives(low, high, count)
    other = lives.fit_lives(low[::-1], high[::-1], count[::-1])
    assert (one.location, one.spread, one.log_likelihood) == (other.location, other.spread, other.log_likelihood)
    single = lives.fit_lives(np.repeat(low, count), np.repeat(high, count))
    assert single.location == pytest.approx(one.location, rel=1e-9)


def test_failed_by_the_first_inspection_counts_as_failed() -> None:
    # Half of many failed by 100, all others run on: the exponential's mean is 100 / log 2
    found = lives.fit_lives([0, 100], [100, np.inf], [500, 500], law="exponential")
    assert found.scale == pytest.approx(100 / np.log(2), rel=1e-9)
    assert found.failures == 500


def test_bad_calls_of_lives_are_refused() -> None:
    for words, call in {
        "nothing is known to have failed": lambda: lives.fit_lives([1, 2], [np.inf, np.inf]),
        "row 2": lambda: lives.fit_lives([1, 3], [2, 2]),
        "expected 0 <= low": lambda: lives.fit_lives([-1.0], [2.0]),
        "no maximum": lambda: lives.fit_lives([5, 5, 5]),
        "expected length": lambda: lives.fit_lives([1, 2], [1, 2], [1]),
        "is none of": lambda: lives.fit_lives([1, 2], law="gamma"),  # type: ignore[arg-type]  # wrong on purpose
        "outside 0..1": lambda: lives.fit_lives([1, 2, 3], p=[1.0]),
    }.items():
        with pytest.raises(ValueError, match=words):
            call()
