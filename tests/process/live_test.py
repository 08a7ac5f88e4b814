#!/usr/bin/python3
"""The daemon from outside: a real process on a live pipe, asked, reloaded, ended, killed and started again.

Usage: live_test.py BRIMWATCH SLOW_DISK (the library of bench/slow_disk.cpp). Waits on what the daemon says, with deadlines; never on a fixed time.
"""
import contextlib
import http.server
import json
import os
import pathlib
import queue
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
import unittest

import live_support
from live_support import PATIENCE, wait_for

PROGRAM = sys.argv.pop(1)
SLOW_DISK = sys.argv.pop(1)


class Live(live_support.PipeCase):
    PROGRAM = PROGRAM

    def setUp(self):
        super().setUp()
        self.more_feed = ""
        self.command = ["/bin/cat"]
        self.more_channel = ""
        self.more = ""

    def config(self, fifo, more=""):
        return f"""
[market]
trend = "up"
[[feed]]
kind = "pipe"
command = {json.dumps([*self.command, str(fifo)])}
{self.more_feed}
[[channel]]
name = "out"
kind = "command"
command = ["/bin/sh", "-c", "cat >> {self.where}/delivered; echo >> {self.where}/delivered"]
{self.more_channel}
[[watch]]
symbol = "KLVN"
pivot = 48.35
normal_volume = 1_300_000
{more or self.more}
"""

    def reload(self, more):
        self.daemon.write(self.config(self.fifo, more))
        self.daemon.reload()

    def kinds(self):
        """Of the notices about stocks: the ticks are of a day long past, and that the feed is late is said besides."""
        return [notice["kind"] for notice in self.notices() if notice["kind"] != "feed-late"]

    def tick(self, second, price):
        """So many seconds after 10 o'clock."""
        super().tick(f"{10 + second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}", price)

    def test_a_crossing_is_told_once_also_after_a_restart(self):
        self.start()
        self.tick(0, "48.20")
        self.tick(1, "48.36")
        wait_for("the crossing", lambda: self.kinds() == ["crossed"])
        wait_for("the delivery", lambda: [one["kind"] for one in self.delivered()] == ["crossed"])
        self.assertEqual(self.delivered()[0]["id"], self.notices()[0]["id"])
        # The first trade came at ten, and nobody was there before: that half hour is not taken for one without trades.
        self.assertRegex(" ".join(self.notices()[0]["text"].split()), r"the feed missed 30.min of the day")
        self.stop()
        self.start()
        self.tick(60, "48.40")
        self.tick(61, "50.80")
        wait_for("the next notice", lambda: self.kinds() == ["crossed", "left-range"])
        self.stop()

    def test_acknowledged_while_it_was_off_a_crossing_is_not_said_again(self):
        self.more_channel = "until_acknowledged = true\nrepeat_every = 10"
        self.start()
        self.tick(0, "48.20")
        self.tick(1, "48.36")
        wait_for("the delivery", lambda: self.told("crossed"))

        def state():
            with contextlib.closing(sqlite3.connect(self.where / "j.db")) as journal:
                return journal.execute("SELECT d.state, d.done != 0, d.reply FROM deliveries AS d JOIN notices AS n "
                                       "ON n.seq = d.notice WHERE n.kind = 'crossed'").fetchone()

        wait_for("its row", lambda: state()[:2] == ("delivered", 0))
        self.stop()
        crossing = next(notice["id"] for notice in self.notices() if notice["kind"] == "crossed")
        acknowledged = self.daemon.run("journal", "--journal", self.where / "j.db", "ack", crossing)
        self.assertEqual(acknowledged.returncode, 0, acknowledged.stderr)
        self.start()
        wait_for("the end of the delivery", lambda: state() == ("delivered", 1, "acknowledged"))
        self.stop()
        self.assertEqual(len(self.told("crossed")), 1)

    def test_killed_between_two_notices_it_loses_and_doubles_nothing(self):
        self.start()
        self.tick(0, "48.20")
        self.tick(1, "48.36")
        wait_for("the crossing", lambda: self.kinds() == ["crossed"])
        self.daemon.kill()
        self.start()
        self.tick(2, "48.37")
        self.tick(3, "47.50")
        wait_for("the fall", lambda: self.kinds() == ["crossed", "fell-under"])
        self.stop()
        ids = [notice["id"] for notice in self.notices()]
        self.assertEqual(len(ids), len(set(ids)))

    def test_killed_it_leaves_the_control_socket_to_the_next_though_its_feeds_program_lives_on(self):
        self.command = ["/bin/sh", "-c", 'trap "" TERM; cat "$0"; exec sleep 60']
        for _ in range(2):
            self.start()
            self.daemon.kill()
        self.start()
        self.assertNotIn("another brimwatch answers", self.daemon.said())
        self.assertEqual(self.now()["watches"][0]["symbol"], "KLVN")
        self.stop()

    def test_killed_it_takes_its_feeds_program_along(self):
        note = self.where / "program"
        self.command = ["/bin/sh", "-c", f'echo $$ > {note}; exec cat "$0"']  # waits at the pipe, whose writer is this test
        self.start()
        status = pathlib.Path("/proc") / note.read_text().strip() / "stat"
        self.assertIn("(cat)", status.read_text())

        def is_gone():
            try:
                return status.read_text().rsplit(") ", 1)[1][0] == "Z"  # nobody may have taken its exit status yet
            except OSError:
                return True

        self.assertFalse(is_gone())
        self.daemon.kill()
        wait_for("the end of the feed's program", is_gone)

    def test_a_silent_feed_is_told_once_and_its_return_too(self):
        self.more_feed = "silent_after = 1"
        self.start()
        # So many that a second of nothing is beyond chance; not all before the first beat, which finds the session open.
        for second in range(3000):
            self.tick(second, "48.20")
            if second % 50 == 49:
                wait_for("so many ticks", lambda: self.now()["counts"]["ticks"] > second)
        wait_for("the silence", lambda: "feed-silent" in self.kinds())
        seconds = iter(range(4000, 9000))

        def is_back():
            try:
                self.tick(next(seconds), "48.21")
            except BrokenPipeError:  # the feed is being connected anew
                self.pipe = open(self.fifo, "w", buffering=1)
            return "feed-back" in self.kinds()

        wait_for("the return", is_back)
        # On a busy machine this test may itself be silent for a second: then there is a second silence, with a return of its own.
        told = [kind for kind in self.kinds() if kind in ("feed-silent", "feed-back")]
        self.assertEqual(told, (["feed-silent", "feed-back"] * len(told))[:len(told)])
        self.stop()

    def test_a_replay_of_the_recordings_says_what_the_live_run_said(self):
        self.more = f'[record]\ndirectory = "{self.where}/rec"\n'
        self.start()
        self.tick(0, "48.20")
        for second in range(1, 40):
            self.tick(second, f"{48.30 + second / 100:.2f}")
        self.tick(60, "47.10")
        wait_for("the fall", lambda: self.kinds() == ["crossed", "fell-under"])
        self.stop()
        recordings = self.daemon.recordings()
        self.assertEqual(len(recordings), 2)
        for recording in recordings:  # the tape and the frames
            self.assertEqual(self.daemon.replayed(recording), self.daemon.lines(), recording)

    def test_the_service_manager_hears_ready_reloading_alive_and_stopping(self):
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
            manager.bind(str(self.where / "notify"))
            manager.settimeout(PATIENCE)
            self.environment = {"NOTIFY_SOCKET": str(self.where / "notify"), "WATCHDOG_USEC": "1000000"}
            self.start()

            def hears(wanted):
                while True:
                    said = manager.recv(4096).decode().splitlines()
                    if wanted in said:
                        return

            hears("READY=1")
            hears("WATCHDOG=1")
            self.daemon.reload()
            hears("RELOADING=1")
            hears("READY=1")
            hears("WATCHDOG=1")
            self.daemon.process.send_signal(signal.SIGTERM)
            hears("STOPPING=1")
            self.assertEqual(self.daemon.process.wait(timeout=PATIENCE), 0)

    def test_now_shows_side_volume_and_odds(self):
        self.start()
        self.tick(0, "48.20")
        self.tick(1, "48.40")
        watch = wait_for("the side", lambda: next((w for w in self.now()["watches"] if w["side"] == "inside"), None))
        self.assertEqual(watch["last"], 48.40)
        self.assertEqual(watch["volume"]["so_far"], 10000)
        self.assertIsNone(watch["volume"]["odds"])  # two prints after a start in mid-session are too little to judge by
        self.assertEqual(watch["volume"]["weight"], "unknown")
        asked = json.loads(self.daemon.run("now", "--json", "--socket", self.where / "sock").stdout)
        self.assertEqual(asked.keys(), self.now().keys())
        self.assertEqual(asked["watches"][0]["last"], 48.40)
        table = self.daemon.run("now", "--socket", self.where / "sock").stdout
        self.assertLessEqual(max(map(len, table.splitlines())), 80)
        self.assertNotIn("\033", table)
        self.stop()

    def test_a_bad_file_leaves_the_old_list_and_is_told(self):
        self.start()
        self.tick(0, "48.20")
        wait_for("the first tick", lambda: self.now()["watches"][0]["last"])
        self.reload('[[watch]]\nsymbol = "ORRJ"\npivoot = 12\n')
        wait_for("the refusal", lambda: "self-check" in self.kinds())
        self.assertIn("ORRJ", self.notices()[-1]["text"].replace("\n", " "))
        self.assertEqual([w["symbol"] for w in self.now()["watches"]], ["KLVN"])
        self.reload('[[watch]]\nsymbol = "ORRJ"\npivot = 12\n')
        watches = wait_for("the new list", lambda: len(self.now()["watches"]) == 2 and self.now()["watches"])
        self.assertEqual(watches[0]["last"], 48.20)  # the watch that stayed kept its state
        self.stop()

    def test_a_mapping_that_is_wrong_is_refused_alike_by_check_run_and_reload_and_the_feed_goes_on(self):
        self.start()
        self.tick(0, "48.20")
        wait_for("the first tick", lambda: self.now()["watches"][0]["last"])
        wrong = self.config(self.fifo).replace('kind = "pipe"', 'kind = "pipe"\nkind_words = { t = "tade" }')
        self.daemon.write(wrong)
        line = (self.where / "b.toml").read_text().splitlines().index('kind_words = { t = "tade" }') + 1
        checked = self.daemon.run("check", "--config", self.where / "b.toml")
        self.assertEqual(checked.returncode, 3)
        self.assertIn(f":{line}:20: ", checked.stderr)
        run = self.daemon.run("run", "--config", self.where / "b.toml", "--journal", self.where / "k.db", "--socket", self.where / "s2")
        self.assertEqual((run.returncode, run.stderr), (3, checked.stderr))
        self.daemon.reload()
        wait_for("the refusal", lambda: "self-check" in self.kinds())
        self.assertIn("kind_words", " ".join(self.notices()[-1]["text"].split()))
        self.tick(1, "48.36")
        wait_for("the crossing", lambda: "crossed" in self.kinds())
        self.stop()

    def test_without_standard_input_a_feed_that_reads_it_does_not_start(self):
        self.daemon.write('[[feed]]\nkind = "pipe"\n')
        run = subprocess.run([PROGRAM, "run", "--config", self.where / "b.toml", "--journal", self.where / "j.db", "--socket",
                              self.where / "sock"], stdin=subprocess.DEVNULL, capture_output=True, text=True)
        self.assertEqual(run.returncode, 3)
        self.assertIn("standard input", run.stderr)

    def test_without_any_feed_it_says_so_through_its_channels(self):
        self.start()
        self.daemon.write(self.config(self.fifo).replace('kind = "pipe"', 'kind = "pipe"\nenabled = false'))
        self.daemon.reload()
        wait_for("the notice", lambda: any("no feed is in force" in text for text in self.told("self-check")))
        self.stop()

    def test_a_reload_that_leaves_no_watch_in_force_is_told(self):
        self.start()
        self.reload("until = 2001-12-31\n")
        wait_for("the notice", lambda: "self-check" in self.kinds())
        self.assertIn("no watch is in force", " ".join(self.notices()[-1]["text"].split()))
        table = self.daemon.run("now", "--socket", self.where / "sock").stdout
        self.assertRegex(table, r"KLVN .* not in force today, ended 2001-12-31\n")
        self.assertIn("1 watch, 0 in force today\n", table)
        self.reload("from = 2099-05-04\n")
        wait_for("the new list", lambda: self.now()["watches"][0]["from"] == "2099-05-04")
        table = self.daemon.run("now", "--socket", self.where / "sock").stdout
        self.assertRegex(table, r"KLVN .* not in force today, but from 2099-05-04 on\n")
        self.stop()

    def test_a_second_daemon_on_the_same_journal_is_turned_away(self):
        self.start()
        run = self.daemon.run("run", "--config", self.where / "b.toml", "--journal", self.where / "j.db", "--socket", self.where / "s2")
        self.assertEqual(run.returncode, 6)
        self.assertIn("another brimwatch holds it", run.stderr)
        self.stop()

    def test_the_heartbeat_calls_a_real_server_with_nothing_but_itself(self):
        calls = queue.Queue()

        class Watcher(http.server.BaseHTTPRequestHandler):
            def do_GET(self):
                calls.put((self.command, self.path, dict(self.headers)))
                self.send_response(200)
                self.end_headers()

            def log_message(self, *words):
                pass

        with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Watcher) as server:
            threading.Thread(target=server.serve_forever, daemon=True).start()
            self.more = f'[life]\nheartbeat_url = "http://127.0.0.1:{server.server_port}/alive"\nheartbeat_every = 1\n'
            self.start()
            for _ in range(2):
                command, path, headers = calls.get(timeout=PATIENCE)
                self.assertEqual((command, path), ("GET", "/alive"))
                self.assertLessEqual({name.lower() for name in headers}, {"host", "accept", "accept-encoding", "user-agent"})
            self.stop()
            server.shutdown()

    def without_a_journal(self, expected):
        """Starts on a journal that cannot be used: that is said through the channel, and so are crossings."""
        self.start()
        wait_for("the trouble", lambda: any("not kept" in text for text in self.told("self-check")))
        self.assertTrue(any(expected in text for text in self.told("self-check")), self.told("self-check"))
        self.tick(0, "48.20")
        self.tick(1, "48.36")
        wait_for("the crossing", lambda: self.told("crossed"))
        self.assertTrue(self.now()["journal_trouble"])

    def told(self, kind):
        """The texts of that kind that came through the channel, each on one line."""
        return [" ".join(one["text"].split()) for one in self.delivered() if one["kind"] == kind]

    def test_on_a_corrupt_journal_it_tells_without_keeping_and_destroys_nothing(self):
        (self.where / "j.db").write_bytes(b"SQLite format 3\0" + b"\x10\x00" + b"garbage" * 900)
        before = (self.where / "j.db").read_bytes()
        self.without_a_journal("damaged")
        self.stop()
        self.assertEqual((self.where / "j.db").read_bytes(), before)

    def test_on_a_journal_of_a_newer_version_it_tells_without_keeping_and_destroys_nothing(self):
        self.start()
        self.tick(0, "48.20")
        self.tick(1, "48.36")
        wait_for("the crossing", lambda: self.kinds() == ["crossed"])
        self.stop()
        with contextlib.closing(sqlite3.connect(self.where / "j.db")) as journal:
            journal.execute("PRAGMA user_version = 9999")
            journal.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        (self.where / "delivered").unlink()
        before = (self.where / "j.db").read_bytes()
        self.without_a_journal("newer")
        self.stop()
        self.assertEqual((self.where / "j.db").read_bytes(), before)

    def test_where_nothing_can_be_written_it_tells_all_the_same(self):
        # A file stands where a folder is needed: so it is for root too, whom no mode stops.
        (self.where / "blocked").write_text("")
        self.daemon.journal = self.where / "blocked" / "j.db"
        self.without_a_journal("Not a directory")
        self.stop()

    def on_a_small_disk(self, then):
        """The journal lies on a file system of its own (tmpfs, 1 MiB), which only the daemon sees; and so do we, through /proc."""
        disk = self.where / "disk"
        disk.mkdir()
        self.daemon.under = ["unshare", "--user", "--map-root-user", "--mount", "/bin/sh", "-c",
                             f'mount -t tmpfs -o size=1m none "$0" && {then}; exec "$@"', disk]
        if subprocess.run([*self.daemon.under[:5], "-c", 'mount -t tmpfs none "$0"', disk], capture_output=True).returncode != 0:
            self.skipTest("this machine gives no file system of one's own (user namespaces)")
        self.daemon.journal = disk / "j.db"

    def test_on_a_disk_that_is_full_at_the_start_it_tells_all_the_same(self):
        self.on_a_small_disk('cat /dev/zero > "$0/filler" 2> /dev/null')
        self.without_a_journal("disk is full")
        self.stop()

    def test_a_disk_that_fills_up_is_told_and_so_are_crossings_and_both_are_kept_when_there_is_room_again(self):
        self.on_a_small_disk("true")
        self.start()
        disk = f"/proc/{self.daemon.process.pid}/root{self.where}/disk"
        with self.assertRaises(OSError), open(disk + "/filler", "wb", buffering=0) as filler:
            while True:
                filler.write(bytes(4096))
        self.tick(0, "48.20")
        self.tick(1, "48.36")
        wait_for("the crossing", lambda: self.told("crossed"))
        wait_for("the trouble", lambda: any("cannot be written" in text and "full" in text for text in self.told("self-check")))
        os.remove(disk + "/filler")
        wait_for("the recovery", lambda: any("works again" in text for text in self.told("self-check")))
        for part in ("j.db", "j.db-wal"):  # SQLite cannot open a path through another process's root
            shutil.copy(f"{disk}/{part}", self.where / part)
        self.assertEqual(self.kinds().count("crossed"), 1)
        told = [one["id"] for one in self.delivered()]
        self.assertEqual(len(told), len(set(told)))
        self.stop()

    def test_a_disk_that_hangs_is_told_and_so_are_crossings_and_both_are_kept_when_it_answers_again(self):
        hung = self.where / "hung"
        self.environment = {"LD_PRELOAD": SLOW_DISK, "BRIMWATCH_HUNG_DISK": str(hung)}
        options = os.environ.get("ASAN_OPTIONS", "")
        self.environment["ASAN_OPTIONS"] = options + ":verify_asan_link_order=0"
        self.start()
        self.tick(0, "48.20")
        wait_for("the price", lambda: self.now()["watches"][0]["last"] == 48.2)
        hung.touch()
        self.tick(1, "48.36")
        wait_for("the crossing", lambda: self.told("crossed"))
        wait_for("the trouble", lambda: any("cannot be written" in text for text in self.told("self-check")))
        self.assertEqual(self.kinds(), [])
        self.assertTrue(self.now()["journal_trouble"])
        self.tick(2, "50")
        self.tick(3, "51")
        wait_for("the price above the range", lambda: self.told("left-range"))
        hung.unlink()
        wait_for("the recovery", lambda: any("works again" in text for text in self.told("self-check")))
        wait_for("both in the journal", lambda: self.kinds().count("crossed") == 1 and "left-range" in self.kinds())
        self.stop()
        for said in (self.delivered(), self.notices()):
            ids = [one["id"] for one in said]
            self.assertEqual(len(ids), len(set(ids)))

    def with_a_stock_that_does_not_trade_again(self):
        """ORRI has crossed before the journal goes, and is not seen again in this run."""
        self.more = "[[watch]]\nsymbol = \"ORRI\"\npivot = 20\nnormal_volume = 1_000_000\n"
        self.start()
        self.tick_orri(0, "19.9")
        self.tick_orri(1, "20.05")
        wait_for("its crossing", lambda: self.kinds() == ["crossed"])

    def tick_orri(self, second, price):
        print(json.dumps({"time": f"2026-10-14T10:00:{second:02d}-04:00", "symbol": "ORRI", "price": price, "size": 5000}), file=self.pipe)

    def nothing_twice_after_a_restart(self):
        self.start()
        self.tick(9, "50.9")
        self.tick_orri(9, "20.1")
        wait_for("the last price", lambda: self.now()["watches"][1]["last"] == 20.1)
        self.stop()
        told = {kind: len(self.told(kind)) for kind in ("crossed", "left-range", "opened-over")}
        self.assertEqual(told, {"crossed": 2, "left-range": 1, "opened-over": 0})

    def test_a_journal_that_is_moved_away_is_told_and_nothing_twice(self):
        self.with_a_stock_that_does_not_trade_again()
        self.tick(2, "48.20")
        self.tick(3, "48.36")
        wait_for("the crossing", lambda: self.kinds() == ["crossed", "crossed"])
        (self.where / "old").mkdir()
        for file in self.where.glob("j.db*"):  # the log stands beside it under the same name
            file.rename(self.where / "old" / file.name)
        self.tick(4, "50")
        self.tick(5, "51")
        wait_for("what came to be told", lambda: any("moved away or replaced" in text for text in self.told("self-check")))
        wait_for("the other one to be told", lambda: any("another is in use" in text for text in self.told("self-check")))
        wait_for("the price above the range", lambda: self.told("left-range"))
        self.stop()
        self.assertEqual(self.kinds().count("crossed"), 0, "that is in the old one")
        self.nothing_twice_after_a_restart()

    def test_a_journal_in_whose_place_another_stands_is_told_and_nothing_twice(self):
        self.start()
        self.stop()
        shutil.copy(self.where / "j.db", self.where / "backup.db")
        self.with_a_stock_that_does_not_trade_again()
        for beside in ("j.db-wal", "j.db-shm"):
            (self.where / beside).unlink()
        (self.where / "backup.db").rename(self.where / "j.db")
        for second, price in enumerate(("48.20", "48.36", "50", "51"), start=2):
            self.tick(second, price)
        wait_for("the other one to be told", lambda: any("another is in use" in text for text in self.told("self-check")))
        self.stop()
        self.nothing_twice_after_a_restart()

    def test_a_mute_name_server_holds_nothing_up(self):
        names = self.where / "names"
        options = os.environ.get("ASAN_OPTIONS", "")
        self.environment = {"LD_PRELOAD": SLOW_DISK, "BRIMWATCH_HUNG_NAMES": str(names),
                            "ASAN_OPTIONS": options + ":verify_asan_link_order=0"}
        self.more_feed = "[[feed]]\nname = \"asked\"\nkind = \"poll\"\nurl = \"https://quotes.example/all\"\n" \
                         "interval = 0.1\nconnect_timeout = 0.5\nfields = { symbol = \"/s\", price = \"/p\" }\n"
        self.more = '[life]\nheartbeat_url = "https://alive.example/"\nheartbeat_every = 1\n'
        names.touch()
        self.start()
        wait_for("the poll to give up", lambda: "no name server answers" in self.daemon.feed("asked")["text"])

        def slowest_answers(seconds):
            took, end = [], time.monotonic() + seconds
            while time.monotonic() < end:
                began = time.monotonic()
                self.now()
                took.append(time.monotonic() - began)
                time.sleep(0.005)
            return sorted(took)

        took = slowest_answers(3)  # while the poll gives up five times, and the heartbeat hangs
        self.assertLess(took[len(took) * 9 // 10], 0.05)
        self.assertLess(took[-1], 0.25, "libcurl alone waits here for as long as the name server is mute")
        self.tick(0, "48.20")
        self.tick(1, "48.36")
        wait_for("the crossing", lambda: self.told("crossed"))
        began = time.monotonic()
        self.stop()
        self.assertLess(time.monotonic() - began, 5)

    def seconds_to_stop(self):
        began = time.monotonic()
        self.stop()
        return time.monotonic() - began

    def test_it_ends_in_five_seconds_on_a_disk_that_hangs(self):
        hung = self.where / "hung"
        options = os.environ.get("ASAN_OPTIONS", "")
        self.environment = {"LD_PRELOAD": SLOW_DISK, "BRIMWATCH_HUNG_DISK": str(hung),
                            "ASAN_OPTIONS": options + ":verify_asan_link_order=0"}
        self.start()
        self.tick(0, "48.20")
        wait_for("the price", lambda: self.now()["watches"][0]["last"] == 48.2)
        hung.touch()
        self.tick(1, "48.36")
        wait_for("the price", lambda: self.now()["watches"][0]["last"] == 48.36)
        self.assertLess(self.seconds_to_stop(), 5)

    def test_while_another_program_locks_the_journal_it_starts_and_ends_in_time_and_reads_it_when_it_can(self):
        self.start()
        self.tick(0, "48.20")
        self.tick(1, "48.36")
        wait_for("the crossing", lambda: self.kinds() == ["crossed"])
        self.stop()
        with contextlib.closing(sqlite3.connect(self.where / "j.db", isolation_level=None)) as other:
            other.execute("UPDATE deliveries SET state = 'pending', done = 0")  # as if it had never got out
            other.execute("BEGIN EXCLUSIVE")
            (self.where / "delivered").unlink()
            self.start()
            wait_for("the trouble", lambda: any("not kept" in text for text in self.told("self-check")))
            self.assertLess(self.seconds_to_stop(), 5)
            (self.where / "log").write_text("")  # which says, rightly, that not everything could be written
            self.start()
            wait_for("the trouble", lambda: self.now()["journal_trouble"])
            other.execute("ROLLBACK")
        wait_for("the recovery", lambda: any("works again" in text for text in self.told("self-check")))
        self.stop()

    def test_when_the_journal_can_be_written_again_it_keeps_again(self):
        (self.where / "j.db").write_bytes(b"SQLite format 3\0" + b"\x10\x00" + b"garbage" * 900)
        self.without_a_journal("damaged")
        os.rename(self.where / "j.db", self.where / "aside.db")
        wait_for("the crossing in the new journal", lambda: "crossed" in self.kinds())
        wait_for("the recovery", lambda: any("works again" in text for text in self.told("self-check")))
        self.stop()
        told = [one["id"] for one in self.delivered()]
        self.assertEqual(len(told), len(set(told)))  # what went out unkept is not sent again
        ids = [notice["id"] for notice in self.notices()]
        self.assertEqual(len(ids), len(set(ids)))

    def test_without_a_daemon_now_says_so_with_code_5(self):
        run = self.daemon.run("now", "--socket", self.where / "none")
        self.assertEqual(run.returncode, 5)
        self.assertIn("is the daemon running?", run.stderr)


unittest.main()
