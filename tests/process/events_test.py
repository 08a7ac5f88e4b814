#!/usr/bin/python3
"""Server-sent events from an independent HTTP server (Python's own): what a real source does to a stream of them. The format
is the HTML standard's (https://html.spec.whatwg.org/multipage/server-sent-events.html): fields, comments, ids, retry.

Usage: events_test.py BRIMWATCH.
"""
import json
import sys
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

    def test_no_more_events_is_said_and_not_hammered(self):
        self.source.status = 204
        self.daemon.start()
        wait_for("the reason", lambda: "no more events" in self.daemon.feed("main")["text"])
        self.assertLessEqual(len(self.source.asked), 2)
        self.daemon.stop()


unittest.main(verbosity=1)
