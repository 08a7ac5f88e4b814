#!/usr/bin/python3
"""Three machines in network namespaces of their own, each with a real etcd member (TLS, users), daemons that share a house, and a webhook
sink and an SMTP server (aiosmtpd) that count what arrives. Needs root. For shared_house_test.py and scripts/shared-faults.

Run as `etcd_house.py --sinks CERT KEY ADDRESS` it is the two sinks: one JSON object a line for each thing that arrives.
"""
import asyncio
import contextlib
import http.server
import json
import os
import pathlib
import shutil
import signal
import ssl
import subprocess
import sys
import tempfile
import threading
import time

HUB = "10.77.0.9"


def missing():
    """Why it cannot be run here; empty: it can."""
    if os.geteuid() != 0:
        return "network namespaces need root"
    for program in ("etcd", "etcdctl", "ip", "openssl"):
        if shutil.which(program) is None:
            return f"{program} is not installed"
    probe = f"bwprobe{os.getpid()}"
    made = subprocess.run(["ip", "netns", "add", probe], capture_output=True, text=True)
    if made.returncode != 0:
        return "no network namespace can be made: " + made.stderr.strip()
    subprocess.run(["ip", "netns", "del", probe], check=False)
    return ""


def run(*words, **more):
    return subprocess.run([str(word) for word in words], check=True, capture_output=True, text=True, **more).stdout


class Net:
    """A hub and machines 1, 2, 3 on one bridge."""

    def __init__(self, machines=3):
        self.tag = f"bw{os.getpid() % 100000}"
        self.machines = range(1, machines + 1)
        self.cut_off, self.cut_ports = set(), set()
        self.hub = f"{self.tag}h"
        run("ip", "netns", "add", self.hub)
        run("ip", "-n", self.hub, "link", "add", "br0", "type", "bridge")
        run("ip", "-n", self.hub, "addr", "add", f"{HUB}/24", "dev", "br0")
        for device in ("lo", "br0"):
            run("ip", "-n", self.hub, "link", "set", device, "up")
        for i in self.machines:
            run("ip", "netns", "add", self.space(i))
            run("ip", "link", "add", "eth0", "netns", self.space(i), "type", "veth", "peer", "name", f"p{i}", "netns", self.hub)
            run("ip", "-n", self.hub, "link", "set", f"p{i}", "master", "br0", "up")
            run("ip", "-n", self.space(i), "addr", "add", f"{self.address(i)}/24", "dev", "eth0")
            for device in ("lo", "eth0"):
                run("ip", "-n", self.space(i), "link", "set", device, "up")

    def space(self, i):
        return f"{self.tag}m{i}"

    @staticmethod
    def address(i):
        return f"10.77.0.{i}"

    def cut(self, i):
        self.cut_off.add(i)
        run("ip", "-n", self.hub, "link", "set", f"p{i}", "down")

    def mend(self, i):
        run("ip", "-n", self.hub, "link", "set", f"p{i}", "up")
        self.cut_off.discard(i)

    def cut_port(self, i, port):
        """Nothing that machine sends to that TCP port arrives, not even at itself. Routing rules: no firewall is needed."""
        self.cut_ports.add((i, port))
        run("ip", "-n", self.space(i), "rule", "add", "pref", "10", "ipproto", "tcp", "dport", port, "blackhole")
        if any(line.startswith("0:") for line in run("ip", "-n", self.space(i), "rule").splitlines()):
            run("ip", "-n", self.space(i), "rule", "add", "pref", "100", "table", "local")
            run("ip", "-n", self.space(i), "rule", "del", "pref", "0")

    def mend_port(self, i, port):
        run("ip", "-n", self.space(i), "rule", "del", "pref", "10", "ipproto", "tcp", "dport", port, "blackhole")
        self.cut_ports.discard((i, port))

    def mend_all(self):
        for i in list(self.cut_off):
            self.mend(i)
        for i, port in list(self.cut_ports):
            self.mend_port(i, port)

    def pids(self, i):
        """Of what runs on that machine."""
        return [int(pid) for pid in run("ip", "netns", "pids", self.space(i)).split()]

    def within(self, i):
        return ["ip", "netns", "exec", self.hub if i == 0 else self.space(i)]

    def close(self):
        for i in self.machines:
            subprocess.run(["ip", "netns", "del", self.space(i)], check=False, capture_output=True)
        subprocess.run(["ip", "netns", "del", self.hub], check=False, capture_output=True)


class Papers:
    """An authority, a certificate for each address, and one for clients. None has a common name: the gateway of etcd 3.4 calls
    its own member with the member's certificate, and takes a common name for a user's."""

    def __init__(self, where):
        self.where = where
        self.ca = where / "ca.pem"
        run("openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2", "-subj",
            "/O=test authority", "-keyout", where / "ca.key", "-out", self.ca)

    def make(self, name, address):
        key, request, paper = (self.where / f"{name}.{end}" for end in ("key", "csr", "pem"))
        extensions = self.where / f"{name}.ext"
        extensions.write_text(f"subjectAltName=IP:{address},IP:127.0.0.1\nextendedKeyUsage=serverAuth,clientAuth\n")
        run("openssl", "req", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-subj", "/O=test", "-keyout", key,
            "-out", request)
        run("openssl", "x509", "-req", "-in", request, "-CA", self.ca, "-CAkey", self.where / "ca.key", "-CAcreateserial", "-days", "2",
            "-extfile", extensions, "-out", paper)
        return paper, key


class House:
    """etcd on three machines, the sinks, and daemons by name. Whoever uses it closes it."""

    PASSWORD = "a word of the test"

    def __init__(self, program, quota=0):
        self.program = program
        self.folder = tempfile.TemporaryDirectory()
        self.where = pathlib.Path(self.folder.name)
        self.net = Net()
        self.papers = Papers(self.where)
        self.quota = quota
        self.members, self.daemons = {}, {}
        self.server_papers = {i: self.papers.make(f"m{i}", self.net.address(i)) for i in self.net.machines}
        self.client = self.papers.make("client", "127.0.0.1")
        self.turn = 0
        self.turn_ticks()
        (self.where / "word").write_text(self.PASSWORD)
        (self.where / "word").chmod(0o600)
        self.arrived, self.arrivals_lock = [], threading.Lock()
        self.start_sinks()
        for i in self.net.machines:
            self.start_member(i)
        self.wait_for_etcd()
        self.make_users()

    def turn_ticks(self):
        """A file of its own for each turn: what a daemon left behind may still read the one before."""
        self.turn += 1
        self.ticks = self.where / f"ticks{self.turn}"
        self.ticks.touch()
        for i in self.net.machines:
            self.mend_feed(i)

    def ticks_of(self, i):
        """The same file under a name of that machine's own."""
        return pathlib.Path(f"{self.ticks}-{i}")

    def mend_feed(self, i):
        os.link(self.ticks, self.ticks_of(i))

    def cut_feed(self, i):
        """Its program ends, and cannot begin again."""
        self.ticks_of(i).unlink()
        for pid in self.pids_of(i, "tail"):
            os.kill(pid, signal.SIGKILL)

    def pids_of(self, i, program):
        is_it = lambda pid: pathlib.Path(f"/proc/{pid}/comm").read_text().strip() == program
        return [pid for pid in self.net.pids(i) if is_it(pid)]

    def begin_anew(self):
        """As it was made, in a tenth of the time: no daemon, nothing cut, etcd runs and knows nothing, nothing has arrived."""
        self.end_daemons()
        self.net.mend_all()
        for i in self.net.machines:
            self.members[i].send_signal(signal.SIGCONT)
            if self.members[i].poll() is not None:
                self.start_member(i)
        self.wait_for_etcd(root=True)
        self.etcdctl("del", "--prefix", "brimwatch/")
        self.turn_ticks()
        with self.arrivals_lock:
            self.arrived = []

    # --- etcd ---

    def url(self, i):
        return f"https://{self.net.address(i)}:2379"

    def start_member(self, i):
        paper, key = self.server_papers[i]
        peer = lambda k: f"http://{self.net.address(k)}:2380"
        words = ["etcd", "--name", f"m{i}", "--data-dir", self.where / f"data{i}", "--listen-client-urls", self.url(i),
                 "--advertise-client-urls", self.url(i), "--listen-peer-urls", peer(i), "--initial-advertise-peer-urls", peer(i),
                 "--initial-cluster", ",".join(f"m{k}={peer(k)}" for k in self.net.machines), "--cert-file", paper, "--key-file", key,
                 "--trusted-ca-file", self.papers.ca, "--client-cert-auth", "--heartbeat-interval", "50", "--election-timeout", "500", "--pre-vote",
                 "--logger", "zap", "--log-outputs", self.where / f"etcd{i}.log"]
        if self.quota:
            words += ["--quota-backend-bytes", str(self.quota)]
        self.members[i] = subprocess.Popen([*self.net.within(i), *map(str, words)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    def kill_member(self, i):
        self.members[i].kill()
        self.members[i].wait()

    def etcdctl(self, *words, root=True, via=1, ends=None, **more):
        paper, key = self.client
        user = ["--user", f"root:{self.PASSWORD}"] if root else []
        ends = ends or [i for i in self.net.machines if self.members[i].poll() is None]
        return run(*self.net.within(via), "etcdctl", "--endpoints", ",".join(map(self.url, ends)), "--cacert", self.papers.ca, "--cert", paper, "--key", key,
                   "--command-timeout", "10s", *user, *words, **more)

    def wait_for_etcd(self, root=False):
        end = time.monotonic() + 60
        while True:
            try:
                return self.etcdctl("get", "nothing", root=root)
            except subprocess.CalledProcessError as problem:
                if time.monotonic() > end:
                    raise AssertionError("etcd does not answer: " + problem.stderr) from problem

    def make_users(self):
        plain = lambda *words: self.etcdctl(*words, root=False)
        plain("user", "add", f"root:{self.PASSWORD}")
        plain("user", "add", f"brimwatch:{self.PASSWORD}")
        plain("role", "add", "house")
        plain("role", "grant-permission", "house", "--prefix=true", "readwrite", "brimwatch/mine/")
        plain("user", "grant-role", "brimwatch", "house")
        plain("user", "grant-role", "root", "root")
        plain("auth", "enable")

    def statuses(self):
        """Of each member that runs, by machine."""
        lives = [i for i in self.net.machines if self.members[i].poll() is None]
        said = {one["Endpoint"]: one["Status"] for one in json.loads(self.etcdctl("endpoint", "status", "-w", "json"))}
        return {i: said[self.url(i)] for i in lives if self.url(i) in said}

    def leader_of_etcd(self):
        found = [i for i, one in self.statuses().items() if one["leader"] == one["header"]["member_id"]]
        return found[0] if found else 0

    def lead_etcd(self, machine):
        """Makes that machine's member etcd's leader."""
        leader = self.leader_of_etcd()
        if leader != machine:
            member = self.statuses()[machine]["header"]["member_id"]
            self.etcdctl("move-leader", f"{member:x}", ends=[leader])

    # --- sinks ---

    def start_sinks(self):
        paper, key = self.papers.make("hub", HUB)
        self.sinks = subprocess.Popen([*self.net.within(0), "/usr/bin/python3", __file__, "--sinks", paper, key, HUB],
                                      stdout=subprocess.PIPE, text=True)
        assert json.loads(self.sinks.stdout.readline())["ready"]
        self.hearing = threading.Thread(target=self.hear, daemon=True)
        self.hearing.start()

    def hear(self):
        for line in self.sinks.stdout:
            with self.arrivals_lock:
                self.arrived.append(json.loads(line))

    def told(self, symbol, kind="crossed"):
        """What has come of that stock: (by webhook, by mail)."""
        with self.arrivals_lock:
            hooks = [one for one in self.arrived if "hook" in one for notice in one["hook"] if notice["symbol"] == symbol and notice["kind"] == kind]
            mails = [one for one in self.arrived if "mail" in one and symbol in one["mail"] and "crossed" in one["mail"]]
        return len(hooks), len(mails)

    def texts(self, symbol):
        with self.arrivals_lock:
            return [notice["text"] for one in self.arrived if "hook" in one for notice in one["hook"] if notice["symbol"] == symbol]

    # --- daemons ---

    def config(self, name, machine, symbols, feed="own", alone_after=60, direct=False, rules=""):
        paper, key = self.server_papers[machine]  # what the others see when they ask it directly
        direct = f'direct = "https://{self.net.address(machine)}:2390"' if direct else ""
        watches = "".join(f'[[watch]]\nsymbol = "{symbol}"\npivot = 48.35\nnormal_volume = 1_300_000\n' for symbol in symbols)
        return f"""
[market]
trend = "up"
[rules]
{rules}
[shared]
name = "{name}"
house = "mine"
etcd = {json.dumps([self.url(1 + (machine + k - 1) % 3) for k in range(3)])}
user = "brimwatch"
password = {{ file = "{self.where}/word" }}
certificate = "{paper}"
key = "{key}"
ca_file = "{self.papers.ca}"
feed = "{feed}"
alone_after = {alone_after}
{direct}
[[feed]]
kind = "pipe"
past_days = "tell"
command = ["/usr/bin/tail", "-n", "{'0' if feed == 'at-takeover' else '+1'}", "-f", "{self.ticks_of(machine)}"]
[[channel]]
name = "hook"
kind = "webhook"
url = "https://{HUB}:8443/hook"
ca_file = "{self.papers.ca}"
timeout = 3
kinds = ["crossed", "self-check"]
[[channel]]
name = "mail"
kind = "email"
url = "smtps://{HUB}:8465"
ca_file = "{self.papers.ca}"
from = "brimwatch@example.org"
to = ["you@example.org"]
picture = false
timeout = 3
kinds = ["crossed"]
{watches}"""

    def start_daemon(self, daemon_class, name, machine, symbols, wait=True, environment=None, **more):
        """`more`: of config()."""
        daemon = self.daemons.get(name) or daemon_class(self.program)
        daemon.write(self.config(name, machine, symbols, **more))
        daemon.under, daemon.machine = self.net.within(machine), machine
        self.daemons[name] = daemon
        (daemon.start if wait else daemon.launch)(**(environment or {}))
        return daemon

    def role(self, name):
        said = self.daemons[name].now()
        return said["shared"]["role"] if said else ""

    def tick(self, symbol, price, second, size=5000):
        with open(self.ticks, "a") as file:
            file.write(json.dumps({"time": f"2026-10-14T{10 + second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}-04:00",
                                   "symbol": symbol, "price": price, "size": size}) + "\n")

    def end_daemons(self):
        """With what they started."""
        for daemon in self.daemons.values():
            if daemon.process and daemon.process.poll() is None:
                daemon.process.send_signal(signal.SIGCONT)
            daemon.close()
        self.daemons = {}
        members = {process.pid for process in self.members.values()}
        for pid in [pid for i in self.net.machines for pid in self.net.pids(i)]:
            if pid not in members:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGKILL)

    def close(self):
        self.end_daemons()
        for process in [*self.members.values(), self.sinks]:
            process.kill()
            process.wait()
        self.hearing.join()
        self.sinks.stdout.close()
        self.net.close()
        self.folder.cleanup()


def be_sinks(paper, key, address):
    from aiosmtpd.controller import Controller  # Debian: python3-aiosmtpd

    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(paper, key)
    lock = threading.Lock()

    def say(**what):
        with lock:
            print(json.dumps(what), flush=True)

    class Hook(http.server.BaseHTTPRequestHandler):
        def log_message(self, *arguments):
            pass

        def do_POST(self):
            size = int(self.headers["Content-Length"])
            body = self.rfile.read(size)
            if len(body) != size:
                return  # it has no end: nothing is taken
            data = json.loads(body)["data"]
            notices = data.get("notices", [data])
            say(hook=[{key: notice.get(key, "") for key in ("id", "kind", "symbol", "text")} for notice in notices])
            self.send_response(204)
            self.end_headers()

    class Mail:
        async def handle_DATA(self, server, session, envelope):
            subject = next((line for line in envelope.content.decode(errors="replace").splitlines() if line.startswith("Subject:")), "")
            say(mail=subject)
            return "250 2.0.0 taken"

    web = http.server.ThreadingHTTPServer((address, 8443), Hook)
    # The handshake on each connection's own thread: a machine that is cut off in the middle of one would hold up all others.
    web.socket = context.wrap_socket(web.socket, server_side=True, do_handshake_on_connect=False)
    threading.Thread(target=web.serve_forever, daemon=True).start()
    mail = Controller(Mail(), hostname=address, port=8465, ssl_context=context)
    mail.start()
    say(ready=True)
    threading.Event().wait()


if __name__ == "__main__" and sys.argv[1:2] == ["--sinks"]:
    be_sinks(*sys.argv[2:5])
