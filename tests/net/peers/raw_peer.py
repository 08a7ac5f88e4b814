#!/usr/bin/python3
"""A server that breaks the rules of RFC 6455, byte by byte: answers each connection as its argument says.

Says on standard output: "port N", then "request" for each request, "gone" when the client has left.
"""
import base64
import hashlib
import socket
import struct
import sys

GUID = "258EAFA5-E914-47DA-95CA-C5AB0DC85B11"  # RFC 6455, section 1.3


def say(text):
    print(text, flush=True)


def read_request(peer):
    data = b""
    while b"\r\n\r\n" not in data:
        part = peer.recv(4096)
        if not part:
            return None
        data += part
    return data.decode("latin-1")


def accept_of(request):
    for line in request.split("\r\n"):
        name, _, value = line.partition(":")
        if name.lower() == "sec-websocket-key":
            return base64.b64encode(hashlib.sha1((value.strip() + GUID).encode()).digest()).decode()
    return ""


def handshake(request, extra=""):
    return ("HTTP/1.1 101 Switching Protocols\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
            f"Sec-WebSocket-Accept: {accept_of(request)}\r\n{extra}\r\n").encode()


def frame(opcode, payload, fin=True, rsv=0, mask=False, length=None):
    head = bytes([(0x80 if fin else 0) | (rsv << 4) | opcode])
    size = len(payload) if length is None else length
    bit = 0x80 if mask else 0
    if size < 126:
        head += bytes([bit | size])
    elif size < 65536:
        head += bytes([bit | 126]) + struct.pack(">H", size)
    else:
        head += bytes([bit | 127]) + struct.pack(">Q", size)
    return head + (b"\0\0\0\0" if mask else b"") + payload


FRAMES = {
    "masked": frame(1, b"hello", mask=True),
    "rsv": frame(1, b"hello", rsv=4),
    "reserved_opcode": frame(3, b"hello"),
    "not_utf8": frame(1, b"\xff\xfe"),
    "fragmented_ping": frame(9, b"hi", fin=False),
    "long_ping": frame(9, b"x" * 126),
    "lone_continuation": frame(0, b"hello"),
    "close_one_byte": frame(8, b"\x03"),
    "close_reserved": frame(8, struct.pack(">H", 1005)),
    "close_empty": frame(8, b""),
    **{f"close_{code}": frame(8, struct.pack(">H", code)) for code in (0, 999, 1004, 1006, 1015, 2999, 5000, 65535)},
    "close_not_utf8": frame(8, struct.pack(">H", 1000) + b"\xff\xfe"),
    "huge": frame(1, b"", length=1 << 40),
    "endless_fragments": b"".join(frame(1 if n == 0 else 0, b"x" * 60000, fin=False) for n in range(40)),
}

ANSWERS = {
    "redirect": "HTTP/1.1 302 Found\r\nLocation: wss://elsewhere.example/feed\r\nContent-Length: 0\r\n\r\n",
    "too_many": "HTTP/1.1 429 Too Many Requests\r\nRetry-After: 120\r\nContent-Length: 0\r\n\r\n",
    "too_many_date": "HTTP/1.1 429 Too Many Requests\r\nRetry-After: Fri, 01 Jan 2100 00:00:00 GMT\r\nContent-Length: 0\r\n\r\n",
    "forbidden": "HTTP/1.1 403 Forbidden\r\nContent-Length: 0\r\n\r\n",
    "plain_refusal": "HTTP/1.1 401 Unauthorized\r\nContent-Length: 25\r\n\r\n{\"message\":\"key expired\"}",
    "unsized_refusal": "HTTP/1.1 401 Unauthorized\r\nConnection: close\r\n\r\nkey expired",
    "plain_page": "HTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\nhi",
    "bad_accept": "HTTP/1.1 101 Switching Protocols\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
                  "Sec-WebSocket-Accept: AAAAAAAAAAAAAAAAAAAAAAAAAAA=\r\n\r\n",
    "garbage": "\x00\x01\x02 not http\r\n\r\n",
}

REFUSALS = {  # in packets of their own: the next when a line comes on standard input
    "late_refusal": ["HTTP/1.1 401 Unauthorized\r\nContent-Length: 25\r\n\r\n", "{\"message\":", "\"key expired\"}"],
    "chunked_refusal": ["HTTP/1.1 401 Unauthorized\r\nTransfer-Encoding: chunked\r\n\r\n", "b\r\nkey ", "expired\r\n", "0\r\n\r\n"],
    "stalled_refusal": ["HTTP/1.1 401 Unauthorized\r\nContent-Length: 2500\r\n\r\n", "key expired\n"],
    "endless_refusal": ["HTTP/1.1 401 Unauthorized\r\nContent-Length: 99999999\r\n\r\nkey expired\n", "x" * 100_000],
}


def serve(peer, mode):
    if mode == "stall_before":
        peer.recv(4096)
        say("request")
    else:
        request = read_request(peer)
        if request is None:
            return
        say("request")
        if mode in ANSWERS:
            peer.sendall(ANSWERS[mode].encode("latin-1"))
        elif mode in REFUSALS:
            for part in REFUSALS[mode]:
                peer.sendall(part.encode())
                say("part")
                sys.stdin.readline()
        elif mode == "deflate":
            peer.sendall(handshake(request, "Sec-WebSocket-Extensions: permessage-deflate\r\n"))
        elif mode == "subprotocol":
            peer.sendall(handshake(request, "Sec-WebSocket-Protocol: surprise\r\n"))
        elif mode == "reset":
            peer.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
            peer.sendall(handshake(request))
            return peer.close()
        elif mode == "slow":  # one byte at a time, across every border
            for byte in handshake(request) + frame(1, b"one") + frame(1, b"two"):
                peer.sendall(bytes([byte]))
        elif mode == "early":  # frames in the same packet as the handshake
            peer.sendall(handshake(request) + frame(1, b"one") + frame(1, b"two"))
        else:
            peer.sendall(handshake(request) + FRAMES.get(mode, b""))
            if mode == "ping_flood":  # and never a look at the pongs, until it is told so
                for _ in range(1000):
                    peer.sendall(frame(9, b"x" * 125) * 400)
                peer.sendall(frame(1, b"flooded"))
                sys.stdin.readline()
    try:
        while peer.recv(65536):
            pass
    except OSError:
        pass
    say("gone")


def main():
    mode = sys.argv[1]
    listener = socket.create_server(("127.0.0.1", 0))
    say(f"port {listener.getsockname()[1]}")
    while True:
        peer, _ = listener.accept()
        try:
            serve(peer, mode)
        except OSError:
            say("gone")


main()
