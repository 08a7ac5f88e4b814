#!/usr/bin/python3
"""Where `brimwatch prepare` takes its rules and its places from: the configuration, a file of rules, the command line.

Usage: prepare_settings.py BRIMWATCH
"""
import json
import math
import pathlib
import subprocess
import sys
import tempfile
import unittest

PROGRAM = sys.argv.pop(1)


def flat_base(days=200):
    """An advance and six weeks of rest, without a random part: high 60.00, eight percent deep."""
    import datetime
    day, rows = datetime.date(2026, 1, 5), ["date,open,high,low,close,volume"]
    for n in range(days):
        rest = n - (days - 32)
        close = 40 + 20 * n / (days - 32) if rest < 0 else 60 - 4.2 * abs(math.sin(rest / 5)) - 0.5
        volume = 1_000_000 if rest < 0 else 600_000
        high = 60.0 if rest == 0 else min(close * 1.004, 59.9)
        rows.append(f"{day},{close:.2f},{high:.2f},{close * 0.996:.2f},{close:.2f},{volume}")
        day += datetime.timedelta(days=3 if day.weekday() == 4 else 1)
    return "\n".join(rows) + "\n"


class Settings(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.where = pathlib.Path(self.folder.name)
        (self.where / "history").mkdir()
        (self.where / "history" / "KLVN.csv").write_text(flat_base())
        # The list that is to be written is named already and not there yet.
        self.config = self.where / "b.toml"
        self.config.write_text('watch_lists = ["weekend.toml"]\n[history]\ndaily = "history"\n'
                               '[prepare]\noffset = 0.25\nkeep_days = 10\n')

    def tearDown(self):
        self.folder.cleanup()

    def run_it(self, *more, code=0):
        environment = {"HOME": self.folder.name, "XDG_CONFIG_HOME": self.folder.name + "/none", "PATH": "/usr/bin:/bin"}
        done = subprocess.run([PROGRAM, "prepare", *more], capture_output=True, text=True, env=environment)
        self.assertEqual(done.returncode, code, done.stderr)
        return done

    def listed(self, *more):
        out = self.where / "weekend.toml"
        self.run_it("--out", str(out), *more)
        return out.read_text()

    def test_works_without_a_configuration(self):
        self.assertIn("pivot = 60.10", self.listed(str(self.where / "history")))

    def test_takes_rules_and_the_folder_of_bars_from_the_configuration(self):
        self.assertIn("pivot = 60.25", self.listed("--config", str(self.config)))

    def test_a_file_of_rules_wins_over_the_configuration_and_the_command_line_over_both(self):
        rules = self.where / "r.toml"
        rules.write_text("[prepare]\noffset = 0.30\n")
        both = ["--config", str(self.config), "--rules", str(rules)]
        self.assertIn("pivot = 60.30", self.listed(*both))
        self.assertIn("pivot = 60.40", self.listed(*both, "--set", "offset=0.40", str(self.where / "history")))
        shown = self.run_it(*both, "--show-rules", "--set", "rise_least=25").stdout
        for line in ("offset                 = 0.3 ", "keep_days              = 10 ", "rise_least             = 25 "):
            self.assertIn(line, shown)

    def test_carries_a_list_forward_with_the_users_words(self):
        bars = self.where / "history" / "KLVN.csv"
        whole = bars.read_text().splitlines()
        bars.write_text("\n".join(whole[:-4]) + "\n")
        old = self.where / "old.toml"
        old.write_text(self.listed(str(self.where / "history")).replace(']"\n', '] half a position"  # mine\nsurge = 55\n')
                       + '\n[[watch]]\nsymbol = "ZZZZ"\npivot = 12.30\n')
        bars.write_text("\n".join(whole) + "\n")
        said = self.run_it(str(self.where / "history"), "--carry", str(old), "--out", str(self.where / "new.toml")).stdout
        self.assertRegex(said, r"renewed +KLVN +60\.10 +flat base goes on, \d+ of \d+ rules kept")
        self.assertRegex(said, r"unknown +ZZZZ +12\.30 +no daily bars for it; left as it is")
        new = (self.where / "new.toml").read_text()
        self.assertIn('] half a position"  # mine\nsurge = 55\n', new)
        self.assertIn('symbol = "ZZZZ"\npivot = 12.30\n', new)
        self.assertIn("as of " + whole[-1].split(",")[0], new)

    def test_keeps_the_list_before_where_it_differs(self):
        out, old = self.where / "weekend.toml", self.where / "weekend.toml.old"
        places = ("--out", str(out), str(self.where / "history"))
        first = self.run_it(*places).stdout
        self.assertIn(f"wrote {out}\n", first)
        self.assertFalse(old.exists())
        self.run_it(*places)
        self.assertFalse(old.exists(), "the same list again")
        mine = out.read_text() + "# half a position at most\n"
        out.write_text(mine)
        self.assertIn(f"wrote {out}; the one before is {old}\n", self.run_it(*places).stdout.replace("\n  ", " "))
        self.assertEqual(old.read_text(), mine)
        self.assertNotIn("half a position", out.read_text())

    def test_refuses_a_bar_of_the_future(self):
        bars = self.where / "history" / "KLVN.csv"
        rows = bars.read_text().splitlines()
        (self.where / "history" / "ORRI.csv").write_text("\n".join([*rows, "2962-11-20,60,60,60,60,1000000"]) + "\n")
        done = self.run_it(str(self.where / "history"))
        self.assertIn(f"ORRI.csv:{len(rows) + 1}:1: date: found 2962-11-20, expected a session that is over, the last of them ", done.stderr)
        self.assertIn(rows[-1].split(",")[0], done.stdout)

    def test_says_that_there_is_no_such_symbol(self):
        done = self.run_it(str(self.where / "history"), "--symbol", "NOPE", code=4)
        self.assertIn('--symbol: found "NOPE", and no NOPE.csv is among the 1 files of daily bars', done.stderr)
        self.assertIn("KLVN: flat base", self.run_it(str(self.where / "history"), "--symbol", "KLVN").stdout)

    def test_says_of_each_file_that_gave_nothing_why(self):
        history, rows = self.where / "history", flat_base().splitlines()
        (history / "NIVO.csv").write_text("\n".join([rows[0], *rows[-29:]]) + "\n")
        (history / "HALQ.csv").write_text("date,volume\n" + rows[-1].split(",")[0] + ",100\n")
        (history / "QUOL.csv").write_text("nonsense\n")
        (history / "ORRI.csv").write_text("\n".join(rows[:150]) + "\n")
        said = self.run_it(str(history), "--why").stdout
        for line in (r"NIVO +29 bars; at least 60 needed", r"HALQ +no prices", r"QUOL +its file could not be read",
                     r"ORRI +its last bar is of \S+: not traded lately"):
            self.assertRegex(said, line)
        told = [json.loads(line) for line in self.run_it(str(history), "--why", "--json").stdout.splitlines()]
        self.assertEqual({one["symbol"] for one in told if "not_listed" in one}, {"NIVO", "HALQ", "QUOL", "ORRI"})

    def test_says_odds_and_where_they_come_from(self):
        places = str(self.where / "history")
        base = json.loads(self.run_it(places, "--json").stdout)
        self.assertAlmostEqual(base["up20_first"], 1 / (1 + math.exp(-(0.099 - 2.705 / base["ordinary_move"]))), delta=0.002)
        self.assertTrue(0 <= base["cross_in_5"] <= 1 and 0 <= base["down8_first"] <= 1)
        self.assertTrue(base["odds_from"].startswith("shipped: 35,023 crossings"))
        mine = json.loads(self.run_it(places, "--json", "--set", "up20_level=0.5").stdout)
        self.assertEqual(mine["odds_from"], "set by hand in [prepare]")
        self.assertGreater(mine["up20_first"], base["up20_first"])
        self.assertNotIn("score", base)

    def test_grades_nothing_where_history_is_too_short(self):
        done = self.run_it(str(self.where / "history"), "--grade", code=4)
        self.assertIn("no stock has 253 sessions before a weekend", done.stderr)

    def test_says_what_is_wrong_and_where(self):
        self.config.write_text("[prepare]\noffset = -1\n")
        self.assertIn("b.toml:2:10: [prepare]: offset: found -1", self.run_it("--config", str(self.config), code=3).stderr)
        places = str(self.where / "history")
        self.assertIn("--set: rise_least: found \"much\", expected a number from 0 to 1000",
                      self.run_it(places, "--set", "rise_least=much", code=2).stderr)
        self.assertIn("expected NAME=NUMBER", self.run_it(places, "--set", "rize_least=3", code=2).stderr)
        self.assertIn("whole number", self.run_it(places, "--set", "keep_days=2.5", code=2).stderr)


unittest.main()
