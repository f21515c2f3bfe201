"""Every number of the simulated fleets, with its words, unit of measure and origin."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from types import MappingProxyType
from typing import Any


def _one(value: Any, measure: str, words: str, origin: str) -> Any:
    return field(default=value, metadata={"measure": measure, "words": words, "origin": origin})


def _by(values: dict[str, Any], measure: str, words: str, origin: str) -> Any:
    metadata = {"measure": measure, "words": words, "origin": origin}
    return field(default_factory=lambda: MappingProxyType(values), metadata=metadata)


_INVENTED = "invented"
_RATE_ORIGIN = "formulas 5.2: lives of Truck News, Team Run Smart, Land Line 2009; middle of the range"


@dataclass(frozen=True)
class Process:
    """How a simulated fleet runs, wears, is read and gets its tires: all that :func:`fleet` draws from.

    Lengths are in 32nds of an inch and miles, times in days, spreads of logarithms as they are (0.1 is about 10 %).
    :func:`parameters` lists each number with its measure, what it says and where it comes from.
    """

    # ---- the record
    record_days_at_most: int = _one(100_000, "d", "no record is longer", "none: larger than any")

    # ---- use
    miles_per_month: Mapping[str, float] = _by(
        {
            "tractor linehaul": 10_000.0,
            "tractor regional": 7_500.0,
            "tractor city": 4_500.0,
            "truck regional": 5_000.0,
            "truck city": 3_500.0,
            "trailer linehaul": 7_000.0,
            "trailer regional": 5_000.0,
            "trailer city": 4_000.0,
        },
        "mi/month",
        "distance of the middle unit, by kind and group",
        "common practice, no source; 9.4 of the formulas works with 10 000 mi/month",
    )
    use_level_sd: float = _one(0.20, "log", "between units of one kind and group", _INVENTED)
    use_drift_sd: float = _one(0.10, "log", "slow drift of a unit's use (Ornstein-Uhlenbeck)", _INVENTED)
    use_drift_days: float = _one(90.0, "d", "its relaxation time", _INVENTED)
    use_season: float = _one(0.06, "log", "amplitude of the season in use", _INVENTED)
    use_peak_day: float = _one(
        265.0, "day of year", "when use is highest", "common practice, no source: autumn freight"
    )
    weekday: Mapping[str, tuple[float, ...]] = _by(
        {
            "linehaul": (1.0, 1.2, 1.2, 1.2, 1.1, 0.7, 0.6),
            "regional": (1.2, 1.3, 1.3, 1.3, 1.2, 0.5, 0.2),
            "city": (1.3, 1.3, 1.3, 1.3, 1.3, 0.4, 0.1),
        },
        "share",
        "use of the days Monday to Sunday against their mean, by group",
        _INVENTED,
    )
    idle_short_per_day: Mapping[str, float] = _by(
        {"tractor": 0.015, "truck": 0.015, "trailer": 0.05},
        "1/d",
        "chance that a unit at work stands from the next day on, a short while",
        _INVENTED,
    )
    idle_short_days: float = _one(2.5, "d", "mean length of a short while", _INVENTED)
    idle_long_per_day: Mapping[str, float] = _by(
        {"tractor": 0.0015, "truck": 0.0015, "trailer": 0.003},
        "1/d",
        "chance that a unit at work stands from the next day on, for weeks",
        _INVENTED,
    )
    idle_long_days: float = _one(14.0, "d", "mean length of weeks of standing", _INVENTED)

    # ---- wear
    miles_per_32nd: Mapping[str, float] = _by(
        {"steer": 8_900.0, "drive": 16_300.0, "trailer": 21_900.0},
        "mi/32nd",
        "of the middle tire at half of its new depth, by role",
        _RATE_ORIGIN,
    )
    wear_of_group: Mapping[str, float] = _by(
        {"linehaul": 1.0, "regional": 1.15, "city": 1.4}, "share", "wear against linehaul, by group", _INVENTED
    )
    unit_sd: float = _one(
        0.14, "log", "wear between units of one group", "formulas 5.2: with axle and tire 0.20 (W7, derived)"
    )
    axle_sd: float = _one(0.08, "log", "wear between axles of one unit", "formulas 5.2: see unit_sd")
    tire_sd: float = _one(0.11, "log", "wear between tires of one axle", "formulas 5.2: see unit_sd")
    severity_sd: float = _one(0.07, "log", "slow severity of a unit's roads and drivers (OU)", _INVENTED)
    severity_days: float = _one(120.0, "d", "its relaxation time", _INVENTED)
    wear_season: float = _one(0.05, "log", "amplitude of the season in wear", "formulas 5.7: no default; invented")
    wear_peak_day: float = _one(
        200.0, "day of year", "when wear is fastest", "formulas 5.7: folklore, hot summer roads"
    )
    curve: str = _one("straight", "word", "rate against depth: straight or two_phase", "formulas 5.3, model 3")
    curve_strength: float = _one(
        0.6, "share", "rate at full depth against rate at no depth, less 1; the middle tire", "formulas 5.3: sign only"
    )
    curve_strength_sd: float = _one(0.4, "log", "its spread between tires", _INVENTED)
    brand_gap: float = _one(0.0, "log", "between two brands of tires that nobody writes down", _INVENTED)
    pressure_loss_per_month: float = _one(
        0.0, "share", "loss of pressure, the middle position", "GAO-07-246R: 0.01-0.02"
    )
    pressure_loss_sd: float = _one(0.6, "log", "its spread between positions", _INVENTED)
    pressure_topped_up_days: float = _one(120.0, "d", "mean time between fillings", _INVENTED)
    life_lost_per_pressure: float = _one(
        1.5, "share/share", "life lost for pressure lost, to a fifth at most", "formulas 4: a maker's statement"
    )

    # ---- across the tread
    new_32nds: Mapping[str, float] = _by(
        {"steer": 18.0, "drive": 29.0, "trailer": 16.0},
        "32nds",
        "depth of a new tire, by role",
        "formulas 5.2: Truck News, a dealer",
    )
    new_sd_32nds: float = _one(0.25, "32nds", "its spread between tires", _INVENTED)
    mould_sd_32nds: float = _one(0.25, "32nds", "fixed offset of each groove", _INVENTED)
    one_sided_sd: float = _one(0.04, "share", "wear of outer less middle groove, per axle", _INVENTED)
    shoulder: float = _one(
        0.08, "share", "extra wear of the outside grooves over a whole life, the middle tire", "ROSAP 5836: 10-50 %"
    )
    shoulder_sd: float = _one(0.5, "log", "its spread between tires", _INVENTED)
    out_of_line_per_year: float = _one(0.0, "1/yr", "chance that an axle goes out of line", _INVENTED)
    out_of_line_one_sided_sd: float = _one(0.25, "share", "one-sided wear that it then gains", "5.7: grows steeply")
    out_of_line_rate: float = _one(0.25, "log", "by how much it then wears faster", _INVENTED)

    # ---- readings
    visit_days: float = _one(28.0, "d", "between inspections", "common practice, no source")
    visit_jitter_days: float = _one(4.0, "d", "spread of it", _INVENTED)
    visit_missed: float = _one(0.08, "share", "inspections that do not happen", _INVENTED)
    gauge: str = _one("32nds", "word", "what depths are written in: 32nds or mm", "both in use")
    gauge_step: Mapping[str, float] = _by(
        {"32nds": 1.0, "mm": 0.5}, "32nds, mm", "readings are rounded to it", "common practice, no source"
    )
    reading_sd_32nds: float = _one(0.35, "32nds", "error of one reading", "formulas 9.1: ASNT gauge study, order only")
    readers_per_site: int = _one(3, "count", "people who read at one site", _INVENTED)
    reader_sd_32nds: float = _one(0.25, "32nds", "between readers", "formulas 9.1: ASNT, 0.039 in over all operators")
    wrong_measure: float = _one(0.001, "share", "rows written in the other measure of depth", _INVENTED)
    digit_slip: float = _one(0.001, "share", "rows where one depth loses or gains its ten", _INVENTED)
    swapped: float = _one(0.004, "share", "inspections where two positions are swapped", _INVENTED)
    off_by_steps: float = _one(0.004, "share", "inspections where every depth is off by two steps", _INVENTED)
    wrong_unit: float = _one(0.0, "share", "inspections written under another unit of the kind", _INVENTED)
    written_twice: float = _one(0.0, "share", "inspections that stand twice in the record", _INVENTED)
    tire_written: float = _one(0.4, "share", "inspections with the numbers of the tires", _INVENTED)

    # ---- air in the tires
    target_psi: Mapping[str, float] = _by(
        {"steer": 110.0, "drive": 100.0, "trailer": 100.0}, "psi", "cold target, by role", "common practice, no source"
    )
    air_loss_per_month: float = _one(
        0.018, "share", "of the gauge pressure that the middle sound tire loses", "formulas 3.1: 1-3 psi a month, truck"
    )
    air_loss_sd: float = _one(0.35, "log", "its spread between tires", _INVENTED)
    leaks_per_year: float = _one(0.20, "1/yr", "slow leaks that begin at a sound tire", _INVENTED)
    leak_psi_per_month: float = _one(
        6.5,
        "psi/month",
        "that the middle slow leak adds at target pressure",
        "formulas 3.1: above 5 is a leak; invented",
    )
    leak_sd: float = _one(0.5, "log", "its spread", _INVENTED)
    leak_least_psi_per_month: float = _one(3.0, "psi/month", "what leaks less is no leak", _INVENTED)
    leak_by_hole: float = _one(
        0.5, "share", "leaks that follow the absolute pressure (choked hole), the others the gauge pressure", _INVENTED
    )
    leak_repaired: float = _one(0.2, "share", "leaks repaired where the tire is found low, else only filled", _INVENTED)
    low_share: float = _one(0.90, "share", "of target, as read: below it people look for a leak", _INVENTED)
    abrupt_per_year: float = _one(0.03, "1/yr", "tires that lose much within a day", _INVENTED)
    abrupt_share: tuple[float, float] = _one((0.15, 0.7), "share", "of the pressure that they then lose", _INVENTED)
    fill_below_psi: float = _one(4.0, "psi", "below target as read: it may be filled", _INVENTED)
    filled: float = _one(0.5, "share", "such tires that are filled at the inspection", _INVENTED)
    fill_written: float = _one(0.6, "share", "fillings that are written down", _INVENTED)
    fill_sd_psi: float = _one(1.0, "psi", "error of a filling", _INVENTED)
    road_fills_per_year: float = _one(
        0.8, "1/yr", "days on which a driver fills what is low; nobody writes it", _INVENTED
    )
    ambient_mean_degf: Mapping[str, float] = _by(
        {"North": 45.0, "South": 67.0, "West": 54.0}, "degF", "mean of the year, by site", _INVENTED
    )
    ambient_season_degf: float = _one(24.0, "degF", "amplitude of the season", _INVENTED)
    ambient_weather_degf: float = _one(8.0, "degF", "spread of the weather (OU)", _INVENTED)
    ambient_weather_days: float = _one(5.0, "d", "its relaxation time", _INVENTED)
    ambient_hour_degf: float = _one(5.0, "degF", "spread of the hour of the day", _INVENTED)
    altitude_ft: Mapping[str, float] = _by(
        {"North": 800.0, "South": 150.0, "West": 4300.0}, "ft", "of the yard, by site", _INVENTED
    )
    tire_over_ambient_degf: float = _one(
        4.0, "degF", "spread of gas against air, all tires of a visit: sun, shade", "1.6"
    )
    tire_spread_degf: float = _one(2.0, "degF", "the same between tires", "formulas 1.6: up to 20 F sun to shade")
    thermometer_sd_degf: float = _one(2.0, "degF", "error of the temperature that is written", _INVENTED)
    tire_temperature_written: float = _one(0.15, "share", "inspections with the temperature of the tires", _INVENTED)
    ambient_written: float = _one(0.7, "share", "inspections with the temperature of the air", _INVENTED)
    altitude_written: float = _one(0.3, "share", "units whose readings carry the altitude", _INVENTED)
    warm_visits: float = _one(0.06, "share", "inspections of a unit that has just run", _INVENTED)
    warm_tires: float = _one(0.01, "share", "single tires that are warm: sun, a dragging brake", _INVENTED)
    warm_flagged: float = _one(0.5, "share", "warm inspections that are flagged as such", _INVENTED)
    warm_rise: tuple[float, float] = _one((0.05, 0.20), "share", "of the cold pressure, added", "formulas 1.6: 10-20 %")
    pressure_gauge: str = _one("psi", "word", "what pressures are written in: psi or kpa", "both in use")
    pressure_step: Mapping[str, float] = _by(
        {"psi": 1.0, "kpa": 10.0}, "psi, kPa", "readings are rounded to it", "common practice, no source"
    )
    pressure_sd_psi: float = _one(1.0, "psi", "error of one reading", "formulas 9.1: stick gauge, order only")
    pressure_reader_sd_psi: float = _one(1.0, "psi", "between readers' gauges", "formulas 9.1: 3 % when new at most")
    pressure_visit_sd_psi: float = _one(0.7, "psi", "shared by one inspection", _INVENTED)
    pressure_missing: float = _one(0.02, "share", "tires whose pressure was not read", _INVENTED)
    pressure_slip: float = _one(0.002, "share", "pressures written ten too high or too low", _INVENTED)

    # ---- odometers
    has_odometer: Mapping[str, float] = _by(
        {"tractor": 1.0, "truck": 1.0, "trailer": 0.5}, "share", "units with an odometer, by kind", _INVENTED
    )
    odometer_missing: float = _one(0.05, "share", "inspections without it on units that have one", _INVENTED)
    odometer_typo: float = _one(0.003, "share", "odometers with a slip of a digit", _INVENTED)
    odometer_resets_per_year: float = _one(0.0, "1/yr", "odometers exchanged, counting from zero", _INVENTED)

    # ---- tires come and go
    legal_32nds: Mapping[str, float] = _by(
        {"steer": 4.0, "drive": 2.0, "trailer": 2.0}, "32nds", "legal minimum, by role", "49 CFR 393.75(b), (c)"
    )
    pull_margin_32nds: float = _one(2.0, "32nds", "the fleet pulls at the minimum and this", "formulas 7.2: 5-6 steer")
    pull_sd_32nds: float = _one(0.6, "32nds", "spread of the depth at which people pull", _INVENTED)
    pulled_in_pairs: float = _one(0.3, "share", "worn tires whose mate goes with them", _INVENTED)
    damage_per_year: float = _one(0.06, "1/yr", "tires lost to damage", _INVENTED)
    shop_days_at_most: int = _one(3, "d", "from the inspection to the work, at least 1", _INVENTED)
    event_written: float = _one(0.5, "share", "works on tires that are written down", _INVENTED)
    read_at_work: float = _one(0.6, "share", "works written down with the depths", _INVENTED)
    rotated_every_days: float = _one(0.0, "d", "axles change their tires crosswise; 0: never", _INVENTED)
    steer_moved_on_32nds: float = _one(
        0.0, "32nds", "steer tires taken off at this depth for drive and trailer axles; 0: never", "common practice"
    )
    first_worn: tuple[float, float] = _one(
        (0.05, 0.9), "share", "usable tread gone on the first day of the record", _INVENTED
    )


def parameters(process: Process) -> list[dict[str, Any]]:
    """Each number of a process: its ``name``, ``value``, ``measure``, ``words`` and ``origin``.

    Parameters
    ----------
    process : Process
        From :func:`wheelend.simulate.process_of`.

    Returns
    -------
    list of dict
        One per field, in the order of the class.
    """
    return [{"name": f.name, "value": getattr(process, f.name), **f.metadata} for f in fields(process)]


def pull_32nds(process: Process, role: str) -> float:
    """The fleet's own pull depth of a role: the limit that due dates speak of."""
    return process.legal_32nds[role] + process.pull_margin_32nds


def taken_off_32nds(process: Process, role: str) -> float:
    """Depth at which a tire leaves its position: the pull depth, for steer tires that move on a higher one."""
    pull = pull_32nds(process, role)
    return max(pull, process.steer_moved_on_32nds) if role == "steer" else pull
