#!/usr/bin/python3
"""check --explain SYMBOL on the demo's recorded days: each cause of silence, with its time and numbers.

Usage: silence_test.py BRIMWATCH SOURCE_DIR [--update]
What is expected is what scripts/demo-tape writes into the days on purpose (an odd lot through the pivot at 12:31:07, and so
on), read here from its tape by Python. The golden file tests/golden/silence.txt holds the words, lines of at most 80 columns.
"""
import csv
import datetime
import difflib
import importlib.util
import json
import os
import pathlib
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import unittest

from live_support import Daemon, wait_for

PROGRAM, SOURCE = sys.argv[1], pathlib.Path(sys.argv[2])
GOLDEN = SOURCE / "tests/golden/silence.txt"
DAY, HALF_DAY = "2026-10-14", "2026-11-27"
SPEC = importlib.util.spec_from_file_location("make", SOURCE / "tests/journal/released/make.py")
MAKE = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(MAKE)


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

    # --- what only the journal knows: rows as daemon/journal/row_sum.h has them, by the maker of the released journals

    def journal_with(self, name, *rows):
        """A journal of its own, with rows that a daemon would have written on that day: (table, values ...)."""
        self.run_program("replay", "half-day.csv", "--config", "brimwatch.toml", "--journal", name)  # of a later day
        database = sqlite3.connect(self.where / name)
        for table, *values in rows:
            MAKE.put(database, table, *values)
        database.commit()
        database.close()
        return name

    def at(self, clock):
        """Nanoseconds since 1970 of a time in New York on that day, which has daylight time."""
        return int(datetime.datetime.fromisoformat(f"{DAY}T{clock}-04:00").timestamp()) * 10**9

    def mute(self, kind, clock, until="", number=1):
        days = (datetime.date.fromisoformat(DAY) - datetime.date(1970, 1, 1)).days
        return ("answers", number, f"own/{number}", kind, "page", self.at(clock), self.at(clock), days, "KLVN", 48_350_000, 0, 0,
                self.at(until) if until else 0, 0, 0, "", "")

    def test_muted_by_its_user(self):
        said = self.journal_with("muted.db", self.mute("mute", "09:31:00", "15:00:00"))
        self.run_program("replay", "day.csv", "--config", "brimwatch.toml", "--journal", said, "--answers", said)
        answer = self.ask("KLVN", "--journal", said)
        cause = self.cause(answer, "muted")
        self.assertEqual((cause["at"], cause["to"]), (f"{DAY}T09:31:00-04:00", f"{DAY}T15:00:00-04:00"))
        self.assertIn("muted by page until 15:00", cause["what"])
        self.assertIn("brimwatch watch unmute KLVN", cause["to_do"])
        self.assertEqual(answer["verdict"], "kept")
        self.assertGreaterEqual(self.cause(answer, "kept-muted")["numbers"]["price"], 48.35)
        self.assertNotIn("told", self.words(answer))

    def test_muted_and_heard_again_before_it_crossed(self):
        said = self.journal_with("heard.db", self.mute("mute", "09:31:00", "15:00:00"), self.mute("unmute", "09:32:00", number=2))
        self.run_program("replay", "day.csv", "--config", "brimwatch.toml", "--journal", said, "--answers", said)
        answer = self.ask("KLVN", "--journal", said)
        self.assertEqual(answer["verdict"], "told")
        self.assertEqual([word for word in self.words(answer) if "muted" in word], ["muted", "unmuted"])

    def test_a_feed_that_was_blind(self):
        said = self.journal_with("blind.db", ("holes", "plug", "", self.at("11:00:00"), self.at("11:12:00"), "no data"),
                                 ("holes", "plug", "ODLY", self.at("12:00:00"), self.at("12:05:00"), ""),
                                 ("holes", "plug", "", self.at("13:00:00"), self.at("13:00:30"), "too short to be a cause"))
        answer = self.ask("KLVN", "--journal", said, "--tape", "half-day.csv")
        hole = self.cause(answer, "hole")
        self.assertEqual(hole["numbers"], {"minutes": 12})
        self.assertEqual((hole["at"], hole["to"]), (f"{DAY}T11:00:00-04:00", f"{DAY}T11:12:00-04:00"))
        self.assertIn("feed plug was blind for 12 min", hole["what"])
        self.assertIn("no data", hole["what"])
        self.assertEqual(self.words(answer).count("hole"), 1)
        self.assertEqual(self.words(self.ask("ODLY", "--journal", said)).count("hole"), 2, "and its own")

    def test_a_channel_that_failed(self):
        """By a daemon whose one channel gets through, and whose other, a program, ends with 1."""
        daemon = Daemon(PROGRAM)
        self.addCleanup(daemon.close)
        (daemon.where / "ticks").write_text("".join(json.dumps(
            {"time": f"{DAY}T10:00:{second:02d}-04:00", "symbol": "KLVN", "price": price, "size": 500}) + "\n"
            for second, price in enumerate((48.0, 48.2, 48.4, 48.41, 48.42))))
        config = ('[[watch]]\nsymbol = "KLVN"\npivot = 48.35\nnormal_volume = 1_300_000\n[[feed]]\nname = "main"\nkind = "pipe"\n'
                  f'command = ["tail", "-n", "+1", "-f", "{daemon.where}/ticks"]\n'
                  '[[channel]]\nname = "good"\nkind = "command"\ncommand = ["/bin/true"]\n'
                  '[[channel]]\nname = "hook"\nkind = "command"\ncommand = ["/bin/false"]\n')
        daemon.write(config)
        daemon.start()

        def became():
            rows = [json.loads(line) for line in self.run_program("journal", "--journal", daemon.journal, "--json", "--symbol", "KLVN",
                                                                  "--deliveries").splitlines()]
            crossed = next((row["id"] for row in rows if row.get("kind") == "crossed"), None)
            found = {row["channel"]: row for row in rows if row.get("delivery_of") == crossed}
            return found if len(found) == 2 and found["good"]["done"] and found["hook"]["reply"] else None

        rows = wait_for("both channels", became)
        self.assertEqual((rows["good"]["state"], rows["hook"]["state"] == "delivered"), ("delivered", False))
        what = self.cause(self.ask("KLVN", "--journal", str(daemon.journal), config=config), "told")["what"]
        self.assertRegex(what, r"\bgood delivered \d\d:\d\d")
        self.assertRegex(what, rf"\bhook {rows['hook']['state']}\b.*\({re.escape(rows['hook']['reply'])}\)")

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
