"""Shares from intervals against published estimates and another library; levels of a forecast and back."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import scipy.stats

from wheelend._backtest._censored import shares
from wheelend._backtest._levels import KNOTS, LEVELS, NO_MAP, day_at, level_at, levels_to_ask, mapped

# Months to cosmetic deterioration after radiotherapy alone, (above, up to], 99: not seen. D. M. Finkelstein and
# R. A. Wolfe, Biometrics 41 (1985) 933-945, from memory; that the eight printed shares come out confirms the rows.
COSMESIS = """
45-99 6-10 0-7 46-99 46-99 7-16 17-99 7-14 37-44 0-8 4-11 15-99 11-15 22-99 46-99 46-99 25-37 46-99 26-40 46-99 27-34
36-44 46-99 36-48 37-99 40-99 17-25 46-99 11-18 38-99 5-12 37-99 0-5 18-99 24-99 36-99 5-11 19-35 17-25 24-99 32-99
33-99 19-26 37-99 34-99 36-99
"""


def test_turnbull_estimate_of_published_intervals() -> None:
    # M. P. Fay and P. A. Shaw, J. Stat. Softw. 36(2) (2010), print of icfit, four places (from memory)
    printed = {
        (4, 5): 0.0463, (6, 7): 0.0334, (7, 8): 0.0887, (11, 12): 0.0708, (24, 25): 0.0926, (33, 34): 0.0818,
        (38, 40): 0.1209, (46, 48): 0.4656,
    }  # fmt: skip
    low, high = np.array([[float(x) for x in pair.split("-")] for pair in COSMESIS.split()]).T
    assert len(low) == 46
    edges = np.unique(np.concatenate([low, high]))
    found = dict(zip(pairwise(edges), shares(low, high, edges), strict=True))
    for cell, share in found.items():
        assert share == pytest.approx(printed.get(cell, 0.0), abs=0.5e-4), cell


def test_turnbull_estimate_of_his_own_example() -> None:
    # B. W. Turnbull, J. Am. Stat. Assoc. 69 (1974) 169-173: deaths, losses after and late entries before times 1 to 4;
    # survival .538 .295 .210 .095 as R's survfit prints it (both from memory)
    deaths, losses, before = (12, 6, 2, 3), (3, 2, 0, 3), (2, 4, 2, 5)
    rows = [(t - 1, t, deaths[t - 1]) for t in range(1, 5)]
    rows += [(t, 5, losses[t - 1]) for t in range(1, 5)] + [(0, t, before[t - 1]) for t in range(1, 5)]
    low, high, count = np.array(rows, float).T
    survival = 1 - np.cumsum(shares(low, high, np.arange(6.0), count))[:4]
    assert survival == pytest.approx([0.538, 0.295, 0.210, 0.095], abs=0.5e-3)


def test_kaplan_meier_estimate_of_a_published_table() -> None:
    # 6-MP arm of E. J. Freireich et al., Blood 21 (1963) 699-716; survival as J. Klein and M. Moeschberger, Survival
    # Analysis (2003), Table 4.1B prints it (they cut the fourth place here and there)
    relapse = [6, 6, 6, 7, 10, 13, 16, 22, 23]
    lost = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]
    low = np.array([t - 1 for t in relapse] + lost, float)
    high = np.array(relapse + [40] * len(lost), float)
    survival = 1 - np.cumsum(shares(low, high, np.arange(41.0)))
    at = [survival[t - 1] for t in (6, 7, 10, 13, 16, 22, 23)]
    assert at == pytest.approx([0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448], abs=0.6e-3)


def test_kaplan_meier_estimate_of_another_library() -> None:
    rng = np.random.default_rng(7)
    time, end = rng.integers(1, 30, 200), rng.integers(1, 30, 200)
    seen = time <= end
    data = scipy.stats.CensoredData(uncensored=time[seen], right=end[~seen])
    other = scipy.stats.ecdf(data).sf.evaluate(np.arange(1, 29))
    ours = shares(np.where(seen, time - 1, end).astype(float), np.where(seen, time, 30).astype(float), np.arange(31.0))
    known = other > other.min()  # beyond the last event the estimate is not determined
    assert (1 - np.cumsum(ours)[:28])[known] == pytest.approx(other[known], abs=1e-5)  # of the iteration


def test_points_and_weights() -> None:
    edges = np.array([0.0, 1.0, 2.0, 4.0])
    point = np.array([0.5, 1.0, 1.5, 3.0])  # on an edge: of the cell below
    assert shares(point, point, edges) == pytest.approx([0.5, 0.25, 0.25])
    low, high = np.array([0.0, 1.0, 0.5]), np.array([1.0, 4.0, 3.0])
    twice = shares(np.append(low, low[1]), np.append(high, high[1]), edges)
    sets = shares(low, high, edges, np.array([[1.0, 2.0, 1.0], [1.0, 1.0, 1.0]]))
    assert sets[0] == pytest.approx(twice, abs=1e-6)
    assert sets[1] == pytest.approx(shares(low, high, edges), abs=1e-6)


def test_what_nothing_tells_apart_is_spread_by_width() -> None:
    assert shares(np.array([0.0]), np.array([4.0]), np.array([0.0, 1.0, 4.0])) == pytest.approx([0.25, 0.75])
    assert np.isnan(shares(np.zeros(0), np.zeros(0), np.array([0.0, 1.0]))).all()


QUANTILES = np.array([[20.0, 30, 55, 90, 140, 210, 260], [0.0, 0, 4, 11, 20, 40, 60], [5.0, 5, 5, 5, 5, 5, 5]])


def test_a_forecast_has_its_quantiles_at_their_levels() -> None:
    for i, level in enumerate(LEVELS):
        assert level_at(QUANTILES[:1], QUANTILES[:1, i]) == pytest.approx([level])
    assert level_at(QUANTILES[:1], np.array([0.0]))[0] == 0.0
    assert level_at(QUANTILES[:1], np.array([np.inf]))[0] == 1.0
    assert level_at(QUANTILES[1:2], np.array([0.0])) == pytest.approx([0.10])  # as much is due already
    assert level_at(QUANTILES[2:], np.array([5.0])) == pytest.approx([0.95])
    days = np.arange(0.0, 900.0, 0.5)
    for row in QUANTILES:
        assert (np.diff(level_at(np.tile(row, (len(days), 1)), days)) >= 0).all()


@pytest.mark.parametrize("level", [0.01, 0.05, 0.07, 0.3, 0.5, 0.93, 0.95, 0.99])
def test_day_at_a_level_is_the_inverse(level: float) -> None:
    day = day_at(QUANTILES[:1], np.array([level]))
    assert level_at(QUANTILES[:1], day) == pytest.approx([level], rel=1e-9)


def test_missing_quantiles_stay_missing() -> None:
    row = np.array([[20.0, 30, 55, 90, 140, np.nan, np.nan]])
    found = [float(day_at(row, np.array([level]))[0]) for level in (0.25, 0.6, 0.75, 0.8, 0.95, 0.97)]
    assert found[0] == pytest.approx(55.0)
    assert found[2] == pytest.approx(140.0)
    assert 90 < found[1] < 140
    assert np.isnan(found[3:]).all()


def test_a_map_and_the_levels_to_ask_undo_each_other() -> None:
    at = np.array([0.10, 0.17, 0.30, 0.45, 0.66, 0.80, 0.86])
    assert mapped(at, levels_to_ask(at)) == pytest.approx(LEVELS)
    assert levels_to_ask(NO_MAP) == pytest.approx(LEVELS)
    assert KNOTS.tolist() == [0, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 1]  # of the data dictionary
