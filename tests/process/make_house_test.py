#!/usr/bin/python3
"""A house as the README sets it up: config/samples/shared/make-house for three addresses (of the loopback net), etcd by the settings that it
writes, etcd's users by its script, a daemon on two of the machines under its [shared].

Usage: make_house_test.py BRIMWATCH MAKE_HOUSE. Skipped, and said so, without etcd (Debian: etcd-server, etcd-client).
"""
import json
import os
import pathlib
import shutil
import stat
import subprocess
import sys
import tempfile
import unittest

from live_support import Daemon, wait_for

PROGRAM, MAKE_HOUSE = sys.argv.pop(1), sys.argv.pop(1)
NET = f"127.{os.getpid() % 200 + 20}.{os.getpid() // 200 % 250}"  # of this run alone: etcd's ports are fixed
ADDRESSES = [f"{NET}.{i}" for i in (1, 2, 3)]
LISTS = f"""
[market]
trend = "up"
[[feed]]
kind = "pipe"
command = ["/usr/bin/sleep", "1000"]
[[channel]]
name = "out"
kind = "console"
[[watch]]
symbol = "KLVN"
pivot = 48.35
normal_volume = 1_300_000
"""


class MakeHouse(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.where = pathlib.Path(folder.name) / "house"
        self.say = subprocess.run(["/bin/sh", MAKE_HOUSE, self.where, "mine", *ADDRESSES], capture_output=True, text=True)
        self.assertEqual((self.say.returncode, self.say.stderr), (0, ""))

    def start_etcd(self, address):
        """By its file, as systemd reads it; what is of /etc and /var is of the folder."""
        mine = self.where / address
        lines = (mine / "etcd").read_text().replace("/etc/etcd/", f"{mine}/etcd.d/").replace("/var/lib/etcd/", f"{mine}/").splitlines()
        etcd = subprocess.Popen(["etcd"], env={**os.environ, **dict(line.split("=", 1) for line in lines)},
                                stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        self.addCleanup(lambda: (etcd.kill(), etcd.wait()))

    def start_daemon(self, address, word):
        daemon = Daemon(PROGRAM)
        self.addCleanup(daemon.close)
        shutil.copytree(self.where / address / "brimwatch.d", daemon.where / "brimwatch.d")
        (daemon.where / "brimwatch.d/password").write_text(word)
        (daemon.where / "brimwatch.d/password").chmod(0o600)
        daemon.write((daemon.where / "brimwatch.d/shared.toml").read_text() + LISTS)
        checked = daemon.run("check", "--config", daemon.where / "b.toml")
        self.assertEqual(checked.returncode, 0, checked.stdout + checked.stderr)
        daemon.start()
        return daemon

    def test_two_machines_and_a_vote(self):
        self.is_for_its_owner_alone()
        for address in ADDRESSES:
            self.start_etcd(address)
        word = "a-word-of-the-test"

        def users(brimwatchs=word):
            made = subprocess.run([self.where / "users"], input=f"another-word\n{brimwatchs}\n", capture_output=True, text=True)
            return made if made.returncode == 0 or "deadline exceeded" not in made.stderr else None
        self.assertIn("has spaces", users("a word").stderr)
        made = wait_for("etcd to take its users", users)
        self.assertEqual(made.returncode, 0, made.stderr)
        m1 = self.start_daemon(ADDRESSES[0], word)
        wait_for("m1 to speak", lambda: m1.now()["shared"]["role"] == "speaking")
        m2 = self.start_daemon(ADDRESSES[1], word)
        wait_for("m2 to stand by", lambda: m2.now()["shared"]["role"] == "standing by")
        for one in (m1, m2):
            wait_for("both to be known", lambda: len(one.now()["shared"]["members"]) == 2)
        self.assertTrue(all(row["direct"] and row["same_list"] for row in m2.now()["shared"]["members"]))
        said = m1.run("shared", "--socket", m1.where / "sock", "hand-over")
        self.assertEqual(said.returncode, 0, said.stderr)
        wait_for("m2 to speak", lambda: m2.now()["shared"]["role"] == "speaking")
        self.others_keys_are_refused(word)

    def is_for_its_owner_alone(self):
        for path in self.where.rglob("*"):
            self.assertEqual(path.stat().st_mode & (stat.S_IRWXG | stat.S_IRWXO), 0, path)
        again = subprocess.run(["/bin/sh", MAKE_HOUSE, self.where, "mine", *ADDRESSES], capture_output=True, text=True)
        self.assertEqual((again.returncode, again.stderr), (1, f"make-house: {self.where} is there already\n"))

    def others_keys_are_refused(self, word):
        paper = self.where / ADDRESSES[0] / "brimwatch.d/brimwatch"
        asked = ["etcdctl", "--endpoints", f"https://{ADDRESSES[0]}:2379", "--cacert", self.where / "ca.pem", "--cert", f"{paper}.pem",
                 "--key", f"{paper}.key", "--user", f"brimwatch:{word}"]
        ours = subprocess.run([*asked, "get", "brimwatch/mine/leader", "--print-value-only"], capture_output=True, text=True)
        self.assertEqual(json.loads(ours.stdout)["name"], "m2")
        theirs = subprocess.run([*asked, "put", "brimwatch/other/leader", "x"], capture_output=True, text=True)
        self.assertIn("permission denied", theirs.stderr)


if __name__ == "__main__":
    if not all(map(shutil.which, ("etcd", "etcdctl", "openssl"))):
        print("skipped: etcd is not installed")
        sys.exit(77)
    unittest.main()
