"""Fleets of different kinds: what each changes in the process."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Scenario:
    """What a scenario is, in words, and the numbers of the process that it changes. All are invented."""

    words: str
    changes: dict[str, Any] = field(default_factory=dict)


SCENARIOS: dict[str, Scenario] = {
    "clean": Scenario(
        "steady use, straight wear, everything written down, no slips",
        {
            "use_drift_sd": 0.05,
            "use_season": 0.0,
            "idle_short_per_day": {"tractor": 0.0, "truck": 0.0, "trailer": 0.0},
            "idle_long_per_day": {"tractor": 0.0, "truck": 0.0, "trailer": 0.0},
            "severity_sd": 0.03,
            "wear_season": 0.0,
            "curve_strength": 0.1,
            "visit_missed": 0.0,
            "reading_sd_32nds": 0.25,
            "reader_sd_32nds": 0.0,
            "wrong_measure": 0.0,
            "digit_slip": 0.0,
            "swapped": 0.0,
            "off_by_steps": 0.0,
            "tire_written": 1.0,
            "has_odometer": {"tractor": 1.0, "truck": 1.0, "trailer": 1.0},
            "odometer_missing": 0.0,
            "odometer_typo": 0.0,
            "event_written": 1.0,
            "read_at_work": 1.0,
            "warm_visits": 0.0,
            "warm_tires": 0.0,
            "tire_temperature_written": 1.0,
            "ambient_written": 1.0,
            "altitude_written": 1.0,
            "fill_written": 1.0,
            "road_fills_per_year": 0.0,
            "pressure_reader_sd_psi": 0.0,
            "pressure_slip": 0.0,
        },
    ),
    "typical": Scenario("a fleet that keeps its records fairly well"),
    "short": Scenario("records of four months only", {"record_days_at_most": 122}),
    "curved": Scenario(
        "new tires wear much faster than worn ones, and the season shows",
        {"curve_strength": 2.5, "curve_strength_sd": 0.5, "wear_season": 0.15, "use_season": 0.12},
    ),
    "rotating": Scenario(
        "axles change their tires crosswise, steer tires move on to drive and trailer axles",
        {"rotated_every_days": 240.0, "steer_moved_on_32nds": 9.0},
    ),
    "uneven": Scenario(
        "axles go out of line and wear one side of their tires",
        {"out_of_line_per_year": 0.25, "one_sided_sd": 0.10, "shoulder": 0.15},
    ),
    "sparse": Scenario(
        "few inspections, read in millimetres, many without an odometer",
        {
            "visit_days": 84.0,
            "visit_jitter_days": 20.0,
            "visit_missed": 0.15,
            "gauge": "mm",
            "has_odometer": {"tractor": 0.7, "truck": 0.7, "trailer": 0.1},
            "odometer_missing": 0.3,
            "tire_written": 0.2,
            "event_written": 0.3,
            "pressure_gauge": "kpa",
            "tire_temperature_written": 0.0,
            "ambient_written": 0.25,
            "altitude_written": 0.0,
        },
    ),
    "nasty": Scenario(
        "no tire numbers, slips of every kind, units mixed up, odometers exchanged",
        {
            "reading_sd_32nds": 0.5,
            "reader_sd_32nds": 0.5,
            "wrong_measure": 0.006,
            "digit_slip": 0.008,
            "swapped": 0.03,
            "off_by_steps": 0.03,
            "wrong_unit": 0.01,
            "written_twice": 0.03,
            "tire_written": 0.0,
            "event_written": 0.2,
            "odometer_missing": 0.15,
            "odometer_typo": 0.02,
            "odometer_resets_per_year": 0.1,
            "warm_visits": 0.10,
            "warm_tires": 0.02,
            "warm_flagged": 0.2,
            "fill_written": 0.2,
            "ambient_written": 0.5,
            "pressure_sd_psi": 1.6,
            "pressure_reader_sd_psi": 2.0,
            "pressure_slip": 0.008,
        },
    ),
    "wrong_pressure": Scenario(
        "typical, but tires that lose air wear faster while they are low",
        {"pressure_loss_per_month": 0.02},
    ),
    "wrong_curve": Scenario(
        "typical, but the rate has two steps: fast to 70 % of the new depth, slow below",
        {"curve": "two_phase"},
    ),
    "wrong_brands": Scenario(
        "typical, but two brands of tires, one much softer, and nobody writes down which",
        {"brand_gap": 0.5},
    ),
}
