#!/usr/bin/python3
"""The daemon as its watchers see it: metrics, probes, the log as JSON, and the ready-made rules and dashboard.

Usage: watching_test.py BRIMWATCH SOURCE_DIR
Judges from outside: the OpenMetrics parser of python3-prometheus-client, promtool of Debian's prometheus, Python's json.
"""
import http.client
import json
import pathlib
import re
import shutil
import socket
import subprocess
import sys
import unittest

from prometheus_client.openmetrics.parser import text_string_to_metric_families

from live_support import PipeCase, wait_for

PROGRAM, SOURCE = sys.argv[1], pathlib.Path(sys.argv[2])
WATCHING = SOURCE / "config/samples/watching"
PROMTOOL = shutil.which("promtool")

CONFIG = """
[log]
format = "json"
[life]
heartbeat_url = "http://127.0.0.1:9/alive"
[page]
on = true
listen = "127.0.0.1:FAR"
address = "https://127.0.0.1:FAR"
[[watch]]
symbol = "KLVN"
pivot = 48.35
normal_volume = 1_300_000
[feed]
name = "main"
kind = "pipe"
command = ["cat", "{fifo}"]
[[channel]]
name = "hook"
kind = "command"
command = ["/bin/false"]
"""


class Watching(PipeCase):
    PROGRAM = PROGRAM

    def config(self, fifo):
        with socket.socket() as one:
            one.bind(("127.0.0.1", 0))
            self.far = one.getsockname()[1]
        return CONFIG.replace("{fifo}", str(fifo)).replace("FAR", str(self.far))

    def setUp(self):
        super().setUp()
        self.start()
        self.port = wait_for("the page", self.page_port)

    def log(self):
        """Every line, as an object: a line that is none fails the test."""
        text = self.daemon.said()
        return [json.loads(line) for line in text[:text.rfind("\n") + 1].splitlines()]

    def page_port(self):
        for line in self.log():
            found = re.match(r"status page: http://127.0.0.1:(\d+)/", line["message"])
            if found:
                return int(found[1])
        return None

    def get(self, path, port=None):
        connection = http.client.HTTPConnection("127.0.0.1", port or self.port, timeout=30)
        connection.request("GET", path)
        answer = connection.getresponse()
        return answer.status, answer.read().decode(), answer.getheader("Content-Type")

    def samples(self):
        """{name: [(labels, value)]}, by another's strict parser."""
        _, text, kind = self.get("/metrics")
        self.assertTrue(kind.startswith("application/openmetrics-text"))
        found = {}
        for family in text_string_to_metric_families(text):
            for sample in family.samples:
                found.setdefault(sample.name, []).append((sample.labels, sample.value))
        return found

    def value(self, name):
        return self.samples()[name][0][1]

    def test_log_is_json_with_time_zone_and_fields(self):
        for line in self.log():
            self.assertRegex(line["time"], r"^\d{4}-\d\d-\d\dT[\d:.]+Z$")
            self.assertIn(line["level"], ("debug", "info", "warning", "error"))
        self.assertTrue([line for line in self.log() if line.get("feed") == "main"])

    def test_probes(self):
        self.assertEqual(self.get("/healthz")[:2], (200, "ok\n"))
        status, text, _ = self.get("/readyz")
        self.assertIn((status, text.split("\n")[0]), ((200, "ready"), (503, "not ready")))
        self.assertEqual(status == 200, self.value("brimwatch_ready") == 1)

    def test_a_probe_from_beyond_this_machine_has_no_device_and_is_told_a_word(self):
        wait_for("the page for devices", lambda: [one for one in self.log() if "status page for devices" in one["message"]])
        self.assertEqual(self.get("/healthz", self.far)[:2], (200, "ok\n"))
        status, text, _ = self.get("/readyz", self.far)
        self.assertIn((status, text), ((200, "ready\n"), (503, "not ready\n")))
        status, text, _ = self.get("/metrics", self.far)
        self.assertEqual(status, 401)
        self.assertNotIn("brimwatch_ready", text)

    def test_a_refused_reload_is_seen_until_one_is_in_force(self):
        self.assertEqual(self.value("brimwatch_reload_refused"), 0)
        good = (self.where / "b.toml").read_text()
        self.daemon.write(good + "\n[nonsense]\n")
        self.daemon.reload()
        wait_for("the refusal", lambda: self.value("brimwatch_reload_refused") == 1)
        self.assertIn("nonsense", self.now()["configuration"]["refused"])
        self.daemon.write(good)
        self.daemon.reload()
        wait_for("the reload", lambda: self.value("brimwatch_reload_refused") == 0)
        outcomes = {labels["outcome"]: value for labels, value in self.samples()["brimwatch_reloads_total"]}
        self.assertEqual(outcomes, {"in force": 1, "refused": 1})

    def test_a_channel_that_is_dead_is_a_warning_and_a_figure(self):
        # Its program fails whatever it is given; what is told of the refused reloads goes there.
        good = (self.where / "b.toml").read_text()
        for nonsense in range(4):
            self.daemon.write(good + f"\n[nonsense{nonsense}]\n")
            self.daemon.reload()
            wait_for("the refusal", lambda: self.now()["upkeep"]["reloads_refused"] > nonsense)
        wait_for("the trouble", lambda: self.samples()["brimwatch_channel_in_trouble"][0][1] == 1)
        line = wait_for("the log's word", lambda: [one for one in self.log() if one.get("channel") == "hook"])[0]
        self.assertEqual(line["level"], "warning")
        self.assertIn("hook", line["message"])
        wait_for("not ready", lambda: self.get("/readyz")[0] == 503)
        self.assertIn("no channel gets through", self.get("/readyz")[1])

    def test_the_journals_size_and_a_heartbeat_that_fails(self):
        wait_for("the size", lambda: "brimwatch_journal_bytes" in self.samples())
        size = sum(self.daemon.journal.with_name("j.db" + end).stat().st_size
                   for end in ("", "-wal") if self.daemon.journal.with_name("j.db" + end).exists())
        self.assertGreater(size, 0)
        self.assertGreater(self.value("brimwatch_journal_bytes"), 0)
        self.assertEqual({labels["outcome"] for labels, _ in self.samples()["brimwatch_heartbeats_total"]}, {"answered", "failed"})

    def test_rules_and_dashboard_name_what_there_is(self):
        wait_for("the size", lambda: "brimwatch_journal_bytes" in self.samples())
        self.tick("10:00:00", 47.9)
        wait_for("a tick", lambda: self.now()["counts"]["ticks"] > 0)
        # The text of /metrics is a second old at most: the one of before the tick may be given out still.
        wait_for("the tick in the metrics", lambda: "brimwatch_feed_silent_seconds" in self.samples())
        known = set(self.samples()) | {"brimwatch_watch_odds_ratio", "brimwatch_feed_lag_seconds"}  # in session alone
        for file in ("brimwatch-alerts.yml", "brimwatch-dashboard.json"):
            named = set(re.findall(r"brimwatch_\w+", (WATCHING / file).read_text()))
            self.assertGreater(len(named), 8)
            self.assertEqual(named - known, set(), file)


class Samples(unittest.TestCase):
    def promtool(self, *arguments):
        done = subprocess.run([PROMTOOL, *arguments], capture_output=True, text=True, cwd=WATCHING)
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)

    @unittest.skipUnless(PROMTOOL, "promtool is not here: apt install prometheus")
    def test_rules_are_rules_and_call_when_they_should(self):
        self.promtool("check", "rules", "brimwatch-alerts.yml")
        self.promtool("test", "rules", "brimwatch-alerts-test.yml")

    def test_every_rule_has_a_test_that_raises_it(self):
        rules = set(re.findall(r"- alert: (\w+)", (WATCHING / "brimwatch-alerts.yml").read_text()))
        tests = (WATCHING / "brimwatch-alerts-test.yml").read_text()
        raised = set(re.findall(r"alertname: (\w+)\n\s+exp_alerts:\n\s+- exp_labels", tests))
        self.assertEqual(rules, raised)

    @unittest.skipUnless(PROMTOOL, "promtool is not here: apt install prometheus")
    def test_the_dashboards_queries_are_queries(self):
        """Each as a rule of its own, which promtool parses; panels and places belong together."""
        spec = json.loads((WATCHING / "brimwatch-dashboard.json").read_text())["spec"]
        queries = [query["spec"]["plugin"]["spec"]["query"] for panel in spec["panels"].values()
                   for query in panel["spec"]["queries"]]
        rules = [{"record": f"one:{number}", "expr": query} for number, query in enumerate(queries)]
        text = json.dumps({"groups": [{"name": "dashboard", "rules": rules}]})  # JSON is YAML
        done = subprocess.run([PROMTOOL, "check", "rules", "/dev/stdin"], input=text, capture_output=True, text=True)
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)
        placed = [item["content"]["$ref"].rsplit("/", 1)[1] for layout in spec["layouts"] for item in layout["spec"]["items"]]
        self.assertEqual(sorted(placed), sorted(spec["panels"]))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
