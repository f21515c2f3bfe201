"""What the knowing forecaster makes of the odometer: distance between inspections, and the use to come.

It knows the spreads, the season, the week and the chain of idle days of the process, not the level and drift of a unit.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wheelend.simulate._chance import WEEK, at_work, season, share_at_work
from wheelend.simulate._process import Process
from wheelend.simulate._units import Unit
from wheelend.simulate._use import Calendar, usual_miles

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]
    Whole = npt.NDArray[np.int64]

_GRID = 3.5 * np.linspace(-1, 1, 31)  # of level and drift, in their standard deviations
_LOG_SHARE = np.linspace(-4.0, 0.6, 461)  # of days at work against the mean share
_LONGEST_DAYS = 420
_PATHS = 3000
_SMOOTHING = 0.03  # of log shares: what the drift within an interval adds
_LEAST_DENSITY = 1e-4
_LEAST_MILES = 1.0  # between two inspections, so that a logarithm can be taken
_SHORTEST_INTERVAL = WEEK
_JITTER = 1e-6  # variance that keeps a covariance invertible


class IdleDays:
    """Share of days at work against its mean: density of its log over some days, covariance between weeks."""

    def __init__(self, process: Process, kind: str, weeks: int, rng: np.random.Generator) -> None:
        """Tabulate by weeks, the density from simulated chains."""
        self.covariance = _idle_covariance(process, kind, weeks)
        mean = share_at_work(process, kind)
        days = np.stack([at_work(rng, _LONGEST_DAYS, process, kind) for _ in range(_PATHS)])
        worked = np.cumsum(days, axis=1)
        step = _LOG_SHARE[1] - _LOG_SHARE[0]
        reach = np.arange(-15, 16) * step
        kernel = np.exp(-0.5 * (reach / _SMOOTHING) ** 2)
        self._log_density = []
        for weeks in range(1, _LONGEST_DAYS // WEEK + 1):
            share = worked[:, weeks * WEEK - 1] / (weeks * WEEK)
            at = np.clip(np.log(np.maximum(share, 1e-3) / mean), _LOG_SHARE[0], _LOG_SHARE[-1])
            counts = np.bincount(np.rint((at - _LOG_SHARE[0]) / step).astype(int), minlength=len(_LOG_SHARE))
            density = np.convolve(counts, kernel / kernel.sum(), mode="same") / (_PATHS * step)
            self._log_density.append(np.log(density + _LEAST_DENSITY))

    def log_density(self, log_share: Numbers, days: int) -> Numbers:
        """Log density at log shares, of an interval of `days`."""
        weeks = min(max(round(days / WEEK), 1), len(self._log_density))
        return np.asarray(np.interp(log_share, _LOG_SHARE, self._log_density[weeks - 1]), float)


@dataclass(frozen=True)
class Blocks:
    """The record of a unit cut at each inspection, fitting and turn of an axle.

    ``edges`` are days; ``base`` the usual miles of each block; ``of_week`` the share of each week in a block's base;
    ``season`` the log of its season in wear.
    """

    edges: Whole
    base: Numbers
    of_week: Numbers
    season: Numbers


def cut_blocks(process: Process, unit: Unit, calendar: Calendar, edges: Whole) -> Blocks:
    """Blocks between edges."""
    a_day = usual_miles(process, unit, calendar) * share_at_work(process, unit.kind)
    wear = np.exp(season(calendar.day_of_year, process.wear_season, process.wear_peak_day))
    day = np.arange(edges[-1])
    block = np.searchsorted(edges, day, side="right") - 1
    n = len(edges) - 1
    base = np.asarray(np.bincount(block, a_day[day], minlength=n), float)
    of_week = np.zeros((n, calendar.week[edges[-1]] + 1))
    np.add.at(of_week, (block, calendar.week[day]), a_day[day])
    worn = np.bincount(block, a_day[day] * wear[day], minlength=n)
    return Blocks(edges, base, of_week / base[:, None], np.log(worn / base))


def drift_covariance(weeks: int, sd: float, relaxation_days: float) -> Numbers:
    """Covariance between weeks of a stationary Ornstein-Uhlenbeck process."""
    lag = np.abs(np.subtract.outer(np.arange(weeks), np.arange(weeks)))
    return np.asarray(sd**2 * np.exp(-WEEK * lag / relaxation_days), float)


def _idle_covariance(process: Process, kind: str, weeks: int) -> Numbers:
    """Covariance between weeks of the share of days at work, against its mean."""
    short, long = process.idle_short_per_day[kind], process.idle_long_per_day[kind]
    chain = np.array(
        [
            [1 - short - long, short, long],
            [1 / process.idle_short_days, 1 - 1 / process.idle_short_days, 0.0],
            [1 / process.idle_long_days, 0.0, 1 - 1 / process.idle_long_days],
        ]
    )
    mean = share_at_work(process, kind)
    stays, power = [], np.eye(3)
    for _ in range((weeks + 1) * WEEK):
        stays.append(mean * (power[0, 0] - mean))
        power = power @ chain
    by_lag = np.array(stays)
    between = np.subtract.outer(np.arange(WEEK), np.arange(WEEK))
    of_lag = [by_lag[np.abs(WEEK * w + between)].mean() for w in range(weeks)]
    lag = np.abs(np.subtract.outer(np.arange(weeks), np.arange(weeks)))
    return np.asarray(np.array(of_lag)[lag] / mean**2, float)


@dataclass(frozen=True)
class Speed:
    """Level and drift of a unit's use on a day: mean and covariance, from its odometer up to then."""

    day: int
    mean: Numbers
    covariance: Numbers


def speed_from(process: Process, idle: IdleDays, base: Numbers, days: Whole, miles: Numbers) -> Speed:
    """Level and drift after a row of odometer readings.

    `days` and `miles` of the readings; `base` the usual miles up to each day of the record, days that stand included.
    A grid over both; the drift goes half an interval, the share of days at work is weighed, it goes the other half.
    """
    level, slow = process.use_level_sd * _GRID, process.use_drift_sd * _GRID
    chance = np.exp(-0.5 * _GRID**2)
    chance = np.outer(chance, chance)
    for i in range(1, len(days)):
        length = int(days[i] - days[i - 1])
        usual = base[days[i]] - base[days[i - 1]]
        log_run = np.log(max(miles[i] - miles[i - 1], _LEAST_MILES) / usual)
        half = _step(length / 2, process.use_drift_days)
        like = idle.log_density(log_run - level[:, None] - slow, length)
        chance = (chance @ half) * np.exp(like - like.max())
        chance = (chance / chance.sum()) @ half
    chance /= chance.sum()
    of_level, of_slow = chance.sum(axis=1), chance.sum(axis=0)
    mean = np.array([of_level @ level, of_slow @ slow])
    dl, ds = level - mean[0], slow - mean[1]
    cross = dl @ chance @ ds
    covariance = np.array([[of_level @ dl**2, cross], [cross, of_slow @ ds**2]])
    return Speed(int(days[-1]) if len(days) else 0, mean, covariance)


def _step(days: float, relaxation_days: float) -> Numbers:
    """Chance of going from one point of the grid to another within some days."""
    memory = np.exp(-days / relaxation_days)
    scale = np.sqrt(1 - memory**2)
    chance: Numbers = np.exp(-0.5 * ((_GRID - memory * _GRID[:, None]) / scale) ** 2)
    return np.asarray(chance / chance.sum(axis=1, keepdims=True), float)


@dataclass(frozen=True)
class Exposure:
    """What is known of the exposure of each block before a tire is looked at, and of how it goes on.

    The exposure of a block is ``mean * exp(shared) * (1 + own)``: ``shared_variance`` of what all blocks share,
    ``covariance`` of their own shares. ``end_mean, end_covariance`` of level, drift of use and severity at as_of;
    ``between`` shared plus own of the blocks (rows) and those three.
    """

    mean: Numbers
    shared_variance: float
    covariance: Numbers
    end_mean: Numbers
    end_covariance: Numbers
    between: Numbers


def exposure_before_wear(
    process: Process, idle_days: IdleDays, blocks: Blocks, days: Whole, miles: Numbers, speed: Speed
) -> Exposure:
    """Join odometer, drift, idle days and severity into one distribution of exposures."""
    weeks = blocks.of_week.shape[1]
    w = blocks.of_week
    idle = w @ idle_days.covariance[:weeks, :weeks] @ w.T
    since = np.arange(weeks) - speed.day / WEEK
    memory = np.where(since >= 0, np.exp(-WEEK * np.abs(since) / process.use_drift_days), 0.0)
    # Before the odometer's last reading nothing but the stationary drift; after it what has come anew since.
    fresh = drift_covariance(weeks, process.use_drift_sd, process.use_drift_days)
    fresh -= process.use_drift_sd**2 * np.outer(memory, memory)
    fresh[np.not_equal.outer(since >= 0, since >= 0)] = 0.0
    of_speed = np.column_stack([np.ones(len(w)), w @ memory])
    use = of_speed @ speed.covariance @ of_speed.T + w @ fresh @ w.T + idle
    mean = np.log(blocks.base) + of_speed @ speed.mean + np.diag(use - idle) / 2  # of a log-normal
    known = np.zeros(len(w), bool)
    for i in range(1, len(days)):
        at = np.flatnonzero((blocks.edges[:-1] >= days[i - 1]) & (blocks.edges[1:] <= days[i]))
        known[at] = True
        share = blocks.base[at] / blocks.base[at].sum()
        mean[at] = np.log(np.maximum(miles[i] - miles[i - 1], _LEAST_MILES) * share)
        split = use[np.ix_(at, at)]
        gained = split @ share
        use[at] = 0.0
        use[:, at] = 0.0
        use[np.ix_(at, at)] = split - np.outer(gained, gained) / (share @ gained)
    severity = drift_covariance(weeks, process.severity_sd, process.severity_days)
    to_end = np.column_stack(
        [
            of_speed @ speed.covariance @ np.array([1.0, 0.0]),
            of_speed @ speed.covariance @ np.array([0.0, memory[-1]]) + w @ fresh[:, -1],
        ]
    )
    to_end[known] = 0.0
    keep = np.diag([1.0, memory[-1]])
    end = np.zeros((3, 3))
    end[:2, :2] = keep @ speed.covariance @ keep
    end[1, 1] += fresh[-1, -1]
    end[2, 2] = process.severity_sd**2
    covariance = use + w @ severity @ w.T + _JITTER * np.eye(len(w))
    shared = 1 / float(np.linalg.inv(covariance).sum())  # the most that the rest stays a covariance without
    return Exposure(
        mean=np.exp(mean + blocks.season + process.severity_sd**2 / 2 - shared / 2),
        shared_variance=shared,
        covariance=covariance - shared + _JITTER * np.eye(len(w)),
        end_mean=np.append(keep @ speed.mean, 0.0),
        end_covariance=end,
        between=np.column_stack([to_end, w @ severity[:, -1]]),
    )


def future_use(
    process: Process, unit: Unit, calendar: Calendar, as_of: int, draws: int, rng: np.random.Generator
) -> Numbers:
    """Usual exposure of each coming week at level 0, by draw: the idle days are drawn, the season is known."""
    weeks = (calendar.days - as_of) // WEEK
    days = as_of + np.arange(weeks * WEEK)
    wear = season(calendar.day_of_year[days], process.wear_season, process.wear_peak_day)
    a_day = usual_miles(process, unit, calendar)[days] * np.exp(wear)
    works = np.stack([at_work(rng, len(days), process, unit.kind) for _ in range(draws)])
    return np.asarray((works * a_day).reshape(draws, weeks, WEEK).sum(axis=2), float)


def long_intervals(days: Whole) -> Whole:
    """Which odometer readings to keep so that no two are nearer than a week."""
    kept: list[int] = []
    for i, day in enumerate(days.tolist()):
        if not kept or day - days[kept[-1]] >= _SHORTEST_INTERVAL:
            kept.append(i)
    return np.array(kept, np.int64)
