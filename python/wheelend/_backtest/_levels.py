"""Seven quantiles as a distribution: its level at a day, its day at a level, and maps of levels."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wheelend import _core

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]

LEVELS = np.array(_core.quantile_levels)
MEDIAN = 3  # of the seven
_TOP = len(LEVELS) - 1
_FLAT = 1e-9  # least span of a tail in log: keeps a forecast without spread from dividing by zero


def _odds(level: Numbers) -> Numbers:
    return np.log(level / (1.0 - level))


def _tail_slope(x: Numbers) -> Numbers:
    """Log-odds per log day above the last quantile: as from the median to the last."""
    return (_odds(LEVELS[_TOP]) - _odds(LEVELS[MEDIAN])) / np.maximum(x[:, _TOP] - x[:, MEDIAN], _FLAT)


def level_at(quantiles: Numbers, day: Numbers) -> Numbers:
    """Level of the forecast at a day: at the quantiles exactly, between them straight in log-odds over log (1 + day).

    ``quantiles``: shape (n, 7), days from 0, not falling, none missing. ``day``: shape (n,), from 0, inf allowed. Below
    the first quantile the level falls straight to 0 at day 0; where quantiles are equal the highest level counts.
    """
    x, at = np.log1p(quantiles), np.log1p(day)
    odds = _odds(LEVELS)
    below = (quantiles <= day[:, None]).sum(axis=1)  # how many of the seven
    i = np.clip(below, 1, _TOP)
    row = np.arange(len(x))
    low, high = x[row, i - 1], x[row, i]
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        share = (at - low) / (high - low)
        inner = odds[i - 1] + share * (odds[i] - odds[i - 1])
        outer = odds[_TOP] + np.where(np.isinf(at), np.inf, (at - x[:, _TOP]) * _tail_slope(x))
        level = 1.0 / (1.0 + np.exp(-np.where(below > _TOP, outer, inner)))
        lower = LEVELS[0] * np.where(x[:, 0] > 0, at / x[:, 0], 1.0)
    out: Numbers = np.where(below == 0, lower, level)
    return out


def day_at(quantiles: Numbers, level: Numbers) -> Numbers:
    """Day at a level of each row: the inverse of :func:`level_at`. NaN where the quantile beside it is missing."""
    x, odds = np.log1p(quantiles), _odds(LEVELS)
    i = np.clip(np.searchsorted(LEVELS, level, side="left"), 1, _TOP)
    row = np.arange(len(x))
    with np.errstate(invalid="ignore", over="ignore"):
        share = (_odds(level) - odds[i - 1]) / (odds[i] - odds[i - 1])
        inner = np.where(share == 1.0, x[row, i], x[row, i - 1] + share * (x[row, i] - x[row, i - 1]))
        outer = x[:, _TOP] + (_odds(level) - odds[_TOP]) / _tail_slope(x)
        lower = x[:, 0] * level / LEVELS[0]
        at = np.where(level < LEVELS[0], lower, np.where(level > LEVELS[_TOP], outer, inner))
        out: Numbers = np.expm1(at)
    return out


# ---- maps of levels: G(level) is the share of outcomes that came true at or below that level of the forecast


NO_MAP = np.array(LEVELS)
KNOTS = np.concatenate([[0.0], LEVELS, [1.0]])


def _with_ends(mapped: Numbers) -> Numbers:
    return np.concatenate([[0.0], mapped, [1.0]])


def mapped(at_levels: Numbers, level: Numbers) -> Numbers:
    """G at any level, straight between the seven."""
    return np.interp(level, KNOTS, _with_ends(at_levels))


def levels_to_ask(at_levels: Numbers) -> Numbers:
    """For each of the seven levels the one of the forecast at which that share of the outcomes came true."""
    out: Numbers = np.interp(LEVELS, _with_ends(at_levels), KNOTS)
    return out
