#!/usr/bin/python3
"""check --explain SYMBOL on the demo's recorded days: each cause of silence, with its time and numbers.

Usage: silence_test.py BRIMWATCH SOURCE_DIR [--update]
What is expected is what scripts/demo-tape writes into the days on purpose (an odd lot through the pivot at 12:31:07, and so
on), read here from its tape by Python. The golden file tests/golden/silence.txt holds the words, lines of at most 80 columns.
"""
import csv
import difflib
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

PROGRAM, SOURCE = sys.argv[1], pathlib.Path(sys.argv[2])
GOLDEN = SOURCE / "tests/golden/silence.txt"
DAY, HALF_DAY = "2026-10-14", "2026-11-27"


class Silence(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.where = pathlib.Path(cls.folder.name)
        subprocess.run([SOURCE / "scripts/demo-tape", cls.where], check=True, stdout=subprocess.DEVNULL)
        shutil.copy(SOURCE / "config/samples/demo/brimwatch.toml", cls.where)
        cls.config = (cls.where / "brimwatch.toml").read_text()
        cls.environment = {**os.environ, "XDG_STATE_HOME": str(cls.where / "state"), "TZ": "UTC"}
        for tape in ("day.csv", "half-day.csv"):
            cls.run_program("replay", tape, "--config", "brimwatch.toml", "--journal", "j.db")
        with open(cls.where / "day.csv", newline="") as tape:
            cls.trades = [row for row in csv.DictReader(tape) if row["kind"] == "trade"]

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    @classmethod
    def run_program(cls, *arguments):
        done = subprocess.run([PROGRAM, *arguments], capture_output=True, text=True, cwd=cls.where, env=cls.environment)
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def ask(self, symbol, *more, day=DAY, config=None):
        name = "brimwatch.toml"
        if config is not None:
            name = "changed.toml"
            (self.where / name).write_text(config)
        out = self.run_program("check", "--explain", symbol, "--json", "--config", name, "--day", day, *more)
        answer = json.loads(out)
        self.assertEqual((answer["symbol"], answer["day"]), (symbol, day))
        return answer

    def cause(self, answer, word):
        found = [cause for cause in answer["causes"] if cause["cause"] == word]
        self.assertTrue(found, answer)
        return found[0]

    def words(self, answer):
        return [cause["cause"] for cause in answer["causes"]]

    def print_through(self, symbol, condition):
        return next(row for row in self.trades if row["symbol"] == symbol and condition in row["conditions"])

    def test_an_odd_lot_through_the_pivot(self):
        answer = self.ask("ODLY", "--journal", "none.db")
        trade = self.print_through("ODLY", "I")
        cause = self.cause(answer, "not-counted")
        self.assertEqual(answer["verdict"], "not-crossed")
        self.assertEqual(cause["numbers"], {"price": float(trade["price"]), "size": float(trade["size"])})
        self.assertEqual(cause["at"][:19], trade["time"][:19])
        self.assertIn("odd lot", cause["what"])

    def test_a_print_out_of_sequence(self):
        cause = self.cause(self.ask("LATZ", "--journal", "none.db"), "not-counted")
        self.assertEqual(cause["numbers"]["price"], float(self.print_through("LATZ", "Z")["price"]))
        self.assertIn("reported late or out of sequence", cause["what"])

    def test_the_highest_price_that_counted(self):
        highest = max(float(row["price"]) for row in self.trades if row["symbol"] == "ODLY" and row["conditions"] in ("", "F", "O", "6"))
        self.assertIn(f"{highest:.2f}", self.ask("ODLY", "--journal", "none.db")["summary"])

    def test_a_crossing_that_no_journal_has(self):
        answer = self.ask("KLVN", "--journal", "none.db")
        self.assertEqual(answer["verdict"], "crossed")
        self.assertIsNone(answer["journal"])
        self.assertGreaterEqual(self.cause(answer, "not-in-journal")["numbers"]["price"], 48.35)

    def test_one_that_was_told(self):
        answer = self.ask("KLVN", "--journal", "j.db")
        self.assertEqual(answer["verdict"], "told")
        told = self.cause(answer, "told")
        notice = json.loads(self.run_program("journal", "--journal", "j.db", "--json", "--symbol", "KLVN", "--day", DAY).splitlines()[0])
        self.assertEqual(told["at"], notice["time"])
        self.assertNotIn("not-in-journal", self.words(answer))

    def test_told_on_an_earlier_day_and_not_armed_again(self):
        answer = self.ask("TZAM", "--journal", "j.db", "--tape", "half-day.csv", day=HALF_DAY)
        if "told-before" in self.words(answer):
            self.assertIn(DAY, self.cause(answer, "told-before")["what"])
        else:
            self.assertEqual(answer["verdict"], "told")

    def test_held_back_by_a_falling_market(self):
        config = self.config.replace('trend = "up"', 'trend = "down"\nwhen_down = "hold-back"')
        (self.where / "changed.toml").write_text(config)
        self.run_program("replay", "day.csv", "--config", "changed.toml", "--journal", "down.db")
        answer = self.ask("KLVN", "--journal", "down.db", config=config)
        self.assertEqual(answer["verdict"], "kept")
        self.assertIn("when_down", self.cause(answer, "kept-market-down")["to_do"])
        self.assertIn("market is down", self.cause(answer, "market")["what"])

    def test_the_days_limit(self):
        config = self.config + '\n[rules]\nper_day = 1\nrearm = 0\n'
        (self.where / "changed.toml").write_text(config)
        self.run_program("replay", "day.csv", "--config", "changed.toml", "--journal", "limit.db")
        answer = self.ask("KLVN", "--journal", "limit.db", config=config)
        self.assertEqual(self.cause(answer, "limit")["numbers"]["per_day"], 1)

    def test_a_channel_that_wants_heavy_volume_alone(self):
        config = self.config + '\nweights = ["heavy"]\n'  # of the channel, which stands last
        answer = self.ask("TZAM", "--journal", "j.db", config=config)
        cause = self.cause(answer, "volume")
        self.assertLess(cause["numbers"]["odds"], 0.7)
        self.assertIn("mails", cause["what"])

    def test_quiet_hours(self):
        config = self.config + '\nquiet = { from = "00:00", to = "23:59", zone = "UTC", urgent_passes = false }\n'
        cause = self.cause(self.ask("KLVN", "--journal", "j.db", config=config), "quiet-hours")
        self.assertIn("quiet until 19:59", cause["what"])  # 23:59 UTC in New York, daylight time

    def test_not_in_force_and_closed(self):
        lists = (self.where / "weekend.toml").read_text()
        (self.where / "later.toml").write_text(lists.replace('symbol = "KLVN"\n', 'symbol = "KLVN"\nfrom = 2027-01-04\n'))
        config = self.config.replace("weekend.toml", "later.toml")
        self.assertIn("not in force", self.cause(self.ask("KLVN", "--journal", "none.db", config=config), "not-in-force")["what"])
        closed = self.ask("KLVN", "--journal", "none.db", day="2026-10-17")  # a Saturday
        self.assertEqual(closed["verdict"], "not-crossed")
        self.assertIn("closed", closed["summary"])

    def test_neither_journal_nor_tape(self):
        config = self.config.replace('file = "day.csv"', 'file = "gone.csv"')
        answer = self.ask("KLVN", "--journal", "none.db", day="2025-10-14", config=config)
        self.assertEqual((answer["verdict"], answer["tapes"]), ("not-known", []))

    def test_words(self):
        """Byte for byte, as tests/golden/silence.txt has it; --update renews it."""
        found = ""
        for symbol in ("KLVN", "ODLY", "LATZ", "UNVK", "DRYJ", "HALQ", "VEZK"):
            text = self.run_program("check", "--explain", symbol, "--config", "brimwatch.toml", "--day", DAY, "--journal", "j.db",
                                    "--tape", "day.csv")
            found += text[text.index(f"{symbol}, pivot", text.rindex("\n\n")):] + "\n"
        for line in found.splitlines():
            self.assertLessEqual(len(line), 80, line)
        if "--update" in sys.argv:
            GOLDEN.write_text(found)
        wanted = GOLDEN.read_text()
        self.assertEqual(found, wanted, "".join(difflib.unified_diff(wanted.splitlines(True), found.splitlines(True))))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
