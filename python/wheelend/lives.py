"""Lives that are known exactly, only to lie between two inspections, or only to exceed what was run so far.

For studies, on plain numbers: lives carry the unit you give them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
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
