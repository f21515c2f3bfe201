"""What tires cost: per distance and per depth of tread, over their lives, while they run, and when to pull them.

On plain numbers. Money is decimal: amounts are given as ``Decimal``, whole numbers or text (``"381.50"``), a float
stands for its shortest decimal, and what comes back is ``Decimal``, not rounded. An amount carries no currency here:
give amounts of one currency only. Distances and depths carry the unit you give them.

Costs are per tire; published figures of operating cost are often per vehicle and mile. Formulas 7 of the references.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from wheelend.replacements import CountDistribution, count_distribution

if TYPE_CHECKING:
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]

Money = Decimal | int | str | float
_DIGITS = 34  # of a quotient, as IEEE 754 decimal128


def decimal_of(amount: Money) -> Decimal:
    """An amount as the decimal that was written; a float stands for its shortest decimal.

    Parameters
    ----------
    amount : Decimal, int, str or float
        Such as ``"381.50"``.

    Returns
    -------
    Decimal
        Not rounded.

    Raises
    ------
    ValueError
        It is no finite number.
    """
    try:
        found = Decimal(repr(float(amount)) if isinstance(amount, float) else amount)
    except ArithmeticError:
        raise ValueError(f"expected an amount such as '381.50', got {amount!r}") from None
    if not found.is_finite():
        raise ValueError(f"expected a finite amount, got {amount!r}")
    return found


def _above_zero(value: Money, name: str) -> Decimal:
    found = decimal_of(value)
    if found <= 0:
        raise ValueError(f"{name}: expected a number above 0, got {value!r}")
    return found


def _quotient(amount: Decimal, by: Decimal) -> Decimal:
    with localcontext() as context:
        context.prec = _DIGITS
        return amount / by


def cost_per_distance(price: Money, service: Money, casing_credit: Money, distance: Money) -> Decimal:
    """Cost of a life per distance run: (price + service - casing credit) / distance (7.1).

    Parameters
    ----------
    price, service, casing_credit : Money
        What the tire costs, its mounting and care, and what is paid for the casing in the end.
    distance : Money
        Run in that life; above 0.

    Returns
    -------
    Decimal
        Per unit of ``distance``.

    Raises
    ------
    ValueError
        An amount is no finite number, or ``distance`` is not above 0.
    """
    return _quotient(
        decimal_of(price) + decimal_of(service) - decimal_of(casing_credit), _above_zero(distance, "distance")
    )


def cost_per_depth(price: Money, service: Money, casing_credit: Money, new: Money, pull: Money) -> Decimal:
    """Cost of a life per depth of tread used: (price + service - casing credit) / (new - pull) (7.2).

    Parameters
    ----------
    price, service, casing_credit : Money
        As for :func:`cost_per_distance`.
    new, pull : Money
        Depth when new and when pulled, in one unit.

    Returns
    -------
    Decimal
        Per unit of depth.

    Raises
    ------
    ValueError
        An amount is no finite number, or ``new`` is not above ``pull``.
    """
    used = _above_zero(decimal_of(new) - decimal_of(pull), "new - pull")
    return _quotient(decimal_of(price) + decimal_of(service) - decimal_of(casing_credit), used)


@dataclass(frozen=True)
class Life:
    """One life of a casing: its ``price``, ``service``, ``depth_used`` and ``distance_per_depth``."""

    price: Money
    service: Money
    depth_used: Money
    distance_per_depth: Money

    @property
    def distance(self) -> Decimal:
        """Distance run in this life."""
        return _above_zero(self.depth_used, "depth_used") * _above_zero(self.distance_per_depth, "distance_per_depth")

    @property
    def cost(self) -> Decimal:
        """Price and service together."""
        return decimal_of(self.price) + decimal_of(self.service)


@dataclass(frozen=True)
class LifeCost:
    """``cost`` of all lives of a casing, and the ``distance`` that they run."""

    cost: Decimal
    distance: Decimal

    @property
    def per_distance(self) -> Decimal:
        """Cost per unit of distance."""
        return _quotient(self.cost, self.distance)


def life_cost(lives: Iterable[Life], casing_credit: Money = 0) -> LifeCost:
    """Cost of a casing over its lives: new, then retreaded (7.3).

    Parameters
    ----------
    lives : iterable of Life
        The first with the price of the new tire, the others with that of a retread without its casing.
    casing_credit : Money
        What the casing is worth after the last of them. Count it once: here, or as value left, not both.

    Returns
    -------
    LifeCost
        Of the casing over all of its lives.

    Raises
    ------
    ValueError
        No life, or numbers outside what is said above.
    """
    all_lives = list(lives)
    if not all_lives:
        raise ValueError("lives: expected one at least")
    cost = sum((life.cost for life in all_lives), Decimal(0)) - decimal_of(casing_credit)
    return LifeCost(cost, sum((life.distance for life in all_lives), Decimal(0)))


def tread_value(cost_per_depth: Money, depth: Money, pull: Money, casing_value: Money = 0) -> Decimal:
    """What a tire in use is still worth: its tread above the pull depth, and its casing (7.4).

    Parameters
    ----------
    cost_per_depth : Money
        As :func:`cost_per_depth` gives it.
    depth, pull : Money
        Depth now and when pulled. Below the pull depth no tread is left: 0.
    casing_value : Money
        Of the casing as it is.

    Returns
    -------
    Decimal
        In the currency of the amounts.

    Raises
    ------
    ValueError
        A number is not finite.
    """
    left = max(decimal_of(depth) - decimal_of(pull), Decimal(0))
    return decimal_of(cost_per_depth) * left + decimal_of(casing_value)


def present_value(amounts: Sequence[Money], years: Sequence[float], rate: float) -> Decimal:
    """Worth today of amounts to come (7.5): sum of amount / (1 + rate) ** years.

    Parameters
    ----------
    amounts : sequence of Money
        Below 0: what comes in.
    years : sequence of float
        When each is due, from today.
    rate : float
        Effective, per year: 0.08 is 8 %. Above -1.

    Returns
    -------
    Decimal
        Amounts are decimal; the factors are powers and carry 17 digits.

    Raises
    ------
    ValueError
        Lengths differ, or the rate is none.
    """
    if len(amounts) != len(years):
        raise ValueError(f"years: expected length {len(amounts)}, got {len(years)}")
    return sum((decimal_of(a) * growth_factor(rate, -t) for a, t in zip(amounts, years, strict=True)), Decimal(0))


def growth_factor(rate: float, years: float) -> Decimal:
    """(1 + rate) ** years as a decimal of 17 digits: growth of prices, and its reciprocal a discount.

    Parameters
    ----------
    rate : float
        Per year, above -1.
    years : float
        Below 0: a discount.

    Returns
    -------
    Decimal
        Above 0.

    Raises
    ------
    ValueError
        The rate is not above -1, or not finite.
    """
    if not (math.isfinite(rate) and rate > -1.0):
        raise ValueError(f"rate: expected a number above -1 (0.08 is 8 % a year), got {rate!r}")
    return Decimal(repr(float((1.0 + rate) ** years)))


# ---- when to pull


@dataclass(frozen=True)
class PullCosts:
    """Long-run cost per distance by pull depth, and the depth that costs least.

    By ``depth``: share of casings ``accepted``, ``road_calls`` to be expected, ``cost`` of a life and the same
    ``per_distance``. ``excess`` is what each depth costs beyond the least, as a share of it. ``flat_from`` to
    ``flat_to``: depths that cost at most ``flat_within`` more than the best; policy may round up within them at next to
    no cost. ``best`` is never below ``floor``.
    """

    depth: Floats
    accepted: Floats
    road_calls: Floats
    cost: list[Decimal]
    per_distance: list[Decimal]
    floor: float
    flat_within: float

    @property
    def allowed(self) -> npt.NDArray[np.bool_]:
        """Which depths are not below ``floor``."""
        return self.depth >= self.floor

    @property
    def best(self) -> float:
        """The allowed depth that costs least; of equal ones the deeper."""
        rates = [(rate, -depth) for rate, depth, fine in self._rows() if fine]
        return -min(rates)[1]

    @property
    def excess(self) -> Floats:
        """Cost per distance beyond that of ``best``, as a share of it."""
        least = min(rate for rate, _, fine in self._rows() if fine)
        return np.array(
            [float(_quotient(rate - least, abs(least))) if least else math.nan for rate in self.per_distance]
        )

    @property
    def flat_from(self) -> float:
        """The least allowed depth that costs at most ``flat_within`` more than the best."""
        return float(self.depth[self.allowed & (self.excess <= self.flat_within)].min())

    @property
    def flat_to(self) -> float:
        """The largest such depth."""
        return float(self.depth[self.allowed & (self.excess <= self.flat_within)].max())

    def _rows(self) -> list[tuple[Decimal, float, bool]]:
        return list(zip(self.per_distance, self.depth.tolist(), self.allowed.tolist(), strict=True))


def accepted_casings(depth: npt.ArrayLike, *, most: float = 0.95, half: float = 3.0, width: float = 0.8) -> Floats:
    """Share of casings that a retreader accepts, by the depth at which they were pulled.

    Parameters
    ----------
    depth : array-like of float
        In 32nds.
    most, half, width : float
        Of a logistic curve: share of casings pulled early, depth at which it is half of that, and how fast it goes.
        The defaults are **illustrative inputs, not published** (formulas 7.2): put your retreader's in their place.

    Returns
    -------
    numpy array of float
        0 to 1.
    """
    return most / (1.0 + np.exp(-(np.asarray(depth, np.float64) - half) / width))


def road_calls_down_to(depth: npt.ArrayLike, new: float, *, at_six: float = 0.02, width: float = 1.5) -> Floats:
    """Road calls to be expected of one tire while it wears down to a depth: the sum over its 32nds.

    Parameters
    ----------
    depth : array-like of float
        Whole 32nds.
    new : float
        Depth when new, 32nds.
    at_six, width : float
        Calls while the 32nd at 6/32 in wears, and how fast they grow below. The defaults are **illustrative inputs, not
        published** (formulas 7.2): put your own road calls in their place.

    Returns
    -------
    numpy array of float
        0 or more.
    """
    depths = np.asarray(depth, np.float64)
    return np.array(
        [sum(at_six * math.exp((6.0 - j) / width) for j in np.arange(d, new)) for d in depths.reshape(-1)]
    ).reshape(depths.shape)


def pull_costs(
    depths: Sequence[float],
    *,
    price: Money,
    service: Money,
    casing_value: Money,
    road_call: Money,
    new: float,
    distance_per_depth: float,
    accepted: Callable[[Floats], Floats] = accepted_casings,
    road_calls: Callable[[Floats, float], Floats] = road_calls_down_to,
    floor: float = 0.0,
    flat_within: float = 0.01,
) -> PullCosts:
    """Cost per distance by the depth at which tires are pulled, and the best of them (7.6, renewal-reward).

    Deeper pulls waste tread; shallower ones lose casings and meet road calls.

    Parameters
    ----------
    depths : sequence of float
        To compare; below ``new``.
    price, service, casing_value, road_call : Money
        Of a new tire, of mounting and care, of an accepted casing, of one road call.
    new : float
        Depth when new.
    distance_per_depth : float
        Run per unit of depth.
    accepted : function of depths
        Share of casings accepted. The default is illustrative: see :func:`accepted_casings`.
    road_calls : function of depths and new
        Expected per tire. The default is illustrative: see :func:`road_calls_down_to`.
    floor : float
        Depth below which no tire may run: the legal minimum and a guard band for the error of reading (formulas 9).
    flat_within : float
        Share of extra cost that counts as flat.

    Returns
    -------
    PullCosts
        In the order of ``depths``.

    Raises
    ------
    ValueError
        No depth at or above ``floor``, a depth not below ``new``, or a number outside what is said above.
    """
    at = np.asarray(depths, np.float64)
    if not ((at >= floor) & (at < new)).any() or not (at < new).all():
        raise ValueError("depths: expected depths below new, one at least not below floor")
    per_depth = _above_zero(distance_per_depth, "distance_per_depth")
    shares, calls = accepted(at), road_calls(at, new)
    costs = [
        decimal_of(price)
        + decimal_of(service)
        - decimal_of(float(q)) * decimal_of(casing_value)
        + decimal_of(float(h)) * decimal_of(road_call)
        for q, h in zip(shares, calls, strict=True)
    ]
    rates = [
        _quotient(cost, (decimal_of(float(new)) - decimal_of(float(d))) * per_depth)
        for cost, d in zip(costs, at, strict=True)
    ]
    return PullCosts(at, shares, calls, costs, rates, floor, flat_within)


# ---- wrong inflation


# Life lost per 1 % under target, and where it ends: 20 % under, 30 % less life, a maker's statement (just-auto
# interview); the straight line between is this project's (formulas 4). No standard error was published: half to one and
# a half of it is taken as the span, a choice.
LIFE_LOST_PER_PERCENT = 1.5
LIFE_LOST_SPAN = (0.75, 2.25)
MOST_PERCENT_UNDER = 20.0
# Fuel, all tires 10 psi low: 0.5 to 1.0 % more (NACFE). Field test of keeping pressures, 2008-2010: 1.4 % less fuel
# (FMCSA).
FUEL_SHARE_10_PSI = (0.005, 0.010)
FUEL_SHARE_KEPT = 0.014


def life_lost(percent_under: npt.ArrayLike, *, per_percent: float = LIFE_LOST_PER_PERCENT) -> Floats:
    """Share of tread life lost by running under the cold target.

    Parameters
    ----------
    percent_under : array-like of float
        Percent below target; 0 or less: at or above it, nothing is lost. Missing stays NaN.
    per_percent : float
        Percent of life per 1 % under. The default rests on **one maker's statement** (20 % under, 30 % less life); it
        ends at 20 % under. Try ``LIFE_LOST_SPAN`` too.

    Returns
    -------
    numpy array of float
        0 to 1.
    """
    under = np.clip(np.asarray(percent_under, np.float64), 0.0, MOST_PERCENT_UNDER)
    return np.minimum(under * per_percent / 100.0, 1.0)


def fuel_cost(distance: Money, distance_per_volume: Money, price: Money) -> Decimal:
    """Cost of fuel: distance / (distance per volume) * price.

    Parameters
    ----------
    distance, distance_per_volume, price : Money
        E.g. miles, miles per gallon, and money per gallon.

    Returns
    -------
    Decimal
        In the currency of ``price``.

    Raises
    ------
    ValueError
        A number is not finite, or ``distance_per_volume`` not above 0.
    """
    return _quotient(decimal_of(distance) * decimal_of(price), _above_zero(distance_per_volume, "distance_per_volume"))


# ---- how many, when


def steady_demand(positions: float, distance_per_month: float, distance_per_life: float) -> float:
    """Replacements per month of a fleet of mixed ages (7.7): positions * distance per month / distance per life.

    Parameters
    ----------
    positions, distance_per_month, distance_per_life : float
        The last above 0.

    Returns
    -------
    float
        A fleet bought together comes in waves instead: see :func:`wheelend.replacements.expected_replacements`.

    Raises
    ------
    ValueError
        ``distance_per_life`` is not above 0.
    """
    return positions * distance_per_month / float(_above_zero(distance_per_life, "distance_per_life"))


@dataclass(frozen=True)
class DueCounts:
    """Chance of each tire to be due in each month (``p``, tires by months), and what follows for their number.

    All of it holds for tires that are independent of each other: see :func:`due_counts`.
    """

    p: Floats

    @property
    def mean(self) -> Floats:
        """Expected number due in each month."""
        return np.asarray(self.p.sum(axis=0))

    @property
    def variance(self) -> Floats:
        """Variance of it."""
        return np.asarray((self.p * (1.0 - self.p)).sum(axis=0))

    def distribution(self, month: int) -> CountDistribution:
        """Exact distribution of how many are due in a month.

        Parameters
        ----------
        month : int
            From 1.

        Returns
        -------
        CountDistribution
            Of 0, 1, ... tires.
        """
        return count_distribution(self.p[:, month - 1])


def months_left(
    remaining: npt.ArrayLike, wear_per_month: npt.ArrayLike, *, depth_sd: float, rate_cv: float
) -> tuple[Floats, Floats]:
    """Months until each tire is due, and their standard errors (7.9).

    Parameters
    ----------
    remaining, wear_per_month : array-like of float
        Depth above the limit, and depth worn per month; above 0.
    depth_sd : float
        Error of the depth, in its unit.
    rate_cv : float
        Error of the wear rate as a share of it.

    Returns
    -------
    (array of float, array of float)
        Months, and their standard errors.
    """
    left, rate = np.asarray(remaining, np.float64), np.asarray(wear_per_month, np.float64)
    months = left / rate
    return months, months * np.sqrt((depth_sd / left) ** 2 + rate_cv**2)


def due_counts(months: npt.ArrayLike, se: npt.ArrayLike, horizon: int) -> DueCounts:
    """How many of the tires in use are due in each month, each normal about its forecast (7.8).

    Parameters
    ----------
    months, se : array-like of float
        As :func:`months_left` gives them.
    horizon : int
        Months to look ahead. What is overdue falls into the first.

    Returns
    -------
    DueCounts
        For tires independent of each other. They are not where one forecast of use drives all: ``wheelend demand``
        keeps what they share, and counts replacements of replacements.
    """
    at, error = np.asarray(months, np.float64), np.asarray(se, np.float64)
    normal = NormalDist()
    by = np.array([[normal.cdf((m - t) / s) for m in range(1, horizon + 1)] for t, s in zip(at, error, strict=True)])
    return DueCounts(np.diff(by, axis=1, prepend=0.0))
