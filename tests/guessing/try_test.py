#!/usr/bin/python3
"""brimwatch feeds try and feeds map against real servers: WebSocket (python3-websockets), with TLS, and HTTP (Python's own).

Usage: try_test.py BRIMWATCH.
"""
import http
import json
import os
import pathlib
import re
import shlex
import ssl
import subprocess
import sys
import unittest

import websockets

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "process"))
sys.path.insert(0, str(pathlib.Path(__file__).parent))
from event_source import EventSource  # noqa: E402
from live_support import Daemon, SnapshotSource, StreamSource, wait_for  # noqa: E402
from market import Market  # noqa: E402

import tempfile  # noqa: E402

PROGRAM = sys.argv.pop(1)
SECRET = "sesam-4711-offen"


def trade(e, c=None):
    return json.dumps({"T": "t", "S": e["s"], "p": e["p"], "q": e["q"], "t": e["ns"] // 10**6, **({"c": c} if c else {})})


class Secured(StreamSource):
    """The same behind TLS; it takes a path and a token, or refuses with an HTTP status."""

    def __init__(self, folder, names, answer=lambda text: None):
        self.folder = pathlib.Path(folder)
        subprocess.run(["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-keyout", self.folder / "key", "-out",
                        self.folder / "pem", "-days", "1", "-subj", "/CN=test", "-addext", f"subjectAltName={names}"], check=True, capture_output=True)
        super().__init__(answer)

    def listen(self):
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(self.folder / "pem", self.folder / "key")

        async def process(path, headers):
            if path != "/v1":
                return http.HTTPStatus.NOT_FOUND, [], b"no such stream\n"
            return None if headers.get("Authorization") == f"Bearer {SECRET}" else (http.HTTPStatus.UNAUTHORIZED, [], b"who are you\n")

        async def begin():
            return await websockets.serve(self.serve_one, "127.0.0.1", self.port, compression=None, ping_interval=None, ssl=context, process_request=process)

        self.server = self.do(begin())
        self.port = self.server.sockets[0].getsockname()[1]


class Try(unittest.TestCase):
    maxDiff = None

    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.where = pathlib.Path(folder.name)

    def config(self, url, more="", rules="", kind="stream"):
        loopback = "" if url.startswith("wss") else "insecure_loopback = true\n"
        subscribe = 'subscribe = \'{"want":{symbols_json}}\'\n' if kind == "stream" else ""
        (self.where / "b.toml").write_text(f"""
[[watch]]
symbol = "KLVN"
pivot = 48.35
normal_volume = 1_300_000
[[watch]]
symbol = "ORRI"
pivot = 230
normal_volume = 1_300_000
[[feed]]
name = "main"
kind = "{kind}"
url = "{url}"
{loopback}{subscribe}{more}
default_kind = ""
kind_words = {{ t = "trade", hb = "ignore" }}
rules = [{rules}]
fields = {{ kind = "/T", symbol = "/S", price = "/p", size = "/q", time = "/t", time_format = "ms", conditions = "/c" }}
""")
        return self.where / "b.toml"

    def attempt(self, *arguments, environment=None, config=None):
        run = subprocess.run([PROGRAM, "feeds", "try", "--config", self.where / "b.toml", *arguments], capture_output=True, text=True, env={**os.environ, **(environment or {})}, timeout=60)
        self.assertNotIn(SECRET, run.stdout + run.stderr)
        return run

    def source(self, messages):
        """Sends the messages to whoever has asked for symbols."""

        class Asked(StreamSource):
            async def serve_one(self, socket, path):
                try:
                    async for message in socket:
                        for text in messages if "want" in message else []:
                            await socket.send(text)
                except websockets.ConnectionClosed:
                    pass

        source = Asked()
        self.addCleanup(source.close)
        return source

    def test_each_step_and_what_came(self):
        m = Market(4, symbols=1)
        messages = ['{"T":"hb"}', *(trade(m.trade(), ["@"]) for _ in range(6)), trade(m.trade(), ["odd thing"]), '{"T":"weather"}', '{"T":"t","S":"KLVN","p":"much"}', '{"T":"t","S":"ZORK","p":1,"q":1,"t":1}']
        source = self.source(messages)
        self.config(f"ws://127.0.0.1:{source.port}/")
        run = self.attempt("--messages", str(len(messages)))
        self.assertEqual(run.returncode, 0, run.stdout + run.stderr)
        text = re.sub(r"\s+", " ", run.stdout)
        steps = ["resolved to 127.0.0.1, connected", "upgraded to a WebSocket", "asked for 2 symbols", "the first message is here", "7 became ticks", "trade: 7", "price /p 48", "passed over: 1",
                 "of unknown kind: 1", "not readable: 1", "of symbols not asked for: 1", "odd thing (1)", "asked for and not heard: ORRI", "delay between", "it works"]
        at = 0
        for step in steps:
            self.assertIn(step, text[at:] if step != "delay between" else text, run.stdout)
        self.assertEqual([line for line in run.stdout.splitlines() if len(line) > 80], [])

    def test_json_for_a_program(self):
        m = Market(4, symbols=1)
        source = self.source([trade(m.trade()) for _ in range(3)])
        self.config(f"ws://127.0.0.1:{source.port}/")
        run = self.attempt("--messages", "3", "--json")
        lines = [json.loads(line) for line in run.stdout.splitlines()]
        self.assertTrue(lines[-1]["works"])
        self.assertEqual(lines[-1]["ticks"], 3)
        self.assertEqual(lines[-1]["not_heard"], ["ORRI"])
        self.assertTrue(any("upgraded" in line.get("step", "") for line in lines))

    def test_tls_wrong_token_wrong_path_and_a_stranger(self):
        source = Secured(self.where, "IP:127.0.0.1", lambda text: trade(Market(4, symbols=1).trade()))
        self.addCleanup(source.close)
        key = f'headers = {{ Authorization = "Bearer {{secret}}" }}\nsecret = {{ env = "TRY_KEY" }}\nca_file = "{self.where}/pem"'
        self.config(f"wss://127.0.0.1:{source.port}/v1", key)
        good = self.attempt("--messages", "1", environment={"TRY_KEY": SECRET})
        self.assertEqual(good.returncode, 0, good.stdout)
        self.assertIn("encrypted with TLSv1", good.stdout)
        wrong = self.attempt(environment={"TRY_KEY": "wrong"})
        self.assertEqual(wrong.returncode, 1)
        self.assertIn("HTTP 401", wrong.stdout)
        self.config(f"wss://127.0.0.1:{source.port}/v2", key)
        self.assertIn("HTTP 404", self.attempt(environment={"TRY_KEY": SECRET}).stdout)
        self.config(f"wss://127.0.0.1:{source.port}/v1", key.replace(f'ca_file = "{self.where}/pem"', ""))
        stranger = self.attempt(environment={"TRY_KEY": SECRET})
        self.assertEqual(stranger.returncode, 1)
        self.assertRegex(stranger.stdout, "TLS: .*self-signed")
        missing = self.attempt(environment={})
        self.assertEqual(missing.returncode, 1)
        self.assertIn("TRY_KEY", missing.stdout)

    def test_a_login_that_is_refused_and_one_that_is_taken(self):
        def answer(text):
            if "login" in text:
                return '{"login":"ok"}' if SECRET in text else f'{{"login":"no, {json.loads(text)["login"]} is no key"}}'
            return trade(Market(4, symbols=1).trade())

        source = StreamSource(answer)
        self.addCleanup(source.close)
        rules = '{ at = "/login", equals = "ok", kind = "accepted" }, { at = "/login", equals = "*", kind = "refused" }'
        self.config(f"ws://127.0.0.1:{source.port}/", 'hello = [\'{"login":"{secret}"}\']\nsecret = { env = "TRY_KEY" }', rules)
        good = self.attempt("--messages", "2", environment={"TRY_KEY": SECRET})
        self.assertEqual(good.returncode, 0, good.stdout)
        self.assertIn("logged in", good.stdout)
        bad = self.attempt(environment={"TRY_KEY": "guessed-key"})
        self.assertEqual(bad.returncode, 1)
        self.assertIn("is no key", re.sub(r"\s+", " ", bad.stdout))
        self.assertNotIn("guessed-key", bad.stdout)

    def test_silence_and_nobody_there(self):
        source = self.source([])
        self.config(f"ws://127.0.0.1:{source.port}/")
        run = self.attempt("--seconds", "1")
        self.assertEqual(run.returncode, 1)
        self.assertIn("nothing came", run.stdout)
        source.die()
        gone = self.attempt()
        self.assertEqual(gone.returncode, 1)
        self.assertIn("refused", gone.stdout)
        self.config("wss://nowhere.invalid/")
        self.assertEqual(self.attempt().returncode, 1)

    def test_messages_that_the_mapping_does_not_fit(self):
        source = self.source(['{"T":"t","sym":"KLVN","px":48.2}'] * 3)
        self.config(f"ws://127.0.0.1:{source.port}/")
        run = self.attempt("--messages", "3")
        self.assertEqual(run.returncode, 1)
        self.assertIn("none became a price", re.sub(r"\s+", " ", run.stdout))

    def test_an_address_that_is_polled(self):
        e = Market(4, symbols=1).trade()
        source = SnapshotSource([f"[{trade(e)}]"])
        self.addCleanup(source.close)
        self.config(f"http://127.0.0.1:{source.port}/last?of={{symbols}}", kind="poll")
        run = self.attempt("--messages", "1")
        self.assertEqual(run.returncode, 0, run.stdout + run.stderr)
        self.assertIn("/last?of=", source.asked[0][0])

    def events(self, pieces):
        """A real HTTP server of server-sent events (Python's own) that then stays silent; each piece as it is."""
        source = EventSource()
        self.addCleanup(source.close)
        for piece in pieces:
            source.send(piece)
        return source

    @staticmethod
    def event_of(number, text, name="trade"):
        return f"id: {number}\nevent: {name}\ndata: {text}\n\n"

    def test_server_sent_events(self):
        m = Market(4, symbols=1)
        pieces = [": welcome\n\nretry: 2000\n\n", *(self.event_of(i, trade(m.trade())) for i in range(5)), self.event_of(9, '{"T":"hb"}', "beat")]
        source = self.events(pieces)
        self.config(f"http://127.0.0.1:{source.port}/stream?of={{symbols}}", kind="events", more='headers = { Authorization = "Bearer {secret}" }\nsecret = { env = "TRY_KEY" }')
        run = self.attempt("--messages", "6", environment={"TRY_KEY": SECRET})
        self.assertEqual(run.returncode, 0, run.stdout + run.stderr)
        text = re.sub(r"\s+", " ", run.stdout)
        for step in ("connecting to http://127.0.0.1", "the first message is here", "6 messages", "5 became ticks", "trade: 5", "asked for and not heard: ORRI", "it works"):
            self.assertIn(step, text)
        path, headers = source.asked[0]
        self.assertEqual((path, headers["authorization"], headers["accept"]), ("/stream?of=KLVN,ORRI", f"Bearer {SECRET}", "text/event-stream"))
        source.status = 403
        refused = self.attempt("--seconds", "5", environment={"TRY_KEY": SECRET})
        self.assertEqual(refused.returncode, 1)
        self.assertIn("HTTP 403", refused.stdout)

    def test_events_that_are_packed_and_cut_anywhere(self):
        m = Market(4, symbols=1)
        source = EventSource()
        source.gzip = True
        self.addCleanup(source.close)
        for i in range(5):
            source.send(self.event_of(i, trade(m.trade())), cut=7)
        self.config(f"http://127.0.0.1:{source.port}/", kind="events")
        run = self.attempt("--messages", "5")
        self.assertEqual(run.returncode, 0, run.stdout + run.stderr)
        self.assertIn("5 became ticks", run.stdout)

    def mapped(self, *arguments):
        run = subprocess.run([PROGRAM, "feeds", "map", *map(str, arguments)], capture_output=True, text=True, env={**os.environ, "TRY_KEY": SECRET}, timeout=60)
        self.assertEqual(run.returncode, 0, run.stdout + run.stderr)
        self.assertNotIn(SECRET, run.stdout + run.stderr)
        return run

    def tried_as_mapped(self, config, messages):
        run = subprocess.run([PROGRAM, "feeds", "try", "mapped", "--config", config, "--messages", str(messages)], capture_output=True, text=True, env={**os.environ, "TRY_KEY": SECRET}, timeout=60)
        self.assertEqual(run.returncode, 0, run.stdout + run.stderr)
        return run.stdout

    def fresh_config(self):
        config = self.where / "fresh.toml"
        config.write_text('[[watch]]\nsymbol = "KLVN"\npivot = 48.35\nnormal_volume = 1_300_000\n')
        return config

    def test_map_of_live_events_that_nobody_announced(self):
        m = Market(4, symbols=2)
        pieces = [": welcome\n\n", *(self.event_of(i, trade(m.trade())) for i in range(40))]
        source, config = self.events(pieces), self.fresh_config()
        self.mapped(f"http://127.0.0.1:{source.port}/stream", "--insecure-loopback", "--messages", "40", "--secret-env", "TRY_KEY", "--header", "X-Key: {secret}", "--write", config)
        self.assertIn('kind = "events"', config.read_text())
        again = self.events(pieces)
        config.write_text(config.read_text().replace(str(source.port), str(again.port)))
        self.assertIn("became ticks", self.tried_as_mapped(config, 40))

    def test_map_of_an_address_that_is_polled(self):
        m = Market(4, symbols=3)
        bodies = [json.dumps({"quotes": [{"sym": e["s"], "last": e["p"], "volume": e["dv"], "ts": e["ns"] // 10**6} for e in (m.trade(s) for s in m.symbols)]}) for _ in range(12)]
        source, config = SnapshotSource(bodies), self.fresh_config()
        self.addCleanup(source.close)
        said = json.loads(self.mapped(f"http://127.0.0.1:{source.port}/last?of={{symbols}}", "--insecure-loopback", "--symbols", "KLVN,NIVO,HALQ", "--messages", "10", "--every", "0.1", "--json", "--write", config).stdout)
        self.assertEqual((said["fields"]["symbol"], said["fields"]["price"], said["fields"]["day_volume"], said["fields"]["time"]), ("/sym", "/last", "/volume", "/ts"))
        self.assertEqual(said["trial"]["ticks"], 30)
        text = config.read_text()
        self.assertIn('kind = "poll"', text)
        self.assertRegex(text, r"interval = 0\.1 ")
        self.tried_as_mapped(config, 1)

    def test_map_of_what_the_daemon_recorded(self):
        """A stream's and an events feed's, recorded with no mapping that fits: what one has of a source that is not understood yet."""
        m = Market(4, symbols=2)
        rows = [trade(m.trade()) for _ in range(40)]
        for kind in ("stream", "events"):
            with self.subTest(kind):
                source = self.source(rows) if kind == "stream" else self.events([self.event_of(i, row) for i, row in enumerate(rows)])
                scheme = "ws" if kind == "stream" else "http"
                self.config(f"{scheme}://127.0.0.1:{source.port}/", kind=kind)
                text = (self.where / "b.toml").read_text().replace("/p", "/nothing")
                daemon = Daemon(PROGRAM, text)
                self.addCleanup(daemon.close)
                daemon.write(text + f'[record]\ndirectory = "{daemon.where}/rec"\n')
                daemon.start()
                wait_for("forty messages", lambda: (daemon.now()["recording"] or {}).get("frames", 0) >= 40)
                daemon.stop()
                said = json.loads(self.mapped(daemon.recordings()[0], "--json").stdout)
                self.assertEqual({key: said["fields"][key] for key in ("symbol", "price", "size", "time")}, {"symbol": "/S", "price": "/p", "size": "/q", "time": "/t"})
                self.assertEqual(said["trial"]["ticks"], 40)

    def test_the_readme_s_first_real_feed_word_by_word(self):
        """Its own command, at a server of ours that wants the login and the question that stand there."""
        m = Market(4, symbols=2)
        rows, told = [trade(m.trade()) for _ in range(40)], []

        class Guarded(StreamSource):
            async def serve_one(self, socket, path):
                try:
                    async for message in socket:
                        told.append(json.loads(message))
                        if told[-1].get("do") == "watch" and told[-2] == {"do": "login", "key": SECRET}:
                            for row in rows:
                                await socket.send(row)
                except websockets.ConnectionClosed:
                    pass

        source = Guarded()
        self.addCleanup(source.close)
        text = (pathlib.Path(__file__).resolve().parents[2] / "README.md").read_text()
        steps = text[text.index("## Your first real feed"):text.index("## Answering back")]
        command = " ".join(re.search(r"\n +(brimwatch feeds map .*\n +--hello.*)", steps).group(1).replace("\\\n", " ").split())
        arguments = shlex.split(command.replace("wss://quotes.example.org/v1", f"ws://127.0.0.1:{source.port}/v1"))[1:]
        config = self.fresh_config()
        environment = {**os.environ, "QUOTES_KEY": SECRET}
        more = ["--insecure-loopback", "--messages", "40"]
        self.assertIn("The same with `--write", steps)
        look = subprocess.run([PROGRAM, *arguments, *more], capture_output=True, text=True, env=environment, timeout=60)
        write = subprocess.run([PROGRAM, *arguments, *more, "--write", config], capture_output=True, text=True, env=environment, timeout=60)
        check = subprocess.run([PROGRAM, "check", "--config", config], capture_output=True, text=True, env=environment, timeout=60)
        self.assertIn("`brimwatch feeds try mapped`", steps)
        tried = subprocess.run([PROGRAM, "feeds", "try", "mapped", "--config", config, "--messages", "40"], capture_output=True, text=True, env=environment, timeout=60)
        for run in (look, write, check, tried):
            self.assertEqual(run.returncode, 0, run.stdout + run.stderr)
            self.assertNotIn(SECRET, run.stdout + run.stderr)
        self.assertEqual(told[-1], {"do": "watch", "symbols": ["KLVN"]})
        self.assertIn("it works", tried.stdout)

    def test_the_house_s_own_source(self):
        """brimwatch serve, under the [[feed]] that it prints; and mapped from what it sends."""
        tape = self.where / "day.csv"
        rows = ["time,symbol,price,size,conditions,exchange,id"]
        for i in range(600):
            rows.append(f"2026-10-14T09:{30 + i // 60}:{i % 60:02d}.5-04:00,KLVN,48.{20 + i % 9},{100 + i % 7 * 100},@,N,{i + 1}")
        tape.write_text("\n".join(rows) + "\n")
        serve = subprocess.Popen([PROGRAM, "serve", tape, "--speed", "600"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        self.addCleanup(serve.wait)
        self.addCleanup(serve.terminate)
        feed = "".join(iter(serve.stdout.readline, "\n"))
        serve.stdout.close()
        (self.where / "b.toml").write_text('[[watch]]\nsymbol = "KLVN"\npivot = 48.35\nnormal_volume = 1_300_000\n' + feed)
        run = self.attempt("--messages", "40")
        self.assertEqual(run.returncode, 0, run.stdout + run.stderr)
        self.assertIn("logged in", run.stdout)
        self.assertIn("plays a past day", run.stdout)

    def test_names_and_arguments(self):
        self.config("ws://127.0.0.1:1/")
        none = self.attempt("other")
        self.assertEqual((none.returncode, "there are: main" in none.stderr), (2, True), none.stderr)
        self.assertEqual(self.attempt("--seconds", "0").returncode, 2)

    def test_map_of_a_live_address_writes_what_try_then_finds_working(self):
        m = Market(4, symbols=2)
        source = self.source(['{"T":"hb"}', *(trade(m.trade()) for _ in range(40))])
        config = self.where / "fresh.toml"
        config.write_text('[[watch]]\nsymbol = "KLVN"\npivot = 48.35\nnormal_volume = 1_300_000\n')
        run = subprocess.run([PROGRAM, "feeds", "map", f"ws://127.0.0.1:{source.port}/", "--insecure-loopback", "--messages", "41", "--secret-env", "TRY_KEY", "--header", "X-Key: {secret}",
                              "--symbols", "KLVN,NIVO", "--subscribe", '{"want":{symbols_json}}', "--write", config], capture_output=True, text=True, env={**os.environ, "TRY_KEY": SECRET}, timeout=60)
        self.assertEqual(run.returncode, 0, run.stdout + run.stderr)
        self.assertNotIn(SECRET, run.stdout + run.stderr + config.read_text())
        tried = subprocess.run([PROGRAM, "feeds", "try", "mapped", "--config", config, "--messages", "41"], capture_output=True, text=True, env={**os.environ, "TRY_KEY": SECRET}, timeout=60)
        self.assertEqual(tried.returncode, 0, tried.stdout + tried.stderr)


if __name__ == "__main__":
    unittest.main()
