#!/usr/bin/python3
"""Starts and reloads of the daemon with short and long lists, and the memory of a watch.

Usage: lists.py BRIMWATCH FEEDER MAKE_TAPE [--runs N]; scripts/bench calls it. Times are from the start of the process, or from
the signal, to the daemon's own word; medians of several runs.
"""
import argparse
import os
import pathlib
import random
import re
import signal
import statistics
import subprocess
import sys
import tempfile
import time

PATIENCE = 120


class Daemon:
    def __init__(self, arguments, where, feed, more=""):
        (where / "b.toml").write_text(f'watch_lists = ["watches.csv"]\n[market]\ntrend = "up"\n[feed]\nkind = "pipe"\npast_days = "tell"\ncommand = {feed}\n{more}')
        for old in where.glob("j.db*"):
            old.unlink()
        self.begun = time.monotonic()
        self.process = subprocess.Popen(
            [arguments.program, "run", "--config", where / "b.toml", "--journal", where / "j.db", "--socket", where / "sock"],
            stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, env={**os.environ, "XDG_STATE_HOME": str(where)})
        self.wait("watching")
        self.seconds = time.monotonic() - self.begun

    def wait(self, word):
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            line = self.process.stderr.readline()
            if word in line:
                return line
            if not line:
                sys.exit("lists: the daemon ended")
        sys.exit(f"lists: the daemon did not say {word}")

    def rss(self):
        return int(re.search(r"VmRSS:\s*(\d+)", pathlib.Path(f"/proc/{self.process.pid}/status").read_text())[1]) * 1024

    def reload(self):
        begun = time.monotonic()
        self.process.send_signal(signal.SIGHUP)
        line = self.wait("reloaded")
        return time.monotonic() - begun, float(re.search(r"the feed waited ([\d.]+) ms", line)[1])

    def end(self):
        self.process.terminate()
        self.process.communicate()


def make_list(arguments, where, symbols, each):
    subprocess.run([arguments.make_tape, str(symbols), str(symbols), where / "tape.csv", where / "watches.csv", str(each)], check=True)


def make_history(where, days=50):
    """Fifty sessions' bars of each symbol in the list."""
    folder = where / "daily"
    folder.mkdir(exist_ok=True)
    dates = [f"2026-{9 + d // 25:02d}-{1 + d % 25:02d}" for d in range(days)]
    rows = "date,open,high,low,close,volume\n" + "".join(f"{day},50.10,51.25,49.80,50.95,{1000000 + 317 * i}\n" for i, day in enumerate(dates))
    for line in (where / "watches.csv").read_text().splitlines()[1:]:
        (folder / (line.split(",")[0] + ".csv")).write_text(rows)


def start(arguments, where, more=""):
    seconds = []
    for _ in range(arguments.runs):
        daemon = Daemon(arguments, where, '["/bin/sleep", "1000"]', more)
        seconds.append(daemon.seconds)
        rss = daemon.rss()
        daemon.end()
    return statistics.median(seconds), min(seconds), rss


def change(path, share):
    lines = path.read_text().splitlines()
    for at in random.Random(1).sample(range(1, len(lines)), int(share * len(lines))):
        symbol, pivot, normal = lines[at].split(",")
        lines[at] = f"{symbol},{float(pivot) + 0.0001 * (at % 7 + 1):.4f},{normal}"
    path.write_text("\n".join(lines) + "\n")


def main():
    words = argparse.ArgumentParser()
    for name in ("program", "feeder", "make_tape"):
        words.add_argument(name)
    words.add_argument("--runs", type=int, default=5)
    arguments = words.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        where = pathlib.Path(folder)
        make_list(arguments, where, 40, 1)
        median, least, _ = start(arguments, where)
        print(f"40 watches, ready after                {1e3 * median:8.0f} ms (least {1e3 * least:.0f})")
        make_list(arguments, where, 8000, 1)
        make_history(where)
        median, least, few = start(arguments, where, f'[history]\ndaily = "{where}/daily"\n')
        print(f"8,000 with fifty days each, ready after {1e3 * median:7.0f} ms (least {1e3 * least:.0f})")
        median, least, few = start(arguments, where)
        make_list(arguments, where, 8000, 125)
        median, least, many = start(arguments, where)
        print(f"1,000,000 watches, ready after          {1e3 * median:7.0f} ms (least {1e3 * least:.0f})")
        print(f"bytes a watch, list and engine          {(many - few) / 992_000:7.0f}")
        log = where / "feeder.log"
        daemon = Daemon(arguments, where, f'["{arguments.feeder}", "100000", "20", "2000", "{log}"]')
        waits = []
        for _ in range(arguments.runs):
            change(where / "watches.csv", 0.01)
            waits.append(daemon.reload())
        daemon.end()
        print(f"1 % of them changed, in force after     {1e3 * statistics.median(w[0] for w in waits):7.0f} ms (least {1e3 * min(w[0] for w in waits):.0f})")
        print(f"  of which the feed waited              {statistics.median(w[1] for w in waits):7.0f} ms (least {min(w[1] for w in waits):.0f})")


main()
