"""Where data/ lies: beside the package when installed, in the checkout when worked on."""

from __future__ import annotations

import csv
from pathlib import Path

from wheelend import _core


def root() -> Path:
    """Folder data/. A checkout comes first, so that an edited limit counts at once."""
    checkout = Path(__file__).resolve().parents[2] / "data"
    if (checkout / "limits").is_dir():
        return checkout
    return Path(_core.__file__).resolve().parent / "data"


def read_rows(path: Path) -> list[dict[str, str]]:
    """Rows of a small CSV file as dicts of text."""
    with path.open(encoding="utf-8", newline="") as f:
        return list(csv.DictReader(f))
