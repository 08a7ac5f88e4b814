"""An invented market for tests: what happened, one event after the other, for a source of any shape to write down.

Prices go in cents around each symbol's own level, sizes are mostly of whole lots with odd ones between, the day's volume grows
by what trades; times are those of one session in New York. All symbols are invented.
"""
import datetime
import random

LEVELS = {"KLVN": 48.35, "NIVO": 7.52, "HALQ": 19.46, "QUOL": 112.5, "ORRI": 231.08, "TAVE": 64.9}
OPEN = datetime.datetime(2026, 10, 14, 13, 30, tzinfo=datetime.timezone.utc)


class Market:
    def __init__(self, seed, symbols=4, start_minutes=31, tick=0.01, lots=False):
        self.random = random.Random(seed)
        self.symbols = list(LEVELS)[:symbols]
        self.last = {s: LEVELS[s] for s in self.symbols}
        self.volume = {s: self.random.randrange(20_000, 900_000) for s in self.symbols}
        if lots:
            self.volume = {s: v // 100 * 100 for s, v in self.volume.items()}
        self.ns = int(OPEN.timestamp()) * 10**9 + start_minutes * 60 * 10**9
        self.id = self.random.randrange(40_000, 90_000)
        self.seq = 0
        self.tick = tick
        self.lots = lots
        self.trades = []

    def pass_time(self):
        self.ns += self.random.randrange(2_000_000, 1_900_000_000)
        return self.ns

    def size(self):
        if self.lots:
            return 100 * self.random.choice([1, 1, 2, 3, 5, 12])
        return self.random.choice([100, 100, 200, 300, 500, 1200, 37, 8, 100, 1000, 64])

    def trade(self, symbol=None):
        s = symbol or self.random.choice(self.symbols)
        self.last[s] = round(self.last[s] + self.random.choice([-3, -2, -1, 0, 1, 1, 2, 3]) * 0.01, 2)
        size = self.size()
        self.volume[s] += size
        self.id += self.random.randrange(1, 9)
        self.seq += 1
        odd = size < 100
        event = dict(kind="trade", s=s, p=self.last[s], q=size, ns=self.pass_time(), id=self.id, dv=self.volume[s], odd=odd,
                     x=self.random.choice("NPQZ"), seq=self.seq)
        self.trades.append(event)
        return event

    def quote(self, symbol=None):
        s = symbol or self.random.choice(self.symbols)
        self.seq += 1
        b = round(self.last[s] - 0.01 * self.random.choice([1, 1, 2]), 2)
        return dict(kind="quote", s=s, b=b, a=round(b + 0.01 * self.random.choice([1, 2, 3]), 2), bq=self.random.randrange(1, 30) * 100,
                    aq=self.random.randrange(1, 30) * 100, ns=self.pass_time(), seq=self.seq)

    def bar(self, symbol=None):
        s = symbol or self.random.choice(self.symbols)
        self.seq += 1
        o = self.last[s]
        c = round(o + self.random.choice([-5, -2, 1, 4, 6]) * 0.01, 2)
        h = round(max(o, c) + self.random.choice([1, 2, 5]) * 0.01, 2)
        l = round(min(o, c) - self.random.choice([1, 2, 4]) * 0.01, 2)
        v = self.random.randrange(2_000, 60_000)
        self.volume[s] += v
        self.last[s] = c
        self.ns += 60 * 10**9
        return dict(kind="bar", s=s, o=o, h=h, l=l, c=c, q=v, ns=self.ns // (60 * 10**9) * 60 * 10**9, dv=self.volume[s], seq=self.seq)

    def status(self, symbol, halted=True):
        self.seq += 1
        return dict(kind="status", s=symbol, halted=halted, ns=self.pass_time(), seq=self.seq)

    def cancel(self):
        t = self.random.choice(self.trades)
        self.seq += 1
        return dict(t, kind="cancel", ns=self.pass_time(), seq=self.seq)

    def correct(self):
        t = self.random.choice(self.trades)
        self.seq += 1
        return dict(t, kind="correct", op=t["p"], oq=t["q"], p=round(t["p"] + 0.02, 2), ns=self.pass_time(), seq=self.seq)

    def written(self, count, quotes, trade, quote=None):
        """What happens next, each as the source writes it: a trade by the one, a quote by the other."""
        return [trade(e) if e["kind"] == "trade" else quote(e) for e in self.mixed(count, quotes)]

    def batches(self, count, least, under, write):
        """Frames of `least` to fewer than `under` trades each."""
        return [write([self.trade() for _ in range(self.random.randrange(least, under))]) for _ in range(count)]

    def mixed(self, count, quotes=0.3):
        return [self.quote() if self.random.random() < quotes else self.trade() for _ in range(count)]


def iso(ns, digits=3, zone="Z", joint="T"):
    when = datetime.datetime.fromtimestamp(ns // 10**9, datetime.timezone.utc)
    if zone in ("-04:00", ""):
        when -= datetime.timedelta(hours=4)
    fraction = f".{ns % 10**9:09d}"[:digits + 1] if digits else ""
    return when.strftime(f"%Y-%m-%d{joint}%H:%M:%S") + fraction + zone
