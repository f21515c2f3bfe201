"""The data dictionary: every column that is read or written, once.

Readers, checks and messages take names, measures and ranges from here.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
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


def _measured(
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


def _code(name: str, words: str, key: bool = False, level: Level = "wheel") -> Column:
    return Column(name, "code", words, key=key, codes=tuple(_core.codes[name]), level=level)


def _words(name: str, words: str, codes: str) -> Column:
    return Column(name, "code", words, codes=tuple(codes.split()))


def _flag(name: str, words: str, level: Level = "wheel", usual: str = "") -> Column:
    return Column(name, "yes_no", words, level=level, usual=usual)


# Bounds of depth: no truck tire is made deeper than about 32/32 in; 40/32 leaves room (common practice, no source).
_DEPTH = (0.0, 40.0, "32nds")
_DEPTH_WORDS = "deeper than any new tire (40/32 in): was it read in another measure? Correct it"
_USUAL_DEPTH = 32.0
# Truck tires are marked up to about 145 psi; gauges end at 200 (common practice, no source).
_PRESSURE = (0.0, 200.0, "psi")
_PRESSURE_WORDS = "beyond what a tire gauge shows (200 psi): was it read in another measure? Correct it"

_WHEEL = (
    Column("unit", "text", "unit number, unique per vehicle or trailer", key=True),
    Column("axle", "whole", "counted from the front of this unit, from 1", key=True, least=1, most=30, level="axle"),
    _code("side", "left or right, seen facing forward", key=True),
    _code("dual", "single, outer or inner", key=True),
)
_OF_POSITION = (
    _code("kind", "truck, tractor, bus, trailer or dolly", level="unit"),
    _code("role", "steer, drive, trailer, tag, pusher, lift or dolly", level="axle"),
    _measured("target", "cold target, gauge", PRESSURE, _PRESSURE, _PRESSURE_WORDS),
    _measured("needed", "cold pressure that the load carried needs, gauge", PRESSURE, _PRESSURE, _PRESSURE_WORDS),
    _measured("pull", "the fleet's own pull depth", LENGTH, _DEPTH, _DEPTH_WORDS),
    _measured("axle_load", "load on the axle", LOAD, (0.0, 60000.0, "lb"), level="axle"),
    _measured("end_load", "load on this end of the axle", LOAD, (0.0, 40000.0, "lb")),
    _measured("gvwr", "gross vehicle weight rating", LOAD, (0.0, 400000.0, "lb"), level="unit"),
    Column("built_on", "date", "date of manufacture of the unit", level="unit"),
    Column("inspected_on", "date", "date of the last periodic inspection", level="unit"),
    _flag("manufactured_home", "the trailer moves a manufactured home", "unit", "no"),
    _flag("minibus", "bus of 9 to 16 seats", "unit", "no"),
    _flag("new_vehicle", "not yet delivered to its first user", "unit", "no"),
    Column("combination", "text", "units that were presented together carry the same word here", level="unit"),
)
_OF_TIRE = (
    _measured("rated_load", "maximum load rating of the tire, single", LOAD, (100.0, 20000.0, "lb")),
    _measured("rated_load_dual", "maximum load rating of the tire in a dual pair", LOAD, (100.0, 20000.0, "lb")),
    _measured("sidewall_max", "maximum pressure marked on the sidewall, gauge", PRESSURE, _PRESSURE, _PRESSURE_WORDS),
    _flag("retread", "the tire is a retread"),
    _flag("regrooved", "the tire is regrooved", usual="no"),
    _flag("winter_tire", "the tire counts as a winter tire", usual="no"),
    Column("size", "text", "size of the tire"),
    _words("construction", "radial or bias", "radial bias"),
)
POSITIONS = _WHEEL + _OF_POSITION + _OF_TIRE
READINGS = (
    *_WHEEL,
    Column("read_on", "date", "date or RFC 3339 timestamp of the reading", key=True),
    _measured("odometer", "odometer; hub odometer for trailers", DISTANCE, (0.0, 5_000_000.0, "mi")),
    Column("tire", "text", "serial or brand number"),
    Column("reader", "text", "who read"),
    Column("place", "whole", "place round the tire, from 1", least=1, most=1000),
    Column("tread_barred", "grooves", "grooves that contain a wear indicator; default all"),
    Column("not_admissible", "grooves", "grooves read on a tie bar, hump or fillet"),
    Column("tread_at", "percents", "percent of the breadth from the outer edge, one per groove, ; between"),
    _measured("pressure", "gauge pressure as found", PRESSURE, _PRESSURE, _PRESSURE_WORDS),
    _measured("inflated_to", "gauge pressure it was set to afterwards", PRESSURE, _PRESSURE, _PRESSURE_WORDS),
    Column("warm", "yes_no", "run within three hours"),
    _measured("speed_last_hour", "average speed over the last hour", SPEED, (0.0, 100.0, "mph")),
    # Rubber fails above about 150 degC; the coldest and hottest air on record lie inside -90..60 degC (WMO archive).
    _measured("tire", "temperature of the gas in the tire", ("degf", "degc"), (-90.0, 150.0, "degc")),
    _measured("ambient", "temperature of the air", ("degf", "degc"), (-90.0, 60.0, "degc")),
    # Shore of the Dead Sea and the highest motor roads: common practice, no source.
    _measured("altitude", "altitude of the place", ("ft", "m"), (-500.0, 6000.0, "m")),
    _code("event", "fitted, removed, rotated, retreaded or regrooved"),
)
GROOVE = _measured("tread", "depth of one groove", LENGTH, _DEPTH, _DEPTH_WORDS, _USUAL_DEPTH)
TIRES = (
    Column("tire", "text", "serial or brand number", key=True),
    Column("make", "text", "maker"),
    Column("design", "text", "tread design"),
    _measured("new", "depth when new", LENGTH, (2.0, 40.0, "32nds"), _DEPTH_WORDS),
    *_OF_TIRE,
    Column("date_code", "text", "date part of the identification number, or the whole number"),
    Column("retread_date_code", "text", "date part of the retreader's number, or the whole number"),
    _measured("diameter", "overall diameter", ("in", "mm"), (10.0, 80.0, "in")),
    _measured("circumference", "circumference", ("in", "mm"), (30.0, 250.0, "in")),
    _measured("marked_speed", "maximum speed marked on the sidewall, 55 mph or less", SPEED, (0.0, 100.0, "mph")),
)

# ---- wheel-end readings


@dataclass(frozen=True)
class Quantity:
    """A quantity of the wheel-end readings.

    ``dimension`` is that of its values; ``"observation"`` for what is there or not. ``least`` and ``most`` (in
    ``range_measure``) bound what is taken for a reading.
    """

    name: str
    dimension: str
    words: str
    least: float = 0.0
    most: float = 0.0
    range_measure: str = ""


def _lengths(least: float, most: float, *named: tuple[str, str]) -> tuple[Quantity, ...]:
    return tuple(Quantity(name, "length", words, least, most, "in") for name, words in named)


def _seen(*named: tuple[str, str]) -> tuple[Quantity, ...]:
    return tuple(Quantity(name, "observation", words) for name, words in named)


def _counted(*named: tuple[str, str]) -> tuple[Quantity, ...]:
    return tuple(Quantity(name, "count", words, 0.0, 100.0, "count") for name, words in named)


def _pressures(*named: tuple[str, str]) -> tuple[Quantity, ...]:
    return tuple(Quantity(name, "pressure", words, 0.0, 200.0, "psi") for name, words in named)


# Ranges: what the part or the gauge can show at all (common practice, no source).
QUANTITIES: tuple[Quantity, ...] = (
    *_lengths(
        0.0, 3.0,
        ("lining_thickness", "brake lining, at the center of the shoe"),
        ("pad_thickness", "brake pad of a disc brake"),
        ("rubber_over_cord", "rubber left over the cord of a regrooved tire"),
        ("groove_width", "width of a new groove of a regrooved tire"),
        ("ring_gap", "end gap of a lock ring"),
        ("bearing_end_play", "end play of the wheel bearing, by dial indicator"),
        ("drum_out_of_round", "out-of-round of the drum, on the diameter"),
        ("bead_runout", "runout of the rim bead, total"),
        ("scribe_movement", "movement of the scribe mark on a wedge brake's lining"),
        ("rotor_thickness", "brake rotor"),
    ),
    *_lengths(
        0.0, 5.0,
        ("pushrod_stroke", "stroke of the pushrod, brakes fully applied"),
        ("free_stroke", "stroke until the linings touch"),
        ("slack_pull", "travel of the slack adjuster when pulled by hand"),
    ),
    *_lengths(0.0, 12.0, ("slack_length", "effective length of the slack adjuster")),
    *_lengths(
        0.0, 40.0,
        ("drum_diameter", "braking diameter of the drum"),
        ("cut_length", "cut that reaches ply or cord"),
        ("dual_spacing", "spacing of a dual pair, center to center"),
    ),
    Quantity("stopping_distance", "length", "from 20 mph, service brakes", 0.0, 500.0, "ft"),
    Quantity("fastener_torque", "torque", "tightening torque of one wheel fastener", 0.0, 1500.0, "lbft"),
    Quantity("retorque_distance", "length", "distance run from fitting to the recheck of torque", 0.0, 10000.0, "mi"),
    Quantity("hub_temperature", "temperature", "surface of the hub after a run", -90.0, 500.0, "degc"),
    *_counted(
        ("fasteners_defective", "fasteners missing, loose, broken, cracked or stripped"),
        ("fasteners_missing", "fasteners missing"),
        ("fasteners_loose", "fasteners loose"),
        ("fasteners_side_by_side", "most defective fasteners side by side"),
        ("bolt_stand_out", "threads of the bolt beyond the nut"),
    ),
    Quantity("static_leak", "pressure_per_time", "loss of air, engine off, brakes released",
             -50.0, 200.0, "psi_per_min"),
    Quantity("applied_leak", "pressure_per_time", "loss of air, engine off, brakes applied, after the first drop",
             -50.0, 200.0, "psi_per_min"),
    *_pressures(
        ("low_air_warning", "pressure at which the low-air warning comes on; 0 if it never did"),
        ("valve_closes", "pressure at which the spring brake or tractor protection valve closes"),
        ("cut_in", "governor cut-in"),
        ("cut_out", "governor cut-out"),
        ("pressure_after_application", "reservoir after one full application, engine off"),
    ),
    Quantity("build_up_85_to_100", "time", "build-up from 85 to 100 psi", 0.0, 3600.0, "s"),
    Quantity("build_up_50_to_90", "time", "build-up from 50 to 90 psi at fast idle", 0.0, 3600.0, "s"),
    *_seen(
        ("ply_showing", "body ply or belt shows through tread or sidewall"),
        ("tread_separation", "tread or sidewall separated, or a bulge with separation"),
        ("air_leak", "tire flat, or a leak that can be heard or felt"),
        ("cut_to_ply", "cut that reaches ply or belt"),
        ("tire_contact", "tire touches the vehicle or its dual mate"),
        ("not_for_highway", "tire marked not for highway use"),
        ("boot_or_patch", "boot or blowout patch in the tire"),
        ("flap_through_slot", "tube flap through the valve slot of the rim"),
        ("tube_stem_unmarked", "tube-type radial without the mark of a radial on its stem"),
        ("level_with_indicator", "tread level with the wear indicator of the tire, or the indicator touches the road"),
        ("grooves_not_visible", "base of an original groove cannot be seen"),
        ("date_code_illegible", "date code cannot be read"),
        ("sidewall_cut", "cut in the sidewall, depth not known"),
        ("valve_cap_missing", "valve cap missing"),
        ("valve_stem_damaged", "valve stem bent, cracked or loose"),
        ("wheel_cracked", "wheel or rim cracked or broken"),
        ("holes_elongated", "stud or bolt holes out of round"),
        ("ring_defect", "lock or side ring bent, broken, cracked, badly seated, sprung or mismatched"),
        ("weld_defect", "crack at the disc-to-rim weld, or a welded repair that is not allowed"),
        ("rust_streak", "rust streak from a fastener"),
        ("hub_leak", "hub seal leaks"),
        ("hub_leak_on_lining", "hub seal leaks onto the lining"),
        ("hub_cap_missing", "bearing cap or plug missing so that the inside shows"),
        ("hub_smoking", "hub smokes from a failed bearing"),
        ("bearing_play_excessive", "wheel bearing play felt as excessive"),
        ("lining_loose", "lining loose on its shoe"),
        ("lining_soaked", "lining soaked with oil, grease or brake fluid"),
        ("lining_at_indicator", "lining worn to its wear indicator"),
        ("brake_inoperative", "brake without action, or missing"),
        ("axle_part_defect", "suspension or axle positioning part cracked, broken, loose or missing"),
        ("air_not_held", "reservoir pressure not held, governor at cut-in, idling, full application"),
    ),
)  # fmt: skip
# What people write for a column in their own tables, in plain spelling, with or without "number", "no" or "id" behind
# it: never read, only named in what is said of it.
OTHER_NAMES: dict[str, tuple[str, ...]] = {
    "unit": ("vehicle", "truck", "trailer", "fleet number"),
    "side": ("left right", "left or right"),
    "dual": ("inner outer", "inner or outer", "inside outside", "dual position", "single or dual"),
    "read_on": ("date", "day", "reading date", "date read", "date of reading", "inspection date", "inspected on",
                "measured on", "checked on", "date checked"),
    "odometer": ("mileage", "miles", "kilometers", "odometer reading", "hubometer", "hub odometer"),
    "tire": ("tire serial", "serial", "brand number", "tyre"),
    "reader": ("inspector", "read by", "checked by", "technician"),
    "pressure": ("tire pressure", "tyre pressure", "air pressure", "air", "psi", "kpa"),
    "inflated_to": ("set to", "pressure after", "inflated"),
    "kind": ("vehicle type", "unit type", "type of unit", "type"),
    "role": ("axle type", "axle role"),
    "target": ("target pressure", "recommended pressure", "cold pressure"),
    "pull": ("pull depth", "pull point", "removal depth"),
    "quantity": ("item", "check", "measurement"),
    "present": ("found", "defect"),
    "gvwr": ("gross vehicle weight rating", "gross weight rating"),
    "new": ("new depth", "depth when new", "original depth"),
    "sidewall_max": ("sidewall pressure", "maximum pressure"),
}  # fmt: skip
VALUE_MEASURES = (
    "32nds", "mm", "in", "ft", "m", "mi", "km", "psi", "kpa", "bar", "psi_per_min", "kpa_per_min", "lbft", "nm", "degf",
    "degc", "s", "min", "count",
)  # fmt: skip
VALUE = Column("value", "measured", "what was read", measures=VALUE_MEASURES)

# Systems of wheel fasteners that the torque rows speak of (makers' manuals, see data/limits/trade.csv).
_FASTENERS = (
    "m22_flange_nut m22_flange_nut_older m20_flange_nut cap_nut cap_nut_aluminum heavy_ball_seat spoke_rim_nut "
    "spoke_rim_nut_spacer stud_back_nut two_piece_33mm"
)
_QUALIFIERS = (
    _words("brake", "kind of brake", "air_drum air_disc hydraulic_drum hydraulic_disc electric wedge"),
    _words("lining", "lining of a shoe: one strip, or two pads", "strip two_pads"),
    _words("bonding", "how the lining is held", "riveted bonded"),
    _words("chamber", "type of brake chamber", "clamp bolt roto dd3 other"),
    _words("chamber_size", "size of the chamber; of bolt-type chambers a letter",
           "6 9 12 16 20 24 30 36 50 A B C D E F G"),
    _words("stroke_family", "standard or long stroke", "standard long"),
    _measured("rated_stroke", "stroke that the chamber is rated for", LENGTH, (0.0, 6.0, "in")),
    _measured("marked", "limit that the maker marked or cast on the part", LENGTH, (0.0, 40.0, "in")),
    _measured("original", "size when new", LENGTH, (0.0, 40.0, "in")),
    _measured("section_width", "section width of the tire", LENGTH, (0.0, 30.0, "in")),
    _words("fastener", "system of the wheel fasteners", _FASTENERS),
    _words("thread", "condition of the threads", "oiled dry"),
    Column("fasteners", "whole", "fasteners of the wheel, when complete", least=1, most=100),
    _words("bearing", "how the bearing is set", "adjusted preset"),
    _measured("reservoir", "reservoir pressure at the test", PRESSURE, (0.0, 200.0, "psi"), level="unit"),
    _measured("before", "pressure before the brakes were applied", PRESSURE, (0.0, 200.0, "psi"), level="unit"),
    _measured("start", "pressure when timing began", PRESSURE, (0.0, 200.0, "psi"), level="unit"),
    _measured("end", "pressure when timing ended", PRESSURE, (0.0, 200.0, "psi"), level="unit"),
    _measured("cut_out", "governor cut-out", PRESSURE, (0.0, 200.0, "psi"), level="unit"),
    _measured("duration", "time from start to end", ("s", "min"), (0.1, 86400.0, "s"), level="unit"),
    Column("combination_units", "whole", "units of the combination, the power unit included", least=1, most=5,
           level="unit"),
    _words("air_system", "air brake system", "dual single"),
)  # fmt: skip
WHEELEND_READINGS = (
    Column("unit", "text", "unit number", key=True),
    Column("axle", "whole", "axle; blank for a reading of the whole unit", least=1, most=30),
    _code("side", "left or right; blank for a reading of the axle or unit"),
    _code("dual", "single, outer or inner; blank for a reading of the wheel end"),
    Column("read_on", "date", "date or RFC 3339 timestamp of the reading", key=True),
    Column("quantity", "code", "what was read", key=True, codes=tuple(q.name for q in QUANTITIES)),
    VALUE,
    _flag("present", "of an observation: whether it is there"),
    Column("place", "whole", "stud, shoe or other place at one wheel end, from 1", least=1, most=1000),
    Column("reader", "text", "who read"),
    Column("combination", "text", "units that were presented together carry the same word here", level="unit"),
    *_QUALIFIERS,
)
# What money goes to; of each kind the words that `wheelend words item` shows.
ITEMS = (
    "new_tire", "retread", "casing_credit", "labor", "disposal", "downtime_visit", "downtime_hour", "road_call",
)  # fmt: skip
PRICES = (
    Column("item", "code", "new_tire, retread, casing_credit, labor (per change), disposal (per tire), downtime_visit, "
           "downtime_hour or road_call", key=True, codes=ITEMS),
    Column("amount", "number", "amount of money, 0 or more; a credit too is written without a sign", key=True,
           least=0.0, most=1e9),
    Column("currency", "text", "code of ISO 4217, e.g. USD", key=True),
    Column("size", "text", "only for tires of this size"),
    Column("make", "text", "only for tires of this maker"),
    Column("design", "text", "only for tires of this tread design"),
    Column("role", "code", "only for wheel positions of this role", codes=tuple(_core.codes["role"])),
    Column("site", "text", "only at this site"),
    Column("valid_from", "date", "first day on which the price holds", to_come=True),
    Column("valid_to", "date", "last day on which the price holds", to_come=True),
)  # fmt: skip
PURCHASES = (
    Column("bought_on", "date", "day on which the tires were bought", key=True),
    Column("tires", "whole", "how many", key=True, least=0, most=100_000),
    Column("amount", "number", "what was paid for them, together", least=0.0, most=1e12),
    Column("currency", "text", "code of ISO 4217, e.g. USD"),
)
TABLES: dict[str, tuple[Column, ...]] = {
    "readings": READINGS,
    "positions": POSITIONS,
    "tires": TIRES,
    "wheelend_readings": WHEELEND_READINGS,
    "prices": PRICES,
    "purchases": PURCHASES,
}


@cache
def columns(table: str) -> dict[tuple[str, bool], Column]:
    """Columns of a table by (name, measured): ``tire`` is a number of a tire, ``tire_degf`` a temperature."""
    return {(c.name, c.form == "measured"): c for c in TABLES[table]}


@dataclass(frozen=True)
class Result:
    """A column of a result table: its name (``<m>`` stands for a measure) and what it says."""

    name: str
    words: str


_PLACE = (
    Result("unit", "unit number"),
    Result("axle", "axle, from the front of the unit"),
    Result("side", "left or right, facing forward"),
    Result("dual", "single, outer or inner"),
)
_QUANTILE_WORDS = "quantile; 0 if it is there already, missing beyond ten years"


def _interval(name: str) -> tuple[Result, Result]:
    return Result(f"{name}_low", f"of {name}: 95 % interval"), Result(f"{name}_high", f"of {name}: 95 % interval")


_DAY_WORDS = "quantile; as_of if it is already, missing beyond ten years"
QUANTILES = ("p05", "p10", "p25", "p50", "p75", "p90", "p95")
DEMAND_LEVELS = {"p10": 0.10, "p50": 0.50, "p90": 0.90}
RESULTS: dict[str, tuple[Result, ...]] = {
    "judge": (
        *_PLACE,
        Result("read_on", "when the reading was taken"),
        Result("quantity", "tread_depth, pressure, another that limits speak of, or one of the wheel-end readings"),
        Result("reading", "the value that was compared, in `measure`"),
        Result("measure", "the measure of the clause"),
        Result("limit", "the bound of the clause"),
        Result("sense", "the condition that passes"),
        Result("margin", "reading minus limit, positive on the passing side"),
        Result("verdict", "pass, fail or no_verdict"),
        Result("severity", "violation, out_of_service, own or advice"),
        Result(
            "limit_id", "row of the limit set; OWN-PULL is the position's own pull depth; null where none speaks of it"
        ),
        Result("clause", "where it is written"),
        Result("would_fail", "whether only its row's being from memory keeps it from failing"),
        Result("reason", "why, where there is something to say"),
        Result("as_read", "number, measure and groove as they were written"),
    ),
    "pressures": (
        *_PLACE,
        Result("read_on", "when the reading was taken"),
        Result("pressure_<m>", "gauge pressure as found"),
        Result("cold_<m>", "cold pressure at the reference temperature"),
        Result("target_<m>", "cold target"),
        Result("deviation_<m>", "cold minus target"),
        Result("deviation_percent", "the same as a share of the target"),
        Result("method", "as_read, gas_law, federal_subtraction or none"),
        Result("state", "on_target, under, over, demount, flat or unknown"),
        Result("reason", "why, where there is something to say"),
    ),
    "standing": (
        Result("unit", "unit number"),
        Result("kind", "kind of unit"),
        Result("standing", "hold, watch, clear or unread"),
        Result("worst_position", "position that decides, in words"),
        Result("reason", "reading, limit and clause that decide"),
        Result("verdicts_failed", "verdicts that fail; a pressure below the fleet's own target is left to its state"),
        Result("due_within_30_days", "tires whose median due date lies within 30 days"),
        Result("days_since_read", "days from the last reading of the unit to as_of"),
    ),
    "wear": (
        *_PLACE,
        Result("fitted_on", "when this tire was fitted; missing if before the record"),
        Result("readings_used", "inspections of this fitment with tread"),
        Result("depth_<m>", "shallowest groove at as_of, estimated"),
        Result("rate_<m>", "wear per distance; missing without an odometer"),
        Result("rate_se_<m>", "its standard error"),
        Result("rate_<m>_per_month", "wear per month of 30.4375 days"),
        Result("rate_se_<m>_per_month", "its standard error, the doubt about future use included"),
        Result("limit_<m>", "depth at which it is due"),
        *(Result(f"remaining_mi_{q}", _QUANTILE_WORDS) for q in QUANTILES),
        *(Result(f"remaining_days_{q}", _QUANTILE_WORDS) for q in QUANTILES),
        *(Result(f"due_{q}", _QUANTILE_WORDS) for q in QUANTILES),
        Result("status", "from_readings, from_group, at_limit, not_within_ten_years or no_limit"),
        Result("reason", "why, in words"),
    ),
    "wear_of": (
        *_PLACE,
        Result("place", "stud, shoe or other place at one wheel end"),
        Result("fitted_on", "first reading since it was replaced, adjusted or repaired; missing if before the record"),
        Result("readings_used", "readings since then"),
        Result("last_read_on", "day of the last of them"),
        Result("last_<m>", "the last reading; a leak-down brought to one starting pressure"),
        Result("<quantity>_<m>", "the quantity at as_of, estimated"),
        Result("rate_<m>_per_<distance>", "how fast it goes to its limit by distance; missing where it goes by time"),
        Result("rate_se_<m>_per_<distance>", "its standard error"),
        Result("rate_<m>_per_month", "the same per month of 30.4375 days"),
        Result("rate_se_<m>_per_month", "its standard error, the doubt about future use included"),
        Result("limit_<m>", "value at which it is due"),
        *(Result(f"remaining_mi_{q}", _QUANTILE_WORDS) for q in QUANTILES),
        *(Result(f"remaining_days_{q}", _QUANTILE_WORDS) for q in QUANTILES),
        *(Result(f"due_{q}", _QUANTILE_WORDS) for q in QUANTILES),
        Result("status", "from_readings, from_group, at_limit, not_within_ten_years or no_limit"),
        Result("reason", "why, in words, with the row of the limit"),
    ),
    "mates": (
        Result("unit", "unit number"),
        Result("axle", "axle, from the front of the unit"),
        Result("side", "side of a dual pair; missing for the two sides of an axle"),
        Result("dual", "for the two sides of an axle: single, outer or inner tires"),
        Result("mates", "dual: outer against inner; axle: left against right"),
        Result("quantity", "pressure or depth"),
        Result("measure", "measure of difference, bound and drift"),
        Result("visits", "days on which both were read, since either was changed"),
        Result("last_read_on", "the last of them"),
        Result("difference", "outer minus inner, or left minus right, at as_of"),
        Result("bound", "what mates may differ by"),
        Result("drift_per_month", "how the difference changes in 30.4375 days; missing below three visits"),
        Result("drift_low", "of the drift: 95 % interval"),
        Result("drift_high", "of the drift: 95 % interval"),
        Result(
            "passes_on",
            "when the difference passes the bound; missing where the drift does not lead there within ten years",
        ),
        Result("passes_early", "the same at the fast end of the interval"),
        Result("passes_late", "the same at the slow end; missing where the interval holds 0"),
        Result("state", "apart, drifting, steady or too_few"),
        Result("reason", "which is the lower one, and what to look at"),
    ),
    "hubs": (
        Result("unit", "unit number"),
        Result("axle", "axle, from the front of the unit"),
        Result("side", "left or right, facing forward"),
        Result("read_on", "day of the run"),
        Result("temperature_<m>", "surface of the hub after the run"),
        Result("score", "robust score against the other hubs of the unit; missing below four hubs"),
        Result("above_mate_<m>", "degrees above the other side of the axle"),
        Result("state", "hot, like_the_others or unknown"),
        Result("reason", "why, and what to check"),
    ),
    "fitments": (
        *_PLACE,
        Result("tire", "its number, where one was written"),
        Result("from", "first day that shows it there; missing if it was there when the record begins"),
        Result("to", "first day that shows it gone; missing if it is still there"),
        Result(
            "how_begun", "first reading, tire number, event, rise in depth, depths of another position, fall in depth"
        ),
        Result("how_ended", "replaced, moved, removed or in use"),
        Result("confidence", "that it is one tire that began there and, where it moved, that tire; 0 to 1"),
        Result("readings", "inspections with tread, slips left out"),
        Result("first_<m>", "middle of its grooves at the first of them"),
        Result("last_<m>", "middle of its grooves at the last"),
        Result("came_from", "position at which the same tire was before"),
        Result("reason", "why it is taken for another tire"),
    ),
    "doubts": (
        *_PLACE,
        Result("read_on", "day of the reading"),
        Result("groove", "the groove in doubt; missing: all of them"),
        Result("depth_<m>", "as read; of all grooves their mean"),
        Result("expected_<m>", "what the other readings of the tire lead to expect"),
        Result("off_<m>", "by how much the reading, or the whole inspection, is off"),
        Result("slip", "unknown, other measure, digit, two positions swapped, whole visit off or another unit"),
        Result("reason", "the same in words"),
    ),
    "patterns": (
        *_PLACE,
        Result("pattern", "one side (outer, inner), both shoulders, center, around, even or too early to say"),
        Result(
            "outer_percent", "wear of the outer edge beyond the middle, of what the middle has worn; negative: less"
        ),
        Result("inner_percent", "the same of the inner edge"),
        Result("edge_se", "standard error of both"),
        Result(
            "around_<m>", "largest difference of one groove round the tire, at the last inspection of several places"
        ),
        Result("since", "from about when on the axle wears one side more; missing: no change found"),
        Result("evidence", "what it rests on"),
        Result("advice", "what the trade looks at first"),
    ),
    "leaks": (
        *_PLACE,
        Result("state", "normal, suspected, slow_leak, refilled_leak, abrupt_loss or unknown"),
        Result("rate_<m>_per_month", "gauge pressure lost in a month at target, all losses together"),
        Result("rate_low", "of it: 5 % quantile"),
        Result("rate_high", "of it: 95 % quantile"),
        Result("first_alarm_on", "day of the first alarm of the tire in use; missing: none"),
        Result("probability", "that it leaks, beyond what a sound tire loses; 0 to 1"),
        Result("cold_<m>", "gauge pressure at as_of, at 68 degF and the standard atmosphere, estimated"),
        Result("cold_se_<m>", "its standard error"),
        Result("target_<m>", "cold target; where none is given the first reading of the tire"),
        Result("readings_used", "readings of the tire in use"),
        Result("last_read_on", "day of the last of them"),
        *(
            Result(f"below_band_on_{q}", f"more than 5 psi below target if nobody fills it; {_DAY_WORDS}")
            for q in QUANTILES
        ),
        *(Result(f"below_80_on_{q}", f"at 80 % of target if nobody fills it; {_DAY_WORDS}") for q in QUANTILES),
        *(Result(f"below_50_on_{q}", f"at half of target if nobody fills it; {_DAY_WORDS}") for q in QUANTILES),
        Result("reason", "why, in words, and what to check first"),
    ),
    "alarms": (
        *_PLACE,
        Result("alarmed_on", "day of the reading that raised it"),
        Result("cold_<m>", "gauge pressure on that day, at 68 degF and the standard atmosphere, estimated"),
        Result("rate_<m>_per_month", "gauge pressure lost in a month at target, by what was known on that day"),
        Result("probability", "that it leaks, by what was known on that day; 0 to 1"),
        Result("reason", "why, in a sentence, and what to check first"),
    ),
    "backtest": (
        Result("readings", "readings of the tire when it was forecast: 1, 2, 3-6, 7+ or all"),
        Result("forecasts", "forecasts of tires that were read again: one per tire and past day (cut)"),
        Result("events", "of these, forecasts of tires that then came to their limit"),
        Result("tires", "tires among the events; one tire is forecast at several cuts"),
        Result("units", "units among the forecasts"),
        Result("censored", "the others: above the limit when last read, or gone before"),
        Result("coverage_50", "share of outcomes between p25 and p75, censoring allowed for; 0.50 is right"),
        *_interval("coverage_50"),
        Result("coverage_90", "share of outcomes between p05 and p95, censoring allowed for; 0.90 is right"),
        *_interval("coverage_90"),
        Result(
            "before_p50", "share of outcomes before the median; 0.50 is right, more: tires are due earlier than told"
        ),
        *_interval("before_p50"),
        Result("bias_days", "median of forecast minus found, days, over the events only"),
        Result("error_days", "median of its size"),
        Result("recalibrated_50", "coverage_50 after `recalibrate`, each unit by what the others show"),
        Result("recalibrated_90", "the same of coverage_90"),
        Result("followed_to", "highest level of a forecast up to which any tire was followed"),
        *(Result(f"level_for_{q}", f"level that `recalibrate` asks of a forecast for its {q}") for q in QUANTILES),
        Result("reason", "what to mind, in words"),
    ),
    "backtest_demand": (
        Result("cut", "past day from which demand was forecast"),
        Result("month", "first day of a whole month after it"),
        *(Result(f"tires_{q}", "quantile of the tires to be fitted, as forecast then") for q in DEMAND_LEVELS),
        Result("fitted", "tires that came new in that month, on the day that shows them"),
        Result("within", "whether that lies between p10 and p90"),
    ),
    "demand": (
        Result("month", "its first day; the first month is what is left of it after as_of"),
        Result("<by>", "with `by`: the group, under the name of its column"),
        Result("days", "days of it that count"),
        *(
            Result(f"tires_{q}", "tires fitted as replacements for any reason: quantile; of one month and group")
            for q in DEMAND_LEVELS
        ),
        Result("tires_mean", "their expected number; unlike quantiles these add up"),
        Result("worn_mean", "of these pulled worn"),
        Result("with_mate_mean", "of these replaced along with a worn mate"),
        Result("damaged_mean", "of these lost early"),
        *(Result(f"spend_{q}", "with prices: what they cost, in `currency`: quantile") for q in DEMAND_LEVELS),
        Result("currency", "with prices: code of ISO 4217; each currency has its row, and none is added to another"),
        Result("spend_mean", "with prices: expected spend, the sum of its parts, which follow"),
        Result("new_tires_mean", "new tires"),
        Result("retreads_mean", "retreads"),
        Result("casings_mean", "credits of casings, below 0"),
        Result("labor_mean", "labor of changes, tires moved on too"),
        Result("disposal_mean", "disposal"),
        Result("downtime_mean", "downtime"),
        Result("unpriced_mean", "expected tires that have no price and are not in the spend"),
    ),
    "against": (
        Result("month", "its first day"),
        Result("days", "days of it that were forecast"),
        *(Result(f"tires_{q}", "tires as forecast before the first purchase: quantile") for q in DEMAND_LEVELS),
        Result("tires_mean", "their expected number then"),
        Result("tires_bought", "tires of the purchases"),
        Result("tires_within", "whether these lie between p10 and p90"),
        *(Result(f"spend_{q}", "with prices: forecast spend on tires alone: quantile") for q in DEMAND_LEVELS),
        Result("spent", "with prices: amounts of the purchases"),
        Result("currency", "with prices: code of ISO 4217"),
    ),
    "explained": (
        Result("cause", "use, wear, early, units_added, units_sold, chance, no_amount or price"),
        Result("tires", "what it adds to the tires expected; all together: bought less expected"),
        Result("spend", "with prices: the same in money; all together: spent less expected"),
        Result("currency", "with prices: code of ISO 4217"),
        Result("found", "what was found of it"),
    ),
    "costs": (
        *_PLACE,
        *(
            Result(n, w)
            for n, w in (
                ("tire", "its number"),
                ("make", "maker"),
                ("design", "tread design"),
                ("size", "size"),
                ("role", "role of the position"),
            )
        ),
        Result("retread", "whether it is one"),
        Result("depth_<m>", "shallowest groove at as_of, estimated"),
        Result("pull_<m>", "depth at which it is due"),
        Result("new_<m>", "depth when new; where the tires table does not say, typical of its role"),
        Result("price", "of a tire like it on the day: new tire or retread"),
        Result("casing_value", "casing credit on the day"),
        Result("cost_per_<m>", "price and labor, less the casing, by depth of tread used"),
        Result("cost_per_mi", "the same by distance, at the tire's own wear rate; missing without an odometer"),
        Result("tread_value", "cost of the tread that is left above the pull depth; the casing is not in it"),
        Result("under_percent", "how far the last cold pressure is below target; 0 at or above it"),
        Result("under_inflation_per_month", "tread that low pressure costs, at 1.5 % of life per 1 % under"),
        Result("under_inflation_low_per_month", "the same at half of that effect"),
        Result("under_inflation_high_per_month", "the same at one and a half of it"),
        Result("currency", "code of ISO 4217; missing: no price"),
        Result("reason", "what is missing, and why"),
    ),
    "costs_by": (
        Result("<by>", "the group, under the name of its column"),
        Result("tires", "tires in use"),
        Result("rate_<m>", "mean wear per distance"),
        Result("cost_per_mi", "sum of costs by sum of miles"),
        Result("life_cost_per_mi", "of a new tire and two retreads, each of the mean of those in use"),
        Result("tread_value", "sum of tread that is left"),
        Result("casing_value", "sum of casings"),
        Result("under_inflation_per_month", "as in `costs`, summed"),
        Result("under_inflation_low_per_month", "as in `costs`, summed"),
        Result("under_inflation_high_per_month", "as in `costs`, summed"),
        Result("currency", "code of ISO 4217; missing: no price"),
    ),
    "pulls": (
        Result("role", "role of the positions"),
        Result("size", "size of the tires"),
        Result("tires", "new tires in use that prices and wear are taken from"),
        Result("pull_32nds", "depth at which tires would be pulled"),
        Result("casings_accepted", "share of casings accepted: illustrative"),
        Result("road_calls", "expected of one tire down to there: illustrative"),
        Result("cost_per_1000mi", "long-run cost"),
        Result("excess_percent", "beyond the depth that costs least"),
        Result("allowed", "whether it is not below the legal minimum and 1/32 in for the error of reading"),
        Result("best", "whether it costs least of those allowed"),
        Result("flat", "whether it costs at most 1 % more than that"),
        Result("currency", "code of ISO 4217"),
    ),
    "orders": (
        Result("have_by", "day from which they may be needed"),
        Result("size", "size of the tires"),
        Result("role", "role of the positions"),
        Result("tire", "new or retread"),
        Result("tires", "to be added by then"),
        Result("tires_so_far", "all from as_of up to the end of that month"),
        Result("expected", "expected need of that month"),
    ),
    "visits": (
        Result("unit", "unit number"),
        Result("visit_on", "median due date of the first tire; as_of where it is past"),
        Result("earliest", "10 % quantile of the first due date"),
        Result("tires", "that are done at that visit"),
        Result("positions", "where they are"),
        Result("sizes", "how many of which size"),
        Result("last_due_p50", "median due date of the last of them"),
    ),
    "whatif": (
        Result("case", "pull_earlier, pull_later, pressures_on_target, no_moves, use_up, use_down, other_tire or own"),
        Result("words", "what is other than in the base case"),
        Result("tires_base", "expected tires of the base case over all months"),
        Result("tires_more", "expected tires of the case less those of the base"),
        *(Result(f"tires_more_{q}", "quantile of that difference over the futures") for q in DEMAND_LEVELS),
        Result("spend_base", "with prices: expected spend of the base case"),
        Result("spend_more", "with prices: of the case less that of the base"),
        *(Result(f"spend_more_{q}", "quantile of that difference over the futures") for q in DEMAND_LEVELS),
        Result("currency", "with prices: code of ISO 4217"),
        Result("source", "where the size of the effect is from"),
    ),
    "issues": (
        Result("file", "file or object that was read"),
        Result("sheet", "sheet of a workbook"),
        Result("row", "row as a spreadsheet shows it; the header is row 1"),
        Result("column", "column as written"),
        Result("text", "what was found"),
        Result("rule", "which check it did not pass"),
        Result("effect", "row: the row is not used; cell: the value is not used; note: used, but look"),
        Result("message", "what is wrong and what to do"),
    ),
    # Tables that pictures are drawn from: wheelend.pictures.NAME_data
    "depth_data": (
        *_PLACE,
        Result("what", "read, read elsewhere (before the tire moved here), in doubt, as of, forecast or due"),
        Result("level", "of a forecast or due date: chance that the depth is there or less by then"),
        Result("on", "the day"),
        Result("days", "the same, counted from as_of; fractions of a day where it is forecast"),
        Result("odometer_<m>", "odometer: as read, or forecast; missing without one"),
        Result("depth_<m>", "shallowest groove, each groove the mean of its places; forecast: the true one"),
        Result("limit_<m>", "depth at which the tire is due"),
    ),
    "due_data": (
        *_PLACE,
        Result("depth_<m>", "shallowest groove at as_of, estimated"),
        Result("limit_<m>", "depth at which it is due"),
        *(Result(f"due_{q}", _QUANTILE_WORDS) for q in ("p05", "p25", "p50", "p75", "p95")),
        Result("state", "at its limit, due within 30 days or later"),
        Result("as_of", "the day of the forecast"),
        Result("later", "tires that have no row: due later, or not within ten years"),
    ),
    "pressure_data": (
        *_PLACE,
        Result("what", "read, or falls to: when a leaking tire falls to a pressure if nobody fills it"),
        Result("level", "of such a date: chance that it is there by then"),
        Result("read_on", "when the reading was taken, or the date"),
        Result("pressure_<m>", "gauge pressure as found"),
        Result("cold_<m>", "cold pressure at the reference temperature"),
        Result("target_<m>", "cold target"),
        Result("low_<m>", "below it a cold pressure is under its target"),
        Result("high_<m>", "above it a cold pressure is over its target"),
        Result("demount_<m>", "at it or below the tire is to be demounted and inspected, not inflated on the vehicle"),
        Result("inflated_to_<m>", "what the tire was set to after the reading, not corrected"),
        Result("state", "on_target, under, over, demount, flat or unknown"),
        Result("alarm", "reason of an alarm that was raised on that day, by what was known then"),
        Result("leak", "state of `leaks`"),
        Result("rate_<m>_per_month", "as of `leaks`: gauge pressure lost in a month at target"),
        Result("reference", "temperature at which cold pressures are stated"),
    ),
    "across_data": (
        *_PLACE,
        Result("read_on", "when the reading was taken"),
        Result("groove", "name of the groove"),
        Result("at_percent", "where it lies, percent of the breadth from the outer edge; evenly spread if not given"),
        Result("depth_<m>", "depth, the mean of the places round the tire"),
        Result("limit_<m>", "depth at which the tire is due"),
        Result("pattern", "as of `patterns`"),
        Result("evidence", "as of `patterns`"),
    ),
    "demand_data": (
        Result("month", "its first day; the first month is what is left of it after as_of"),
        Result("days", "days of it that count"),
        *(Result(f"tires_{q}", "tires fitted as replacements for any reason: quantile") for q in DEMAND_LEVELS),
        Result("tires_mean", "their expected number; unlike quantiles these add up"),
        *(Result(f"total_{q}", "of all months together: quantile") for q in DEMAND_LEVELS),
    ),
    "spend_data": (
        Result("month", "its first day; the first month is what is left of it after as_of"),
        Result("days", "days of it that count"),
        Result("currency", "code of ISO 4217; each currency has its row, and none is added to another"),
        *(
            Result(f"spend_{q}", "what tires and changes cost, at the prices of the log: quantile")
            for q in DEMAND_LEVELS
        ),
        Result("spend_mean", "their expected cost; unlike quantiles these add up"),
        Result("unpriced_mean", "expected tires that have no price and are not in the spend"),
        *(Result(f"total_{q}", "of all months together: quantile") for q in DEMAND_LEVELS),
    ),
    "coverage_data": (
        Result("readings", "readings of the tire when it was forecast: 1, 2, 3-6, 7+ or all"),
        Result("share", "within p25 to p75, within p05 to p95 or before p50"),
        Result("right", "what that share is to be"),
        Result("found", "what it was, censoring allowed for"),
        *(Result(name, "of what was found: 95 % interval") for name in ("low", "high")),
        Result("recalibrated", "what it would have been after `recalibrate`"),
        Result("forecasts", "forecasts of tires that were read again"),
        Result("tires", "tires that then came to their limit"),
    ),
}
