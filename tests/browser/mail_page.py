#!/usr/bin/python3
"""mail_page.py MAIL.eml PAGE.html: the HTML part of a mail as a browser shows it, its inline pictures put in place.

Reads the mail with Python's email package. Prints one JSON object: subject, the plain part, the types of the parts in order.
"""
import base64
import email
import email.policy
import json
import pathlib
import sys

mail = email.message_from_bytes(pathlib.Path(sys.argv[1]).read_bytes(), policy=email.policy.default)
html = mail.get_body(("html",)).get_content()
for part in mail.walk():
    if part["content-id"]:
        cid = "cid:" + part["content-id"].strip("<>")
        assert cid in html, f"{cid} is not used"
        html = html.replace(cid, "data:image/png;base64," + base64.b64encode(part.get_content()).decode())
assert "cid:" not in html, "a picture is missing"
pathlib.Path(sys.argv[2]).write_text(html)
print(json.dumps({"subject": mail["subject"], "plain": mail.get_body(("plain",)).get_content(),
                  "parts": [part.get_content_type() for part in mail.walk()]}))
