#!/usr/bin/python3
"""A price that looks like a split, in the running daemon: what the notice says, and that the command in it does just that to
the list. Common practice: after a 2:1 split a pivot is half of what it was, and the shares of a normal volume twice as many.

Usage: split_test.py BRIMWATCH.
"""
import re
import shlex
import subprocess
import sys
import unittest

from live_support import PipeCase, wait_for

PROGRAM = sys.argv.pop(1)


class Split(PipeCase):
    PROGRAM = PROGRAM

    def config(self, fifo):
        return (f'watch_lists = ["list.toml"]\n[[feed]]\nname = "plug"\nkind = "pipe"\ncommand = ["/bin/cat", "{fifo}"]\n'
                f'[[channel]]\nname = "out"\nkind = "command"\ncommand = ["/bin/sh", "-c", "cat >> {self.where}/delivered; echo >> {self.where}/delivered"]\n')

    def setUp(self):
        super().setUp()
        self.list = self.where / "list.toml"
        self.list.write_text('[[watch]]\nsymbol = "KLVN"\npivot = 48.35   # the handle\'s high\nnormal_volume = 1_300_000\n')
        self.start()

    def said(self):
        text = (" ".join(one["text"].split()) for one in self.notices())  # lines are broken at 80 columns
        return next((one for one in text if "looks like a split" in one), None)

    def test_the_notice_names_the_new_levels_and_its_command_writes_them(self):
        self.tick("15:59:00", 47.20, day="2026-10-13")
        self.tick("09:30:00", 23.70)
        self.tick("09:30:01", 23.70)  # the first is so far off that it waits for a second
        text = wait_for("the doubt", self.said)
        for words in ("price 23.70 against the last close 47.20 looks like a split (2:1)", "no crossing notices today",
                      "as a split its pivot 48.35 would be 24.18, range to 25.38, loss limit 22.2", "nothing was changed"):
            self.assertIn(words, text)
        self.assertIn("48.35", self.list.read_text())
        command = shlex.split(re.search("`(brimwatch history split .*)`", text).group(1))
        self.assertEqual(command[0], "brimwatch")
        done = subprocess.run([PROGRAM, *command[1:], "--config", self.where / "b.toml"], capture_output=True, text=True)
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)
        self.assertEqual(self.list.read_text(), '[[watch]]\nsymbol = "KLVN"\npivot = 24.18   # the handle\'s high\nnormal_volume = 2600000\n')
        self.daemon.reload()
        wait_for("the new pivot", lambda: self.now()["watches"][0]["pivot"] in (24.18, "24.18"))
        self.stop()


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
