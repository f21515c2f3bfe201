"""The sample's files: rows out of units and tires."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path

from wheelend.sample._columns import POSITION_COLUMNS, Position, Row
from wheelend.sample._fleet import Axle, Unit, pull_32nds, target_psi
from wheelend.sample._tires import Tire


def position_row(unit: Unit, position: Position, axle: Axle) -> Row:
    """Fill a row of positions.csv."""
    return dict(zip(POSITION_COLUMNS, map(str, position), strict=True)) | {
        "kind": unit.kind,
        "role": axle.role,
        "target_psi": str(target_psi(axle)),
        "pull_32nds": str(pull_32nds(axle)),
        "site": unit.site,
        "group": unit.group,
    }


def tire_row(tire: Tire) -> Row:
    """Fill a row of tires.csv."""
    return {
        "tire": tire.serial,
        "make": tire.design[0],
        "design": tire.design[1],
        "size": tire.rating.size,
        "construction": "radial",
        "new_32nds": str(tire.new),
        "rated_load_lb": str(tire.rating.rated_load_lb),
        "sidewall_max_psi": str(tire.rating.sidewall_max_psi),
        "date_code": tire.date_code,
        "retread": "yes" if tire.retread else "no",
        "regrooved": "yes" if tire.regrooved else "no",
    }


def write_table(path: Path, columns: Sequence[str], rows: Iterable[Row]) -> None:
    """Write one table; mode x leaves a file alone that appeared in the meantime."""
    with path.open("x", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


_TABLES = ("readings", "positions", "tires", "wheelend_readings", "prices")


def free_paths(directory: Path) -> list[Path]:
    """Name the files, or refuse before anything is written."""
    paths = [directory / f"{table}.csv" for table in _TABLES]
    for path in paths:
        if path.exists():
            raise FileExistsError(
                f"{path} exists already and is left as it is; give another directory, or move the file away first"
            )
    return paths
