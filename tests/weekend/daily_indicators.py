#!/usr/bin/python3
"""The daily indicators of `brimwatch prepare --json` against pandas (python3-pandas of Debian), on real daily bars.

Usage: daily_indicators.py BRIMWATCH DATA_DIR, where DATA_DIR has tests/data unpacked. Exit 77: pandas is missing.
"""
import json
import pathlib
import subprocess
import sys

try:
    import numpy as np
    import pandas as pd
except ImportError:
    print("skipped: python3-pandas is not installed")
    sys.exit(77)

program, data = sys.argv[1], pathlib.Path(sys.argv[2])
stocks = data / "daily" / "stocknet"
AS_OF = "2016-06-30"


def read(path, day):
    frame = pd.read_csv(path)
    frame = frame.rename(columns={"datetime": "Date", "close": "Close", "high": "High", "low": "Low", "volume": "Volume"})
    frame["Date"] = frame["Date"].str[:10]
    frame = frame[frame["Date"] <= day].dropna(subset=["Close"]).set_index("Date")
    return frame


index = read(data / "daily" / "SPY.csv", AS_OF)
command = [program, "prepare", str(stocks), "--index", str(data / "daily" / "SPY.csv"), "--as-of", AS_OF, "--all", "--json"]
bases = [json.loads(line) for line in subprocess.run(command, capture_output=True, text=True, check=True).stdout.splitlines()]
checked = wrong = 0


def check(base, name, found, wanted, slack):
    global checked, wrong
    checked += 1
    if abs(found - wanted) > slack:
        wrong += 1
        print(f"{base['symbol']} {name}: found {found}, pandas says {wanted}")


for base in bases:
    frame = read(stocks / (base["symbol"] + ".csv"), AS_OF)
    volume, close = frame["Volume"], frame["Close"]
    check(base, "normal volume", base["normal_volume"], volume[volume > 0].tail(50).mean(), 1)  # days without any are no full days
    change = close.diff().tail(50)
    up, down = volume.tail(50)[change > 0].sum(), volume.tail(50)[change < 0].sum()
    # Closes are kept as cents where they are 32-bit floats of cents; a change smaller than that noise may differ.
    check(base, "volume on rising against falling days", base["rising_volume"], up / down, 0.011)
    weekly = close.set_axis(pd.to_datetime(close.index)).resample("W-SUN").last()
    check(base, "ten-week mean", base["ten_week_mean"], weekly.rolling(10).mean().iloc[-1], 0.01)
    moves = np.log(close / close.shift(1)).tail(252).abs()
    if len(moves.dropna()) == 252:
        move = 100 * moves.clip(upper=5 * moves.median()).mean()
        check(base, "ordinary move", base["ordinary_move"], move, 0.0051)
        distance = 100 * np.log(float(base["pivot"]) / close.iloc[-1]) / move
        check(base, "moves to the pivot", base["moves_to_pivot"], distance, 0.02)
    line = (close / index["Close"].reindex(close.index, method="ffill")).dropna().tail(252)
    place = 100 * (line.iloc[-1] - line.min()) / (line.max() - line.min())
    if base["strength"]:
        check(base, "place of the strength line", base["strength"]["place"], place, 0.02)
    if base["kind"] == "no base":
        continue
    start = base["marks"][0]["day"] if base["kind"] != "flat base" else next(m["day"] for m in base["marks"] if m["name"] == "start")
    span = frame.loc[start:]
    check(base, "length", base["length"], len(span), 0)
    if base["kind"] != "flat base":
        check(base, "depth", base["depth"], 100 * (1 - span["Low"].min() / frame.loc[start, "High"]), 0.02)
    falls = 100 * (1 - index.loc[start:, "Close"] / index.loc[start:, "Close"].cummax())
    check(base, "fall of the index", base["index_fall"], max(0, falls.max()), 0.02)

print(f"{checked} figures of {len(bases)} bases checked, {wrong} wrong")
sys.exit(1 if wrong or checked < 500 else 0)
