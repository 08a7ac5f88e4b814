"""brimwatch history: filled from a real HTTP server, never losing a row, also when it is killed; checked; kept by the daemon
itself. The bars are invented; which days the exchange traded is the program's own calendar's business."""
import csv
import datetime
import gzip
import http.server
import json
import os
import pathlib
import random
import re
import signal
import subprocess
import sys
import tempfile
import threading
import unittest
import zipfile
import zoneinfo

import bar_source
import live_support

PROGRAM = sys.argv[1]
SYMBOLS = ["KLVN", "NIVO", "ORRJ"]


class History(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.where = pathlib.Path(self.folder.name)
        self.source = bar_source.BarSource()
        (self.where / "key").write_text(bar_source.KEY)
        (self.where / "key").chmod(0o600)
        self.watch(SYMBOLS)
        self.configure()

    def tearDown(self):
        self.source.close()
        self.folder.cleanup()

    def watch(self, symbols):
        (self.where / "list.toml").write_text(
            "".join(f'[[watch]]\nsymbol = "{symbol}"\npivot = 48.35   # by eye\nnormal_volume = "1.3M"\n' for symbol in symbols))

    def configure(self, path="/csv?symbol={symbol}&from={from}&to={to}", more="", source=""):
        (self.where / "b.toml").write_text(
            'watch_lists = ["list.toml"]\n[history]\ndaily = "bars"\n' + more + '[history.source]\n'
            f'url = "{self.source.address}{path}"\n' + 'headers = { Authorization = "Bearer {secret}" }\n'
            'secret = { file = "key" }\ninsecure_loopback = true\nper_minute = 60000\ndays = 200\n' + source)

    def rows_of(self, *arguments):
        """The objects that a command prints, one a line."""
        return [json.loads(line) for line in self.run_it(*arguments).splitlines() if line.startswith("{")]

    def rows_of_failing(self, *arguments):
        return [json.loads(line) for line in self.run_it(*arguments, ok=1).splitlines() if line.startswith("{")]

    def run_it(self, *arguments, ok=0):
        done = subprocess.run([PROGRAM, *map(str, arguments), "--config", self.where / "b.toml"], capture_output=True, text=True,
                              env={**os.environ, "XDG_STATE_HOME": str(self.where / "state")})
        self.assertEqual(done.returncode, ok, done.stdout + done.stderr)
        self.assertNotIn(bar_source.KEY, done.stdout + done.stderr)
        return re.sub(r"\n +", " ", done.stdout + done.stderr)  # long lines are broken at 80 columns

    def rows(self, symbol):
        with open(self.where / "bars" / f"{symbol}.csv") as file:
            return list(csv.DictReader(file))

    @staticmethod
    def exchange_today():
        return datetime.datetime.now(zoneinfo.ZoneInfo("America/New_York")).date()

    def close_today(self):
        """The last session is one before today, whatever the hour."""
        (self.where / "day.toml").write_text(f'mic = "XNYS"\nday = [{{ date = "{self.exchange_today()}", closed = true, why = "a test" }}]\n')
        with open(self.where / "b.toml", "a") as file:
            file.write('[session]\ncalendar = "XNYS"\ncalendar_files = ["day.toml"]\n')

    def rows_until_now(self, symbol):
        """Half a year's, up to yesterday: what a check finds fresh where today is closed."""
        yesterday = self.exchange_today() - datetime.timedelta(days=1)
        days = bar_source.sessions(yesterday - datetime.timedelta(days=180), yesterday)
        return [",".join(map(str, bar_source.bar(symbol, day))) for day in days]

    def days(self, symbol):
        return [row["date"] for row in self.rows(symbol)]

    # --- update

    def test_it_fills_files_from_a_source_that_packs_and_gives_the_newest_first(self):
        said = self.run_it("history", "update")
        for symbol in SYMBOLS:
            days = self.days(symbol)
            self.assertEqual(days, sorted(set(days)))
            self.assertGreater(len(days), 130)
            row = self.rows(symbol)[0]
            wanted = bar_source.bar(symbol, datetime.date.fromisoformat(row["date"]))
            self.assertEqual([float(row[k]) for k in ("open", "high", "low", "close", "volume")], wanted[1:])
        self.assertIn('"timestamp" is date', said)
        self.assertIn("3 symbols: 3 updated, 0 as they were; 3 requests", said)
        self.assertIn("0 updated, 3 as they were", self.run_it("history", "update"))

    def test_pages_by_number_and_by_the_address_of_the_next(self):
        self.source.page_size = 40
        self.run_it("history", "update", "KLVN")
        self.assertEqual(len(self.days("KLVN")), 40, "without {page} one is all there is")
        self.configure("/csv?symbol={symbol}&from={from}&to={to}&page={page}")
        self.run_it("history", "update", "NIVO")
        self.configure("/json?symbol={symbol}&from={from}&to={to}",
                       source='format = "json"\nfields = { rows = "/results", next = "/next" }\n')
        self.run_it("history", "update", "ORRJ")
        self.assertEqual(self.days("NIVO"), self.days("ORRJ"))
        self.assertGreater(len(self.days("NIVO")), 130)

    def test_a_limit_is_kept_and_failures_are_tried_again(self):
        self.source.answers = {"KLVN": [(429, b"", {"Retry-After": "1"})], "NIVO": [(500,), (503,)]}
        said = self.run_it("history", "update")
        self.assertIn("3 updated, 0 as they were; 6 requests, 2 put off by the source, 1 asked again", said)

    def test_one_that_is_not_known_fails_alone(self):
        self.source.unknown = {"NIVO"}
        said = self.run_it("history", "update", ok=1)
        self.assertIn("NIVO: the source answered HTTP 404", said)
        self.assertIn("2 updated, 0 as they were, 1 failed", said)

    def test_a_key_that_is_not_taken_is_said_once_for_all(self):
        (self.where / "key").write_text("another")
        said = self.run_it("history", "update", ok=1)
        self.assertIn("HTTP 401: it does not take the key", said)
        self.assertLessEqual(len(self.source.requests), 3)

    def test_a_symbol_that_the_key_is_not_for_fails_alone(self):
        self.source.answers = {"KLVN": [(403,)]}
        said = self.run_it("history", "update", ok=1)
        self.assertIn("KLVN: the source answered HTTP 403: it does not take the key, or the key is not for this symbol", said)
        self.assertIn("2 updated, 0 as they were, 1 failed", said)

    def test_a_key_that_is_for_no_symbol_is_not_tried_with_all(self):
        many = [f"Q{letter}ZX" for letter in "ABCDEFGHIJKL"]
        self.watch(many)
        self.source.answers = {symbol: [(403,)] for symbol in many}
        said = self.run_it("history", "update", ok=1)
        self.assertIn("12 failed", said)
        self.assertLessEqual(len(self.source.requests), 7, "three, and what was under way beside them")

    def test_what_the_source_says_of_a_refusal_is_shown_without_its_key(self):
        reason = json.dumps({"message": f"key {bar_source.KEY} expired"}).encode()
        self.source.answers = {"NIVO": [(404, b"no such symbol\n")], "KLVN": [(403, reason)]}
        self.assertIn('NIVO: the source answered HTTP 404: "no such symbol"\n', self.run_it("history", "update", "NIVO", ok=1))
        self.assertIn('KLVN: the source answered HTTP 403: "key (secret) expired"', self.run_it("history", "update", "KLVN", ok=1))

    def test_an_answer_that_is_no_table_is_told_and_changes_nothing(self):
        self.run_it("history", "update", "KLVN")
        kept = self.rows("KLVN")
        for path, format_, body, wanted in (
                ("/words", "csv", "Error: unknown symbol", 'no table: "Error: unknown symbol"'),
                ("/half", "csv", "x" * 112 + f" {bar_source.KEY}", 'no table: "' + "x" * 112 + ' (sec..."'),
                ("/json", "json", '{"status":"error","message":"unknown symbol"}', 'without data: "unknown symbol"')):
            self.source.pages = {path: (200, body)}
            self.configure(path + "?symbol={symbol}", source=f'format = "{format_}"\n')
            said = self.run_it("history", "update", "KLVN", ok=1)
            self.assertIn(f"KLVN: the source answered {wanted}; nothing was changed", said)
            self.assertIn("0 updated, 0 as they were, 1 failed", said)
            self.assertEqual(self.rows("KLVN"), kept)

    def test_what_changed_of_the_past_is_told_and_no_row_is_lost(self):
        self.run_it("history", "update")
        (self.where / "bars" / "KLVN.csv").write_text("date,open,high,low,close,volume,from\n2019-01-02,40,41,39,40.5,1234567,\n" +
                                                      "\n".join((self.where / "bars" / "KLVN.csv").read_text().splitlines()[1:]) + "\n")
        last = self.days("KLVN")[-1]
        self.source.volumes = {("KLVN", last): 5_000_000}
        changed = {row["symbol"]: row["changed"] for row in self.rows_of("history", "update", "--json") if "changed" in row}
        self.assertRegex(changed["KLVN"], f"1 day of the past restated: {last} volume .* to 5.00M")
        self.assertEqual(self.days("KLVN")[0], "2019-01-02")
        self.assertEqual(float(self.rows("KLVN")[-1]["volume"]), 5_000_000)

    def test_files_with_other_endings_are_said_once(self):
        self.close_today()
        bars = self.where / "bars"
        bars.mkdir()
        text = "date,open,high,low,close,volume\n" + "\n".join(self.rows_until_now("KLVN")) + "\n"
        for name in ("KLVN.CSV", "NIVO.txt", "ORRJ.TXT"):
            (bars / name).write_text(text)
        said = self.run_it("history", "check", "--all")
        self.assertIn("bars: passed over 2 files (1 .TXT, 1 .txt): daily bars are SYMBOL.csv, .csv.gz, .csv.zst or .zip", said)
        self.assertIn("KLVN: sound", said)
        (bars / "KLVN.CSV").unlink()
        self.assertIn("bars: passed over 2 files", self.run_it("history", "check", ok=4))
        self.assertIn("nothing was prepared; ", self.run_it("prepare", str(bars), ok=4))
        (bars / "klvn.csv").write_text(text)
        self.assertIn("klvn.csv: is only read; rename it to ", self.run_it("history", "update", "klvn", ok=1))

    def test_a_file_that_was_not_ours_stays_beside(self):
        (self.where / "bars").mkdir()
        (self.where / "bars" / "KLVN.csv").write_text("Date;Close;Volume;Mine\n2020-01-02;40;1000000;x\n")
        said = self.run_it("history", "update", "KLVN")
        self.assertIn("KLVN.csv.old", said)
        self.assertIn("Mine", (self.where / "bars" / "KLVN.csv.old").read_text())
        self.assertEqual(self.days("KLVN")[0], "2020-01-02")

    def test_a_split_moves_the_past_and_nothing_else_until_one_command_takes_it(self):
        self.configure(source='adjusted = "splits"\n')
        self.run_it("history", "update")
        before = self.rows("KLVN")
        self.source.divide = {"KLVN": 2}
        said = self.run_it("history", "update")
        self.assertIn("KLVN: as a 2:1 split its pivot 48.35 would be 24.18, range to 25.38, loss limit 22.2", said)
        self.assertIn("nothing was changed: brimwatch history split KLVN 2:1", said)
        after = self.rows("KLVN")
        self.assertEqual(len(before), len(after))
        self.assertAlmostEqual(float(after[0]["close"]), float(before[0]["close"]) / 2, delta=0.011)
        self.assertIn("Nothing was changed", self.run_it("history", "split", "KLVN", "2:1"))
        self.assertNotIn("24.18", (self.where / "list.toml").read_text())
        self.run_it("history", "split", "KLVN", "2:1", "--take")
        text = (self.where / "list.toml").read_text()
        self.assertIn('symbol = "KLVN"\npivot = 24.18   # by eye\nnormal_volume = 2600000\n', text)
        self.assertEqual(text.count("pivot = 48.35   # by eye"), 2)
        self.assertIn("48.35", (self.where / "list.toml.old").read_text())
        self.run_it("history", "split", "KLVN", "2,1", ok=2)

    def test_killed_in_the_middle_it_loses_no_row(self):
        symbols = [f"S{number:02}" for number in range(30)]
        self.watch(symbols)
        self.run_it("history", "update")
        kept = {symbol: self.days(symbol)[:-20] for symbol in symbols}
        for symbol in symbols:  # as it was three weeks ago, with a row that only its user has
            lines = (self.where / "bars" / f"{symbol}.csv").read_text().splitlines()[:-20]
            (self.where / "bars" / f"{symbol}.csv").write_text("\n".join(lines) + "\n")
        gate = threading.Event()
        self.source.wait_for = {symbol: gate for symbol in symbols[12:]}
        asked = len(self.source.requests)
        process = subprocess.Popen([PROGRAM, "history", "update", "--config", self.where / "b.toml"], stdout=subprocess.DEVNULL,
                                   stderr=subprocess.DEVNULL)
        live_support.wait_for("the first twelve", lambda: len(self.source.requests) >= asked + 13)
        process.send_signal(signal.SIGKILL)
        process.wait()
        gate.set()
        for symbol in symbols:
            self.assertEqual(self.days(symbol)[:len(kept[symbol])], kept[symbol], symbol)
            self.assertIn(len(self.days(symbol)), (len(kept[symbol]), len(kept[symbol]) + 20), "whole, the old or the new")
        self.source.wait_for = {}
        self.run_it("history", "update")
        for symbol in symbols:
            self.assertEqual(len(self.days(symbol)), len(kept[symbol]) + 20)

    def test_killed_at_any_answer_it_loses_no_row(self):
        """Killed as an answer leaves the server: while the one before it is read, merged or written."""
        symbols = [f"S{number:02}" for number in range(24)]
        self.watch(symbols)
        self.run_it("history", "update")
        whole = {symbol: (self.where / "bars" / f"{symbol}.csv").read_text() for symbol in symbols}
        short = {symbol: "".join(text.splitlines(True)[:-20]) for symbol, text in whole.items()}
        chance = random.Random(22)
        for kill_at in sorted(chance.sample(range(1, 24), 8)):
            for symbol in symbols:
                (self.where / "bars" / f"{symbol}.csv").write_text(short[symbol])
            first = self.source.sent
            process = subprocess.Popen([PROGRAM, "history", "update", "--config", self.where / "b.toml"], stdout=subprocess.DEVNULL,
                                       stderr=subprocess.DEVNULL)
            self.source.on_sent = lambda count: process.kill() if count == first + kill_at else None
            process.wait()
            self.source.on_sent = lambda count: None
            self.assertEqual(process.returncode, -signal.SIGKILL, f"killed at answer {kill_at}")
            for symbol in symbols:
                text = (self.where / "bars" / f"{symbol}.csv").read_text()
                self.assertIn(text, (short[symbol], whole[symbol]), f"{symbol} at answer {kill_at}")
            self.run_it("history", "update")
            for symbol in symbols:
                self.assertEqual((self.where / "bars" / f"{symbol}.csv").read_text(), whole[symbol])
            self.assertEqual(sorted(path.name for path in (self.where / "bars").iterdir()), [f"{symbol}.csv" for symbol in symbols])

    def unfinished(self):
        return sorted(path.name for path in (self.where / "bars").iterdir() if path.name.startswith("."))

    def stopped_while_it_writes(self, symbols):
        """An update that stands still with a file half written; None: it was quicker."""
        def is_writing():
            return any((self.where / "bars" / name).stat().st_size > 0 for name in self.unfinished())

        for symbol in symbols:
            path = self.where / "bars" / f"{symbol}.csv"
            path.write_text("".join(path.read_text().splitlines(True)[:-20]))
        process = subprocess.Popen([PROGRAM, "history", "update", "--config", self.where / "b.toml"], stdout=subprocess.DEVNULL,
                                   stderr=subprocess.DEVNULL)
        while process.poll() is None:
            if not self.unfinished():
                continue
            process.send_signal(signal.SIGSTOP)
            live_support.wait_for("it to stand still", lambda: process.poll() is not None or
                                  pathlib.Path(f"/proc/{process.pid}/stat").read_text().rpartition(")")[2].split()[0] == "T")
            if process.poll() is None and is_writing():
                return process
            process.send_signal(signal.SIGCONT)
        return None

    def test_what_a_killed_update_left_half_written_is_cleared_by_the_next(self):
        symbols = [f"S{number:02}" for number in range(24)]
        self.watch(symbols)
        self.run_it("history", "update")
        process = live_support.wait_for("one that stands still", lambda: self.stopped_while_it_writes(symbols))
        process.send_signal(signal.SIGKILL)
        process.wait()
        self.assertEqual(len(self.unfinished()), 1, "a kill leaves it")
        mine = self.where / "bars" / ".notes.txt.a1B2c3"  # no file of days was to become of it
        mine.write_text("mine")
        self.run_it("history", "update")
        self.assertEqual(self.unfinished(), [mine.name])
        self.assertEqual({len(self.days(symbol)) for symbol in symbols}, {len(self.days("S00"))})

    def test_what_another_process_is_writing_is_not_cleared(self):
        symbols = [f"S{number:02}" for number in range(24)]
        self.watch(symbols)
        self.run_it("history", "update")
        process = live_support.wait_for("one that stands still", lambda: self.stopped_while_it_writes(symbols))
        written = self.unfinished()
        self.run_it("history", "update")
        self.assertEqual(self.unfinished(), written)
        process.send_signal(signal.SIGCONT)
        self.assertEqual(process.wait(60), 0)
        self.assertEqual(self.unfinished(), [])

    def sources_of_events(self):
        self.configure(more='splits = "splits.csv"\nearnings = "reports.csv"\nindex_symbol = "BROAD"\n')
        with open(self.where / "b.toml", "a") as file:
            for name in ("splits", "earnings"):
                file.write(f'[history.{name}_source]\nurl = "{self.source.address}/{name}?key={{secret}}"\nsecret = {{ file = "key" }}\n'
                           'insecure_loopback = true\n')
            file.write('[market]\nindex = "bars/INDEX.csv"\n')

    def test_the_index_splits_and_report_dates_come_the_same_way(self):
        self.source.pages = {"/splits": (200, "ticker,ex_date,split_ratio\nKLVN,2026-11-02,2:1\nNIVO,2026-13-02,2\n"),
                             "/earnings": (200, '[{"symbol":"KLVN","reportDate":"2026-12-03"},{"symbol":"ORRJ","reportDate":"soon"}]')}
        self.sources_of_events()
        text = (self.where / "b.toml").read_text()
        at = text.index("[market]")
        (self.where / "b.toml").write_text(text[:at] + 'format = "json"\n' + text[at:])
        said = self.run_it("history", "update")
        self.assertEqual((self.where / "splits.csv").read_text(), "date,symbol,ratio,dividend\n2026-11-02,KLVN,2,\n")
        self.assertEqual((self.where / "reports.csv").read_text(), "date,symbol\n2026-12-03,KLVN\n")
        self.assertIn('splits: 1 added, 1 passed over (date: found "2026-13-02"', said)
        self.assertIn('report dates: 1 added, 1 passed over (date: found "soon"', said)
        self.assertGreater(len(self.days("INDEX")), 130)
        self.assertIn("BROAD", [asked.get("symbol") for _, asked, _ in self.source.requests])
        again = self.run_it("history", "update")
        self.assertIn("splits: 0 added, 1 passed over", again)
        self.assertIn("report dates: 0 added, 1 passed over", again)

    def test_splits_and_report_dates_that_cannot_be_had_fail_the_update_and_keep_what_was_there(self):
        self.source.pages = {"/splits": (404, ""), "/earnings": (200, "<html>busy</html>")}
        self.sources_of_events()
        (self.where / "splits.csv").write_text("date,symbol,ratio\n2025-11-03,KLVN,2\n")
        said = self.run_it("history", "update", ok=1)
        self.assertIn("; splits: the source answered HTTP 404", said)
        self.assertIn("; report dates: ", said)
        self.assertEqual((self.where / "splits.csv").read_text(), "date,symbol,ratio\n2025-11-03,KLVN,2\n")
        self.assertFalse((self.where / "reports.csv").exists())
        end = self.rows_of_failing("history", "update", "--json")[-1]
        self.assertEqual((len(end["splits_failed"]), len(end["reports_failed"])), (1, 1))

    def test_without_a_source_it_says_what_is_missing(self):
        (self.where / "b.toml").write_text('watch_lists = ["list.toml"]\n')
        self.assertIn("[history.source] names no url to fetch from", self.run_it("history", "update", ok=3))

    def test_a_source_that_cannot_be_is_refused_with_its_place(self):
        self.configure("/csv?s={symbl}")
        self.assertRegex(self.run_it("check", ok=3), r'b.toml:5:\d+: \[history.source\]: url: found "{symbl}", expected {symbol}')

    # --- check

    def test_check_names_what_is_doubtful(self):
        self.run_it("history", "update")
        path = self.where / "bars" / "KLVN.csv"
        lines = path.read_text().splitlines()
        row = lines[-30].split(",")
        lines[-30] = ",".join([row[0], row[1], "999.00", *row[3:]])
        lines[-40] = ",".join([lines[-40].split(",")[0], *lines[-41].split(",")[1:]])
        path.write_text("\n".join(lines) + "\n")
        (self.where / "bars" / "NIVO.csv").write_text((self.where / "bars" / "ORRJ.csv").read_text())
        said = self.run_it("history", "check")
        self.assertRegex(said, r"KLVN: .*a row that repeats the one before on .*a price of 999.00 on .*, far from its neighbours")
        self.assertIn("NIVO: ", said)
        self.assertIn("its newest rows are those of ORRJ too", said)
        found = {row["symbol"]: row for row in self.rows_of("history", "check", "--json")}
        self.assertIn("spike", [one["fault"] for one in found["KLVN"]["findings"]])

    def test_check_reads_files_as_people_have_them(self):
        (self.where / "bars").mkdir()
        rows = [f"{d},{o},{h},{l},{c},{v}" for d, o, h, l, c, v in
                (bar_source.bar("KLVN", day) for day in bar_source.weekdays(datetime.date(2026, 3, 2), datetime.date(2026, 6, 30)))]
        text = "Date,Open,High,Low,Close,Volume\n" + "\n".join(rows) + "\n"
        with gzip.open(self.where / "bars" / "KLVN.csv.gz", "wt") as file:
            file.write(text)
        with zipfile.ZipFile(self.where / "bars" / "NIVO.zip", "w", zipfile.ZIP_DEFLATED) as file:
            file.writestr("NIVO.csv", text.replace(",", ";").replace("Date", "Trade Date"))
        said = self.run_it("history", "check", "--all")
        self.assertIn('"Trade Date" is date (1 file)', said)
        self.assertIn("semicolons part the columns (1 file)", said)
        self.assertIn(f"2 symbols, {2 * len(rows)} days", said)
        one = self.where / "all.csv"
        one.write_text("Symbol," + text.splitlines()[0] + "\n" + "".join(f"{s},{row}\n" for s in SYMBOLS for row in rows))
        self.assertIn(f"3 symbols, {3 * len(rows)} days", self.run_it("history", "check", "--daily", one))
        (self.where / "b.toml").write_text(f'watch_lists = ["list.toml"]\n[history]\ndaily = "all.csv"\n')
        self.watch(["KLVN"])
        text = (self.where / "list.toml").read_text().replace('normal_volume = "1.3M"\n', "")
        (self.where / "list.toml").write_text(text)
        known = self.rows_of("check", "--json")[0]
        self.assertEqual(known["normal_volume_from"], "history")

    def test_a_hostile_file_is_one_line_and_the_others_are_read(self):
        """Python's own gzip, zipfile and codecs write them; 300 MB of blanks are a few hundred kB when packed."""
        self.close_today()
        folder = self.where / "bars"
        folder.mkdir()
        rows, other = self.rows_until_now("KLVN"), self.rows_until_now("ORRJ")
        text = "date,open,high,low,close,volume\n" + "\n".join(rows) + "\n"
        sound = {"SND1": text.encode(), "SND2": ("\ufeff" + "\r\n".join([text.splitlines()[0], *other, ""])).encode()}
        packed = gzip.compress(text.encode())
        bad = {"CUT": packed[:len(packed) // 2], "TORN": packed[:-6] + b"\0" * 6, "BYTES": bytes(range(256)) * 500, "NONE": b"", "WIDE": text.encode("utf-16"),
               "PAGE": b"<html><body>sign in, please</body></html>", "DEEP": b"[" * 100_000}
        for name, content in {**sound, **bad}.items():
            (folder / f"{name}.csv").write_bytes(content)
        blanks = b" " * (1 << 20)
        with gzip.open(folder / "BOMB.csv.gz", "wb", 1) as file:
            for _ in range(300):
                file.write(blanks)
        with zipfile.ZipFile(folder / "ZBOMB.zip", "w", zipfile.ZIP_DEFLATED) as file, file.open("ZBOMB.csv", "w") as member:
            for _ in range(300):
                member.write(blanks)
        with zipfile.ZipFile(folder / "UP.zip", "w") as file:
            file.writestr("../../UP.csv", "\n".join([text.splitlines()[0], *self.rows_until_now("NIVO")]))
        done = subprocess.run([PROGRAM, "history", "check", "--all", "--config", self.where / "b.toml"], capture_output=True, text=True)
        said = re.sub(r"\n +", " ", done.stdout + done.stderr)
        self.assertEqual(done.returncode, 4, said)
        for name in [*sound, "UP"]:
            self.assertIn(f"{name}: sound, {len(rows)} days, {rows[0][:10]} to {rows[-1][:10]}", said)
        for name in [*bad, "BOMB", "ZBOMB"]:
            lines = [line for line in said.splitlines() if re.match(rf"{name}: ", line)]
            self.assertEqual(len(lines), 1, f"{name}: {lines}")
            self.assertRegex(lines[0], r"found|expected|no rows")
            self.assertTrue(lines[0].isprintable(), lines[0])
        self.assertIn("found more than 268435456 bytes when unpacked", said)
        self.assertFalse((self.where / "UP.csv").exists())

    def test_a_source_that_packs_a_bomb_is_refused(self):
        body = gzip.compress(b" " * (300 << 20), 1)

        class Bomb(http.server.BaseHTTPRequestHandler):
            def do_GET(self):
                self.send_response(200)
                self.send_header("Content-Encoding", "gzip")
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                self.wfile.write(body)

            def log_message(self, *words):
                pass

        server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Bomb)
        server.handle_error = lambda *which: None
        threading.Thread(target=server.serve_forever, daemon=True).start()
        self.addCleanup(server.server_close)
        self.addCleanup(server.shutdown)
        text = (self.where / "b.toml").read_text().replace(self.source.address, f"http://127.0.0.1:{server.server_port}")
        (self.where / "b.toml").write_text(text)
        self.watch(["KLVN"])
        said = self.run_it("history", "update", ok=1)
        self.assertRegex(said, r"KLVN: .*(more than|too (large|long|big)|bytes)")
        self.assertFalse((self.where / "bars" / "KLVN.csv").exists())

    def test_twenty_thousand_files(self):
        (self.where / "bars").mkdir()
        days = [day.isoformat() for day in bar_source.weekdays(datetime.date(2026, 9, 1), datetime.date(2026, 9, 14))]
        for number in range(20_000):
            rows = [f"{day},50,51,49,50,{1_000_000 + number * 31 + place * 7}" for place, day in enumerate(days)]
            with open(self.where / "bars" / f"S{number}.csv", "w") as file:
                file.write("date,open,high,low,close,volume\n" + "\n".join(rows) + "\n")
        self.assertIn("20000 symbols, 200000 days", self.run_it("history", "check"))

    # --- the daemon

    def test_the_daemon_fetches_what_is_missing_and_a_new_watch_at_once(self):
        self.watch(["KLVN"])
        text = (self.where / "list.toml").read_text().replace('normal_volume = "1.3M"\n', "")
        (self.where / "list.toml").write_text(text)
        self.source.unknown = {"NIVO"}
        with open(self.where / "b.toml", "a") as file:
            file.write('[[feed]]\nname = "pipe"\nkind = "pipe"\ncommand = ["/bin/sleep", "1000"]\n[[channel]]\nkind = "console"\n')
        log = open(self.where / "log", "wb")
        process = subprocess.Popen([PROGRAM, "run", "--config", self.where / "b.toml", "--journal", self.where / "j.db", "--socket",
                                    self.where / "sock"], stdout=log, stderr=log, env={**os.environ, "TZ": "UTC"})
        said = lambda: (self.where / "log").read_text()
        try:
            live_support.wait_for("the first days", lambda: "history: KLVN: " in said() and "1 updated" in said())
            daemon = live_support.Daemon(PROGRAM)
            self.addCleanup(daemon.close)
            daemon.where = self.where
            live_support.wait_for("days of KLVN in force", lambda: (daemon.now() or {"watches": [{}]})["watches"][0].get("history_days", 0) >= 50)
            (self.where / "list.toml").write_text(text + text.replace("KLVN", "ORRJ") + text.replace("KLVN", "NIVO"))
            process.send_signal(signal.SIGHUP)
            live_support.wait_for("the new watch's days", lambda: "history: ORRJ: " in said())
            live_support.wait_for("what failed", lambda: "history: NIVO: the source answered HTTP 404" in said())
            live_support.wait_for("them in force", lambda: all(
                row["history_days"] >= 50 for row in daemon.now()["watches"] if row["symbol"] != "NIVO"))
        finally:
            process.send_signal(signal.SIGTERM)
            process.wait(60)
            log.close()
        self.assertNotIn(bar_source.KEY, said())

    def test_the_morning_tells_what_failed_and_what_is_then_not_judged(self):
        """Of an exchange whose today begins late in its evening, wherever the clock of this machine stands."""
        now = datetime.datetime.now(datetime.timezone.utc)
        exchange, zone = ("XLON", "Europe/London") if now.hour < 12 else ("XNYS", "America/New_York")
        today = now.astimezone(zoneinfo.ZoneInfo(zone)).date()
        (self.where / "day.toml").write_text(f'mic = "{exchange}"\nday = [{{ date = "{today}", open = "23:00", close = "23:30" }}]\n')
        self.watch(["KLVN", "NIVO"])
        (self.where / "list.toml").write_text((self.where / "list.toml").read_text().replace('normal_volume = "1.3M"\n', ""))
        self.source.unknown = {"NIVO", "BROAD"}
        self.source.pages = {"/splits": (404, ""), "/earnings": (404, "")}
        self.sources_of_events()
        with open(self.where / "b.toml", "a") as file:
            file.write(f'[session]\ncalendar = "{exchange}"\ncalendar_files = ["day.toml"]\n[[feed]]\nname = "pipe"\nkind = "pipe"\n'
                       'command = ["/bin/sleep", "1000"]\n[[channel]]\nkind = "console"\n')
        daemon = live_support.Daemon(PROGRAM, (self.where / "b.toml").read_text())
        self.addCleanup(daemon.close)
        for name in ("key", "list.toml", "day.toml"):
            (daemon.where / name).write_text((self.where / name).read_text())
        (daemon.where / "key").chmod(0o600)
        daemon.start(XDG_STATE_HOME=str(self.where / "state"))
        live_support.wait_for("the round", lambda: "report dates: the source answered" in daemon.said())
        daemon.write((daemon.where / "b.toml").read_text() + '[life]\nmorning = "00:01"\n')
        daemon.reload()
        line = live_support.wait_for("the morning", lambda: next(
            (one["text"] for one in map(json.loads, daemon.kept()) if "daily bars of" in one["text"]), None))
        for words in ("daily bars of 2 of 3 symbols could not be fetched (BROAD, NIVO: the source answered HTTP 404): "
                      "their volume is judged by older days, and not at all where there are none",
                      "the market's trend rests on the index's older bars", "splits could not be fetched, and new ones are not known (",
                      "report dates could not be fetched, and new ones are not told with a crossing (the source answered HTTP 404)", "1 unknown (NIVO)"):
            self.assertIn(words, " ".join(line.split()))
        daemon.stop()


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
