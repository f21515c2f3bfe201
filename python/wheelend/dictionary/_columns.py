"""What a column of an input table is, and the measures, ranges and makers that columns share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from wheelend import _core

Form = Literal["text", "whole", "number", "date", "measured", "code", "yes_no", "grooves", "percents"]
Level = Literal["unit", "axle", "wheel"]
LENGTH = ("32nds", "mm", "in")
PRESSURE = ("psi", "kpa", "bar")
DISTANCE = ("mi", "km")
LOAD = ("lb", "kg")
SPEED = ("mph", "kmh")


@dataclass(frozen=True)
class Column:
    """A column of an input table.

    ``least`` and ``most`` (in ``range_measure``) bound what is taken for a reading; beyond them a value is listed in
    ``issues`` and not used. ``unusual`` is noted and used. ``level`` says of what it is a fact, where limits may ask
    for it; ``usual`` is what counts where nothing is stated. ``to_come``: a date may lie after today.
    """

    name: str
    form: Form
    words: str
    key: bool = False
    measures: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()
    least: float | None = None
    most: float | None = None
    unusual: float | None = None
    range_measure: str = ""
    range_words: str = ""
    level: Level = "wheel"
    usual: str = ""
    to_come: bool = False


def measured(
    name: str,
    words: str,
    measures: tuple[str, ...],
    bounds: tuple[float, float, str],
    range_words: str = "",
    unusual: float | None = None,
    level: Level = "wheel",
) -> Column:
    least, most, measure = bounds
    return Column(
        name,
        "measured",
        words,
        measures=measures,
        least=least,
        most=most,
        unusual=unusual,
        range_measure=measure,
        range_words=range_words,
        level=level,
    )


def code(name: str, words: str, key: bool = False, level: Level = "wheel") -> Column:
    return Column(name, "code", words, key=key, codes=tuple(_core.codes[name]), level=level)


def choice(name: str, words: str, codes: str) -> Column:
    return Column(name, "code", words, codes=tuple(codes.split()))


def flag(name: str, words: str, level: Level = "wheel", usual: str = "") -> Column:
    return Column(name, "yes_no", words, level=level, usual=usual)


# Bounds of depth: no truck tire is made deeper than about 32/32 in; 40/32 leaves room (common practice, no source).
DEPTH = (0.0, 40.0, "32nds")
DEPTH_WORDS = "deeper than any new tire (40/32 in): was it read in another measure? Correct it"
USUAL_DEPTH = 32.0
# Truck tires are marked up to about 145 psi; gauges end at 200 (common practice, no source).
GAUGE = (0.0, 200.0, "psi")
PRESSURE_WORDS = "beyond what a tire gauge shows (200 psi): was it read in another measure? Correct it"
