#!/usr/bin/python3
"""`brimwatch learn --grade --json` as a person's files come: columns in any order and case, times in many spellings, odd
line ends, several files, minutes and hours. The figures must not hang on any of it. The two simple rules are worked out
here anew, from the rows alone.

Usage: learn_command.py BRIMWATCH
"""
import datetime
import gzip
import json
import pathlib
import random
import subprocess
import sys
import tempfile

program = sys.argv[1]
failures = 0
FIELDS = ["minute", "days", "mape", "mdape", "cover80", "cover90", "crps", "base_rate", "brier_skill", "auc", "precision_50",
          "recall_50", "linear_mape", "profile_mape"]


def check(ok, what):
    global failures
    if not ok:
        failures += 1
        print("wrong:", what)


def learn(*arguments, code=0):
    run = subprocess.run([program, "learn", *map(str, arguments)], capture_output=True, text=True)
    check(run.returncode == code, f"{arguments}: exit {run.returncode}, not {code}: {run.stderr}")
    return run


def points(*arguments):
    run = learn("--grade", "--json", *arguments)
    try:
        return json.loads(run.stdout)["points"]
    except ValueError:
        check(False, f"{arguments}: not JSON: {run.stdout[:200]} {run.stderr[:200]}")
        return []


def sessions(count):
    """Weekdays of 2019 without New York's holidays and half days, as the exchange published them."""
    closed = {"01-01", "01-21", "02-18", "04-19", "05-27", "07-03", "07-04", "09-02", "11-28", "11-29", "12-24", "12-25"}
    day, out = datetime.date(2019, 1, 2), []
    while len(out) < count:
        if day.weekday() < 5 and day.strftime("%m-%d") not in closed:
            out.append(day)
        day += datetime.timedelta(1)
    return out


def invent(count, bar, seed, first=570):
    """[(date, minute of the day, volume)]: bars of `bar` minutes from `first` to 16:00."""
    rng, rows = random.Random(seed), []
    for day in sessions(count):
        level = 1000 * bar * rng.lognormvariate(0, 0.35)
        for minute in range(first, 960, bar):
            edge = min(abs(minute - 570), abs(960 - minute))
            rows.append((day, minute, int(level * (1 + 3 / (1 + edge / 30)) * rng.lognormvariate(0, 0.3)) + 1))
    return rows


def clock(minute):
    return f"{minute // 60:02d}:{minute % 60:02d}"


def write(path, header, rows, ending="\n", start=""):
    path.write_bytes((start + ending.join([header, *rows]) + ending).encode())
    return path


def simple_rules(rows, minute, bar):
    """Mean errors of linear pace and of the static profile over 50 days, from day 51 on."""
    days = {}
    for day, at, volume in rows:
        days.setdefault(day, []).append((at - 570, volume))
    shares, linear, profile = [], [], []
    for day in sorted(days):
        total = sum(v for _, v in days[day])
        done = sum(v for at, v in days[day] if at + bar <= minute)
        if len(shares) >= 50:
            linear.append(abs(done * 390 / minute / total - 1))
            profile.append(abs(done / (sum(shares[-50:]) / 50) / total - 1))
        shares.append(done / total)
    return 100 * sum(linear) / len(linear), 100 * sum(profile) / len(profile), len(linear)


def offset(day):
    """New York against UTC in 2019: daylight saving from 10 March to 3 November."""
    return 4 if datetime.date(2019, 3, 10) <= day < datetime.date(2019, 11, 3) else 5


def utc(day, minute):
    return datetime.datetime(day.year, day.month, day.day) + datetime.timedelta(minutes=minute + 60 * offset(day))


CROSSING = ["from_minute", "to_minute", "count", "said", "came", "brier_skill", "log_loss", "auc", "precision_50", "recall_50",
            "precision_70", "recall_70"]


def crossings(*arguments):
    return json.loads(learn("--grade", "--at-crossings", "--json", *arguments).stdout)


def people_have(folder):
    """Minute bars as people have them: in other zones, stamped at the end, with the hours before the open."""
    rows = invent(60, 5, 21)
    early = [(d, m, max(1, v // 40)) for d, m, v in invent(60, 5, 22, 480) if m < 570]
    late = [(d, m, 90) for d in sessions(60) for m in range(960, 1020, 5)]
    wanted = points(write(folder / "KARV.csv", "datetime,volume", [f"{d} {clock(m)},{v}" for d, m, v in rows]))
    both = sorted(rows + early + late)
    forms = {
        "chicago": (["--zone", "America/Chicago"], lambda d, m: f"{d} {clock(m - 60)}", 0),
        "tokyo": (["--zone", "Asia/Tokyo"], lambda d, m: f"{utc(d, m) + datetime.timedelta(hours=9):%Y-%m-%d %H:%M}", 0),
        "named": ([], lambda d, m: f"{d} {clock(m - 60)}:00 US/Central", 0),
        "bracketed": ([], lambda d, m: f"{d}T{clock(m)}:00-0{offset(d)}:00[America/New_York]", 0),
        "ends": ([], lambda d, m: f"{d} {clock(m)}", 5),
        "ends-in-utc": (["--zone", "utc"], lambda d, m: f"{utc(d, m):%Y-%m-%d %H:%M}", 5),
        "starts-in-utc": (["--zone", "utc"], lambda d, m: f"{utc(d, m):%Y-%m-%d %H:%M}", 0),
    }
    for name, (more, stamp, later) in forms.items():
        for what, used in (("regular hours", rows), ("all hours", both)):
            file = write(folder / "KARV.csv", "datetime,volume", [f"{stamp(d, m + later)},{v}" for d, m, v in used])
            check(points(*more, file) == wanted, f"{name}, {what}: other figures than the plain file")
    told = learn("--grade", "--json", write(folder / "KARV.csv", "datetime,volume", [f"{d} {clock(m + 5)},{v}" for d, m, v in both]))
    check("stamped by their ends" in told.stderr, f"a guess is told: {told.stderr}")
    wrong = learn("--grade", "--zone", "America/Nowhere", file, code=2)
    check("America/Nowhere" in wrong.stderr and "America/Chicago" in wrong.stderr, f"a zone that is not: {wrong.stderr}")
    lost = write(folder / "LOST.csv", "datetime,volume", [f"{d} {clock(m)} Mars/Base,{v}" for d, m, v in rows])
    check("a zone that is known" in learn("--grade", lost, code=4).stderr, "a zone in the rows that is not")


def at_crossings(folder):
    """The crossings of an invented stock, found and scored here anew; the odds themselves are the program's."""
    rng, rows, price = random.Random(5), [], 40.0
    for day, minute, volume in invent(150, 5, 31):
        price *= 1 + rng.gauss(0.00002, 0.0012)
        rows.append((day, minute, round(price, 2), volume))
    file = write(folder / "NIVO.csv", "datetime,open,high,low,close,volume",
                 [f"{d} {clock(m)},{p},{p + .05:.2f},{p - .05:.2f},{p},{v}" for d, m, p, v in rows])
    days = {}
    for day, minute, p, volume in rows:
        days.setdefault(day, []).append((minute - 570, round(p + .05, 2), volume))
    for high in (50, 20):
        wanted, highs, totals = [], [], []
        for bars in days.values():
            total = sum(v for _, _, v in bars)
            first = next((m + 5 for m, h, _ in bars if len(totals) >= 50 and h >= max(highs[-high:])), None)
            if first is not None and first < 390:
                wanted.append((first, total >= 1.4 * sum(totals[-50:]) / 50))
            highs.append(max(h for _, h, _ in bars))
            totals.append(total)
        found = crossings("--high", str(high), file)
        check(list(found) == ["crossings"] and all(list(row) == CROSSING for row in found["crossings"]), "the fields of the interface")
        check(sum(row["count"] for row in found["crossings"]) == len(wanted) > 10, f"crossings of {high}: {found} {len(wanted)}")
        for row in found["crossings"]:
            here = [came for minute, came in wanted if row["from_minute"] < minute <= row["to_minute"]]
            check(row["count"] == len(here), f"crossings of {high} from {row['from_minute']}: {row['count']} not {len(here)}")
            check(abs(row["came"] - sum(here) / len(here)) < 1e-4, f"what came from {row['from_minute']}")
            check(0 <= row["said"] <= 1 and row["log_loss"] >= 0, "odds are shares")
    text = learn("--grade", "--at-crossings", file).stdout
    for part in ("minutes since the open", "opening gap", "sessions since the high", "normal volume", "linear pace", "static profile", "odds said"):
        check(part in text, f"the table has {part}")
    bare = write(folder / "BARE.csv", "datetime,volume", [f"{d} {clock(m)},{v}" for d, m, _, v in rows])
    check("with prices" in learn("--grade", "--at-crossings", bare, code=4).stderr, "bars without prices")
    check(crossings(bare) == {"crossings": []}, "bars without prices, as JSON")


def main(folder):
    rows = invent(60, 15, 1)
    plain = write(folder / "KLVN.csv", "date,bin_start,volume", [f"{d},{clock(m)},{v}" for d, m, v in rows])
    wanted = points(plain)
    check([p["minute"] for p in wanted] == [15, 30, 60, 90, 120, 195, 300], "the usual minutes")
    check(all(set(FIELDS) <= set(p) for p in wanted), "the fields of the interface")
    for p in wanted:
        linear, profile, days = simple_rules(rows, p["minute"], 15)
        check(p["days"] == days == 10, f"days at {p['minute']}: {p['days']}")
        check(abs(p["linear_mape"] - linear) < 0.01, f"linear at {p['minute']}: {p['linear_mape']} not {linear}")
        check(abs(p["profile_mape"] - profile) < 0.01, f"profile at {p['minute']}: {p['profile_mape']} not {profile}")
        check(p["mape"] > 1 and p["mdape"] <= 100 and 0 <= p["cover80"] <= p["cover90"] <= 1, "errors in %, shares as such")

    spellings = {
        "order-and-case": ("Volume,BIN_START,Date", lambda d, m, v: f"{v},{clock(m)},{d}"),
        "quoted": ('"Date","Bin Start","Volume"', lambda d, m, v: f'"{d}","{clock(m)}","{v}"'),
        "row-names": ('"","date","bin_start","volume"', lambda d, m, v: f'"{m}","{d}","{clock(m)}",{v}'),
        "seconds": ("date,time,volume", lambda d, m, v: f"{d},{clock(m)}:00,{v}.0"),
        "american": ("Date,Time,Volume", lambda d, m, v: f"{d:%m/%d/%Y},{(m // 60 - 1) % 12 + 1}:{m % 60:02d} {'AM' if m < 720 else 'PM'},{v}"),
        "compact": ("date;time;volume", lambda d, m, v: f"{d:%Y%m%d};{clock(m).replace(':', '')};{v}"),
        "datetime": ("datetime,open,high,low,close,volume", lambda d, m, v: f"{d} {clock(m)}:00,10,10,10,10,{v}"),
        "iso": ("DateTime,Volume", lambda d, m, v: f"{d}T{clock(m)}:00.000,{v}"),
        "offset": ("datetime,volume", lambda d, m, v: f"{d}T{clock(m)}:00-0{offset(d)}:00,{v}"),
        "short-offset": ("time,volume", lambda d, m, v: f"{d} {clock(m)}:00-0{offset(d)},{v}"),
        "zulu": ("timestamp,volume", lambda d, m, v: f"{utc(d, m):%Y-%m-%dT%H:%M:%SZ},{v}"),
        "other-offset": ("datetime,volume", lambda d, m, v: f"{utc(d, m) + datetime.timedelta(hours=9):%Y-%m-%d %H:%M:%S}+09:00,{v}"),
        "epoch-ms": ("t,time,volume", lambda d, m, v: f"x,{int(utc(d, m).replace(tzinfo=datetime.timezone.utc).timestamp() * 1000)},{v}"),
        "both-columns": ("date,time,volume", lambda d, m, v: f"{d},{d} {clock(m)}:00,{v}"),
        "labels": ("date,bin_start,volume", lambda d, m, v: f"V{(d - datetime.date(2019, 1, 1)).days},{clock(m)},{v}"),
        "symbol-column": ("volume,symbol,datetime", lambda d, m, v: f"{v},KLVN,{d} {clock(m)}"),
    }
    for name, (header, row) in spellings.items():
        found = points(write(folder / f"{name}.csv", header, [row(*r) for r in rows]))
        # Days without dates know no expiry and no month end: their figures differ a little.
        same = found == wanted or (name == "labels" and [p["linear_mape"] for p in found] == [p["linear_mape"] for p in wanted])
        check(same, f"{name}: other figures than the plain file")
    body = [f"{d},{clock(m)},{v}" for d, m, v in rows]
    check(points(write(folder / "crlf.csv", "date,bin_start,volume", body, "\r\n")) == wanted, "CRLF")
    check(points(write(folder / "bom.csv", "date,bin_start,volume", body, start="\ufeff")) == wanted, "byte order mark")
    check(points(write(folder / "comment.csv", "date,bin_start,volume", body, start="# from somewhere\n\n")) == wanted, "comment")
    check(points(write(folder / "reversed.csv", "date,bin_start,volume", body[::-1])) == wanted, "newest first")
    ends = [f"{d},{clock(m + 15)},{v}" for d, m, v in rows]
    check(points(write(folder / "ends.csv", "date,bin_start,volume", ends)) == wanted, "stamped by the end")
    (folder / "packed.csv.gz").write_bytes(gzip.compress(plain.read_bytes()))
    check(points(folder / "packed.csv.gz") == wanted, "gzip")

    # Several files: pooled, each symbol alone, whatever the files are called.
    other = invent(60, 15, 2)
    two = write(folder / "panel_2.csv", "date,bin_start,volume", [f"{d},{clock(m)},{v}" for d, m, v in other])
    one = write(folder / "panel_1.csv", "date,bin_start,volume", body)
    pooled, alone = points(one, two), (points(one), points(two))
    for both, a, b in zip(pooled, *alone):
        check(both["days"] == a["days"] + b["days"], "pooled days")
        for field in ("mape", "cover80", "crps", "linear_mape"):
            check(abs(both[field] - (a[field] + b[field]) / 2) < 2e-3, f"pooled {field}")
    half = 30 * 26
    first = write(folder / "a-2019-01.csv", "symbol,datetime,volume", [f"KLVN,{d} {clock(m)},{v}" for d, m, v in rows[:half]])
    rest = write(folder / "b-2019-03.csv", "symbol,datetime,volume", [f"KLVN,{d} {clock(m)},{v}" for d, m, v in rows[half:]])
    check(points(first, rest) == wanted, "a symbol's months in two files with a symbol column")
    parts = [write(folder / f"ORRI_{n}.csv", "date,bin_start,volume", body[a:b]) for n, a, b in (("2019-01", 0, half), ("2019-03", half, None))]
    check(points(*parts) == wanted, "a symbol's months in two files named by month")

    # Minutes asked for.
    check([p["minute"] for p in points("--at", "30,195", plain)] == [30, 195], "--at")
    check(points("--at", "30,195", plain) == [p for p in wanted if p["minute"] in (30, 195)], "--at changes nothing else")
    check(points("--at", "30", "195", plain) == points("--at", "30", "--at", "195", plain) == points("--at", "30,195", plain), "--at in other forms")
    check("no such file" in learn("--grade", "gone.csv", code=4).stderr, "a file that is not there")
    run = learn("--grade", "--json", "--at", "20,30", plain)
    check([p["minute"] for p in json.loads(run.stdout)["points"]] == [30] and "minute 20" in run.stderr, "a minute inside a bar is told")
    cold = points("--cold", plain)
    check([p["linear_mape"] for p in cold] == [p["linear_mape"] for p in wanted] and cold != wanted, "--cold")

    # Bars of other lengths and phases.
    hours = invent(60, 30, 3)
    merged = {}
    for d, m, v in hours:
        merged[(d, max(m // 60 * 60, 540))] = merged.get((d, max(m // 60 * 60, 540)), 0) + v
    at_hours = points(write(folder / "hours.csv", "datetime,open,high,low,close,volume", [f"{d} {clock(m)},1,1,1,1,{v}" for (d, m), v in merged.items()]))
    check([p["minute"] for p in at_hours] == [30, 90, 150, 210, 270, 330], f"hour bars: {at_hours}")
    halves = {}
    for d, m, v in hours:
        key = (d, 570 + (m - 570) // 60 * 60)
        halves[key] = halves.get(key, 0) + v
    at_halves = points(write(folder / "halves.csv", "datetime,volume", [f"{d} {clock(m)},{v}" for (d, m), v in halves.items()]))
    check([p["minute"] for p in at_halves] == [60, 120, 180, 240, 300, 360], f"hours from the open: {[p['minute'] for p in at_halves]}")
    for p in at_halves:
        check(abs(p["linear_mape"] - simple_rules(hours, p["minute"], 30)[0]) < 0.01, f"hours from the open at {p['minute']}")
    for bar in (1, 5):
        rows = invent(60, bar, bar)
        before = [(d, m, v) for d, m, v in invent(60, bar, 9, 480) if m < 570]  # trading before the open is none of it
        found = points(write(folder / f"bars{bar}.csv", "datetime,volume", [f"{d} {clock(m)},{v}" for d, m, v in sorted(rows + before)]))
        check([p["minute"] for p in found] == [15, 30, 60, 90, 120, 195, 300], f"bars of {bar}")
        for p in found:
            check(p["days"] == 10 and abs(p["linear_mape"] - simple_rules(rows, p["minute"], bar)[0]) < 0.01, f"bars of {bar}")

    # A half day between full ones is left out; so is a day without its afternoon.
    rows = invent(60, 15, 4)
    gone = rows[55 * 26][0]
    short = [r for r in rows if r[0] != gone or r[1] < 780]
    check(points(write(folder / "short.csv", "date,bin_start,volume", [f"{d},{clock(m)},{v}" for d, m, v in short]))[0]["days"] == 9, "a short day")
    thanks = [(datetime.date(2019, 7, 3), m, 5000) for m in range(570, 780, 15)]  # 13:00 close
    rows = sorted(invent(150, 15, 5) + thanks)
    check(points(write(folder / "half.csv", "date,bin_start,volume", [f"{d},{clock(m)},{v}" for d, m, v in rows]))[0]["days"] == 100, "a half day")

    people_have(folder)
    at_crossings(folder)

    # What cannot be read is said in one line and ends with its exit code.
    bad = learn("--grade", "--json", write(folder / "bad.csv", "a,b", ["1,2"]), code=4)
    check("bad.csv:1:1" in bad.stderr and bad.stderr.count("\n") == 1, f"a bad header: {bad.stderr}")
    few = learn("--grade", write(folder / "few.csv", "date,bin_start,volume", body[:260]), code=4)
    check("more than 50" in few.stderr, f"too few days: {few.stderr}")


with tempfile.TemporaryDirectory() as where:
    main(pathlib.Path(where))
print(f"learn: {failures} wrong")
sys.exit(1 if failures else 0)
