#!/usr/bin/python3
"""An independent WebSocket server (python3-websockets) that a test drives by lines on standard input.

Says on standard output: "port N", "open", "got TEXT", "closed CODE REASON", "header NAME VALUE" for headers asked for.
Takes: send TEXT | binary HEX | fragments A|B|C | ping | close CODE REASON | cut | burst COUNT TEXT
"""
import asyncio
import ssl
import sys

import websockets

connections = set()


def say(text):
    print(text, flush=True)


async def serve_one(socket, path):
    for name in ("Authorization", "X-Key", "Sec-WebSocket-Extensions"):
        if name in socket.request_headers:
            say(f"header {name} {socket.request_headers[name]}")
    connections.add(socket)
    say(f"open {path}")
    try:
        async for message in socket:
            say("got " + (message if isinstance(message, str) else message.hex()))
    except websockets.ConnectionClosed:
        pass
    connections.discard(socket)
    say(f"closed {socket.close_code} {socket.close_reason}")


async def act(line):
    word, _, rest = line.partition(" ")
    for socket in list(connections):
        if word == "send":
            await socket.send(rest)
        elif word == "binary":
            await socket.send(bytes.fromhex(rest))
        elif word == "fragments":
            await socket.send(rest.split("|"))
        elif word == "ping":
            await (await socket.ping(b"there?"))
            say("pong")
        elif word == "close":
            code, _, reason = rest.partition(" ")
            await socket.close(int(code), reason)
        elif word == "cut":
            socket.transport.abort()
        elif word == "burst":
            count, _, text = rest.partition(" ")
            for number in range(int(count)):
                await socket.send(text.replace("NUMBER", str(number)))


async def main():
    options = dict(argument.split("=", 1) for argument in sys.argv[1:])
    context = None
    if "certificate" in options:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(options["certificate"], options["key"])
    compression = options.get("compression") or None
    async with websockets.serve(serve_one, "127.0.0.1", int(options.get("port", 0)), ssl=context, compression=compression,
                                ping_interval=None, close_timeout=5, max_queue=None) as server:
        say(f"port {server.sockets[0].getsockname()[1]}")
        loop = asyncio.get_running_loop()
        while True:
            line = await loop.run_in_executor(None, sys.stdin.readline)
            if not line:
                return
            try:
                await act(line.rstrip("\n"))
            except websockets.ConnectionClosed:
                pass


asyncio.run(main())
