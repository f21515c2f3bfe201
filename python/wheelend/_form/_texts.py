"""Every text of the form, in one place."""

from __future__ import annotations

TITLE = "Walk-round readings"
CAUTIONS = (
    "Chock the wheels and secure the unit before you walk round it; never work beside an unsecured vehicle, or under "
    "one that only a jack holds.",
    "While you inflate a tire stand to the side of its tread, never before its sidewall, with a chuck that clips on. "
    "Never stay beside an inflated multi-piece rim.",
    "Do not inflate on the vehicle a tire found at 80 percent of its pressure or below: it is taken off and looked at "
    "inside first.",
    "Do not bleed a warm tire. Brakes, drums and hubs may be hot after a run.",
    "A filled form is no certificate of roadworthiness: local codes, the vehicle and tire makers' figures and licensed "
    "inspectors decide.",
)
SHORT_CAUTION = (
    "Secure the unit first. Never stand before the sidewall of a tire that you inflate. Do not inflate a tire found at "
    "80 % or below. "
    "No certificate: local codes, makers' figures and licensed inspectors decide."
)
WALK = (
    "Order of the rows: down the left side from the front, across the rear, and up the right side to the front again; "
    "of a dual pair the outer tire first, since it is reached first; then what is of the whole axle or unit."
)
HOW_TO = (
    WALK,
    "Date, odometer and reader are written once for each unit, in its first row; the rows below take them over. "
    "Another date in a lower row counts from there on.",
    "The measure stands at the end of each column's name. Depth in 32nds is the count: 5 for 5/32 in.",
    "Leave blank what was not read. A row of which nothing is written is passed over, and is no mistake.",
    "Grey cells show what was read last, and what the form knows of the place: they are not read back.",
    "More readings, another place round a tire or a unit that is not here go into the blank rows at the end.",
    "Read the workbook back as it is: wheelend judge --readings form.xlsx --wheelend-readings form.xlsx --positions "
    "positions.csv",
)
READ_LAST = "last read"
WHERE = "where"
WHAT = "what"
LAST = "last {name}"
TARGET = "target {measure}"
ONCE = "Once for each unit, in its first row; the rows below take it over."
UNIT, DATE, ODOMETER, READER, REMARKS = "Unit", "Date", "Odometer", "Reader", "Remarks"
POSITION, WARM, TIRE, EVENT = "Position", "run within 3 hours", "tire number", "event"
SET_TO, TEMPERATURE, CHECKS = "set to", "tire temperature", "Wheel ends, brakes and air"
YES_NO = "yes / no"
PAGE = "page {page} of {pages}"
WRONG = "This cannot be"
BETWEEN = "A number from {least} to {most}{measure}: {words}. Leave the cell blank where nothing was read."
DAY = "A date from 1950 to today (YYYY-MM-DD)."
PICK = "One of the words of the list; leave the cell blank where nothing was read."
