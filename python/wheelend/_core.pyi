"""
Compiled core of wheelend; use the functions of the package wheelend instead.
"""
from __future__ import annotations
import numpy
import numpy.typing
import typing
__all__: list[str] = ['ColumnError', 'Error', 'LimitError', 'MeasureError', 'at_reference_psi', 'codes', 'cold_pressures', 'compare', 'convert', 'find_repeats', 'fit_line', 'fit_through_origin', 'geopotential_m', 'is_shortest_decimal', 'judge', 'legal_minimum_mm', 'measures', 'moments', 'odometers_out_of_line', 'pairwise_slopes', 'parse_dates', 'parse_numbers', 'quantile_levels', 'quantity_of', 'reached_by', 'repeated_median_slope', 'standard_pressure_pa', 'value_at', 'wear', 'where_reaches']
class Error(ValueError):
    pass
class MeasureError(Error):
    pass
class ColumnError(Error):
    pass
class LimitError(Error):
    pass
def at_reference_psi(psi: typing.SupportsFloat | typing.SupportsIndex, degf: typing.SupportsFloat | typing.SupportsIndex, reference_degf: typing.SupportsFloat | typing.SupportsIndex, atmosphere_pa: typing.SupportsFloat | typing.SupportsIndex, reference_atmosphere_pa: typing.SupportsFloat | typing.SupportsIndex, volume_ratio: typing.SupportsFloat | typing.SupportsIndex = 1.0) -> float:
    """
    Gauge pressure at a reference temperature, gas law on absolute pressures.
    """
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
def find_repeats(readings: dict[str, typing.Any], positions: typing.SupportsInt | typing.SupportsIndex) -> tuple[typing.Any, ...]:
    """
    (first, conflict, identical): rows that share position, time and place with another.
    """
def fit_line(x: typing.Any, y: typing.Any) -> dict[str, typing.Any]:
    ...
def fit_through_origin(x: typing.Any, y: typing.Any) -> dict[str, typing.Any]:
    ...
def geopotential_m(geometric_m: typing.SupportsFloat | typing.SupportsIndex) -> float:
    ...
def is_shortest_decimal(text: str, value: typing.SupportsFloat | typing.SupportsIndex) -> bool:
    ...
def judge(readings: dict[str, typing.Any], positions: dict[str, typing.Any], tires: dict[str, typing.Any], limits: list[typing.Any], as_of: typing.SupportsInt | typing.SupportsIndex, all: bool) -> dict[str, typing.Any]:
    """
    Verdicts as a dict of columns.
    """
def legal_minimum_mm(limits: list[typing.Any], positions: dict[str, typing.Any]) -> numpy.typing.NDArray[numpy.float64]:
    """
    Highest legal minimum of the lowest groove per position, mm; NaN where none.
    """
def measures() -> list[typing.Any]:
    """
    Rows of the factor table: label, dimension, exact ratio and offset to SI, source.
    """
def moments(values: typing.Any) -> tuple[float, float]:
    ...
def odometers_out_of_line(readings: dict[str, typing.Any], positions: dict[str, typing.Any], units: typing.SupportsInt | typing.SupportsIndex) -> numpy.typing.NDArray[numpy.uint8]:
    """
    1 for each row whose odometer cannot stand with the unit's others.
    """
def pairwise_slopes(x: typing.Any, y: typing.Any, level: typing.SupportsFloat | typing.SupportsIndex) -> dict[str, typing.Any]:
    ...
def parse_dates(offsets: typing.Any, data: typing.Any, valid: typing.Any, order: str) -> tuple[typing.Any, ...]:
    """
    Text cells as (days, microseconds, statuses).
    """
def parse_numbers(offsets: typing.Any, data: typing.Any, valid: typing.Any, decimal: str, thousands: str) -> tuple[typing.Any, ...]:
    """
    Text cells as (values, statuses).
    """
def reached_by(above: typing.SupportsFloat | typing.SupportsIndex, above_se: typing.SupportsFloat | typing.SupportsIndex, rate: typing.SupportsFloat | typing.SupportsIndex, rate_se: typing.SupportsFloat | typing.SupportsIndex, covariance: typing.SupportsFloat | typing.SupportsIndex, x: typing.SupportsFloat | typing.SupportsIndex) -> float:
    ...
def repeated_median_slope(x: typing.Any, y: typing.Any) -> float:
    ...
def standard_pressure_pa(geopotential_m: typing.SupportsFloat | typing.SupportsIndex) -> float:
    """
    Pressure of the standard atmosphere, ISO 2533.
    """
def value_at(x: typing.Any, y: typing.Any, at: typing.SupportsFloat | typing.SupportsIndex, level: typing.SupportsFloat | typing.SupportsIndex, mean_response: bool) -> tuple[float, float, float]:
    ...
def wear(readings: dict[str, typing.Any], positions: dict[str, typing.Any], units: typing.SupportsInt | typing.SupportsIndex, limit_mm: typing.Any, prior: dict[str, typing.Any], as_of: typing.SupportsInt | typing.SupportsIndex) -> dict[str, typing.Any]:
    """
    Wear of the tire in use at each position as a dict of columns.
    """
def where_reaches(x: typing.Any, y: typing.Any, value: typing.SupportsFloat | typing.SupportsIndex, level: typing.SupportsFloat | typing.SupportsIndex, mean_response: bool) -> tuple[str, float, float, float, float]:
    ...
__version__: str
codes: dict[str, list[str]]
quantile_levels: list[float]
quantity_of: dict[str, str]
