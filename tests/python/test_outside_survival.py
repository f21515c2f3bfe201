"""Curves of lives without a law, the log-rank test and proportional hazards, beside published ones and libraries.

Row 11 of the reference's table (Freireich 1963; Klein, Moeschberger 2003), row 5 (Krivtsov and others 2002: laboratory
tires), and statsmodels and, where it is installed, lifelines. Relative tolerances are those of the reference file.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from outside import column, expected, table
from wheelend import lives

REMISSION = table("leukemia_remission")
WEEKS, RELAPSED = column(REMISSION, "weeks"), column(REMISSION, "relapsed")
DRUG = np.array([row["treatment"] == "6-MP" for row in REMISSION])
WANT = expected("leukemia_remission")


@pytest.mark.parametrize("limits", ["log", "log_log", "plain"])
def test_curve_of_lives(limits: Any) -> None:
    found = lives.survival_curve(WEEKS[DRUG], RELAPSED[DRUG], limits=limits)
    want = WANT[f"km_6mp_{limits.replace('_', '')}"]
    for ours, theirs in (("time", "time"), ("at_risk", "at_risk"), ("failures", "events"), ("survival", "survival"),
                         ("se", "se"), ("low", "lower"), ("high", "upper")):  # fmt: skip
        assert getattr(found, ours) == pytest.approx([w[theirs] for w in want], rel=WANT["rtol"]), ours


def test_curve_of_lives_as_printed() -> None:
    found, printed = lives.survival_curve(WEEKS[DRUG], RELAPSED[DRUG]), WANT["published"]
    assert list(found.time) == printed["time"]
    assert found.survival == pytest.approx(printed["survival"], abs=printed["tolerance"])
    assert found.se == pytest.approx(printed["se"], abs=printed["tolerance"])


def test_cumulative_hazard_medians_and_restricted_mean() -> None:
    found, want = lives.survival_curve(WEEKS[DRUG], RELAPSED[DRUG]), WANT["nelson_aalen_6mp"]
    assert found.hazard == pytest.approx([w["cumhaz"] for w in want], rel=WANT["rtol"])
    assert found.hazard_se == pytest.approx([w["se"] for w in want], rel=WANT["rtol"])
    control = lives.survival_curve(WEEKS[~DRUG], RELAPSED[~DRUG])
    assert (control.life_at(0.5), found.life_at(0.5)) == (WANT["median_control"], WANT["median_6mp"])
    assert np.isnan(found.life_at(0.9))
    mean, se = lives.restricted_mean(WEEKS[DRUG], RELAPSED[DRUG], horizon=20)
    assert (mean, se) == pytest.approx((WANT["rmst_20_weeks_6mp"], WANT["se_rmst_20_weeks_6mp"]), rel=WANT["rtol"])


def test_log_rank() -> None:
    found = lives.compare_lives(WEEKS, DRUG, RELAPSED)
    assert (found.chi_squared, found.freedom) == (pytest.approx(WANT["logrank_chisq"], rel=WANT["rtol"]), 1)


@pytest.mark.parametrize("ties", ["breslow", "efron"])
def test_proportional_hazards(ties: Any) -> None:
    found, want = lives.fit_hazards(WEEKS, ~DRUG, RELAPSED, ties=ties), WANT["cox_control_vs_6mp"]
    assert found.coefficients == pytest.approx([want[ties]], rel=WANT["rtol"])
    assert found.se == pytest.approx([want[f"se_{ties}"]], rel=WANT["rtol"])


@pytest.mark.parametrize("law", ["weibull", "exponential"])
def test_laws_of_remission(law: Any) -> None:
    want = WANT[f"{law}_6mp"]
    high = np.where(RELAPSED[DRUG] == 1, WEEKS[DRUG], np.inf)
    found = lives.fit_lives(WEEKS[DRUG], high, law=law, p=want["quantile"]["p"])
    rtol = WANT["rtol"]
    assert (found.location, found.log_likelihood) == pytest.approx((want["mu"], want["loglik"]), rel=rtol)
    assert found.lives == pytest.approx(want["quantile"]["estimate"], rel=rtol)
    assert found.log_se == pytest.approx(want["quantile"]["se_log"], rel=rtol)
    if law == "weibull":
        assert (found.scale, found.shape) == pytest.approx((want["eta"], want["beta"]), rel=rtol)


# ---- row 5: laboratory tires that separate

COVARIATES = ("wedge_gauge", "interbelt_gauge", "peel_force", "wedge_x_peel")


@pytest.mark.parametrize("ties", ["breslow", "efron"])
def test_tires_that_separate(ties: Any) -> None:
    rows, every = table("tire_separation_test"), expected("tire_separation_test")
    life, failed = column(rows, "survival"), column(rows, "censored") == 0
    x = np.column_stack([column(rows, name) for name in COVARIATES])
    found, want = lives.fit_hazards(life, x, failed, ties=ties), every[f"cox_{ties}"]
    assert found.coefficients == pytest.approx([want["coef"][name] for name in COVARIATES], rel=1e-5)
    assert found.se == pytest.approx(want["se"], rel=1e-5)
    assert [found.log_likelihood_at_zero, found.log_likelihood] == pytest.approx(want["loglik"], rel=1e-7)
    if ties == "breslow":
        printed = every["published"]
        ours = np.column_stack([found.coefficients, found.se])
        assert ours == pytest.approx(np.array([printed[name] for name in COVARIATES]), abs=printed["tolerance"])
    curve = lives.survival_curve(life, failed)
    assert curve.survival == pytest.approx([w["survival"] for w in every["km"]], rel=1e-9)
    assert curve.low == pytest.approx([w["lower"] for w in every["km"]], rel=1e-6)


# ---- other libraries on drawn lives, with lives that are watched from an age on


def drawn(n: int = 300) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(17)
    x = rng.normal(size=(n, 2))
    true = rng.weibull(2.0, n) * 100 * np.exp(-0.3 * x[:, 0])
    entry = np.where(rng.uniform(size=n) < 0.3, rng.uniform(0, 40, n), 0.0)
    keep = true > entry + 1
    end = rng.uniform(50, 150, n)
    life = np.ceil(np.minimum(true, np.maximum(end, entry + 1)))  # whole numbers, so that there are ties
    # Entries never fall on an end: libraries differ in whether such a life is at risk
    return (
        life[keep],
        (true <= np.maximum(end, entry + 1))[keep],
        np.floor(entry[keep]) + 0.5 * (entry[keep] > 0),
        x[keep],
    )


def test_beside_statsmodels() -> None:
    from statsmodels.duration.hazard_regression import PHReg
    from statsmodels.duration.survfunc import SurvfuncRight, survdiff

    life, failed, entry, x = drawn()
    for ties in ("breslow", "efron"):
        theirs = PHReg(life, x, status=failed.astype(float), entry=entry, ties=ties).fit()
        ours = lives.fit_hazards(life, x, failed, entry=entry, ties=ties)  # type: ignore[arg-type]
        # Their search ends at a slope of about 1e-5 of its scale
        assert ours.coefficients == pytest.approx(theirs.params, rel=1e-4)
        assert ours.se == pytest.approx(theirs.bse, rel=1e-4)
    curve = SurvfuncRight(life, failed)
    mine = lives.survival_curve(life, failed)
    at = np.searchsorted(curve.surv_times, mine.time)
    assert mine.survival == pytest.approx(curve.surv_prob[at], rel=1e-12)
    assert mine.se[:-1] == pytest.approx(curve.surv_prob_se[at][:-1], rel=1e-9)
    group = (x[:, 1] > 0).astype(int) + (x[:, 1] > 1)
    chi, p = survdiff(life, failed, group)
    test = lives.compare_lives(life, group, failed)
    assert (test.chi_squared, test.p, test.freedom) == (pytest.approx(chi, rel=1e-9), pytest.approx(p, rel=1e-9), 2)


def test_beside_lifelines() -> None:
    """pip install '.[compare]': it holds pandas below 3, so that it is not among what every test run installs."""
    lifelines = pytest.importorskip("lifelines")
    life, failed, entry, _ = drawn()
    theirs = lifelines.KaplanMeierFitter().fit(life, failed, entry=entry)
    ours = lives.survival_curve(life, failed, entry=entry)
    assert ours.survival == pytest.approx(theirs.survival_function_at_times(ours.time).to_numpy(), rel=1e-9)
    bounds = theirs.confidence_interval_.loc[ours.time].to_numpy()
    inside = (ours.survival > 0) & (ours.survival < 1)
    assert np.column_stack([ours.low, ours.high])[inside] == pytest.approx(bounds[inside], rel=1e-6)
    high = np.where(failed, life, np.inf)
    for law, fitter in (("weibull", lifelines.WeibullFitter()), ("lognormal", lifelines.LogNormalFitter())):
        fit = lives.fit_lives(life, high, law=law)  # type: ignore[arg-type]
        other = fitter.fit(life, failed)
        assert fit.log_likelihood == pytest.approx(other.log_likelihood_, rel=1e-7)
        assert fit.lives == pytest.approx([other.percentile(1 - p) for p in fit.p], rel=1e-3)  # their search's end
        between = fitter.fit_interval_censoring(life - 1, high)
        assert lives.fit_lives(life - 1, high, law=law).log_likelihood == pytest.approx(  # type: ignore[arg-type]
            between.log_likelihood_, rel=1e-6
        )


# ---- the ways in


def test_rows_may_stand_for_several_lives_in_any_order() -> None:
    life, failed, count = np.array([5.0, 3, 8, 5]), np.array([1, 1, 0, 0]), np.array([2, 1, 3, 1])
    one, other = lives.survival_curve(life, failed, count), lives.survival_curve(life[::-1], failed[::-1], count[::-1])
    each = lives.survival_curve(np.repeat(life, count), np.repeat(failed, count))
    for found in (other, each):
        assert np.array_equal(found.survival, one.survival)
        assert np.array_equal(found.se, one.se)
    life, failed, _, x = drawn()
    a, b = lives.fit_hazards(life, x, failed), lives.fit_hazards(life[::-1], x[::-1], failed[::-1])
    assert np.array_equal(a.coefficients, b.coefficients)


def test_bad_calls_of_curves_are_refused() -> None:
    for words, call in {
        "nothing is known to have failed": lambda: lives.survival_curve([1, 2], [0, 0]),
        "row 2": lambda: lives.survival_curve([1, 0]),
        "expected 0 <= entry < life": lambda: lives.survival_curve([1, 2], entry=[1, 0]),
        "level": lambda: lives.survival_curve([1, 2], level=1.0),
        "limits": lambda: lives.survival_curve([1, 2], limits="other"),  # type: ignore[arg-type]
        "two groups": lambda: lives.compare_lives([1, 2], ["a", "a"]),
        "never at risk together": lambda: lives.compare_lives([1, 2, 8, 9], [0, 0, 1, 1], entry=[0, 0, 5, 5]),
        "no maximum": lambda: lives.fit_hazards([1, 2, 3, 4], [0, 0, 1, 1], [1, 1, 0, 0]),
        "not a finite number": lambda: lives.fit_hazards([1, 2], [0, np.nan]),
        "horizon": lambda: lives.restricted_mean([1, 2], horizon=0),
        "between 0 and 1": lambda: lives.survival_curve([1, 2]).life_at(0),
    }.items():
        with pytest.raises(ValueError, match=words):
            call()
