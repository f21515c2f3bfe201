"""Grouped fits and shrinkage against published fits, certified values, another library, and dense matrices.

Relative tolerances are those that the reference file states (``rtol``) unless named; ``abs`` ones are half a unit of
the last printed digit.
"""

from __future__ import annotations

import math
import warnings
from typing import Any

import numpy as np
import pytest
import statsmodels.api as sm
from statsmodels.tools.sm_exceptions import ConvergenceWarning

from outside import column, expected, half_a_unit, table
from wheelend import grouped

# ---- row 8: reaction times of eighteen people over ten days

FITS: dict[str, dict[str, Any]] = {
    "reml_random_slope": {},
    "ml_random_slope": {"reml": False},
    "reml_random_intercept": {"differ": "level"},
    "reml_uncorrelated": {"differ": "independently"},
}


def sleep(**options: Any) -> grouped.GroupedFit:
    rows = table("sleep_reaction")
    assert len(rows) == 180
    return grouped.fit_lines(
        [row["subject"] for row in rows], column(rows, "days"), column(rows, "reaction"), **options
    )


@pytest.mark.parametrize("name", FITS)
def test_sleep_against_lme4(name: str) -> None:
    every = expected("sleep_reaction")
    want, rtol = every[name], every["rtol"]
    found = sleep(**FITS[name])
    assert found.fixed == pytest.approx(list(want["fixed"].values()), rel=rtol)
    assert found.fixed_se == pytest.approx(want["se_fixed"], rel=rtol)
    assert found.fixed_cov == pytest.approx(np.array(want["cov_fixed"]), rel=rtol)
    variances = {(v["grp"].partition(".")[0], v["var1"], v["var2"]): v["vcov"] for v in want["varcomp"]}
    both = ("Subject", "(Intercept)", "Days")
    for (row, col), key in {(0, 0): (*both[:2], None), (1, 1): ("Subject", "Days", None), (0, 1): both}.items():
        # What the model does not let differ is exactly zero.
        assert found.between_cov[row, col] == pytest.approx(variances.get(key, 0.0), rel=rtol), key
    assert found.residual_sd**2 == pytest.approx(variances["Residual", None, None], rel=rtol)
    assert found.minus_two_log_likelihood == pytest.approx(want["criterion"], abs=1e-6)  # flat at the maximum
    assert not found.at_edge
    assert found.units == tuple(unit["group"] for unit in want["ranef"])
    for i, (adds, sd) in enumerate(zip(want["ranef"], want["ranef_cond_sd"], strict=True)):
        theirs = [adds["(Intercept)"], adds.get("Days", 0.0)]
        # Shrunken effects cross zero; they are as good as the largest of their kind.
        size = [max(abs(u[k]) for u in want["ranef"]) if k in adds else 0.0 for k in ("(Intercept)", "Days")]
        assert np.all(np.abs(found.lines[i] - found.fixed - theirs) <= rtol * np.array(size) + 1e-12)
        sds = [v for k, v in sd.items() if k != "group"]
        assert found.conditional_sd[i] == pytest.approx([*sds, 0.0][:2], rel=rtol)


def test_sleep_published() -> None:
    want, found = expected("sleep_reaction")["published"], sleep()  # Bates and others 2015
    assert found.fixed == pytest.approx([want["intercept"], want["slope"]], abs=half_a_unit(3))
    assert found.fixed_se == pytest.approx([want["se_intercept"], want["se_slope"]], abs=half_a_unit(3))
    # 24.741 is printed, and 24.737 in other editions ("last printed digit" says the file): one unit of it
    assert found.between_sd == pytest.approx([want["sd_intercept"], want["sd_slope"]], abs=1e-3)
    assert found.between_correlation == pytest.approx(want["corr"], abs=half_a_unit(3))
    assert found.residual_sd == pytest.approx(want["residual_sd"], abs=half_a_unit(3))
    assert found.minus_two_log_likelihood == pytest.approx(want["reml_criterion"], abs=half_a_unit(1))
    level = want["random_intercept_only"]
    alone = sleep(differ="level")
    assert alone.between_sd[0] == pytest.approx(level["sd_intercept"], abs=half_a_unit(2))
    assert alone.residual_sd == pytest.approx(level["residual_sd"], abs=half_a_unit(2))
    assert alone.minus_two_log_likelihood == pytest.approx(level["reml_criterion"], abs=half_a_unit(3))


# ---- row 9: travel times in six rails


def test_rail_travel() -> None:
    rows, every = table("rail_travel"), expected("rail_travel")
    for name, reml in (("reml", True), ("ml", False)):
        want = every[name]
        found = grouped.fit_means(column(rows, "rail").astype(int), column(rows, "travel"), reml=reml)
        assert found.fixed[0] == pytest.approx(want["fixed"]["(Intercept)"], rel=every["rtol"])
        assert found.fixed_se[0] == pytest.approx(want["se_fixed"], rel=every["rtol"])
        sds = [found.between_sd[0], found.residual_sd]
        assert sds == pytest.approx([v["sdcor"] for v in want["varcomp"]], rel=every["rtol"])
        assert found.minus_two_log_likelihood == pytest.approx(want["criterion"], abs=1e-6)
        for i, (adds, sd) in enumerate(zip(want["ranef"], want["ranef_cond_sd"], strict=True)):
            assert found.units[i] == int(adds["group"])
            assert found.lines[i, 0] - found.fixed[0] == pytest.approx(adds["(Intercept)"], rel=every["rtol"])
            assert found.conditional_sd[i, 0] == pytest.approx(sd["csd"], rel=every["rtol"])
        if reml:  # Pinheiro, Bates 2000, section 1.1
            printed = every["published"]
            assert found.fixed[0] == pytest.approx(printed["mean"], abs=half_a_unit(1))
            assert found.between_sd[0] == pytest.approx(printed["sd_between"], abs=half_a_unit(5))
            assert found.residual_sd == pytest.approx(printed["sd_within"], abs=half_a_unit(6))
            assert found.fixed_se[0] == pytest.approx(printed["se_mean"], abs=half_a_unit(5))


# ---- row 34: between and within groups, certified (NIST StRD)


@pytest.mark.parametrize("name", ["SiRstv", "SmLs01", "SmLs04", "SmLs07"])
def test_balanced_groups_give_the_certified_analysis_of_variance(name: str) -> None:
    # Balanced data with F above 1: REML is the analysis of variance (Searle, Casella, McCulloch 1992, section 4.6), so
    # that within = sd^2, and between = sd^2 + n between_sd^2. One condition more than row 34 asks of a plain analysis:
    # the two are found by a search, which the file's tolerance does not allow for; it is met all the same.
    rows, want = table(f"nist_{name}"), expected(f"nist_{name}")
    found = grouped.fit_means(column(rows, "group"), column(rows, "y"))
    n = len(rows) / len(found.units)
    assert set(found.readings) == {n}
    within = found.residual_sd**2
    between = within + n * found.between_cov[0, 0]
    assert within == pytest.approx(want["within"]["ms"], rel=want["rtol"])
    assert found.residual_sd == pytest.approx(want["residual_sd"], rel=want["rtol"])
    assert between == pytest.approx(want["between"]["ms"], rel=want["rtol"])
    assert between / within == pytest.approx(want["f"], rel=want["rtol"])


# ---- row 1: fifteen lasers (Meeker, Escobar 1998)


def lasers() -> tuple[grouped.GroupedFit, dict[str, Any]]:
    rows = table("laser_degradation")
    unit = column(rows, "unit").astype(int)
    return grouped.fit_lines(unit, column(rows, "hours") / 1000, column(rows, "increase")), expected(
        "laser_degradation"
    )


def test_laser_lines_fitted_together() -> None:
    found, every = lasers()
    want, rtol = every["mixed_model_reml_hours_in_thousands"], every["rtol_mixed"]
    assert found.fixed == pytest.approx(want["fixed"], rel=rtol)
    assert found.fixed_se == pytest.approx(want["se_fixed"], rel=rtol)
    assert found.between_sd == pytest.approx([want["sd_intercept"], want["sd_slope"]], rel=rtol)
    assert found.between_correlation == pytest.approx(want["corr"], rel=rtol)
    assert found.residual_sd == pytest.approx(want["residual_sd"], rel=rtol)
    assert found.minus_two_log_likelihood == pytest.approx(want["reml_criterion"], abs=1e-6)
    assert found.minus_two_log_likelihood == pytest.approx(-2 * want["nlme"]["loglik"], abs=1e-6)
    assert found.units == tuple(unit["unit"] for unit in want["blup"])
    slopes = [unit["I(hours/1000)"] for unit in want["blup"]]
    assert found.lines[:, 1] == pytest.approx(slopes, rel=rtol)
    levels = np.array([unit["(Intercept)"] for unit in want["blup"]])
    assert found.lines[:, 0] == pytest.approx(levels, abs=rtol * np.abs(levels).max())


def test_laser_forecasts_name_the_three_that_were_seen_to_cross() -> None:
    # A back-test on real paths: fitted up to 2000 h, asked who will have crossed 10 % by 4000 h. Only that is asked:
    # the paths bend (units 101 and 106 to either side), which a straight line's intervals know nothing of; of the
    # fifteen crossings of the whole paths three lie in the 90 % intervals of the half.
    rows, every = table("laser_degradation"), expected("laser_degradation")
    early = [row for row in rows if float(row["hours"]) <= 2000]
    fit = grouped.fit_lines(column(early, "unit").astype(int), column(early, "hours"), column(early, "increase"))
    seen = [unit["unit"] for unit in every["crossings_seen_in_4000_h"]]
    likely = [unit for unit in fit.units if fit.passage(every["limit_percent"], unit).reached_by(4000.0) > 0.5]
    assert likely == seen == [101, 106, 110]


# ---- row 10: batting averages (Efron, Morris 1975 and 1977)


def test_batting_averages_drawn_together() -> None:
    rows, want = table("batting_shrinkage"), expected("batting_shrinkage")
    own, later = column(rows, "first45"), column(rows, "rest_avg")
    found = grouped.shrink(own, math.sqrt(want["sampling_variance"]))
    assert found.mean == pytest.approx(want["grand_mean"], rel=want["rtol"])
    assert 1 - found.shares == pytest.approx(np.full(18, want["shrinking_factor_k_minus_3"]), rel=want["rtol"])
    assert found.values == pytest.approx(want["james_stein"], rel=want["rtol"])
    assert np.sum((own - later) ** 2) == pytest.approx(want["total_squared_error_raw"], rel=want["rtol"])
    assert np.sum((found.values - later) ** 2) == pytest.approx(want["total_squared_error_shrunk"], rel=want["rtol"])
    printed = want["published"]  # Efron, Morris 1977, from memory; tolerance of the file
    assert found.mean == pytest.approx(printed["grand_mean"], abs=printed["tolerance"])
    assert 1 - found.shares[0] == pytest.approx(printed["shrinking_factor"], abs=printed["tolerance"])


def test_shrinkage_with_unequal_errors_solves_its_equation() -> None:
    rng = np.random.default_rng(7)
    sd = rng.uniform(0.1, 1.0, 40)
    own = rng.normal(3.0, 0.5, 40) + rng.normal(0.0, sd)
    found = grouped.shrink(own, sd)
    k, a, v = 40, found.between_sd**2, sd**2
    w = 1 / (v + a)
    # Morris 1983, section 5
    assert found.mean == pytest.approx(np.sum(w * own) / np.sum(w), rel=1e-12)
    assert np.sum(w * (k / (k - 1) * (own - found.mean) ** 2 - v)) / np.sum(w) == pytest.approx(a, rel=1e-10)
    assert found.shares == pytest.approx((k - 3) / (k - 1) * v * w, rel=1e-12)
    # No difference beyond the errors: all drawn by the same share, the largest there is.
    flat = grouped.shrink([1.0, 1.01, 0.99, 1.0, 1.02], 0.5)
    assert flat.between_sd == 0.0
    assert flat.shares == pytest.approx(np.full(5, 2 / 4), rel=1e-15)


# ---- another library, and dense matrices, on fleets of uneven units


def fleet(seed: int, units: int = 14) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Depth of tread in 32nds against 1000 mi; two to nine readings a unit, at odd places."""
    rng = np.random.default_rng(seed)
    unit = np.repeat(np.arange(units), rng.integers(2, 10, units))
    x = rng.uniform(0, 90, unit.size)
    level, rate = rng.normal(18, 1.0, units), rng.normal(-0.12, 0.03, units)
    return unit, x, level[unit] + rate[unit] * x + rng.normal(0, 0.5, unit.size)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("reml", [True, False])
@pytest.mark.parametrize("differ", ["level", "level_and_rate"])
def test_grouped_lines_against_statsmodels(seed: int, reml: bool, differ: Any) -> None:
    unit, x, y = fleet(seed)
    ours = grouped.fit_lines(unit, x, y, differ=differ, reml=reml)
    design = sm.add_constant(x / 30)  # near one, which their search wants
    effects = design if differ == "level_and_rate" else design[:, :1]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ConvergenceWarning)  # judged below by the likelihood
        theirs = sm.MixedLM(y, design, unit, exog_re=effects).fit(reml=reml, method=["bfgs", "lbfgs"])
    # Their restricted likelihood takes X in units of 30, ours in units of 1.
    minus_two = -2 * theirs.llf + (2 * math.log(30) if reml else 0.0)
    assert ours.minus_two_log_likelihood <= minus_two + 1e-8  # a maximum, so never below theirs
    assert ours.minus_two_log_likelihood == pytest.approx(minus_two, abs=1e-4)
    # Their search stops at a gradient of 1e-5: three digits of variances, more of the rest.
    unscale = np.array([1.0, 1 / 30])
    assert ours.fixed == pytest.approx(theirs.fe_params * unscale, rel=1e-4)
    assert ours.residual_sd == pytest.approx(math.sqrt(theirs.scale), rel=1e-3)
    k = effects.shape[1]
    scaled = np.asarray(theirs.cov_re) * np.outer(unscale[:k], unscale[:k])
    assert ours.between_cov[:k, :k] == pytest.approx(scaled, rel=5e-3, abs=5e-3 * np.sqrt(np.diag(scaled)).min() ** 2)
    adds = np.array([theirs.random_effects[u] for u in ours.units]) * unscale[:k]
    spread = np.sqrt(np.diag(scaled))
    assert np.all(np.abs(ours.lines[:, :k] - ours.fixed[:k] - adds) < 5e-3 * spread)
    conditional = np.array([np.sqrt(np.diag(theirs.random_effects_cov[u])) for u in ours.units]) * unscale[:k]
    assert ours.conditional_sd[:, :k] == pytest.approx(conditional, rel=5e-3)


def dense_criterion(unit: np.ndarray, x: np.ndarray, y: np.ndarray, between: np.ndarray, sd: float) -> float:
    """-2 log of the restricted likelihood (Patterson, Thompson 1971), all readings in one matrix."""
    design = np.column_stack([np.ones_like(x), x])
    v = (design @ between @ design.T) * (unit[:, None] == unit[None, :]) + sd**2 * np.eye(x.size)
    inverse = np.linalg.inv(v)
    line = np.linalg.solve(design.T @ inverse @ design, design.T @ inverse @ y)
    left = y - design @ line
    logs = np.linalg.slogdet(v)[1] + np.linalg.slogdet(design.T @ inverse @ design)[1]
    return float(logs + left @ inverse @ left + (x.size - 2) * math.log(2 * math.pi))


@pytest.mark.parametrize("seed", range(3))
def test_grouped_lines_maximise_the_dense_likelihood(seed: int) -> None:
    unit, x, y = fleet(seed, 8)
    fit = grouped.fit_lines(unit, x, y)
    best = dense_criterion(unit, x, y, fit.between_cov, fit.residual_sd)
    # Conditioning of the dense matrix, about 1e5, on a number near a hundred
    assert fit.minus_two_log_likelihood == pytest.approx(best, abs=1e-8)
    rng = np.random.default_rng(seed)
    factor = np.linalg.cholesky(fit.between_cov + 1e-15 * np.eye(2))
    for step in (1e-3, 0.02, 0.3):
        for _ in range(20):
            turned = factor @ (np.eye(2) + step * rng.normal(size=(2, 2)))
            other = dense_criterion(unit, x, y, turned @ turned.T, fit.residual_sd * math.exp(step * rng.normal()))
            assert other > best - 1e-8


@pytest.mark.parametrize("seed", range(3))
def test_errors_of_unit_lines_against_the_mixed_model_equations(seed: int) -> None:
    # Henderson, Biometrics 31 (1975) 423: the inverse of the equations' matrix holds all error covariances.
    unit, x, y = fleet(seed, 8)
    fit = grouped.fit_lines(unit, x, y)
    design = np.column_stack([np.ones_like(x), x])
    effects = np.zeros((x.size, 16))
    for row, u in enumerate(unit):
        effects[row, 2 * u : 2 * u + 2] = design[row]
    both = np.hstack([design, effects])
    matrix = both.T @ both / fit.residual_sd**2
    matrix[2:, 2:] += np.kron(np.eye(8), np.linalg.inv(fit.between_cov))
    inverse = np.linalg.inv(matrix)
    solution = inverse @ both.T @ y / fit.residual_sd**2
    assert fit.fixed == pytest.approx(solution[:2], rel=1e-7)
    assert fit.fixed_cov == pytest.approx(inverse[:2, :2], rel=1e-7)
    for u in range(8):
        take = np.zeros((2, 18))
        take[:, :2], take[:, 2 + 2 * u : 4 + 2 * u] = np.eye(2), np.eye(2)
        # 1e-7: two inversions of matrices with conditions of 1e5 or so
        assert fit.lines[u] == pytest.approx(take @ solution, rel=1e-7)
        assert fit.line_cov[u] == pytest.approx(take @ inverse @ take.T, rel=1e-6)
        found = fit.passage(4.0, u)
        line, cov = take @ solution, take @ inverse @ take.T
        at = 120.0  # level - 4 is normal there
        z = (4.0 - line @ [1, at]) / math.sqrt(np.array([1, at]) @ cov @ [1, at])
        assert float(found.reached_by(at)) == pytest.approx(0.5 * math.erfc(-z / math.sqrt(2)), rel=1e-4, abs=1e-12)


def test_grouped_fit_does_not_depend_on_order_or_zero_of_x() -> None:
    unit, x, y = fleet(11)
    one = grouped.fit_lines(unit, x, y)
    order = np.random.default_rng(0).permutation(x.size)
    other = grouped.fit_lines(unit[order], x[order], y[order])
    for name in ("fixed", "fixed_cov", "between_cov", "lines", "line_cov", "conditional_cov"):
        assert np.array_equal(getattr(one, name), getattr(other, name)), name
    moved = grouped.fit_lines(unit, x - 1000.0, y)
    assert moved.minus_two_log_likelihood == pytest.approx(one.minus_two_log_likelihood, abs=1e-8)
    assert moved.fixed[1] == pytest.approx(one.fixed[1], rel=1e-9)
    assert moved.fixed[0] == pytest.approx(one.fixed[0] + 1000 * one.fixed[1], rel=1e-9)


def test_units_that_do_not_differ_are_at_the_edge() -> None:
    x = np.tile(np.arange(6.0), 5)
    noise = np.tile([0.1, -0.2, 0.1, 0.1, -0.2, 0.1], 5) * np.repeat([1, -1, 1, -1, 1], 6)
    fit = grouped.fit_lines(np.repeat(np.arange(5), 6), x, 10 - x + noise)
    assert fit.at_edge
    assert fit.between_sd == pytest.approx([0.0, 0.0], abs=1e-6)
    assert fit.lines == pytest.approx(np.tile(fit.fixed, (5, 1)), rel=1e-9)


def test_bad_calls_of_grouped_fits_are_refused() -> None:
    unit, x, y = fleet(1)
    for words, call in {
        "not finite": lambda: grouped.fit_lines(unit, x, np.where(x == x[3], np.nan, y)),
        "two units": lambda: grouped.fit_lines(np.zeros(9), np.arange(9), np.arange(9) ** 2),
        "expected length": lambda: grouped.fit_lines(unit, x[:-1], y),
        "two different places": lambda: grouped.fit_lines(unit, x * 0, y),
        "no error to estimate": lambda: grouped.fit_lines([1, 1, 2, 2], [0, 1, 0, 1], [3, 2, 5, 1]),
        "its own line": lambda: grouped.fit_lines([1, 1, 1, 2, 2, 2], [0, 1, 2] * 2, [3, 2, 1, 9, 7, 5]),
        "is none of": lambda: grouped.fit_lines(unit, x, y, differ="rate"),  # type: ignore[arg-type]  # wrong on purpose
        "at least four": lambda: grouped.shrink([1, 2, 3], 1.0),
        "not above 0": lambda: grouped.shrink([1, 2, 3, 4], 0.0),
        "no rate": lambda: grouped.fit_means(unit, y).passage(4.0),
        "none of the fit": lambda: grouped.fit_lines(unit, x, y).passage(4.0, "x"),
    }.items():
        with pytest.raises(ValueError, match=words):
            call()
