"""
Compiled core of wheelend; use the functions of the package wheelend instead.
"""
from __future__ import annotations
import collections.abc
import numpy
import numpy.typing
import typing
__all__: list[str] = ['ColumnError', 'DemandFleet', 'Error', 'LimitError', 'MeasureError', 'Stopped', 'Watch', 'activation_energy', 'add_months', 'at_reference_psi', 'calendar_months', 'calendar_years', 'candidate_weeks', 'choked_above', 'clamp_load', 'codes', 'cold_notes', 'cold_pressures', 'compare', 'convert', 'count_distribution', 'drifting_mates', 'drum_growth', 'dual_factor', 'expected_renewals', 'find_date_code', 'find_repeats', 'fit_gamma_wear', 'fit_grouped', 'fit_hazards', 'fit_inverse_gaussian_wear', 'fit_life', 'fit_line', 'fit_through_origin', 'fit_wiener_wear', 'geopotential_m', 'hole_area', 'hole_flow', 'hole_time_constant', 'index_of_load', 'judge', 'judge_notes', 'leak_states', 'leaks', 'learn_removals', 'legal_minimum_mm', 'load_by_power_law', 'load_in_table', 'load_of_index', 'load_statuses', 'load_table_fault', 'log_rank', 'loss_per_minute_at', 'mate_states', 'mean_cumulative', 'measures', 'moments', 'not_passed_by', 'odometers_out_of_line', 'pairwise_slopes', 'parse_date_code', 'parse_date_codes', 'parse_dates', 'parse_numbers', 'passage_density', 'passage_quantile', 'passed_by', 'pressure_between_rows', 'pressure_by_power_law', 'quantile_levels', 'quantity_of', 'radial_truck_exponent', 'reached_by', 'repeated_median', 'required_rows', 'restricted_mean', 'robust_scores', 'settling_loss', 'shrink', 'simulate_demand', 'simulate_removals', 'slow_wear', 'speed_of_symbol', 'standard_pressure_pa', 'stress_area', 'stroke_of_hot_drum', 'survival_curve', 'time_to_fall', 'tire_cases', 'tire_load', 'tire_load_of_ends', 'tires_on_positions', 'up_to_next_5_psi', 'value_at', 'wear', 'weeks_of_year', 'where_reaches']
class Error(ValueError):
    pass
class MeasureError(Error):
    pass
class ColumnError(Error):
    pass
class LimitError(Error):
    pass
class Stopped(Error):
    pass
class Watch:
    def __init__(self) -> None:
        ...
    def stop(self) -> None:
        ...
    @property
    def percent(self) -> int:
        ...
class DemandFleet:
    def __init__(self, units: dict[str, typing.Any], places: dict[str, typing.Any], laws: dict[str, typing.Any], practice: dict[str, typing.Any]) -> None:
        ...
    def set_keys(self, keys: typing.Any) -> None:
        ...
    @property
    def position(self) -> numpy.typing.NDArray[numpy.int32]:
        ...
    @property
    def practice(self) -> dict[str, typing.Any]:
        ...
def activation_energy(ratio: typing.SupportsFloat | typing.SupportsIndex, from_kelvin: typing.SupportsFloat | typing.SupportsIndex, to_kelvin: typing.SupportsFloat | typing.SupportsIndex) -> float:
    """
    Activation energy of permeation, J/mol.
    """
def add_months(day: typing.Any, months: typing.SupportsInt | typing.SupportsIndex) -> typing.Any:
    """
    Same date so many months later, or the last day of a shorter month; int or int32 array.
    """
def at_reference_psi(psi: typing.SupportsFloat | typing.SupportsIndex, degf: typing.SupportsFloat | typing.SupportsIndex, reference_degf: typing.SupportsFloat | typing.SupportsIndex, atmosphere_pa: typing.SupportsFloat | typing.SupportsIndex, reference_atmosphere_pa: typing.SupportsFloat | typing.SupportsIndex, volume_ratio: typing.SupportsFloat | typing.SupportsIndex = 1.0) -> float:
    """
    Gauge pressure at a reference temperature, gas law on absolute pressures.
    """
def calendar_months(from_day: typing.Any, to_day: typing.Any) -> typing.Any:
    """
    Age in calendar months; int or int32 arrays.
    """
def calendar_years(from_day: typing.Any, to_day: typing.Any) -> typing.Any:
    """
    Age in calendar years, whole on anniversaries; int or int32 arrays.
    """
def candidate_weeks(text: str, up_to: typing.SupportsInt | typing.SupportsIndex) -> list[int]:
    """
    First days of the weeks that a code of three digits may mean.
    """
def choked_above(atmosphere_pa: typing.SupportsFloat | typing.SupportsIndex) -> float:
    """
    Gauge pressure above which flow is choked.
    """
def clamp_load(torque: typing.SupportsFloat | typing.SupportsIndex, nut_factor: typing.SupportsFloat | typing.SupportsIndex, diameter: typing.SupportsFloat | typing.SupportsIndex) -> float:
    ...
def cold_pressures(readings: dict[str, typing.Any], positions: dict[str, typing.Any], tires: dict[str, typing.Any], rules: list[typing.Any], as_of: typing.SupportsInt | typing.SupportsIndex, all: bool, reference_k: typing.SupportsFloat | typing.SupportsIndex, method: str) -> dict[str, typing.Any]:
    """
    Cold pressures and states as a dict of columns.
    """
def compare(a: str, a_measure: str, b: str, b_measure: str) -> int:
    """
    -1, 0 or 1: two written decimals compared as exact rationals.
    """
def convert(values: typing.Any, from_measure: str, to_measure: str) -> numpy.typing.NDArray[numpy.float64]:
    """
    Column in another measure of the same dimension; NaN stays NaN.
    """
def count_distribution(p: typing.Any) -> numpy.typing.NDArray[numpy.float64]:
    ...
def drifting_mates(readings: dict[str, typing.Any], positions: dict[str, typing.Any], rules: list[typing.Any], as_of: typing.SupportsInt | typing.SupportsIndex, soon_days: typing.SupportsFloat | typing.SupportsIndex, level: typing.SupportsFloat | typing.SupportsIndex, threads: typing.SupportsInt | typing.SupportsIndex = 1) -> dict[str, typing.Any]:
    """
    Mates that drift apart, as a dict of columns.
    """
def drum_growth(diameter: typing.SupportsFloat | typing.SupportsIndex, alpha: typing.SupportsFloat | typing.SupportsIndex, rise: typing.SupportsFloat | typing.SupportsIndex) -> float:
    ...
def expected_renewals(law: str, scale: typing.SupportsFloat | typing.SupportsIndex, shape: typing.SupportsFloat | typing.SupportsIndex, t: typing.Any, age: typing.SupportsFloat | typing.SupportsIndex) -> numpy.typing.NDArray[numpy.float64]:
    ...
def find_date_code(text: str) -> str | None:
    """
    Three or four digits in a date code or a tire identification number; None where there are none.
    """
def find_repeats(readings: dict[str, typing.Any], positions: typing.SupportsInt | typing.SupportsIndex) -> tuple[typing.Any, ...]:
    """
    (first, conflict, identical): rows that share position, time and place with another.
    """
def fit_gamma_wear(exposure: typing.Any, wear: typing.Any) -> tuple[float, float, float]:
    ...
def fit_grouped(unit: typing.Any, units: typing.SupportsInt | typing.SupportsIndex, x: typing.Any, y: typing.Any, differ: str, restricted: bool) -> dict[str, typing.Any]:
    ...
def fit_hazards(life: typing.Any, failed: typing.Any, entry: typing.Any, x: typing.Any, width: typing.SupportsInt | typing.SupportsIndex, ties: str) -> dict[str, typing.Any]:
    ...
def fit_inverse_gaussian_wear(exposure: typing.Any, wear: typing.Any) -> tuple[float, float, float]:
    ...
def fit_life(law: str, low: typing.Any, high: typing.Any, count: typing.Any, p: collections.abc.Sequence[typing.SupportsFloat | typing.SupportsIndex]) -> dict[str, typing.Any]:
    ...
def fit_line(x: typing.Any, y: typing.Any) -> dict[str, typing.Any]:
    ...
def fit_through_origin(x: typing.Any, y: typing.Any) -> dict[str, typing.Any]:
    ...
def fit_wiener_wear(exposure: typing.Any, wear: typing.Any) -> tuple[float, float, float]:
    ...
def geopotential_m(geometric_m: typing.SupportsFloat | typing.SupportsIndex) -> float:
    ...
def hole_area(loss_pa_per_s: typing.SupportsFloat | typing.SupportsIndex, absolute_pa: typing.SupportsFloat | typing.SupportsIndex, volume_m3: typing.SupportsFloat | typing.SupportsIndex, discharge: typing.SupportsFloat | typing.SupportsIndex, kelvin: typing.SupportsFloat | typing.SupportsIndex) -> float:
    """
    Area of the hole that loses so much while choked, m2.
    """
def hole_flow(absolute_pa: typing.SupportsFloat | typing.SupportsIndex, atmosphere_pa: typing.SupportsFloat | typing.SupportsIndex, area_m2: typing.SupportsFloat | typing.SupportsIndex, discharge: typing.SupportsFloat | typing.SupportsIndex, kelvin: typing.SupportsFloat | typing.SupportsIndex) -> float:
    """
    Mass flow of air through a hole, kg/s.
    """
def hole_time_constant(volume_m3: typing.SupportsFloat | typing.SupportsIndex, area_m2: typing.SupportsFloat | typing.SupportsIndex, discharge: typing.SupportsFloat | typing.SupportsIndex, kelvin: typing.SupportsFloat | typing.SupportsIndex) -> float:
    """
    Time constant of a vessel that empties through a choked hole, s.
    """
def index_of_load(load: tuple[typing.SupportsFloat | typing.SupportsIndex, str], within: tuple[typing.SupportsFloat | typing.SupportsIndex, str]) -> int | None:
    """
    The index of a load that is off by no more, or None.
    """
def judge(readings: dict[str, typing.Any], positions: dict[str, typing.Any], tires: dict[str, typing.Any], wheelends: dict[str, typing.Any], facts: list[typing.Any], limits: list[typing.Any], as_of: typing.SupportsInt | typing.SupportsIndex, all: bool, count_unconfirmed: bool) -> dict[str, typing.Any]:
    """
    Verdicts as a dict of columns.
    """
def leaks(readings: dict[str, typing.Any], positions: dict[str, typing.Any], as_of: typing.SupportsInt | typing.SupportsIndex, false_alarms: typing.SupportsFloat | typing.SupportsIndex, band_pa: typing.SupportsFloat | typing.SupportsIndex, threads: typing.SupportsInt | typing.SupportsIndex = 1, watch: Watch | None = None) -> dict[str, typing.Any]:
    """
    Leaks, alarms and days below limits of every position, as a dict of columns.
    """
def learn_removals(role: typing.Any, depth: typing.Any, days: typing.Any, removed: typing.Any, mate_depth: typing.Any, mate_removed: typing.Any, roles: typing.SupportsInt | typing.SupportsIndex) -> dict[str, typing.Any]:
    """
    How a fleet takes tires off, from what was found between two looks at each.
    """
def legal_minimum_mm(limits: list[typing.Any], facts: list[typing.Any], positions: dict[str, typing.Any]) -> numpy.typing.NDArray[numpy.float64]:
    """
    Highest legal minimum of the lowest groove per position, mm; NaN where none.
    """
def load_by_power_law(pressure: tuple[typing.SupportsFloat | typing.SupportsIndex, str], maximum: tuple[tuple[typing.SupportsFloat | typing.SupportsIndex, str], tuple[typing.SupportsFloat | typing.SupportsIndex, str]], factor_of_single: typing.SupportsFloat | typing.SupportsIndex, exponent: typing.SupportsFloat | typing.SupportsIndex) -> tuple[float | None, str]:
    """
    (load in the measure of the maximum or None, status)
    """
def load_in_table(table: tuple[typing.Any, ...], pressure: tuple[typing.SupportsFloat | typing.SupportsIndex, str]) -> tuple[float | None, str]:
    """
    (load in the measure of the table or None, status)
    """
def load_of_index(index: typing.SupportsInt | typing.SupportsIndex) -> float | None:
    """
    Load in kg, or None outside the table.
    """
def load_statuses() -> list[typing.Any]:
    ...
def load_table_fault(table: tuple[typing.Any, ...]) -> tuple[int, str] | None:
    """
    (row from 0, reason), or None where it is sound.
    """
def log_rank(life: typing.Any, failed: typing.Any, entry: typing.Any, count: typing.Any, group: typing.Any, groups: typing.SupportsInt | typing.SupportsIndex) -> tuple[float, int, float]:
    ...
def loss_per_minute_at(reference: typing.SupportsFloat | typing.SupportsIndex, start: typing.SupportsFloat | typing.SupportsIndex, end: typing.SupportsFloat | typing.SupportsIndex, minutes: typing.SupportsFloat | typing.SupportsIndex) -> float:
    ...
def mean_cumulative(start: typing.Any, end: typing.Any, item: typing.Any, time: typing.Any, count: typing.Any) -> tuple[typing.Any, ...]:
    ...
def measures() -> list[typing.Any]:
    """
    Rows of the factor table: label, dimension, exact ratio and offset to SI, source.
    """
def moments(values: typing.Any) -> tuple[float, float]:
    ...
def not_passed_by(model: str, parameters: collections.abc.Sequence[typing.SupportsFloat | typing.SupportsIndex], values: typing.Any) -> numpy.typing.NDArray[numpy.float64]:
    ...
def odometers_out_of_line(readings: dict[str, typing.Any], positions: dict[str, typing.Any], units: typing.SupportsInt | typing.SupportsIndex) -> numpy.typing.NDArray[numpy.uint8]:
    """
    1 for each row whose odometer cannot stand with the unit's others.
    """
def pairwise_slopes(x: typing.Any, y: typing.Any, level: typing.SupportsFloat | typing.SupportsIndex) -> dict[str, typing.Any]:
    ...
def parse_date_code(text: str, today: typing.SupportsInt | typing.SupportsIndex) -> tuple[typing.Any, ...]:
    """
    (status, first_day, last_day); days are 0 unless the status is 'week'.
    """
def parse_date_codes(offsets: typing.Any, data: typing.Any, valid: typing.Any, today: typing.SupportsInt | typing.SupportsIndex) -> tuple[typing.Any, ...]:
    """
    Text cells as (statuses, first_days, last_days).
    """
def parse_dates(offsets: typing.Any, data: typing.Any, valid: typing.Any, order: str) -> tuple[typing.Any, ...]:
    """
    Text cells as (days, microseconds, statuses).
    """
def parse_numbers(offsets: typing.Any, data: typing.Any, valid: typing.Any, decimal: str, thousands: str) -> tuple[typing.Any, ...]:
    """
    Text cells as (values, statuses).
    """
def passage_density(model: str, parameters: collections.abc.Sequence[typing.SupportsFloat | typing.SupportsIndex], values: typing.Any) -> numpy.typing.NDArray[numpy.float64]:
    ...
def passage_quantile(model: str, parameters: collections.abc.Sequence[typing.SupportsFloat | typing.SupportsIndex], values: typing.Any) -> numpy.typing.NDArray[numpy.float64]:
    ...
def passed_by(model: str, parameters: collections.abc.Sequence[typing.SupportsFloat | typing.SupportsIndex], values: typing.Any) -> numpy.typing.NDArray[numpy.float64]:
    ...
def pressure_between_rows(table: tuple[typing.Any, ...], load: tuple[typing.SupportsFloat | typing.SupportsIndex, str]) -> tuple[float | None, str]:
    """
    (pressure in the measure of the table or None, status)
    """
def pressure_by_power_law(load: tuple[typing.SupportsFloat | typing.SupportsIndex, str], maximum: tuple[tuple[typing.SupportsFloat | typing.SupportsIndex, str], tuple[typing.SupportsFloat | typing.SupportsIndex, str]], factor_of_single: typing.SupportsFloat | typing.SupportsIndex, exponent: typing.SupportsFloat | typing.SupportsIndex) -> tuple[float | None, str]:
    """
    (pressure in the measure of the maximum or None, status)
    """
def reached_by(above: typing.SupportsFloat | typing.SupportsIndex, above_se: typing.SupportsFloat | typing.SupportsIndex, rate: typing.SupportsFloat | typing.SupportsIndex, rate_se: typing.SupportsFloat | typing.SupportsIndex, covariance: typing.SupportsFloat | typing.SupportsIndex, x: typing.SupportsFloat | typing.SupportsIndex) -> float:
    ...
def repeated_median(x: typing.Any, y: typing.Any) -> dict[str, typing.Any]:
    ...
def required_rows(table: tuple[typing.Any, ...], loads: tuple[typing.Any, ...]) -> tuple[typing.Any, ...]:
    """
    (rows of the table, codes of load_statuses); row -1: none.
    """
def restricted_mean(life: typing.Any, failed: typing.Any, entry: typing.Any, count: typing.Any, horizon: typing.SupportsFloat | typing.SupportsIndex) -> tuple[float, float]:
    ...
def robust_scores(values: typing.Any) -> numpy.typing.NDArray[numpy.float64]:
    ...
def settling_loss(settles: typing.SupportsFloat | typing.SupportsIndex, area: typing.SupportsFloat | typing.SupportsIndex, length: typing.SupportsFloat | typing.SupportsIndex, modulus: typing.SupportsFloat | typing.SupportsIndex, joint_stiffer: typing.SupportsFloat | typing.SupportsIndex) -> float:
    ...
def shrink(values: typing.Any, variances: typing.Any) -> tuple[float, float, numpy.typing.NDArray[numpy.float64], numpy.typing.NDArray[numpy.float64]]:
    ...
def simulate_demand(fleet: DemandFleet, month_ends: typing.Any, group: typing.Any, groups: typing.SupportsInt | typing.SupportsIndex, first_draw: typing.SupportsInt | typing.SupportsIndex, draws: typing.SupportsInt | typing.SupportsIndex, seed: typing.SupportsInt | typing.SupportsIndex, changes: dict[str, typing.Any], threads: typing.SupportsInt | typing.SupportsIndex = 1, watch: Watch | None = None) -> numpy.typing.NDArray[numpy.int32]:
    """
    Tires fitted as replacements: counts by draw, month, group, source and cause.
    """
def simulate_removals(fleet: DemandFleet, month_ends: typing.Any, draw: typing.SupportsInt | typing.SupportsIndex, seed: typing.SupportsInt | typing.SupportsIndex, changes: dict[str, typing.Any]) -> dict[str, typing.Any]:
    """
    The removals of one draw, by place and day.
    """
def slow_wear(readings: dict[str, typing.Any], positions: dict[str, typing.Any], wheelends: dict[str, typing.Any], tires: typing.SupportsInt | typing.SupportsIndex, units: typing.SupportsInt | typing.SupportsIndex, quantity: dict[str, typing.Any], facts: list[typing.Any], limits: list[typing.Any], limit: typing.SupportsFloat | typing.SupportsIndex, prior: dict[str, typing.Any], as_of: typing.SupportsInt | typing.SupportsIndex, threads: typing.SupportsInt | typing.SupportsIndex = 1, watch: Watch | None = None) -> dict[str, typing.Any]:
    """
    A quantity of the wheel-end readings followed to its limit at each place, as a dict of columns.
    """
def speed_of_symbol(symbol: str) -> int | None:
    """
    Speed in km/h, or None.
    """
def standard_pressure_pa(geopotential_m: typing.SupportsFloat | typing.SupportsIndex) -> float:
    """
    Pressure of the standard atmosphere, ISO 2533.
    """
def stress_area(diameter: typing.SupportsFloat | typing.SupportsIndex, pitch: typing.SupportsFloat | typing.SupportsIndex) -> float:
    ...
def stroke_of_hot_drum(growth: typing.SupportsFloat | typing.SupportsIndex, arm: typing.SupportsFloat | typing.SupportsIndex, cam: typing.SupportsFloat | typing.SupportsIndex) -> float:
    ...
def survival_curve(life: typing.Any, failed: typing.Any, entry: typing.Any, count: typing.Any) -> tuple[typing.Any, ...]:
    ...
def time_to_fall(from_gauge: typing.SupportsFloat | typing.SupportsIndex, to_gauge: typing.SupportsFloat | typing.SupportsIndex, loss: typing.SupportsFloat | typing.SupportsIndex, atmosphere: typing.SupportsFloat | typing.SupportsIndex, law: str) -> float:
    """
    Time until a gauge pressure has fallen to another, in the unit of time of the first loss.
    """
def tire_load(on_axle: tuple[typing.SupportsFloat | typing.SupportsIndex, str], tires: typing.SupportsInt | typing.SupportsIndex) -> float:
    """
    Load on one tire, in the measure of the axle load.
    """
def tire_load_of_ends(left: tuple[typing.SupportsFloat | typing.SupportsIndex, str], right: tuple[typing.SupportsFloat | typing.SupportsIndex, str], tires_per_end: typing.SupportsInt | typing.SupportsIndex) -> tuple[float, str]:
    """
    Load on one tire of the heavier end, with its measure.
    """
def tires_on_positions(readings: dict[str, typing.Any], positions: dict[str, typing.Any], units: typing.SupportsInt | typing.SupportsIndex, limit_mm: typing.Any, prior: dict[str, typing.Any], as_of: typing.SupportsInt | typing.SupportsIndex, threads: typing.SupportsInt | typing.SupportsIndex = 1) -> dict[str, typing.Any]:
    """
    The tires of each position, first to last, with the readings of each that are no slips.
    """
def up_to_next_5_psi(required: tuple[typing.SupportsFloat | typing.SupportsIndex, str], maximum: tuple[typing.SupportsFloat | typing.SupportsIndex, str]) -> float:
    """
    In the measure of the required pressure.
    """
def value_at(x: typing.Any, y: typing.Any, at: typing.SupportsFloat | typing.SupportsIndex, level: typing.SupportsFloat | typing.SupportsIndex, mean_response: bool) -> tuple[float, float, float]:
    ...
def wear(readings: dict[str, typing.Any], positions: dict[str, typing.Any], tires: dict[str, typing.Any], units: typing.SupportsInt | typing.SupportsIndex, limit_mm: typing.Any, prior: dict[str, typing.Any], as_of: typing.SupportsInt | typing.SupportsIndex, threads: typing.SupportsInt | typing.SupportsIndex = 1, watch: Watch | None = None, further_position: typing.Any = None, further_mm: typing.Any = None, demand_days: typing.SupportsFloat | typing.SupportsIndex = 0.0) -> dict[str, typing.Any]:
    """
    Wear of the tire in use at each position, learned from the whole fleet, as a dict of columns.
    """
def weeks_of_year(year: typing.SupportsInt | typing.SupportsIndex) -> int:
    """
    Weeks that begin in a year: 52 or 53.
    """
def where_reaches(x: typing.Any, y: typing.Any, value: typing.SupportsFloat | typing.SupportsIndex, level: typing.SupportsFloat | typing.SupportsIndex, mean_response: bool) -> tuple[str, float, float, float, float]:
    ...
__version__: str
codes: dict[str, list[str]]
cold_notes: list[typing.Any] = ['no target pressure is given', 'read warm without a tire temperature, and the federal rule gives no estimate for it: read again cold', 'corrected with the ambient temperature', 'no temperature was read: taken as it is', 'not read since the tire was changed', 'two readings disagree: the lower is used', 'temperature or altitude out of the range of the formulas', 'the method asked for is not possible with this reading']
dual_factor: float = 0.91
judge_notes: list[typing.Any] = ['not read', 'no admissible reading: every groove read lies on a tie bar, hump or fillet, or has no wear indicator', 'readings on a tie bar, hump or fillet left out', 'grooves without a wear indicator left out', 'within one step of the gauge', '{fact} is not given', '{fact} is not given: held to the row for that', 'not admissible: {fact} is outside what the rule asks for', 'unconfirmed row {id} would fail', 'read warm, and the rule gives no estimate for it: read again cold', 'read warm: cold pressure estimated by 49 CFR 393.75(i)(2)', 'too low even while warm', '{fact} stands in for what the clause names', 'low at fewer than three places: the rule asks for three', 'no two adjacent grooves were read', 'not read since the tire was changed', 'not stated whether the tire is a retread', 'two readings disagree: the lower is judged', 'fewer than four places read: the rest could decide', 'where the grooves lie across the tread is not given (tread_at)', 'held to the number that the clause prints in this measure', 'passes by the other bound of the clause', 'not read at the other tire or side on the same day', 'timed over another span than a minute: scaled to a minute', 'the drop of the application is in it: time it from after that drop (start)', 'brakes that were not read, or without verdict, could decide', 'the week of the date code straddles the age: the day is not known', 'the date code cannot be read, or does not give the decade', 'no readjustment limit applies: chamber type and size not given, or not in the tables', 'a tire of this end of the axle was removed: its load is on those that are left', 'not all tires of the axle are in the positions', 'the pressure rose while it was timed: was the engine running?', 'low where it was read: read three places', 'a retread, and the week of its retreading is not known', 'fails whatever {fact} is', "read warm: rated_load is not given, which the rule's estimate goes by", 'no other wheel end of this unit was read that day', 'no limit of these sets speaks of this reading']
leak_states: list[typing.Any] = ['normal', 'suspected', 'slow_leak', 'refilled_leak', 'abrupt_loss', 'unknown']
mate_states: list[typing.Any] = ['apart', 'drifting', 'steady', 'too_few']
quantile_levels: list[float]
quantity_of: dict[str, str]
radial_truck_exponent: float = 0.7
tire_cases: int = 64
