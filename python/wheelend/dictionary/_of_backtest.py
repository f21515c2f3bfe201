"""Results of the back-test: how far past forecasts were right."""

from __future__ import annotations

from wheelend.dictionary._results import DEMAND_LEVELS, QUANTILES, Result, interval

OF_BACKTEST: dict[str, tuple[Result, ...]] = {
    "backtest": (
        Result("readings", "readings of the tire when it was forecast: 1, 2, 3-6, 7+ or all"),
        Result("forecasts", "forecasts of tires that were read again: one per tire and past day (cut)"),
        Result("events", "of these, forecasts of tires that then came to their limit"),
        Result("tires", "tires among the events; one tire is forecast at several cuts"),
        Result("units", "units among the forecasts"),
        Result("censored", "the others: above the limit when last read, or gone before"),
        Result("coverage_50", "share of outcomes between p25 and p75, censoring allowed for; 0.50 is right"),
        *interval("coverage_50"),
        Result("coverage_90", "share of outcomes between p05 and p95, censoring allowed for; 0.90 is right"),
        *interval("coverage_90"),
        Result(
            "before_p50", "share of outcomes before the median; 0.50 is right, more: tires are due earlier than told"
        ),
        *interval("before_p50"),
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
}
