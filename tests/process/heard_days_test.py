#!/usr/bin/python3
"""A user without any source of past days: each day that the feed carried whole becomes a row of our own and is in force at once,
after fifty days a normal volume rests on them, and a source that comes later replaces them. The ticks are invented; Labor Day is the
calendar's.

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
        self.assertIn("past days, fewer than the 50 of a normal volume: KLVN 1 (1 heard by us)", self.now_in_words())
        self.stop()

    def test_fifty_days_after_fifty_days_and_then_the_sources(self):
        """They rush by as fast as the pipe carries them: a read begins and ends anywhere in a day."""
        for number in range(50):
            self.play(number)
        self.begin_day(FIFTY[-1] + datetime.timedelta(days=1))
        wait_for("fifty days in force", lambda: self.klvn()["history_days"] == 50)
        self.assertEqual(self.klvn()["history_days_heard"], 50)
        self.assertIn("of the 50 past days, heard by us: KLVN 50", self.now_in_words())
        rows = self.rows()
        self.assertEqual([row["date"] for row in rows], [day.isoformat() for day in FIFTY])
        for number, row in enumerate(rows):
            self.assertEqual([float(row[name]) for name in ("open", "high", "low", "close", "volume")], self.bar(number), row["date"])
        of_ours = sum(self.bar(number)[4] for number in range(50)) / 50
        self.assertEqual(self.normal_volume(), of_ours)
        self.take_source(FIFTY[-1])
        wait_for("the source's days", lambda: self.klvn()["history_days_heard"] == 0 and self.klvn()["history_days"] == 50)
        self.assertNotIn("heard by us", self.now_in_words())
        self.assertEqual([day for day in self.days_of_the_source() if day >= FIFTY[0] and day != LABOR_DAY], FIFTY)
        self.assertGreater(self.normal_volume(), of_ours, "every volume of the source is larger than ours")
        self.assertEqual(len(self.rows()), 50, "ours stay where they are: the source may go again")
        self.stop()

    def test_a_source_that_lacks_a_day_leaves_ours(self):
        for number in range(3):
            self.play(number)
        self.begin_day(FIFTY[3])
        wait_for("three days", lambda: self.klvn()["history_days_heard"] == 3)
        self.take_source(FIFTY[2], without={FIFTY[1]})
        wait_for("the source's days", lambda: self.klvn()["history_days_heard"] == 1)
        self.stop()

    # --- what each test needs

    def normal_volume(self):
        return self.klvn()["volume"]["normal"]

    def now_in_words(self):
        said = self.daemon.run("now", "--socket", self.where / "sock").stdout
        return re.sub(r"\n +", " ", said)

    def take_source(self, last, without=()):
        """A source that has days up to `last`."""
        server = bar_source.BarSource()
        self.addCleanup(server.close)
        server.without, server.last = {day.isoformat() for day in without}, last.isoformat()
        (self.where / "key").write_text(bar_source.KEY)
        (self.where / "key").chmod(0o600)
        since = (datetime.date.today() - FIFTY[0]).days + 90
        self.source = (f'[history]\ndaily = "bars"\n[history.source]\nurl = "{server.address}/csv?symbol={{symbol}}&from={{from}}&to={{to}}"\n'
                       'headers = { Authorization = "Bearer {secret}" }\nsecret = { file = "key" }\ninsecure_loopback = true\n'
                       f'per_minute = 60000\ndays = {since}\n')
        self.daemon.write(self.config(self.fifo))
        self.daemon.reload()

    def days_of_the_source(self):
        return [datetime.date.fromisoformat(row["date"]) for row in csv.DictReader((self.where / "bars" / "KLVN.csv").read_text().splitlines())]


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
