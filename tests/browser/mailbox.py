#!/usr/bin/python3
"""A real SMTP server (aiosmtpd) that puts each mail into FOLDER as N.json: its subject, and its texts as a reader of mail
would show them (Python's email package). Usage: mailbox.py PORT FOLDER. It says "ready" when it listens."""
import email
import email.policy
import json
import os
import pathlib
import signal
import sys

try:
    from aiosmtpd.controller import Controller
except ImportError:
    print("skipped: python3-aiosmtpd is not installed")
    sys.exit(77)

PORT, FOLDER = int(sys.argv[1]), pathlib.Path(sys.argv[2])


class Keeps:
    count = 0

    async def handle_DATA(self, server, session, envelope):
        mail = email.message_from_bytes(envelope.content, policy=email.policy.default)
        said = {"subject": mail["subject"]}
        for kind in ("plain", "html"):
            body = mail.get_body(preferencelist=(kind,))
            said[kind] = body.get_content() if body else ""
        part = FOLDER / f"{self.count}.part"
        part.write_text(json.dumps(said))
        os.rename(part, FOLDER / f"{self.count}.json")
        self.count += 1
        return "250 2.0.0 taken"


server = Controller(Keeps(), hostname="127.0.0.1", port=PORT)
server.start()
print("ready", flush=True)
signal.sigwait({signal.SIGTERM, signal.SIGINT})
server.stop()
