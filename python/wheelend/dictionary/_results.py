"""What a column of a result table is, and the columns and words that results share."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Result:
    """A column of a result table: its name (``<m>`` stands for a measure) and what it says."""

    name: str
    words: str


PLACE = (
    Result("unit", "unit number"),
    Result("axle", "axle, from the front of the unit"),
    Result("side", "left or right, facing forward"),
    Result("dual", "single, outer or inner"),
)
QUANTILE_WORDS = "quantile; 0 if it is there already, missing beyond ten years"


def interval(name: str) -> tuple[Result, Result]:
    return Result(f"{name}_low", f"of {name}: 95 % interval"), Result(f"{name}_high", f"of {name}: 95 % interval")


DAY_WORDS = "quantile; as_of if it is already, missing beyond ten years"
QUANTILES = ("p05", "p10", "p25", "p50", "p75", "p90", "p95")
DEMAND_LEVELS = {"p10": 0.10, "p50": 0.50, "p90": 0.90}
