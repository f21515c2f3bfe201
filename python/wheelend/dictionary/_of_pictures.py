"""Tables that pictures are drawn from: ``wheelend.pictures.NAME_data``."""

from __future__ import annotations

from wheelend.dictionary._results import DEMAND_LEVELS, PLACE, QUANTILE_WORDS, Result

OF_PICTURES: dict[str, tuple[Result, ...]] = {
    "depth_data": (
        *PLACE,
        Result("what", "read, read elsewhere (before the tire moved here), in doubt, as of, forecast or due"),
        Result("level", "of a forecast or due date: chance that the depth is there or less by then"),
        Result("on", "the day"),
        Result("days", "the same, counted from as_of; fractions of a day where it is forecast"),
        Result("odometer_<m>", "odometer: as read, or forecast; missing without one"),
        Result("depth_<m>", "shallowest groove, each groove the mean of its places; forecast: the true one"),
        Result("limit_<m>", "depth at which the tire is due"),
    ),
    "due_data": (
        *PLACE,
        Result("depth_<m>", "shallowest groove at as_of, estimated"),
        Result("limit_<m>", "depth at which it is due"),
        *(Result(f"due_{q}", QUANTILE_WORDS) for q in ("p05", "p25", "p50", "p75", "p95")),
        Result("state", "at its limit, due within 30 days or later"),
        Result("as_of", "the day of the forecast"),
        Result("later", "tires that have no row: due later, or not within ten years"),
    ),
    "pressure_data": (
        *PLACE,
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
        *PLACE,
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
