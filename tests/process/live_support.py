"""A daemon as a process, and sources for it to listen to: an independent WebSocket server (python3-websockets) and an
independent HTTP server (Python's own). Everything waits for what is said, with deadlines; never for a fixed time."""
import asyncio
import datetime
import http.server
import json
import os
import pathlib
import re
import signal
import socket
import subprocess
import tempfile
import threading
import time
import unittest

import websockets

PATIENCE = 60  # seconds until a test gives up


def wait_for(what, condition):
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        asked = time.monotonic()
        value = condition()
        if value:
            return value
        # A condition that runs a command under the sanitizers would else keep a processor busy with asking.
        time.sleep(max(0.01, 2 * (time.monotonic() - asked)))
    raise AssertionError(f"waited {PATIENCE} s in vain for {what}")


def close_the_exchange(where):
    """What the configuration in that folder is to hold so that nothing trades now: what a test sees is then the same at any hour."""
    near = [(datetime.date.today() + datetime.timedelta(days=n)).isoformat() for n in (-1, 0, 1)]
    closed = ", ".join(f'{{ date = "{day}", closed = true, why = "a test" }}' for day in near)
    (where / "closed-now.toml").write_text(f'mic = "XNYS"\nday = [{closed}]\n')
    return 'calendar_files = ["closed-now.toml"]\n'


class Daemon:
    """brimwatch run in a folder of its own, the exchange closed unless the test says otherwise. `config` is the whole configuration
    but for the channel."""

    def __init__(self, program, config=""):
        self.program = program
        self.folder = tempfile.TemporaryDirectory()
        self.where = pathlib.Path(self.folder.name)
        self.journal = self.where / "j.db"
        self.process = None
        self.under = []  # a command that runs the daemon, in its own process
        self.write(config)

    def write(self, config):
        """Ticks of tests are of a day long past, which is told only where that is asked for; a test may say otherwise."""
        if "past_days" not in config:
            config = re.sub(r'^(kind = "(?:pipe|stream|poll|events)")$', r'\1\npast_days = "tell"', config, flags=re.MULTILINE)
        if "[session]" not in config:
            config += f"\n[session]\n{close_the_exchange(self.where)}"
        (self.where / "b.toml").write_text(config)

    def start(self, **environment):
        self.launch(**environment)
        wait_for("the control socket", lambda: self.now() is not None or self.process.poll() is not None)
        assert self.process.poll() is None, self.said()

    def launch(self, **environment):
        self.log = open(self.where / "log", "ab")
        self.process = subprocess.Popen(
            [*self.under, self.program, "run", "--config", self.where / "b.toml", "--journal", self.journal, "--socket", self.where / "sock"],
            stdout=self.log, stderr=self.log, env={**os.environ, "TZ": "UTC", **environment})

    def said(self):
        return (self.where / "log").read_text()

    def reload(self):
        self.process.send_signal(signal.SIGHUP)

    def stop(self):
        self.process.send_signal(signal.SIGTERM)
        status = self.process.wait(timeout=PATIENCE)
        lost = "not everything could be written" in self.said()
        assert status == (1 if lost else 0), self.said()
        self.log.close()
        assert "ERROR: " not in self.said(), self.said()  # a sanitizer's report

    def kill(self):
        self.process.kill()
        self.process.wait()
        self.log.close()

    def close(self):
        if self.process and self.process.poll() is None:
            self.kill()
        self.folder.cleanup()

    def run(self, *arguments):
        return subprocess.run([self.program, *arguments], capture_output=True, text=True)

    def now(self):
        """What `brimwatch now --json` prints, asked at the control socket itself: a test asks a hundred times. None: no answer."""
        with socket.socket(socket.AF_UNIX) as asked:
            asked.settimeout(PATIENCE)
            try:
                asked.connect(str(self.where / "sock"))
                asked.sendall(b'{"ask":"now"}\n')
                answer = b"".join(iter(lambda: asked.recv(65536), b""))
            except OSError:
                return None
        return json.loads(answer) if answer else None

    def feed(self, name):
        return next(row for row in self.now()["feeds"] if row["name"] == name)

    def kept(self):
        """The journal's notices, each the bytes that `journal --json` prints."""
        return self.run("journal", "--json", "--journal", self.where / "j.db").stdout.splitlines()

    def lines(self):
        """Notices about stocks: what is said of the feeds is of the live run."""
        about_us = ("feed-silent", "feed-late", "feed-back", "self-check")
        return [line for line in self.kept() if json.loads(line)["kind"] not in about_us]

    def kinds(self):
        return [json.loads(line)["kind"] for line in self.lines()]

    def recordings(self):
        return sorted((self.where / "rec").iterdir())

    def replayed(self, recording):
        run = self.run("replay", recording, "--config", self.where / "b.toml", "--json")
        assert run.returncode == 0, run.stderr
        return run.stdout.splitlines()


class PipeCase(unittest.TestCase):
    """A daemon that reads ticks from a pipe. A test case gives PROGRAM and `config(fifo)`, the whole configuration."""

    def setUp(self):
        self.daemon = Daemon(self.PROGRAM)
        self.where = self.daemon.where
        self.starts, self.pipe, self.environment = 0, None, {}

    def tearDown(self):
        self.daemon.close()
        if self.pipe:
            self.pipe.close()

    def start(self):
        # A pipe of its own for each start: the child of a daemon that was killed may still be reading the old one.
        self.starts += 1
        self.fifo = self.where / f"ticks{self.starts}"
        os.mkfifo(self.fifo)
        self.daemon.write(self.config(self.fifo))
        self.daemon.launch(**self.environment)
        if self.pipe:
            self.pipe.close()
        self.pipe = open(self.fifo, "w", buffering=1)  # opens when the daemon's child reads
        wait_for("the control socket", lambda: self.now() is not None)

    def stop(self):
        self.daemon.stop()

    def now(self):
        return self.daemon.now()

    def notices(self):
        return [json.loads(line) for line in self.daemon.kept()]

    def tick(self, clock, price, size=5000, day="2026-10-14"):
        self.pipe.write(json.dumps({"time": f"{day}T{clock}-04:00", "symbol": "KLVN", "price": price, "size": size}) + "\n")

    def delivered(self):
        """What came through the channel that writes to a file, whole lines only."""
        file = self.where / "delivered"
        lines = file.read_text().splitlines() if file.exists() else []
        return [json.loads(line) for line in lines if line.endswith("}")]


class StreamSource:
    """A WebSocket server in a thread. `answer` maps what a client says to what it is told, or None."""

    def __init__(self, answer=lambda text: None):
        self.answer = answer
        self.heard = []
        self.port = 0
        self.opened = 0
        self.connections = set()
        self.loop = asyncio.new_event_loop()
        threading.Thread(target=self.loop.run_forever, daemon=True).start()
        self.listen()

    def do(self, what):
        return asyncio.run_coroutine_threadsafe(what, self.loop).result(PATIENCE)

    async def serve_one(self, socket, path):
        self.opened += 1
        self.connections.add(socket)
        try:
            async for message in socket:
                reply = self.answer(message)
                if reply is not None:
                    await socket.send(reply)
                self.heard.append(message)
        except websockets.ConnectionClosed:
            pass
        self.connections.discard(socket)

    def listen(self):
        async def begin():
            return await websockets.serve(self.serve_one, "127.0.0.1", self.port, compression=None, ping_interval=None)

        self.server = self.do(begin())
        self.port = self.server.sockets[0].getsockname()[1]

    def send(self, *messages):
        async def put():
            for socket in list(self.connections):
                for message in messages:
                    await socket.send(message)

        self.do(put())

    def die(self):
        """As when its machine goes: connections are cut, nobody listens."""

        async def gone():
            for socket in list(self.connections):
                socket.transport.abort()
            self.server.close()
            await self.server.wait_closed()

        self.do(gone())

    def wait_heard(self, what):
        wait_for(f"a client to say {what}", lambda: any(what in text for text in self.heard))

    def close(self):
        if self.server.is_serving():
            self.die()
        self.loop.call_soon_threadsafe(self.loop.stop)


class SnapshotSource:
    """An HTTP server that answers each GET with the next of `bodies`, the last one again and again."""

    def __init__(self, bodies):
        source = self
        self.bodies = list(bodies)
        self.asked = []

        class Handler(http.server.BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def log_message(self, *arguments):
                pass

            def do_GET(self):
                source.asked.append((self.path, dict(self.headers)))
                body = (source.bodies.pop(0) if len(source.bodies) > 1 else source.bodies[0]).encode()
                self.send_response(200)
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                self.wfile.write(body)

        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.port = self.server.server_address[1]
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def close(self):
        self.server.shutdown()
        self.server.server_close()
