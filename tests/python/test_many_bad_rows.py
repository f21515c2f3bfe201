"""A million bad rows: every one is in the file that -o names, the screen shows the first, and memory stays bounded."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

MANY = 1_000_000
FEW = 10_000
HEADER = "unit,axle,side,dual,read_on,odometer_mi,tread_outer_32nds,tread_inner_32nds,pressure_psi"
GOOD = "T1,1,right,single,2025-06-10,120000,12,11,99"
# What a run on a million bad rows may need beyond one on ten thousand. The issues alone take 240 bytes each in memory
# (the message has some 80, the other texts 60, eight columns have offsets): 230 MiB for all, twice that while a list
# grows, and they are to lie on disk. Bounded are: 32 MiB of issues before they go to disk, a few blocks of 4 MiB with
# their ragged rows, and what the allocator keeps of them.
BOUND_MIB = 150


def bad_date(i: int) -> str:
    return f"T1,1,right,single,2025-02-30,{i},12,11,99"


def bad_pressure(i: int) -> str:
    """The row is used, and says the same as the good one: two issues for each."""
    return f"T1,1,right,single,2025-06-10,120000,12,11,{i} psi"


def ragged(i: int) -> str:
    return f"T1,1,right,single,{i}"


def other_unit(i: int) -> str:
    return f"U{i},1,right,single,2025-06-10,120000,12,11,99"


def other_place(i: int) -> str:
    return f"T1,{2 + i % 20},right,single,2025-06-10,{i},12,11,99"


def write(path: Path, lines: Iterator[str]) -> Path:
    with path.open("w", encoding="utf-8") as f:
        f.write(HEADER + "\n" + GOOD + "\n")
        f.writelines(line + "\n" for line in lines)
    return path
