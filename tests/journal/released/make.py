#!/usr/bin/python3
"""Makes the journals of later schema versions from that of 0.1.0, which its own program wrote.

A version is the one before it after that version's own statements, which are never changed once released (kSteps in
daemon/journal/schema.cpp), and some rows in the tables that it brought, with the sums that daemon/journal/row_sum.h defines.
Usage: make.py        (writes schema-2.db, schema-3.db, ... beside itself)
"""
import pathlib
import re
import shutil
import sqlite3
import struct

HERE = pathlib.Path(__file__).resolve().parent
SCHEMA = HERE.parents[2] / "daemon/journal/schema.cpp"
MASK = (1 << 64) - 1


def row_sum(values):
    state = 0xCBF29CE484222325

    def mix(word):
        nonlocal state
        state = ((((state << 23) | (state >> 41)) & MASK) ^ word) * 0x9E3779B97F4A7C15 & MASK

    for value in values:
        if isinstance(value, int):
            mix(value & MASK)
        elif isinstance(value, float):
            mix(struct.unpack("<Q", struct.pack("<d", value))[0])
        else:
            data = value.encode() if isinstance(value, str) else value
            mix(len(data))
            for at in range(0, len(data), 8):
                mix(int.from_bytes(data[at : at + 8].ljust(8, b"\0"), "little"))
    return state - (1 << 64) if state >> 63 else state


def put(database, table, *values):
    row = (*values, row_sum(values))
    database.execute(f"INSERT INTO {table} VALUES ({','.join('?' * len(row))})", row)


def rows_of_version(database, version):
    """What that version was the first to keep; times are those of the notices, which are of 2026-10-14."""
    at = database.execute("SELECT time FROM notices WHERE seq = 1").fetchone()[0]
    if version == 1:  # channels there were before
        put(database, "deliveries", 1, "mail", "delivered", 2, 0, 0, at + 9_000_000_000, "", "250 taken")
        put(database, "deliveries", 2, "mail", "pending", 1, 1, at + 60_000_000_000, 0, "", "451 later")
        put(database, "acknowledgements", 1, 1, at + 20_000_000_000)
        put(database, "holes", "main", "", at, at + 5_000_000_000, "no data")
    elif version == 2:
        put(database, "crossings", 1, 12.5, 0.25, 1.5, 0.0)
    elif version == 3:
        put(database, "recipients", 2, "mail", "anna@example.org")
    elif version == 4:
        put(database, "speakers", 1, "left")
    elif version == 5:
        day = at // 86_400_000_000_000
        put(database, "answers", 1, "left/1", "bought", "page", at, at, day, "KLVN", 20_050_000, 20_100_000, 100_000_000, 0, 0, 0, "", "")


def main():
    steps = re.findall(r'R"sql\((.*?)\)sql"', SCHEMA.read_text(), re.S)
    before = HERE / "0.1.0.db"
    for version in range(2, len(steps)):
        path = HERE / f"schema-{version}.db"
        shutil.copy(before, path)
        database = sqlite3.connect(path)
        database.execute("PRAGMA journal_mode = DELETE")
        database.execute("PRAGMA foreign_keys = ON")
        if version == 2:
            rows_of_version(database, 1)
        database.commit()
        database.executescript(steps[version - 1])
        rows_of_version(database, version)
        database.execute(f"PRAGMA user_version = {version}")
        database.commit()
        assert database.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        database.close()
        before = path


if __name__ == "__main__":
    main()
