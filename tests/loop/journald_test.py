#!/usr/bin/python3
"""The log against systemd's own journald: fields in its entries, read back by journalctl -o json.

Usage: journald_test.py LOG_SAMPLE
journald runs in a mount namespace with a /run of its own, so that it meets no other; that takes root (else skipped).
Fields and priorities as in systemd.journal-fields(7).
"""
import json
import os
import pathlib
import socket
import subprocess
import sys
import unittest

SAMPLE = sys.argv[1]
JOURNALD = "/lib/systemd/systemd-journald"
ID = "b0b1b2b3b4b5b6b7b8b9babbbcbdbebf"


def inside(form):
    """In a mount namespace: journald, the sample with its errors led there, and what journalctl then reads."""
    def mount(*what):
        subprocess.run(["mount", *what], check=True)
    mount("-t", "tmpfs", "tmpfs", "/run")
    os.makedirs("/run/log/journal")
    os.makedirs("/run/systemd/journal")
    pathlib.Path("/run/machine-id").write_text(ID + "\n")
    mount("--bind", "/run/machine-id", "/etc/machine-id")
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as told:
        told.bind("/run/told")
        told.settimeout(20)
        journald = subprocess.Popen([JOURNALD], env={**os.environ, "NOTIFY_SOCKET": "/run/told"}, stdout=subprocess.DEVNULL,
                                    stderr=subprocess.DEVNULL)
        while b"READY=1" not in told.recv(4096):
            pass
    # systemd itself names the stream so to what it starts (systemd.exec(5)); systemd-cat does not.
    subprocess.run(["systemd-cat", "-t", "sample", "sh", "-c",
                    'JOURNAL_STREAM=$(stat -L -c %d:%i /proc/self/fd/2) exec "$0" "$1"', SAMPLE, form], check=True)
    journald.terminate()  # it writes what it has, and ends
    journald.wait()
    subprocess.run(["journalctl", "--directory=/run/log/journal/" + ID, "-o", "json", "--no-pager"], check=True)


def entries(form):
    """What journald has of the sample's lines, oldest first."""
    done = subprocess.run(["unshare", "--mount", sys.executable, __file__, SAMPLE, form], capture_output=True, text=True,
                          timeout=50)
    assert done.returncode == 0, done.stderr
    every = [json.loads(line) for line in done.stdout.splitlines()]
    return [entry for entry in every if entry.get("SYSLOG_IDENTIFIER") in ("brimwatch", "sample")]


class Journald(unittest.TestCase):
    def test_fields_stand_in_the_entries(self):
        info, feed, channel, notice = entries("text")
        self.assertEqual((info["MESSAGE"], info["PRIORITY"]), ("watching 40 pivots", "6"))
        self.assertEqual((feed["PRIORITY"], feed["BRIMWATCH_FEED"]), ("4", "main"))
        self.assertEqual((channel["PRIORITY"], channel["BRIMWATCH_CHANNEL"]), ("3", "mail"))
        self.assertNotIn("\n", channel["MESSAGE"])
        self.assertEqual((notice["BRIMWATCH_SYMBOL"], notice["BRIMWATCH_KIND"]), ("KLVN", "crossed"))
        self.assertEqual(notice["BRIMWATCH_NOTICE"], "2026-11-25/KLVN/48.35/crossed/1")
        self.assertEqual(info["SYSLOG_IDENTIFIER"], "brimwatch")
        self.assertNotIn("BRIMWATCH_FEED", info)

    def test_json_is_asked_for_and_comes_as_the_words(self):
        lines = [json.loads(entry["MESSAGE"]) for entry in entries("json")]
        self.assertEqual([line["level"] for line in lines], ["info", "warning", "error", "info"])
        self.assertEqual([entry["PRIORITY"] for entry in entries("json")], ["6", "4", "3", "6"])


class Pipe(unittest.TestCase):
    def test_a_pipe_gets_one_object_a_line(self):
        done = subprocess.run([SAMPLE, "json"], capture_output=True, text=True, check=True)
        lines = [json.loads(line) for line in done.stderr.splitlines()]
        self.assertEqual(len(lines), 4)
        for line in lines:
            self.assertRegex(line["time"], r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z$")
        self.assertEqual(lines[1]["feed"], "main")

    def test_lines_for_people_have_their_zone_even_where_journald_is_only_said_to_be(self):
        stale = {**os.environ, "JOURNAL_STREAM": "1:2"}  # a shell under a service, its errors led into a file
        done = subprocess.run([SAMPLE, "text"], capture_output=True, text=True, check=True, env=stale)
        for line in done.stderr.splitlines():
            self.assertRegex(line, r"^\d{4}-\d\d-\d\d \d\d:\d\d:\d\d\.\d{3} [+-]\d\d:\d\d (info|warning|error) ")


if __name__ == "__main__":
    if len(sys.argv) > 2:
        sys.exit(inside(sys.argv[2]))
    if os.geteuid() != 0 or not pathlib.Path(JOURNALD).exists():
        print("needs root and systemd-journald for the half of it; the other half runs")
        del Journald
    unittest.main(argv=sys.argv[:1])
