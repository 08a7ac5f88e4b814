#!/usr/bin/python3
"""The daemon as a service, and the commands that speak to it: what systemd gives a service (systemd.exec(5): folders, user,
credentials; sd_notify(3): the socket it is told by) is given here by the test, in a mount namespace of its own (unshare(1),
util-linux), so that /etc, /run and /var/lib are nobody else's. With systemd itself: scripts/debian/try-services.
Usage: service_test.py BRIMWATCH (as root; else skipped)"""
import http.server
import json
import os
import pathlib
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from live_support import wait_for  # noqa: E402

BRIMWATCH = sys.argv[1]
SERVICE_USER = 12345  # as DynamicUser= gives one: without a name, without a home
ETC, STATE, RUN = pathlib.Path("/etc/brimwatch"), pathlib.Path("/var/lib/brimwatch"), pathlib.Path("/run/brimwatch")
LIVE = '[[feed]]\nname = "quotes"\nkind = "pipe"\ncommand = ["/bin/cat"]\n'


def enter_namespace():
    if os.geteuid() != 0 or shutil.which("unshare") is None:
        print("skipped: only root has a mount namespace made for it")
        sys.exit(77)
    if os.environ.get("IN_NAMESPACE") != "1":
        os.execvpe("unshare", ["unshare", "--mount", "--propagation", "private", sys.executable, *sys.argv],
                   {**os.environ, "IN_NAMESPACE": "1"})
    copy = tempfile.mkdtemp(prefix="brimwatch-etc")
    subprocess.run(["mount", "-t", "tmpfs", "tmpfs", copy], check=True)
    subprocess.run(["cp", "-a", "/etc/.", copy], check=True)
    subprocess.run(["mount", "--move", copy, "/etc"], check=True)
    os.rmdir(copy)
    for folder in ("/run", "/var/lib"):
        subprocess.run(["mount", "-t", "tmpfs", "tmpfs", folder], check=True)


class Service:
    """brimwatch run as systemd would start it: no standard input, folders by environment, told by a socket."""

    def __init__(self):
        for folder in (STATE, RUN):
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir()
            os.chown(folder, SERVICE_USER, SERVICE_USER)
            folder.chmod(0o700)
        self.told = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.told.settimeout(60)
        path = tempfile.mktemp(dir="/run")
        self.told.bind(path)
        os.chmod(path, 0o777)
        self.log = open("/run/service.log", "wb+")
        self.process = subprocess.Popen(
            [BRIMWATCH, "run", "--config", ETC / "brimwatch.toml"], stdin=subprocess.DEVNULL, stdout=self.log, stderr=self.log,
            user=SERVICE_USER, group=SERVICE_USER, extra_groups=[],
            env={"PATH": os.environ["PATH"], "NOTIFY_SOCKET": path, "CONFIGURATION_DIRECTORY": str(ETC),
                 "STATE_DIRECTORY": str(STATE), "RUNTIME_DIRECTORY": str(RUN), "TZ": "UTC",
                 **{name: value for name, value in os.environ.items() if name.endswith("SAN_OPTIONS")}})

    def ready(self):
        while "READY=1" not in (said := self.told.recv(4096).decode()):
            pass
        return said

    def end(self):
        self.process.send_signal(signal.SIGTERM)
        status = self.process.wait(timeout=60)
        shutil.rmtree(RUN)  # as systemd does
        self.told.close()
        return status


def brimwatch(*words, home="/root", **more):
    environment = {"PATH": os.environ["PATH"], "HOME": home, "TZ": "UTC",
                   **{name: value for name, value in os.environ.items() if name.endswith("SAN_OPTIONS")}}
    return subprocess.run([BRIMWATCH, *words], capture_output=True, text=True, stdin=subprocess.DEVNULL, env=environment,
                          timeout=120, **more)


class Services(unittest.TestCase):
    def setUp(self):
        shutil.rmtree(ETC, ignore_errors=True)
        home = tempfile.TemporaryDirectory()  # nobody's: no configuration in it
        self.addCleanup(home.cleanup)
        self.home = home.name

    def run_it(self, *words, **more):
        return brimwatch(*words, home=self.home, **more)

    def fresh(self):
        done = self.run_it("init", "--system", "--no-enable")
        self.assertEqual(done.returncode, 0, done.stderr)
        return done.stdout

    def service(self):
        service = Service()
        self.addCleanup(lambda: service.process.poll() is None and service.end())
        return service

    def write(self, more):
        (ETC / "brimwatch.toml").write_text('watch_lists = ["weekend.toml"]\n' + more)

    # --- a fresh one

    def test_a_fresh_service_stays_up_and_says_that_it_is_blind(self):
        said = self.fresh()
        self.assertIn("systemctl start brimwatch", said)
        check = self.run_it("check")
        self.assertEqual(check.returncode, 0, check.stderr)
        self.assertIn("of the system service (/etc/brimwatch", check.stderr)
        service = self.service()
        self.assertRegex(service.ready(), r"STATUS=watching \d+ pivots .*; blind: there is no standard input here")
        now = self.run_it("now")
        self.assertEqual(now.returncode, 0, now.stderr)
        self.assertIn("of the system service", now.stderr)
        self.assertIn("no standard input here", re.sub(r"\s+", " ", now.stdout))
        self.assertIsNone(service.process.poll())
        self.assertEqual(service.end(), 0)

    def test_without_a_service_manager_that_is_a_mistake(self):
        self.fresh()
        done = self.run_it("run", "--config", ETC / "brimwatch.toml")
        self.assertEqual(done.returncode, 3)
        self.assertIn("there is none here", done.stderr)

    def test_the_fresh_configuration_has_no_desktop_and_no_home(self):
        self.fresh()
        text = (ETC / "brimwatch.toml").read_text()
        self.assertNotRegex(text, r'(?m)^kind = "desktop"')
        self.assertNotIn("~/", text)
        self.assertNotIn("--user", text)

    # --- which one a command means

    def test_answers_reach_the_system_service_and_say_so(self):
        self.fresh()
        self.write(LIVE)
        self.service().ready()
        added = self.run_it("watch", "add", "NIVO", "21.10")
        self.assertEqual(added.returncode, 0, added.stderr)
        self.assertIn("of the system service", added.stderr)
        listed = self.run_it("journal", "answers", "--system")
        self.assertIn("NIVO", listed.stdout, listed.stderr)

    def test_the_own_daemon_is_taken_where_it_runs_and_the_other_is_named(self):
        self.fresh()
        self.write(LIVE)
        self.service().ready()
        own = pathlib.Path(self.home) / ".config/brimwatch"
        own.mkdir(parents=True)
        (own / "brimwatch.toml").write_text('watch_lists = ["own.toml"]\n' + LIVE)
        (own / "own.toml").write_text('[[watch]]\nsymbol = "HALQ"\npivot = 19.45\n')
        with open(f"{self.home}/log", "wb") as log:
            daemon = subprocess.Popen([BRIMWATCH, "run"], stdin=subprocess.DEVNULL, stdout=log, stderr=log,
                                      env={"PATH": os.environ["PATH"], "HOME": self.home})
        self.addCleanup(lambda: (daemon.terminate(), daemon.wait(60)))
        sock = pathlib.Path(self.home) / ".local/state/brimwatch/control.sock"
        wait_for("the own daemon", sock.exists)
        now = self.run_it("now")
        self.assertIn("HALQ", now.stdout)
        self.assertIn("the system service runs too", now.stderr)
        self.assertNotIn("HALQ", self.run_it("now", "--system").stdout)
        # Of a configuration a person gets their own, whatever runs.
        daemon.terminate()
        daemon.wait(60)
        self.assertIn("HALQ", self.run_it("check").stdout)
        self.assertIn("KLVN", self.run_it("check", "--system").stdout)

    def test_another_user_is_told_that_it_answers_to_root(self):
        self.fresh()
        self.write(LIVE)
        self.service().ready()
        done = self.run_it("now", user=54321, group=54321, extra_groups=[])
        self.assertEqual(done.returncode, 5)
        self.assertIn("root alone", done.stderr)

    def test_what_root_learns_for_the_service_is_the_services(self):
        self.fresh()
        self.write(LIVE)
        service = self.service()
        service.ready()
        backup = self.run_it("journal", "backup", "--system", str(STATE / "copy.db"))
        self.assertEqual(backup.returncode, 0, backup.stderr)
        self.assertEqual({path.name: path.stat().st_uid for path in STATE.iterdir() if path.stat().st_uid != SERVICE_USER}, {})

    def test_credentials_are_read_where_the_service_has_them(self):
        """systemd.exec(5), CREDENTIALS: /run/credentials/UNIT."""
        heard = []

        class Hook(http.server.BaseHTTPRequestHandler):
            def do_POST(self):
                heard.append(self.headers["Authorization"])
                self.rfile.read(int(self.headers["Content-Length"]))
                self.send_response(200)
                self.end_headers()

            def log_message(self, *words):
                pass
        server = http.server.HTTPServer(("127.0.0.1", 0), Hook)
        self.addCleanup(server.server_close)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        self.addCleanup(server.shutdown)
        self.fresh()
        self.write(LIVE + f'[[channel]]\nname = "room"\nkind = "webhook"\nurl = "http://127.0.0.1:{server.server_port}/"\n'
                   'insecure_loopback = true\nsecret = { credential = "room" }\nbody = "{title}"\n'
                   'headers = { Authorization = "Bearer {secret}" }\n')
        folder = pathlib.Path("/run/credentials/brimwatch.service")
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "room").write_text("canary-of-the-room\n")
        done = self.run_it("channels", "try", "--system")
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)
        self.assertEqual(heard, ["Bearer canary-of-the-room"])
        self.assertNotIn("canary", done.stdout + done.stderr)

    # --- reload

    def test_a_reload_says_what_came_of_it(self):
        self.fresh()
        self.write(LIVE)
        self.service().ready()
        self.write(LIVE + '[life]\nday_end = true\n')
        good = self.run_it("reload")
        self.assertEqual(good.returncode, 0, good.stderr)
        self.assertRegex(good.stdout, r"^reloaded: watching \d+ pivots? on 1 feed,")
        self.write(LIVE + "[rules]\nrange = -5\n")
        bad = self.run_it("reload")
        self.assertEqual(bad.returncode, 3)
        self.assertRegex(bad.stderr, r"(?m)^/etc/brimwatch/brimwatch\.toml:\d+:\d+: ")
        self.assertIn("the old settings stay in force", bad.stderr)

    def test_a_reload_that_the_daemon_refuses_fails(self):
        """The file that is checked is sound; the daemon's own is not."""
        self.fresh()
        self.write(LIVE)
        self.service().ready()
        other = pathlib.Path(self.home) / "other.toml"
        other.write_text(f'watch_lists = ["{ETC}/weekend.toml"]\n' + LIVE)
        self.write("[rules]\nrange = -5\n" + LIVE)
        done = self.run_it("reload", "--system", "--config", other)
        self.assertEqual(done.returncode, 3, done.stdout)
        self.assertIn("the old configuration stays in force", done.stderr)

    def test_a_reload_without_a_daemon_cannot_be(self):
        self.fresh()
        self.write(LIVE)
        self.assertEqual(self.run_it("reload", "--system").returncode, 5)

    # --- a held journal

    def test_a_second_daemon_ends_with_a_code_of_its_own(self):
        self.fresh()
        self.write(LIVE)
        first = self.service()
        first.ready()
        second = self.run_it("run", "--config", ETC / "brimwatch.toml", "--journal", STATE / "journal.db", "--socket",
                             f"{self.home}/sock")
        self.assertEqual(second.returncode, 6, second.stderr)
        self.assertIn(f"process {first.process.pid}", second.stderr + second.stdout)
        units = pathlib.Path(__file__).parents[2] / "scripts/units"
        for unit in units.glob("*.service"):
            self.assertRegex(unit.read_text(), r"(?m)^RestartPreventExitStatus=.*\b6\b", unit)

    # --- for programs

    def test_a_notice_of_which_instance_is_no_part_of_the_answer(self):
        self.fresh()
        self.write(LIVE)
        self.service().ready()
        done = self.run_it("now", "--json")
        self.assertIn("watches", json.loads(done.stdout))
        names = self.run_it("check", "--names")
        self.assertEqual(names.stderr, "")
        self.assertIn("KLVN", names.stdout)


if __name__ == "__main__":
    enter_namespace()
    unittest.main(argv=sys.argv[:1], verbosity=1)
