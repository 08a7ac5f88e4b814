#!/usr/bin/python3
"""What commands answer to mistakes in files and on the command line, with their exit codes.

Usage: answers_test.py BRIMWATCH
"""
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

BRIMWATCH = sys.argv[1]
TAPE = "time,symbol,price,size,conditions\n"
WATCH = '[[watch]]\nsymbol = "KLVN"\npivot = 20.05\nnormal_volume = "1M"\n'


def trades(symbols, header=TAPE, more=""):
    return header + "".join(f"2026-10-14T10:{n // 60:02}:{n % 60:02}-04:00,{symbols[n % len(symbols)]},20.01,100,@{more}\n"
                            for n in range(300))


class Answers(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.place = pathlib.Path(self.folder.name)
        self.env = {**os.environ, "HOME": self.folder.name, "XDG_CONFIG_HOME": self.folder.name + "/c", "XDG_DATA_HOME": self.folder.name + "/d",
                    "XDG_STATE_HOME": self.folder.name + "/s", "LC_ALL": "C.UTF-8"}

    def tearDown(self):
        self.folder.cleanup()

    def write(self, name, text, mode=None):
        path = self.place / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text)
        if mode is not None:
            path.chmod(mode)
        return path

    def ask(self, *args, code=0):
        done = subprocess.run([BRIMWATCH, *args], capture_output=True, text=True, env=self.env, cwd=self.place, stdin=subprocess.DEVNULL)
        self.assertEqual(done.returncode, code, done.stdout + done.stderr)
        return done


class Typos(Answers):
    def said(self, *args):
        return self.ask(*args, code=2).stderr

    def test_a_mistyped_command_is_told_which_was_meant(self):
        self.assertEqual(self.said("chek"), 'brimwatch: there is no command "chek"; did you mean "check"?\n')
        self.assertEqual(self.said("channels", "lst"), 'brimwatch channels: there is no command "lst"; did you mean "list"?\n')
        self.assertEqual(self.said("journal", "bakup"), 'brimwatch journal: there is no command "bakup"; did you mean "backup"?\n')
        self.assertEqual(self.said("xyzzyplugh"), 'brimwatch: there is no command "xyzzyplugh"; brimwatch --help lists them\n')

    def test_a_mistyped_option_too(self):
        self.assertEqual(self.said("now", "--folow"), 'brimwatch now: there is no option "--folow"; did you mean "--follow"?\n')
        self.assertEqual(self.said("check", "--confg=b.toml"), 'brimwatch check: there is no option "--confg"; did you mean "--config"?\n')

    def test_names_are_one_a_line_and_nothing_else_is_said(self):
        (self.place / "c/brimwatch").mkdir(parents=True)
        (self.place / "c/brimwatch/brimwatch.toml").write_text(WATCH + WATCH.replace("20.05", "21"))
        done = self.ask("check", "--names")
        self.assertEqual((done.stdout, done.stderr), ("KLVN\n", ""))


class Check(Answers):
    def check(self, text, *more, code=0):
        self.write("b.toml", text)
        return self.ask("check", "--config", "b.toml", *more, code=code)

    def test_a_bad_row_of_daily_bars_is_told_though_the_list_gives_the_volume(self):
        self.write("daily/KLVN.csv", "date,volume\n2026-11-23,100\n2026-11-24,many\n")
        said = self.check('[history]\ndaily = "daily"\n' + WATCH).stderr
        self.assertIn("/daily/KLVN.csv:3:12: volume: found \"many\"", said)
        self.assertEqual(said.count("the file was not used (warning)"), 1)

    def test_files_and_secrets_that_run_would_miss_have_their_places(self):
        self.write("open.key", "s3cret", 0o644)
        self.write("splits.csv", "date,symbol,ratio\nsoon,KLVN,2\n")
        said = self.check('[history]\ndaily = "gone"\nearnings = "gone.csv"\nsplits = "splits.csv"\n' + WATCH +
                          '[[channel]]\nkind = "webhook"\nurl = "https://h.example.org"\nsecret = { file = "open.key" }\n').stderr
        for line in ("b.toml:2:9: [history]: daily: there is no directory", "b.toml:3:12: [history]: earnings: ", "splits.csv:2:1: ",
                     "b.toml:12:19: channel \"webhook\": secret: ", "b.toml: there is no [[feed]]: brimwatch run needs one"):
            self.assertIn(line, said)
        self.assertNotIn("s3cret", said)

    def test_a_mistyped_time_zone_is_refused(self):
        self.write("zone.toml", '[[channel]]\nkind = "console"\nquiet = { from = "21:00", to = "22:00", zone = "Europe/Berlon" }\n')
        for command in ("check", "run", "replay tape.csv"):
            said = self.ask(*command.split(), "--config", "zone.toml", code=3).stderr
            self.assertIn('zone.toml:3:48: channel "console": zone: found "Europe/Berlon", expected the name of a time zone; '
                          'nearest known name "Europe/Berlin"', said)

    def test_a_symbol_that_nobody_watches(self):
        done = self.check(WATCH, "KLVM", code=2)
        self.assertIn("no watch KLVM; nearest is KLVN", done.stderr)
        self.assertEqual(done.stdout, "")
        done = self.check(WATCH, "KLVN", "XXXXXXXX", code=2)
        self.assertIn("no watch XXXXXXXX\n", done.stderr)
        self.assertIn("KLVN", done.stdout)

    def test_watches_that_are_over_or_to_come_are_marked_and_not_counted(self):
        text = WATCH + WATCH.replace("KLVN", "ORRI") + "until = 2001-12-31\n" + WATCH.replace("KLVN", "TEFR") + "from = 2901-12-31\n"
        out = self.check(text).stdout
        self.assertRegex(out, r"ORRI .* ended 2001-12-31\n")
        self.assertRegex(out, r"TEFR .* from 2901-12-31\n")
        self.assertRegex(out, r"3 watches on 3 symbols, 1 in force on \d{4}-\d\d-\d\d")


class Replay(Answers):
    def setUp(self):
        super().setUp()
        self.write("b.toml", WATCH)

    def replay(self, *args, code=0):
        return self.ask("replay", *args, "--config", "b.toml", code=code)

    def test_a_tape_of_symbols_that_nobody_watches(self):
        self.write("tape.csv", trades(["ORRI", "TEFR"]))
        self.assertIn("none of the tape's 2 symbols is watched (ORRI, TEFR)\n", self.replay("tape.csv").stderr)
        self.write("other.csv", trades(["ORRI", "KLVN"]))
        self.assertNotIn("is watched", self.replay("other.csv").stderr)
        self.assertIn("none of the tape's 2 symbols is watched (ORRI, TEFR)\n",
                      self.replay("tape.csv", "tape.csv", "--jobs", "2").stderr)
        self.assertNotIn("is watched", self.replay("tape.csv", "other.csv", "--jobs", "2").stderr)

    def test_an_empty_span(self):
        self.write("tape.csv", trades(["KLVN"]))
        said = self.replay("tape.csv", "--from", "10:30", "--to", "10:00", code=2).stderr
        self.assertIn('--to: found "10:00", expected a time after --from, "10:30"', said)

    def test_a_tape_without_a_header(self):
        self.write("tape.csv", trades(["KLVN"], header="", more=",Q,1"))
        said = self.replay("tape.csv", code=4).stderr
        self.assertRegex(said, r"tape\.csv:1:\d+: .*found .*, expected ")
        self.assertIn("tape.csv:1:1: the first line looks like data; a tape begins with a header row", said)
        self.write("tape.csv", trades(["KLVN"], header=""))
        self.assertIn("a tape begins with a header row", self.replay("tape.csv", code=4).stderr)


class ExitCodes(Answers):
    def test_an_input_that_is_not_there_is_a_bad_input(self):
        self.write("b.toml", WATCH)
        for command in ("learn nope.csv", "replay nope.csv --config b.toml", "review --journal nope.db", "journal --journal nope.db"):
            with self.subTest(command=command):
                self.assertIn("nope.", self.ask(*command.split(), code=4).stderr)

    def test_an_empty_span_of_days(self):
        for command in ("journal", "review"):
            said = self.ask(command, "--journal", "nope.db", "--from", "2026-10-15", "--to", "2026-10-13", code=2).stderr
            self.assertIn("--from is after --to", said)

    def test_how_many_is_a_number_from_one_on(self):
        for text in ("-1", "0", "x", "1" * 30):
            said = self.ask("journal", "--last", text, code=2).stderr
            self.assertIn(f'--last: found "{text}", expected a number from 1 to 1000000000', said)
            self.assertLess(len(said), 200)

    def test_an_unknown_notice(self):
        self.write("b.toml", WATCH)
        self.write("tape.csv", trades(["KLVN"]))
        self.ask("replay", "tape.csv", "--config", "b.toml", "--journal", "j.db")
        said = self.ask("journal", "ack", "foo", "--journal", "j.db", code=1).stderr
        self.assertIn('no notice "foo"; `brimwatch journal --deliveries` lists their ids', said)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=1)
