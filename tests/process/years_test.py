#!/usr/bin/python3
"""A journal of years, with the daemon at work on it: backed up while it is written, restored elsewhere, pruned, exported; and trades
of a day that is over, which are not told.

Judged by Python's own readers: sqlite3 (https://www.sqlite.org/pragma.html#pragma_integrity_check), csv (RFC 4180), json (RFC 8259).
Usage: years_test.py BRIMWATCH
"""
import csv
import datetime
import io
import itertools
import json
import os
import pathlib
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import threading
import unittest

from live_support import PipeCase, close_the_exchange, wait_for

BRIMWATCH = sys.argv.pop(1)
DAY = "2026-10-14"


class Years(PipeCase):
    PROGRAM = BRIMWATCH
    more = feed = ""
    rest = staticmethod(lambda: None)

    def config(self, fifo):
        return (f'journal = "{self.daemon.journal}"\nwatch_lists = ["mine.toml"]\n{self.more}[[feed]]\nname = "plug"\n{self.feed}kind = "pipe"\n'
                f'command = ["cat", "{fifo}"]\n[[channel]]\nname = "out"\nkind = "command"\n'
                f'command = ["/bin/sh", "-c", "cat >> {self.where}/delivered; echo >> {self.where}/delivered"]\n')

    def setUp(self):
        super().setUp()
        (self.where / "mine.toml").write_text("".join(f'[[watch]]\nsymbol = "S{n}"\npivot = 20.05\nnormal_volume = "1M"\n' for n in range(200)))

    def tearDown(self):
        self.rest()  # who feeds ends before its daemon does
        super().tearDown()

    def tick(self, second, symbol, price, day=DAY):
        clock = f"{10 + second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}"
        self.pipe.write(json.dumps({"time": f"{day}T{clock}-04:00", "symbol": symbol, "price": price, "size": 100}) + "\n")

    def journal(self, *words, ok=0):
        done = subprocess.run([BRIMWATCH, "journal", "--journal", self.daemon.journal, *map(str, words)], capture_output=True, text=True)
        self.assertEqual(done.returncode, ok, (words, done.stdout, done.stderr))
        return done.stdout if ok == 0 else done.stderr

    def say(self, *words):
        done = subprocess.run([BRIMWATCH, *map(str, words), "--socket", self.where / "sock"], capture_output=True, text=True)
        self.assertEqual(done.returncode, 0, (words, done.stderr))

    def rows(self, path, sql):
        database = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
        try:
            return database.execute(sql).fetchall()
        finally:
            database.close()

    def cross(self, symbols=range(200), second=0):
        for n in symbols:
            self.tick(second, f"S{n}", "19.90")
            self.tick(second + 1, f"S{n}", "20.06")
        wait_for("a notice of each", lambda: len(self.rows(self.daemon.journal, "SELECT 1 FROM notices WHERE kind = 'crossed'")) >= len(symbols))

    def under_load(self):
        """Ticks come on and on, with something to write at each: prices run through the pivots and back."""
        over = threading.Event()

        def feed():
            for second in itertools.count(10):
                if over.is_set() or second > 20_000:
                    return
                for n in range(0, 200, 5):
                    self.tick(second, f"S{n}", ("19.00", "20.06", "21.50")[second % 3])

        thread = threading.Thread(target=feed)
        thread.start()
        self.rest = lambda: (over.set(), thread.join())

    def test_a_backup_is_whole_while_the_daemon_writes_and_when_earlier_ones_were_killed(self):
        self.start()
        self.cross()
        self.under_load()
        to = self.where / "backup.db"
        for _ in range(8):
            backup = subprocess.Popen([BRIMWATCH, "journal", "--journal", self.daemon.journal, "backup", to], stdout=subprocess.DEVNULL)
            wait_for("its first bytes", lambda: (self.where / "backup.db.part").exists() or backup.poll() is not None)
            backup.kill()
            backup.wait()
            if to.exists():  # it was quicker than we are: a whole one, too
                self.assertEqual(self.rows(to, "PRAGMA integrity_check"), [("ok",)])
                to.unlink()
        before = len(self.rows(self.daemon.journal, "SELECT 1 FROM notices"))
        said = self.journal("backup", to)
        self.assertIn("A plain copy of the journal's file while a daemon runs is not a backup", said.replace("\n", " "))
        self.assertEqual(self.rows(to, "PRAGMA integrity_check"), [("ok",)])
        self.assertEqual(self.rows(to, "PRAGMA foreign_key_check"), [])
        self.assertGreaterEqual(len(self.rows(to, "SELECT 1 FROM notices")), before)
        self.assertFalse((self.where / "backup.db.part").exists())
        self.assertFalse((self.where / "backup.db-wal").exists())
        self.assertIsNone(self.daemon.process.poll())
        self.assertEqual(self.rows(self.daemon.journal, "PRAGMA integrity_check"), [("ok",)])
        self.assertIn("is there already; nothing was written", self.journal("backup", to, ok=1).replace("\n", " "))

    def test_a_backup_comes_up_on_another_machine_with_state_and_holdings_and_tells_nothing_again(self):
        self.start()
        self.cross(range(3))
        self.say("bought", "S1", "20.10", "--shares", "200")
        self.say("watch", "add", "NIVO", "8.10")
        wait_for("the answers", lambda: len(self.rows(self.daemon.journal, "SELECT 1 FROM answers")) == 2)
        wait_for("all delivered", lambda: not self.rows(self.daemon.journal, "SELECT 1 FROM deliveries WHERE done = 0"))
        self.journal("backup", self.where / "backup.db")
        copy = self.where / "copy.db"
        shutil.copy(self.daemon.journal, copy)
        told, lists = self.rows(self.where / "backup.db", "SELECT id FROM notices"), self.where / "mine.toml"
        other = Years()
        other.setUp()
        self.addCleanup(other.tearDown)
        shutil.copy(lists, other.where / "mine.toml")
        refused = other.journal("restore", copy, ok=1).replace("\n", " ")
        self.assertIn("a plain copy of a journal and no backup; nothing was restored", refused)
        self.assertFalse(other.daemon.journal.exists())
        other.journal("restore", self.where / "backup.db")
        other.start()
        self.assertIn("NIVO", {row["symbol"] for row in other.now()["watches"]})
        held = next(row for row in other.now()["watches"] if row["symbol"] == "S1")
        self.assertEqual(held["bought"], 20.1)
        other.tick(2, "S0", "20.07")
        other.tick(3, "S1", "20.07")
        other.tick(4, "S5", "19.90")
        other.tick(5, "S5", "20.06")
        wait_for("the new crossing", lambda: other.rows(other.daemon.journal, "SELECT 1 FROM notices WHERE symbol = 'S5' AND kind = 'crossed'"))
        again = other.rows(other.daemon.journal, "SELECT id FROM notices WHERE kind IN ('crossed', 'opened-over')")
        self.assertEqual(len(again), 4)
        self.assertTrue(set(told) >= {one for one in again if "/S5/" not in one[0]})
        wait_for("its delivery", lambda: other.delivered())
        self.assertEqual({line["symbol"] for line in other.delivered() if line["kind"] == "crossed"}, {"S5"})
        other.journal("restore", self.where / "backup.db", ok=1)

    def test_an_export_has_every_row_for_other_programs(self):
        self.start()
        self.cross(range(5))
        self.say("watch", "add", "NIVO", "8.10", "--note", 'a "flat" base, 9 weeks')
        wait_for("the answer", lambda: self.rows(self.daemon.journal, "SELECT 1 FROM answers"))
        wait_for("all delivered", lambda: not self.rows(self.daemon.journal, "SELECT 1 FROM deliveries WHERE done = 0"))
        tables = {"notices": "notices", "deliveries": "deliveries", "answers": "answers", "days": "days", "holes": "holes"}
        for what, table in tables.items():
            text = self.journal("export", what)
            read = list(csv.DictReader(io.StringIO(text)))
            objects = [json.loads(line) for line in self.journal("export", what, "--json").splitlines()]
            count = len(self.rows(self.daemon.journal, f"SELECT 1 FROM {table}"))
            self.assertEqual((len(read), len(objects)), (count, count), what)
            head = next(csv.reader(io.StringIO(text)))
            for row, one in zip(read, objects):
                self.assertEqual(set(one) - set(head), set(), what)
                for key in head:
                    value = one.get(key)
                    as_text = "" if value is None else str(value).lower() if isinstance(value, bool) else None
                    if as_text is not None: self.assertEqual(row[key], as_text, (what, key))
                    elif isinstance(value, str): self.assertEqual(row[key], value, (what, key))
                    else: self.assertEqual(float(row[key]), value, (what, key))
        prices = self.rows(self.daemon.journal, "SELECT id, price FROM notices WHERE kind = 'crossed' ORDER BY seq")
        read = [row for row in csv.DictReader(io.StringIO(self.journal("export", "notices"))) if row["kind"] == "crossed"]
        self.assertEqual([(row["id"], round(float(row["price"]) * 1_000_000)) for row in read], prices)
        one = list(csv.DictReader(io.StringIO(self.journal("export", "notices", "--symbol", "S3", "--day", DAY))))
        self.assertEqual({row["symbol"] for row in one}, {"S3"})
        self.assertEqual(next(csv.DictReader(io.StringIO(self.journal("export", "answers"))))["note"], 'a "flat" base, 9 weeks')
        self.assertIn("WHAT", self.journal("export", "everything", ok=2))

    def test_what_has_served_its_time_goes_by_itself_and_what_is_needed_stays(self):
        self.start()
        self.cross(range(3))
        self.say("bought", "S1", "20.10")
        self.say("watch", "add", "NIVO", "8.10")
        wait_for("the answers", lambda: len(self.rows(self.daemon.journal, "SELECT 1 FROM answers")) == 2)
        wait_for("all delivered", lambda: not self.rows(self.daemon.journal, "SELECT 1 FROM deliveries WHERE done = 0"))
        self.stop()
        would = json.loads(self.journal("prune", "--dry-run", "--deliveries", 1, "--json"))
        self.assertGreaterEqual(would["deliveries"], 3)
        mails = self.where / "mails"
        mails.mkdir()
        for name, days in (("old-0123abcd.eml", 500), ("new-0123abcd.eml", 1), ("mine.eml", 500), ("letter-0123abcd.txt", 500)):
            (mails / name).write_text("x")
            age = datetime.datetime.now().timestamp() - days * 86_400
            os.utime(mails / name, (age, age))
        self.more = f'[session]\n{close_the_exchange(self.where)}[keep]\ndeliveries = 1\nmails = 400\n' \
                    f'[[channel]]\nkind = "email"\nwrite_to = "mails"\nkinds = ["halted"]\n'
        self.start()
        wait_for("that it goes", lambda: "gone by age, as [keep] says" in self.daemon.said())
        self.assertEqual(sorted(path.name for path in mails.iterdir()), ["letter-0123abcd.txt", "mine.eml", "new-0123abcd.eml"])
        self.assertEqual(self.rows(self.daemon.journal, f"SELECT 1 FROM deliveries WHERE notice IN (SELECT seq FROM notices WHERE kind = 'crossed')"), [])
        self.assertEqual(len(self.rows(self.daemon.journal, "SELECT 1 FROM notices WHERE kind = 'crossed'")), 3, "notices stay for ever")
        self.assertEqual(len(self.rows(self.daemon.journal, "SELECT 1 FROM answers")), 2)
        self.assertIn("NIVO", {row["symbol"] for row in self.now()["watches"]})
        self.stop()

    def test_pruned_beside_the_daemon_it_goes_on_writing(self):
        self.start()
        self.cross()
        self.under_load()
        wait_for("some deliveries", lambda: self.rows(self.daemon.journal, "SELECT 1 FROM deliveries WHERE done <> 0"))
        gone = json.loads(self.journal("prune", "--deliveries", 1, "--json"))
        self.assertGreater(gone["deliveries"], 0)
        seen = self.daemon.feed("plug")["ticks"]
        wait_for("more ticks", lambda: self.daemon.feed("plug")["ticks"] > seen)
        self.assertEqual(self.rows(self.daemon.journal, "PRAGMA integrity_check"), [("ok",)])
        self.journal("prune", "--deliveries", "-3", ok=2)

    def test_trades_of_a_day_that_is_over_open_no_session_and_tell_nothing(self):
        self.feed = 'past_days = "leave-out"\n'
        self.start()
        past = DAY  # a Wednesday, weeks ago
        for second in range(600):
            self.tick(second, f"S{second % 10}", "19.90" if second // 10 % 2 == 0 else "20.06", day=past)
        left_out = lambda: self.daemon.feed("plug")["recognised"].get("of_past_days", 0)
        wait_for("that all are left out", lambda: left_out() == 600)
        self.assertEqual(self.rows(self.daemon.journal, "SELECT 1 FROM notices WHERE kind <> 'self-check'"), [])
        self.assertEqual(self.rows(self.daemon.journal, "SELECT 1 FROM newest_watches"), [])
        self.assertIn(f"what comes is of {past}, a day that is over, and is left out until the present comes", self.daemon.said())
        self.assertEqual(self.daemon.said().count("a day that is over"), 1, "said once, not at each")
        self.stop()
        self.feed = 'past_days = "tell"\n'
        self.start()
        self.tick(0, "S1", "19.90", day=past)
        self.tick(1, "S1", "20.06", day=past)
        wait_for("a crossing, where that is wanted", lambda: self.rows(self.daemon.journal, "SELECT 1 FROM notices WHERE symbol = 'S1'"))


if __name__ == "__main__":
    unittest.main(verbosity=2)
