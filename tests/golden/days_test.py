#!/usr/bin/python3
"""Replays of several days: in a row with state going over the nights, or apart and some at a time.

Usage: days_test.py BRIMWATCH MAKE_TAPE. The days are invented ones of brimwatch_make_tape, moved to other dates.
"""
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

PROGRAM, MAKE_TAPE = sys.argv[1:3]
# The tester's own learned curves are not to be found.
NO_CURVES = tempfile.TemporaryDirectory()
os.environ["XDG_STATE_HOME"] = NO_CURVES.name
del sys.argv[1:3]
DAYS = ["2026-11-23", "2026-11-24", "2026-11-25", "2026-11-30"]  # a weekend and Thanksgiving lie before the last


class Days(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.where = pathlib.Path(cls.folder.name)
        cls.tapes = []
        for number, day in enumerate(DAYS):
            tape = cls.where / f"{day}.csv"
            # Longer and shorter days, so that the last to begin may be the first to end.
            subprocess.run([MAKE_TAPE, str([60000, 4000, 20000, 2000][number]), "20", tape, cls.where / "watches.csv", "4", "7"], check=True)
            tape.write_text(tape.read_text().replace("2026-11-25T", day + "T"))
            cls.tapes.append(tape)
        (cls.where / "b.toml").write_text('watch_lists = ["watches.csv"]\n[market]\ntrend = "up"\n[feed]\nkind = "tape"\n')

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def replay(self, tapes, *more, code=0):
        run = subprocess.run([PROGRAM, "replay", *tapes, "--config", self.where / "b.toml", *more], capture_output=True, text=True)
        self.assertEqual(run.returncode, code, run.stderr)
        self.errors = run.stderr
        return run.stdout

    def test_days_apart_say_what_each_says_alone_in_the_order_of_the_tapes(self):
        alone = "".join(self.replay([tape], "--json") for tape in self.tapes)
        self.assertGreater(alone.count("\n"), 40)
        for jobs in ("1", "2", "4", "9"):
            self.assertEqual(self.replay(self.tapes, "--json", "--jobs", jobs), alone, jobs)
        backwards = "".join(self.replay([tape], "--json") for tape in reversed(self.tapes))
        self.assertEqual(self.replay(self.tapes[::-1], "--json", "--jobs", "3"), backwards)

    def test_the_summary_counts_all_days(self):
        def ticks(tapes, *more):
            return json.loads(self.replay(tapes, "--json", "--stats", *more).splitlines()[-1])
        each = [ticks([tape]) for tape in self.tapes]
        together = ticks(self.tapes, "--jobs", "2")
        for key in ("ticks", "notices"):
            self.assertEqual(together[key], sum(one[key] for one in each))

    def test_a_tape_that_cannot_be_read_ends_it_behind_those_before(self):
        broken = self.where / "broken.csv"
        broken.write_text("not,a,tape\n1,2,3\n")
        said = self.replay([self.tapes[0], broken, self.tapes[1]], "--json", "--jobs", "3", code=4)
        self.assertEqual(said, self.replay([self.tapes[0]], "--json"))

    def test_a_journal_or_a_pace_belongs_to_days_in_a_row(self):
        for more in (["--journal", self.where / "j.db"], ["--speed", "60"]):
            self.replay(self.tapes, "--jobs", "2", *more, code=2)
            self.assertIn("expected one of them", self.errors)

    def test_in_a_row_the_night_is_remembered(self):
        """The second day repeats the first one's prices: watches that ended it inside or over are not crossed again."""
        def crossed(text):
            records = [json.loads(line) for line in text.splitlines()]
            return [(r["day"], r["symbol"], r["pivot"]) for r in records if r["kind"] in ("crossed", "opened-over")]
        row = crossed(self.replay(self.tapes[:2], "--json"))
        apart = crossed(self.replay(self.tapes[:2], "--json", "--jobs", "2"))
        first = [one for one in apart if one[0] == DAYS[0]]
        self.assertEqual([one for one in row if one[0] == DAYS[0]], first)
        self.assertLess(len([one for one in row if one[0] == DAYS[1]]), len([one for one in apart if one[0] == DAYS[1]]))
        # Over a file of state it comes to the same as in one go.
        journal = self.where / "nights.db"
        halves = crossed("".join(self.replay([tape], "--json", "--journal", journal) for tape in self.tapes[:2]))
        self.assertEqual(halves, row)


unittest.main()
