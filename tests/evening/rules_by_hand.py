#!/usr/bin/python3
"""`brimwatch review --rules A --rules B BARS` from outside: an invented market of months of minute bars, and every figure of
the comparison worked out again from the two plain reviews and, for p, from its definition.

Usage: rules_by_hand.py BRIMWATCH. pandas (python3-pandas of Debian) checks rises and falls; without it that part says that it
was skipped.
"""
import datetime
import json
import os
import math
import pathlib
import random
import subprocess
import sys
import tempfile
import unittest

PROGRAM = sys.argv.pop(1)
# The tester's own learned curves are not to be found.
NO_CURVES = tempfile.TemporaryDirectory()
os.environ["XDG_STATE_HOME"] = NO_CURVES.name
FIRST = datetime.date(2026, 3, 2)  # a Monday
SYMBOLS = ["KLVN", "ORRI", "TAMBU"]
CLOSED = {datetime.date(2026, 4, 3), datetime.date(2026, 5, 25)}


def sessions(count):
    day, out = FIRST, []
    while len(out) < count:
        if day.weekday() < 5 and day not in CLOSED:
            out.append(day)
        day += datetime.timedelta(days=1)
    return out


def write_market(where, count):
    """Bars of five minutes; now and then a stock walks through its pivot, on more volume or not."""
    rng = random.Random(5)
    days = sessions(count + 25)
    (where / "bars").mkdir()
    (where / "history").mkdir()
    for symbol in SYMBOLS:
        minutes, daily = ["datetime,open,high,low,close,volume"], ["date,open,high,low,close,volume"]
        for before in range(60, 0, -1):
            day = FIRST - datetime.timedelta(days=before)
            if day.weekday() < 5:
                daily.append(f"{day},48,49,47,48,{1_000_000 + rng.randrange(-100_000, 100_000)}")
        price = 49.0
        for number, day in enumerate(days):
            busy = rng.choice([0.7, 1.0, 1.0, 1.9])
            drift = (50.6 if rng.random() < 0.5 else 48.6) - price
            first, high, low, total = price, price, price, 0
            for bar in range(78):
                opened = price
                price = round(price + drift / 78 + rng.gauss(0, 0.03), 2)
                top, bottom = max(opened, price) + 0.01, min(opened, price) - 0.01
                volume = int(busy * 1_000_000 / 78 * (2 if bar in (0, 1, 76, 77) else 0.95) * rng.uniform(0.7, 1.3))
                minute = 570 + 5 * bar
                if number < count:
                    minutes.append(f"{day} {minute // 60:02d}:{minute % 60:02d},{opened:.2f},{top:.2f},{bottom:.2f},{price:.2f},{volume}")
                high, low, total = max(high, top), min(low, bottom), total + volume
            daily.append(f"{day},{first:.2f},{high:.2f},{low:.2f},{price:.2f},{total}")
        (where / "bars" / f"{symbol}.csv").write_text("\n".join(minutes) + "\n")
        (where / "history" / f"{symbol}.csv").write_text("\n".join(daily) + "\n")
    watches = "".join(f'[[watch]]\nsymbol = "{symbol}"\npivot = 50.00\nnormal_volume = 1_000_000\n' for symbol in SYMBOLS)
    (where / "b.toml").write_text(f'[market]\ntrend = "up"\n[history]\ndaily = "history"\n{watches}')
    (where / "near.toml").write_text("[rules]\nrearm = 1\nsurge = 40\n")
    (where / "far.toml").write_text("[rules]\nrearm = 2\nsurge = 60\nodds_heavy = 0.9\n")


def mean(values):
    return sum(values) / len(values)


def wilson(hits, count, z=1.959963984540054):
    """Wilson (1927), the score interval."""
    p = hits / count
    middle = (p + z * z / (2 * count)) / (1 + z * z / count)
    half = z / (1 + z * z / count) * math.sqrt(p * (1 - p) / count + z * z / (4 * count * count))
    return middle - half, middle + half


def t_tail(t, freedom):
    """P(|T| > t) of Student's t, by Simpson's rule over its density: x = tan(angle) takes infinity to a quarter turn."""
    scale = math.gamma((freedom + 1) / 2) / math.gamma(freedom / 2) / math.sqrt(freedom * math.pi)
    density = lambda angle: scale * (1 + math.tan(angle) ** 2 / freedom) ** (-(freedom + 1) / 2) / math.cos(angle) ** 2
    steps, start, end = 20000, math.atan(t), math.pi / 2 - 1e-9
    width = (end - start) / steps
    total = density(start) + density(end) + sum((4 if k % 2 else 2) * density(start + k * width) for k in range(1, steps))
    return 2 * total * width / 3


def block_p(rows, horizon):
    """The block t by its definition: p, and the blocks that have a crossing. `rows`: of every session, outcomes of a and b."""
    all_a, all_b = [v for r in rows for v in r[0]], [v for r in rows for v in r[1]]
    length = 2 * horizon
    count = max(1, len(rows) // length)
    blocks = [rows[k * length:(k + 1) * length if k + 1 < count else len(rows)] for k in range(count)]
    blocks = [b for b in blocks if any(r[0] or r[1] for r in b)]
    if len(blocks) < 6 or not all_a or not all_b:
        return None, len(blocks)
    u = [sum(v - mean(all_b) for r in b for v in r[1]) / len(all_b) - sum(v - mean(all_a) for r in b for v in r[0]) / len(all_a)
         for b in blocks]
    error = math.sqrt(len(u) / (len(u) - 1) * sum(x * x for x in u))
    if error == 0:
        return None, len(blocks)
    return t_tail(abs(mean(all_b) - mean(all_a)) / error, len(u) - 1), len(blocks)


def months_worth(days, alike):
    """How many independent crossings those of `days` are worth (Kish 1965)."""
    return len(days) / (1 + (len(days) / len({d[:7] for d in days}) - 1) * alike)


MEASURES = {
    "heavy crossings whose volume came": lambda c: c["came"] if c["weight"] == "heavy" else None,
    "crossings that closed at or above the pivot": lambda c: c["closed"] != "under" if c["close"] else None,
    "heavy ones that closed at or above the pivot": lambda c: c["closed"] != "under" if c["close"] and c["weight"] == "heavy" else None,
    "error of the odds (Brier, 0 is perfect)": lambda c: (c["odds"] - c["came"]) ** 2 if c["odds"] is not None else None,
    "highest rise within 1 session, %": lambda c: c["after_1"] and c["after_1"]["rise"],
    "deepest fall within 5 sessions, %": lambda c: c["after_5"] and c["after_5"]["fall"],
    "highest rise within 20 sessions, %": lambda c: c["after_20"] and c["after_20"]["rise"],
    "close after 5 sessions, %": lambda c: c["after_5"] and c["after_5"]["close"],
    "result of following, % each, open ones too": lambda c: c["followed"]["result"] if c["followed"]["taken"] else None,
}


class Rules(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.where = pathlib.Path(cls.folder.name)
        write_market(cls.where, 60)

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def run_it(self, *more, code=0):
        done = subprocess.run([PROGRAM, "review", "--config", str(self.where / "b.toml"), *more], capture_output=True, text=True)
        self.assertEqual(done.returncode, code, done.stderr)
        return done

    def rules(self, *names):
        return [part for name in names for part in ("--rules", str(self.where / name))]

    def review(self, name):
        return json.loads(self.run_it("--json", *self.rules(name), str(self.where / "bars")).stdout)

    def test_every_figure_follows_from_the_two_reviews(self):
        both = json.loads(self.run_it("--json", *self.rules("near.toml", "far.toml"), str(self.where / "bars")).stdout)
        a, b = self.review("near.toml")["crossings"], self.review("far.toml")["crossings"]
        self.assertGreater(len(a), 20)
        self.assertNotEqual(len(a), len(b))
        self.assertEqual(both["days"], len({c["day"] for c in a + b}))
        days = [str(day) for day in sessions(60)]
        self.assertEqual(both["sessions"], len(days))
        tallies = {t["name"]: (t["a"], t["b"]) for t in both["tallies"]}
        self.assertEqual(tallies["crossings told"], (len(a), len(b)))
        self.assertEqual(tallies["of them heavy"], tuple(sum(c["weight"] == "heavy" for c in x) for x in (a, b)))
        measures = {m["name"]: m for m in both["measures"]}
        judged = 0
        for name, value in MEASURES.items():
            m = measures[name]
            of = lambda crossings, day: [float(v) for c in crossings if c["day"] == day and (v := value(c)) is not None]
            rows = [(of(a, day), of(b, day)) for day in days]
            all_a, all_b = [v for r in rows for v in r[0]], [v for r in rows for v in r[1]]
            scale = 100 if "hits_a" in m else 1
            self.assertEqual((m["count_a"], m["count_b"]), (len(all_a), len(all_b)), name)
            if not all_a or not all_b:
                self.assertIsNone(m["p"], name)
                continue
            self.assertAlmostEqual(m["a"], scale * mean(all_a), 3, name)
            self.assertAlmostEqual(m["difference"], scale * (mean(all_b) - mean(all_a)), 3, name)
            if scale == 100:
                worth = months_worth([c["day"] for c in b if value(c) is not None], 0.05)
                for found, wanted in zip(m["between_b"], wilson(mean(all_b) * worth, worth)):
                    self.assertAlmostEqual(found, wanted, 5, name)
            wanted, blocks = block_p(rows, m["horizon"])
            self.assertEqual(m["blocks"], blocks, name)
            if wanted is None:
                self.assertTrue(m["p"] is None or blocks >= 6, name)
            else:
                judged += 1
                self.assertAlmostEqual(m["p"], wanted, delta=0.002, msg=name)  # values are given with four decimals
        self.assertGreater(judged, 2, "too few of them could be judged")

    def test_the_same_rules_twice_differ_in_nothing(self):
        done = self.run_it(*self.rules("near.toml", "near.toml"), str(self.where / "bars"))
        self.assertIn("WARNING: every difference is within noise", done.stdout)
        self.assertNotIn(": beyond noise", done.stdout)

    def test_rises_and_falls_are_those_of_the_daily_bars(self):
        try:
            import pandas as pd
        except ImportError:
            self.skipTest("python3-pandas is not installed")
        checked = 0
        for c in self.review("near.toml")["crossings"]:
            bars = pd.read_csv(self.where / "history" / f"{c['symbol']}.csv")
            after = bars[bars["date"] > c["day"]]
            for span in (1, 5, 20):
                part = after.head(span)
                if len(part) < span:
                    continue
                said, price = c[f"after_{span}"], float(c["price"])
                self.assertAlmostEqual(said["rise"], 100 * (part["high"].max() / price - 1), 3)
                self.assertAlmostEqual(said["fall"], 100 * (part["low"].min() / price - 1), 3)
                checked += 1
        self.assertGreater(checked, 50)

    def test_replay_keeps_a_journal_that_review_reads_alike(self):
        journal = str(self.where / "kept.db")
        bars = sorted(str(p) for p in (self.where / "bars").iterdir())
        subprocess.run([PROGRAM, "replay", "--config", str(self.where / "b.toml"), "--journal", journal, *bars],
                       capture_output=True, check=True)
        last = str(sessions(60)[-1])
        kept = json.loads(self.run_it("--json", "--journal", journal, "--from", str(FIRST), "--to", last).stdout)
        direct = json.loads(self.run_it("--json", str(self.where / "bars")).stdout)
        self.assertEqual(kept["crossings"], direct["crossings"])

    def test_the_page_and_the_mistakes(self):
        page = self.where / "both.html"
        self.run_it(*self.rules("near.toml", "far.toml"), "--html", str(page), str(self.where / "bars"))
        self.assertIn("Two sets of rules on the same days", page.read_text())
        (self.where / "bad.toml").write_text("[rules]\nsurge = -1\n")
        self.assertIn("bad.toml:2:9: [rules]: surge: found -1",
                      self.run_it(*self.rules("bad.toml"), str(self.where / "bars"), code=3).stderr)
        self.assertIn("name the tapes", self.run_it(*self.rules("near.toml"), code=2).stderr)
        self.assertIn("no-such-tape", self.run_it(*self.rules("near.toml"), "no-such-tape.csv", code=4).stderr)


unittest.main(verbosity=1)
