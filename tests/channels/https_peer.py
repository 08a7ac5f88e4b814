#!/usr/bin/python3
"""A web server on loopback for the webhook tests, over TLS where a certificate is given. Prints its port, then one JSON object
for each request. Answers are given one after the other by --answer, the last one for ever:
"STATUS[;Header: value][|body]", "drop" (closes without an answer) or "silent" (never answers)."""
import argparse
import http.server
import json
import ssl
import threading
import sys
import time

parser = argparse.ArgumentParser()
parser.add_argument("--cert")
parser.add_argument("--key")
parser.add_argument("--answer", action="append", default=[])
args = parser.parse_args()
answers = args.answer or ["204"]


class Handler(http.server.BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def answer(self):
        body = self.rfile.read(int(self.headers.get("content-length", 0)))
        print(json.dumps({"method": self.command, "path": self.path, "body": body.decode(errors="backslashreplace"),
                          "headers": {name.lower(): value for name, value in self.headers.items()}}), flush=True)
        said = answers.pop(0) if len(answers) > 1 else answers[0]
        if said == "silent":
            time.sleep(3600)
        if said == "drop":
            self.close_connection = True
            return
        head, _, text = said.partition("|")
        status, *headers = head.split(";")
        self.send_response(int(status))
        for header in headers:
            name, _, value = header.partition(": ")
            self.send_header(name, value)
        self.send_header("Content-Length", str(len(text)))
        self.end_headers()
        self.wfile.write(text.encode())

    do_POST = do_GET = do_PUT = do_PATCH = answer

    def log_message(self, *_):
        pass


class Server(http.server.ThreadingHTTPServer):
    def handle_error(self, *_):
        pass


server = Server(("127.0.0.1", 0), Handler)
server.daemon_threads = True
if args.cert:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(args.cert, args.key)
    server.socket = context.wrap_socket(server.socket, server_side=True)
print(server.server_address[1], flush=True)
threading.Thread(target=server.serve_forever, daemon=True).start()
sys.stdin.read()
