#!/usr/bin/python3
"""A user without any source of past days: a day that the feed carried whole becomes a row of our own and is in force at once.
The ticks are invented; Labor Day is the calendar's.

Usage: heard_days_test.py BRIMWATCH.
"""
import csv
import datetime
import json
import math
import re
import subprocess
import sys
import unittest

import bar_source
from live_support import PipeCase, wait_for

PROGRAM = sys.argv.pop(1)
LABOR_DAY = datetime.date(2026, 9, 7)
FIFTY = [day for day in bar_source.weekdays(datetime.date(2026, 8, 3), datetime.date(2026, 10, 31)) if day != LABOR_DAY][:50]


class HeardDays(PipeCase):
    PROGRAM = PROGRAM
    source = ""

    def setUp(self):
        super().setUp()
        self.environment = {"XDG_STATE_HOME": str(self.where / "state")}
        self.start()

    def config(self, fifo):
        return (f'[[watch]]\nsymbol = "KLVN"\npivot = 48.35\n[[watch]]\nsymbol = "NIVO"\npivot = 30\nnormal_volume = "1M"\n'
                f'[[feed]]\nname = "plug"\nkind = "pipe"\ncommand = ["/bin/cat", "{fifo}"]\n[[channel]]\nkind = "console"\n{self.source}')

    @staticmethod
    def ticks_of(number):
        """(clock, price, size) of the day: no two days alike."""
        for minute in range(390):
            price = round(46 + math.sin(number * 0.7) + math.sin(minute * 0.05) / 2, 2)
            yield f"{9 + (minute + 30) // 60:02d}:{(minute + 30) % 60:02d}:00", price, 2000 + number * 13 + minute % 7
        yield "15:59:59", round(46 + math.sin(number * 0.7), 2), 50_000

    def play(self, number, without=()):
        for clock, price, size in self.ticks_of(number):
            if clock not in without:
                self.tick(clock, price, size, FIFTY[number])

    def bar(self, number):
        ticks = list(self.ticks_of(number))
        prices = [price for _, price, _ in ticks]
        return [prices[0], max(prices), min(prices), prices[-1], sum(size for _, _, size in ticks)]

    def rows(self):
        path = self.where / "heard" / "KLVN.csv"
        return list(csv.DictReader(path.read_text().splitlines())) if path.exists() else []

    def klvn(self):
        return next(row for row in self.now()["watches"] if row["symbol"] == "KLVN")

    def begin_day(self, day):
        """The next day's first trade ends the one before."""
        self.tick("09:30:00", 46.0, 100, day)

    def test_a_day_that_was_heard_whole_becomes_a_row_of_ours(self):
        self.play(0)
        self.begin_day(FIFTY[1])
        wait_for("the row", self.rows)
        row = self.rows()[0]
        self.assertEqual((row["date"], row["from"]), (FIFTY[0].isoformat(), "feed"))
        self.assertEqual([float(row[name]) for name in ("open", "high", "low", "close", "volume")], self.bar(0))
        wait_for("it in force", lambda: self.klvn()["history_days"] == 1)
        self.assertEqual(self.klvn()["history_days_heard"], 1)
        self.stop()


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
