#!/usr/bin/python3
"""Reads a mail from standard input with Python's email package, which has no code in common with ours, and prints what it
sees as one JSON object: headers, parts in order with their types and contents, defects."""
import base64
import email
import email.policy
import json
import sys

raw = sys.stdin.buffer.read()
mail = email.message_from_bytes(raw, policy=email.policy.default)
parts = []
for part in mail.walk():
    entry = {"type": part.get_content_type(), "defects": [str(defect) for defect in part.defects],
             "params": dict(part["content-type"].params) if part["content-type"] else {}}
    for name in ("content-id", "content-disposition", "content-transfer-encoding"):
        if part[name]:
            entry[name] = str(part[name])
    if not part.is_multipart():
        data = part.get_payload(decode=True)
        entry["size"] = len(data)
        entry["text" if part.get_content_maintype() == "text" else "base64"] = (
            data.decode(part.get_content_charset() or "ascii").replace("\r\n", "\n") if part.get_content_maintype() == "text"
            else base64.b64encode(data).decode())
    parts.append(entry)
header_defects = [str(d) for value in mail.values() for d in getattr(value, "defects", [])]
lines = raw.split(b"\r\n")
print(json.dumps({
    "headers": [[name, str(value)] for name, value in mail.items()],
    "addresses": {name: [[a.display_name, a.addr_spec] for a in mail[name].addresses] for name in ("from", "to")},
    "date": mail["date"].datetime.isoformat(),
    "defects": header_defects,
    "parts": parts,
    "longest": max(len(line) for line in lines),
    "bare": any(b"\n" in line or b"\r" in line for line in lines),
    "ascii": all(byte < 128 for byte in raw),
}))
