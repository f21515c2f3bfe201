"""Numbers made elsewhere: certified values, printed examples, closed forms, and other libraries.

Expected values come from tests/reference (see ORIGIN.md there), from the reference folder beside the checkout, or are
written here with their source. ``abs`` tolerances are half a unit of the last digit that the source prints; relative
ones are those that the reference file states (``rtol``) and are named where they are not.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
import scipy.stats

import wheelend
from outside import SHARED, column, expected, half_a_unit, table
from wheelend import _core, lines, measures

FAHRENHEIT_OF_15_C = 59.0
SEA_LEVEL_PA = 101325.0  # standard atmosphere, ISO 2533


def check_line(found: lines.Line, want: dict[str, Any], rtol: float) -> None:
    for name in ("n", "intercept", "slope", "se_intercept", "se_slope", "residual_sd", "df", "r_squared"):
        assert getattr(found, name) == pytest.approx(want[name], rel=rtol), name


def check_reach(found: lines.Reach, want: dict[str, Any], rtol: float) -> None:
    assert found.status == "bounded"
    for ours, theirs in (("at", "estimate"), ("low", "lower"), ("high", "upper"), ("se", "wald_se")):
        if theirs in want:
            assert getattr(found, ours) == pytest.approx(want[theirs], rel=rtol), ours


# ---- row 1: fifteen lasers, degradation to a limit (Meeker, Escobar 1998)


@pytest.fixture
def lasers() -> tuple[dict[str, Any], Callable[[int, float], tuple[np.ndarray, np.ndarray]]]:
    rows, want = table("laser_degradation"), expected("laser_degradation")

    def path(unit: int, until: float = math.inf) -> tuple[np.ndarray, np.ndarray]:
        own = [r for r in rows if int(r["unit"]) == unit and float(r["hours"]) <= until]
        return column(own, "hours"), column(own, "increase")

    return want, path


def test_laser_lines_and_crossings(lasers: Any) -> None:
    want, path = lasers
    assert len(want["per_unit"]) == 15
    for unit in want["per_unit"]:
        x, y = path(unit["unit"])
        check_line(lines.fit_line(x, y), unit, want["rtol_ols"])
        for name, mean in (("crossing", True), ("crossing_new_reading", False)):
            found = lines.where_reaches(x, y, want["limit_percent"], level=want["level"], mean_response=mean)
            check_reach(found, unit[name], want["rtol_ols"])


def test_laser_crossings_are_the_fifteen_printed_integers(lasers: Any) -> None:
    want, path = lasers
    units = [unit["unit"] for unit in want["per_unit"]]
    found = [round(lines.where_reaches(*path(unit), 10.0).at) for unit in units]
    # Simple degradation analysis of Meeker and Escobar (1998); the integers are from memory and confirmed elsewhere.
    printed = [3702, 4194, 5847, 6172, 5301, 3592, 6051, 6538, 5110, 3306, 5326, 4995, 4721, 5689, 6102]
    assert found == printed == want["published_pseudo_failure_hours"]


def test_laser_forecast_from_the_first_half(lasers: Any) -> None:
    want, path = lasers
    early = want["from_readings_up_to_2000_h"]
    assert len(early) == 15
    for unit in early:
        x, y = path(unit["unit"], until=2000.0)
        for name, mean in (("path", True), ("new_reading", False)):
            found = lines.where_reaches(x, y, 10.0, level=want["level"], mean_response=mean)
            check_reach(found, unit[name], want["rtol_ols"])


# ---- row 4: sixteen real tires, groove depth against weight (NBS Handbook 91)


@pytest.fixture
def tires() -> tuple[np.ndarray, np.ndarray, dict[str, Any]]:
    rows = table("tire_tread_life_two_methods")
    return column(rows, "weight"), column(rows, "center_groove"), expected("tire_tread_life_two_methods")


def test_tire_life_line(tires: Any) -> None:
    weight, groove, want = tires
    check_line(lines.fit_line(weight, groove), want["groove_on_weight"], want["rtol"])
    check_line(lines.fit_line(groove, weight), want["weight_on_groove"], want["rtol"])
    printed = lines.fit_line(weight, groove)  # NBS Handbook 91, from memory: 13.506 and 0.790212
    assert printed.intercept == pytest.approx(13.506, abs=half_a_unit(3))
    assert printed.slope == pytest.approx(0.790212, abs=half_a_unit(6))


def test_tire_life_intervals_at_four_points(tires: Any) -> None:
    weight, groove, want = tires
    points = want["groove_on_weight"]["at"]
    assert len(points) == 4
    for point in points:
        for name, mean in (("mean_interval", True), ("prediction_interval", False)):
            found = lines.value_at(weight, groove, point["x"], level=0.95, mean_response=mean)
            assert found == pytest.approx((point["fit"], *point[name]), rel=want["rtol"])


def test_tire_life_inverse_prediction(tires: Any) -> None:
    weight, groove, want = tires
    for case in want["inverse_prediction"]:
        found = lines.where_reaches(
            weight, groove, case["y0"], level=case["level"], mean_response=case["mean_response"]
        )
        check_reach(found, case, want["rtol"])


def test_tire_life_through_the_origin(tires: Any) -> None:
    weight, groove, want = tires
    found = _core.fit_through_origin(weight, groove)
    for ours, theirs in (("slope", "slope"), ("se_slope", "se"), ("residual_sd", "residual_sd")):
        assert found[ours] == pytest.approx(want["through_origin"][theirs], rel=want["rtol"])


# ---- row 20: robust slopes


def check_slopes(x: Any, y: Any, want: dict[str, Any], rtol: float) -> None:
    found = lines.pairwise_slopes(x, y, level=want["level"])
    assert found.pairs == want["pairs"]
    assert found.slope == pytest.approx(want["slope"], rel=rtol)
    assert found.intercept_of_medians == pytest.approx(want["intercept_median_y_minus_slope_median_x"], rel=rtol)
    assert found.intercept_of_residuals == pytest.approx(want["intercept_median_of_residuals"], rel=rtol)
    assert (found.low, found.high) == pytest.approx((want["slope_low"], want["slope_high"]), rel=rtol)
    repeated = lines.repeated_median(x, y)
    assert repeated.slope == pytest.approx(want["repeated_median_slope"], rel=rtol)


@pytest.mark.parametrize("name", ["sen_1968", "sen_1968_95", "tread_with_one_misread"])
def test_robust_slopes(name: str) -> None:
    want = expected("robust_slopes")
    data = want["sen_1968" if name == "sen_1968_95" else name]
    check_slopes(data["x"], data["y"], want[name], want["rtol"])


@pytest.mark.parametrize("name", ["tires_groove_on_weight", "tires_weight_on_groove"])
def test_robust_slopes_of_real_tires(name: str, tires: Any) -> None:
    weight, groove, _ = tires
    want = json.loads((SHARED / "robust_slopes.expected.json").read_text(encoding="utf-8"))
    x, y = (weight, groove) if name == "tires_groove_on_weight" else (groove, weight)
    check_slopes(x, y, want[name], want["rtol"])


def test_sens_example_has_the_printed_slope() -> None:
    data = expected("robust_slopes")["sen_1968"]
    found = lines.pairwise_slopes(data["x"], data["y"], level=0.93)
    # Sen 1968, from memory: slope 4, limits 26/7 and 35/8; least squares 4.02
    assert (found.slope, found.low, found.high) == pytest.approx((4.0, 26 / 7, 35 / 8), rel=1e-15)
    assert lines.fit_line(data["x"], data["y"]).slope == pytest.approx(4.02, abs=half_a_unit(2))


def test_one_misread_moves_the_robust_slopes_little() -> None:
    data = expected("robust_slopes")["tread_with_one_misread"]
    assert lines.fit_line(data["x"], data["y"]).slope == pytest.approx(data["least_squares_slope"], rel=1e-12)


# ---- row 21: where a line reaches a value, answers printed in a textbook (Graybill, Iyer)


def test_inverse_prediction_printed_in_a_textbook() -> None:
    want = expected("inverse_prediction")
    assert len(want["cases"]) == 3
    for case in want["cases"]:
        found = lines.where_reaches(
            case["x"], case["y"], case["y0"], level=case["level"], mean_response=case["mean_response"]
        )
        check_reach(found, case["computed"], want["rtol"])
        for ours, theirs in (("at", "estimate"), ("low", "lower"), ("high", "upper")):
            printed = case["printed"][theirs]
            places = len(repr(printed).partition(".")[2])
            assert getattr(found, ours) == pytest.approx(printed, abs=half_a_unit(places)), (case["name"], theirs)


# ---- row 28: exact factors (NIST SP 811 Appendix B, Handbook 44 Appendix C)

OURS = {
    "in_to_mm": ("in", "mm"),
    "thirtysecond_in_to_mm": ("32nds", "mm"),
    "mile_to_km": ("mi", "km"),
    "lb_to_kg": ("lb", "kg"),
    "psi_to_kPa": ("psi", "kpa"),
    "bar_to_psi": ("bar", "psi"),
    "mil_per_1000mi_to_mm_per_1000km": ("mil_per_1000mi", "mm_per_1000km"),
    "thirtysecond_in_per_1000mi_to_mm_per_1000km": ("32nds_per_1000mi", "mm_per_1000km"),
}
TO_SI = {"psi_to_Pa": "psi", "delta_degF_to_K": "degf"}  # factor of the table itself, offsets apart
NOT_CARRIED = {"lbf_to_N", "kgf_per_cm2_to_kPa", "lbf_ft_to_N_m", "atm_to_psi", "US_gal_to_L", "short_ton_to_kg"}


def test_every_factor_of_the_reference_is_carried_or_known_not_to_be() -> None:
    assert {row["conversion"] for row in table("unit_factors")} == set(OURS) | set(TO_SI) | NOT_CARRIED


@pytest.mark.parametrize("name", [*OURS, *TO_SI])
def test_unit_factor(name: str) -> None:
    row = next(r for r in table("unit_factors") if r["conversion"] == name)
    exact = Fraction(int(row["numerator"]), int(row["denominator"]))
    known = measures.table()
    if name in TO_SI:
        ours = known[TO_SI[name]]
        assert Fraction(ours.numerator, ours.denominator) == exact
        return
    source, target = (known[label] for label in OURS[name])
    ratio = Fraction(source.numerator, source.denominator) / Fraction(target.numerator, target.denominator)
    assert ratio == exact
    found = measures.convert(np.array([1.0]), *OURS[name])[0]
    assert abs(found - float(row["value"])) <= 2 * math.ulp(float(row["value"]))  # tolerance of the file


# ---- row 29: standard atmosphere


def test_standard_atmosphere_against_the_printed_table() -> None:
    rows = table("standard_atmosphere")
    assert len(rows) == 7
    for row in rows:
        found = _core.standard_pressure_pa(_core.geopotential_m(float(row["altitude_m"])))
        # five digits are printed: U.S. Standard Atmosphere 1976; the last column is the closed form in 50 digits
        assert found == pytest.approx(float(row["printed_Pa"]), rel=5e-5)
        assert found == pytest.approx(float(row["computed_Pa"]), rel=1e-10)


# A1-A6 of the formula reference, section 1.4: computed there, six and five digits printed
ALTITUDES = [
    (0.0, 101325.0, 14.6959, 0.0),
    (500.0, 95460.8, 13.8454, 0.8505),
    (1000.0, 89874.6, 13.0352, 1.6607),
    (1609.344, 83427.6, 12.1001, 2.5958),
    (2000.0, 79495.2, 11.5298, 3.1661),
    (3000.0, 70108.5, 10.1684, 4.5276),
]


@pytest.mark.parametrize(("metres", "pascals", "psi", "rise"), ALTITUDES)
def test_pressure_at_altitude(metres: float, pascals: float, psi: float, rise: float) -> None:
    found = _core.standard_pressure_pa(metres)
    assert found == pytest.approx(pascals, abs=half_a_unit(1))
    assert measures.convert(np.array([found / 1000]), "kpa", "psi")[0] == pytest.approx(psi, abs=half_a_unit(4))
    up = _core.at_reference_psi(100.0, FAHRENHEIT_OF_15_C, FAHRENHEIT_OF_15_C, SEA_LEVEL_PA, found)
    assert up - 100.0 == pytest.approx(rise, abs=half_a_unit(4))


def test_published_pressure_at_1000_m() -> None:
    # An aerospace toolbox manual prints 8.9875e4 Pa at 1000 m (five digits).
    assert _core.standard_pressure_pa(1000.0) == pytest.approx(8.9875e4, abs=0.5)


def test_tire_carried_up_and_down() -> None:
    # "the standard 4.539 C" of A7 is 15 C less 6.5 K per km (ISO 2533), taken here with all its digits
    up, cooled = _core.standard_pressure_pa(1609.344), (15 - 0.0065 * 1609.344) * 9 / 5 + 32
    a7 = _core.at_reference_psi(100.0, FAHRENHEIT_OF_15_C, cooled, SEA_LEVEL_PA, up)
    assert a7 == pytest.approx(98.4320, abs=half_a_unit(4))
    a8 = _core.at_reference_psi(100.0, FAHRENHEIT_OF_15_C, FAHRENHEIT_OF_15_C, up, SEA_LEVEL_PA)
    assert a8 == pytest.approx(97.4042, abs=half_a_unit(4))


# ---- row 30: cold pressure by the gas law


def test_gas_law_against_exact_rationals() -> None:
    rows = table("pressure_temperature")
    assert len(rows) == 6
    for row in rows:
        v = {name: float(text) for name, text in row.items()}
        atmosphere = 1000 * measures.convert(np.array([v["atm_psi"]]), "psi", "kpa")[0]
        found = _core.at_reference_psi(v["p1_psi"], v["t1_F"], v["t2_F"], atmosphere, atmosphere)
        assert found == pytest.approx(v["p2_psi"], rel=1e-12)  # tolerance of the file


def cold(reference: str, **cells: Any) -> dict[str, Any]:
    row = {"unit": "U", "kind": "truck", "role": "drive", "axle": 2, "side": "left", "dual": "outer"}
    log = wheelend.read_log({k: [v] for k, v in {**row, "read_on": "2025-06-10", **cells}.items()})
    found = wheelend.pressures(log, reference=reference)
    return {name: values[0] for name, values in found.items()}


# P1-P8 of the formula reference, section 1.1: computed there at 14.695949 psi, four places printed
@pytest.mark.parametrize(("psi", "degf", "reference", "stated"), [
    (100, 70, "60 degf", 97.8346), (100, 70, "80 degf", 102.1654), (100, 70, "0 degf", 84.8420),
    (100, 70, "32 degf", 91.7714), (100, 70, "150 degf", 117.3234), (112, 100, "68 degf", 104.7560),
    (118, 135, "68 degf", 103.0495), (95, 20, "68 degf", 105.9771),
])  # fmt: skip
def test_cold_pressure(psi: int, degf: int, reference: str, stated: float) -> None:
    found = cold(reference, pressure_psi=psi, tire_degf=degf)
    assert found["method"] == "gas_law"
    assert found["cold_psi"] == pytest.approx(stated, abs=half_a_unit(4))


def test_cold_pressure_is_the_same_in_other_measures() -> None:
    # P6 once more: 100 F is 37.777... C and 68 F is 20 C; 112 psi are 772.2128 kPa (1 psi = 6.894757293 kPa, SP 811).
    found = cold("20 degc", pressure_kpa="772.2128168349", tire_degc=repr(340 / 9))
    assert found["cold_kpa"] == pytest.approx(104.7560 * 6.894757293, abs=half_a_unit(4) * 6.9)


def test_cold_pressure_of_a_larger_tire() -> None:
    p9 = _core.at_reference_psi(100.0, 70.0, 70.0, SEA_LEVEL_PA, SEA_LEVEL_PA, volume_ratio=1 / 1.005)
    assert p9 == pytest.approx(99.4294, abs=half_a_unit(4))


def test_cold_pressure_at_altitude_takes_the_pressure_of_the_place() -> None:
    # (1.1) with A4's 12.1001 psi on both sides, temperatures as P6
    want = (112 + 12.1001) * (68 + 459.67) / (100 + 459.67) - 12.1001
    found = cold("68 degf", pressure_psi=112, tire_degf=100, altitude_m="1609.344")
    # A4 is good to 5e-5 psi and enters times 1 - 527.67/559.67 = 0.057
    assert found["cold_psi"] == pytest.approx(want, abs=3e-6)
    sea_level = cold("68 degf", pressure_psi=112, tire_degf=100)
    assert abs(found["cold_psi"] - sea_level["cold_psi"]) > 0.1


def test_federal_subtraction() -> None:
    # C1, rule of 49 CFR 393.75(i)(2): 116 psig hot, rated above 4000 lb, 41 to 55 mph -> 101
    found = cold("68 degf", pressure_psi=116, warm="yes", speed_last_hour_mph=50, rated_load_lb=6175)
    assert (found["method"], found["cold_psi"]) == ("federal_subtraction", 101.0)


# ---- rows 32 and 35: certified accuracy (NIST StRD)


def test_nist_norris() -> None:
    rows, want = table("nist_Norris"), expected("nist_Norris")
    found = lines.fit_line(column(rows, "x"), column(rows, "y"))
    (b0, b1), rtol = want["parameters"], want["rtol"]
    assert (found.intercept, found.slope) == pytest.approx((b0["estimate"], b1["estimate"]), rel=rtol)
    assert (found.se_intercept, found.se_slope) == pytest.approx((b0["sd"], b1["sd"]), rel=rtol)
    assert found.residual_sd == pytest.approx(want["residual_sd"], rel=rtol)
    assert found.r_squared == pytest.approx(want["r_squared"], rel=rtol)


def test_nist_noint1() -> None:
    rows, want = table("nist_NoInt1"), expected("nist_NoInt1")
    found = _core.fit_through_origin(column(rows, "x"), column(rows, "y"))
    b1 = want["parameters"][0]
    assert found["slope"] == pytest.approx(b1["estimate"], rel=want["rtol"])
    assert found["se_slope"] == pytest.approx(b1["sd"], rel=want["rtol"])
    assert found["residual_sd"] == pytest.approx(want["residual_sd"], rel=want["rtol"])


def test_nist_numacc() -> None:
    want = expected("nist_NumAcc1_2")
    for name, values in (("NumAcc1", want["NumAcc1"]["data"]), ("NumAcc2", [1.2, *[1.1, 1.3] * 500])):
        found = _core.moments(np.array(values, float))
        assert found == pytest.approx((want[name]["mean"], want[name]["sd"]), rel=want["rtol"])


# ---- row 25: probability that a limit is reached (normal random line)


def test_limit_reached_by() -> None:
    rows = [row for row in table("limit_crossing_cdf") if row["model"] == "bernstein"]
    assert len(rows) == 7
    for row in rows:
        p = {name: float(text) for name, _, text in (part.partition("=") for part in row["parameters"].split(";"))}
        # worn depth a + b t reaches L; here the level falls: L - a, so its covariance with the rate turns sign
        covariance = -p["rho"] * p["sd_a"] * p["sd_b"]
        found = _core.reached_by(p["L"] - p["mu_a"], p["sd_a"], p["mu_b"], p["sd_b"], covariance, float(row["t"]))
        assert found == pytest.approx(float(row["cdf"]), rel=1e-10)  # tolerance of the file, tails included


# ---- formula reference, sections 5.1, 5.3 and 9.3


def test_published_wear_of_an_evaluation_article() -> None:
    # W1 (published): 26/32 at 40 000 mi, 20/32 at 64 000 mi -> 4000 miles per 32nd; W2: 56 000 mi left to 6/32
    found = lines.fit_line([40_000, 64_000], [26, 20])
    assert -1 / found.slope == pytest.approx(4000.0, rel=1e-12)
    assert lines.where_reaches([40_000, 64_000], [26, 20], 6).at - 64_000 == pytest.approx(56_000, rel=1e-12)


@pytest.mark.parametrize(("miles", "mil", "mm"), [
    (4_000, 7.8125, 0.123303), (10_000, 3.1250, 0.049321), (15_000, 2.083333, 0.032881),
])  # fmt: skip
def test_wear_rates_in_other_measures(miles: int, mil: float, mm: float) -> None:  # W3-W5
    rate = np.array([1000 / miles])
    assert measures.convert(rate, "32nds_per_1000mi", "mil_per_1000mi")[0] == pytest.approx(mil, abs=half_a_unit(6))
    assert measures.convert(rate, "32nds_per_1000mi", "mm_per_1000km")[0] == pytest.approx(mm, abs=half_a_unit(6))


# Groove depth in mil against thousand miles: textbook example (Tamhane, Dunlop 2000); its printed results from memory.
MILES = [0, 4, 8, 12, 16, 20, 24, 28, 32]
DEPTH = [394.33, 329.50, 291.00, 255.17, 229.33, 204.83, 179.00, 163.83, 150.33]


def test_textbook_wear_line() -> None:
    found = lines.fit_line(MILES, DEPTH)
    assert (found.intercept, found.slope) == pytest.approx((360.64, -7.281), abs=half_a_unit(2))  # printed
    assert (found.r_squared, found.se_slope) == pytest.approx((0.953, 0.614), abs=half_a_unit(3))  # printed
    assert found.residual_sd == pytest.approx(19.02, abs=half_a_unit(2))  # printed
    assert found.intercept == pytest.approx(360.6367, abs=half_a_unit(4))  # T2
    assert (found.slope, found.se_slope) == pytest.approx((-7.280625, 0.613772), abs=half_a_unit(6))  # T2, T4
    assert found.se_intercept == pytest.approx(11.68855, abs=half_a_unit(5))  # T4
    for mean, half_width in ((True, 19.8821), (False, 49.1674)):  # T6
        at, low, high = lines.value_at(MILES, DEPTH, 25.0, level=0.95, mean_response=mean)
        assert at == pytest.approx(178.62, abs=half_a_unit(2))  # printed
        assert (high - at, at - low) == pytest.approx((half_width, half_width), abs=half_a_unit(4))


# T10, T11: distance to 62.5 mil (2/32 in) and 125 mil (4/32 in), three places printed
@pytest.mark.parametrize(("skip", "take_log", "limit", "reached"), [
    (0, False, 62.5, 40.949), (1, False, 62.5, 43.536), (0, True, 62.5, 60.150), (6, False, 62.5, 56.430),
    (0, False, 125.0, 32.365), (0, True, 125.0, 36.868),
])  # fmt: skip
def test_textbook_distances_to_the_limit(skip: int, take_log: bool, limit: float, reached: float) -> None:
    y, value = (np.log(DEPTH), math.log(limit)) if take_log else (np.array(DEPTH), limit)
    found = lines.where_reaches(MILES[skip:], y[skip:], value)
    assert found.at == pytest.approx(reached, abs=half_a_unit(3))


def test_distance_to_the_limit_and_its_limits_by_inversion() -> None:
    miles, mil = [0, 15, 30, 45, 60], [31.25 * d for d in (18, 16, 15, 13, 12)]
    line = lines.fit_line(miles, mil)
    assert (line.intercept, line.slope) == pytest.approx((556.25, -3.125), rel=1e-12)  # ME16, exact
    assert (line.residual_sd, line.r_squared) == pytest.approx((9.882118, 0.986842), abs=half_a_unit(6))  # ME16
    found = lines.where_reaches(miles, mil, 125.0, level=0.95)
    assert found.status == "bounded"
    assert found.at == pytest.approx(138.0, rel=1e-12)  # ME17
    assert found.se == pytest.approx(7.33757, abs=half_a_unit(5))  # ME17
    assert (found.low, found.high) == pytest.approx((118.6589, 167.5222), abs=half_a_unit(4))  # ME19


# ---- other libraries, in the same run


def cases() -> list[tuple[np.ndarray, np.ndarray]]:
    rng = np.random.default_rng(20250610)
    out = []
    for n in (3, 4, 7, 20, 61):
        x = np.sort(rng.uniform(0, 200, n))
        out.append((x, 25 - 0.1 * x + rng.normal(0, 0.5, n)))
        out.append((np.round(x / 10), np.round(25 - 0.1 * x)))  # ties, as a gauge of whole 32nds gives them
    # On three points of one line scipy's errors are the square root of a rounding error: nothing to compare with.
    return [(x, y) for x, y in out if np.polyfit(x, y, 1, full=True)[1].sum() > 1e-6]


CASES = cases()


@pytest.mark.parametrize("case", range(len(CASES)))
def test_line_against_scipy(case: int) -> None:
    x, y = CASES[case]
    theirs, ours = scipy.stats.linregress(x, y), lines.fit_line(x, y)
    # 1e-10: sums of up to 61 doubles, and a few digits for cancellation. Errors: scipy takes them from 1 - r^2, which
    # loses up to four digits more on lines as straight as these.
    assert (ours.slope, ours.intercept) == pytest.approx((theirs.slope, theirs.intercept), rel=1e-10)
    assert (ours.se_slope, ours.se_intercept) == pytest.approx((theirs.stderr, theirs.intercept_stderr), rel=1e-8)
    assert ours.r_squared == pytest.approx(theirs.rvalue**2, rel=1e-10)


@pytest.mark.parametrize("case", range(len(CASES)))
@pytest.mark.parametrize("level", [0.5, 0.9, 0.95, 0.99])
def test_robust_slopes_against_scipy(case: int, level: float) -> None:
    x, y = CASES[case]
    theirs, ours = scipy.stats.theilslopes(y, x, alpha=level, method="joint"), lines.pairwise_slopes(x, y, level=level)
    assert ours.slope == pytest.approx(theirs.slope, rel=1e-12, abs=1e-15)
    assert ours.intercept_of_residuals == pytest.approx(theirs.intercept, rel=1e-12)
    # the same order statistics of the same slopes, so equal but for the rounding of one division
    assert (ours.low, ours.high) == pytest.approx((theirs.low_slope, theirs.high_slope), rel=1e-12, abs=1e-15)
    assert lines.repeated_median(x, y).slope == pytest.approx(scipy.stats.siegelslopes(y, x).slope, rel=1e-12)


@pytest.mark.parametrize("z", [-37.0, -20.0, -8.0, -3.0, -1.0, -1e-9, 0.0, 0.5, 2.0, 6.0])
def test_normal_distribution_against_scipy(z: float) -> None:
    # A level with an error of 1 and a rate without one: P(reached by 1) = Phi(rate - above). 1e-12 of the tail itself.
    found = _core.reached_by(10.0, 1.0, 10.0 + z, 0.0, 0.0, 1.0)
    assert found == pytest.approx(scipy.stats.norm.cdf((10.0 + z) - 10.0), rel=1e-12)
