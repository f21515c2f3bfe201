"""Economics against the worked numbers of formulas 7 and 4 (their ids stand here) and the totals in print.

A printed number is good to half a unit of its last digit.
"""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from outside import half_a_unit
from wheelend import economics
from wheelend.economics import Life


def printed(text: str) -> object:
    places = len(text.partition(".")[2])
    return pytest.approx(float(text), abs=half_a_unit(places) * (1 + 1e-9))


# ---- 7.1


def test_cost_per_mile_and_per_32nd() -> None:
    # G3: drive tire, 450 + 40 - 60, 24/32 used at 15 000 mi per 32nd
    assert float(economics.cost_per_distance(450, 40, 60, 24 * 15_000)) * 100 == printed("0.11944")  # cents
    assert float(economics.cost_per_depth(450, 40, 60, 30, 6)) == printed("17.9167")
    # G7: the same tire at 14/32, pulled at 6/32, casing 60
    per = economics.cost_per_depth(450, 40, 60, 30, 6)
    assert float(economics.tread_value(per, 14, 6, 60)) == printed("203.33")
    assert economics.tread_value(per, 5, 6, 60) == 60


def test_life_cost_over_retreads() -> None:
    new = Life("381.50", 35, 26, 14_000)
    retread = Life("164.64", 35, 18, 20_000)
    # G4: new, two retreads, 35 of service for each life, casing worth nothing in the end
    found = economics.life_cost([new, retread, retread])
    assert found.cost == Decimal("815.78")
    assert found.distance == 1_084_000
    assert float(found.per_distance) * 100 == printed("0.07526")
    # G5: sold as a casing after the first life; G6: a retread's life alone
    assert float(economics.life_cost([new], "57.46").per_distance) * 100 == printed("0.09864")
    assert float(economics.life_cost([retread]).per_distance) * 100 == printed("0.05546")


def test_present_values() -> None:
    # G8 and G9
    assert float(economics.present_value([450, 165, 165], [0, 2.5, 4.5], 0.08)) == printed("702.8225")
    months = [m / 12 for m in range(1, 13)]
    assert float(economics.present_value([10_000] * 12, months, 0.08)) == printed("115128.58")


def test_published_prices_and_totals() -> None:
    # Modern Tire Dealer: G1 gap of 2014, G2 price ratios, G10 units times price in billions as printed
    assert Decimal("381.50") - Decimal("237.48") == Decimal("144.02")
    assert float(Decimal("237.48") / Decimal("381.50")) == printed("0.6225")
    assert float(Decimal("209.79") / Decimal("335.52")) == printed("0.6253")
    for units, price, billions in (
        ("17300000", "381.50", "6.6"),
        ("15700000", "237.48", "3.7"),
        ("14200000", "164.64", "2.3"),
    ):
        assert float(economics.decimal_of(units) * economics.decimal_of(price)) / 1e9 == printed(billions)
    both = Decimal(17_300_000) * Decimal("381.50") + Decimal(15_700_000) * Decimal("237.48")
    assert float(both) / 1e9 == printed("10.3")


def test_public_cost_level() -> None:
    # ATRI, per vehicle mile. AT1: 4.5 cents on 100 000 mi. AT2: USD 1.81/h at 4.5 cents, and 1.65 at 4.1
    assert economics.cost_per_distance(4500, 0, 0, 100_000) == Decimal("0.045")
    assert float(economics.decimal_of("1.81") / economics.decimal_of("0.045")) == printed("40.222")
    assert float(economics.decimal_of("1.65") / economics.decimal_of("0.041")) == printed("40.244")


# ---- 7.2

ILLUSTRATIVE = {
    8: ("0.94817", "0.01082", "373.2305", "4.66538"),  # O1
    6: ("0.92817", "0.04109", "393.9912", "4.10408"),  # O2
    5: ("0.87793", "0.08004", "423.8948", "4.07591"),  # O3, the least
    4: ("0.73843", "0.15592", "487.5538", "4.35316"),  # O4
    3: ("0.47500", "0.30370", "610.4690", "5.08724"),  # O5
}


def pulled(depths: list[float], **how: float) -> economics.PullCosts:
    return economics.pull_costs(
        depths, price=450, service=40, casing_value=130, road_call=600, new=18, distance_per_depth=8000, **how
    )


def test_cost_by_pull_depth() -> None:
    found = pulled([float(d) for d in ILLUSTRATIVE])
    for i, wanted in enumerate(ILLUSTRATIVE.values()):
        numbers = (found.accepted[i], found.road_calls[i], found.cost[i], found.per_distance[i] * 1000)
        assert [float(n) for n in numbers] == [printed(w) for w in wanted]
    assert found.best == 5
    # "5 and 6 differ by 0.7 %"
    assert found.excess[1] * 100 == printed("0.7")
    assert (found.flat_from, found.flat_to) == (5, 6)


def test_no_pull_depth_below_the_floor_is_best() -> None:
    # Steer: 4/32 by 49 CFR 393.75(b), and a guard band of 2/32 for the error of reading
    found = pulled([float(d) for d in ILLUSTRATIVE], floor=6)
    assert (found.best, found.flat_from, found.flat_to) == (6, 6, 6)
    assert found.excess[2] < 0  # 5/32 would cost less, and is not allowed
    with pytest.raises(ValueError, match="floor"):
        pulled([3, 4], floor=6)


# ---- 7.3


def test_steady_demand() -> None:
    # N1 to N4
    steer = economics.steady_demand(200, 10_000, 14 * 8000)
    drive = economics.steady_demand(800, 10_000, 24 * 15_000)
    trailer = economics.steady_demand(2400, 4000, 12 * 20_000)
    assert [steer, drive, trailer, steer + drive + trailer] == [
        printed(t) for t in ("17.8571", "22.2222", "40.0000", "80.0794")
    ]


def test_tires_due_by_month() -> None:
    wear = [1.0, 1.25, 0.8, 1.1, 1.5]
    months, se = economics.months_left([2, 3, 1, 4.5, 6], wear, depth_sd=0.30, rate_cv=0.08)
    assert list(months) == [printed(t) for t in ("2.0000", "2.4000", "1.2500", "4.0909", "4.0000")]  # N5
    assert list(se) == [printed(t) for t in ("0.34000", "0.30735", "0.38810", "0.42601", "0.37736")]  # N6
    found = economics.due_counts(months, se, 6)
    assert list(found.mean) == [printed(t) for t in ("0.2614", "1.3085", "1.4122", "0.9334", "1.0640", "0.0204")]  # N7
    assert found.mean.sum() == printed("5.0000")
    assert list(found.variance[:3]) == [printed(t) for t in ("0.1939", "0.5416", "0.3923")]  # N8
    # N9: the error on distance
    miles, error = economics.months_left([6.0], [1.0 / 10_000], depth_sd=0.30, rate_cv=0.08)
    assert (miles[0], error[0]) == (pytest.approx(60_000), printed("5660.39"))
    # The exact distribution of a month has that mean and that variance
    third = found.distribution(3)
    assert (third.mean, third.variance) == (pytest.approx(found.mean[2]), pytest.approx(found.variance[2]))


# ---- 4


def test_life_and_fuel_lost_by_wrong_inflation() -> None:
    # I1 and I2: the maker's statement (20 % under, 30 % less life) as a straight line, ended at 20 %
    found = economics.life_lost([10, 20, 35, 0, -8, np.nan])
    assert found == pytest.approx([0.15, 0.30, 0.30, 0.0, 0.0, np.nan], nan_ok=True)
    # I3: 100 000 mi a year, 6.5 mpg, USD 4 a gallon
    year = economics.fuel_cost(100_000, "6.5", 4)
    assert float(year) == printed("61538.46")
    low, high = economics.FUEL_SHARE_10_PSI
    shares = (low, high, economics.FUEL_SHARE_KEPT)
    assert [float(year) * s for s in shares] == [printed(t) for t in ("307.69", "615.38", "861.54")]


# ---- decimals and bad calls


def test_amounts_are_decimals() -> None:
    assert economics.decimal_of(0.1) + economics.decimal_of(0.2) == Decimal("0.3")
    assert economics.life_cost([Life(0.1, 0.2, 1, 1)]).cost == Decimal("0.3")


def test_bad_calls_of_economics_are_refused() -> None:
    for words, call in {
        "381.50": lambda: economics.decimal_of("a lot"),
        "finite": lambda: economics.decimal_of(float("nan")),
        "distance: expected": lambda: economics.cost_per_distance(1, 0, 0, 0),
        "new - pull": lambda: economics.cost_per_depth(1, 0, 0, 4, 4),
        "one at least": lambda: economics.life_cost([]),
        "length": lambda: economics.present_value([1], [], 0.1),
        "rate": lambda: economics.growth_factor(-1.0, 2),
        "distance_per_volume": lambda: economics.fuel_cost(1, 0, 1),
        "distance_per_life": lambda: economics.steady_demand(1, 1, 0),
        "below new": lambda: pulled([18.0]),
    }.items():
        with pytest.raises(ValueError, match=words):
            call()
