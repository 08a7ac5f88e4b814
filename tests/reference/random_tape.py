#!/usr/bin/python3
"""A large random tape through `brimwatch replay`, and the same questions asked of SQLite: when was each pivot first crossed, when
was the range first left, what did the day's volume come to.

Usage: random_tape.py BRIMWATCH [TRADES] [SEED]. The rule for eligible prints is written here anew, from the tapes' published
matrix: a print moves the last price when none of its codes forbids it (odd lots I, average price B, derivatively priced 4 and
others do), and adds to the volume unless it repeats an auction (M, Q).
"""
import json
import pathlib
import random
import sqlite3
import subprocess
import sys
import tempfile

program = sys.argv[1]
trades = int(sys.argv[2]) if len(sys.argv) > 2 else 200_000
rng = random.Random(int(sys.argv[3]) if len(sys.argv) > 3 else 7)
SYMBOLS = [f"ZQ{i:03d}" for i in range(100)]
# code -> moves the last price, adds to the volume
CODES = {"": (1, 1), "F": (1, 1), "E": (1, 1), "I": (0, 1), "FI": (0, 1), "B": (0, 1), "7": (0, 1), "H": (0, 1), "M": (0, 0), "Q": (0, 0)}


def stamp(ms):
    seconds = 34200 + ms / 1000
    return f"2026-10-14T{int(seconds // 3600):02d}:{int(seconds // 60 % 60):02d}:{seconds % 60:06.3f}-04:00"


def make(where):
    """A walk per symbol in steps of cents, in the order of time; the first price lies under the pivot, or far over the range."""
    cents, pivots, rows = {}, {}, []
    for symbol in SYMBOLS:
        cents[symbol] = rng.randrange(2000, 20000)
        pivots[symbol] = round(cents[symbol] * rng.choice([1.004, 1.01, 1.03, 1.2, 0.93]))
    times = sorted(rng.randrange(0, 23_399_000) for _ in range(trades))
    for ms in times:
        symbol = rng.choice(SYMBOLS)
        cents[symbol] = max(100, cents[symbol] + round(rng.gauss(0, cents[symbol] * .0012)))
        code = rng.choices(list(CODES), [40, 20, 2, 12, 8, 2, 2, 2, 1, 1])[0]
        price = cents[symbol] + (rng.randrange(-400, 400) if not CODES[code][0] else 0)  # those that move nothing print anywhere
        rows.append((ms, symbol, max(price, 1), rng.randrange(1, 3000), code))
    with open(where / "tape.csv", "w") as out:
        out.write("time,symbol,price,size,conditions\n")
        for ms, symbol, price, size, code in rows:
            out.write(f"{stamp(ms)},{symbol},{price / 100:.2f},{size},{code}\n")
    with open(where / "list.csv", "w") as out:
        out.write("symbol,pivot,normal_volume\n")
        for symbol in SYMBOLS:
            out.write(f"{symbol},{pivots[symbol] / 100:.2f},{rng.randrange(100_000, 3_000_000)}\n")
    (where / "b.toml").write_text('watch_lists = ["list.csv"]\n[rules]\nbad_print = 0.0\nper_day = 100\n')
    return rows, pivots


def asked_of_sqlite(rows, pivots):
    base = sqlite3.connect(":memory:")
    base.execute("CREATE TABLE trades (n INTEGER PRIMARY KEY, ms, symbol, cents, size, moves, adds)")
    base.executemany("INSERT INTO trades VALUES (?,?,?,?,?,?,?)", [(n, ms, s, c, z, *CODES[k]) for n, (ms, s, c, z, k) in enumerate(rows)])
    base.execute("CREATE TABLE watches (symbol PRIMARY KEY, pivot)")
    base.executemany("INSERT INTO watches VALUES (?,?)", pivots.items())
    # The top of the range is 5 % over the pivot, down to the cent (common practice).
    crossed = base.execute("""
        WITH priced AS (SELECT t.*, w.pivot, w.pivot * 105 / 100 AS top FROM trades t JOIN watches w USING (symbol) WHERE moves),
             cross AS (SELECT symbol, min(n) AS n FROM priced WHERE cents >= pivot GROUP BY symbol),
             first AS (SELECT symbol, min(n) AS n FROM priced GROUP BY symbol)
        SELECT c.symbol, p.ms, p.cents,
               CASE WHEN f.n = c.n AND p.cents > p.top THEN 'opened-over' ELSE 'crossed' END,
               (SELECT min(q.ms) FROM priced q WHERE q.symbol = c.symbol AND q.n >= c.n AND q.cents > q.top),
               (SELECT sum(v.size) FROM trades v WHERE v.symbol = c.symbol AND v.adds AND v.n <= c.n),
               (SELECT sum(v.size) FROM trades v WHERE v.symbol = c.symbol AND v.adds)
        FROM cross c JOIN first f USING (symbol) JOIN priced p ON p.n = c.n""").fetchall()
    return {row[0]: row[1:] for row in crossed}


def main():
    with tempfile.TemporaryDirectory() as folder:
        where = pathlib.Path(folder)
        rows, pivots = make(where)
        run = subprocess.run([program, "replay", where / "tape.csv", "--config", where / "b.toml", "--json"], capture_output=True, text=True)
        assert run.returncode == 0, run.stderr
        said = [json.loads(line) for line in run.stdout.splitlines()]
    wanted = asked_of_sqlite(rows, pivots)
    first, left, ended, wrong = {}, {}, {}, []
    for notice in said:
        symbol = notice["symbol"]
        if notice["kind"] in ("crossed", "opened-over"):
            first.setdefault(symbol, notice)
        elif notice["kind"] == "left-range":
            left.setdefault(symbol, notice)
        elif notice["kind"] == "day-end":
            ended[symbol] = notice
    if set(first) != set(wanted):
        wrong.append(f"crossed for only one of the two: {sorted(set(first) ^ set(wanted))}")
    kinds = {"crossed": 0, "opened-over": 0}
    for symbol in sorted(set(first) & set(wanted)):
        ms, cents, kind, left_ms, so_far, total = wanted[symbol]
        kinds[kind] += 1
        got = first[symbol]
        checks = {"kind": (got["kind"], kind), "time": (got["time"], stamp(ms).replace(".000-", "-")), "price": (got["price"], cents / 100),
                  "volume so far": (got["volume"], so_far), "volume of the day": (ended[symbol]["volume"], total)}
        if kind == "crossed":
            checks["range left"] = (left[symbol]["time"] if symbol in left else None, left_ms and stamp(left_ms))
        for what, (ours, theirs) in checks.items():
            if what in ("time", "range left") and ours and theirs:  # we leave out trailing zeros of a fraction
                ours, theirs = (t[:19] + (t[19:-6].rstrip("0").rstrip(".")) for t in (ours, theirs))
            if ours != theirs:
                wrong.append(f"{symbol}: {what}: {ours}, by SQLite {theirs}")
    print("\n".join(wrong[:20]))
    print(f"{trades} trades, {kinds['crossed']} crossings, {kinds['opened-over']} openings over the range: {len(wrong)} differences")
    return 1 if wrong or kinds["crossed"] < 20 or kinds["opened-over"] < 5 else 0


sys.exit(main())
