"""Straight lines for studies: least squares, robust slopes, and where a line reaches a value.

The same kernels as the fleet functions use, on plain numbers: x and y carry the units you give them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wheelend import _core

if TYPE_CHECKING:
    import numpy.typing as npt


@dataclass(frozen=True)
class Line:
    """``y = intercept + slope x`` by least squares.

    Attributes
    ----------
    n, df : int
        Readings, and degrees of freedom n - 2.
    intercept, slope : float
        In the unit of y, and of y per x.
    se_intercept, se_slope, residual_sd : float
        Standard errors, and standard deviation of the residuals; NaN below three readings.
    r_squared : float
        NaN where y does not vary.
    """

    n: int
    intercept: float
    slope: float
    se_intercept: float
    se_slope: float
    residual_sd: float
    r_squared: float
    df: int


@dataclass(frozen=True)
class Reach:
    """Where a line reaches a value, with two-sided limits.

    Attributes
    ----------
    status : str
        ``bounded``; ``unbounded`` (the slope does not differ from zero at this level: no finite limits); ``flat``
        (never reached). Numbers are NaN where the status says so.
    at, low, high : float
        The x, and its limits.
    se : float
        Standard error of ``at`` by the delta method.
    """

    status: str
    at: float
    low: float
    high: float
    se: float


@dataclass(frozen=True)
class Slopes:
    """Median of all pairwise slopes with its interval, and two intercepts in use.

    Attributes
    ----------
    pairs : int
        Pairs of readings with different x.
    slope, low, high : float
        The median slope and its interval.
    intercept_of_medians, intercept_of_residuals : float
        median(y) - slope median(x), and median(y - slope x).
    """

    pairs: int
    slope: float
    low: float
    high: float
    intercept_of_medians: float
    intercept_of_residuals: float


@dataclass(frozen=True)
class OriginLine:
    """``y = slope x`` by least squares; n - 1 degrees of freedom.

    Attributes
    ----------
    n : int
        Readings.
    slope : float
        In the unit of y per x.
    se_slope, residual_sd : float
        Its standard error, and standard deviation of the residuals; NaN for one reading.
    """

    n: int
    slope: float
    se_slope: float
    residual_sd: float


@dataclass(frozen=True)
class RepeatedMedian:
    """Repeated median slope and two intercepts in use.

    ``intercept_of_residuals``: median of y - slope x. ``intercept_of_pairs``: repeated median of the intercepts of the
    lines through two readings.
    """

    slope: float
    intercept_of_residuals: float
    intercept_of_pairs: float


def _column(values: npt.ArrayLike) -> npt.NDArray[np.float64]:
    return np.ascontiguousarray(values, dtype=np.float64)


def fit_line(x: npt.ArrayLike, y: npt.ArrayLike) -> Line:
    """Least-squares line.

    Parameters
    ----------
    x, y : array-like of float, one dimension, equal length
        At least two different x; no missing values.

    Returns
    -------
    Line
        In the units of x and y.

    Raises
    ------
    ValueError
        Fewer than two readings, all x equal, or a value that is not finite: the message names it.
    """
    return Line(**_core.fit_line(_column(x), _column(y)))


def fit_through_origin(x: npt.ArrayLike, y: npt.ArrayLike) -> OriginLine:
    """Least-squares line through the origin.

    Parameters
    ----------
    x, y : array-like of float, one dimension, equal length
        At least one x other than 0; no missing values.

    Returns
    -------
    OriginLine
        In the units of x and y.

    Raises
    ------
    ValueError
        No reading away from x = 0, or a value that is not finite.
    """
    return OriginLine(**_core.fit_through_origin(_column(x), _column(y)))


def value_at(
    x: npt.ArrayLike, y: npt.ArrayLike, at: float, *, level: float = 0.9, mean_response: bool = True
) -> tuple[float, float, float]:
    """Where the line of (x, y) is at ``at``: estimate, low, high.

    Parameters
    ----------
    x, y : array-like of float
        As for :func:`fit_line`; three readings or more for finite limits.
    at : float
        An x.
    level : float in (0, 1)
        Of the two-sided interval, Student's t.
    mean_response : bool
        True: of the mean line. False: of one new reading.

    Returns
    -------
    tuple of float
        Estimate, low and high, in the unit of y; low and high are NaN for two readings.

    Raises
    ------
    ValueError
        As for :func:`fit_line`, or ``level`` outside (0, 1).
    """
    return _core.value_at(_column(x), _column(y), at, level, mean_response)


def where_reaches(
    x: npt.ArrayLike, y: npt.ArrayLike, value: float, *, level: float = 0.9, mean_response: bool = True
) -> Reach:
    """The x at which the line of (x, y) reaches ``value``, with limits by inversion (Fieller 1954).

    Parameters
    ----------
    x, y : array-like of float
        As for :func:`fit_line`.
    value : float
        In the unit of y.
    level : float in (0, 1)
        Of the two-sided limits, Student's t.
    mean_response : bool
        True: where the mean line reaches it. False: where one new reading equals it.

    Returns
    -------
    Reach
        In the unit of x; three readings or more for finite limits.

    Raises
    ------
    ValueError
        As for :func:`fit_line`, or ``level`` outside (0, 1).
    """
    return Reach(*_core.where_reaches(_column(x), _column(y), value, level, mean_response))


def pairwise_slopes(x: npt.ArrayLike, y: npt.ArrayLike, *, level: float = 0.9) -> Slopes:
    """Median of all pairwise slopes (Theil 1950) with Sen's interval (1968); pairs with equal x are left out.

    Parameters
    ----------
    x, y : array-like of float
        As for :func:`fit_line`.
    level : float in (0, 1)
        Of the interval; normal approximation with the correction for ties, ranks to the nearest.

    Returns
    -------
    Slopes
        In the units of x and y.

    Raises
    ------
    ValueError
        As for :func:`fit_line`, or ``level`` outside (0, 1).
    """
    return Slopes(**_core.pairwise_slopes(_column(x), _column(y), level))


def repeated_median(x: npt.ArrayLike, y: npt.ArrayLike) -> RepeatedMedian:
    """Median over readings of the median slope to all others (Siegel, Biometrika 69 (1982) 242).

    Bears misreads in nearly half of the readings; the median of all pairwise slopes bears them in 29 of 100.

    Parameters
    ----------
    x, y : array-like of float
        As for :func:`fit_line`; pairs with equal x are left out.

    Returns
    -------
    RepeatedMedian
        In the units of x and y.

    Raises
    ------
    ValueError
        As for :func:`fit_line`.
    """
    return RepeatedMedian(**_core.repeated_median(_column(x), _column(y)))
