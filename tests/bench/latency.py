#!/usr/bin/python3
"""How soon the daemon tells, at a full market's pace, and that it never waits for disk or network.

Usage: latency.py BRIMWATCH FEEDER SLOW_DISK.so [--rate N] [--seconds S] [--crossings N]; scripts/latency builds and calls it.
The daemon reads the feeder through a pipe. From just before the write that holds a crossing trade: till the log names the notice
(it does once the journal has it) and till its first byte is on standard output, the console channel's. Then the same with every
write and sync of the journal 200 ms slower and a channel that hangs: the feeder must not be held up more than before. Ends with
exit code 1 when it is.
"""
import argparse
import os
import pathlib
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time

SYMBOL = re.compile(rb"S\d{5}")


class Stamps:
    """When a symbol first appeared in a stream."""

    def __init__(self, stream):
        self.first = {}
        self.stream = stream
        self.thread = threading.Thread(target=self.read, daemon=True)
        self.thread.start()

    def read(self):
        rest = b""
        while block := os.read(self.stream.fileno(), 65536):
            at = time.monotonic_ns()
            rest += block
            for symbol in SYMBOL.findall(rest):
                self.first.setdefault(symbol.decode(), at)
            rest = rest[rest.rfind(b"\n") + 1:]


def quantiles(values):
    values = sorted(values)
    return [values[int(share * (len(values) - 1))] for share in (0.5, 0.99, 0.999, 1)]


def run(arguments, slow):
    with tempfile.TemporaryDirectory() as folder:
        where = pathlib.Path(folder)
        log = where / "feeder.log"
        (where / "watches.csv").write_text(
            "symbol,pivot,normal_volume\n" + "".join(f"S{i:05d},60.00,100000000\n" for i in range(arguments.crossings)))
        hang = '[[channel]]\nname = "hangs"\nkind = "command"\ncommand = ["/bin/sleep", "1000"]\n' if slow else ""
        (where / "b.toml").write_text(f"""
watch_lists = ["watches.csv"]
[market]
trend = "up"
[feed]
kind = "pipe"
past_days = "tell"
command = ["{arguments.feeder}", "{arguments.rate}", "{arguments.seconds}", "{arguments.crossings}", "{log}"]
[[channel]]
name = "out"
kind = "console"
per_minute = 10000
{hang}""")
        environment = dict(os.environ)
        if slow:
            environment |= {"LD_PRELOAD": arguments.slow_disk, "BRIMWATCH_SLOW_DISK_MS": "200"}
        daemon = subprocess.Popen(
            [arguments.program, "run", "--config", where / "b.toml", "--journal", where / "j.db", "--socket", where / "sock"],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment)
        told, kept = Stamps(daemon.stdout), Stamps(daemon.stderr)
        deadline = time.monotonic() + arguments.seconds + 60
        while not (log.exists() and "rate" in log.read_text()):
            if daemon.poll() is not None or time.monotonic() > deadline:
                daemon.kill()
                sys.exit("latency: the daemon or the feeder did not get to the end")
            time.sleep(0.2)
        end = time.monotonic() + 30
        while not slow and len(told.first) < arguments.crossings and time.monotonic() < end:
            time.sleep(0.05)
        daemon.send_signal(signal.SIGKILL if slow else signal.SIGTERM)  # a slow disk takes its time to be told all
        daemon.wait()
        crossed, found = {}, {}
        for line in log.read_text().splitlines():
            word, *values = line.split()
            if word == "crossed":
                crossed[values[0]] = int(values[1])
            else:
                found[word] = [float(value) for value in values]
        found["missing"] = sum(symbol not in told.first for symbol in crossed)
        for name, stamps in (("kept", kept), ("told", told)):
            found[name] = quantiles([(stamps.first[s] - at) / 1e6 for s, at in crossed.items() if s in stamps.first] or [float("nan")])
        return found


def show(what, values):
    print(f"  {what:42} " + " ".join(f"{value:9.3f}" for value in values))


def main():
    words = argparse.ArgumentParser()
    for name in ("program", "feeder", "slow_disk"):
        words.add_argument(name)
    words.add_argument("--rate", type=int, default=250_000)
    words.add_argument("--seconds", type=int, default=20)
    words.add_argument("--crossings", type=int, default=2000)
    arguments = words.parse_args()
    print(f"{arguments.rate} trades a second for {arguments.seconds} s, {arguments.crossings} crossings; milliseconds")
    print(f"  {'':42} {'p50':>9} {'p99':>9} {'p99.9':>9} {'most':>9}")
    plain = run(arguments, slow=False)
    show("trade written to notice in the journal", plain["kept"])
    show("trade written to the channel's first byte", plain["told"])
    show("feeder late", plain["late"])
    slow = run(arguments, slow=True)
    show("feeder late, slow disk and hanging channel", slow["late"])
    print(f"  rate kept: {plain['rate'][0]:.0f}, slow {slow['rate'][0]:.0f} a second; crossings not told: {plain['missing']}")
    held_up = slow["late"][2] > max(2 * plain["late"][2], 50)  # one write alone takes 200 ms more
    if held_up:
        print("latency: the slow disk or the hanging channel held the feed up")
    return 1 if held_up or plain["missing"] else 0


sys.exit(main())
