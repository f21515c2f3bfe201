"""Economics against the worked numbers of formulas 7 and 4 (their ids stand here) and the totals in print.

Inputs and answers are rows of the formula reference (``../shared/reference/formulas.md``, worked there); beside a row
its answer is derived once more, by fractions. Prices and totals in print: Modern Tire Dealer's yearly figures of
truck tires; costs per mile and hour: ATRI. A printed number is good to half a unit of its last digit.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from outside import half_a_unit
from wheelend import economics
from wheelend.economics import Life


def printed(text: str) -> object:
    places = len(text.partition(".")[2])
    return pytest.approx(float(text), abs=half_a_unit(places) * (1 + 1e-9))


# ---- 7.1

DRIVE = {"price": 450, "service": 40, "casing": 60, "new": 30, "pull": 6, "miles_per_32nd": 15_000}  # G3
PRICES = {  # Modern Tire Dealer, USD: new tire and retread, and the casing of a retread of 2018
    2010: ("335.52", "209.79"), 2014: ("381.50", "237.48"), 2018: ("", "164.64"),
}  # fmt: skip
CASING_2018 = "57.46"
UNITS = {2014: (17_300_000, 15_700_000), 2018: (0, 14_200_000)}  # sold in those years, the same source
SERVICE = 35  # of each life, G4


def test_cost_per_mile_and_per_32nd() -> None:
    price, service, casing, new, pull, miles = DRIVE.values()
    cost, used = price + service - casing, new - pull
    # G3: drive tire, 24/32 used at 15 000 mi per 32nd
    per_mile = float(economics.cost_per_distance(price, service, casing, used * miles)) * 100
    assert per_mile == printed("0.11944")  # cents
    assert per_mile == pytest.approx(float(Fraction(100 * cost, used * miles)), rel=1e-15)
    per = economics.cost_per_depth(price, service, casing, new, pull)
    assert float(per) == printed("17.9167")
    assert float(per) == pytest.approx(float(Fraction(cost, used)), rel=1e-15)
    # G7: the same tire at 14/32
    left = float(economics.tread_value(per, 14, pull, casing))
    assert left == printed("203.33")
    assert left == pytest.approx(float(Fraction(cost, used) * (14 - pull) + casing), rel=1e-15)
    assert economics.tread_value(per, pull - 1, pull, casing) == casing


def test_life_cost_over_retreads() -> None:
    new = Life(PRICES[2014][0], SERVICE, 26, 14_000)
    retread = Life(PRICES[2018][1], SERVICE, 18, 20_000)
    # G4: new, two retreads, casing worth nothing in the end
    found = economics.life_cost([new, retread, retread])
    assert found.cost == Decimal("815.78")
    assert found.cost == Decimal(PRICES[2014][0]) + 2 * Decimal(PRICES[2018][1]) + 3 * SERVICE
    assert found.distance == 1_084_000
    assert found.distance == 26 * 14_000 + 2 * 18 * 20_000
    assert float(found.per_distance) * 100 == printed("0.07526")
    # G5: sold as a casing after the first life; G6: a retread's life alone
    assert float(economics.life_cost([new], CASING_2018).per_distance) * 100 == printed("0.09864")
    assert float(economics.life_cost([retread]).per_distance) * 100 == printed("0.05546")


def test_present_values() -> None:
    # G8: 450 now, 165 after two and a half and four and a half years, at 8 % a year
    found = float(economics.present_value([450, 165, 165], [0, 2.5, 4.5], 0.08))
    assert found == printed("702.8225")
    assert found == pytest.approx(450 + 165 * 1.08**-2.5 + 165 * 1.08**-4.5, rel=1e-14)
    # G9: 10 000 a month for a year, an annuity: (1 - v^12) / i with i the rate of a month
    months = [m / 12 for m in range(1, 13)]
    year = float(economics.present_value([10_000] * 12, months, 0.08))
    assert year == printed("115128.58")
    month = 1.08 ** (1 / 12) - 1
    assert year == pytest.approx(10_000 * (1 - (1 + month) ** -12) / month, rel=1e-12)


def _bought(*counted: tuple[int, str]) -> Decimal:
    """What so many tires cost that are used up over one mile, nothing else."""
    return sum((economics.life_cost([Life(price, 0, 1, 1)]).cost * n for n, price in counted), Decimal(0))


def test_published_prices_and_totals() -> None:
    # G1: the gap of 2014 as printed. G2: retread by new, of tires that are used up alike
    new, retread = PRICES[2014]
    assert _bought((1, new)) - _bought((1, retread)) == Decimal("144.02")
    for year, ratio in ((2014, "0.6225"), (2010, "0.6253")):
        per_depth = [economics.cost_per_depth(price, 0, 0, 18, 4) for price in PRICES[year]]
        assert float(per_depth[1] / per_depth[0]) == printed(ratio)
    # G10: units times price in billions, as printed: new tires and retreads of 2014, both, retreads of 2018
    for counted, billions in (
        ([(UNITS[2014][0], new)], "6.6"),
        ([(UNITS[2014][1], retread)], "3.7"),
        ([(UNITS[2014][0], new), (UNITS[2014][1], retread)], "10.3"),
        ([(UNITS[2018][1], PRICES[2018][1])], "2.3"),
    ):
        assert float(_bought(*counted)) / 1e9 == printed(billions)


def test_public_cost_level() -> None:
    # ATRI, tires per vehicle mile. AT1: 4.5 cents of 2022 on 100 000 mi
    assert economics.cost_per_distance(4500, 0, 0, 100_000) == Decimal("0.045")
    # AT2: USD 1.81 and 1.65 an hour, at the 39.98 mph that ATRI turns hours into miles with (from memory), are the 4.5
    # and 4.1 cents a mile that it prints
    for hour, cents in (("1.81", "4.5"), ("1.65", "4.1")):
        assert float(economics.cost_per_distance(hour, 0, 0, 39.98)) * 100 == printed(cents)


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
