#!/usr/bin/python3
"""Replays the invented days of the demo and compares what is said with the golden files, byte for byte.

Usage: golden_test.py BRIMWATCH SOURCE_DIR [--update]. Exit code 0 when all is the same.
"""
import difflib
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

# The tester's own learned curves are not to be found.
NO_CURVES = tempfile.TemporaryDirectory()
os.environ["XDG_STATE_HOME"] = NO_CURVES.name

program, source = sys.argv[1], pathlib.Path(sys.argv[2])
golden = source / "tests/golden"


def replay(where, tape, *more):
    run = subprocess.run([program, "replay", where / tape, "--config", where / "brimwatch.toml", *more], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
    return run.stdout


def main():
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        where = pathlib.Path(folder)
        subprocess.run([source / "scripts/demo-tape", where], check=True, stdout=subprocess.DEVNULL)
        shutil.copy(source / "config/samples/demo/brimwatch.toml", where)
        for tape in ("day.csv", "half-day.csv"):
            found = replay(where, tape)
            file = golden / (tape + ".txt")
            if "--update" in sys.argv:
                file.write_text(found)
            wanted = file.read_text()
            if found != wanted:
                wrong += 1
                sys.stdout.writelines(difflib.unified_diff(wanted.splitlines(True), found.splitlines(True), "golden", "found"))
            # Two replays are byte-identical, also as JSON, packed or through a journal.
            first = replay(where, tape, "--json")
            subprocess.run(["zstd", "-q", where / tape], check=True)
            again = replay(where, tape + ".zst", "--json", "--journal", where / (tape + ".db"))
            if first != again:
                wrong += 1
                print(f"{tape}: the second replay differs from the first")
            once_more = replay(where, tape, "--json", "--journal", where / (tape + ".db"))
            kept = subprocess.run([program, "journal", "--journal", where / (tape + ".db"), "--json"], capture_output=True, text=True).stdout
            if kept != first or once_more != first:
                wrong += 1
                print(f"{tape}: the journal of two replays does not hold what one replay says")
    said = (golden / "day.csv.txt").read_text().splitlines()
    readme = (source / "README.md").read_text().split("What appears", 1)[1].split("\n## ", 1)[0]
    for line in readme.splitlines():
        if line.startswith("    ") and line[4:] not in said:
            wrong += 1
            print(f"README.md shows a line that the demo does not say: {line}")
    print(f"golden: {wrong} differences")
    return 1 if wrong else 0


sys.exit(main())
