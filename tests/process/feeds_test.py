#!/usr/bin/python3
"""The daemon on live sources over real sockets: what it says, what it records, and that a replay of the recordings says
the same, byte for byte.

Usage: feeds_test.py BRIMWATCH.
"""
import json
import pathlib
import re
import sys
import unittest

from live_support import Daemon, SnapshotSource, StreamSource, wait_for

PROGRAM = sys.argv.pop(1)
SAMPLES = pathlib.Path(__file__).resolve().parents[2] / "config/samples/feeds"
WATCHES = """
[market]
trend = "up"
[[watch]]
symbol = "KLVN"
pivot = 48.35
normal_volume = 1_300_000
"""


def feed(source, name="main", more=""):
    return f"""
[[feed]]
name = "{name}"
kind = "stream"
url = "ws://127.0.0.1:{source.port}/"
insecure_loopback = true
rehearsal = 1
subscribe = '{{"add":{{symbols_json}}}}'
unsubscribe = '{{"drop":{{symbols_json}}}}'
rules = [{{ at = "/note", equals = "*", kind = "ignore" }}]
fields = {{ symbol = "/s", price = "/p", size = "/q", time = "/t", id = "/i" }}
{more}
"""


def record(daemon):
    return f'[record]\ndirectory = "{daemon.where}/rec"\n'


def trade(second, price, size=5000, symbol="KLVN"):
    clock = f"{10 + second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}"
    return json.dumps({"s": symbol, "p": price, "q": size, "t": f"2026-10-14T{clock}-04:00", "i": str(1000 + second)})


class Feeds(unittest.TestCase):
    maxDiff = None

    def stream(self, *arguments):
        source = StreamSource(*arguments)
        self.addCleanup(source.close)
        return source

    def daemon(self, config="", recording=False):
        daemon = Daemon(PROGRAM, "")
        self.addCleanup(daemon.close)
        daemon.write((record(daemon) if recording else "") + WATCHES + config)
        return daemon

    @staticmethod
    def unmarked(line):
        """A notice without the mark of the rehearsal, which a replay of its recording has not."""
        notice = json.loads(line)
        notice["title"] = notice["title"].removeprefix("Rehearsal: ")
        notice["text"] = re.sub(r"\n *REHEARSAL: a past\s+day is\s+played; nothing\s+of this\s+happens now\.", "", notice["text"])
        return notice

    def replays_say_the_same(self, daemon, recordings=2):
        said = [self.unmarked(line) for line in daemon.lines()]
        self.assertEqual(len(daemon.recordings()), recordings)
        for recording in daemon.recordings():  # the tape and the frames
            self.assertEqual([self.unmarked(line) for line in daemon.replayed(recording)], said, recording)

    def test_a_replay_of_the_recordings_says_what_the_live_run_said(self):
        source = self.stream()
        daemon = self.daemon(feed(source), recording=True)
        daemon.start()
        source.wait_heard("KLVN")
        source.send(trade(0, "48.20"), '{"note":"good morning"}')
        source.send("[" + ",".join(trade(second, f"{48.30 + second / 100:.2f}") for second in range(1, 40)) + "]")
        source.send("{broken", trade(50, 48.9), trade(50, 48.9), trade(51, "50.80"),
                    trade(55, 47.10), trade(56, 47.12))  # so far down that a second print has to confirm it
        wait_for("the fall", lambda: daemon.kinds()[-1:] == ["fell-under"])
        wait_for("the count", lambda: daemon.feed("main")["malformed"] == 1)
        daemon.stop()
        self.assertEqual(daemon.kinds(), ["crossed", "left-range", "fell-under"])
        self.replays_say_the_same(daemon)

    def test_a_crossing_inside_a_hole_is_told_as_such_and_the_replays_know_the_hole(self):
        source = self.stream()
        daemon = self.daemon(feed(source), recording=True)
        daemon.start()
        source.wait_heard("KLVN")
        source.send(*(trade(second, "48.20") for second in range(5)))
        wait_for("the first ticks", lambda: daemon.feed("main")["ticks"] >= 5)
        source.die()
        wait_for("the break", lambda: daemon.feed("main")["state"] == "down")
        source.heard.clear()
        source.listen()
        source.wait_heard("KLVN")
        source.send(trade(40, "48.60"), trade(41, "48.61"))
        wait_for("the crossing", lambda: daemon.kinds() == ["crossed"])
        daemon.stop()
        told = json.loads(daemon.lines()[0])
        self.assertIn("48.20", told["text"])
        self.assertIn("48.60", told["text"])
        self.assertRegex(told["text"], "blind|unseen|hole|gap")
        self.replays_say_the_same(daemon)

    def test_now_shows_what_cannot_be_read_what_is_not_mapped_and_who_is_not_heard(self):
        source = self.stream()
        daemon = self.daemon(feed(source, more='default_kind = "trade"').replace(
            'id = "/i" }', 'id = "/i", conditions = "/c" }').replace("fields =", 'condition_words = { odd = "I" }\nfields =') + """
[[watch]]
symbol = "NIVO"
pivot = 25.75
normal_volume = 1_000_000
""")
        daemon.start()
        source.wait_heard("KLVN")
        strange = [json.dumps({**json.loads(trade(second, "48.20")), "c": "late-form"}) for second in range(3)]
        source.send(trade(0, "48.10"), *strange, '{"s":"KLVN","p":"forty","q":1,"t":"2026-10-14T10:00:09-04:00"}')
        wait_for("all of it", lambda: daemon.feed("main")["malformed"] >= 1)
        wait_for("the trade", lambda: daemon.now()["watches"][0]["last"] == 48.10)
        self.assertEqual(daemon.feed("main")["unknown_codes"], {"late-form": 3})
        told = daemon.run("now", "--socket", daemon.where / "sock").stdout
        whole = " ".join(told.split())  # long lines are broken at 80 columns
        self.assertRegex(whole, r"1 message could not be read; the last: .*forty")
        self.assertRegex(whole, r'not mapped .*condition_words.*: "late-form" 3 times')
        rows = {line.split()[0]: line for line in told.splitlines() if line.startswith(("KLVN", "NIVO"))}
        self.assertIn("not heard", rows["NIVO"])
        self.assertNotRegex(rows["NIVO"], r"light|0\.\d\d")
        self.assertNotIn("not heard", rows["KLVN"])
        daemon.stop()

    def test_a_polled_source_is_recorded_and_replayed_too(self):
        state = lambda second, price, volume: json.dumps({"q": [{"s": "KLVN", "t": 1791986400 + second, "p": price, "v": volume}]})
        source = SnapshotSource([state(0, "48.20", 500_000), state(1, "48.36", 510_000), state(2, "47.10", 520_000)])
        self.addCleanup(source.close)
        daemon = self.daemon(f"""
[[feed]]
name = "asked"
kind = "poll"
url = "http://127.0.0.1:{source.port}/q?of={{symbols}}"
insecure_loopback = true
rehearsal = 1
interval = 0.1
fields = {{ messages = "/q", symbol = "/s", time = "/t", time_format = "s", price = "/p", day_volume = "/v" }}
""", recording=True)
        daemon.start()
        wait_for("the fall", lambda: daemon.kinds() == ["crossed", "fell-under"])
        daemon.stop()
        self.replays_say_the_same(daemon)

    def test_a_stand_by_takes_over_without_a_second_notice(self):
        main, spare = self.stream(), self.stream()
        daemon = self.daemon(feed(main, "main") + feed(spare, "spare", 'standby_for = "main"'), recording=True)
        daemon.start()
        main.wait_heard("KLVN")
        spare.wait_heard("KLVN")
        for second, price in ((0, "48.20"), (1, "48.36"), (2, "48.37")):
            main.send(trade(second, price))
            spare.send(trade(second, price))
        wait_for("the crossing", lambda: daemon.kinds() == ["crossed"])
        wait_for("both to have said it", lambda: daemon.feed("spare")["ticks"] == 3)
        main.die()
        wait_for("the stand-by", lambda: daemon.feed("spare")["carrying"])
        spare.send(trade(2, "48.37"), trade(3, "48.38"), trade(4, "50.70"), trade(5, "50.80"))
        wait_for("the next notice", lambda: daemon.kinds() == ["crossed", "left-range"])
        main.heard.clear()
        main.listen()
        main.wait_heard("KLVN")
        main.send(trade(1, "48.36"), trade(2, "48.37"), trade(5, "50.80"))  # some send again what they sent before
        wait_for("the primary again", lambda: daemon.feed("main")["ticks"] >= 6)
        spare.send(trade(6, "47.10"), trade(7, "47.12"))
        wait_for("the fall", lambda: "fell-under" in daemon.kinds())
        daemon.stop()
        self.assertEqual(daemon.kinds(), ["crossed", "left-range", "fell-under"])
        self.replays_say_the_same(daemon)

    def test_a_reload_of_the_feed_that_speaks_hands_over_to_the_other(self):
        """The one that was listened to is stopped in the middle of the reload; nothing is lost, nothing comes twice."""
        main, spare = self.stream(), self.stream()
        both = lambda late: feed(main, "main", f"late_after = {late}") + feed(spare, "spare", 'standby_for = "main"')
        daemon = self.daemon(both(60))
        daemon.start()
        main.wait_heard("KLVN")
        spare.wait_heard("KLVN")
        for source in (main, spare):
            source.send(trade(0, "48.20"), trade(1, "48.22"))
        wait_for("both", lambda: daemon.feed("main")["carrying"] and daemon.feed("spare")["ticks"] == 2)
        daemon.write(WATCHES + both(61))
        daemon.reload()
        wait_for("the spare", lambda: daemon.feed("spare")["carrying"])
        self.assertFalse(daemon.feed("main")["carrying"])
        spare.send(trade(2, "48.40"))
        wait_for("the crossing", lambda: daemon.kinds() == ["crossed"])
        # Now the other way about: what only the stand-by's settings say; the primary has not given anything since.
        daemon.write(WATCHES + both(61).replace('standby_for = "main"', 'standby_for = "main"\nsilent_after = 20'))
        daemon.reload()
        wait_for("the primary to be there again", lambda: main.opened >= 2)
        main.send(trade(1, "48.22"), trade(3, "50.80"))  # the first it sends again
        wait_for("the next notice", lambda: daemon.kinds() == ["crossed", "left-range"])
        daemon.stop()
        self.assertEqual(json.loads(daemon.lines()[1])["volume"], 20000)

    def test_a_reload_of_one_feed_leaves_what_is_known_of_the_other(self):
        main, spare = self.stream(), self.stream()
        both = lambda late: feed(main, "main") + feed(spare, "spare", f'standby_for = "main"\nlate_after = {late}')
        daemon = self.daemon(both(60))
        daemon.start()
        main.wait_heard("KLVN")
        main.send(trade(0, "48.20"))
        wait_for("the primary", lambda: daemon.feed("main")["carrying"])
        daemon.write(WATCHES + both(61))
        daemon.reload()
        wait_for("the reload", lambda: "reloaded" in daemon.said())
        self.assertTrue(daemon.feed("main")["carrying"])
        main.send(trade(1, "48.40"))
        wait_for("the crossing", lambda: daemon.kinds() == ["crossed"])
        daemon.stop()

    def test_a_reload_subscribes_to_the_difference_only(self):
        source = self.stream()
        daemon = self.daemon(feed(source))
        daemon.start()
        source.wait_heard('{"add":["KLVN"]}')
        source.send(trade(0, "48.20"))
        wait_for("the first tick", lambda: daemon.feed("main")["ticks"] == 1)
        daemon.write(WATCHES + feed(source) + '[[watch]]\nsymbol = "ORRJ"\npivot = 12\n')
        daemon.reload()
        source.wait_heard('{"add":["ORRJ"]}')
        daemon.write(WATCHES.replace("KLVN", "TZAM") + feed(source) + '[[watch]]\nsymbol = "ORRJ"\npivot = 12\n')
        daemon.reload()
        source.wait_heard('{"add":["TZAM"]}')
        self.assertEqual(source.heard, ['{"add":["KLVN"]}', '{"add":["ORRJ"]}', '{"drop":["KLVN"]}', '{"add":["TZAM"]}'])
        self.assertEqual(source.opened, 1)
        daemon.stop()

    def test_after_a_kill_the_recordings_hold_what_was_kept(self):
        source = self.stream()
        daemon = self.daemon(feed(source), recording=True)
        daemon.start()
        source.wait_heard("KLVN")
        source.send(trade(0, "48.20"), trade(1, "48.36"), trade(2, "47.10"))
        # Three trades, and before them the hole: the session was under way when the daemon began.
        wait_for("the recorder", lambda: daemon.now()["recording"]["frames"] == 3 and daemon.now()["recording"]["ticks"] == 4)
        self.assertEqual(daemon.now()["recording"]["dropped_frames"], 0)
        self.assertGreater(daemon.now()["recording"]["bytes"], 0)
        wait_for("the notices", lambda: daemon.kinds() == ["crossed", "fell-under"])
        said = [self.unmarked(line) for line in daemon.lines()]
        daemon.kill()
        for recording in daemon.recordings():
            run = daemon.run("replay", recording, "--config", daemon.where / "b.toml", "--json")
            self.assertEqual([self.unmarked(line) for line in run.stdout.splitlines()], said, recording)
            self.assertIn("the writer stopped in the middle" if "tape" in recording.name else "writer stopped", run.stderr)


class Samples(unittest.TestCase):
    """Each worked mapping, its address alone changed, on a source that says what its file of messages says."""

    def config(self, name, address, more=""):
        text = (SAMPLES / f"{name}.toml").read_text()
        text = re.sub('url = "[a-z]+://[^/]*', f'url = "{address}', text)
        head, table, fields = text.partition("[feed.fields]")
        return WATCHES + head + f"insecure_loopback = true\nrehearsal = 1\n{more}" + table + fields

    def lines(self, name):
        return (SAMPLES / f"{name}.jsonl").read_text().splitlines()

    def daemon(self, config):
        daemon = Daemon(PROGRAM, config)
        self.addCleanup(daemon.close)
        daemon.start(QUOTES_KEY="canary-5a1f")
        return daemon

    def crossed(self, daemon):
        wait_for("the crossing", lambda: "crossed" in daemon.kinds())
        told = json.loads(daemon.lines()[0])
        self.assertEqual(told["kind"], "crossed")
        self.assertIn("48.36", told["text"])
        daemon.stop()
        self.assertNotIn("canary", daemon.said())

    def test_objects(self):
        lines = self.lines("objects")
        source = StreamSource(lambda text: lines[0] if "login" in text else None)
        self.addCleanup(source.close)
        daemon = self.daemon(self.config("objects", f"ws://127.0.0.1:{source.port}"))
        source.wait_heard('{"type":"watch","symbols":["KLVN"]}')
        self.assertEqual(source.heard[0], '{"type":"login","key":"canary-5a1f"}')
        source.send(*lines[1:])
        self.crossed(daemon)

    def test_rows(self):
        source = StreamSource()
        self.addCleanup(source.close)
        daemon = self.daemon(self.config("rows", f"ws://127.0.0.1:{source.port}"))
        source.wait_heard('["open","KLVN.A"]')
        source.send(*self.lines("rows"))
        self.crossed(daemon)

    def test_snapshots(self):
        source = SnapshotSource(self.lines("snapshots"))
        self.addCleanup(source.close)
        config = self.config("snapshots", f"http://127.0.0.1:{source.port}").replace("interval = 5", "interval = 0.1")
        daemon = self.daemon(config)
        self.crossed(daemon)
        path, headers = source.asked[0]
        self.assertEqual(path, "/last?of=KLVN")
        self.assertEqual(headers["Authorization"], "Bearer canary-5a1f")


unittest.main()
