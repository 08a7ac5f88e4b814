#!/usr/bin/python3
"""An HTTP proxy on loopback (RFC 9110, section 9.3.6: CONNECT; RFC 9112, section 3.2.2: absolute-form). Says "port N", then
the first line of each request without its version. With the argument "refuse" it answers 407 to all.
"""
import socket
import sys
import threading
import urllib.parse


def say(text):
    print(text, flush=True)


def pump(source, sink):
    try:
        while data := source.recv(65536):
            sink.sendall(data)
    except OSError:
        pass
    for end in (source, sink):
        try:
            end.shutdown(socket.SHUT_RDWR)
        except OSError:
            pass


def serve(client):
    head = b""
    while b"\r\n\r\n" not in head:
        part = client.recv(4096)
        if not part:
            return
        head += part
    line, _, rest = head.partition(b"\r\n")
    method, target, _ = line.decode().split(" ")
    say(f"{method} {target}")
    if "refuse" in sys.argv[1:]:
        client.sendall(b"HTTP/1.1 407 Proxy Authentication Required\r\nContent-Length: 0\r\nConnection: close\r\n\r\n")
        return client.close()
    if method == "CONNECT":
        host, _, port = target.rpartition(":")
        server = socket.create_connection((host, int(port)))
        client.sendall(b"HTTP/1.1 200 Connection established\r\n\r\n")
    else:
        url = urllib.parse.urlsplit(target)
        server = socket.create_connection((url.hostname, url.port or 80))
        path = url.path + ("?" + url.query if url.query else "")
        server.sendall(f"{method} {path} HTTP/1.1\r\n".encode() + rest)
    threading.Thread(target=pump, args=(server, client), daemon=True).start()
    pump(client, server)


def main():
    listener = socket.create_server(("127.0.0.1", 0))
    say(f"port {listener.getsockname()[1]}")
    while True:
        client, _ = listener.accept()
        threading.Thread(target=serve, args=(client,), daemon=True).start()


main()
