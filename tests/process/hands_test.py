#!/usr/bin/python3
"""The daemon among hostile peers, links, limits and environments. Usage: hands_test.py BRIMWATCH

Sources: unix(7), symlink(7), setrlimit(2) and signal(7) for what the kernel does; RFC 6455 section 5.5.3 for pings.
"""
import base64
import http.server
import json
import os
import pathlib
import re
import socket
import subprocess
import sys
import tempfile
import threading
import unittest

from live_support import Daemon, wait_for

BRIMWATCH = sys.argv[1]
WATCH = '[[watch]]\nsymbol = "KLVN"\npivot = 20.05\nnormal_volume = "1M"\n'
PIPE = '[[feed]]\nname = "plug"\nkind = "pipe"\ncommand = ["sh", "-c", "sleep 1000"]\n'
OSC52 = "\x1b]52;c;cm0gLXJmIH4=\x07"  # writes a terminal's clipboard
TURNED = "\u202e"  # what follows is read from right to left


def free_port():
    with socket.create_server(("127.0.0.1", 0)) as one:
        return one.getsockname()[1]


def memory_kib(process):
    return int(re.search(r"VmRSS:\s+(\d+)", pathlib.Path(f"/proc/{process.pid}/status").read_text())[1])


class Hands(unittest.TestCase):
    def daemon(self, config, start=True, **environment):
        daemon = Daemon(BRIMWATCH, config)
        self.addCleanup(daemon.folder.cleanup)
        if start:
            daemon.start(**environment)
            self.addCleanup(self.end, daemon)
        return daemon

    @staticmethod
    def end(daemon):
        if daemon.process.poll() is None:
            daemon.process.kill()
        daemon.process.wait()
        daemon.log.close()

    # --- files

    def test_a_file_where_the_socket_should_be_stays(self):
        daemon = self.daemon(PIPE + WATCH, start=False)
        (daemon.where / "sock").write_text("my only copy")
        daemon.launch()
        self.addCleanup(self.end, daemon)
        wait_for("the trouble", lambda: "is no socket; it was left alone" in daemon.said())
        self.assertEqual((daemon.where / "sock").read_text(), "my only copy")

    def test_one_journal_has_one_daemon_whatever_it_is_called(self):
        daemon = self.daemon(PIPE + WATCH)
        os.symlink(daemon.journal, daemon.where / "link.db")
        os.mkdir(daemon.where / "folder")
        os.symlink("../j.db", daemon.where / "folder" / "again.db")
        for name in ("link.db", "folder/again.db", "folder/../j.db"):
            done = subprocess.run([BRIMWATCH, "run", "--config", daemon.where / "b.toml", "--journal", daemon.where / name,
                                   "--socket", daemon.where / "other"], capture_output=True, text=True, timeout=60)
            self.assertEqual(done.returncode, 6, name)
            self.assertIn("another brimwatch holds it", done.stderr)

    def test_a_lock_that_is_a_link_cuts_nothing(self):
        daemon = self.daemon(PIPE + WATCH, start=False)
        (daemon.where / "letter").write_text("my only copy")
        os.symlink(daemon.where / "letter", str(daemon.journal) + ".lock")
        daemon.start()
        self.addCleanup(self.end, daemon)
        self.assertIn("is a link; it was left alone", daemon.said())
        self.assertEqual((daemon.where / "letter").read_text(), "my only copy")

    # --- the terminal

    def test_now_shows_nothing_that_steers_a_terminal(self):
        where = tempfile.TemporaryDirectory()
        self.addCleanup(where.cleanup)
        path = where.name + "/sock"
        hostile = OSC52 + TURNED + "\x9b2J"
        view = {"day": "2026-11-25", "time": "2026-11-25T10:00:00-05:00", "session": "open", "trend": "up",
                "feeds": [{"name": "main", "state": "down", "text": "moved to " + hostile}], "watches": [],
                "journal_trouble": hostile, "recording": None}
        with socket.socket(socket.AF_UNIX) as listener:
            listener.bind(path)
            listener.listen()
            for options in ([], ["--json"]):
                asker = subprocess.Popen([BRIMWATCH, "now", "--socket", path, *options], stdout=subprocess.PIPE)
                peer, _ = listener.accept()
                peer.recv(4096)
                peer.sendall((json.dumps(view, ensure_ascii=False) + "\n").encode())
                peer.close()
                out = asker.communicate(timeout=60)[0].decode()
                self.assertIn("moved to", out)
                self.assertFalse(set("\x1b\x07\x9b\u202e") & set(out), repr(out))
                if options:
                    self.assertEqual(json.loads(out), view)

    def test_nor_do_names_and_headers_of_files(self):
        where = tempfile.TemporaryDirectory()
        self.addCleanup(where.cleanup)
        place = pathlib.Path(where.name)
        (place / "c.toml").write_text(WATCH)
        (place / "day.csv").write_text("time,symbol," + OSC52 + TURNED + ",price\n")
        (place / ("bars" + OSC52 + TURNED + ".csv")).write_text("nothing\n")
        for args in (["replay", place / "day.csv", "--config", place / "c.toml"],
                     ["learn", place / ("bars" + OSC52 + TURNED + ".csv"), "--curves", place / "k.toml"],
                     ["nonsense" + OSC52], ["now", "--" + OSC52 + TURNED], ["check", "--config", place / OSC52]):
            done = subprocess.run([BRIMWATCH, *args], capture_output=True, timeout=60)
            self.assertNotEqual(done.returncode, 0, args)
            said = (done.stdout + done.stderr).decode()
            self.assertFalse(set("\x1b\x07\u202e") & set(said), repr(said))

    # --- peers

    def test_eighty_half_requests_do_not_shut_the_page(self):
        port = free_port()
        self.daemon(f"[page]\non = true\nport = {port}\n" + PIPE + WATCH)
        halves = []
        for _ in range(80):
            halves.append(socket.create_connection(("127.0.0.1", port)))
            halves[-1].sendall(b"GET /now HT")
        with socket.create_connection(("127.0.0.1", port), timeout=60) as peer:
            peer.sendall(f"GET /now HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n".encode())
            answer = b""
            while part := peer.recv(65536):
                answer += part
        self.assertTrue(answer.startswith(b"HTTP/1.1 200"), answer[:100])
        for half in halves:
            half.close()

    def test_another_user_of_the_machine_reads_no_page(self):
        if os.geteuid() != 0:
            self.skipTest("only root can become another user")
        port = free_port()
        daemon = self.daemon(f"[page]\non = true\nport = {port}\n" + PIPE + WATCH)
        ask = ("import socket,sys; s=socket.create_connection(('127.0.0.1',%d)); "
               "s.sendall(b'GET /now HTTP/1.1\\r\\nHost: 127.0.0.1:%d\\r\\n\\r\\n'); print(s.recv(100).decode())" % (port, port))
        said = subprocess.run(["/usr/bin/python3", "-c", ask], user=12345, capture_output=True, text=True, timeout=60).stdout
        self.assertTrue(said.startswith("HTTP/1.1 403"), said)
        daemon.write(f"[page]\non = true\nport = {port}\neverybody = true\n" + PIPE + WATCH)
        daemon.reload()
        wait_for("the page for everybody", lambda: subprocess.run(["/usr/bin/python3", "-c", ask], user=12345, capture_output=True,
                                                                  text=True, timeout=60).stdout.startswith("HTTP/1.1 200"))

    def test_without_descriptors_accept_rests(self):
        """With none left, accept fails at once, every time: a processor's whole time went into it."""
        # The undefined-behaviour sanitizer asks by a pipe whether memory can be read (compiler-rt, IsAccessibleMemoryRange): without
        # descriptors it takes every object for a wrong one.
        version = subprocess.run([BRIMWATCH, "--version"], capture_output=True, text=True).stdout
        if "undefined" in version:
            self.skipTest("the sanitizer itself needs descriptors; seen by the builds without it")
        port = free_port()
        daemon = self.daemon(f"[page]\non = true\nport = {port}\n" + PIPE + WATCH, start=False)
        daemon.under = ["/bin/sh", "-c", 'ulimit -n 40; exec "$@"', "sh"]
        daemon.start()
        self.addCleanup(self.end, daemon)
        peers = [socket.create_connection(("127.0.0.1", port)) for _ in range(50)]

        def cpu():
            return sum(map(int, pathlib.Path(f"/proc/{daemon.process.pid}/stat").read_text().rsplit(")", 1)[1].split()[11:13]))

        def voluntary():  # switches of a thread that sleeps: it goes on doing so
            return int(re.search(r"^voluntary_ctxt_switches:\s+(\d+)", pathlib.Path(f"/proc/{daemon.process.pid}/status").read_text(), re.M)[1])
        before, slept = cpu(), voluntary()
        wait_for("the loop to rest twenty times", lambda: voluntary() - slept > 20 or cpu() - before > 300)
        self.assertLess(cpu() - before, 100, "hundredths of a second of its processor")
        for peer in peers:
            peer.close()
        wait_for("the daemon to answer again", daemon.now)

    # --- the machine

    def test_output_that_did_not_get_onto_the_disk_is_a_failure(self):
        for args in (["pace", "--normal", "1.3M", "--so-far", "410k", "--at", "10:15"], ["--help"], ["check", "--help"]):
            with open("/dev/full", "w") as full:  # full(4): every write fails with ENOSPC
                done = subprocess.run([BRIMWATCH, *args], stdout=full, stderr=subprocess.PIPE, text=True, timeout=60)
            self.assertEqual(done.returncode, 1, args)
            if args[0] == "pace":
                self.assertIn("standard output: not all of it could be written", done.stderr)

    def test_closed_descriptors_are_no_journals(self):
        daemon = self.daemon(PIPE + WATCH, start=False)
        pid = os.fork()
        if pid == 0:
            for descriptor in (0, 1, 2):
                os.close(descriptor)
            os.execv(BRIMWATCH, [BRIMWATCH, "run", "--config", str(daemon.where / "b.toml"), "--journal", str(daemon.journal),
                                 "--socket", str(daemon.where / "sock")])
        self.addCleanup(lambda: (os.kill(pid, 9), os.waitpid(pid, 0)))
        wait_for("the daemon", daemon.now)
        self.assertEqual([os.readlink(f"/proc/{pid}/fd/{number}") for number in range(3)], ["/dev/null"] * 3)

    def test_a_limit_on_the_size_of_files_does_not_end_it(self):
        daemon = self.daemon(PIPE + WATCH, start=False)
        daemon.under = ["/bin/sh", "-c", 'ulimit -f 16; exec "$@"', "sh"]  # 16 blocks: smaller than any journal
        daemon.launch()
        self.addCleanup(self.end, daemon)
        wait_for("the daemon", lambda: daemon.now() or daemon.process.poll() is not None)
        self.assertIsNone(daemon.process.poll(), daemon.said())
        self.assertIn("journal", daemon.said())

    def test_a_feeds_program_gets_no_secrets(self):
        daemon = self.daemon('[[feed]]\nname = "plug"\nkind = "pipe"\ncommand = ["sh", "-c", "env > seen; sleep 1000"]\n'
                             'environment = ["REGION"]\n'.replace("> seen", "> '%s'" % "SEEN") + WATCH, start=False)
        seen = daemon.where / "seen"
        daemon.write((daemon.where / "b.toml").read_text().replace("SEEN", str(seen)))
        daemon.start(BROKER_TOKEN="opensesame", REGION="north")
        self.addCleanup(self.end, daemon)
        wait_for("what the program sees", lambda: seen.exists() and "PATH=" in seen.read_text())
        self.assertNotIn("opensesame", seen.read_text())
        self.assertIn("REGION=north", seen.read_text())

    def test_heartbeat_and_key_stay_between_us_and_the_source(self):
        class Watchdog(http.server.BaseHTTPRequestHandler):
            asked = []

            def do_GET(self):
                Watchdog.asked.append(self.path)
                self.send_response(200)
                self.send_header("Content-Length", "2")
                self.end_headers()
                self.wfile.write(b"[]")

            def log_message(self, *_):
                pass
        server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Watchdog)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        self.addCleanup(server.server_close)
        self.addCleanup(server.shutdown)
        at = f"http://127.0.0.1:{server.server_port}"
        daemon = self.daemon(f'[life]\nheartbeat_url = "{at}/alive"\nheartbeat_every = 1\n'
                             f'[[feed]]\nname = "asked"\nkind = "poll"\nurl = "{at}/quotes?key=opensesame&s={{symbols}}"\n'
                             'insecure_loopback = true\ninterval = 0.1\nfields = { symbol = "/s", price = "/p" }\n' + WATCH,
                             http_proxy="http://127.0.0.1:9", all_proxy="http://127.0.0.1:9")
        wait_for("a request and a heartbeat", lambda: {path.split("?")[0] for path in Watchdog.asked} >= {"/alive", "/quotes"})
        self.assertNotIn("opensesame", daemon.said())
        self.assertNotIn("opensesame", json.dumps(daemon.now()))

    def test_a_signing_secret_is_not_left_in_memory(self):
        class Receiver(http.server.BaseHTTPRequestHandler):
            got = threading.Event()

            def do_POST(self):
                self.rfile.read(int(self.headers["Content-Length"]))
                self.send_response(200)
                self.send_header("Content-Length", "0")
                self.end_headers()
                Receiver.got.set()

            def log_message(self, *_):
                pass
        server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Receiver)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        self.addCleanup(server.server_close)
        self.addCleanup(server.shutdown)
        daemon = self.daemon("", start=False)
        key = os.urandom(32)
        secret = "whsec_" + base64.b64encode(key).decode()
        (daemon.where / "hook").write_text(secret + "\n")
        (daemon.where / "hook").chmod(0o600)
        daemon.write(f'[[channel]]\nname = "hook"\nkind = "webhook"\nurl = "http://127.0.0.1:{server.server_port}/"\n'
                     f'insecure_loopback = true\nsecret = {{ file = "{daemon.where / "hook"}" }}\nkinds = ["self-check"]\n'
                     '[life]\nmorning = "00:01"\n' + PIPE + WATCH)
        # A start without a journal that can be written is a notice of its own.
        os.mkdir(daemon.journal)
        daemon.start()
        self.addCleanup(self.end, daemon)
        self.assertTrue(Receiver.got.wait(60), daemon.said())
        wait_for("the delivery to end", lambda: daemon.now()["channels"][0]["delivered"] > 0)
        self.assertFalse(self.in_memory(daemon.process.pid, secret[6:].encode()))
        self.assertFalse(self.in_memory(daemon.process.pid, key))

    @staticmethod
    def in_memory(pid, what):
        with open(f"/proc/{pid}/mem", "rb", 0) as memory:
            for line in pathlib.Path(f"/proc/{pid}/maps").read_text().splitlines():
                begin, end = (int(part, 16) for part in line.split()[0].split("-"))
                if "rw" not in line.split()[1] or end - begin > 1 << 30:
                    continue
                try:
                    memory.seek(begin)
                    if what in memory.read(end - begin):
                        return True
                except OSError:
                    pass
        return False


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=1)
