"""How far the forecasts were right: coverage with its width, bias and error, and the map that would put them right."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wheelend._backtest import _censored
from wheelend._backtest._cases import Cases
from wheelend._backtest._levels import KNOTS, LEVELS, MEDIAN, NO_MAP, mapped

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]
    Whole = npt.NDArray[np.int64]

# Readings at the cut: name, fewest, most. The last is all together.
GROUPS = (("1", 1, 1), ("2", 2, 2), ("3-6", 3, 6), ("7+", 7, 2**31), ("all", 1, 2**31))
ALL = len(GROUPS) - 1
_PARTS = 40  # of the units, for the widths: fewer are enough for a standard error
_FOLDS = 5
_Z = 1.959964  # normal, 95 %
# Tires seen to reach their limit that weigh as much as the forecast's own word: tried on simulated fleets.
PRIOR_TIRES = 20.0


@dataclass(frozen=True)
class Share:
    """A share with its interval at 95 %; NaN where unknown."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Score:
    """Of one group of forecasts."""

    forecasts: int
    events: int
    units: int
    tires: int  # seen at their limit
    coverage_50: Share
    coverage_90: Share
    before_p50: Share
    followed_to: float
    bias_days: float
    error_days: float
    recalibrated_50: float
    recalibrated_90: float
    at_levels: Numbers


def in_group(cases: Cases, group: int) -> npt.NDArray[np.bool_]:
    _, least, most = GROUPS[group]
    return (cases.readings >= least) & (cases.readings <= most)


def _tires_seen(cases: Cases) -> int:
    """Tires seen at their limit: several forecasts of one tire are not several witnesses."""
    return len(np.unique(cases.tire[cases.seen]))


# ---- distribution of the levels at which the outcomes came true


def _cumulated(cases: Cases, weight: Numbers | None = None) -> Numbers:
    """Share of outcomes up to each of the seven levels, by set of weights."""
    return np.cumsum(_censored.shares(cases.low, cases.high, KNOTS, weight), axis=-1)[..., :-1]


def at_levels(cases: Cases) -> Numbers:
    """Share of the outcomes that came true up to each of the seven levels; NaN without cases."""
    return _cumulated(cases)


def _covers(at: Numbers) -> Numbers:
    """Shares within 50 %, within 90 %, and before the median, from the shares up to the seven levels."""
    top = len(LEVELS) - 1
    return np.stack([at[..., MEDIAN + 1] - at[..., MEDIAN - 1], at[..., top] - at[..., 0], at[..., MEDIAN]], axis=-1)


def _parts(cases: Cases, most: int) -> tuple[Whole, int]:
    """Units dealt in the order of their names to at most so many parts: part of each case, number of parts."""
    _, number = np.unique(cases.unit, return_inverse=True)
    parts = min(most, int(number.max()) + 1) if number.size else 0
    return number % max(parts, 1), parts


def _shares(cases: Cases) -> list[Share]:
    """The three shares with intervals.

    The standard error leaves out one part of the units after the other (delete-a-group jackknife: P. S. Kott, J. Off.
    Stat. 17 (2001) 521-526); the interval is Wilson's (J. Am. Stat. Assoc. 22 (1927) 209-212) for the number of
    independent cases that would have this error, at most that of the tires seen at their limit.
    """
    value = _covers(at_levels(cases))
    part, parts = _parts(cases, _PARTS)
    if parts < 2:
        return [Share(float(v), np.nan, np.nan) for v in value]
    without = _covers(_cumulated(cases, (part[None, :] != np.arange(parts)[:, None]).astype(np.float64)))
    error = np.sqrt((parts - 1) / parts * ((without - value) ** 2).sum(axis=0))
    return [_wilson(float(v), float(e), _tires_seen(cases)) for v, e in zip(value, error, strict=True)]


def _wilson(p: float, error: float, most: int) -> Share:
    n = min(p * (1 - p) / error**2, float(most)) if error > 1e-9 else float(most)
    n = max(n, 1.0)
    middle = (p + _Z**2 / (2 * n)) / (1 + _Z**2 / n)
    half = _Z / (1 + _Z**2 / n) * np.sqrt(max(p * (1 - p), 0.0) / n + _Z**2 / (4 * n**2))
    return Share(p, max(float(middle - half), 0.0), min(float(middle + half), 1.0))


def _followed_to(cases: Cases) -> float:
    """The highest level up to which any forecast was followed; above it nothing speaks against its own word."""
    known = np.where(cases.seen, cases.high, cases.low)
    return float(known.max()) if known.size else np.nan


# ---- maps


def map_of(cases: Cases) -> list[Numbers]:
    """A map of levels for each group: the shares up to the seven levels, leaning on all, and all on none.

    The weight of a map against the one it leans on is the number of tires seen at their limit against PRIOR_TIRES.
    """
    of_all = _leaning(cases, NO_MAP)
    return [of_all if g == ALL else _leaning(cases.of(in_group(cases, g)), of_all) for g in range(len(GROUPS))]


def _leaning(cases: Cases, on: Numbers) -> Numbers:
    tires = _tires_seen(cases)
    return (tires * at_levels(cases) + PRIOR_TIRES * on) / (tires + PRIOR_TIRES) if tires else on


def put_right(cases: Cases, maps: list[Numbers]) -> Cases:
    """The cases by the levels of the recalibrated forecast."""
    low, high = cases.low.copy(), cases.high.copy()
    for g in range(ALL):
        rows = in_group(cases, g)
        low[rows], high[rows] = mapped(maps[g], cases.low[rows]), mapped(maps[g], cases.high[rows])
    return replace(cases, low=low, high=high)


def cross_fitted(cases: Cases) -> Cases | None:
    """Every unit's cases put right by a map that its own cases had no part in; None for a single unit."""
    fold, folds = _parts(cases, _FOLDS)
    if folds < 2:
        return None
    low, high = cases.low.copy(), cases.high.copy()
    for f in range(folds):
        held_out = fold == f
        right = put_right(cases.of(held_out), map_of(cases.of(~held_out)))
        low[held_out], high[held_out] = right.low, right.high
    return replace(cases, low=low, high=high)


def scores(cases: Cases) -> list[Score]:
    """One score per group."""
    maps, right = map_of(cases), cross_fitted(cases)
    out = []
    for g in range(len(GROUPS)):
        rows = in_group(cases, g)
        out.append(_score(cases.of(rows), right.of(rows) if right is not None else None, maps[g]))
    return out


def _score(cases: Cases, right: Cases | None, at: Numbers) -> Score:
    seen = cases.seen
    off = (cases.median - cases.middle)[seen]
    any_seen = bool(seen.any())
    coverage_50, coverage_90, before = _shares(cases) if any_seen else [Share(np.nan, np.nan, np.nan)] * 3
    again = _covers(at_levels(right)) if right is not None and any_seen else np.full(3, np.nan)
    return Score(
        forecasts=len(cases.unit),
        events=int(seen.sum()),
        units=len(np.unique(cases.unit)),
        tires=_tires_seen(cases),
        coverage_50=coverage_50,
        coverage_90=coverage_90,
        before_p50=before,
        followed_to=_followed_to(cases),
        bias_days=float(np.median(off)) if any_seen else np.nan,
        error_days=float(np.median(np.abs(off))) if any_seen else np.nan,
        recalibrated_50=float(again[0]),
        recalibrated_90=float(again[1]),
        at_levels=at,
    )
