"""A source of daily bars over HTTP (Python's own server): pages, limits, fails, packs with gzip, changes the past."""
import datetime
import gzip
import http.server
import json
import threading
import urllib.parse

KEY = "a-secret-key-of-the-tests"


def weekdays(first, last):
    day = first
    while day <= last:
        if day.weekday() < 5:
            yield day
        day += datetime.timedelta(days=1)


def holidays(year):
    """Of the New York exchanges, https://www.nyse.com/markets/hours-calendars; Easter by the Gregorian computus."""
    def weekday(month, which, number):  # number: 1 the first, -1 the last
        days = [datetime.date(year, month, 1) + datetime.timedelta(days=i) for i in range(31)]
        days = [day for day in days if day.month == month and day.weekday() == which]
        return days[number - 1 if number > 0 else number]

    def observed(month, day):  # a Saturday's on Friday, a Sunday's on Monday
        date = datetime.date(year, month, day)
        return date + datetime.timedelta(days={5: -1, 6: 1}.get(date.weekday(), 0))
    a, b, c = year % 19, year // 100, year % 100
    h = (19 * a + b - b // 4 - (b - (b + 8) // 25 + 1) // 3 + 15) % 30
    l = (32 + 2 * (b % 4) + 2 * (c // 4) - h - c % 4) % 7
    month, day = divmod(h + l - 7 * ((a + 11 * h + 22 * l) // 451) + 114, 31)
    new_year = {datetime.date(year, 1, 1)} if datetime.date(year, 1, 1).weekday() == 5 else {observed(1, 1)}  # never in December
    return new_year | {weekday(1, 0, 3), weekday(2, 0, 3), datetime.date(year, month, day + 1) - datetime.timedelta(days=2),
                       weekday(5, 0, -1), observed(6, 19), observed(7, 4), weekday(9, 0, 1), weekday(11, 3, 4), observed(12, 25)}


def sessions(first, last):
    return [day for day in weekdays(first, last) if day not in holidays(day.year)]


def bar(symbol, day, divide=1):
    """The same for the same symbol and day, and never twice the same."""
    seed = (sum(map(ord, symbol)) * 7919 + day.toordinal() * 104729) % 1000
    close = 40 + (sum(map(ord, symbol)) % 50) + seed / 500
    prices = [round(price / divide, 2) for price in (close - 0.2, close + 0.5, close - 0.6, close)]
    return [day.isoformat(), *prices, (1_000_000 + seed * 1000) * divide]


class BarSource:
    """`answers` may hold, by symbol, a list of (status, headers) that are sent before the bars are; `pages`, by path, a status
    and a text; days in `without` (ISO 8601), and behind `last`, are not there; `on_sent` is called with the number of answers that are out."""

    def __init__(self):
        self.requests, self.answers, self.divide, self.volumes, self.unknown = [], {}, {}, {}, set()
        self.page_size, self.wait_for, self.lock = 0, {}, threading.Lock()
        self.without, self.last = set(), "9999"
        self.pages, self.on_sent, self.sent = {}, lambda count: None, 0
        source = self

        class Handler(http.server.BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_GET(self):
                source.answer(self)

            def log_message(self, *words):
                pass

        class Server(http.server.ThreadingHTTPServer):
            def handle_error(self, request, client_address):
                pass  # a client that was killed

        self.server = Server(("127.0.0.1", 0), Handler)
        threading.Thread(target=self.server.serve_forever, daemon=True).start()
        self.address = f"http://127.0.0.1:{self.server.server_port}"

    def close(self):
        self.server.shutdown()
        self.server.server_close()

    def send(self, handler, status, body=b"", headers=None):
        packed = gzip.compress(body) if body else body
        handler.send_response(status)
        for name, value in (headers or {}).items():
            handler.send_header(name, value)
        if body:
            handler.send_header("Content-Encoding", "gzip")
        handler.send_header("Content-Length", str(len(packed)))
        handler.end_headers()
        handler.wfile.write(packed)
        with self.lock:
            self.sent += 1
        self.on_sent(self.sent)

    def bars(self, symbol, first, last):
        for day in weekdays(datetime.date.fromisoformat(first), datetime.date.fromisoformat(last)):
            if day.isoformat() in self.without or day.isoformat() > self.last:
                continue
            one = bar(symbol, day, self.divide.get(symbol, 1))
            one[5] = self.volumes.get((symbol, one[0]), one[5])
            yield one

    def answer(self, handler):
        url = urllib.parse.urlsplit(handler.path)
        asked = dict(urllib.parse.parse_qsl(url.query))
        symbol = asked.get("symbol", "")
        with self.lock:
            self.requests.append((url.path, asked, handler.headers.get("Authorization")))
            first = self.answers.get(symbol, [])
            refusal = first.pop(0) if first else None
        if symbol in self.wait_for:
            self.wait_for[symbol].wait(60)
        if KEY not in (asked.get("key"), (handler.headers.get("Authorization") or "").removeprefix("Bearer ")):
            return self.send(handler, 401)
        if refusal:
            return self.send(handler, *refusal)
        if symbol in self.unknown:
            return self.send(handler, 404)
        if url.path in self.pages:
            status, text = self.pages[url.path]
            return self.send(handler, status, text.encode())
        rows = list(self.bars(symbol, asked["from"], asked["to"]))
        if url.path == "/csv":
            return self.send(handler, 200, self.csv(rows, int(asked.get("page", 1))))
        return self.send(handler, 200, self.json(rows, asked))

    def csv(self, rows, page):
        rows = rows[::-1]  # newest first, as many do
        if self.page_size:
            rows = rows[(page - 1) * self.page_size:page * self.page_size]
        lines = [f"{d},{o},{h},{l},{c},{c},{v}" for d, o, h, l, c, v in rows]
        return "\n".join(["timestamp,open,high,low,close,adjusted_close,volume", *lines, ""]).encode()

    def json(self, rows, asked):
        start = int(asked.get("start", 0))
        end = start + (self.page_size or len(rows))
        epoch = datetime.date(1970, 1, 1)
        page = [{"t": (datetime.date.fromisoformat(d) - epoch).days * 86_400_000, "o": o, "h": h, "l": l, "c": c, "v": v}
                for d, o, h, l, c, v in rows[start:end]]
        again = urllib.parse.urlencode({**asked, "start": end})
        return json.dumps({"status": "fine", "results": page,
                           "next": f"{self.address}/json?{again}" if end < len(rows) else None}).encode()
