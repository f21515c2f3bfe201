"""Lines of many units fitted together, so that units with few readings lean on the others; and shrinkage.

For studies, on plain numbers: x and y carry the units you give them. A fleet's own forecast has its own model
(``wheelend.wear``); this is the textbook's, for comparison and for data that are no tires.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from wheelend import _core
from wheelend.passage import NormalLine

if TYPE_CHECKING:
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class GroupedFit:
    """A population's line and those of its units.

    Arrays have two entries, (intercept, slope), or one where no x was given: ``fixed`` of the population, ``fixed_cov``
    its error, ``between_cov`` variances and covariance of the units about it (zero where they may not differ). Per
    unit, in the order of ``units``: ``readings``; ``lines``, the unit's own shrunken line; ``conditional_cov``, of what
    the unit adds, as if the population were known; ``line_cov``, the error of the unit's own line, that of the
    population included.

    ``residual_sd``: of single readings about the unit's line. ``minus_two_log_likelihood``: restricted or not, as
    fitted, all constants included; comparable between fits of one kind. ``at_edge``: the units do not differ in one of
    the ways that they were let differ in.
    """

    units: tuple[Any, ...]
    fixed: Floats
    fixed_cov: Floats
    between_cov: Floats
    residual_sd: float
    minus_two_log_likelihood: float
    at_edge: bool
    readings: npt.NDArray[np.int64]
    lines: Floats
    conditional_cov: Floats
    line_cov: Floats

    def __repr__(self) -> str:
        """The population's line with its errors; the units are not listed."""
        line = " + ".join(
            f"{b:.5g} ({e:.3g}){x}" for b, e, x in zip(self.fixed, self.fixed_se, ("", " x"), strict=False)
        )
        spread = ", ".join(f"{sd:.4g}" for sd in self.between_sd)
        return (
            f"<GroupedFit: {len(self.units)} units, {int(self.readings.sum())} readings; {line}; "
            f"between units {spread}; residual sd {self.residual_sd:.4g}>"
        )

    @property
    def fixed_se(self) -> Floats:
        """Standard errors of the population's line."""
        return np.sqrt(np.diag(self.fixed_cov))

    @property
    def between_sd(self) -> Floats:
        """Standard deviations of the units about the population."""
        return np.sqrt(np.diag(self.between_cov))

    @property
    def between_correlation(self) -> float:
        """Correlation of the units' intercepts and slopes; NaN where one of the two does not differ."""
        sd = self.between_sd
        return float(self.between_cov[0, 1] / (sd[0] * sd[1])) if len(sd) == 2 and sd.min() > 0 else math.nan

    @property
    def conditional_sd(self) -> Floats:
        """Conditional standard deviations of what each unit adds, one row a unit."""
        return np.sqrt(np.diagonal(self.conditional_cov, axis1=1, axis2=2))

    def passage(self, limit: float, unit: Any = None) -> NormalLine:
        """When a unit's line reaches ``limit``: level and rate as they are known from the fit.

        Parameters
        ----------
        limit : float, in the unit of y
        unit : one of ``units``, or None for a further unit of which nothing was read

        Returns
        -------
        wheelend.passage.NormalLine
            Exposure is counted from x = 0. The noise of a single reading is no part of it.

        Raises
        ------
        ValueError
            The fit has no slope, or does not know the unit.
        """
        if len(self.fixed) != 2:
            raise ValueError("a fit without x has no rate")
        if unit is None:
            line, cov = self.fixed, self.fixed_cov + self.between_cov
        elif unit in self.units:
            line, cov = self.lines[self.units.index(unit)], self.line_cov[self.units.index(unit)]
        else:
            raise ValueError(f"unit {unit!r} is none of the fit")
        sign = 1.0 if line[1] >= 0 else -1.0  # what rises has its limit above, what falls below
        se = np.sqrt(np.diag(cov))
        return NormalLine(sign * (limit - line[0]), float(se[0]), sign * line[1], float(se[1]), -float(cov[0, 1]))


@dataclass(frozen=True)
class Shrunken:
    """Values drawn together: ``values = mean + (1 - shares) (own - mean)``; ``between_sd`` of the true values."""

    mean: float
    between_sd: float
    values: Floats
    shares: Floats

    def __repr__(self) -> str:
        """What they are drawn to; the values are not listed."""
        return f"<Shrunken: {len(self.values)} values, mean {self.mean:.5g}, between {self.between_sd:.4g}>"


def _square(packed: npt.ArrayLike, size: int) -> Floats:
    """(variance, covariance, variance) in the last axis to matrices."""
    v = np.asarray(packed, dtype=np.float64)
    full = np.stack([np.stack([v[..., 0], v[..., 1]], -1), np.stack([v[..., 1], v[..., 2]], -1)], -2)
    return full[..., :size, :size]


def _fit(unit: npt.ArrayLike, x: npt.ArrayLike | None, y: npt.ArrayLike, differ: str, reml: bool) -> GroupedFit:
    names, number = np.unique(np.asarray(unit), return_inverse=True)
    at = np.ascontiguousarray([] if x is None else x, dtype=np.float64)
    level = np.ascontiguousarray(y, dtype=np.float64)
    found = _core.fit_grouped(np.ascontiguousarray(number, dtype=np.int64), len(names), at, level, differ, reml)
    if not found["settled"]:
        raise ValueError("the likelihood has no maximum that the search could find: too few readings for this model")
    size = 1 if x is None else 2
    each = found["unit_numbers"].reshape(len(names), 8)
    return GroupedFit(
        units=tuple(names.tolist()),
        fixed=np.array([found["level"], found["rate"]][:size]),
        fixed_cov=_square(found["error"], size),
        between_cov=_square(found["between"], size),
        residual_sd=found["residual_sd"],
        minus_two_log_likelihood=found["minus_two_log_likelihood"],
        at_edge=found["at_edge"],
        readings=found["unit_readings"],
        lines=each[:, :size],
        conditional_cov=_square(each[:, 2:5], size),
        line_cov=_square(each[:, 5:8], size),
    )


def fit_lines(
    unit: npt.ArrayLike,
    x: npt.ArrayLike,
    y: npt.ArrayLike,
    *,
    differ: Literal["level", "level_and_rate", "independently"] = "level_and_rate",
    reml: bool = True,
) -> GroupedFit:
    """Lines of many units, each drawn from one population (linear mixed model; Laird and Ware 1982).

    Parameters
    ----------
    unit : array-like, one dimension
        Which unit a reading is of; two units or more, none missing.
    x, y : array-like of float, as long as ``unit``
        Exposure and level of each reading; no missing values. Units may have any number of readings from one up, at any
        x.
    differ : str
        How units differ: in their ``level`` only; in ``level_and_rate``, which may go together; or in both
        ``independently``, which depends on where x is zero.
    reml : bool
        True: restricted maximum likelihood. False: maximum likelihood.

    Returns
    -------
    GroupedFit
        It does not depend on the order of the readings.

    Raises
    ------
    ValueError
        Lengths differ, a value is not finite, fewer than two units, all x equal, no error left to estimate, or no
        maximum found.

    Notes
    -----
    Profiled likelihood as in Bates, Maechler, Bolker, Walker, J. Stat. Software 67 (2015) no. 1.
    """
    return _fit(unit, x, y, differ, reml)


def fit_means(unit: npt.ArrayLike, y: npt.ArrayLike, *, reml: bool = True) -> GroupedFit:
    """Means of many units, each drawn from one population (one-way random effects).

    Parameters
    ----------
    unit : array-like, one dimension
        Which unit a reading is of; two units or more, none missing.
    y : array-like of float, as long as ``unit``
        Level of each reading; no missing values.
    reml : bool
        True: restricted maximum likelihood, for balanced data the estimates of the analysis of variance.

    Returns
    -------
    GroupedFit
        Arrays have one entry where :func:`fit_lines` has two.

    Raises
    ------
    ValueError
        As for :func:`fit_lines`.
    """
    return _fit(unit, None, y, "level", reml)


def shrink(values: npt.ArrayLike, sd: npt.ArrayLike) -> Shrunken:
    """Values of known error drawn together (empirical Bayes; Efron and Morris 1975, Morris 1983).

    Parameters
    ----------
    values : array-like of float, one dimension
        Four or more; no missing values.
    sd : float or array-like of float, above 0
        Standard error of each value, one for all or one each.

    Returns
    -------
    Shrunken
        Equal errors: the estimator of Efron and Morris (1975), with k - 3, as long as the values differ by more than
        their errors; shares are at most (k - 3) / (k - 1).

    Raises
    ------
    ValueError
        Fewer than four values, lengths differ, or a number is not finite or not above 0.
    """
    own = np.ascontiguousarray(values, dtype=np.float64)
    error = np.asarray(sd, dtype=np.float64)
    variances = np.full(own.shape, float(error) ** 2) if error.ndim == 0 else np.ascontiguousarray(error**2)
    return Shrunken(*_core.shrink(own, variances))
