"""Siblings of what was missed before: prices without their point where no name helps, scales told beside or before, volume told twice,
times of day, rows in rows, names said once. See shapes.py."""
import json

from market import Market, iso
from shapes import ms, sec, shape, us


def e4(price):
    return round(price * 10_000)


def day_ns(e):
    """Nanoseconds since midnight in New York."""
    return (e["ns"] - 4 * 3600 * 10**9) % (86400 * 10**9)


# Rows of whole numbers --------------------------------------------------------------------------------------------------------------


@shape
def sib_rows_scaled(seed):
    m = Market(seed)
    return [[e["s"], e4(e["p"]), e["q"], ms(e)] for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/0", price="/1", size="/2", time="/3")}, more=dict(price_decimals=4, time_format="ms"))


@shape
def sib_rows_scaled_text(seed):
    m = Market(seed)
    return [[str(e["ns"]), e["s"], str(e["q"]), str(e4(e["p"]))] for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/1", price="/3", size="/2", time="/0")}, more=dict(price_decimals=4, time_format="ns"))


@shape
def sib_rows_scaled_nested(seed):
    m = Market(seed)
    out = m.batches(30, 1, 4, lambda rows: [[us(e), e["s"], e4(e["p"]), e["q"], e["id"]] for e in rows])
    return out, dict(ticks=m.seq, kinds={"trade": dict(symbol="/1", price="/2", size="/3", time="/0", id="/4")}, more=dict(price_decimals=4, time_format="us"))


@shape
def sib_rows_scaled_kinds(seed):
    m = Market(seed)
    out = [["H", ms(m.trade())]] + m.written(90, 0.4, lambda e: ["T", ms(e), e["s"], round(e["p"] * 1_000_000), e["q"], e["dv"]],
        lambda e: ["Q", ms(e), e["s"], round(e["b"] * 1_000_000), e["bq"], round(e["a"] * 1_000_000), e["aq"]])
    return out, dict(ticks=90, kinds={"trade": dict(symbol="/2", price="/3", size="/4", time="/1", day_volume="/5"), "quote": dict(symbol="/2", bid="/3", bid_size="/4", ask="/5", ask_size="/6", time="/1")},
                     more=dict(price_decimals=6, time_format="ms"), words={"T": "trade", "Q": "quote"})


@shape
def sib_rows_scaled_in_frame(seed):
    m = Market(seed)
    out = m.batches(30, 1, 4, lambda rows: {"n": len(rows), "d": [[e["s"], e["q"], round(e["p"] * 100), e["id"], sec(e)] for e in rows]})
    return out, dict(ticks=m.seq, kinds={"trade": dict(symbol="/d/0", price="/d/2", size="/d/1", time="/d/4", id="/d/3")}, more=dict(price_decimals=2, time_format="s"))


@shape
def sib_rows_scaled_numbered(seed):
    m = Market(seed)
    no = {s: 4100 + 7 * i for i, s in enumerate(m.symbols)}
    out = [["D", no[s], s] for s in m.symbols] + [["T", no[e["s"]], e4(e["p"]), e["q"], us(e)] for e in m.mixed(70, 0)]
    return out, dict(ticks=70, kinds={"trade": dict(symbol="/1", price="/2", size="/3", time="/4"), "naming": dict(number="/1", symbol="/2")}, more=dict(price_decimals=4, time_format="us"), words={"T": "trade", "D": "naming"})


@shape
def sib_rows_scaled_one_symbol(seed):
    m = Market(seed, symbols=1)
    return [["KLVN", e4(e["p"]), e["q"], ms(e)] for e in m.mixed(40, 0)], dict(
        ticks=40, kinds={"trade": dict(symbol="/0", price="/1", size="/2", time="/3")}, more=dict(price_decimals=4, time_format="ms"))


@shape
def sib_rows_scaled_quotes_only(seed):
    m = Market(seed)
    return [[us(e), e["s"], e4(e["b"]), e4(e["a"]), e["bq"], e["aq"]] for e in (m.quote() for _ in range(60))], dict(
        ticks=60, kinds={"quote": dict(symbol="/1", bid="/2", ask="/3", bid_size="/4", ask_size="/5", time="/0")}, more=dict(price_decimals=4, time_format="us"))


@shape
def sib_csv_scaled(seed):
    m = Market(seed)
    return [f"T|{e['s']}|{e4(e['p'])}|{e['q']}|{e['ns']}|{e['x']}" if e["kind"] == "trade" else f"Q|{e['s']}|{e4(e['b'])}|{e['bq']}|{e4(e['a'])}|{e['aq']}|{e['ns']}" for e in m.mixed(80, 0.4)], dict(
        ticks=80, kinds={"trade": dict(symbol="/1", price="/2", size="/3", time="/4"), "quote": dict(symbol="/1", bid="/2", bid_size="/3", ask="/4", ask_size="/5", time="/6")},
        more=dict(encoding="csv", price_decimals=4, time_format="ns"), words={"T": "trade", "Q": "quote"})


@shape
def sib_tags_scaled(seed):
    m = Market(seed)
    return [f"typ=trd;sym={e['s']};px={e4(e['p'])};qty={e['q']};ts={us(e)}" for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/sym", price="/px", size="/qty", time="/ts")}, more=dict(encoding="tags", price_decimals=4, time_format="us"))


@shape
def sib_tags_of_two_kinds(seed):
    m = Market(seed)
    soh = "\x01"
    out = []
    for e in m.mixed(70, 0.4):
        if e["kind"] == "trade":
            out.append(soh.join(["E=T", f"S={e['s']}", f"P={e['p']:.2f}", f"Q={e['q']}", f"C={'I' if e['odd'] else '@'}", f"Z={iso(e['ns'], 6)}"]) + soh)
        else:
            out.append(soh.join(["E=Q", f"S={e['s']}", f"BP={e['b']:.2f}", f"BS={e['bq']}", f"AP={e['a']:.2f}", f"AS={e['aq']}", f"Z={iso(e['ns'], 6)}"]) + soh)
    return out, dict(ticks=70, kinds={"trade": dict(symbol="/S", price="/P", size="/Q", time="/Z", conditions="/C"), "quote": dict(symbol="/S", bid="/BP", ask="/AP", bid_size="/BS", ask_size="/AS", time="/Z")},
                     more=dict(encoding="tags", time_format="rfc3339", conditions="utdf"), words={"T": "trade", "Q": "quote"})


# Scales told elsewhere --------------------------------------------------------------------------------------------------------------


@shape
def sib_divisor_before(seed):
    m = Market(seed)
    out = [{"type": "hello", "priceDivisor": 10000, "server": "a3"}] + m.written(60, 0, lambda e: {"type": "trade", "sym": e["s"], "px": e4(e["p"]), "qty": e["q"], "ts": us(e)})
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/sym", price="/px", size="/qty", time="/ts")}, more=dict(price_decimals=4, time_format="us"))


@shape
def sib_exponent_in_row(seed):
    m = Market(seed)
    return [[e["s"], e4(e["p"]), -4, e["q"], us(e)] for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/0", price="/1", size="/3", time="/4")}, more=dict(price_decimals=4, time_format="us"))


@shape
def sib_exponent_beside(seed):
    m = Market(seed)
    return [{"sym": e["s"], "priceMantissa": round(e["p"] * 1000), "priceExponent": -3, "volume": e["q"], "at": ms(e)} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/sym", price="/priceMantissa", size="/volume", time="/at")}, more=dict(price_decimals=3, time_format="ms"))


@shape
def sib_tick_size_told(seed):
    """Prices in whole ticks of a cent: the definition of each instrument says so."""
    m = Market(seed)
    out = [{"m": "def", "sym": s, "tickSize": 0.01, "lot": 1} for s in m.symbols] + m.written(60, 0, lambda e: {"m": "trd", "sym": e["s"], "ticks": round(e["p"] * 100), "qty": e["q"], "ts": us(e)})
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/sym", price="/ticks", size="/qty", time="/ts")}, more=dict(price_decimals=2, time_format="us"), words={"trd": "trade"})


@shape
def sib_tick_of_five_cents(seed):
    """Ticks of five cents cannot be said with decimals: to be asked for by name."""
    m = Market(seed)
    out = [{"m": "def", "sym": s, "tickSize": 0.05} for s in m.symbols] + m.written(60, 0, lambda e: {"m": "trd", "sym": e["s"], "price": round(e["p"] * 20), "qty": e["q"], "ts": us(e)})
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/sym", price="/price", size="/qty", time="/ts")}, more=dict(time_format="us"), ask=["price_decimals"], any_keys=["price_decimals"])


@shape
def sib_scales_differ(seed):
    """Each message with its own scale: no one number of decimals is right, so it has to ask."""
    m = Market(seed)
    scale = {s: 2 if i % 2 else 4 for i, s in enumerate(m.symbols)}
    return [{"sym": e["s"], "px": round(e["p"] * 10 ** scale[e["s"]]), "scale": scale[e["s"]], "qty": e["q"], "ts": us(e)} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/sym", price="/px", size="/qty", time="/ts")}, more=dict(time_format="us"), ask=["price_decimals"], any_keys=["price_decimals"])


@shape
def sib_scales_differ_by_symbol(seed):
    m = Market(seed)
    scale = {s: 2 if i % 2 else 4 for i, s in enumerate(m.symbols)}
    out = [{"t": "instrument", "s": s, "decimals": scale[s]} for s in m.symbols] + m.written(60, 0, lambda e: {"t": "trade", "s": e["s"], "p": round(e["p"] * 10 ** scale[e["s"]]), "q": e["q"], "u": us(e)})
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/s", price="/p", size="/q", time="/u")}, more=dict(time_format="us"), ask=["price_decimals"], any_keys=["price_decimals"])


# The day's volume in other units ----------------------------------------------------------------------------------------------------


@shape
def sib_volume_in_hundreds(seed):
    """Shares in the trades, hundreds of shares in the day's volume; odd lots make it creep between."""
    m = Market(seed)
    return [{"ticker": e["s"], "last": e["p"], "lastSize": e["q"], "totalVolume": e["dv"] // 100, "time": ms(e)} for e in m.mixed(90, 0)], dict(
        ticks=90, kinds={"trade": dict(symbol="/ticker", price="/last", size="/lastSize", day_volume="/totalVolume", time="/time")}, more=dict(volume_lot_size=100, time_format="ms"))


@shape
def sib_both_in_lots(seed):
    m = Market(seed, lots=True)
    return [{"ticker": e["s"], "price": e["p"], "lots": e["q"] // 100, "dayLots": e["dv"] // 100, "time": ms(e)} for e in m.mixed(70, 0)], dict(
        ticks=70, kinds={"trade": dict(symbol="/ticker", price="/price", size="/lots", day_volume="/dayLots", time="/time")}, more=dict(lot_size=100, volume_lot_size=100, time_format="ms"))


# Times that are no dates --------------------------------------------------------------------------------------------------------------


@shape
def sib_seconds_of_day(seed):
    m = Market(seed)
    return [{"sym": e["s"], "price": e["p"], "size": e["q"], "time": round(day_ns(e) / 1e9, 3)} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/sym", price="/price", size="/size", time="")}, more=dict(), ask=["fields.time"])


@shape
def sib_millis_of_day(seed):
    m = Market(seed)
    return [[e["s"], day_ns(e) // 10**6, f"{e['p']:.2f}", e["q"]] for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/0", price="/2", size="/3", time="")}, more=dict(), ask=["fields.time"])


@shape
def sib_nanos_of_day(seed):
    m = Market(seed)
    return [{"type": "P", "stock": e["s"], "price": e4(e["p"]), "shares": e["q"], "timestamp": day_ns(e), "match": e["id"]} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/stock", price="/price", size="/shares", time="")}, more=dict(price_decimals=4), ask=["fields.time"])


@shape
def sib_clock_text(seed):
    m = Market(seed)
    return [f"{e['s']},{iso(e['ns'], 3, '')[11:]},{e['p']:.2f},{e['q']}" for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/0", price="/2", size="/3", time="")}, more=dict(encoding="csv"), ask=["fields.time"])


@shape
def sib_date_and_clock_apart(seed):
    m = Market(seed)
    return [{"sym": e["s"], "date": "2026-10-14", "clock": iso(e["ns"], 3, "")[11:], "price": e["p"], "qty": e["q"]} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/sym", price="/price", size="/qty", time="")}, more=dict(), ask=["fields.time"])


# Where rows stand -----------------------------------------------------------------------------------------------------------------------


@shape
def sib_members_of_rows(seed):
    m = Market(seed)
    out = []
    for _ in range(15):
        out.append({e["s"]: [e["p"], e["q"], ms(e)] for e in (m.trade(s) for s in m.symbols)})
    return out, dict(ticks=15 * len(m.symbols), kinds={"trade": dict(symbol="key", price="/0", size="/1", time="/2")}, more=dict(time_format="ms"))


@shape
def sib_members_of_lists_of_rows(seed):
    m = Market(seed)
    out, n = [], 0
    for _ in range(15):
        rows = {}
        for _ in range(m.random.randrange(2, 7)):
            e = m.trade()
            n += 1
            rows.setdefault(e["s"], []).append([us(e), e4(e["p"]), e["q"]])
        out.append({"ch": "T", "rows": rows})
    return out, dict(ticks=n, kinds={"trade": dict(symbol="key", price="/rows/1", size="/rows/2", time="/rows/0")}, more=dict(price_decimals=4, time_format="us"))


@shape
def sib_columns_of_one_symbol(seed):
    m = Market(seed)
    out, n = [], 0
    for _ in range(30):
        s = m.random.choice(m.symbols)
        rows = [m.trade(s) for _ in range(m.random.randrange(1, 5))]
        n += len(rows)
        out.append({"s": s, "p": [e4(e["p"]) for e in rows], "v": [e["q"] for e in rows], "t": [ms(e) for e in rows]})
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/s", price="/p", size="/v", time="/t")}, more=dict(columns=True, price_decimals=4, time_format="ms"))


@shape
def sib_columns_inside(seed):
    m = Market(seed)
    out = m.batches(30, 1, 6, lambda rows: {"event": "trades", "payload": {"symbol": [e["s"] for e in rows], "price": [e4(e["p"]) for e in rows], "qty": [e["q"] for e in rows], "time": [ms(e) for e in rows]}})
    return out, dict(ticks=m.seq, kinds={"trade": dict(symbol="/payload/symbol", price="/payload/price", size="/payload/qty", time="/payload/time")}, more=dict(columns=True, price_decimals=4, time_format="ms"))


@shape
def sib_columns_by_place(seed):
    """Lists side by side, told apart by their place alone."""
    m = Market(seed)
    out = m.batches(30, 2, 6, lambda rows: [[e["s"] for e in rows], [e["p"] for e in rows], [e["q"] for e in rows], [ms(e) for e in rows]])
    return out, dict(ticks=m.seq, kinds={"trade": dict(symbol="/0", price="/1", size="/2", time="/3")}, more=dict(columns=True, time_format="ms"))


@shape
def sib_names_said_once(seed):
    m = Market(seed)
    out = [{"type": "schema", "fields": ["timestamp", "symbol", "tradePrice", "tradeSize", "venue"]}] + m.batches(30, 1, 4, lambda rows: {"type": "data", "rows": [[us(e), e["s"], e4(e["p"]), e["q"], "XNAS"] for e in rows]})
    return out, dict(ticks=m.seq, kinds={"trade": dict(symbol="/rows/1", price="/rows/2", size="/rows/3", time="/rows/0", exchange="/rows/4")}, more=dict(price_decimals=4, time_format="us"))


@shape
def sib_names_of_two_kinds(seed):
    """The places' names are said once for each kind, and two lists are equally long."""
    m = Market(seed)
    out = [{"schema": {"trade": ["kind", "symbol", "ts", "price", "size", "total"], "quote": ["kind", "symbol", "ask", "bid", "ts", "tape"]}}]
    out += m.written(80, 0.4, lambda e: ["trade", e["s"], us(e), e["p"], e["q"], e["dv"]], lambda e: ["quote", e["s"], e["a"], e["b"], us(e), "C"])
    return out, dict(ticks=80, kinds={"trade": dict(symbol="/1", time="/2", price="/3", size="/4", day_volume="/5"), "quote": dict(symbol="/1", ask="/2", bid="/3", time="/4")}, more=dict(time_format="us"), words={"trade": "trade", "quote": "quote"})


@shape
def sib_header_row_then_rows(seed):
    m = Market(seed)
    out = [["sym", "px", "sz", "ts", "total"]] + [[e["s"], e4(e["p"]), e["q"], ms(e), e["dv"]] for e in m.mixed(60, 0)]
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/0", price="/1", size="/2", time="/3", day_volume="/4")}, more=dict(price_decimals=4, time_format="ms"))


@shape
def sib_price_and_size_in_a_pair(seed):
    m = Market(seed)
    return [{"k": e["s"], "x": [e["p"], e["q"]], "n": us(e)} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/k", price="/x/0", size="/x/1", time="/n")}, more=dict(time_format="us"))


@shape
def sib_csv_semicolons_with_lots(seed):
    m = Market(seed, lots=True)
    return ["time;symbol;last;lots;cumLots"] + [f"{iso(e['ns'], 3)};{e['s']};{e['p']:.2f};{e['q'] // 100};{e['dv'] // 100}" for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(time="/0", symbol="/1", price="/2", size="/3", day_volume="/4")}, more=dict(encoding="csv", lot_size=100, volume_lot_size=100, time_format="rfc3339"))


# Volume that is told twice ------------------------------------------------------------------------------------------------------------


def with_bars(m, minutes, trade, bar, shown=lambda e: True, counted=lambda e: True, at_end=True):
    """Trades as they come, and after each minute a bar for each symbol that traded; `shown`: trades that the source sends, `counted`:
    those that its bars hold. Gives the frames and how many trades were shown."""
    out, n, minute, held = [], 0, None, {}
    last = m.ns // (60 * 10**9) + minutes
    while m.ns // (60 * 10**9) < last:
        e = m.trade()
        now = e["ns"] // (60 * 10**9)
        if minute is not None and now != minute:
            for s, rows in sorted(held.items()):
                prices = [r["p"] for r in rows]
                out.append(bar(dict(s=s, o=prices[0], h=max(prices), l=min(prices), c=prices[-1], q=sum(r["q"] for r in rows), ns=(minute + at_end) * 60 * 10**9)))
            held = {}
        minute = now
        if counted(e):
            held.setdefault(e["s"], []).append(e)
        if shown(e):
            n += 1
            out.append(trade(e))
    return out, n


def plain_trade(e):
    return {"type": "trade", "sym": e["s"], "px": e["p"], "qty": e["q"], "ts": ms(e)}


def plain_bar(b):
    return {"type": "bar", "sym": b["s"], "open": b["o"], "high": b["h"], "low": b["l"], "close": b["c"], "volume": b["q"], "ts": b["ns"] // 10**6}


@shape
def sib_bars_say_the_same(seed):
    """The bars hold just the trades: to count both would count twice, and nothing has to be asked."""
    m = Market(seed)
    out, n = with_bars(m, 6, plain_trade, plain_bar)
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/sym", price="/px", size="/qty", time="/ts")}, more=dict(time_format="ms"), words={"trade": "trade", "bar": "ignore"}, unasked=["kind_words.bar"])


@shape
def sib_bars_of_all_venues(seed):
    """The bars hold every venue, the trades are of one."""
    m = Market(seed)
    out, n = with_bars(m, 8, plain_trade, plain_bar, shown=lambda e: e["x"] in "NQ")
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/sym", price="/px", size="/qty", time="/ts")}, more=dict(time_format="ms"), words={"trade": "trade", "bar": "ignore"}, ask=["kind_words.bar"], doubtful=["bar"])


@shape
def sib_bars_without_odd_lots(seed):
    m = Market(seed)
    out, n = with_bars(m, 6, plain_trade, plain_bar, counted=lambda e: not e["odd"], at_end=False)
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/sym", price="/px", size="/qty", time="/ts")}, more=dict(time_format="ms"), words={"trade": "trade", "bar": "ignore"}, ask=["kind_words.bar"], doubtful=["bar"])


@shape
def sib_bars_in_rows(seed):
    """The same in rows without names, prices scaled, the bars of one venue only."""
    m = Market(seed)
    out, n = with_bars(m, 8, lambda e: ["T", e["s"], us(e), e4(e["p"]), e["q"]], lambda b: ["B", b["s"], b["ns"] // 1000, e4(b["o"]), e4(b["h"]), e4(b["l"]), e4(b["c"]), b["q"]], counted=lambda e: e["x"] == "N")
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/1", time="/2", price="/3", size="/4")}, more=dict(price_decimals=4, time_format="us"), words={"T": "trade", "B": "ignore"}, ask=["kind_words.B"], doubtful=["B"])


@shape
def sib_bars_by_presence(seed):
    """No word tells the bars; their times are texts, and they begin a minute."""
    m = Market(seed)
    out, n = with_bars(m, 6, lambda e: {"s": e["s"], "at": iso(e["ns"], 3), "p": e["p"], "q": e["q"]}, lambda b: {"s": b["s"], "at": iso(b["ns"], 0), "o": b["o"], "h": b["h"], "l": b["l"], "c": b["c"], "v": b["q"] * 3}, at_end=False)
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/s", time="/at", price="/p", size="/q")}, more=dict(time_format="rfc3339"), ask=["rules"], doubtful=[""])


@shape
def sib_bars_of_two_lengths(seed):
    """Bars of a minute and of five, no trades: both would count twice."""
    m = Market(seed)
    out, one = with_bars(m, 21, lambda e: None, lambda b: {"ev": "M1", "s": b["s"], "o": b["o"], "h": b["h"], "l": b["l"], "c": b["c"], "v": b["q"], "e": b["ns"] // 10**6})
    out, held, n = [f for f in out if f], {}, 0
    frames = []
    for b in out:
        minute = b["e"] // 60_000
        frames.append(b)
        n += 1
        rows = held.setdefault((b["s"], (minute - 1) // 5), [])
        rows.append(b)
        if minute % 5 == 0:
            frames.append({"ev": "M5", "s": b["s"], "o": rows[0]["o"], "h": max(r["h"] for r in rows), "l": min(r["l"] for r in rows), "c": rows[-1]["c"], "v": sum(r["v"] for r in rows), "e": b["e"]})
    return frames, dict(ticks=n, kinds={"bar": dict(symbol="/s", price="/c", low="/l", high="/h", size="/v", time="/e")}, more=dict(time_format="ms"), words={"M5": "ignore"})


@shape
def sib_trades_told_twice(seed):
    """Each trade comes as a print, and again inside an update with the spread."""
    m = Market(seed)
    out = []
    for e in m.mixed(60, 0):
        out.append({"ev": "print", "sym": e["s"], "price": e["p"], "size": e["q"], "ts": us(e), "id": e["id"]})
        out.append({"ev": "lastSale", "sym": e["s"], "price": e["p"], "size": e["q"], "ts": us(e), "tape": "C"})
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/sym", price="/price", size="/size", time="/ts")}, more=dict(time_format="us"), words={"print": "trade", "lastSale": "ignore"}, ask=["kind_words.lastSale"])


# More of what could be counted twice, or in part ----------------------------------------------------------------------------------------


def growing_bars(m, bars, write):
    """Each bar comes several times while it grows, at last closed. Gives the frames and how many are closed."""
    out = []
    for _ in range(bars):
        for s in m.symbols:
            b = m.bar(s)
            steps = m.random.randrange(2, 5)
            for step in range(1, steps + 1):
                out.append(write(dict(b, q=b["q"] * step // steps, end=step == steps)))
    return out, bars * len(m.symbols)


@shape
def sib_growing_bars_with_flag(seed):
    m = Market(seed)
    out, n = growing_bars(m, 12, lambda b: {"ev": "kline", "sym": b["s"], "o": b["o"], "h": b["h"], "l": b["l"], "c": b["c"], "v": b["q"], "t": b["ns"] // 10**6, "final": b["end"]})
    return out, dict(ticks=n, kinds={"bar": dict(symbol="/sym", price="/c", low="/l", high="/h", size="/v", time="/t")}, more=dict(time_format="ms"))


@shape
def sib_growing_bars_without_flag(seed):
    m = Market(seed)
    out, _ = growing_bars(m, 12, lambda b: {"ev": "kline", "sym": b["s"], "o": b["o"], "h": b["h"], "l": b["l"], "c": b["c"], "v": b["q"], "t": b["ns"] // 10**6})
    return out, dict(ticks=len(out), kinds={"bar": dict(symbol="/sym", price="/c", low="/l", high="/h", size="/v", time="/t")}, more=dict(time_format="ms"), words={"kline": "bar"}, ask=["kind_words.kline"], doubtful=["kline"])


@shape
def sib_bars_of_two_lengths_one_word(seed):
    """The length of a bar stands in a value of its own."""
    m = Market(seed)
    out, _ = with_bars(m, 21, lambda e: None, lambda b: {"ev": "bar", "every": "1m", "s": b["s"], "o": b["o"], "h": b["h"], "l": b["l"], "c": b["c"], "v": b["q"], "e": b["ns"] // 10**6})
    held, n, frames = {}, 0, []
    for b in [f for f in out if f]:
        minute = b["e"] // 60_000
        frames.append(b)
        n += 1
        rows = held.setdefault((b["s"], (minute - 1) // 5), [])
        rows.append(b)
        if minute % 5 == 0:
            frames.append(dict(b, every="5m", o=rows[0]["o"], h=max(r["h"] for r in rows), l=min(r["l"] for r in rows), v=sum(r["v"] for r in rows)))
    return frames, dict(ticks=n, kinds={"bar": dict(symbol="/s", price="/c", low="/l", high="/h", size="/v", time="/e")}, more=dict(time_format="ms"))


@shape
def sib_trades_and_day_updates(seed):
    """Trades, and after each an update of the day with the last price, its size and the volume: that counts nothing twice as a day."""
    m = Market(seed)
    out = []
    for e in m.mixed(50, 0):
        out.append({"ch": "trades", "s": e["s"], "p": e["p"], "q": e["q"], "t": us(e), "id": e["id"]})
        out.append({"ch": "ticker", "s": e["s"], "last": e["p"], "lastQty": e["q"], "vol": e["dv"], "t": us(e)})
    return out, dict(ticks=100, kinds={"trade": dict(symbol="/s", price="/p", size="/q", time="/t"), "day": dict(symbol="/s", price="/last", day_volume="/vol", time="/t")}, more=dict(time_format="us"), words={"trades": "trade", "ticker": "day"})


@shape
def sib_members_of_columns(seed):
    """Lists side by side inside a member for each symbol: no mapping says that, so it has to ask."""
    m = Market(seed)
    out = []
    for _ in range(20):
        rows = {s: [m.trade(s) for _ in range(m.random.randrange(1, 4))] for s in m.symbols}
        out.append({s: {"p": [e["p"] for e in es], "v": [e["q"] for e in es], "t": [ms(e) for e in es]} for s, es in rows.items()})
    return out, dict(unsayable=True, ask=["messages"])


@shape
def sib_trades_inside_members(seed):
    """A list inside a message for each symbol: only its first entry can be read, so it has to ask."""
    m = Market(seed)
    out = []
    for _ in range(20):
        rows = {s: [m.trade(s) for _ in range(m.random.randrange(1, 4))] for s in m.symbols}
        out.append({s: {"name": s.title(), "trades": [{"p": e["p"], "v": e["q"], "t": ms(e)} for e in es]} for s, es in rows.items()})
    return out, dict(unsayable=True, ask=["messages"])


@shape
def sib_rows_of_kinds_in_frames(seed):
    m = Market(seed)
    out, n = [], 0
    for _ in range(30):
        es = m.mixed(m.random.randrange(1, 4), 0.4)
        n += len(es)
        out.append({"b": [["T", e["s"], us(e), e4(e["p"]), e["q"]] if e["kind"] == "trade" else ["Q", e["s"], us(e), e4(e["b"]), e["bq"], e4(e["a"]), e["aq"]] for e in es]})
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/b/1", time="/b/2", price="/b/3", size="/b/4"), "quote": dict(symbol="/b/1", time="/b/2", bid="/b/3", bid_size="/b/4", ask="/b/5", ask_size="/b/6")},
                     more=dict(price_decimals=4, time_format="us"), words={"T": "trade", "Q": "quote"})


@shape
def sib_cheap_in_cents(seed):
    m = Market(seed, symbols=2)
    m.last = {"KLVN": 3.12, "NIVO": 2.41}
    return [{"sym": e["s"], "px": round(e["p"] * 100), "qty": e["q"], "ts": us(e)} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/sym", price="/px", size="/qty", time="/ts")}, more=dict(price_decimals=2, time_format="us"))


@shape
def sib_price_in_name_of_unit(seed):
    m = Market(seed)
    return [{"sym": e["s"], "priceMicros": round(e["p"] * 1_000_000), "qty": e["q"], "tsMicros": us(e)} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/sym", price="/priceMicros", size="/qty", time="/tsMicros")}, more=dict(price_decimals=6, time_format="us"))


@shape
def sib_sub_penny_scale(seed):
    """Prices to a hundredth of a cent; the header says four decimals, and the last digits are not noughts."""
    m = Market(seed)
    out = [{"hello": {"pxScale": 4}}] + [{"s": e["s"], "px": e4(e["p"]) + m.random.randrange(100), "n": e["q"], "ts": us(e)} for e in m.mixed(60, 0)]
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/s", price="/px", size="/n", time="/ts")}, more=dict(price_decimals=4, time_format="us"))


@shape
def sib_sub_penny_untold(seed):
    """The same, and nothing says the scale: it has to ask."""
    m = Market(seed)
    return [[e["s"], us(e), e4(e["p"]) + m.random.randrange(100), e["q"]] for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/0", price="/2", size="/3", time="/1")}, more=dict(time_format="us"), ask=["price_decimals"], any_keys=["price_decimals"])


@shape
def sib_wrong_precision(seed):
    """The definitions say with how many digits prices are shown, not how they are sent."""
    m = Market(seed)
    out = [{"t": "inst", "s": s, "precision": 2, "sizePrecision": 0} for s in m.symbols] + m.written(60, 0, lambda e: {"t": "trade", "s": e["s"], "p": e4(e["p"]), "q": e["q"], "u": us(e)})
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/s", price="/p", size="/q", time="/u")}, more=dict(time_format="us"), ask=["price_decimals"], any_keys=["price_decimals"])


@shape
def sib_day_volume_of_all_venues(seed):
    """The day's volume is of the whole tape, the trades of one venue, both in shares."""
    m = Market(seed)
    rows = [e for e in m.mixed(160, 0) if e["x"] in "NP"]
    return [{"ticker": e["s"], "price": e["p"], "shares": e["q"], "dayVolume": e["dv"], "ts": ms(e)} for e in rows], dict(
        ticks=len(rows), kinds={"trade": dict(symbol="/ticker", price="/price", size="/shares", day_volume="/dayVolume", time="/ts")}, more=dict(time_format="ms"))
