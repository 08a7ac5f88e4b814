#!/usr/bin/python3
"""A real SMTP server (aiosmtpd) on loopback for the mail tests. Prints its port, then one JSON object a line: each command it
hears of and each mail it takes.

--tls none|starttls|implicit  --cert F --key F  --user NAME --password WORD
--say VERB=TEXT   answers VERB (EHLO, MAIL, RCPT, DOT, QUIT) with TEXT instead; "drop" closes the connection, "silent" never answers
--only N          the answers of --say hold for the first N times only
--slow-rcpt S     thinks so many seconds about each recipient
"""
import argparse
import asyncio
import base64
import json
import logging
import queue
import ssl
import sys
import threading
import warnings

from aiosmtpd.smtp import SMTP, AuthResult, LoginPassword


logging.disable(logging.CRITICAL)  # a test that breaks the connection is not news
warnings.simplefilter("ignore")


class Teller(threading.Thread):
    """Says it on a thread of its own: a pipe that nobody reads is full after 64 KiB, some nine mails, and would stop the server."""

    def __init__(self):
        super().__init__()
        self.lines = queue.SimpleQueue()

    def run(self):
        while (line := self.lines.get()) is not None:
            print(line, flush=True)

    def end(self):
        self.lines.put(None)
        self.join()


teller = Teller()


def tell(**what):
    teller.lines.put(json.dumps(what))


class Handler:
    def __init__(self, args):
        self.say = dict(pair.split("=", 1) for pair in args.say)
        self.left = args.only
        self.slow_rcpt = args.slow_rcpt

    async def scripted(self, verb, server):
        """The answer that the test wants instead of the usual one, or None."""
        if verb not in self.say or self.left == 0:
            return None
        self.left -= 1
        text = self.say[verb]
        if text == "silent":
            await asyncio.sleep(3600)
        if text == "drop":
            server.transport.abort()
            return "250 never heard"
        return text

    async def handle_MAIL(self, server, session, envelope, address, options):
        tell(verb="MAIL", address=address, tls=server.transport.get_extra_info("ssl_object") is not None, user=session.authenticated)
        said = await self.scripted("MAIL", server)
        if said:
            return said
        envelope.mail_from = address
        return "250 2.1.0 sender ok"

    async def handle_RCPT(self, server, session, envelope, address, options):
        tell(verb="RCPT", address=address)
        await asyncio.sleep(self.slow_rcpt)
        said = await self.scripted("RCPT:" + address, server) or await self.scripted("RCPT", server)
        if said:
            return said
        envelope.rcpt_tos.append(address)
        return "250 2.1.5 recipient ok"

    async def handle_DATA(self, server, session, envelope):
        tell(verb="DOT", sender=envelope.mail_from, to=envelope.rcpt_tos,
             mail=base64.b64encode(envelope.original_content).decode())
        return await self.scripted("DOT", server) or "250 2.0.0 taken as 7F3A"

    async def handle_QUIT(self, server, session, envelope):
        await self.scripted("QUIT", server)
        return "221 2.0.0 bye"


def authenticator(args):
    def check(server, session, envelope, mechanism, data):
        good = isinstance(data, LoginPassword) and data.login.decode() == args.user and data.password.decode() == args.password
        tell(verb="AUTH", tls=server.transport.get_extra_info("ssl_object") is not None, good=good)
        return AuthResult(success=good, handled=False)
    return check


async def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--tls", default="none")
    parser.add_argument("--cert")
    parser.add_argument("--key")
    parser.add_argument("--user")
    parser.add_argument("--password")
    parser.add_argument("--say", action="append", default=[])
    parser.add_argument("--only", type=int, default=-1)
    parser.add_argument("--slow-rcpt", type=float, default=0)
    args = parser.parse_args()
    context = None
    if args.tls != "none":
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(args.cert, args.key)
    handler = Handler(args)
    loop = asyncio.get_running_loop()

    def make():
        return SMTP(handler, loop=loop, hostname="mail.test", timeout=3600, decode_data=False,
                    tls_context=context if args.tls == "starttls" else None, require_starttls=args.tls == "starttls",
                    authenticator=authenticator(args) if args.user else None, auth_required=bool(args.user),
                    auth_require_tls=args.tls == "starttls", auth_exclude_mechanism=[])

    server = await loop.create_server(make, "127.0.0.1", 0, ssl=context if args.tls == "implicit" else None)
    teller.start()
    teller.lines.put(server.sockets[0].getsockname()[1])
    await loop.run_in_executor(None, sys.stdin.read)
    teller.end()


asyncio.run(main())
