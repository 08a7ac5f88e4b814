#!/usr/bin/python3
"""Two machines of one house over a real etcd of three members, in network namespaces: what people say at one of them is in force on both,
through kills and takeovers; one that is cut off from etcd asks the other whether it speaks; one whose feed begins when it takes over has no
connection before; a member of etcd that hangs is gone round. A webhook sink and an SMTP server count.

Usage: shared_people_test.py BRIMWATCH SLOW_DISK [TEST...] (the library of bench/slow_disk.cpp). Skipped, and said so, without root or etcd (Debian: etcd-server, etcd-client, iproute2).
"""
import contextlib
import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
import unittest

import etcd_house
from live_support import Daemon, wait_for

PROGRAM, SLOW_DISK = sys.argv.pop(1), sys.argv.pop(1)
SYMBOLS = [f"K{letter}VN" for letter in "ABCDEFGH"]
MARK = "another machine may tell this too"


def one_line(said):
    return " ".join((said.stdout + said.stderr).split())


def setUpModule():
    Case.house = etcd_house.House(PROGRAM)


def tearDownModule():
    Case.house.close()


class Case(unittest.TestCase):
    """Home speaks, on the first machine; cloud stands by, on the second. etcd is there for all tests."""
    OPTIONS = {}

    def setUp(self):
        self.house.begin_anew()
        self.second = 0
        self.start("home", 1)
        wait_for("home to speak", lambda: self.role("home") == "speaking")
        self.start("cloud", 2)
        wait_for("cloud to stand by", lambda: self.role("cloud") == "standing by")
        wait_for("both to be known", lambda: len(self.shared("cloud")["members"]) == 2)

    def start(self, name, machine):
        return self.house.start_daemon(Daemon, name, machine, SYMBOLS, **self.OPTIONS)

    def again(self, name):
        self.start(name, self.house.daemons[name].machine)

    def daemon(self, name):
        return self.house.daemons[name]

    def now(self, name):
        return self.daemon(name).now()

    def shared(self, name):
        return self.now(name)["shared"]

    def role(self, name):
        return self.house.role(name)

    def tick(self, symbol, price):
        self.second += 1
        self.house.tick(symbol, price, self.second)

    def say(self, name, *words):
        said = self.daemon(name).run(*words, "--socket", str(self.daemon(name).where / "sock"))
        self.assertEqual((said.returncode, said.stderr), (0, ""), words)
        return said.stdout.strip()

    def rows(self, name, sql):
        with contextlib.closing(sqlite3.connect(f"file:{self.daemon(name).where}/j.db?mode=ro", uri=True)) as journal:
            return journal.execute(sql).fetchall()

    def answers(self, name):
        return self.rows(name, "SELECT kind, symbol FROM answers ORDER BY seq")

    def watch(self, name, symbol):
        return next(row for row in self.now(name)["watches"] if row["symbol"] == symbol)

    def wait_price(self, name, symbol):
        wait_for(f"a price of {symbol} at {name}", lambda: self.watch(name, symbol)["last"] is not None)

    def wait_told(self, symbol, told=(1, 1)):
        wait_for(f"{symbol} by webhook and mail", lambda: self.house.told(symbol) >= told)


class People(Case):
    def test_what_is_said_at_one_is_in_force_on_both(self):
        for symbol in SYMBOLS[:3]:
            self.tick(symbol, "48.20")
        self.wait_price("home", "KCVN"), self.wait_price("cloud", "KCVN")
        self.say("cloud", "watch", "mute", "KAVN", "--for", "today")
        self.say("home", "watch", "add", "KBVN", "48.70")
        self.say("cloud", "bought", "KCVN", "48.30")
        expected = [("mute", "KAVN"), ("add", "KBVN"), ("bought", "KCVN")]
        for name in ("home", "cloud"):
            wait_for(f"all of it at {name}", lambda: self.answers(name) == expected)
            self.assertIsNotNone(self.watch(name, "KAVN")["muted_until"])
            wait_for("the added watch", lambda: len([row for row in self.now(name)["watches"] if row["symbol"] == "KBVN"]) == 2)
        self.said_while_one_is_away(expected)
        self.survives_a_takeover(expected)

    def said_while_one_is_away(self, expected):
        """Cloud is killed, misses one, and hears of it at its next start."""
        self.daemon("cloud").kill()
        self.say("home", "watch", "drop", "KDVN")
        expected.append(("drop", "KDVN"))
        self.again("cloud")
        wait_for("what it missed", lambda: self.answers("cloud") == expected)
        wait_for("the list without it", lambda: "KDVN" not in {row["symbol"] for row in self.now("cloud")["watches"]})

    def survives_a_takeover(self, expected):
        """The one that spoke is killed as soon as the other has given its answer."""
        wait_for("cloud to stand by", lambda: self.role("cloud") == "standing by")
        self.say("cloud", "watch", "mute", "KBVN", "48.35", "--for", "today")
        self.daemon("home").kill()
        expected.append(("mute", "KBVN"))
        wait_for("a takeover", lambda: self.role("cloud") == "speaking")
        self.tick("KBVN", "48.40"), self.tick("KCVN", "48.40")
        self.wait_told("KCVN")
        self.assertEqual(self.house.told("KBVN"), (0, 0), "it is muted, and the one that took over knows")
        self.again("home")
        wait_for("the same in both journals", lambda: self.answers("home") == self.answers("cloud") == expected)

    def test_what_differs_between_their_lists_is_said(self):
        self.assertTrue(all(row["same_list"] for row in self.shared("home")["members"]))
        check = lambda within: subprocess.run([*within, PROGRAM, "check", "--config", self.daemon("home").where / "b.toml"], capture_output=True, text=True)
        here = self.house.net.within(1)
        alike = check(here)
        self.assertNotRegex(alike.stderr, "list|rules|depends on")
        self.daemon("cloud").stop()
        self.house.start_daemon(Daemon, "cloud", 2, [*SYMBOLS[1:], "KZVN"], rules="range = 7\nsecond_day = true")
        wait_for("home to see it", lambda: [row["same_list"] for row in self.shared("home")["members"]] == [False, True])
        self.assertRegex(self.say("home", "shared"), r"cloud .*; another watch list; other\s+rules")
        said = check(here)
        self.assertEqual(said.returncode, 0, "it is a warning")
        self.assertIn("[shared]: cloud has another list; only on home: KAVN 48.35; only on cloud: KZVN 48.35", one_line(said))
        for rule in ("range: 5 on home, 7 on cloud", "second_day: false on home, true on cloud"):
            self.assertIn(f"[shared]: [rules] {rule}; a notice depends on which of them speaks", one_line(said))
        self.assertEqual(one_line(said).count("on which of them speaks"), 2, "its watches follow its rules")
        self.house.etcdctl("del", "brimwatch/mine/rules/cloud")
        self.assertIn("[shared]: cloud does not say by which rules it tells: an older program runs there; they are not compared", one_line(check(here)))
        self.assertIn("[shared]: the other machines' lists are not known: etcd", one_line(check(["ip", "netns", "exec", self.lonely()])))

    def lonely(self):
        """A network namespace without a way to anywhere."""
        name = f"{self.house.net.tag}x"
        etcd_house.run("ip", "netns", "add", name)
        self.addCleanup(etcd_house.run, "ip", "netns", "del", name)
        return name

    def test_a_member_of_etcd_that_hangs_is_gone_round(self):
        """SIGSTOP: it takes connections and answers nothing, for ever. Each daemon's first address is its own machine's."""
        self.house.members[1].send_signal(signal.SIGSTOP)
        self.addCleanup(self.house.members[1].send_signal, signal.SIGCONT)
        self.tick("KAVN", "48.20"), self.tick("KAVN", "48.40")
        self.wait_told("KAVN")
        wait_for("one to speak and one to stand by", lambda: sorted(map(self.role, ("home", "cloud"))) == ["speaking", "standing by"])
        self.say("cloud", "watch", "mute", "KBVN", "--for", "today")
        wait_for("the mute at home", lambda: ("mute", "KBVN") in self.answers("home"))


class Killed(Case):
    """Home's disk answers no write while a file is there."""

    def start(self, name, machine):
        hangs = {}
        if name == "home":
            options = os.environ.get("ASAN_OPTIONS", "") + ":verify_asan_link_order=0"
            hangs = {"LD_PRELOAD": SLOW_DISK, "BRIMWATCH_HUNG_DISK": str(self.house.where / "hung"), "ASAN_OPTIONS": options}
        return self.house.start_daemon(Daemon, name, machine, SYMBOLS, environment=hangs)

    def test_between_etcds_answer_and_the_disks(self):
        self.tick("KAVN", "48.20")
        self.wait_price("home", "KAVN"), self.wait_price("cloud", "KAVN")
        (self.house.where / "hung").touch()
        self.addCleanup((self.house.where / "hung").unlink, missing_ok=True)
        self.tick("KAVN", "48.40")
        wait_for("cloud to have heard it from etcd", lambda: any(one["symbol"] == "KAVN" for one in self.now("cloud")["notices"]))
        self.daemon("home").kill()
        self.assertEqual(self.rows("home", "SELECT id FROM notices WHERE symbol = 'KAVN'"), [], "home's disk had not answered")
        wait_for("a takeover", lambda: self.role("cloud") == "speaking")
        self.wait_told("KAVN")
        (self.house.where / "hung").unlink()
        self.again("home")
        wait_for("it in home's journal", lambda: self.rows("home", "SELECT kind FROM notices WHERE symbol = 'KAVN'") == [("crossed",)])
        wait_for("home to stand by", lambda: self.role("home") == "standing by")
        for channel, came in zip(("hook", "mail"), self.house.told("KAVN")):
            rows = [row for name in ("home", "cloud") for row in self.rows(name, f"SELECT unknowns, reply FROM deliveries WHERE channel = '{channel}'")]
            self.assertLessEqual(came, 1 + max(row[0] for row in rows), f"{channel}: twice only where a row says unknown: {rows}")


class Direct(Case):
    OPTIONS = {"direct": True, "alone_after": 3}

    def test_it_speaks_alone_only_when_the_other_does_not_answer_directly(self):
        wait_for("the address of home", lambda: any(
            row["name"] == "home" and row["direct"] for row in self.shared("cloud")["members"]))
        self.tick("KAVN", "48.20")
        self.wait_price("cloud", "KAVN")
        self.house.net.cut_port(2, 2379)
        wait_for("three times as long as it would wait", lambda: self.shared("cloud")["silent_seconds"] > 3 * self.OPTIONS["alone_after"])
        self.assertEqual(self.role("cloud"), "standing by")
        home = next(row for row in self.shared("cloud")["members"] if row["name"] == "home")
        self.assertEqual(home["answered"], "speaking")
        self.tick("KAVN", "48.40")
        self.wait_told("KAVN")
        self.house.net.cut_port(2, 2390)
        wait_for("it to be alone", lambda: self.role("cloud") == "alone")
        self.tick("KBVN", "48.20"), self.tick("KBVN", "48.40")
        self.wait_told("KBVN", (2, 2))
        self.assertTrue(any(MARK in text for text in self.house.texts("KBVN")))
        # Cut off right after, it cannot know whether home told this one: told again only as marked.
        plain = [text for text in self.house.texts("KAVN") if MARK not in text]
        self.assertEqual(len(plain), 1, "told by home")
        self.house.net.mend_port(2, 2390)
        wait_for("it to hear home", lambda: self.role("cloud") == "standing by")
        self.house.net.mend_port(2, 2379)
        wait_for("etcd to answer", lambda: self.shared("cloud")["silent_seconds"] < 1)
        self.assertEqual((self.role("home"), self.role("cloud")), ("speaking", "standing by"))


class AtTakeover(Case):
    OPTIONS = {"feed": "at-takeover"}

    def test_the_feed_begins_when_it_takes_over(self):
        self.assertEqual(self.now("cloud")["feeds"], [])

        def both_heard():
            self.tick("KAVN", "48.20"), self.tick("KBVN", "48.20")
            return self.watch("home", "KBVN")["last"]
        wait_for("prices at home", both_heard)
        self.tick("KAVN", "48.40")
        self.wait_told("KAVN")
        self.assertIsNone(self.watch("cloud", "KAVN")["last"])
        wait_for("the log to know that it has arrived", lambda: len(self.rows(
            "cloud", "SELECT 1 FROM deliveries WHERE state = 'delivered'")) == 2)
        self.daemon("home").kill()
        wait_for("a takeover", lambda: self.role("cloud") == "speaking")
        wait_for("its feed", lambda: self.now("cloud")["feeds"])
        self.second += 60

        def told_once_it_hears():  # its child may not have opened the file yet
            self.tick("KBVN", "48.40")
            return self.house.told("KBVN") >= (1, 1)
        wait_for("KBVN by webhook and mail", told_once_it_hears)
        self.tick("KAVN", "48.41")
        self.wait_price("cloud", "KAVN")
        self.assertEqual(self.house.told("KAVN"), (1, 1), "told before, by the other")
        hole = wait_for("the hole", lambda: self.rows("cloud", "SELECT feed, why FROM holes"))
        self.assertEqual(hole[0], ("takeover", "this machine's feed begins when it takes over"))
        said = " ".join(" ".join(json.loads(line)["text"] for line in self.daemon("cloud").kept()).split())
        self.assertRegex(said, r"home fell silent by .*; cloud speaks since .*; unheard: .*\d+ s")


if __name__ == "__main__":
    why = etcd_house.missing()
    if why:
        print("skipped: " + why)
        sys.exit(77)
    unittest.main()
