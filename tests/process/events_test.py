#!/usr/bin/python3
"""Server-sent events from an independent HTTP server (Python's own): what a real source does to a stream of them. The format
is the HTML standard's (https://html.spec.whatwg.org/multipage/server-sent-events.html): fields, comments, ids, retry.

Usage: events_test.py BRIMWATCH.
"""
import json
import queue
import subprocess
import sys
import threading
import unittest

from event_source import END, EventSource
from live_support import Daemon, wait_for

PROGRAM = sys.argv.pop(1)


def event(second, price, number, size=5000, name="print"):
    data = json.dumps({"symbol": "KLVN", "price": price, "size": size, "time": f"2026-10-14T10:00:{second:02d}-04:00"})
    return f"id: {number}\nevent: {name}\ndata: {data}\n\n"


class Events(unittest.TestCase):
    def setUp(self):
        self.source = EventSource()
        self.addCleanup(self.source.close)
        self.daemon = Daemon(PROGRAM)
        self.addCleanup(self.daemon.close)
        self.daemon.write(f"""
[market]
trend = "up"
[[feed]]
name = "main"
kind = "events"
url = "http://127.0.0.1:{self.source.port}/live?of={{symbols}}"
insecure_loopback = true
rehearsal = 1
default_kind = ""
kind_words = {{ print = "trade" }}
fields = {{ kind = "event", symbol = "/symbol", price = "/price", size = "/size", time = "/time" }}
[[watch]]
symbol = "KLVN"
pivot = 48.35
normal_volume = 1_300_000
""")

    def wait_ticks(self, count):
        wait_for(f"{count} ticks", lambda: self.daemon.feed("main")["ticks"] >= count)

    def wait_asked(self, count):
        wait_for(f"{count} requests", lambda: len(self.source.asked) >= count)

    def test_events_cut_anywhere_are_read_and_a_crossing_is_told(self):
        self.daemon.start()
        self.source.send(": hello\nretry: 100\n\n" + event(1, 48.20, 1) + event(2, 48.30, 2, name="weather"), cut=7)
        self.source.send(event(3, 48.36, 3).replace("\n", "\r\n"), cut=11)
        wait_for("the crossing", lambda: self.daemon.kinds() == ["crossed"])
        path, headers = self.source.asked[0]
        self.assertEqual(path, "/live?of=KLVN")
        self.assertEqual(headers["accept"], "text/event-stream")
        self.assertNotIn("last-event-id", headers)
        self.daemon.stop()

    def test_an_answer_that_ends_is_asked_for_again_from_the_last_event_on(self):
        self.daemon.start()
        self.source.send("retry: 100\n\n" + event(1, 48.20, "a-1") + event(2, 48.21, "a-2"))
        self.wait_ticks(2)
        self.source.pieces.put(END)
        self.wait_asked(2)
        self.assertEqual(self.source.asked[1][1]["last-event-id"], "a-2")
        self.source.send(event(9, 48.40, "a-3"))
        wait_for("the crossing", lambda: self.daemon.kinds() == ["crossed"])
        self.assertGreaterEqual(self.daemon.feed("main")["reconnects"], 1)
        self.daemon.stop()

    def test_packed_answers_are_read(self):
        self.source.gzip = True
        self.daemon.start()
        self.source.send(event(1, 48.20, 1))
        self.source.send(event(3, 48.36, 2))
        wait_for("the crossing", lambda: self.daemon.kinds() == ["crossed"])
        self.assertIn("gzip", self.source.asked[0][1]["accept-encoding"])
        self.daemon.stop()

    def test_a_refusal_says_why_and_when_it_is_tried_again(self):
        self.source.status, self.source.headers = 503, {"Retry-After": "1"}
        self.daemon.start()
        text = wait_for("the reason", lambda: "503" in self.daemon.feed("main")["text"] and self.daemon.feed("main")["text"])
        self.assertRegex(text, r"503.*trying again in [1-3]\.\d s")
        self.source.status = 200
        self.wait_asked(2)
        self.source.send(event(1, 48.20, 1))
        self.wait_ticks(1)
        self.daemon.stop()

    # Section 9.2.2: an answer of another media type is no stream of events; what it says is for a person.
    def test_an_answer_that_is_no_stream_says_what_it_is(self):
        self.source.whole = ("application/json; charset=utf-8", '{"error":"the key has expired"}')
        self.daemon.start()
        text = wait_for("the reason", lambda: "json" in self.daemon.feed("main")["text"] and self.daemon.feed("main")["text"])
        self.assertIn('application/json, not with events (text/event-stream): "the key has expired"', text)
        self.source.status = 401
        wait_for("the refusal", lambda: "HTTP 401" in self.daemon.feed("main")["text"])
        self.assertIn('"the key has expired"', self.daemon.feed("main")["text"])
        self.source.status, self.source.whole = 200, ("text/html", "<html>Please log in</html>")
        self.daemon.stop()

    def test_a_source_that_ends_each_answer_at_once_is_up_between(self):
        self.source.whole = ("text/event-stream", "retry: 100\n\n" + event(1, 48.20, 1))
        self.daemon.start()
        wait_for("three answers", lambda: self.daemon.feed("main")["reconnects"] >= 2)
        self.daemon.stop()

    # As a proxy does that buffers (nginx does by default, and sends no header before its first block is full).
    def test_an_answer_that_is_held_back_is_waited_for_longer_each_time(self):
        config = (self.daemon.where / "b.toml").read_text().replace('kind = "events"', 'kind = "events"\nconnect_timeout = 1')
        self.daemon.write(config)
        self.source.held_back = threading.Event()
        self.addCleanup(self.source.held_back.set)
        self.daemon.start()
        text = wait_for("the reason", lambda: "holds it back" in self.daemon.said() and self.daemon.said())
        self.assertIn("no answer in 2 s; if the source sends, something on the way holds it back, such as a proxy", text)
        wait_for("more patience", lambda: "no answer in 3 s" in self.daemon.said())
        self.source.held_back.set()

        def heard():  # what is put may go to an answer that was given up
            self.source.send(event(1, 48.20, 1))
            return self.daemon.feed("main")["ticks"] >= 1

        wait_for("a tick", heard)
        self.daemon.stop()

    # Section 9.2.3: an id is of its own stream; another stream would go on from the wrong place with it.
    def test_each_stream_goes_on_from_its_own_last_event(self):
        config = (self.daemon.where / "b.toml").read_text().replace('kind = "events"', 'kind = "events"\nbatch = 1')
        self.daemon.write(config + '[[watch]]\nsymbol = "NIVO"\npivot = 48.35\n')
        own = self.source.feeds = {"KLVN": queue.Queue(), "NIVO": queue.Queue()}
        self.daemon.start()
        for number, (symbol, pieces) in enumerate(own.items()):
            pieces.put(("retry: 100\n\n" + event(1 + number, 48.20, f"of-{symbol}").replace("KLVN", symbol)).encode())
        self.wait_ticks(2)
        own["KLVN"].put(END)
        self.wait_asked(4)
        for path, headers in self.source.asked[2:4]:
            self.assertEqual(headers.get("last-event-id"), "of-" + path[-4:])
        self.daemon.stop()

    def test_an_event_that_is_too_long_leaves_a_hole_in_its_place(self):
        config = (self.daemon.where / "b.toml").read_text().replace('kind = "events"', 'kind = "events"\nframe_kib = 1')
        self.daemon.write(config + f'[record]\ndirectory = "{self.daemon.where}/rec"\n')
        self.daemon.start()
        self.source.send(event(1, 48.20, 1) + "data: " + "x" * 2000 + "\n\n" + event(30, 48.21, 2) + event(31, 48.22, 3))
        self.wait_ticks(3)
        self.assertIn("more than 1024 bytes", self.daemon.said())
        self.daemon.stop()
        said = self.daemon.run("replay", self.daemon.recordings()[-1], "--config", self.daemon.where / "b.toml", "--json")
        tape = subprocess.run(["zstd", "-dcq", next(one for one in self.daemon.recordings() if "csv" in one.name)],
                              capture_output=True, text=True).stdout
        self.assertIn("hole", tape, said.stderr)
        rows = [line for line in tape.splitlines() if "KLVN" in line or "hole" in line]
        # The first one is from the open to the start.
        self.assertEqual(["hole" in row for row in rows], [True, False, True, False, False], tape)

    def test_no_more_events_is_said_and_not_hammered(self):
        self.source.status = 204
        self.daemon.start()
        wait_for("the reason", lambda: "no more events" in self.daemon.feed("main")["text"])
        self.assertLessEqual(len(self.source.asked), 2)
        self.daemon.stop()


unittest.main(verbosity=1)
