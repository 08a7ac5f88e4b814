#!/usr/bin/python3
"""brimwatch serve: heard by an independent WebSocket client (python3-websockets), by Python's own HTTP client, and by a
daemon under the configuration that it prints for itself.

Usage: rehearsal_test.py BRIMWATCH.
"""
import asyncio
import csv
import decimal
import json
import pathlib
import signal
import subprocess
import sys
import tempfile
import unittest
import urllib.error
import urllib.request

import websockets

from live_support import PATIENCE, Daemon, wait_for

PROGRAM = sys.argv.pop(1)
WATCH = '[market]\ntrend = "up"\n[[watch]]\nsymbol = "KLVN"\npivot = 48.35\nnormal_volume = 13_000_000\n'


def write_tape(path, seconds=600):
    """From the open on, a trade a second of KLVN, which crosses after a third and falls back at the end, and one of ORRJ every third."""
    with open(path, "w", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["time", "symbol", "price", "size", "conditions", "exchange", "id"])
        for second in range(seconds):
            price = "48.20" if second < seconds // 3 else "48.40" if second < seconds - 60 else "47.10"
            clock = f"2026-10-14T09:{30 + second // 60}:{second % 60:02d}.{second % 10}-04:00"
            rows.writerow([clock, "KLVN", price, 100 + second, "@", "N", 2 * second + 1])
            if second % 3 == 0:
                rows.writerow([clock, "ORRJ", "112.4999", "0.5", "@ I", "P", 2 * second + 2])


class Serve:
    def __init__(self, tape, *arguments):
        self.process = subprocess.Popen([PROGRAM, "serve", tape, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.configuration = ""
        while line := self.process.stdout.readline():
            if line == "\n":
                break
            self.configuration += line
        self.url = next(line.split('"')[1] for line in self.configuration.splitlines() if line.startswith("url"))

    def end(self):
        self.process.send_signal(signal.SIGTERM)
        out, err = self.process.communicate(timeout=PATIENCE)
        return err


class InOneCommand(unittest.TestCase):
    """brimwatch rehearse: page, channels and a journal of its own, marked everywhere, and an end by itself."""

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.where = pathlib.Path(self.folder.name)
        self.env = {"PATH": "/usr/bin:/bin", "HOME": str(self.where), "TMPDIR": str(self.where), "LC_ALL": "C.UTF-8"}

    def tearDown(self):
        self.folder.cleanup()

    def rehearse(self, watches, *arguments, code=0):
        (self.where / "b.toml").write_text(
            '[page]\non = false\n[record]\ndirectory = "rec"\n[[feed]]\nname = "real"\nkind = "pipe"\ncommand = ["/bin/false"]\n'
            f'[[channel]]\nname = "file"\nkind = "command"\ncommand = ["/bin/sh", "-c", "cat >> {self.where}/told; echo >> {self.where}/told"]\n' + watches)
        done = subprocess.run([PROGRAM, "rehearse", "--config", self.where / "b.toml", "--speed", "10000", "--journal", self.where / "r.db", *arguments],
                              capture_output=True, text=True, env=self.env, cwd=self.where, timeout=PATIENCE, stdin=subprocess.DEVNULL)
        self.assertEqual(done.returncode, code, done.stdout + done.stderr)
        return done.stderr

    def journal(self):
        out = subprocess.run([PROGRAM, "journal", "--json", "--journal", self.where / "r.db"], capture_output=True, text=True, env=self.env).stdout
        return [json.loads(line) for line in out.splitlines()]

    def test_an_invented_day_goes_round_the_watches_own_pivots(self):
        said = self.rehearse("".join(f'[[watch]]\nsymbol = "{name}"\npivot = {pivot}\nnormal_volume = 1_200_000\n'
                                     for name, pivot in (("KLVN", 48.35), ("ORRJ", 112.6), ("NIVO", 20.05), ("DRYJ", 35.9))))
        self.assertIn("status page: http://127.0.0.1:", said)
        self.assertNotRegex(said, r"(crossed|ended the day at|odds \d\.\d\d, price) \d+\.\d{3}", "prices lie on ticks")
        self.assertRegex(said, r"ended with \d+ notices; read them with: brimwatch journal --journal ")
        notices = self.journal()
        self.assertTrue(all(notice["title"].startswith("Rehearsal: ") for notice in notices), notices)
        kinds = {(notice["symbol"], notice["kind"]) for notice in notices}
        self.assertLessEqual({("KLVN", "crossed"), ("ORRJ", "crossed"), ("NIVO", "left-range"), ("DRYJ", "fell-under")}, kinds)
        self.assertIn("day-end", {kind for _, kind in kinds})
        self.assertIn("Rehearsal: KLVN crossed 48.35", (self.where / "told").read_text())
        self.assertFalse((self.where / "rec").exists(), "a day that was never there is recorded")
        self.assertEqual([entry.name for entry in self.where.iterdir() if entry.is_dir()], [], "a folder was left behind")

    def test_a_recording_is_played(self):
        write_tape(self.where / "day.csv")
        self.rehearse(WATCH, self.where / "day.csv")
        self.assertIn(("KLVN", "crossed"), {(notice["symbol"], notice["kind"]) for notice in self.journal()})

    def test_a_journal_that_is_there_is_not_touched(self):
        (self.where / "r.db").write_text("mine")
        self.assertIn("is there already", self.rehearse("", code=2))
        self.assertEqual((self.where / "r.db").read_text(), "mine")


class Rehearsal(unittest.TestCase):
    maxDiff = None

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.tape = pathlib.Path(self.folder.name) / "day.csv"
        write_tape(self.tape)

    def serve(self, *arguments):
        serve = Serve(self.tape, *arguments)
        self.addCleanup(lambda: serve.process.poll() is None and serve.end())
        return serve

    def hear(self, serve, symbols, count):
        """What an independent client hears: messages until there are `count`, or the connection ends; and how it ended."""

        async def listen():
            heard = []
            async with websockets.connect(serve.url, compression=None, max_size=None) as socket:
                await socket.send('{"do":"hello"}')
                self.assertEqual(json.loads(await socket.recv()), {"answer": "welcome"})
                await socket.send(json.dumps({"do": "watch", "symbols": symbols}))
                self.assertEqual(json.loads(await socket.recv()), {"answer": "done"})
                try:
                    while len(heard) < count:
                        text = await asyncio.wait_for(socket.recv(), PATIENCE)
                        try:
                            message = json.loads(text)
                        except ValueError:
                            message = text  # garbage, as asked for
                        heard += message if isinstance(message, list) else [message]
                except websockets.ConnectionClosed:
                    pass
                return heard, socket.close_code

        return asyncio.run(listen())

    def test_an_independent_client_hears_the_tape_to_the_last_digit(self):
        heard, _ = self.hear(self.serve("--speed", "6000"), ["KLVN", "ORRJ"], 800)
        with open(self.tape) as file:
            rows = list(csv.DictReader(file))
        self.assertEqual(len(heard), len(rows))
        for message, row in zip(heard, rows):
            self.assertEqual(message["kind"], "trade")
            self.assertEqual(message["symbol"], row["symbol"])
            for field in ("price", "size"):
                self.assertEqual(decimal.Decimal(message[field]), decimal.Decimal(row[field]))
            self.assertEqual(message["conditions"], row["conditions"].replace(" ", ""))
            self.assertEqual(message["id"], row["id"])
        for symbol in ("KLVN", "ORRJ"):
            numbers = [message["n"] for message in heard if message["symbol"] == symbol]
            self.assertEqual(numbers, list(range(1, len(numbers) + 1)))

    def test_only_what_was_asked_for_is_sent(self):
        heard, _ = self.hear(self.serve("--speed", "6000"), ["ORRJ"], 200)
        self.assertEqual({message["symbol"] for message in heard}, {"ORRJ"})

    def test_it_ends_connections_with_the_code_that_was_asked_for(self):
        for what, wanted in (("close:1013@09:32", 1013), ("close:4999@09:32", 4999), ("cut@09:32", 1006), ("away:9@09:32", 1006)):
            heard, code = self.hear(self.serve("--speed", "600", "--misbehave", what), ["KLVN"], 10_000)
            self.assertEqual(code, wanted, what)
            if what.startswith("close"):
                self.assertEqual(len(heard), 120, what)  # of the first two minutes, none torn

    def test_it_loses_and_breaks_what_was_asked_for_and_counts_it(self):
        serve = self.serve("--speed", "6000", "--seed", "3", "--misbehave", "drop:10", "--misbehave", "duplicate:10",
                           "--misbehave", "garbage:10")
        wait = []

        async def listen():
            async with websockets.connect(serve.url, compression=None) as socket:
                await socket.send('{"do":"watch","symbols":["KLVN"]}')
                try:
                    while True:
                        wait.append(await asyncio.wait_for(socket.recv(), 3))
                except asyncio.TimeoutError:
                    pass

        asyncio.run(listen())
        err = serve.end()
        self.assertRegex(err, r"800 messages on the tape, \d+ sent, \d+ dropped, \d+ garbled, \d+ doubled")

    def test_a_poll_shows_the_last_state_and_knows_what_has_not_changed(self):
        serve = self.serve("--as", "poll", "--speed", "60000", "--misbehave", "close:503@09:30:01")
        url = serve.url.replace("{symbols}", "KLVN,ORRJ,NONE")

        def get(tag=""):
            try:
                with urllib.request.urlopen(urllib.request.Request(url, headers={"If-None-Match": tag})) as answer:
                    return answer.status, json.loads(answer.read())["quotes"], answer.headers["ETag"]
            except urllib.error.HTTPError as answer:
                return answer.code, [], answer.headers["ETag"]

        seen = []
        wait_for("the refusal", lambda: (seen.append(get()[0]), 503 in seen)[1])
        status, quotes, tag = wait_for("the end of the tape", lambda: (answer := get())[1] and answer[1][0]["price"] == "47.10"
                                       and answer[1][0]["time"].startswith("2026-10-14T13:39:59") and answer)
        self.assertEqual([quote["symbol"] for quote in quotes], ["KLVN", "ORRJ"])
        self.assertEqual(int(quotes[0]["day_volume"]), sum(100 + second for second in range(600)))
        self.assertEqual(get(tag)[0], 304)

    def rehearsed(self, *arguments, change=lambda text: text):
        """A daemon on the source under the printed configuration; the kinds of its notices once the tape has ended."""
        serve = self.serve(*arguments)
        self.assertIn("rehearsal = ", serve.configuration)
        daemon = Daemon(PROGRAM, WATCH + change(serve.configuration))
        self.addCleanup(daemon.close)
        daemon.start()
        wait_for("the fall", lambda: "fell-under" in daemon.kinds())
        daemon.stop()
        return daemon, serve

    def replayed(self, daemon):
        return [json.loads(line) for line in daemon.replayed(self.tape)]

    def test_a_rehearsed_day_says_what_its_replay_says(self):
        daemon, _ = self.rehearsed("--speed", "120")
        live, replayed = [json.loads(line) for line in daemon.lines()], self.replayed(daemon)
        self.assertEqual([told["kind"] for told in live], ["crossed", "fell-under"])
        for one, other in zip(live, replayed):
            for field in ("kind", "id", "day", "symbol"):
                self.assertEqual(one[field], other[field])
        # A day long past is not called late, neither in a notice of its own nor in the others.
        run = daemon.run("journal", "--json", "--journal", daemon.where / "j.db")
        self.assertNotIn("feed-late", run.stdout)

    def test_a_day_long_past_reaches_the_channels(self):
        channel = '[[channel]]\nname = "screen"\nkind = "console"\n'
        daemon, _ = self.rehearsed("--speed", "120", change=lambda text: text + channel)
        self.assertRegex(daemon.said(), r"KLVN +crossed 48\.35")
        deliveries = daemon.run("journal", "--deliveries", "--json", "--journal", daemon.journal).stdout.splitlines()
        states = [row["state"] for row in map(json.loads, deliveries) if row.get("channel") == "screen"]
        self.assertEqual(set(states), {"delivered"})
        self.assertGreaterEqual(len(states), 2)

    def test_the_printed_command_runs_as_it_stands(self):
        """A journal and a socket by bare names, in the folder where one is."""
        daemon = Daemon(PROGRAM, WATCH + self.serve("--speed", "120").configuration)
        self.addCleanup(daemon.close)
        program = pathlib.Path(PROGRAM).resolve()
        run = subprocess.Popen([program, "run", "--config", "b.toml", "--journal", "j.db", "--socket", "sock"], cwd=daemon.where,
                               stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        self.addCleanup(lambda: run.poll() is None and run.kill())
        wait_for("the fall", lambda: (daemon.where / "j.db").is_file() and "fell-under" in daemon.kinds())
        self.assertTrue((daemon.where / "sock").is_socket())
        self.assertTrue(daemon.now()["time"].startswith("2026-10-14T"), "the clock that is shown is the rehearsal's")
        kept = subprocess.run([program, "journal", "--json", "--journal", "j.db"], cwd=daemon.where, capture_output=True, text=True)
        self.assertIn("fell-under", kept.stdout)
        run.send_signal(signal.SIGTERM)
        self.assertEqual(run.wait(timeout=PATIENCE), 0)

    def test_a_polled_day_tells_the_same_crossing(self):
        daemon, _ = self.rehearsed("--as", "poll", "--speed", "60", change=lambda text: text.replace("interval = 1", "interval = 0.2"))
        self.assertEqual(daemon.kinds(), ["crossed", "fell-under"])

    def test_garbage_doubles_and_disorder_make_no_second_notice(self):
        daemon, serve = self.rehearsed("--speed", "60", "--misbehave", "garbage:5", "--misbehave", "duplicate:20",
                                       "--misbehave", "reorder:20")
        self.assertEqual(daemon.kinds(), ["crossed", "fell-under"])
        self.assertIn("not used", daemon.said())

    def test_a_crossing_while_the_source_is_away_is_told_as_such(self):
        daemon, serve = self.rehearsed("--speed", "10", "--from", "09:32:30", "--misbehave", "away:80@09:33")
        told = json.loads(daemon.lines()[0])
        self.assertEqual(told["kind"], "crossed")
        self.assertRegex(told["text"], "blind|unseen|hole|gap")
        self.assertIn("away, as asked for", serve.end())

    def test_wrong_wishes_are_answered_with_what_is_allowed(self):
        for arguments, wanted in (
            (["--misbehave", "sulk"], "expected one of stall, lose"),
            (["--as", "poll", "--misbehave", "drop:1"], "a poll has no single messages"),
            (["--misbehave", "close:503"], "a code from 1000 to 4999"),
            (["--from", "noon"], "expected hh:mm"),
            (["--speed", "0"], "--speed"),
        ):
            run = subprocess.run([PROGRAM, "serve", self.tape, *arguments], capture_output=True, text=True)
            self.assertEqual(run.returncode, 2, arguments)
            self.assertIn(wanted, run.stderr, arguments)
        run = subprocess.run([PROGRAM, "serve", self.tape / "none"], capture_output=True, text=True)
        self.assertEqual(run.returncode, 4)


unittest.main()
