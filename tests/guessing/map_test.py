#!/usr/bin/python3
"""brimwatch feeds map on samples of invented sources (shapes.py says after what): what it proposes, that it is sure of nothing wrong,
that the configuration takes it, and that what the messages cannot tell is asked for.

Usage: map_test.py BRIMWATCH.
"""
import base64
import gzip
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import tomllib
import unittest

import msgpack

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from judge import judge, proposal, without_names, written  # noqa: E402
import fresh_shapes  # noqa: E402,F401
import later_shapes  # noqa: E402,F401
import outsider_shapes  # noqa: E402,F401
import more_shapes  # noqa: E402,F401
import sibling_shapes  # noqa: E402,F401
import class_shapes  # noqa: E402,F401
import stranger_shapes  # noqa: E402,F401
from market import Market, iso  # noqa: E402
from shapes import SHAPES  # noqa: E402

PROGRAM = sys.argv.pop(1)
SAMPLES = pathlib.Path(__file__).resolve().parents[2] / "config/samples/feeds"
NEED_AN_EDIT = set()  # names of shapes: what is proposed for them is wrong, and not called sure
WATCH = '\n[[watch]]\nsymbol = "KLVN"\npivot = 48.35\nnormal_volume = 1_300_000\n'


def trades(count=40, seed=3):
    return [{"s": e["s"], "p": e["p"], "q": e["q"], "t": e["ns"] // 10**6} for e in Market(seed).mixed(count, 0)]


class Map(unittest.TestCase):
    maxDiff = None

    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.where = pathlib.Path(folder.name)

    def run_map(self, content, *more):
        sample = self.where / "sample"
        sample.write_bytes(content if isinstance(content, bytes) else written(content))
        return subprocess.run([PROGRAM, "feeds", "map", str(sample), *more], capture_output=True, text=True)

    def mapped(self, content):
        run = self.run_map(content, "--json")
        self.assertEqual(run.returncode, 0, run.stderr + run.stdout)
        return json.loads(run.stdout)

    def test_shapes_come_out_right_and_nothing_wrong_is_sure(self):
        for name, make in SHAPES.items():
            with self.subTest(name):
                frames, truth = make(7)
                wrong, sure = judge(proposal(PROGRAM, frames)[0], truth)
                self.assertEqual(sure, [])
                if name not in NEED_AN_EDIT:
                    self.assertEqual(wrong, [])

    def test_without_names_nothing_wrong_is_sure(self):
        """Two of three come out right by their values alone; what does not is never called sure."""
        right = count = 0
        for name, make in list(SHAPES.items())[::3]:
            with self.subTest(name):
                nameless = without_names(*make(7), name)
                if nameless is None:
                    continue
                wrong, sure = judge(proposal(PROGRAM, nameless[0])[0], nameless[1])
                self.assertEqual(sure, [])
                count += 1
                right += not wrong
        self.assertGreaterEqual(right * 2, count, f"{right} of {count}")

    def test_the_form_of_the_json(self):
        got = self.mapped(trades())
        self.assertEqual(got["fields"], {"symbol": "/s", "price": "/p", "size": "/q", "time": "/t"})
        self.assertEqual(got["time_format"], "ms")
        self.assertEqual(got["kind_words"], {})
        self.assertEqual(got["default_kind"], "trade")
        self.assertEqual(got["trial"]["understood"], 1)
        self.assertTrue(all(g["why"] and g["sure"] in ("sure", "likely") for g in got["guesses"]))

    def test_what_is_written_is_what_the_json_says_and_check_takes_it(self):
        for name in ("flat_short", "with_status_and_cancels", "ho_places_apart", "columns", "csv_lines", "topic_with_symbol"):
            with self.subTest(name):
                frames, _ = SHAPES[name](5)
                config = self.where / f"{name}.toml"
                config.write_text(WATCH)
                run = self.run_map(frames, "--json", "--write", str(config), "--name", "fresh")
                self.assertEqual(run.returncode, 0, run.stderr)
                got = json.loads(run.stdout)
                self.assertTrue(config.read_text().startswith(WATCH), "what was there has gone")
                feed = tomllib.loads(config.read_text())["feed"][0]
                self.assertEqual(feed["name"], "fresh")
                self.assertEqual(feed["fields"], {**got["fields"], **({"time_format": got["time_format"]} if got["time_format"] else {})})
                self.assertEqual(feed.get("kind_words", {}), got["kind_words"])
                check = subprocess.run([PROGRAM, "check", "--config", str(config)], capture_output=True, text=True)
                self.assertEqual(check.returncode, 0, check.stderr)
                twice = self.run_map(frames, "--write", str(config), "--name", "fresh")
                self.assertNotEqual(twice.returncode, 0, "a second feed of the same name")

    def test_a_person_reads_it_at_80_columns(self):
        frames, _ = SHAPES["flat_short"](5)
        run = self.run_map(frames)
        report = run.stdout.split("# Mapped by")[0]
        self.assertEqual([line for line in report.splitlines() if len(line) > 80], [])
        self.assertRegex(report, r"price +/p +sure: named so; within [\d.]+ % of each other")
        self.assertIn("100 % understood", re.sub(r"\s+", " ", report))

    def test_what_cannot_be_told_is_asked_for_by_name(self):
        without_time = [{k: v for k, v in t.items() if k != "t"} for t in trades()]
        asked = "\n".join(self.mapped(without_time)["asked"])
        self.assertIn("fields.time", asked)
        scaled = self.mapped([{**t, "p": round(t["p"] * 100)} for t in trades()])
        self.assertIn("price_decimals", "\n".join(scaled["asked"]))
        self.assertEqual(scaled["price_decimals"], 2)
        local = [{"s": e["s"], "p": e["p"], "q": e["q"], "t": iso(e["ns"], 3, "")} for e in Market(3, start_minutes=1).mixed(40, 0)]
        self.assertIn("time_zone", "\n".join(self.mapped(local)["asked"]))
        numbers = [{**t, "c": [37]} for t in trades()]
        self.assertIn('"37"', "\n".join(self.mapped(numbers)["asked"]))

    def test_frames_that_are_packed(self):
        lines = [json.dumps(t).encode() for t in trades()]
        got = self.mapped(b"".join(base64.b64encode(gzip.compress(line)) + b"\n" for line in lines))
        self.assertEqual((got["packing"], got["trial"]["ticks"]), ("gzip", 40))

    def test_messagepack_written_by_another(self):
        got = self.mapped(b"".join(msgpack.packb(t) for t in trades()))
        self.assertEqual((got["encoding"], got["trial"]["ticks"], got["fields"]["price"]), ("msgpack", 40, "/p"))

    def test_the_worked_samples(self):
        for name, ticks in (("rows.jsonl", 4), ("packed.jsonl", 2)):
            with self.subTest(name):
                got = json.loads(self.run_map((SAMPLES / name).read_bytes(), "--json").stdout)
                self.assertEqual(got["trial"]["ticks"], ticks)

    def test_clocks_and_arrows_before_the_json(self):
        text = "".join(f"2026-10-14T10:00:00.{i:03d} < {json.dumps(t)}\n" for i, t in enumerate(trades()))
        got = self.mapped((text + '> {"subscribe":["KLVN"]}\n').encode())
        self.assertEqual(got["trial"]["ticks"], 40)

    def test_nonsense_is_refused_in_one_line(self):
        for content in (b"", b"\n\n", b"hello\nworld\n", b"[1,2,3]", b'{"a":', bytes(range(256)) * 20, b"{}\n" * 5, b"[]\n"):
            with self.subTest(content[:20]):
                run = self.run_map(content)
                self.assertIn(run.returncode, (1, 4), run.stdout)
                self.assertLessEqual(run.stderr.count("\n"), 1, run.stderr)
        missing = subprocess.run([PROGRAM, "feeds", "map", str(self.where / "none")], capture_output=True, text=True)
        self.assertEqual(missing.returncode, 4)

    def test_damaged_samples_never_crash(self):
        frames, _ = SHAPES["with_status_and_cancels"](5)
        whole = written(frames)
        for cut in range(1, len(whole), len(whole) // 8):
            damaged = whole[:cut] + bytes([cut % 256]) + whole[cut + 2:]
            run = self.run_map(damaged, "--json")
            self.assertIn(run.returncode, (0, 1, 4), run.stderr)


if __name__ == "__main__":
    unittest.main()
