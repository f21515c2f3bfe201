"""Lines, powers and robust slopes against published numbers and the formula reference, sections 5 and 9.

What `test_reference.py` holds already (rows 1, 4, 20, 21; T2 to T11, W1 to W5, ME16, ME17, ME19) is not repeated.
``abs`` tolerances are half a unit of the last printed digit; relative ones are those of the reference file.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import scipy.stats

from outside import column, expected, half_a_unit, table
from wheelend import _core, lines

# ---- row 3: wear of sliding metal, a power law per specimen


def test_power_law_per_specimen_and_where_it_reaches_the_limit() -> None:
    rows, want = table("metal_sliding_wear"), expected("metal_sliding_wear")
    assert len(want["per_unit"]) == 12
    for unit in want["per_unit"]:
        own = [row for row in rows if int(row["unit"]) == unit["unit"]]
        assert {float(row["load_g"]) for row in own} == {unit["load_g"]}
        # log wear = a + b log cycles, natural logs
        x, y = np.log(column(own, "cycles")), np.log(column(own, "wear_um"))
        line = lines.fit_line(x, y)
        assert line.n == 8
        assert (line.intercept, line.slope) == pytest.approx((unit["a"], unit["b"]), rel=want["rtol"])
        assert line.residual_sd == pytest.approx(unit["residual_sd"], rel=want["rtol"])
        crossing = unit["log_crossing"]
        found = lines.where_reaches(
            x, y, math.log(want["limit_um"]), level=crossing["level"], mean_response=crossing["mean_response"]
        )
        assert found.status == "bounded"
        theirs = [crossing[name] for name in ("estimate", "lower", "upper", "wald_se")]
        assert [found.at, found.low, found.high, found.se] == pytest.approx(theirs, rel=want["rtol"])
        # exp magnifies: 1e-9 of a log near 15 is 1.5e-8 of the cycles
        assert math.exp(found.at) == pytest.approx(unit["cycles_to_limit"], rel=want["rtol"] * found.at)


# ---- row 20: intercepts of the repeated median


@pytest.mark.parametrize("name", ["sen_1968", "sen_1968_95", "tread_with_one_misread"])
def test_intercepts_of_the_repeated_median(name: str) -> None:
    every = expected("robust_slopes")
    data, want = every["sen_1968" if name == "sen_1968_95" else name], every[name]
    found = lines.repeated_median(data["x"], data["y"])
    theirs = [want[f"repeated_median_{which}"] for which in ("slope", "intercept_hierarchical", "intercept_separate")]
    ours = [found.slope, found.intercept_of_residuals, found.intercept_of_pairs]
    assert ours == pytest.approx(theirs, rel=every["rtol"])


@pytest.mark.parametrize("seed", range(6))
def test_repeated_median_against_scipy(seed: int) -> None:
    rng = np.random.default_rng(seed)
    x = np.round(rng.uniform(0, 12, 25)) if seed % 2 else rng.uniform(0, 90, 25)  # with ties, and without
    y = 18 - 0.1 * x + rng.standard_t(2, 25)
    found = lines.repeated_median(x, y)
    for method, ours in (("hierarchical", found.intercept_of_residuals), ("separate", found.intercept_of_pairs)):
        theirs = scipy.stats.siegelslopes(y, x, method=method)
        assert (found.slope, ours) == pytest.approx((theirs.slope, theirs.intercept), rel=1e-12)


def test_repeated_median_bears_misreads_in_nearly_half() -> None:
    # Breakdown point 1/2 (Siegel 1982). Of 25 readings 11 may lie anywhere: each of the other 14 has then 13 of its 24
    # slopes along the line, so that both medians are on it.
    x = np.arange(25.0)
    y = 18 - 0.1 * x
    y[:11] += np.linspace(50, 90, 11)
    assert lines.repeated_median(x, y).slope == pytest.approx(-0.1, abs=1e-12)
    assert abs(lines.pairwise_slopes(x, y).slope + 0.1) > 0.1


# ---- sections 5.3, 5.5, 5.6: wear lines

MILES = [0, 4, 8, 12, 16, 20, 24, 28, 32]  # thousands; textbook example (Tamhane, Dunlop 2000), from memory
DEPTH = [394.33, 329.50, 291.00, 255.17, 229.33, 204.83, 179.00, 163.83, 150.33]  # mil


def test_textbook_wear_line_without_its_break_in_and_on_logs() -> None:
    found = lines.fit_line(MILES, DEPTH)
    assert found.slope / found.se_slope == pytest.approx(-11.8621, abs=half_a_unit(4))  # T4
    t = scipy.stats.t.ppf(0.975, found.df)
    limits = (found.slope - t * found.se_slope, found.slope + t * found.se_slope)
    assert limits == pytest.approx((-8.7320, -5.8293), abs=half_a_unit(4))  # T5
    logs = lines.fit_line(MILES, np.log(DEPTH))
    assert (logs.intercept, logs.r_squared) == pytest.approx((5.925953, 0.992881), abs=half_a_unit(6))  # T7
    assert logs.slope == pytest.approx(-0.02977203, abs=half_a_unit(8))
    later = lines.fit_line(MILES[1:], DEPTH[1:])
    assert later.intercept == pytest.approx(340.18, abs=half_a_unit(4))  # T9
    assert (later.slope, later.r_squared) == pytest.approx((-6.378125, 0.974789), abs=half_a_unit(6))
    first, last = lines.fit_line(MILES[:2], DEPTH[:2]), lines.fit_line(MILES[-2:], DEPTH[-2:])
    assert (first.slope, last.slope) == pytest.approx((-16.2075, -3.3750), rel=1e-12)  # T8, exact


def test_the_study_that_readme_shows() -> None:
    text = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    block = text.partition("## For studies")[2].partition("```python\n")[2].partition("```")[0]
    assert block.count("\n") <= 10
    found: dict[str, Any] = {}
    exec(block, found)
    assert (found["miles"], found["depth"]) == (MILES, DEPTH)
    # What its comments say: the textbook's results as printed (from memory), and T10
    line = found["line"]
    said = (f"{line.intercept:.2f} - {-line.slope:.3f} x", f"R2 {line.r_squared:.3f}")
    assert said == ("360.64 - 7.281 x", "R2 0.953")
    assert (found["straight"].at, found["curved"].at) == pytest.approx((40.949, 60.150), abs=half_a_unit(3))
    for words in (*said, "at 40.9 thousand", "at 60.2"):
        assert words in block


CANDIDATE = [330.0, 324.1, 318.9, 312.6, 307.5, 301.4, 296.2, 290.5, 284.8]  # mil; data invented for the check
MONITORS = [
    [318.0, 311.5, 305.2, 298.3, 292.4, 285.6, 279.5, 272.8, 266.5],
    [318.0, 311.2, 304.6, 298.5, 291.7, 285.3, 278.6, 272.4, 265.6],
    [317.0, 310.9, 304.3, 297.6, 291.5, 284.7, 278.6, 272.2, 265.4],
    [319.0, 312.1, 305.9, 299.2, 292.6, 286.5, 279.7, 273.1, 267.0],
]


def test_wear_of_a_candidate_tire_and_its_monitors() -> None:
    miles = 0.8 * np.arange(9)  # thousands: 49 CFR 575.104, a reading every 800 mi
    found = lines.fit_line(miles, CANDIDATE)  # U1
    assert found.intercept == pytest.approx(329.88, abs=half_a_unit(4))
    assert (found.slope, found.r_squared) == pytest.approx((-7.045833, 0.999791), abs=half_a_unit(6))
    assert found.residual_sd == pytest.approx(0.23885, abs=half_a_unit(5))
    rates = [-lines.fit_line(miles, depth).slope for depth in MONITORS]  # U2
    assert rates == pytest.approx([8.04583, 8.15, 8.05833, 8.12708], abs=half_a_unit(5))


def tires() -> tuple[np.ndarray, np.ndarray]:
    """Life in thousands of miles by loss of weight and by groove depth (Stichler, Richey, Mandel 1953)."""
    rows = table("tire_tread_life_two_methods")  # in hundreds of miles
    return column(rows, "weight") / 10, column(rows, "center_groove") / 10


def test_two_ways_to_estimate_the_same_wear() -> None:
    weight, groove = tires()
    assert (weight.sum(), groove.sum()) == pytest.approx((450.5, 377.6), abs=1e-9)  # R1
    assert _core.moments(weight) == pytest.approx((28.15625, 9.525542), abs=half_a_unit(6))  # R2
    assert _core.moments(groove) == pytest.approx((23.6, 7.941620), abs=half_a_unit(6))
    mean, sd = _core.moments(weight - groove)  # R4
    assert (mean, sd) == pytest.approx((4.55625, 3.225517), abs=half_a_unit(6))
    assert mean / (sd / 4) == pytest.approx(5.65026, abs=half_a_unit(5))
    assert (mean - 1.96 * sd, mean + 1.96 * sd) == pytest.approx((-1.7658, 10.8783), abs=half_a_unit(4))  # R8
    one, other = lines.fit_line(weight, groove), lines.fit_line(groove, weight)
    assert (one.intercept, one.residual_sd) == pytest.approx((1.350586, 2.620780), abs=half_a_unit(6))  # R6
    assert (one.slope, one.r_squared) == pytest.approx((0.7902123, 0.8983565), abs=half_a_unit(7))
    assert (other.intercept, other.residual_sd) == pytest.approx((1.326480, 3.143483), abs=half_a_unit(6))  # R7
    assert other.slope == pytest.approx(1.1368547, abs=half_a_unit(7))
    assert math.sqrt(one.slope * other.slope) == pytest.approx(0.9478167, abs=half_a_unit(7))  # R3, Pearson


# ---- section 9.2: error of a wear rate from n equally spaced readings


@pytest.mark.parametrize(("n", "factor", "se", "percent"), [
    (3, 1.414214, 0.21263, 6.804), (4, 1.341641, 0.20172, 6.455), (5, 1.264911, 0.19018, 6.086),
    (6, 1.195229, 0.17970, 5.751), (8, 1.080123, 0.16240, 5.197), (12, 0.919866, 0.13830, 4.426),
])  # fmt: skip
def test_error_of_a_rate_from_equally_spaced_readings(n: int, factor: float, se: float, percent: float) -> None:
    # ME9 to ME14; the ratio of the slope's error to that of a reading does not depend on the readings
    x, span = np.linspace(0, 60, n), 60.0
    y = 500 - 3.125 * x + np.random.default_rng(n).normal(0, 9, n)
    found = lines.fit_line(x, y)
    ratio = found.se_slope / found.residual_sd
    assert ratio * span == pytest.approx(factor, abs=half_a_unit(6))
    rounding = 31.25 / math.sqrt(12)  # mil: a step of 1/32 in
    assert ratio * rounding == pytest.approx(se, abs=half_a_unit(5))
    assert 100 * ratio * rounding / 3.125 == pytest.approx(percent, abs=half_a_unit(3))
    if n == 5:  # ME15: span in thousand miles for a relative error
        for relative, wanted in ((0.05, 73.03), (0.10, 36.51), (0.20, 18.26)):
            assert ratio * span * rounding / (relative * 3.125) == pytest.approx(wanted, abs=half_a_unit(2))


# ---- sections 9.3, 9.4: the distance at which a line reaches the limit

X, Y = [0, 15, 30, 45, 60], [31.25 * depth for depth in (18, 16, 15, 13, 12)]  # thousand miles, mil


def test_limits_of_the_distance_by_the_delta_method() -> None:
    found = lines.where_reaches(X, Y, 125.0, level=0.95)
    t = float(scipy.stats.t.ppf(0.975, 3))
    assert t == pytest.approx(3.18245, abs=half_a_unit(5))  # printed beside ME18
    delta = (found.at - t * found.se, found.at + t * found.se)
    assert delta == pytest.approx((114.6486, 161.3514), abs=half_a_unit(4))  # ME18
    assert found.low - delta[0] > 4  # those by inversion (ME19) lie later on both sides
    assert found.high - delta[1] > 6


def test_slope_that_is_none_has_no_limits() -> None:
    # ME19 says when: G = t^2 s^2 / (b^2 Sxx) of 1 or more. G is 0.0450132 here, so that G = 1 where errors are
    # 1 / sqrt(0.0450132) = 4.713 times as large.
    line = lines.fit_line(X, Y)
    straight = line.intercept + line.slope * np.array(X)
    for times, status in ((4.71, "bounded"), (4.72, "unbounded")):
        noisy = straight + times * (np.array(Y) - straight)
        assert lines.where_reaches(X, noisy, 125.0, level=0.95).status == status


def test_a_bias_moves_the_date_and_not_the_rate() -> None:
    # ME20: 1/32 in at 10 000 mi per 32nd is 10 000 mi
    biased: Any = np.array(Y) + 31.25
    assert lines.fit_line(X, biased).slope == pytest.approx(lines.fit_line(X, Y).slope, rel=1e-12)
    moved = lines.where_reaches(X, biased, 125.0).at - lines.where_reaches(X, Y, 125.0).at
    assert moved == pytest.approx(10.0, rel=1e-12)


def test_line_through_the_origin_refuses_what_it_cannot_fit() -> None:
    with pytest.raises(ValueError, match="away from zero"):
        lines.fit_through_origin([0.0, 0.0], [1.0, 2.0])
