"""Which tires of one site are due within sixty days, soonest first. Results come as the kind of table that went in:
here Arrow, since the input is files; pandas in gives pandas out.
"""

from pathlib import Path

import wheelend

fleet = Path(__file__).resolve().parents[1] / "data" / "samples" / "small_fleet"
log = wheelend.read_log(fleet / "readings.csv", fleet / "positions.csv", fleet / "tires.csv")

tires = [t for t in wheelend.wear(log, site="North").to_pylist() if (t["remaining_days_p50"] or 0) > 0]
for t in sorted(tires, key=lambda t: t["remaining_days_p50"]):
    if t["remaining_days_p50"] <= 60:
        dates = " .. ".join(str(t[f"due_{q}"]) for q in ("p05", "p50", "p95"))
        print(f"{t['unit']} axle {t['axle']} {t['side']:5} {t['dual']:6} {dates}")
