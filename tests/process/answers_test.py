#!/usr/bin/python3
"""What people say back, to the daemon as a process: by the commands, by the control socket and by the page; through kill -9, a
reload and a replay. Usage: answers_test.py BRIMWATCH SCHEMA

Sources: json-schema.org draft 7 by python3-jsonschema, where it is there; RFC 6454 for Origin.
"""
import http.client
import json
import pathlib
import re
import socket
import sys
import threading
import tomllib
import unittest

from live_support import PipeCase, wait_for

BRIMWATCH, SCHEMA = sys.argv[1], json.loads(pathlib.Path(sys.argv[2]).read_text())


def validator(name):
    import jsonschema
    return jsonschema.Draft7Validator({"$ref": f"#/definitions/{name}", "definitions": SCHEMA["definitions"]})


class Answers(PipeCase):
    PROGRAM = BRIMWATCH

    def config(self, fifo):
        return (f'watch_lists = ["mine.toml"]\n[page]\non = true\n[[feed]]\nname = "plug"\nkind = "pipe"\ncommand = ["cat", "{fifo}"]\n')

    def setUp(self):
        super().setUp()
        self.mine = self.where / "mine.toml"
        self.mine.write_text('[[watch]]\nsymbol = "KLVN"\npivot = 20.05\nnormal_volume = "1M"\n')
        self.start()

    def tick(self, clock, price, symbol="KLVN"):
        self.pipe.write(json.dumps({"time": f"2026-10-14T{clock}-04:00", "symbol": symbol, "price": price, "size": 100}) + "\n")

    def say(self, *words):
        run = self.daemon.run(*words, "--socket", str(self.where / "sock"))
        return run.returncode, re.sub(r"\n +", " ", run.stdout.strip()), run.stderr.strip()  # long words go on in an indented line

    def done(self, *words):
        code, out, error = self.say(*words)
        self.assertEqual((code, error), (0, ""), words)
        return out

    def refused(self, *words):
        code, out, error = self.say(*words)
        self.assertEqual((code, out), (1, ""), words)
        self.assertEqual(len(error.splitlines()), 1)
        self.assertIn("nothing was changed", error)
        return error

    def watches(self):
        return {f'{row["symbol"]} {row["pivot"]:g}' for row in self.now()["watches"]}

    def row(self, symbol):
        return next(row for row in self.now()["watches"] if row["symbol"] == symbol)

    def again(self):
        self.daemon.kill()
        self.start()

    def seen(self, symbol, price):
        wait_for("the price", lambda: self.row(symbol)["last"] == price)

    def test_added_watched_killed_dropped_and_the_users_files_stay(self):
        before = self.mine.read_bytes()
        self.assertEqual(self.done("watch", "add", "NIVO", "8.10", "--note", 'a "flat" base', "--until", "2026-12-31"),
                         "NIVO 8.10 is watched until 2026-12-31")
        self.tick("10:00:00", 8.00, "NIVO"), self.tick("10:00:01", 8.12, "NIVO")
        wait_for("the crossing", lambda: "crossed" in self.daemon.kinds())
        copy = self.where / "added.toml"
        wait_for("the copy", lambda: copy.exists() and "NIVO" in copy.read_text())
        added = tomllib.loads(copy.read_text())
        self.assertEqual(added["watch"][0] | {"until": str(added["watch"][0]["until"])},
                         {"symbol": "NIVO", "pivot": 8.1, "note": 'a "flat" base', "until": "2026-12-31"})
        self.again()
        self.assertEqual(self.watches(), {"KLVN 20.05", "NIVO 8.1"})
        self.done("watch", "drop", "KLVN")
        self.daemon.reload()
        wait_for("the reload", lambda: "reloaded" in self.daemon.said())
        self.assertEqual(self.watches(), {"NIVO 8.1"})
        self.again()
        self.assertEqual(self.watches(), {"NIVO 8.1"})
        self.done("watch", "add", "KLVN", "20.05")
        self.assertEqual(self.watches(), {"KLVN 20.05", "NIVO 8.1"})
        self.assertEqual(self.mine.read_bytes(), before)
        kinds = [json.loads(line)["kind"] for line in
                 self.daemon.run("journal", "answers", "--json", "--journal", self.daemon.journal).stdout.splitlines()]
        self.assertEqual(kinds, ["add", "drop", "add"])

    def test_bought_kept_over_a_kill_and_sold(self):
        self.tick("10:00:00", 20.00), self.tick("10:00:01", 20.10)
        self.seen("KLVN", 20.10)
        self.assertEqual(self.done("bought", "KLVN", "20.50", "--shares", "200"),
                         "KLVN is held from 20.50, 200 shares; loss limit 18.86, gains told at 24.60 and 25.625")
        self.again()
        held = json.loads(self.done("holding", "--json"))
        self.assertEqual((held["bought"], held["shares"], held["loss_limit"]), (20.5, 200, 18.86))
        for second in range(2):
            self.tick(f"10:05:0{second}", 18.80)
        wait_for("the loss limit", lambda: "loss-limit" in self.daemon.kinds())
        self.assertIn("20.50", self.done("holding"))
        self.assertIn("KLVN is held from 20.50, 300 shares", self.done("bought", "klvn", "20.50", "--shares", "100"))
        self.assertEqual(self.done("sold", "KLVN", "18.80"), "KLVN is no longer held; KLVN 20.05 is a watch again")
        self.assertIn("no holding", self.done("holding"))
        review = self.daemon.run("review", "--journal", self.daemon.journal, "--day", "2026-10-14", "--config", self.where / "b.toml").stdout
        self.assertIn("bought at 20.50", review)
        self.assertIn("sold at 18.80", " ".join(review.split()))

    def test_a_part_is_sold_and_the_rest_is_held_on(self):
        self.tick("10:00:00", 20.00), self.tick("10:00:01", 20.10)
        self.seen("KLVN", 20.10)
        self.done("bought", "KLVN", "20.00", "--shares", "100")
        self.done("bought", "KLVN", "21.00", "--shares", "300")
        self.assertIn("expected at most the 400 that you hold", self.refused("sold", "KLVN", "--shares", "400.5"))
        self.assertEqual(self.done("sold", "KLVN", "22.00", "--shares", "150.5"),
                         "150.5 shares of KLVN are sold; KLVN is held from 20.75, 249.5 shares; loss limit 19.09, gains told at 24.90 and 25.9375")
        self.again()
        held = json.loads(self.done("holding", "--json"))
        self.assertEqual((held["bought"], held["shares"], held["loss_limit"]), (20.75, 249.5, 19.09))
        self.assertIn("249.5", self.done("holding"))
        review = self.daemon.run("review", "--journal", self.daemon.journal, "--day", "2026-10-14", "--config", self.where / "b.toml").stdout
        self.assertIn("150.5 sold at 22.00", " ".join(review.split()))
        self.assertEqual(self.done("sold", "KLVN", "--shares", "249.5"), "KLVN is no longer held; KLVN 20.05 is a watch again")

    # --- added.toml: the journal is what counts

    def test_who_does_not_run_the_daemon_sees_what_was_added(self):
        self.done("watch", "add", "NIVO", "8.10", "--note", "flat base"), self.done("watch", "drop", "KLVN")
        self.tick("10:00:00", 8.00, "NIVO")
        self.seen("NIVO", 8.00)
        self.done("bought", "NIVO", "8.05", "--shares", "10")
        self.daemon.stop()
        places = ("--config", str(self.where / "b.toml"), "--journal", str(self.daemon.journal))
        check = self.daemon.run("check", *places)
        self.assertEqual(check.returncode, 0, check.stderr)
        self.assertIn("NIVO", check.stdout), self.assertNotIn("KLVN", check.stdout)
        self.assertIn("by answers: added NIVO 8.10; dropped KLVN 20.05; stocks held: 1", check.stderr)
        listed = self.daemon.run("watch", "list", *places, "--socket", self.where / "none")
        self.assertEqual(listed.returncode, 5)
        self.assertIn("NIVO", listed.stdout), self.assertNotIn("KLVN", listed.stdout)
        self.assertIn("added", listed.stdout), self.assertIn("bought at 8.05", listed.stdout)
        rows = self.daemon.run("watch", "list", *places, "--socket", self.where / "none", "--json").stdout.splitlines()
        self.assertEqual([json.loads(row)["symbol"] for row in rows], ["NIVO"])
        held = json.loads(self.daemon.run("holding", *places, "--socket", self.where / "none", "--json").stdout)
        self.assertEqual((held["bought"], held["shares"]), (8.05, 10))
        self.start()

    def test_a_change_by_hand_is_told_and_kept_aside(self):
        self.done("watch", "add", "NIVO", "8.10")
        copy = self.where / "added.toml"
        wait_for("the copy", copy.exists)
        self.assertIn("What counts is the journal", copy.read_text())
        mine = copy.read_text() + '[[watch]]\nsymbol = "ZUNO"\npivot = 5\n'
        copy.write_text(mine)
        self.done("watch", "add", "ORRI", "9.00")
        told = wait_for("the notice", lambda: [one for one in self.notices() if "was changed by hand" in json.dumps(one)])
        self.assertEqual(len(told), 1)
        self.assertEqual((self.where / "added.toml.by-hand").read_text(), mine)
        wait_for("the copy", lambda: copy.exists() and "ORRI" in copy.read_text())
        self.assertEqual(self.watches(), {"KLVN 20.05", "NIVO 8.1", "ORRI 9"}, "nothing was taken from it")
        copy.write_text("")
        self.again()  # a start looks too
        wait_for("the second one", lambda: (self.where / "added.toml.by-hand-2").exists())
        wait_for("the copy", lambda: copy.exists() and "ORRI" in copy.read_text())
        self.again()
        wait_for("the board", lambda: len(self.watches()) == 3)
        self.assertFalse((self.where / "added.toml.by-hand-3").exists(), "its own writing is no hand's")

    def test_a_restored_journal_has_what_was_added(self):
        self.done("watch", "add", "NIVO", "8.10")
        backup = self.where / "kept.db"
        run = self.daemon.run("journal", "backup", backup, "--journal", self.daemon.journal)
        self.assertEqual(run.returncode, 0, run.stderr)
        self.done("watch", "add", "ORRI", "9.00")
        self.daemon.stop()
        for file in self.where.glob("j.db*"):
            file.unlink()
        run = self.daemon.run("journal", "restore", backup, "--journal", self.daemon.journal)
        self.assertEqual(run.returncode, 0, run.stderr)
        self.start()
        self.assertEqual(self.watches(), {"KLVN 20.05", "NIVO 8.1"})
        copy = self.where / "added.toml"
        wait_for("the copy", lambda: copy.exists() and "ORRI" not in copy.read_text())
        self.assertEqual(list(self.where.glob("added.toml.*")), [])

    def test_dropped_and_added_on_one_day_goes_on_counting(self):
        self.tick("10:00:00", 20.00), self.tick("10:00:01", 20.10)
        wait_for("the crossing", lambda: self.daemon.kinds() == ["crossed"])
        self.done("watch", "drop", "KLVN")
        self.again()
        self.done("watch", "add", "KLVN", "20.05")
        for second, price in enumerate((20.12, 19.20, 19.20, 20.10, 20.10)):
            self.tick(f"10:10:0{second}", price)
        wait_for("the second crossing", lambda: self.daemon.kinds().count("crossed") == 2)
        ids = [json.loads(line)["id"] for line in self.daemon.lines()]
        self.assertEqual(len(ids), len(set(ids)), ids)

    def test_a_mute_and_its_replay(self):
        tape = self.where / "day.csv"
        rows = [("10:00:00", 20.00), ("10:01:00", 20.10), ("10:02:00", 21.06), ("10:02:01", 21.06)]
        tape.write_text("time,symbol,price,size,conditions\n" + "".join(f"2026-10-14T{clock}-04:00,KLVN,{price},100,\n" for clock, price in rows))
        self.tick(*rows[0])
        self.seen("KLVN", 20.00)
        self.assertIn("is muted until 11:00", self.done("watch", "mute", "KLVN"))
        self.tick(*rows[1])
        wait_for("the crossing", lambda: "crossed" in self.daemon.kinds())
        self.assertTrue(json.loads(self.daemon.lines()[0])["muted"])
        self.assertIn("muted until 11:00", self.done("watch", "list"))
        said = self.daemon.run("journal", "answers", "--journal", self.daemon.journal).stdout
        self.assertRegex(said, r"2026-10-14  \d\d:\d\d:\d\d  mute KLVN 20\.05 until 11:00:\d\d\s+\(")
        self.done("watch", "unmute", "KLVN")
        for row in rows[2:]:
            self.tick(*row)
        wait_for("the leaving", lambda: "left-range" in self.daemon.kinds())
        self.daemon.stop()
        live = [(one["kind"], one.get("muted", False)) for one in map(json.loads, self.daemon.lines())]
        run = self.daemon.run("replay", tape, "--config", self.where / "b.toml", "--answers", self.daemon.journal, "--json")
        self.assertEqual(run.returncode, 0, run.stderr)
        replayed = [(one["kind"], one.get("muted", False)) for one in map(json.loads, run.stdout.splitlines())]
        self.assertEqual(replayed[:2], live[:2])
        self.assertEqual(live[:2], [("crossed", True), ("left-range", False)])
        self.start()

    def test_what_is_wrong_gets_one_line(self):
        self.tick("10:00:00", 20.00)
        self.seen("KLVN", 20.00)
        for words, why in ((("watch", "add", "NIVO", "8,10"), "8,10"), (("watch", "add", "KLVN", "20.05"), "watched already"),
                           (("watch", "drop", "NIVO"), "is watched"), (("watch", "mute", "KLVN", "--for", "ever"), "hour, today or under"),
                           (("bought", "KLVN", "40"), "from the last price 20.00"), (("bought", "KLVN", "dear"), "dear"),
                           (("sold", "KLVN"), "bought"), (("ack", "KLVN"), "KLVN")):
            self.assertIn(why, self.refused(*words))
        self.assertEqual(self.daemon.run("journal", "answers", "--journal", self.daemon.journal).stdout, "")
        nobody = self.daemon.run("watch", "list", "--socket", str(self.where / "none"))
        self.assertEqual(nobody.returncode, 5)

    def ask(self, request):
        with socket.socket(socket.AF_UNIX) as asked:
            asked.settimeout(60)
            asked.connect(str(self.where / "sock"))
            asked.sendall((request if isinstance(request, str) else json.dumps(request)).encode() + b"\n")
            return json.loads(b"".join(iter(lambda: asked.recv(65536), b"")))

    def test_two_at_once_are_one_after_the_other(self):
        self.tick("10:00:00", 20.00)
        self.seen("KLVN", 20.00)
        replies = []
        both = [threading.Thread(target=lambda who=who: replies.append(self.ask({"ask": "add", "symbol": "NIVO", "pivot": "8.10", "who": who})))
                for who in ("phone", "tablet")]
        for one in both:
            one.start()
        for one in both:
            one.join()
        self.assertEqual(sorted("done" in reply for reply in replies), [False, True])
        self.assertEqual([reply["error"] for reply in replies if "error" in reply], ["NIVO 8.10 is watched already; nothing was changed"])

    def test_every_answering_command_speaks_json(self):
        try:
            replies = validator("reply")
        except ImportError:
            self.skipTest("python3-jsonschema is not there")
        self.tick("10:00:00", 20.00), self.tick("10:00:01", 20.10)
        wait_for("the crossing", lambda: "crossed" in self.daemon.kinds())
        for words in (("ack", "KLVN"), ("watch", "mute", "KLVN", "--for", "today"), ("watch", "unmute", "KLVN"), ("bought", "KLVN", "20.10", "--shares", "50"),
                      ("sold", "KLVN", "20.10", "--shares", "20"), ("sold", "KLVN"), ("watch", "add", "NIVO", "8.10"), ("watch", "drop", "NIVO")):
            reply = json.loads(self.done(*words, "--json"))
            replies.validate(reply)
            self.assertIn("done", reply, words)
        for words in (("ack", "ZUNO"), ("watch", "mute", "ZUNO"), ("watch", "add", "NIVO", "none"), ("watch", "drop", "ZUNO"), ("bought", "KLVN", "none"), ("sold", "KLVN")):
            code, out, error = self.say(*words, "--json")
            self.assertEqual(code, 1, words)
            replies.validate(json.loads(out))
            self.assertEqual(json.loads(out)["error"], error.removeprefix("brimwatch: "))

    def test_the_socket_speaks_its_schema(self):
        try:
            requests, replies = validator("request"), validator("reply")
        except ImportError:
            self.skipTest("python3-jsonschema is not there")
        self.tick("10:00:00", 20.00), self.tick("10:00:01", 20.10)
        wait_for("the crossing", lambda: "crossed" in self.daemon.kinds())
        for request in ({"ask": "add", "symbol": "NIVO", "pivot": "8.10", "note": "n", "until": "2026-12-31", "who": "phone", "id": "x"},
                        {"ask": "mute", "symbol": "KLVN", "pivot": "20.05", "for": "today"}, {"ask": "unmute", "symbol": "KLVN"},
                        {"ask": "mute", "symbol": "KLVN", "for": "under"},
                        {"ask": "bought", "symbol": "KLVN", "price": "20.10", "shares": "50"}, {"ask": "sold", "symbol": "KLVN", "price": "20.20", "shares": "0.5"},
                        {"ask": "sold", "symbol": "KLVN", "price": "20.20"}, {"ask": "mute", "notice": "2026-10-14/KLVN/20.05/crossed/1", "for": "hour"},
                        {"ask": "acknowledge", "symbol": "KLVN"}, {"ask": "drop", "symbol": "NIVO"}):
            requests.validate(request)
            reply = self.ask(request)
            replies.validate(reply)
            self.assertIn("done", reply, request)
        for wrong in ({"ask": "add", "symbol": "NIVO", "pivot": 8.10}, {"ask": "mute", "symbol": "KLVN", "for": "hour", "more": "1"}, {"ask": "stop"}, "[" * 3000, "x"):
            if isinstance(wrong, dict):
                self.assertFalse(requests.is_valid(wrong), wrong)
            reply = self.ask(wrong)
            replies.validate(reply)
            self.assertIn("error", reply)
        for line in self.daemon.run("journal", "answers", "--json", "--journal", self.daemon.journal).stdout.splitlines():
            validator("answer").validate(json.loads(line))

    # --- the page

    def page(self):
        said = wait_for("the page", lambda: [line for line in self.daemon.said().splitlines() if "status page: http" in line])
        return said[-1].rsplit(":", 1)[1].strip("/ \n")

    def send(self, method, path, body=None, **headers):
        port = self.page()
        connection = http.client.HTTPConnection("127.0.0.1", int(port), timeout=60)
        self.addCleanup(connection.close)
        usual = {"Host": f"127.0.0.1:{port}", "Origin": f"http://127.0.0.1:{port}", "Content-Type": "application/json"}
        connection.request(method, path, body, {key: value for key, value in (usual | headers).items() if value is not None})
        answer = connection.getresponse()
        return answer.status, answer.read().decode()

    def test_the_page_takes_answers_of_its_own_page_only(self):
        self.tick("10:00:00", 20.00)
        self.seen("KLVN", 20.00)
        token = json.loads(self.send("GET", "/token")[1])["token"]
        mute = json.dumps({"ask": "mute", "symbol": "KLVN", "for": "hour"})
        good = "/answer?token=" + token
        for status, path, headers in ((403, "/answer", {}), (403, good[:-1] + "x", {}), (403, good, {"Origin": "http://evil.example"}),
                                      (403, good, {"Origin": None}), (415, good, {"Content-Type": "text/plain"}),
                                      (421, good, {"Host": "evil.example"}), (403, good, {"Sec-Fetch-Site": "cross-site"})):
            self.assertEqual(self.send("POST", path, mute, **headers)[0], status, (path, headers))
        self.assertEqual(self.send("POST", good, "x" * 5000)[0], 413)
        self.assertEqual(self.send("POST", "/now", mute)[0], 404)
        self.assertEqual(self.send("GET", "/answer?ask=mute&symbol=KLVN&for=hour")[0], 404)
        self.assertIsNone(self.row("KLVN")["muted_until"])
        status, text = self.send("POST", good, mute)
        self.assertEqual((status, json.loads(text)["answer"]["who"]), (200, "page"))
        self.assertIsNotNone(self.row("KLVN")["muted_until"])
        self.assertEqual(self.send("POST", good, '{"ask":"sold","symbol":"KLVN"}')[0], 422)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1] + sys.argv[3:])
