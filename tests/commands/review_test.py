#!/usr/bin/python3
"""`brimwatch review` from outside: one line retraced, and the learned curves that replay, review, check and run use alike.

Usage: review_test.py BRIMWATCH
"""
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

PROGRAM = sys.argv.pop(1)


class Review(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.where = pathlib.Path(self.folder.name)
        self.state = self.where / "state" / "brimwatch"
        self.state.mkdir(parents=True)
        (self.where / "history").mkdir()
        rows = ["date,open,high,low,close,volume"] + [f"2026-09-{day:02d},47,48,46,47.5,1300000" for day in range(1, 31)]
        rows.append("2026-10-14,48.00,48.90,47.90,48.70,2100000")
        (self.where / "history" / "KLVN.csv").write_text("\n".join(rows) + "\n")
        (self.where / "b.toml").write_text(
            '[history]\ndaily = "history"\n[[watch]]\nsymbol = "KLVN"\npivot = 48.35\nnormal_volume = 1_300_000\n')
        lines = ["time,symbol,price,size,conditions"]
        for minute in range(30, 60):
            price = 48.20 if minute < 45 else 48.40
            lines.append(f"2026-10-14T09:{minute}:00-04:00,KLVN,{price:.2f},40000,")
        (self.where / "day.csv").write_text("\n".join(lines) + "\n")

    def run_it(self, *arguments, code=0):
        environment = dict(os.environ, XDG_STATE_HOME=str(self.where / "state"), HOME=str(self.where))
        done = subprocess.run([PROGRAM, *arguments, "--config", str(self.where / "b.toml")], capture_output=True, text=True,
                              env=environment)
        self.assertEqual(done.returncode, code, done.stderr)
        return done

    def test_why_leads_from_the_tape_to_the_figure(self):
        done = self.run_it("review", "--why", "KLVN", str(self.where / "day.csv"))
        text = " ".join(done.stdout.split())
        self.assertIn("tape 09:44:00 48.20 x 40000 tape 09:45:00 48.40 x 40000 <- the notice's tape 09:46:00", text)
        self.assertIn("daily bar 2026-10-14: open 48.00, high 48.90, low 47.90, close 48.70, volume 2100000", text)
        self.assertIn("surge 2100000, / normal 1300000 - 1 = +61.5 %; needed +40 %: reached", text)
        self.assertLessEqual(max(map(len, done.stdout.splitlines())), 80)

    def test_why_of_a_symbol_without_a_crossing_says_so(self):
        done = self.run_it("review", "--why", "NIVO", str(self.where / "day.csv"), code=1)
        self.assertIn("NIVO: no crossing of it from 2026-10-14 to 2026-10-14", done.stderr)

    def test_learned_curves_of_the_usual_place_are_used_and_said_by_all(self):
        plain = self.run_it("replay", "--json", str(self.where / "day.csv"))
        self.assertNotIn("learned curves", plain.stderr)
        rows = ["time,symbol,price,size"]
        bars = ["datetime,open,high,low,close,volume"]
        for day in range(1, 26):
            for k in range(78):
                minute = 570 + 5 * k
                volume = 60000 if k < 6 else 9000  # nearly all of it in the morning
                bars.append(f"2026-09-{day:02d} {minute // 60:02d}:{minute % 60:02d},47,47.1,46.9,47,{volume}")
        (self.where / "minutes").mkdir()
        (self.where / "minutes" / "KLVN.csv").write_text("\n".join(bars) + "\n")
        learned = subprocess.run([PROGRAM, "learn", str(self.where / "minutes" / "KLVN.csv")], capture_output=True, text=True,
                                 env=dict(os.environ, XDG_STATE_HOME=str(self.where / "state"), HOME=str(self.where)))
        self.assertEqual(learned.returncode, 0, learned.stderr)
        self.assertTrue((self.state / "curves.toml").exists())
        said = f"learned curves of 1 symbol from {self.state / 'curves.toml'}"
        replay = self.run_it("replay", "--json", str(self.where / "day.csv"))
        self.assertIn(said, replay.stderr)
        self.assertNotEqual(replay.stdout, plain.stdout, "the odds of a stock that trades in the morning are others")
        self.assertIn(said, self.run_it("review", str(self.where / "day.csv")).stderr)
        self.assertIn(said, self.run_it("check").stderr)


unittest.main(verbosity=1)
