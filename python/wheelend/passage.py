"""First passage: by which exposure does random wear reach its limit? And random wear fitted to readings.

Five models in use in the study of wear, on plain numbers: exposure (distance, hours, cycles) and wear carry the units
that you give them. Probabilities keep their digits in both tails. The normal random line is the one that forecasts of
the fleet rest on; the others are for comparison.
"""

from __future__ import annotations

from dataclasses import astuple, dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from wheelend import _core

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]


class _Passage:
    _model: ClassVar[str]

    def _of(self, function: Callable[[str, list[float], Floats], Floats], values: npt.ArrayLike) -> Floats:
        array = np.asarray(values, dtype=np.float64)
        parameters = [float(p) for p in astuple(self)]  # type: ignore[call-overload]  # every subclass is a dataclass
        flat = function(self._model, parameters, np.ascontiguousarray(array.reshape(-1)))
        return flat.reshape(array.shape)

    def __post_init__(self) -> None:
        self._of(_core.passed_by, [])  # refuses parameters that the model is not defined for

    def reached_by(self, x: npt.ArrayLike) -> Floats:
        """Probability that the limit is reached by exposure ``x``; NaN stays NaN.

        Parameters
        ----------
        x : array-like of float, any shape
            Exposure, from where the limit lies ``distance`` (or ``above``) away.

        Returns
        -------
        numpy array
            Of the shape of ``x``.
        """
        return self._of(_core.passed_by, x)

    def not_reached_by(self, x: npt.ArrayLike) -> Floats:
        """Probability that the limit is not reached by ``x``: 1 less :meth:`reached_by`, exact in its own tail.

        Parameters
        ----------
        x : array-like of float, any shape
            Exposure, from where the limit lies ``distance`` (or ``above``) away.

        Returns
        -------
        numpy array
            Of the shape of ``x``.
        """
        return self._of(_core.not_passed_by, x)

    def quantile(self, p: npt.ArrayLike) -> Floats:
        """Exposure by which the limit is reached with probability ``p``; NaN for p outside (0, 1).

        Parameters
        ----------
        p : array-like of float, any shape
            Probabilities.

        Returns
        -------
        numpy array
            Of the shape of ``p``; infinity where the limit never becomes that likely.
        """
        return self._of(_core.passage_quantile, p)


class _WithDensity(_Passage):
    def density(self, x: npt.ArrayLike) -> Floats:
        """Probability density of the passage at ``x``, per unit of exposure.

        Parameters
        ----------
        x : array-like of float, any shape
            Exposure, from where the limit lies ``distance`` (or ``above``) away.

        Returns
        -------
        numpy array
            Of the shape of ``x``.
        """
        return self._of(_core.passage_density, x)


@dataclass(frozen=True)
class Wiener(_WithDensity):
    """Wear with drift and noise: mean ``drift x``, variance ``volatility^2 x``.

    The passage of ``distance`` is inverse Gaussian with mean ``distance / drift`` and shape ``distance^2 /
    volatility^2`` (Chhikara and Folks 1989). ``volatility`` and ``distance`` above 0, else ValueError; with a drift
    below 0 some paths never arrive.
    """

    drift: float
    volatility: float
    distance: float
    _model: ClassVar[str] = "wiener"


@dataclass(frozen=True)
class GammaProcess(_Passage):
    """Wear that never falls: by ``x`` it is gamma distributed, shape ``shape_rate x`` and ``scale``.

    It passes when it reaches ``distance``. Source: van Noortwijk, Reliab. Eng. Syst. Saf. 94 (2009) 2. All above 0,
    else ValueError.
    """

    shape_rate: float
    scale: float
    distance: float
    _model: ClassVar[str] = "gamma"


@dataclass(frozen=True)
class InverseGaussianProcess(_Passage):
    """Wear that never falls: by ``x`` it is inverse Gaussian, mean ``rate x`` and shape ``shape x^2``.

    It passes when it reaches ``distance``. Source: Wang and Xu, Technometrics 52 (2010) 188. All above 0, else
    ValueError.
    """

    rate: float
    shape: float
    distance: float
    _model: ClassVar[str] = "inverse_gaussian"


@dataclass(frozen=True)
class LognormalRate(_WithDensity):
    """A straight line whose rate differs from item to item: log rate is normal (``log_rate``, ``log_rate_sd``).

    Source: Meeker and Escobar 1998, section 13.5. ``log_rate_sd`` and ``distance`` above 0, else ValueError.
    """

    log_rate: float
    log_rate_sd: float
    distance: float
    _model: ClassVar[str] = "lognormal_rate"


@dataclass(frozen=True)
class NormalLine(_WithDensity):
    """A straight line of which level and rate are jointly normal (Meeker and Escobar 1998, section 13.5).

    ``above`` is what is left to the limit at x = 0, ``rate`` what is lost of it per unit of exposure; ``covariance`` is
    that of the two. Standard errors ``above_se`` and ``rate_se`` 0 or more, the covariance not beyond their product,
    else ValueError. Where the rate may be below 0 the probability of having arrived can fall again; :meth:`quantile`
    then looks at its rise.
    """

    above: float
    above_se: float
    rate: float
    rate_se: float
    covariance: float = 0.0
    _model: ClassVar[str] = "normal_line"


@dataclass(frozen=True)
class WienerWear:
    """Wear with drift and noise, fitted: ``drift``, ``volatility`` of :class:`Wiener`, and the ``log_likelihood``."""

    drift: float
    volatility: float
    log_likelihood: float

    def passage(self, distance: float) -> Wiener:
        """First passage of ``distance`` from where wear starts.

        Parameters
        ----------
        distance : float
            What may wear until the limit, above 0.

        Returns
        -------
        Wiener
        """
        return Wiener(self.drift, self.volatility, distance)


@dataclass(frozen=True)
class GammaWear:
    """Gamma wear, fitted: ``shape_rate`` and ``scale`` of :class:`GammaProcess`, and the ``log_likelihood``."""

    shape_rate: float
    scale: float
    log_likelihood: float

    def passage(self, distance: float) -> GammaProcess:
        """First passage of ``distance`` from where wear starts.

        Parameters
        ----------
        distance : float
            What may wear until the limit, above 0.

        Returns
        -------
        GammaProcess
        """
        return GammaProcess(self.shape_rate, self.scale, distance)


@dataclass(frozen=True)
class InverseGaussianWear:
    """Inverse Gaussian wear, fitted.

    ``rate`` and ``shape`` are those of :class:`InverseGaussianProcess`; ``log_likelihood`` is that of the steps.
    """

    rate: float
    shape: float
    log_likelihood: float

    def passage(self, distance: float) -> InverseGaussianProcess:
        """First passage of ``distance`` from where wear starts.

        Parameters
        ----------
        distance : float
            What may wear until the limit, above 0.

        Returns
        -------
        InverseGaussianProcess
        """
        return InverseGaussianProcess(self.rate, self.shape, distance)


def steps(unit: npt.ArrayLike, x: npt.ArrayLike, wear: npt.ArrayLike) -> tuple[Floats, Floats]:
    """What was run and what was lost between successive readings of each unit.

    Parameters
    ----------
    unit : array-like, one dimension
        Which unit a reading is of.
    x, wear : array-like of float, as long as ``unit``
        Exposure at the reading, and wear (what has been lost) by then.

    Returns
    -------
    tuple of numpy arrays
        Exposure and wear, one entry per step; units in the order of their names.

    Raises
    ------
    ValueError
        Lengths differ.
    """
    names, at, lost = np.asarray(unit), np.asarray(x, dtype=np.float64), np.asarray(wear, dtype=np.float64)
    if not names.shape == at.shape == lost.shape or names.ndim != 1:
        raise ValueError(f"unit, x and wear: expected one length, got {names.shape}, {at.shape}, {lost.shape}")
    number = np.unique(names, return_inverse=True)[1]
    order = np.lexsort((lost, at, number))
    number, at, lost = number[order], at[order], lost[order]
    within = number[1:] == number[:-1]
    return np.diff(at)[within], np.diff(lost)[within]


def _column(values: npt.ArrayLike) -> Floats:
    return np.ascontiguousarray(values, dtype=np.float64)


def fit_wiener(exposure: npt.ArrayLike, wear: npt.ArrayLike) -> WienerWear:
    """Wear with drift and noise by maximum likelihood, one rate for all (closed form; variance with divisor n).

    Parameters
    ----------
    exposure, wear : array-like of float, one dimension, equal length, two or more
        Steps between readings, as :func:`steps` gives them: exposure above 0, wear of any sign.

    Returns
    -------
    WienerWear
        Drift and volatility in the units of the steps.

    Raises
    ------
    ValueError
        Lengths differ, an exposure is not above 0, a value is not finite, or all steps are at one rate.
    """
    return WienerWear(*_core.fit_wiener_wear(_column(exposure), _column(wear)))


def fit_gamma(exposure: npt.ArrayLike, wear: npt.ArrayLike) -> GammaWear:
    """Gamma wear by maximum likelihood, one rate for all (van Noortwijk 2009, section 4).

    Parameters
    ----------
    exposure, wear : array-like of float
        As for :func:`fit_wiener`; wear above 0, so merge steps that show none.

    Returns
    -------
    GammaWear
        Shape per unit of exposure, scale in the unit of wear.

    Raises
    ------
    ValueError
        As for :func:`fit_wiener`, or a step without wear.
    """
    return GammaWear(*_core.fit_gamma_wear(_column(exposure), _column(wear)))


def fit_inverse_gaussian(exposure: npt.ArrayLike, wear: npt.ArrayLike) -> InverseGaussianWear:
    """Inverse Gaussian wear by maximum likelihood, one rate for all (closed form).

    Parameters
    ----------
    exposure, wear : array-like of float
        As for :func:`fit_gamma`.

    Returns
    -------
    InverseGaussianWear
        Rate and shape in the units of the steps.

    Raises
    ------
    ValueError
        As for :func:`fit_gamma`.
    """
    return InverseGaussianWear(*_core.fit_inverse_gaussian_wear(_column(exposure), _column(wear)))
