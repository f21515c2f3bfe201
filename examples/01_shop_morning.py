"""Which units may not leave this morning, and why: one function call on the shipped sample."""

from pathlib import Path

import wheelend

fleet = Path(__file__).resolve().parents[1] / "data" / "samples" / "small_fleet"
log = wheelend.read_log(fleet / "readings.csv", fleet / "positions.csv", fleet / "tires.csv")

for row in wheelend.standing(log).to_pylist():
    if row["standing"] == "hold":
        print(f"{row['unit']}  {row['worst_position']:20}  {row['reason']}")
