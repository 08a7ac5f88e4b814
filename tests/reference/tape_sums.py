#!/usr/bin/python3
"""An independent reading of tapes: Python's csv, datetime and decimal modules, unpacked by the zstd program.

Usage: tape_sums.py TAPE.csv.zst ...; prints a line for each: rows, sums of time (ns), price and size (millionths), condition
codes and exchange letters (character codes), and a sum that weighs each row's price by its place. All modulo 2^64.
"""
import csv
import io
import subprocess
import sys
from datetime import datetime, timezone
from decimal import Decimal

EPOCH = datetime(1970, 1, 1, tzinfo=timezone.utc)


def nanos(text):
    span = datetime.fromisoformat(text) - EPOCH
    return ((span.days * 86400 + span.seconds) * 1_000_000 + span.microseconds) * 1000


def micros(text):
    return int(Decimal(text) * 1_000_000)


for path in sys.argv[1:]:
    text = subprocess.run(["zstd", "-dcq", path], check=True, capture_output=True).stdout.decode()
    sums = [0] * 7
    for place, row in enumerate(csv.DictReader(io.StringIO(text)), 1):
        price = micros(row["price"])
        sums[0] += 1
        sums[1] += nanos(row["time"])
        sums[2] += price
        sums[3] += micros(row["size"])
        sums[4] += sum(ord(c) for c in row["conditions"] if c != " ")
        sums[5] += sum(ord(c) for c in row["exchange"])
        sums[6] += place * price
    print(*(s % 2**64 for s in sums))
