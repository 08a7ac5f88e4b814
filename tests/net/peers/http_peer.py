#!/usr/bin/python3
"""An independent HTTP(S) server (Python's own). The path says what it does; it reports each request on standard output.

/quotes?symbols=A,B  a snapshot, with an ETag; 304 when the client has it. "price P" on standard input changes it.
/gzip /retry/SECONDS /retry-date /status/CODE /refuse/CODE?BODY /redirect /stall /big /cut
"""
import gzip
import http.server
import socket
import ssl
import sys
import threading
import time
import urllib.parse

price = "48.41"


def say(text):
    print(text, flush=True)


class Handler(http.server.BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def log_message(self, *arguments):
        pass

    def answer(self, code, body=b"", **headers):
        self.send_response(code)
        for name, value in headers.items():
            self.send_header(name.replace("_", "-"), value)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def do_POST(self):
        body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
        say(f"POST {self.path} {body.decode()}")
        self.answer(204)

    def do_GET(self):
        say(f"GET {self.path} key={self.headers.get('X-Key', '')} encoding={self.headers.get('Accept-Encoding', '')}"
            f" match={self.headers.get('If-None-Match', '')}")
        url = urllib.parse.urlparse(self.path)
        if url.path == "/quotes":
            return self.quotes(urllib.parse.parse_qs(url.query))
        if url.path == "/gzip":
            return self.answer(200, gzip.compress(b'[{"s":"KLVN","p":48.41,"v":612000}]'), Content_Encoding="gzip")
        if url.path.startswith("/retry/"):
            return self.answer(429, Retry_After=url.path.split("/")[2])
        if url.path == "/retry-date":
            return self.answer(503, Retry_After="Fri, 01 Jan 2100 00:00:00 GMT")
        if url.path.startswith("/status/"):
            return self.answer(int(url.path.split("/")[2]))
        if url.path.startswith("/refuse/"):
            return self.answer(int(url.path.split("/")[2]), urllib.parse.unquote(url.query).encode())
        if url.path == "/redirect":
            return self.answer(302, Location="https://elsewhere.example/")
        if url.path == "/big":
            return self.answer(200, b"x" * 3_000_000)
        if url.path == "/bomb":  # small on the wire, large when unpacked
            return self.answer(200, gzip.compress(b"x" * 50_000_000), Content_Encoding="gzip")
        if url.path == "/cut":
            self.send_response(200)
            self.send_header("Content-Length", "1000")
            self.end_headers()
            self.wfile.write(b"half")
            self.wfile.flush()
            self.close_connection = True
            return self.connection.shutdown(socket.SHUT_RDWR)
        if url.path == "/stall":
            time.sleep(3600)

    def quotes(self, query):
        names = query.get("symbols", [""])[0].split(",")
        tag = f'"{price}"'
        if self.headers.get("If-None-Match") == tag:
            return self.answer(304, ETag=tag)
        body = ",".join(f'{{"s":"{name}","p":{price},"v":612000}}' for name in names)
        self.answer(200, f"[{body}]".encode(), ETag=tag)


class Server(http.server.ThreadingHTTPServer):
    daemon_threads = True

    def handle_error(self, request, client_address):
        pass  # a client that leaves is what many of the tests are about


def main():
    global price
    options = dict(argument.split("=", 1) for argument in sys.argv[1:])
    server = Server(("127.0.0.1", 0), Handler)
    if "certificate" in options:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(options["certificate"], options["key"])
        server.socket = context.wrap_socket(server.socket, server_side=True)
    say(f"port {server.server_address[1]}")
    threading.Thread(target=server.serve_forever, daemon=True).start()
    for line in sys.stdin:
        word, _, rest = line.strip().partition(" ")
        if word == "price":
            price = rest
            say("priced")


main()
