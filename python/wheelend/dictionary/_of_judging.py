"""Results of judging: verdicts, pressures, the standing of units."""

from __future__ import annotations

from wheelend.dictionary._results import PLACE, Result

OF_JUDGING: dict[str, tuple[Result, ...]] = {
    "judge": (
        *PLACE,
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
        *PLACE,
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
        Result(
            "due_within_30_days",
            "tires whose median due date lies within 30 days, or whose last depth is beyond the limit",
        ),
        Result("days_since_read", "days from the last reading of the unit to as_of"),
    ),
}
