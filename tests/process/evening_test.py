#!/usr/bin/python3
"""The evening's review from a running daemon: one mail a day after the close, over restarts, read by Python's own mail parser.

Usage: evening_test.py BRIMWATCH. The feed's time is the daemon's, so that a day's evening comes when the ticks say so.
"""
import email
import email.policy
import sys
import unittest

import live_support
from live_support import wait_for

PROGRAM = sys.argv.pop(1)


class Evening(live_support.PipeCase):
    PROGRAM = PROGRAM

    def setUp(self):
        super().setUp()
        (self.where / "history").mkdir()
        rows = ["date,open,high,low,close,volume"]
        rows += [f"2026-09-{day:02d},47,48,46,47.5,1300000" for day in range(1, 31)]
        (self.where / "history" / "KLVN.csv").write_text("\n".join(rows) + "\n")
        self.review_at = 'review_at = "18:00"'

    def config(self, fifo):
        return f"""
[history]
daily = "history"
[evening]
{self.review_at}
[feed]
kind = "pipe"
command = ["/bin/cat", "{fifo}"]
[[channel]]
name = "mail"
kind = "email"
write_to = "mails"
kinds = ["crossed"]
[[channel]]
name = "out"
kind = "command"
command = ["/bin/sh", "-c", "cat >> {self.where}/delivered; echo >> {self.where}/delivered"]
[[watch]]
symbol = "KLVN"
pivot = 48.35
normal_volume = 1_300_000
"""

    def tick(self, clock, price, day="2026-10-14"):
        super().tick(clock, price, 700000, day)

    def reviews(self):
        return sorted((self.where / "mails").glob("*review*.eml")) if (self.where / "mails").exists() else []

    def trade_the_day(self):
        self.tick("10:00:00", "48.20")
        self.tick("10:00:01", "48.40")
        wait_for("the crossing", lambda: any(n["kind"] == "crossed" for n in self.notices()))

    def test_one_mail_a_day_with_its_pictures_over_restarts(self):
        self.start()
        self.trade_the_day()
        for second in (0, 1, 2):  # one print far ahead would not be believed
            self.tick(f"17:59:0{second}", "48.50")
        self.assertEqual(self.reviews(), [])
        self.tick("18:00:01", "48.50")
        path = wait_for("the mail", self.reviews)[0]
        wait_for("the row of its delivery",
                 lambda: "delivered" in self.daemon.run("journal", "--deliveries", "--journal", self.where / "j.db").stdout)
        self.stop()
        message = email.message_from_bytes(path.read_bytes(), policy=email.policy.default)
        self.assertEqual(message.defects, [])
        self.assertRegex(message["Subject"], "Review of 2026-10-14: 1 crossing")
        text = message.get_body(("plain",)).get_content()
        self.assertIn("KLVN crossed, pivot 48.35 at 48.40", text)
        self.assertIn("Information, not advice", text)
        html = message.get_body(("related", "html"))
        pictures = [part for part in message.walk() if part.get_content_type() == "image/png"]
        self.assertTrue(pictures)
        body = next(part for part in message.walk() if part.get_content_type() == "text/html").get_content()
        for picture in pictures:
            self.assertTrue(picture.get_content().startswith(b"\x89PNG"))
            self.assertIn("cid:" + picture["Content-ID"].strip("<>"), body)
        self.assertNotIn("<svg", body)
        self.assertIsNotNone(html)
        # The other channel carries every kind, but was not chosen for the review.
        self.assertNotIn("/review/", (self.where / "delivered").read_text())
        before = path.stat().st_mtime_ns
        self.start()
        self.tick("18:30:00", "48.50")
        for second in (0, 1, 2):
            self.tick(f"10:00:0{second}", "48.60", day="2026-10-15")
        wait_for("the next day", lambda: self.now()["watches"][0]["last"] == 48.60)
        for second in (1, 2, 3):
            self.tick(f"18:00:0{second}", "48.60", day="2026-10-15")
        wait_for("the second day's mail", lambda: len(self.reviews()) == 2)
        self.assertEqual(path.stat().st_mtime_ns, before)
        self.assertEqual(sum(n["id"] == "2026-10-14/review/0.00/day-end/1" for n in self.notices()), 1)
        self.stop()

    def test_a_daemon_that_was_down_at_the_time_sends_it_when_it_is_back_that_evening(self):
        self.start()
        self.trade_the_day()
        self.daemon.kill()
        self.start()
        self.tick("21:15:00", "48.50")
        self.assertIn("1 crossing", wait_for("the mail", self.reviews)[0].read_text())
        self.stop()

    def test_the_first_evening_that_teaches_keeps_what_the_own_crossings_taught(self):
        self.environment = {"XDG_STATE_HOME": str(self.where / "state")}
        self.start()
        for minute in range(0, 391):
            self.tick(f"{9 + (30 + minute) // 60:02d}:{(30 + minute) % 60:02d}:00", "48.20")
        for second in (0, 1, 2):
            self.tick(f"16:15:0{second}", "48.20")
        file = wait_for("what was learned", lambda: next((self.where / "state").rglob("*-crossings.csv"), None))
        header, month = file.read_text().splitlines()[-2:]
        kept = dict(zip(header.split(","), month.split(",")))
        self.assertEqual((float(kept["lift"]), kept["crossings"]), (0, "0"), "too few to learn from")
        self.assertTrue((file.parent / file.name.replace("-crossings.csv", ".toml")).exists())
        self.stop()
        self.start()  # and it is read again without a word against it
        self.tick("10:00:00", "48.20", day="2026-10-15")
        wait_for("the next day", lambda: self.now()["watches"][0]["last"] == 48.20)
        self.assertNotIn("own crossings", self.daemon.said())
        self.stop()

    def test_it_is_off_without_a_time(self):
        self.review_at = ""
        self.start()
        self.trade_the_day()
        self.tick("18:00:01", "48.50")
        self.tick("10:00:00", "49.10", day="2026-10-15")
        self.tick("10:00:01", "44.00", day="2026-10-15")
        self.tick("10:00:02", "44.00", day="2026-10-15")
        wait_for("a notice of the next day", lambda: any(n["id"].startswith("2026-10-15/KLVN") for n in self.notices()))
        self.assertEqual(self.reviews(), [])
        self.stop()


unittest.main(verbosity=1)
