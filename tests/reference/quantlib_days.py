#!/usr/bin/python3
"""Business days of an exchange by QuantLib, one ISO date a line: an independent calendar to check ours against.

Usage: quantlib_days.py MIC FIRST_YEAR LAST_YEAR. Exit code 77 when QuantLib is not installed.
"""
import sys

try:
    import QuantLib as ql
except ImportError:
    sys.exit(77)

CALENDARS = {
    "XNYS": lambda: ql.UnitedStates(ql.UnitedStates.NYSE),
    "XTSE": lambda: ql.Canada(ql.Canada.TSX),
    "XLON": lambda: ql.UnitedKingdom(ql.UnitedKingdom.Exchange),
    "XTKS": lambda: ql.Japan(),
}
mic, first, last = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
calendar = CALENDARS[mic]()
day = ql.Date(1, 1, first)
while day <= ql.Date(31, 12, last):
    if calendar.isBusinessDay(day):
        print(day.ISO())
    day += 1
