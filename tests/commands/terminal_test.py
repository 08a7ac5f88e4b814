#!/usr/bin/python3
"""Long work on a terminal and in a pipe. Usage: terminal_test.py BRIMWATCH

replay and learn are fed so much that they show progress; nothing here depends on how fast the machine is, since the work
is given piece by piece through named pipes until the line has been seen.
"""
import os
import pathlib
import pty
import re
import shlex
import subprocess
import sys
import tempfile
import threading
import time
import unittest

BRIMWATCH = sys.argv[1]
HEADER = "time,symbol,price,size,conditions\n"


def row(number):
    second, minute = number % 60, number // 60 % 60
    return f"2026-10-14T{10 + number // 3600 % 5}:{minute:02}:{second:02}-04:00,KLVN,{20 + number % 7 / 100},100,@\n"


END = "<end>"


class Terminal:
    """A program with standard error (and output, if `both`) on a terminal."""

    def __init__(self, args, both):
        self.terminal, self.inner = pty.openpty()
        self.child = subprocess.Popen(args, stdin=subprocess.DEVNULL, stdout=self.inner if both else subprocess.PIPE, stderr=self.inner)
        self.text, self.seen = "", threading.Event()
        self.reader = threading.Thread(target=self.read)
        self.reader.start()

    def read(self):
        while not self.text.endswith(END):
            self.text += os.read(self.terminal, 65536).decode()
            if re.search(r"\r\x1b\[K\S+ (ticks|files|symbols)", self.text):
                self.seen.set()

    def end(self):
        out = b""
        if self.child.stdout:
            out = self.child.stdout.read()
            self.child.stdout.close()
        code = self.child.wait(120)
        os.write(self.inner, END.encode())  # behind all that it said: a terminal that is closed may lose what is under way
        self.reader.join(10)
        os.close(self.inner)
        os.close(self.terminal)
        return code, out.decode(), self.text.removesuffix(END)


class LongWork(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.place = pathlib.Path(self.folder.name)
        (self.place / "c.toml").write_text('[[watch]]\nsymbol = "KLVN"\npivot = 20.05\nnormal_volume = "1M"\n')

    def tearDown(self):
        self.folder.cleanup()

    def feed(self, fifo, terminal):
        """Rows until the progress has been seen, then the end."""
        with open(fifo, "w") as into:
            into.write(HEADER)
            number, end = 0, time.monotonic() + 100
            while not terminal.seen.is_set() and time.monotonic() < end:
                for _ in range(5000):
                    into.write(row(number))
                    number += 1
                into.flush()

    def replay_on_a_terminal(self, both):
        fifo = self.place / "day.csv"
        os.mkfifo(fifo)
        terminal = Terminal([BRIMWATCH, "replay", fifo, "--config", self.place / "c.toml"], both)
        self.feed(fifo, terminal)
        return terminal.end()

    def test_replay_shows_progress_and_takes_it_away(self):
        code, out, shown = self.replay_on_a_terminal(both=False)
        self.assertEqual(code, 0)
        self.assertRegex(shown, r"\r\x1b\[K[\d.]+[kM]? ticks.*, at 2026-10-14 1\d:\d\d:\d\d")
        self.assertNotIn("% done", shown)  # a pipe has no end that is known
        self.assertIn("\r\x1b[K", shown[shown.rindex("ticks"):])
        self.assertNotIn("\x1b", out)
        self.assertRegex(out, r"\n\d+ ticks, \d+ notices?\. ")

    def test_notices_and_progress_share_a_terminal(self):
        code, _, shown = self.replay_on_a_terminal(both=True)
        self.assertEqual(code, 0)
        for line in shown.split("\n"):  # whatever was written over, a notice begins at the start of a line
            if "  KLVN  " in line:
                self.assertRegex(line.rsplit("\x1b[K", 1)[-1], r"^\d\d:\d\d:\d\d  KLVN ")

    def test_nothing_in_a_pipe(self):
        tape = self.place / "day.csv"
        tape.write_text(HEADER + "".join(row(number) for number in range(200_000)))
        done = subprocess.run([BRIMWATCH, "replay", tape, "--config", self.place / "c.toml"], capture_output=True, text=True)
        self.assertEqual(done.returncode, 0)
        self.assertNotIn("\r", done.stdout + done.stderr)
        self.assertNotIn("\x1b", done.stdout + done.stderr)
        self.assertNotIn("/s", done.stderr)

    def test_a_file_has_a_share_and_a_time_left(self):
        """Paced, so that it takes long on any machine: the test ends it when the line has been seen."""
        tape = self.place / "day.csv"
        tape.write_text(HEADER + "".join(row(number) for number in range(200_000)))
        terminal = Terminal([BRIMWATCH, "replay", tape, "--speed", "100", "--config", self.place / "c.toml"], False)
        self.assertTrue(terminal.seen.wait(100))
        terminal.child.terminate()
        _, _, shown = terminal.end()
        self.assertRegex(shown, r"ticks, \d+ % done|ticks, [\d.k]+/s, \d+ % done")

    def test_learn_and_prepare_show_progress(self):
        bars = self.place / "KLVN.csv"
        bars.write_text("date,open,high,low,close,volume\n2026-10-14,1,1,1,1,1\n")
        learn = [BRIMWATCH, "learn", bars, "--curves", self.place / "curves.toml"]
        for args, shown_as in ((learn, "0 symbols, 0 % done, at KLVN"), ([BRIMWATCH, "prepare", bars], "0 files, 0 % done")):
            with self.subTest(command=args[1]):
                _, out, shown = Terminal(args, False).end()
                self.assertIn("\r\x1b[K" + shown_as + "\r\x1b[K", shown)
                self.assertNotIn("\x1b", out)
                done = subprocess.run(args, capture_output=True, text=True)
                self.assertNotIn("\x1b", done.stdout + done.stderr)

    def test_the_commands_that_init_prints_run_as_they_stand(self):
        folder = self.place / "a folder's"
        done = subprocess.run([BRIMWATCH, "init", "--dir", folder], capture_output=True, text=True)
        self.assertEqual(done.returncode, 0, done.stderr)
        printed = re.search(r"brimwatch (check --config .*)", done.stdout)[1]
        check = subprocess.run(["sh", "-c", f"{shlex.quote(str(BRIMWATCH))} {printed}"], capture_output=True, text=True)
        self.assertEqual(check.returncode, 0, check.stderr)

    def test_no_bars_up_to_a_day_are_no_bars_of_1970(self):
        bars = self.place / "KLVN.csv"
        bars.write_text("date,open,high,low,close,volume\n2026-10-14,1,1,1,1,1\n")
        done = subprocess.run([BRIMWATCH, "prepare", bars, "--as-of", "2020-01-01"], capture_output=True, text=True)
        self.assertIn("read 1 stock, 0 bars; 0 shapes", done.stdout)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=1)
