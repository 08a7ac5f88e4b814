"""Holds the loader against independent readers of the same formats: tomllib and decimal (numbers), csv (lists), and
jsonschema with the schema that editors use (samples, and what both must refuse).

Usage: against_python.py PROGRAM CONFIG_FOLDER. Exit 77: a module is missing (python3-jsonschema of Debian).
"""
import csv
import datetime
import decimal
import json
import pathlib
import random
import re
import subprocess
import sys
import tempfile
import tomllib

try:
    import jsonschema
except ImportError:
    print("python3-jsonschema is not installed")
    sys.exit(77)

PROGRAM, CONFIG = sys.argv[1], pathlib.Path(sys.argv[2])
SCHEMA = json.loads((CONFIG / "brimwatch.schema.json").read_text())
failures = []


def expect(good, what):
    if not good:
        failures.append(what)


def check(path, *more):
    return subprocess.run([PROGRAM, "check", "--config", str(path), *more], capture_output=True, text=True)


def watches(path):
    """What the program would watch; every number as its own text."""
    done = check(path, "--json")
    expect(done.returncode == 0, f"check failed: {done.stderr[:2000]}")
    return [json.loads(line, parse_float=decimal.Decimal, parse_int=decimal.Decimal) for line in done.stdout.splitlines()]


def random_number(rng):
    """A price in some notation that TOML allows."""
    whole = rng.choice([str(rng.randint(0, 9)), str(rng.randint(10, 99999)), f"{rng.randint(1, 999)}_{rng.randint(0, 999):03}"])
    fraction = "".join(rng.choice("0123456789") for _ in range(rng.randint(1, 6)))
    form = rng.randint(0, 4)
    if form == 0:
        return whole
    if form == 1:
        return f"{whole}.{fraction}"
    if form == 2:
        return f"+{whole}.{fraction}000"
    if form == 3:
        return f"{whole}.{fraction}e{rng.choice(['', '+'])}{rng.randint(0, 2)}"
    return f"{whole.lstrip('0') or '7'}{fraction}00e-2"


def exact_numbers(folder, rng):
    texts = []
    while len(texts) < 3000:
        text = random_number(rng)
        value = decimal.Decimal(text.replace("_", ""))
        if decimal.Decimal("0.05") <= value <= 10_000_000 and value == round(value, 6):
            texts.append(text)
    body = "".join(f'[[watch]]\nsymbol = "S{i}"\npivot = {text}\ntick_size = 0.000001\n' for i, text in enumerate(texts))
    path = folder / "numbers.toml"
    path.write_text(body)
    wanted = tomllib.loads(body, parse_float=decimal.Decimal)["watch"]
    got = watches(path)
    expect(len(got) == len(wanted), "not all numbers were read")
    for ours, theirs, text in zip(got, wanted, texts):
        expect(ours["pivot"] == theirs["pivot"], f"{text}: {ours['pivot']}")


def random_note(rng):
    return "".join(rng.choice('ab ,"#;äß€\U0001F4C8\'') for _ in range(rng.randint(0, 20))).strip()


def lists_in_csv(folder, rng):
    for name, style in (("unix", {"lineterminator": "\n"}), ("plain", {}), ("all", {"quoting": csv.QUOTE_ALL})):
        rows = [[f"S{i}", f"{rng.randint(100, 99999) / 100:.2f}", random_note(rng)] for i in range(500)]
        with open(folder / f"{name}.csv", "w", newline="", encoding="utf-8") as out:
            csv.writer(out, **style).writerows([["symbol", "pivot", "note"], *rows])
        with open(folder / f"{name}.csv", newline="", encoding="utf-8") as back:
            wanted = list(csv.DictReader(back))
        main = folder / f"{name}.toml"
        main.write_text(f'watch_lists = ["{name}.csv"]\n')
        for ours, theirs in zip(watches(main), wanted, strict=True):
            expect(ours["symbol"] == theirs["symbol"], f"{name}: {ours} {theirs}")
            expect(ours["pivot"] == decimal.Decimal(theirs["pivot"]), f"{name}: {ours} {theirs}")
            expect((ours["note"] or "") == theirs["note"], f"{name}: {ours} {theirs}")


def as_json(value):
    """TOML's dates and times as an editor hands them to a schema."""
    if isinstance(value, dict):
        return {key: as_json(one) for key, one in value.items()}
    if isinstance(value, list):
        return [as_json(one) for one in value]
    if isinstance(value, (datetime.date, datetime.time, datetime.datetime)):
        return value.isoformat()
    return value


def schema_errors(text):
    validator = jsonschema.Draft4Validator(SCHEMA)
    return [f"{'/'.join(map(str, error.path))}: {error.message[:200]}" for error in validator.iter_errors(as_json(tomllib.loads(text)))]


def in_force(text):
    return re.sub(r"^#(?=[a-z\[])", "", text, flags=re.MULTILINE)


def samples_fit_the_schema():
    jsonschema.Draft4Validator.check_schema(SCHEMA)
    for path in sorted((CONFIG / "samples").glob("*.toml")):
        text = path.read_text()
        expect(schema_errors(text) == [], f"{path.name}: {schema_errors(text)}")
        expect(schema_errors(in_force(text)) == [], f"{path.name}, all in force: {schema_errors(in_force(text))}")


BOTH_REFUSE = [
    "journl = 'x'",
    "rules = 3",
    "[rules]\nrange = 0",
    "[rules]\nrange = 101",
    "[rules]\nper_day = 2.5",
    "[rules]\nodds_heavy = 1.5",
    "[rules]\nrange = true",
    "[market]\ntrend = 'upp'",
    "[session]\ncalendar = 'nyse'",
    "[page]\nport = 70000",
    "[log]\nlevel = 'loud'",
    "[life]\nmorning = '25:00'",
    "[feed]\nname = 'x'",
    "[feed]\nkind = 'ftp'",
    "[feed]\nkind = 'pipe'\nfields = { prise = '/p' }",
    "[feed]\nkind = 'pipe'\nfields = { price = 'p' }",
    "[feed]\nkind = 'pipe'\nrules = [{ at = '/T', equals = 1, kind = 'trade' }]",
    "[[channel]]\nkind = 'email'\nwrite_to = 'm'\npassword = 'x'",
    "[[channel]]\nkind = 'email'\nwrite_to = 'm'\npassword = { env = 'a', file = 'b' }",
    "[[channel]]\nkind = 'desktop'\nkinds = ['crosed']",
    "[[watch]]\npivot = 1",
    "[[watch]]\nsymbol = 'A'",
    "[[watch]]\nsymbol = 'A'\npivot = 1\npeak = 1",
    "[[watch]]\nsymbol = 'A'\npivot = 0",
    "[[watch]]\nsymbol = 'A'\npivot = -1",
    "[[watch]]\nsymbol = 'A'\npivot = '1,5'",
    "[[watch]]\nsymbol = 'A'\npivot = 1\nnormal_volume = '1.3X'",
    "[[watch]]\nsymbol = 'A'\npivot = 1\nfrom = 'today'",
    "[[watch]]\nsymbol = 'A'\npivot = 1\ntape = 'D'",
    "[[watch]]\nsymbol = 'A'\npivot = 1\nlisting = 'q'",
]


def both_refuse(folder):
    for text in BOTH_REFUSE:
        path = folder / "bad.toml"
        path.write_text(text + "\n")
        done = check(path)
        expect(done.returncode == 3 and f"{path}:" in done.stderr, f"not refused by the program: {text!r}: {done.stderr}")
        expect(schema_errors(text) != [], f"not refused by the schema: {text!r}")


def main():
    rng = random.Random(20261125)
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        exact_numbers(folder, rng)
        lists_in_csv(folder, rng)
        samples_fit_the_schema()
        both_refuse(folder)
    for line in failures[:20]:
        print(line)
    print(f"{len(failures)} failures")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
