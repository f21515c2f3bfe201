"""Measures: the labels that columns and arguments may carry, and text such as ``"5/32 in"``.

The factors stand once, in ``cpp/include/wheelend/unit_labels.hpp``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING

from wheelend import _core
from wheelend.errors import BadCall

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt


@dataclass(frozen=True)
class MeasureInfo:
    """One row of the factor table.

    Attributes
    ----------
    label : str
        Suffix of a column, and what the command line reads.
    words : str
        For people, after a number.
    metric : bool
        Of the metric system; else customary, or of either.
    dimension : str
        What it measures.
    numerator, denominator, offset_numerator, offset_denominator : int
        SI value = value * numerator / denominator + offset_numerator / offset_denominator, exactly.
    gauge_step : float
        Step of the usual instrument in this measure; 0 where there is none.
    source : str
        Where the ratio is written.
    """

    label: str
    words: str
    metric: bool
    dimension: str
    numerator: int
    denominator: int
    offset_numerator: int
    offset_denominator: int
    gauge_step: float
    source: str


@cache
def table() -> dict[str, MeasureInfo]:
    """All measures by label, in the order of the factor table."""
    return {row["label"]: MeasureInfo(**row) for row in _core.measures()}


@cache
def labels() -> tuple[str, ...]:
    """Labels by the code that the core uses."""
    return tuple(table())


@cache
def find(label: str) -> MeasureInfo | None:
    """The measure of a label.

    Parameters
    ----------
    label : str
        As columns or people write it (``"psi"``, ``"/32 in"``), in any case.

    Returns
    -------
    MeasureInfo or None
        None where there is no such measure.
    """
    wanted = label.strip().lower()
    for row in table().values():
        if wanted in (row.label.lower(), row.words.lower()):
            return row
    return None


def convert(values: npt.NDArray[np.float64], from_measure: str, to_measure: str) -> npt.NDArray[np.float64]:
    """Column in another measure of the same dimension.

    Parameters
    ----------
    values : array of float, any length
        NaN stays NaN.
    from_measure, to_measure : str
        Labels of the factor table.

    Returns
    -------
    array of float
        As long as ``values``.

    Raises
    ------
    ValueError
        There is no such measure, or the two measure different things.
    """
    return _core.convert(values, from_measure, to_measure)


_QUANTITY = re.compile(r"\s*([+-]?\d+(?:\.\d*)?|[+-]?\.\d+)(?:\s*/\s*(\d+))?\s*([^\d\s].*|32nds)?\s*", re.ASCII)


def parse_quantity(text: str, dimension: str, what: str) -> tuple[str, str]:
    """Number and measure written as one text, e.g. ``"5/32 in"`` or ``"92 psi"``.

    Parameters
    ----------
    text : str
        A decimal or a fraction, then a label of the factor table. A fraction must be a finite decimal, as all
        fractions of a gauge are.
    dimension : str
        What the measure must measure: ``"length"``, ``"pressure"``, ``"temperature"`` or ``"mass"``.
    what : str
        Name of the argument, for the message.

    Returns
    -------
    tuple of str
        The number as a decimal, and the label of its measure.

    Raises
    ------
    BadCall
        With what was expected and what came.
    """
    match = _QUANTITY.fullmatch(text) if isinstance(text, str) else None
    known = ", ".join(m.label for m in table().values() if m.dimension == dimension)
    if match is None or match[3] is None:
        raise BadCall(f"{what}: expected a number and a measure ({known}), got {text!r}")
    measure = find(match[3])
    if measure is None or measure.dimension != dimension:
        from wheelend._words import nearest  # which needs this module

        close = nearest(match[3], known.split(", "))
        hint = f" (did you mean {close[0]}?)" if close else ""
        raise BadCall(f"{what}: {match[3].strip()!r} is not a measure of {dimension}{hint}; use {known}")
    if match[2] is None:
        return match[1], measure.label
    if int(match[2]) == 0:
        raise BadCall(f"{what}: {text!r} divides by zero")
    return _finite_decimal(Fraction(match[1]) / int(match[2]), text, what), measure.label


def _finite_decimal(value: Fraction, text: str, what: str) -> str:
    rest, places = value.denominator, 0
    while rest % 2 == 0:
        rest, places = rest // 2, places + 1
    fives = 0
    while rest % 5 == 0:
        rest, fives = rest // 5, fives + 1
    if rest != 1:
        raise BadCall(f"{what}: {text!r} is not a finite decimal; write it as a decimal number")
    places = max(places, fives)
    scaled = value * 10**places
    sign, digits = ("-" if scaled < 0 else ""), str(abs(scaled.numerator)).rjust(places + 1, "0")
    return sign + (f"{digits[:-places]}.{digits[-places:]}" if places else digits)
