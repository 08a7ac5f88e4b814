#!/usr/bin/python3
"""Every --json against config/output.schema.json, by python3-jsonschema (JSON Schema draft 7).

Usage: output_test.py BRIMWATCH SOURCE_DIR [--shapes]
One table, COMMANDS: how each command is brought to print what it can. A command of the program with --json that is not in the
table, or not in the schema, fails the test; so does a member that the schema does not name. --shapes prints what was seen, as a
schema to begin with.
"""
import datetime
import http.client
import json
import pathlib
import re
import shutil
import socket
import subprocess
import sys
import unittest

import jsonschema

from bar_source import KEY, BarSource, weekdays
from live_support import Daemon, wait_for

PROGRAM, SOURCE = sys.argv[1], pathlib.Path(sys.argv[2])
SCHEMA_FILE = SOURCE / "config/output.schema.json"
DAY = "2026-10-14"

CONFIG = """
watch_lists = ["weekend.toml"]
journal = "JOURNAL"
[history]
daily = "history"
[history.source]
url = "SOURCE/csv?symbol={symbol}&from={from}&to={to}&key=KEY"
insecure_loopback = true
[page]
on = true
listen = "127.0.0.1:PAGE"
address = "https://127.0.0.1:PAGE"
[record]
directory = "rec"
[[feed]]
name = "main"
kind = "pipe"
command = ["tail", "-n", "+1", "-f", "WHERE/ticks.json"]
[[channel]]
name = "hook"
kind = "command"
command = ["/bin/true"]
"""


def commands_with_json(command=()):
    """As the program's own help lists them."""
    text = subprocess.run([PROGRAM, *command, "--help"], capture_output=True, text=True).stdout
    if "--json" in text:
        yield " ".join(command)
    for name in re.findall(r"^  ([a-z-]+)  ", text.partition("Subcommands:\n")[2], re.M):
        yield from commands_with_json((*command, name))


class House:
    """The demo's invented day, its journal, and a daemon that runs on its lists."""

    def __init__(self):
        self.source = BarSource()
        self.daemon = Daemon(PROGRAM)
        self.where = self.daemon.where
        subprocess.run([SOURCE / "scripts/demo-tape", self.where], check=True, stdout=subprocess.DEVNULL)
        shutil.copy(SOURCE / "config/samples/demo/brimwatch.toml", self.where / "demo.toml")
        # KLVN crosses its pivot, 48.35, and prints there again: a notice, which can be acknowledged.
        (self.where / "ticks.json").write_text("".join(json.dumps(
            {"time": f"{DAY}T10:00:{second:02d}-04:00", "symbol": "KLVN", "price": price, "size": 500}) + "\n"
            for second, price in enumerate((48.0, 48.2, 48.4, 48.41, 48.42))))
        self.write_minutes()
        self.port, text = self.free_port(), CONFIG
        for name, value in (("SOURCE", self.source.address), ("KEY", KEY), ("PAGE", self.port), ("JOURNAL", self.where / "j.db"),
                            ("WHERE", self.where)):
            text = text.replace(name, str(value))
        self.daemon.write(text)
        self.daemon.start()
        wait_for("a notice of KLVN", lambda: [one for one in (self.daemon.now() or {"notices": []})["notices"]
                                              if one["symbol"] == "KLVN"])
        self.run("replay", "day.csv", "--config", "demo.toml", "--journal", "demo.db")

    def write_minutes(self):
        """Half hours of 61 sessions, autumn of 2019: no holiday and no half day among them."""
        (self.where / "minutes").mkdir()
        rows = ["date,time,open,high,low,close,volume"]
        for number, day in enumerate(weekdays(datetime.date(2019, 9, 3), datetime.date(2019, 11, 27))):
            for bar in range(13):
                minute, price = 570 + bar * 30, 40 + 0.1 * number + 0.3 * ((number * 7 + bar * 5) % 11)
                rows.append(f"{day},{minute // 60:02d}:{minute % 60:02d},{price:.2f},{price + 0.2:.2f},{price - 0.2:.2f},"
                            f"{price + 0.1:.2f},{(1 + abs(bar - 6)) * (10_000 + 700 * ((number * 5 + bar) % 13))}")
        (self.where / "minutes" / "KLVN.csv").write_text("\n".join(rows) + "\n")

    @staticmethod
    def free_port():
        with socket.socket() as one:
            one.bind(("127.0.0.1", 0))
            return one.getsockname()[1]

    def close(self):
        self.daemon.close()
        self.source.close()

    def run(self, *words, ok=(0,)):
        done = subprocess.run([PROGRAM, *words], capture_output=True, text=True, cwd=self.where,
                              env={"PATH": "/usr/bin:/bin", "HOME": str(self.where), "TZ": "UTC"})
        assert done.returncode in ok, f"{words}: {done.returncode}\n{done.stdout[-2000:]}{done.stderr[-2000:]}"
        return done.stdout

    def objects(self, *words, ok=(0,)):
        return [json.loads(line) for line in self.run(*words, "--json", ok=ok).splitlines()]

    def there(self, *words, ok=(0,)):
        """Of a command that asks the daemon."""
        return self.objects(*words, "--socket", str(self.where / "sock"), ok=ok)

    def pair(self):
        """A device is paired, as its browser would do it; what `page pair` printed."""
        offered = self.there("page", "pair")
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        connection.request("POST", "/pair", json.dumps({"code": offered[0]["code"]}),
                           {"Content-Type": "application/json", "Origin": f"https://127.0.0.1:{self.port}"})
        answer = connection.getresponse()
        text = answer.read().decode()
        assert (answer.status, json.loads(text)) == (200, {"done": "paired"}), text
        return offered

    def devices(self):
        self.pair()
        return self.there("page", "devices")

    def revoke(self):
        self.pair()
        return self.there("page", "revoke", self.there("page", "devices")[0]["devices"][0]["id"])

    def reload(self):
        """In force; and refused by the daemon, whose own file is not the one that was checked."""
        taken = self.there("reload", "--config", "b.toml")
        good = (self.where / "b.toml").read_text()
        self.daemon.write(good + "\n[nonsense]\n")
        refused = self.there("reload", "--config", "demo.toml", ok=(3,))
        self.daemon.write(good)
        return taken + refused + self.there("reload", "--config", "b.toml")

    def acknowledged(self):
        """Two of the notices that the journal has, and one that it does not have."""
        ids = [one["id"] for one in self.objects("journal", "--journal", "demo.db", "--last", "2")]
        done = self.objects("journal", "ack", *ids, "--journal", "demo.db")
        return done + self.objects("journal", "ack", "2026-10-14/NIVO/1.00/crossed/1", "--journal", "demo.db", ok=(1,))

    def backed_up(self):
        return self.objects("journal", "backup", "backup.db", "--journal", "demo.db")

    def restored(self):
        self.run("journal", "backup", "another.db", "--journal", "demo.db")
        return self.objects("journal", "restore", "another.db", "--journal", "restored.db")

    def shared(self):
        """Two machines of a shared house, with a real etcd of one member: as the one that speaks sees them, and it hands over."""
        client, peer = (f"http://127.0.0.1:{self.free_port()}" for _ in range(2))
        etcd = subprocess.Popen(["etcd", "--name", "m", "--data-dir", self.where / "etcd", "--listen-client-urls", client,
                                 "--advertise-client-urls", client, "--listen-peer-urls", peer, "--initial-advertise-peer-urls", peer,
                                 "--initial-cluster", f"m={peer}"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        machines = [Daemon(PROGRAM, f'[shared]\nname = "{name}"\nhouse = "mine"\netcd = ["{client}"]\ninsecure_loopback = true\n'
                                    '[[watch]]\nsymbol = "KLVN"\npivot = 48.35\n[[feed]]\nkind = "pipe"\n'
                                    'command = ["/bin/sleep", "infinity"]\n') for name in ("home", "cloud")]
        try:
            for machine, role in zip(machines, ("speaking", "standing by")):
                machine.start()
                wait_for(role, lambda: machine.now()["shared"]["role"] == role)
            wait_for("both to be seen", lambda: len(machines[0].now()["shared"]["members"]) == 2)
            ask = lambda *words: self.objects("shared", *words, "--socket", str(machines[0].where / "sock"))
            return ask() + ask("hand-over")
        finally:
            for machine in machines:
                machine.close()
            etcd.kill()
            etcd.wait()

    def log(self):
        """What begins, and ends at once: for want of a lock, and of a sound configuration. All that it says is lines of the log."""
        (self.where / "doubtful.toml").write_text((self.where / "b.toml").read_text().replace('["weekend.toml"]', '["weekend.toml", "none*.toml"]'))
        (self.where / "wrong.toml").write_text("[rules]\nrange = -5\n")
        lines = []
        for name, code in (("b.toml", 6), ("doubtful.toml", 6), ("wrong.toml", 3)):
            done = subprocess.run([PROGRAM, "run", "--config", name, "--json"], capture_output=True, text=True, cwd=self.where)
            assert (done.returncode, done.stdout) == (code, ""), done
            lines += [json.loads(line) for line in done.stderr.splitlines()]
        assert {"warning", "error"} <= {line["level"] for line in lines}, lines
        return lines


def config(*words):
    return lambda house: house.objects(*words, "--config", "b.toml")


def there(*words):
    return lambda house: house.there(*words)


def refused(*words):
    return lambda house: house.there(*words, ok=(1,))


def in_turn(*ways):
    return lambda house: [line for way in ways for line in way(house)]


def amid(before, way, after):
    """What `way` alone prints."""
    return lambda house: (before(house), way(house), after(house))[1]


# A command -> what it prints, as objects.
COMMANDS = {
    "ack": in_turn(there("ack", "KLVN"), refused("ack", "NIVO")),
    "bought": in_turn(there("bought", "ORRJ", "112", "--shares", "50"), there("sold", "ORRJ")),
    "channels list": config("channels", "list"),
    "channels try": config("channels", "try"),
    "check": in_turn(config("check"), config("check", "KLVN", "--explain"),
                     lambda house: house.objects("check", "KLVN", "LATZ", "--explain", "--config", "demo.toml", "--day", DAY,
                                                 "--journal", "demo.db")),
    "feeds map": in_turn(*[lambda house, file=file: house.objects("feeds", "map", str(file), ok=(0, 1))  # 1: it asks
                           for file in sorted((SOURCE / "config/samples/feeds").glob("*.jsonl"))]),
    "feeds try": lambda house: house.objects("feeds", "try", "main", "--messages", "1", "--config", "b.toml"),
    "history check": config("history", "check", "--all"),
    "history split": config("history", "split", "KLVN", "2:1"),
    "history update": config("history", "update", "KLVN"),
    "holding": amid(there("bought", "TZAM", "23.6"), there("holding"), there("sold", "TZAM")),
    "journal": lambda house: house.objects("journal", "--journal", "demo.db", "--deliveries"),
    "journal ack": House.acknowledged,
    "journal answers": lambda house: house.objects("journal", "answers", "--journal", "j.db"),
    "journal backup": House.backed_up,
    "journal export": in_turn(*[lambda house, kind=kind: house.objects("journal", "export", kind, "--journal", "demo.db")
                              for kind in ("notices", "deliveries", "answers", "days", "holes")]),
    "journal prune": lambda house: house.objects("journal", "prune", "--dry-run", "--journal", "demo.db"),
    "journal restore": House.restored,
    "learn": in_turn(lambda house: house.objects("learn", "minutes", "--grade", "--at", "60"),
                     lambda house: house.objects("learn", "minutes", "--grade", "--at-crossings", "--high", "5")),
    "now": there("now"),
    "pace": lambda house: house.objects("pace", "--normal", "1.3M", "--so-far", "410k", "--at", "10:15", "--day", DAY),
    "page devices": House.devices,
    "page pair": there("page", "pair"),
    "page revoke": House.revoke,
    # Only the stocks that the source has years of can be graded, and it depends on the daemon's pace when they are there.
    "prepare": amid(config("history", "update"),
                    in_turn(config("prepare", "history", "--why"), config("prepare", "history", "--grade")), lambda house: []),
    "reload": House.reload,
    "replay": lambda house: house.objects("replay", "day.csv", "--config", "demo.toml", "--stats"),
    "review": in_turn(*[lambda house, both=both: house.objects("review", *both, "--day", DAY, "--config", "demo.toml")
                        for both in (("--journal", "demo.db"), ("--journal", "demo.db", "--journal", "j.db"))]),
    "run": House.log,
    "shared": House.shared,
    "sold": in_turn(there("bought", "KLVN", "48.1"), there("sold", "KLVN", "48.2")),
    "watch add": there("watch", "add", "NIVO", "27.60"),
    "watch drop": in_turn(there("watch", "add", "NIVU", "27.60"), there("watch", "drop", "NIVU")),
    "watch list": there("watch", "list"),
    "watch mute": there("watch", "mute", "KLVN"),
    "watch unmute": in_turn(there("watch", "mute", "KLVN"), there("watch", "unmute", "KLVN")),
}


def shape_of(values):
    """What was seen, as a schema: every member named, those that are always there required."""
    kinds = {type(value) for value in values}
    names = {str: "string", bool: "boolean", int: "integer", float: "number", type(None): "null", dict: "object", list: "array"}
    words = sorted({names[kind] for kind in kinds})
    if "number" in words and "integer" in words:
        words.remove("integer")
    out = {"type": words[0] if len(words) == 1 else words}
    objects = [value for value in values if isinstance(value, dict)]
    if objects:
        members = {}
        for one in objects:
            for name, value in one.items():
                members.setdefault(name, []).append(value)
        out["required"] = [name for name in members if all(name in one for one in objects)]
        out["properties"] = {name: shape_of(seen) for name, seen in members.items()}
        out["additionalProperties"] = False
    items = [item for value in values if isinstance(value, list) for item in value]
    if items:
        out["items"] = shape_of(items)
    return out


class Output(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.house = House()
        cls.schema = json.loads(SCHEMA_FILE.read_text())
        jsonschema.Draft7Validator.check_schema(cls.schema)

    @classmethod
    def tearDownClass(cls):
        cls.house.close()

    def test_every_command_with_json_is_in_the_table_and_in_the_schema(self):
        there_are = set(commands_with_json())
        self.assertGreater(len(there_are), 20)
        self.assertEqual(there_are - set(COMMANDS), set(), "not in the table of this test")
        self.assertEqual(set(COMMANDS), set(self.schema["commands"]), "table and schema name the same commands")

    def test_what_each_prints_is_what_its_schema_says(self):
        for command, way in COMMANDS.items():
            names = self.schema["commands"][command]
            judge = jsonschema.Draft7Validator({"anyOf": [{"$ref": f"#/definitions/{name}"} for name in names],
                                                "definitions": self.schema["definitions"]})
            with self.subTest(command=command):
                lines = way(self.house)
                self.assertTrue(lines)
                for line in lines:
                    errors = [error.message for one in judge.iter_errors(line) for error in (one.context or [one])]
                    self.assertEqual(errors, [], json.dumps(line)[:600])

    def test_the_schema_is_closed(self):
        """No object takes members that are not named, or named by a type; nothing may be anything."""
        def look(schema, where):
            self.assertNotEqual(schema, {}, where)
            if "object" in ([schema["type"]] if isinstance(schema.get("type"), str) else schema.get("type", ())):
                self.assertNotIn(schema.get("additionalProperties", True), (True, {}), where)
                if not schema["additionalProperties"]:
                    self.assertLessEqual(set(schema.get("required", ())), set(schema["properties"]), where)
            for name, one in {**schema.get("properties", {}), **schema.get("patternProperties", {})}.items():
                look(one, f"{where}/{name}")
            for inner in ("items", "additionalProperties"):
                if isinstance(schema.get(inner), dict):
                    look(schema[inner], f"{where}/{inner}")
            for one in schema.get("anyOf", ()):
                look(one, where)

        used = {name for names in self.schema["commands"].values() for name in names} | {"answer", "notice-now"}
        self.assertEqual(used, set(self.schema["definitions"]))
        for name, definition in self.schema["definitions"].items():
            look(definition, name)

    def test_a_member_that_no_schema_names_is_refused(self):
        """So that the test above can fail."""
        line = {**COMMANDS["pace"](self.house)[0], "new_member": 1}
        judge = jsonschema.Draft7Validator({"$ref": "#/definitions/pace", "definitions": self.schema["definitions"]})
        self.assertTrue(list(judge.iter_errors(line)))


if __name__ == "__main__":
    if "--shapes" in sys.argv:
        house = House()
        seen = {}
        for command, way in COMMANDS.items():
            try:
                seen[command] = shape_of(way(house))
            except Exception as error:  # of a command that is not brought to print yet
                print(f"{command}: {error}", file=sys.stderr)
        house.close()
        print(json.dumps(seen, indent=1))
        sys.exit()
    unittest.main(argv=sys.argv[:1])
