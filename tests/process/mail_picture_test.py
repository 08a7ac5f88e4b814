#!/usr/bin/python3
"""The daemon, a feed on a pipe, and a real SMTP server (aiosmtpd): a notice arrives as a mail with the day's picture in it.

Usage: mail_picture_test.py BRIMWATCH. The mail is read with Python's email package; the picture's size from its IHDR chunk
(PNG specification, third edition, section 11.2.1).
"""
import email
import email.policy
import json
import pathlib
import queue
import socket
import struct
import subprocess
import sys
import tempfile
import unittest

try:
    from aiosmtpd.controller import Controller
except ImportError:
    print("skipped: python3-aiosmtpd is not installed")
    sys.exit(77)

BRIMWATCH = sys.argv[1]
DEADLINE = 60


class Keeps:
    def __init__(self):
        self.mails = queue.Queue()
        self.refuse_first = False

    async def handle_DATA(self, server, session, envelope):
        if self.refuse_first:
            self.refuse_first = False
            return "451 4.3.0 try again later"
        self.mails.put(email.message_from_bytes(envelope.content, policy=email.policy.default))
        return "250 2.0.0 taken"


def tick(clock, price, size):
    return json.dumps({"time": f"2026-10-14T{clock}-04:00", "symbol": "KLVN", "price": price, "size": size}) + "\n"


class MailWithPicture(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.place = pathlib.Path(self.folder.name)
        self.keeps = Keeps()
        with socket.socket() as probe:  # the controller cannot be asked which port it took
            probe.bind(("127.0.0.1", 0))
            port = probe.getsockname()[1]
        self.server = Controller(self.keeps, hostname="127.0.0.1", port=port)
        self.server.start()
        self.config = self.place / "c.toml"
        self.text = f"""
[market]
trend = "up"
[feed]
name = "main"
kind = "pipe"
past_days = "tell"
[[channel]]
name = "mail"
kind = "email"
url = "smtp://127.0.0.1:{port}"
insecure_loopback = true
from = "brimwatch@example.org"
to = ["you@example.org"]
kinds = ["crossed"]
PICTURE
[[watch]]
symbol = "KLVN"
pivot = 48.35
normal_volume = "1.3M"
"""

    def tearDown(self):
        self.server.stop()
        self.folder.cleanup()

    def run_day(self, picture):
        self.config.write_text(self.text.replace("PICTURE", picture))
        daemon = subprocess.Popen([BRIMWATCH, "run", "--config", self.config, "--journal", self.place / "j.db", "--socket",
                                   self.place / "sock"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        try:
            for minute in range(60):
                daemon.stdin.write(tick(f"10:{minute:02}:01", round(47.5 + minute * 0.014, 3), 9000).encode())
            daemon.stdin.write(tick("11:00:05", 48.41, 20000).encode())
            daemon.stdin.flush()
            mail = self.keeps.mails.get(timeout=DEADLINE)
        finally:
            daemon.stdin.close()
            said = daemon.stdout.read().decode()
            daemon.stdout.close()
            code = daemon.wait(DEADLINE)
        self.assertEqual(code, 0, said)
        return mail

    def test_the_structure_is_that_of_the_standards(self):
        mail = self.run_day("")
        # RFC 2046 5.1.4 (plainest first), RFC 2387 (related, root first), RFC 2392 (cid:)
        self.assertEqual([part.get_content_type() for part in mail.walk()],
                         ["multipart/alternative", "text/plain", "multipart/related", "text/html", "image/png", "image/png"])
        for part in mail.walk():
            self.assertEqual(part.defects, [])
        related = mail.get_payload()[1]
        self.assertEqual(related.get_param("type"), "text/html")
        html, *images = related.iter_parts()  # on a light and on a dark ground
        self.assertRegex(html.get_content(), r'alt="The day of KLVN so far: price 48\.41, pivot 48\.35')
        for image in images:
            cid = image["content-id"]
            self.assertRegex(cid, r"^<[^<>\s]+@[^<>\s]+>$")
            self.assertIn(f'src="cid:{cid[1:-1]}"', html.get_content())
            self.assertEqual(image.get_content_disposition(), "inline")
            png = image.get_content()
            self.assertEqual(png[:8], b"\x89PNG\r\n\x1a\n")
            self.assertEqual(struct.unpack(">II", png[16:24]), (720, 600))
        self.assertNotEqual(images[0].get_content(), images[1].get_content())
        plain = mail.get_body(("plain",)).get_content()
        for words in ("crossed 48.35", "range to 50.76", "odds of +40 %"):
            self.assertIn(words, plain)

    def test_the_second_attempt_brings_the_same_picture(self):
        self.keeps.refuse_first = True
        mail = self.run_day("")
        self.assertIn("image/png", [part.get_content_type() for part in mail.walk()])

    def test_without_picture_there_is_none(self):
        mail = self.run_day("picture = false")
        self.assertEqual([part.get_content_type() for part in mail.walk()], ["multipart/alternative", "text/plain", "text/html"])


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=1)
