"""Results of leaks: what each tire loses, and the alarms."""

from __future__ import annotations

from wheelend.dictionary._results import DAY_WORDS, PLACE, QUANTILES, Result

OF_LEAKS: dict[str, tuple[Result, ...]] = {
    "leaks": (
        *PLACE,
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
            Result(f"below_band_on_{q}", f"more than 5 psi below target if nobody fills it; {DAY_WORDS}")
            for q in QUANTILES
        ),
        *(Result(f"below_80_on_{q}", f"at 80 % of target if nobody fills it; {DAY_WORDS}") for q in QUANTILES),
        *(Result(f"below_50_on_{q}", f"at half of target if nobody fills it; {DAY_WORDS}") for q in QUANTILES),
        Result("reason", "why, in words, and what to check first"),
    ),
    "alarms": (
        *PLACE,
        Result("alarmed_on", "day of the reading that raised it"),
        Result("cold_<m>", "gauge pressure on that day, at 68 degF and the standard atmosphere, estimated"),
        Result("rate_<m>_per_month", "gauge pressure lost in a month at target, by what was known on that day"),
        Result("probability", "that it leaks, by what was known on that day; 0 to 1"),
        Result("reason", "why, in a sentence, and what to check first"),
    ),
}
