"""Lives: laws of them, curves without a law, and whether groups or covariates make them differ.

Lives are known exactly, only to lie between two inspections (laws), or only to exceed what was run so far.

For studies, on plain numbers: lives carry the unit you give them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING, Literal

import numpy as np

from wheelend import _core

if TYPE_CHECKING:
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class LifeFit:
    """A law of lives by maximum likelihood: ``log life = location + spread w``.

    ``w`` is of the smallest extreme value law (``weibull``: scale exp(location), shape 1 / spread; ``exponential``:
    mean exp(location), spread 1) or normal (``lognormal``). ``cov`` is that of (location, log spread), from observed
    information, with zeros for what is not estimated. ``log_likelihood`` takes exact lives by their density.
    The shares ``p`` have failed by ``lives``; ``log_se`` is the standard error of their logs. ``items`` counts all
    lives, ``failures`` those that are not known to be still running.
    """

    law: str
    location: float
    spread: float
    cov: Floats
    log_likelihood: float
    items: float
    failures: float
    p: Floats
    lives: Floats
    log_se: Floats

    @property
    def scale(self) -> float:
        """exp(location): the Weibull's scale, the exponential's mean, the lognormal's median."""
        return math.exp(self.location)

    @property
    def scale_se(self) -> float:
        """Standard error of ``scale`` (delta method)."""
        return self.scale * math.sqrt(self.cov[0, 0])

    @property
    def shape(self) -> float:
        """1 / spread: the Weibull's shape."""
        return 1.0 / self.spread

    @property
    def shape_se(self) -> float:
        """Standard error of ``shape`` (delta method)."""
        return self.shape * math.sqrt(self.cov[1, 1])


def fit_lives(
    low: npt.ArrayLike,
    high: npt.ArrayLike | None = None,
    count: npt.ArrayLike | None = None,
    *,
    law: Literal["exponential", "weibull", "lognormal"] = "weibull",
    p: npt.ArrayLike = (0.1, 0.5, 0.9),
) -> LifeFit:
    """Law of lives by maximum likelihood, from exact lives, lives between inspections, and lives still running.

    Parameters
    ----------
    low, high : array-like of float, one dimension, equal length
        The life lies in (low, high]; both equal: exactly there; ``high`` infinite or missing (NaN): still running at
        ``low``; ``low`` 0: failed by ``high``. Without ``high`` all lives are exact.
    count : array-like of float, optional
        How many lives a row stands for; 0 or more. Default: one.
    law : {"exponential", "weibull", "lognormal"}
        The law that is fitted.
    p : array-like of float in (0, 1)
        Shares failed for which lives are given.

    Returns
    -------
    LifeFit
        It does not depend on the order of the rows.

    Raises
    ------
    ValueError
        Lengths differ, a row is none of the above, nothing has failed, or the likelihood has no maximum (all lives
        equal, or all in one interval).

    Notes
    -----
    Meeker and Escobar, Statistical Methods for Reliability Data, 1998, chapters 7 and 8.
    """
    low_ = np.ascontiguousarray(low, dtype=np.float64)
    high_ = low_ if high is None else np.ascontiguousarray(high, dtype=np.float64)
    high_ = np.where(np.isnan(high_), np.inf, high_)
    count_ = np.ones(low_.shape) if count is None else np.ascontiguousarray(count, dtype=np.float64)
    shares = np.atleast_1d(np.asarray(p, dtype=np.float64))
    found = _core.fit_life(law, low_, high_, count_, shares.tolist())
    if not found["settled"]:
        raise ValueError("the likelihood has no maximum: the lives do not tell the law's spread")
    location, both, spread = found["covariance"]
    lives, log_se = found["quantiles"]
    return LifeFit(
        law=law,
        location=found["location"],
        spread=found["spread"],
        cov=np.array([[location, both], [both, spread]]),
        log_likelihood=found["log_likelihood"],
        items=found["items"],
        failures=found["failures"],
        p=shares,
        lives=lives,
        log_se=log_se,
    )


# ---- without a law


@dataclass(frozen=True)
class SurvivalCurve:
    """Share still alive after each ``time`` at which something failed (Kaplan and Meier).

    ``at_risk`` lives were watched just before, ``failures`` of them failed. ``se`` is Greenwood's error of
    ``survival``, ``low`` and ``high`` its limits at ``level``; NaN where nothing is left. ``hazard``: cumulative hazard
    (Nelson, Aalen), with ``hazard_se``.
    """

    time: Floats
    at_risk: Floats
    failures: Floats
    survival: Floats
    se: Floats
    low: Floats
    high: Floats
    hazard: Floats
    hazard_se: Floats
    level: float

    def life_at(self, p: float) -> float:
        """The first time by which a share ``p`` or more has failed; NaN where it never does.

        Parameters
        ----------
        p : float in (0, 1)
            Share that has failed.

        Returns
        -------
        float
            One of ``time``.

        Raises
        ------
        ValueError
            ``p`` is not between 0 and 1.
        """
        if not 0.0 < p < 1.0:
            raise ValueError(f"p: expected a number between 0 and 1, got {p!r}")
        # Rounding of a product of shares must not move a median to the next failure.
        reached = np.flatnonzero(self.survival <= 1.0 - p + 1e-12)
        return float(self.time[reached[0]]) if reached.size else math.nan


def _lives(
    life: npt.ArrayLike, failed: npt.ArrayLike | None, entry: npt.ArrayLike | None, count: npt.ArrayLike | None
) -> tuple[Floats, npt.NDArray[np.uint8], Floats, Floats]:
    lives = np.ascontiguousarray(life, dtype=np.float64)
    flags = (
        np.ones(lives.shape, np.uint8) if failed is None else np.ascontiguousarray(np.asarray(failed) != 0, np.uint8)
    )
    entries = np.zeros(lives.shape) if entry is None else np.ascontiguousarray(entry, dtype=np.float64)
    counts = np.ones(lives.shape) if count is None else np.ascontiguousarray(count, dtype=np.float64)
    return lives, flags, entries, counts


def survival_curve(
    life: npt.ArrayLike,
    failed: npt.ArrayLike | None = None,
    count: npt.ArrayLike | None = None,
    *,
    entry: npt.ArrayLike | None = None,
    level: float = 0.95,
    limits: Literal["log_log", "log", "plain"] = "log_log",
) -> SurvivalCurve:
    """Share of lives that go beyond each age, without a law, from lives that ended and lives still running.

    Parameters
    ----------
    life : array-like of float
        Age at the end, or so far; above ``entry``.
    failed : array-like of bool, optional
        Whether it ended then; false: still running. Default: all ended.
    count : array-like of float, optional
        How many lives a row stands for. Default: one.
    entry : array-like of float, optional
        Age from which a life was watched. Default: 0.
    level : float in (0, 1)
        Of the limits.
    limits : {"log_log", "log", "plain"}
        Scale on which they are symmetric; all are cut at 0 and 1.

    Returns
    -------
    SurvivalCurve
        One entry per distinct age of failure.

    Raises
    ------
    ValueError
        Lengths differ, a row is none of the above, or nothing has failed.

    Notes
    -----
    Klein and Moeschberger, Survival Analysis, 2003, chapters 4.2 and 4.3.
    """
    if not 0.0 < level < 1.0:
        raise ValueError(f"level: expected a number between 0 and 1, got {level!r}")
    lives, flags, entries, counts = _lives(life, failed, entry, count)
    time, at_risk, failures, survival, se, hazard, hazard_se = _core.survival_curve(lives, flags, entries, counts)
    z = NormalDist().inv_cdf(0.5 + level / 2.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        if limits == "plain":
            low, high = survival - z * se, survival + z * se
        elif limits == "log":
            low, high = survival * np.exp(-z * se / survival), survival * np.exp(z * se / survival)
        elif limits == "log_log":
            width = z * se / (survival * np.log(survival))  # negative
            low, high = survival ** np.exp(-width), survival ** np.exp(width)
        else:
            raise ValueError(f"limits: expected log_log, log or plain, got {limits!r}")
    gone = survival <= 0.0
    low, high = (np.where(gone, np.nan, np.clip(v, 0.0, 1.0)) for v in (low, high))
    return SurvivalCurve(time, at_risk, failures, survival, se, low, high, hazard, hazard_se, level)


def restricted_mean(
    life: npt.ArrayLike,
    failed: npt.ArrayLike | None = None,
    count: npt.ArrayLike | None = None,
    *,
    entry: npt.ArrayLike | None = None,
    horizon: float,
) -> tuple[float, float]:
    """Mean life up to a horizon, and its standard error: the area below the survival curve.

    Parameters
    ----------
    life, failed, count, entry : array-like
        As for :func:`survival_curve`.
    horizon : float
        Above 0. Beyond the last failure the curve keeps its value.

    Returns
    -------
    (float, float)
        In the unit of the lives.

    Raises
    ------
    ValueError
        As :func:`survival_curve`.
    """
    mean, se = _core.restricted_mean(*_lives(life, failed, entry, count), float(horizon))
    return mean, se


@dataclass(frozen=True)
class LogRank:
    """``chi_squared`` of the log-rank test, its degrees of ``freedom``, and the chance ``p`` of a larger one."""

    chi_squared: float
    freedom: int
    p: float


def compare_lives(
    life: npt.ArrayLike,
    group: npt.ArrayLike,
    failed: npt.ArrayLike | None = None,
    count: npt.ArrayLike | None = None,
    *,
    entry: npt.ArrayLike | None = None,
) -> LogRank:
    """Whether groups live alike: log-rank test.

    Parameters
    ----------
    life : array-like of float
        As for :func:`survival_curve`.
    group : array-like
        Group of each row: two or more words or numbers.
    failed, count, entry : array-like
        As for :func:`survival_curve`.

    Returns
    -------
    LogRank
        It does not depend on the order of the rows.

    Raises
    ------
    ValueError
        As :func:`survival_curve`; fewer than two groups; groups that are never at risk together.
    """
    names, code = np.unique(np.asarray(group), return_inverse=True)
    of = np.ascontiguousarray(code.reshape(-1), np.int64)
    return LogRank(*_core.log_rank(*_lives(life, failed, entry, count), of, len(names)))


@dataclass(frozen=True)
class HazardFit:
    """Proportional hazards: ``log hazard = log hazard0(t) + coefficients . x``; ``cov`` is of the coefficients.

    ``log_likelihood`` is the partial one, ``log_likelihood_at_zero`` that without covariates.
    """

    coefficients: Floats
    cov: Floats
    log_likelihood: float
    log_likelihood_at_zero: float

    @property
    def se(self) -> Floats:
        """Standard errors of the coefficients."""
        return np.sqrt(np.diag(self.cov))


def fit_hazards(
    life: npt.ArrayLike,
    x: npt.ArrayLike,
    failed: npt.ArrayLike | None = None,
    *,
    entry: npt.ArrayLike | None = None,
    ties: Literal["efron", "breslow"] = "efron",
) -> HazardFit:
    """What covariates do to the hazard, whatever its course over time (Cox 1972), by partial likelihood.

    Parameters
    ----------
    life : array-like of float
        As for :func:`survival_curve`; a row is one life.
    x : array-like of float, (lives,) or (lives, covariates)
        What may make lives differ; no value may be missing.
    failed, entry : array-like
        As for :func:`survival_curve`.
    ties : {"efron", "breslow"}
        How failures at one age are taken.

    Returns
    -------
    HazardFit
        It does not depend on the order of the rows.

    Raises
    ------
    ValueError
        As :func:`survival_curve`; a covariate that is no number; a likelihood without a maximum.
    """
    lives, flags, entries, _ = _lives(life, failed, entry, None)
    covariates = np.asarray(x, dtype=np.float64)
    wide = covariates.reshape(len(lives), -1) if covariates.ndim == 1 else covariates
    flat = np.ascontiguousarray(wide.reshape(-1))
    found = _core.fit_hazards(lives, flags, entries, flat, wide.shape[-1], ties)
    if not found["settled"]:
        raise ValueError("the likelihood has no maximum: the covariates part what failed from what did not")
    k = wide.shape[-1]
    return HazardFit(
        found["coefficients"],
        found["covariance"].reshape(k, k),
        found["log_likelihood"],
        found["log_likelihood_at_zero"],
    )
