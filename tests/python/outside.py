"""Where numbers made elsewhere are kept: tests/reference, or the reference folder beside the checkout."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

HERE = Path(__file__).resolve()
COMMITTED = HERE.parents[1] / "reference"
SHARED = HERE.parents[3] / "shared" / "reference" / "data"

# Out of other public repositories: read where they lie, never kept here.
NOT_KEPT = {
    "ball_bearing_life", "batting_shrinkage", "bearing_cage_life", "cylinder_replacements",
    "interval_censored_arrivals", "inverse_prediction", "laser_degradation", "laser_stochastic_wear",
    "locomotive_control_life", "metal_sliding_wear", "nist_NoInt1", "shock_absorber_life", "standard_atmosphere",
    "tire_separation_test", "tire_tread_life_two_methods", "tractor_brake_life", "vehicle_repairs_by_mileage",
}  # fmt: skip


def text_of(name: str) -> str:
    if name.partition(".")[0] not in NOT_KEPT:
        return (COMMITTED / name).read_text(encoding="utf-8")
    if not SHARED.is_dir():
        pytest.skip(f"{name} came out of another repository: it is read from ../shared/reference/data, which is absent")
    return (SHARED / name).read_text(encoding="utf-8")


def table(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(line for line in text_of(f"{name}.csv").splitlines() if not line.startswith("#")))


def expected(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(text_of(f"{name}.expected.json"))
    return found


def column(rows: list[dict[str, str]], name: str) -> np.ndarray:
    return np.array([float(row[name]) for row in rows])


def half_a_unit(places: int) -> float:
    return 0.5 * 10.0**-places
