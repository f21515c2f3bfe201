"""Which units may not leave this morning, and why: one function call on the shipped sample."""

from pathlib import Path

import wheelend

fleet = Path(__file__).resolve().parents[1] / "data" / "samples" / "small_fleet"
tables = [fleet / f"{name}.csv" for name in ("readings", "positions", "tires", "wheelend_readings")]
log = wheelend.read_log(*tables)

for row in wheelend.standing(log).to_pylist():
    if row["standing"] == "hold":
        print(f"{row['unit']}  {row['worst_position']:20}  {row['reason']}")
