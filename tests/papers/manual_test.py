#!/usr/bin/python3
"""The manual pages against what the program says of itself, both ways, and against two formatters of Debian.

Usage: manual_test.py BRIMWATCH MAN_DIR SOURCE_DIR
  commands and options: `--help` of every command <-> brimwatch(1)
  keys of the configuration: config/brimwatch.schema.json <-> brimwatch.toml(5), brimwatch-watches(5)
  members of a notice: a replay of the demo's half-day <-> brimwatch-notice(5)
  columns of a tape: a tape that has them all is read without a remark <-> brimwatch-tape(5)
  groff (man --warnings) and mandoc -T lint have nothing to say
"""
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
import unittest

BRIMWATCH, MAN, SOURCE = sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
PAGES = ["brimwatch.1", "brimwatch.8", "brimwatch.toml.5", "brimwatch-watches.5", "brimwatch-tape.5", "brimwatch-notice.5"]
ENV = {**os.environ, "LC_ALL": "C.UTF-8", "MANWIDTH": "200", "MANROFFOPT": "", "MAN_KEEP_FORMATTING": ""}


def run(*args, **more):
    return subprocess.run(args, capture_output=True, text=True, env=ENV, **more)


def help_of(command):
    """(options, commands below) that the help of a command names."""
    done = run(BRIMWATCH, *command, "--help")
    assert done.returncode == 0, done.stderr
    options = set(re.findall(r"^  (?:-\w,)?(--[a-z-]+)", done.stdout, re.M)) | set(re.findall(r"^  (-\w)\b", done.stdout, re.M))
    below = done.stdout.partition("Subcommands:\n")[2]
    return options, re.findall(r"^  ([a-z-]+)  ", below, re.M)


def all_commands(command=()):
    options, below = help_of(command)
    yield command, options, below
    for name in below:
        yield from all_commands((*command, name))


def source_of(page):
    return (MAN / page).read_text().replace(r"\-", "-")


def terms(text):
    """Bold or italic words of the lines after .TP: what a page explains."""
    for line in re.findall(r"^\.TP\n(.*)$", text, re.M):
        if line.startswith((".BR ", ".B ")):
            for word in re.findall(r"[\w-]+", line.split(" ", 1)[1]):
                yield word
        else:
            yield from re.findall(r"\\fB([^\\]+)\\fR", line)


class Commands(unittest.TestCase):
    def test_page_and_help_name_the_same_options(self):
        page = source_of("brimwatch.1")
        commands = page[page.index(".SH COMMANDS"):page.index(".SH EXIT STATUS")]
        sections = {}
        for part in re.split(r"^\.SS ", commands, flags=re.M)[1:]:
            name = re.match(r"\\fBbrimwatch ([a-z \\-]+)\\fR", part)[1].replace("\\-", "-")
            sections[name] = {term for term in terms(part) if term.startswith("-")}
        wanted = {}
        for command, options, below in all_commands():
            own = options - {"--help", "-h"}
            if command and (own or not below):
                wanted[" ".join(command)] = own
        self.assertGreater(len(wanted), 10)
        self.assertEqual(sections, wanted)


    def test_help_fits_eighty_columns(self):
        for command, _, _ in all_commands():
            for line in run(BRIMWATCH, *command, "--help").stdout.splitlines():
                one_word = " " not in line.strip()  # "KIND:{crossed,...}" cannot be broken at a blank
                self.assertTrue(len(line) <= 80 or one_word, line)

    def test_a_synopsis_says_what_help_says(self):
        """Whole words, and dots only where more than one is taken."""
        page = source_of("brimwatch.1")
        for needed in (r"\fBbrimwatch pace\fR \fB--so-far\fR \fISHARES\fR \fB--at\fR \fIHH:MM\fR [", r"\fB--from\fR \fIhh:mm\fR"):
            self.assertIn(needed, page)
        for command, dots in (("serve", False), ("replay", True), ("learn", True), ("channels try", False), ("check", True)):
            synopsis = re.search(rf"^\.SS \\fBbrimwatch {command}\\fR (.*)$", page, re.M)[1]
            usage = run(BRIMWATCH, *command.split(), "--help").stdout.split("Usage:", 1)[1].split("\n\n", 1)[0]
            with self.subTest(command=command):
                self.assertEqual(re.sub(r" ?\[.fIoption.fR \.\.\.\]", "", synopsis).rstrip("]").endswith(" ..."), dots)
                self.assertEqual("..." in usage, dots)


class Keys(unittest.TestCase):
    def names(self, schema):
        found = set()
        for key, value in schema.get("properties", {}).items():
            found.add(key)
            found |= self.names(value)
        for inner in ("additionalProperties", "items"):
            if isinstance(schema.get(inner), dict):
                found |= self.names(schema[inner])
        for inner in ("anyOf", "oneOf"):
            for one in schema.get(inner, []):
                found |= self.names(one)
        return found

    def test_pages_and_schema_name_the_same_keys(self):
        schema = json.loads((SOURCE / "config/brimwatch.schema.json").read_text())
        of_a_secret = {"env", "file", "credential"}
        for section, keys in schema["definitions"].items():
            page = source_of("brimwatch-watches.5" if section == "watch" else "brimwatch.toml.5")
            if section != "watch":
                page = re.search(r"^\.SS \[+" + section + r"\]+\n(.*?)(?=^\.S[SH] )", page, re.M | re.S)[1]
            with self.subTest(section=section):
                wanted = self.names(keys)
                self.assertEqual(set(terms(page)) | (of_a_secret & wanted), wanted | (of_a_secret & set(terms(page))))
        top = set(schema["properties"]) - set(schema["definitions"])
        page = source_of("brimwatch.toml.5")
        part = re.search(r"^\.SS the top of the file\n(.*?)(?=^\.S[SH] )", page, re.M | re.S)[1]
        self.assertEqual(set(terms(part)), top)


    def defaults_shown(self, page, section):
        keys = re.search(r"^\.SS \[+" + section + r"\]+\n(.*?)(?=^\.S[SH] )", source_of(page), re.M | re.S)[1]
        found = (re.findall(r"^\.TP\n\.B (\w+)\n.*?Default: (.*?)\.(?: Kinds: .*)?$", keys, re.M) or
                 re.findall(r"^\.TP\n\\fB(\w+)\\fR\n.*?Default: (.*?)\.(?: Kinds: .*)?$", keys, re.M))
        return [(key, value.replace(r"\(dq", '"').replace(r"\e", "\\")) for key, value in found]

    def test_rules_show_their_defaults(self):
        """As the sample has them, which a test of the samples holds against the program's own; compared as TOML values."""
        sample = (SOURCE / "config/samples/brimwatch.toml").read_text()
        for section, least in (("rules", 19), ("prepare", 20)):
            shown = dict(self.defaults_shown("brimwatch.toml.5", section))
            self.assertGreaterEqual(len(shown), least, section)
            part = re.search(rf"(?ms)^#?\[{section}\]\n(.*?)(?=^#?\[|\Z)", sample)[1]
            in_sample = tomllib.loads("".join(re.findall(r"(?m)^#?(\w+ = .*\n)", part)))
            for key, value in shown.items():
                self.assertEqual(tomllib.loads(f"x = {value}")["x"], in_sample[key], f"[{section}] {key}")

    def test_page_and_schema_state_the_same_defaults(self):
        """Python's tomllib reads the page's, json the schema's; each fits its own key's schema, by python3-jsonschema."""
        import jsonschema
        schema = json.loads((SOURCE / "config/brimwatch.schema.json").read_text())
        stated = 0
        for section in set(schema["definitions"]) - {"watch"}:
            keys = schema["definitions"][section]["properties"]
            of_schema = {key: one["default"] for key, one in keys.items() if "default" in one}
            of_page = {key: tomllib.loads(f"x = {value}")["x"] for key, value in self.defaults_shown("brimwatch.toml.5", section)
                       if key in of_schema and value != "none"}  # a table's own key of that name may have none
            self.assertEqual(of_page, of_schema, section)
            stated += len(of_schema)
            for key, value in of_schema.items():
                self.assertEqual([], list(jsonschema.Draft4Validator(keys[key]).iter_errors(value)), f"[{section}] {key}")
        self.assertGreater(stated, 130)


class Formats(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.place = pathlib.Path(cls.folder.name)
        subprocess.run([SOURCE / "scripts/demo-tape", cls.place], check=True)
        shutil.copy(SOURCE / "config/samples/demo/brimwatch.toml", cls.place)

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def test_members_of_a_notice(self):
        done = run(BRIMWATCH, "replay", self.place / "half-day.csv", "--config", self.place / "brimwatch.toml", "--json")
        notices = [json.loads(line) for line in done.stdout.splitlines()]
        self.assertTrue(notices, done.stderr)
        seen = set().union(*notices)
        explained = set(terms(source_of("brimwatch-notice.5")))
        self.assertEqual(seen - explained, set())
        # feed_ratio is there only for a feed that carries a part of the market, muted and bought only where somebody has
        # answered; the unit test of the JSON has them.
        self.assertEqual(explained - seen, {"feed_ratio", "muted", "bought"})
        page = source_of("brimwatch-notice.5")
        for kind in {notice["kind"] for notice in notices}:
            self.assertIn(kind, page)

    def test_columns_of_a_tape(self):
        page = source_of("brimwatch-tape.5")
        part = page[page.index(".SS Columns that every"):page.index(".SS Recordings")]
        columns = list(dict.fromkeys(terms(part)))
        enum = (SOURCE / "daemon/tape/columns.h").read_text()
        enum = enum[enum.index("enum class Column"):enum.index("};")]
        self.assertEqual(columns, re.findall(r"^  (\w+),", enum, re.M))
        tape = self.place / "all.csv"
        values = {"time": "2026-10-14T10:00:00-04:00", "symbol": "KLVN", "price": "10", "size": "1"}
        tape.write_text(",".join(columns) + "\n" + ",".join(values.get(column, "") for column in columns) + "\n")
        done = run(BRIMWATCH, "replay", tape, "--config", self.place / "brimwatch.toml")
        self.assertEqual(done.returncode, 0)
        self.assertRegex(done.stderr, r"\Abrimwatch: the tape ends at 10:00:00, before the close [^\n]*\n\Z")
        self.assertIn("1 tick", done.stdout)

    def test_the_page_on_tapes_shows_a_tape(self):
        text = re.search(r"^\.SH EXAMPLES\n\.nf\n\.RS\n(.*?)^\.RE", source_of("brimwatch-tape.5"), re.M | re.S)[1]
        tape = self.place / "shown.csv"
        tape.write_text(text)
        done = run(BRIMWATCH, "replay", tape, "--config", self.place / "brimwatch.toml")
        self.assertEqual(done.returncode, 0)
        self.assertRegex(done.stderr, r"\Abrimwatch: the tape ends at 10:42:07, before the close [^\n]*\n\Z")
        self.assertIn("2 ticks", done.stdout)

    def test_the_page_on_watches_shows_watches(self):
        toml, csv = re.findall(r"^\.nf\n\.RS\n(.*?)^\.RE", source_of("brimwatch-watches.5"), re.M | re.S)
        (self.place / "a.toml").write_text(toml)
        (self.place / "b.csv").write_text(csv)
        found = []
        for name in ("a.toml", "b.csv"):
            (self.place / "c.toml").write_text(f'watch_lists = ["{name}"]\n[[channel]]\nkind = "console"\n[feed]\nkind = "pipe"\ncommand = ["quotes"]\n')
            done = run(BRIMWATCH, "check", "--json", "--config", self.place / "c.toml")
            self.assertEqual((done.returncode, done.stderr), (0, ""))
            found.append({key: value for key, value in json.loads(done.stdout).items() if key not in ("file", "line")})
        self.assertEqual(found[0], found[1])


class Formatters(unittest.TestCase):
    def test_groff_has_no_warning(self):
        if not shutil.which("man"):
            self.skipTest("man is not installed")
        for page in PAGES:
            with self.subTest(page=page):
                done = run("man", "--warnings", "-E", "UTF-8", "-l", "-Tutf8", "-Z", MAN / page)
                self.assertEqual((done.returncode, done.stderr), (0, ""))
                self.assertGreater(len(done.stdout), 1000)

    def test_mandoc_finds_nothing(self):
        if not shutil.which("mandoc"):
            self.skipTest("mandoc is not installed")
        for page in PAGES:
            with self.subTest(page=page):
                done = run("mandoc", "-T", "lint", "-W", "warning", MAN / page)
                self.assertEqual(done.stdout + done.stderr, "")

    def test_every_page_has_a_name_that_apropos_finds(self):
        for page in PAGES:
            name = page.rsplit(".", 1)[0]
            self.assertRegex(source_of(page), rf"(?m)^\.SH NAME\n{re.escape(name)} - \S")


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=1)
