"""How many replacements come: at one place by a law of lives, of several tires that may be due, and as seen so far.

For studies, on plain numbers: times, ages and distances carry the unit you give them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from wheelend import _core

if TYPE_CHECKING:
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]


def expected_replacements(
    t: npt.ArrayLike,
    *,
    law: Literal["exponential", "weibull", "lognormal", "gamma"] = "weibull",
    scale: float,
    shape: float = 1.0,
    age: float = 0.0,
) -> Floats:
    """Expected replacements in (0, t] at one place, replacements of replacements included (renewal function).

    Parameters
    ----------
    t : array-like of float, any shape
        0 or more.
    law : {"weibull", "exponential", "lognormal", "gamma"}
        Of the lives, which are independent of each other.
    scale, shape : float
        Above 0; as ``scale`` and ``shape`` of :class:`wheelend.lives.LifeFit`: mean of the exponential, scale and shape
        of Weibull and gamma (Erlang where the shape is whole), median and 1 / spread of the logs of the lognormal.
    age : float
        How old the part in place is at 0; 0: new.

    Returns
    -------
    numpy array of the shape of ``t``
        0 or more.

    Raises
    ------
    ValueError
        A number is outside what is said above, or no part lives to ``age`` by this law.

    Notes
    -----
    Exponential, and gamma at age 0: closed form. Else the renewal equation by Stieltjes sums over midpoints (Xie, Comm.
    Statist. Simul. 18 (1989)), extrapolated, to about 1e-9; a Weibull shape below 1 is less exact. For a fleet of mixed
    ages it comes to ``t / mean life`` (formulas 7.7); for one bought together it comes in waves.
    """
    times = np.asarray(t, dtype=np.float64)
    flat = np.ascontiguousarray(times.reshape(-1))
    return _core.expected_renewals(law, float(scale), float(shape), flat, float(age)).reshape(times.shape)


@dataclass(frozen=True)
class CountDistribution:
    """Probability of 0, 1, ..., n: ``pmf[k]`` of exactly k, ``cdf[k]`` of k or fewer, ``sf[k]`` of more than k.

    ``cdf`` and ``sf`` are summed from their own ends, so that both tails keep their digits.
    """

    pmf: Floats

    @property
    def cdf(self) -> Floats:
        """Probability of k or fewer."""
        return np.minimum(np.cumsum(self.pmf), 1.0)

    @property
    def sf(self) -> Floats:
        """Probability of more than k."""
        above = np.cumsum(self.pmf[::-1])[::-1]
        return np.append(np.minimum(above[1:], 1.0), 0.0)

    @property
    def mean(self) -> float:
        """Expected number."""
        return float(np.arange(len(self.pmf)) @ self.pmf)

    @property
    def variance(self) -> float:
        """Variance of the number."""
        return float((np.arange(len(self.pmf)) - self.mean) ** 2 @ self.pmf)

    def quantile(self, p: float) -> int:
        """The least number k with a probability of at least ``p`` that no more than k come.

        Parameters
        ----------
        p : float in (0, 1)
            A level.

        Returns
        -------
        int
            0 or more.

        Raises
        ------
        ValueError
            ``p`` is not between 0 and 1.
        """
        if not 0.0 < p < 1.0:
            raise ValueError(f"p: expected a number between 0 and 1, got {p!r}")
        # From the upper end, where a level near 1 has its digits.
        return int(np.flatnonzero(self.sf <= 1.0 - p)[0])


def count_distribution(p: npt.ArrayLike) -> CountDistribution:
    """How many of several independent events come, exactly: tires due in a month, each with its own probability.

    Parameters
    ----------
    p : array-like of float in [0, 1], one dimension
        Probability of each.

    Returns
    -------
    CountDistribution
        It does not depend on the order of ``p``.

    Raises
    ------
    ValueError
        A value is missing or no probability.

    Notes
    -----
    Poisson-binomial law by convolution: all terms are positive, and nothing is lost to cancellation (as it is by
    Fourier transforms). Time goes with the square of the number. Tires that share their use or their season are not
    independent: their sum is wider (formulas 7.8); ``wheelend demand`` keeps what they share.
    """
    return CountDistribution(_core.count_distribution(np.ascontiguousarray(p, dtype=np.float64)))


@dataclass(frozen=True)
class MeanCumulative:
    """``mean`` number of events per item by each ``time`` at which there was one, and its robust error ``se``.

    ``at_risk``: items watched then; ``events``: how many came at that time.
    """

    time: Floats
    at_risk: Floats
    events: Floats
    mean: Floats
    se: Floats


def mean_cumulative(
    item: npt.ArrayLike,
    time: npt.ArrayLike,
    count: npt.ArrayLike | None = None,
    *,
    end: npt.ArrayLike,
    start: npt.ArrayLike | None = None,
) -> MeanCumulative:
    """Replacements per item by age or distance, from items that were watched for unlike spans.

    Parameters
    ----------
    item : array-like of int
        Which item an event is of: 0 and on, as in ``end``.
    time : array-like of float
        Age or distance of each event.
    count : array-like of float, optional
        How many came together; by default one.
    end, start : array-like of float, one per item
        Item ``i`` was watched over (start, end]; by default from 0.

    Returns
    -------
    MeanCumulative
        One entry per distinct time; it does not depend on the order of the events.

    Raises
    ------
    ValueError
        An event of an item that is none, or outside the span over which it was watched; a span that ends before it
        begins.

    Notes
    -----
    Mean cumulative function (Nelson, J. Quality Technology 20 (1988)); variance by what each item had beyond the mean,
    without a law for how its events follow each other (Lawless and Nadeau, Technometrics 37 (1995)).
    """
    ends = np.ascontiguousarray(end, dtype=np.float64)
    starts = np.zeros(ends.shape) if start is None else np.ascontiguousarray(start, dtype=np.float64)
    items = np.ascontiguousarray(item, dtype=np.int64)
    times = np.ascontiguousarray(time, dtype=np.float64)
    counts = np.ones(items.shape) if count is None else np.ascontiguousarray(count, dtype=np.float64)
    return MeanCumulative(*_core.mean_cumulative(starts, ends, items, times, counts))
