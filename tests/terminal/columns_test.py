#!/usr/bin/python3
"""Every command on a terminal of 80 columns: no line that a person reads is longer.

Usage: columns_test.py BRIMWATCH SOURCE_DIR. Both streams are one pseudo-terminal of 24 x 80, as a person has it.

What may be longer: a single word, since a path, an address or a key that is broken cannot be copied. What is not looked at
here is read by programs or put into files: --json, and TOML (`feeds map`, `serve`, `prepare --fit`, `prepare --show-rules`).
"""
import datetime
import fcntl
import json
import math
import os
import pathlib
import pty
import re
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import termios
import time
import unittest

BRIMWATCH, SOURCE = sys.argv.pop(1), pathlib.Path(sys.argv.pop(1))
COLUMNS = 80
LONG_NOTE = "cup with handle, eleven weeks, and a second look at the report before anything is done; " * 4


def base_of_a_year():
    """An advance and six weeks of rest under 60.00, so that `prepare` has something to say."""
    day, rows = datetime.date(2026, 1, 5), ["date,open,high,low,close,volume"]
    for n in range(200):
        rest = n - 168
        close = 40 + 20 * n / 168 if rest < 0 else 60 - 4.2 * abs(math.sin(rest / 5)) - 0.5
        high = 60.0 if rest == 0 else min(close * 1.004, 59.9)
        rows.append(f"{day},{close:.2f},{high:.2f},{close * 0.996:.2f},{close:.2f},{1_000_000 if rest < 0 else 600_000}")
        day += datetime.timedelta(days=3 if day.weekday() == 4 else 1)
    return "\n".join(rows) + "\n"


def intraday():
    """Seventy sessions of hour bars, with volumes that differ."""
    rows, day, count = ["datetime,open,high,low,close,volume"], datetime.date(2026, 3, 2), 0
    while count < 70:
        if day.weekday() < 5 and day != datetime.date(2026, 4, 3):
            for k in range(7):
                price = 20 + count * 0.05 + 0.1 * math.sin(k + count)
                volume = int(100_000 * (1.6, 1.0, 0.8, 0.7, 0.8, 1.1, 2.0)[k] * (1 + 0.3 * math.sin(count)))
                rows.append(f"{day}T{9 + k:02}:30:00,{price:.2f},{price + 0.2:.2f},{price - 0.2:.2f},{price + 0.1:.2f},{volume}")
            count += 1
        day += datetime.timedelta(days=1)
    return "\n".join(rows) + "\n"


class Columns(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.where = pathlib.Path(cls.folder.name)
        subprocess.run([SOURCE / "scripts/demo-tape", cls.where], check=True, stdout=subprocess.DEVNULL)
        shutil.copy(SOURCE / "config/samples/demo/brimwatch.toml", cls.where)
        (cls.where / "bars").mkdir()
        (cls.where / "bars" / "KLVN.csv").write_text(base_of_a_year())
        (cls.where / "hours.csv").write_text(intraday())
        cls.environment = {**os.environ, "HOME": cls.folder.name, "XDG_STATE_HOME": cls.folder.name + "/state", "XDG_CONFIG_HOME": cls.folder.name + "/none",
                           "XDG_RUNTIME_DIR": cls.folder.name + "/run", "TERM": "xterm", "COLUMNS": str(COLUMNS), "TZ": "UTC", "LC_ALL": "C.UTF-8"}

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def seen(self, *arguments):
        """All that a person sees of a command; and its exit code."""
        outer, inner = pty.openpty()
        fcntl.ioctl(inner, termios.TIOCSWINSZ, struct.pack("HHHH", 24, COLUMNS, 0, 0))
        child = subprocess.Popen([BRIMWATCH, *map(str, arguments)], stdin=subprocess.DEVNULL, stdout=inner, stderr=inner, cwd=self.where, env=self.environment)
        os.close(inner)
        got = b""
        while True:
            try:
                more = os.read(outer, 65536)
            except OSError:  # the terminal's other end is closed
                break
            if not more:
                break
            got += more
        os.close(outer)
        return child.wait(), got.decode()

    def look(self, *arguments, code=0, holds=""):
        ended, text = self.seen(*arguments)
        self.assertEqual(ended, code, f"{arguments}: {text}")
        self.assertIn(holds, " ".join(text.split()), f"{arguments}: {text}")
        plain = re.sub(r"\x1b\[[0-9;]*[A-Za-z]", "", text)
        for line in re.split(r"[\r\n]+", plain):
            if len(line) > COLUMNS and " " in line.strip():
                self.fail(f"{' '.join(map(str, arguments))}: {len(line)} columns: {line}")
        return plain

    def commands(self, above=()):
        text = self.look(*above, "--help")
        yield above
        for name in re.findall(r"^  ([a-z-]+)  ", text.replace("\r", "").partition("Subcommands:\n")[2], re.M):
            yield from self.commands((*above, name))

    def test_help_of_every_command(self):
        self.assertGreater(len(list(self.commands())), 40)
        self.look("chek", code=2, holds="check")
        self.look("check", "--confg", "x", code=2)
        self.look("--version")

    def test_check(self):
        self.look("check", "--config", "brimwatch.toml", holds="KLVN")
        self.look("check", "--explain", "--config", "brimwatch.toml")
        (self.where / "long.toml").write_text(
            '[market]\nindex = "nowhere/of/a/long/path/that/is/not/there.csv"\n[history]\ndaily = "not here"\n'
            '[[channel]]\nname = "a channel with a name that goes on for long"\nkind = "webhook"\nurl = "https://example.org/a/hook"\n'
            '[channel.secret]\nfile = "no/such/secret"\n' +
            "".join(f'[[watch]]\nsymbol = "QUELLINGTO{c}"\npivot = 123456.78\nnote = "{LONG_NOTE[:200]}"\n' for c in "ABCDEFGHIJKL"))
        self.look("check", "--explain", "--config", "long.toml", code=0)
        (self.where / "bad.toml").write_text(
            'watch_lists = "nowhere-to-be-found-in-a-folder-of-a-long-name/weekend.toml"\n[rules]\nrange = "five percent and a little more"\nsurge = -40\n'
            '[[channel]]\nkind = "pigeon"\n[[watch]]\nsymbol = "KLVN"\npivot = "about forty-eight dollars and thirty-five cents, or so"\nuntil = 31.12.2026\n')
        self.look("check", "--config", "bad.toml", code=3)

    def test_replay_journal_and_review(self):
        self.look("replay", "day.csv", "--config", "brimwatch.toml", "--journal", "j.db", "--deliver", "--stats", holds="KLVN")
        self.look("replay", "half-day.csv", "--config", "brimwatch.toml", "--journal", "k.db")
        self.look("replay", "nowhere.csv", "--config", "brimwatch.toml", code=4)
        self.look("replay", "day.csv", "--config", "brimwatch.toml", "--from", "half past ten", code=2)
        self.look("journal", "--journal", "j.db", holds="KLVN")
        self.look("journal", "--journal", "j.db", "--deliveries")
        self.look("journal", "answers", "--journal", "j.db")
        self.look("journal", "prune", "--journal", "j.db", "--dry-run", holds="would go: 0 notices")
        self.look("journal", "backup", "copy-of-the-journal.db", "--journal", "j.db")
        self.look("review", "--journal", "j.db", "--from", "2026-10-14", "--to", "2026-10-14", "--config", "brimwatch.toml", holds="crossing")
        self.look("review", "--why", "KLVN", "day.csv", "--config", "brimwatch.toml")
        self.look("review", "day.csv", "--config", "brimwatch.toml")

    def test_prepare_and_history(self):
        self.look("prepare", "bars", holds="KLVN")
        self.look("prepare", "bars", "--why", "--symbol", "KLVN")
        self.look("prepare", "bars", "--out", "list.toml")
        self.look("prepare", "bars", "--grade", code=4, holds="nothing could be graded")
        self.look("prepare", "nowhere", code=4)
        self.look("history", "check", "--config", "brimwatch.toml", "--all")
        self.look("history", "split", "KLVN", "2:1", "--config", "brimwatch.toml")

    def test_learn_and_pace(self):
        self.look("learn", "hours.csv", "--symbol", "HOURS", "--curves", "curves.json")
        self.look("learn", "--show", "HOURS", "--curves", "curves.json")
        self.look("learn", "--show", "NOBODY", "--curves", "curves.json", code=1)
        self.look("learn", "--grade", "hours.csv", holds="AUC")
        self.look("learn", "--grade", "--at-crossings", "hours.csv", holds="skill")
        self.look("pace", "--so-far", "612k", "--normal", "1.3M", "--at", "10:42", "--day", "2026-10-14")

    def test_init_channels_and_feeds(self):
        self.look("init", "--dir", "first", holds="Next")
        self.look("channels", "list", "--config", "brimwatch.toml")
        self.look("channels", "try", "--config", "brimwatch.toml")
        self.look("feeds", "try", "--config", "brimwatch.toml", code=2)


class Running(Columns):
    """The same of a daemon that runs: what is asked of it, and what it answers."""

    def setUp(self):
        fifo = self.where / "ticks"
        os.mkfifo(fifo)
        (self.where / "live.toml").write_text(
            f'[market]\ntrend = "down"\n[feed]\nkind = "pipe"\nrehearsal = 1\ncommand = ["/bin/cat", "{fifo}"]\n[[channel]]\nname = "out"\nkind = "command"\ncommand = ["/bin/cat"]\n'
            '[[watch]]\nsymbol = "QUELLINGTONS"\npivot = 123456.78\nnormal_volume = 1_300_000\n'
            f'[[watch]]\nsymbol = "KLVN"\npivot = 0.0123\nnote = "{LONG_NOTE[:200]}"\n'
            '[[watch]]\nsymbol = "HALQ"\npivot = 19.45\nfrom = 2030-01-01\n')
        self.log = open(self.where / "log", "wb")
        self.daemon = subprocess.Popen([BRIMWATCH, "run", "--config", "live.toml", "--journal", "live.db", "--socket", "sock"], cwd=self.where, env=self.environment, stdout=self.log, stderr=self.log)
        self.pipe = os.open(fifo, os.O_RDWR)
        for second, (symbol, price) in enumerate([("QUELLINGTONS", 123400), ("QUELLINGTONS", 123500.5), ("KLVN", 0.0122), ("KLVN", 0.0125)]):
            os.write(self.pipe, (json.dumps({"time": f"2026-10-14T10:00:0{second}-04:00", "symbol": symbol, "price": str(price), "size": 90000}) + "\n").encode())
        self.wait_for(lambda: (self.snapshot() or {"counts": {"ticks": 0}})["counts"]["ticks"] == 4)

    def tearDown(self):
        self.daemon.send_signal(signal.SIGTERM)
        self.daemon.wait()
        os.close(self.pipe)
        self.log.close()
        os.remove(self.where / "ticks")

    def wait_for(self, condition):
        end = time.monotonic() + 60
        while not condition():
            self.assertLess(time.monotonic(), end, (self.where / "log").read_text())
            self.assertIsNone(self.daemon.poll(), (self.where / "log").read_text())
            time.sleep(0.02)

    def snapshot(self):
        done = subprocess.run([BRIMWATCH, "now", "--json", "--socket", "sock"], cwd=self.where, env=self.environment, capture_output=True, text=True)
        return json.loads(done.stdout) if done.returncode == 0 else None

    def test_what_is_asked_of_a_daemon(self):
        at = ("--socket", "sock")
        self.look("now", *at, holds="MARKET DOWN")
        text = self.look("watch", "list", *at)
        self.assertIn("0.0123", text)   # not 0.01
        self.assertIn("QUELLIN~", text)
        self.look("watch", "add", "NIVO", "21.10", "--note", LONG_NOTE[:200], *at)
        self.look("watch", "add", "NIVO", "twenty-one dollars and ten cents", *at, code=1)
        self.look("watch", "mute", "NIVO", "--for", "under", *at)
        self.look("watch", "mute", "NOBODYSSYMBOL", *at, code=1)
        self.look("bought", "KLVN", "0.0124", "--shares", "1234567", *at)
        self.assertRegex(self.look("holding", *at), r"KLVN +0\.0124 +0\.0125 +\+0\.8 % +\S+ +1234567")
        self.look("watch", "list", *at, holds="bought at 0.0124")
        self.look("watch", "drop", "KLVN", *at, code=1)
        self.look("sold", "KLVN", "0.0126", *at)
        self.look("ack", "KLVN", *at)
        self.look("shared", *at, code=1)
        self.look("page", "devices", *at)
        self.look("now", "--socket", "nobody-listens-at-this-one", code=5)


# Only its own: the cases of Columns are not run twice.
for name in [name for name in dir(Columns) if name.startswith("test_")]:
    setattr(Running, name, None)

if __name__ == "__main__":
    unittest.main()
