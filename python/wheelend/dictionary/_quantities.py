"""What is read at wheel ends, brakes and air systems, with the range that is taken for a reading."""

from __future__ import annotations

from dataclasses import dataclass


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
