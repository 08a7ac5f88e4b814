"""Ten shapes written after the guesser was done, to see how it does on what it was not made for; then kept as tests."""
import json

from market import Market, iso
from shapes import ms, sec, shape, us


@shape
def fresh_typed_arrays_in_data(seed):
    m = Market(seed)
    out, n = [{"type": "hello", "version": 3}], 0
    for _ in range(30):
        quotes = m.random.random() < 0.4
        rows = [m.quote() if quotes else m.trade() for _ in range(m.random.randrange(1, 4))]
        n += len(rows)
        if quotes:
            out.append({"type": "quote", "data": [{"symbol": e["s"], "bidPrice": f"{e['b']:.2f}", "bidQty": str(e["bq"]), "askPrice": f"{e['a']:.2f}", "askQty": str(e["aq"]), "eventTime": us(e)} for e in rows]})
        else:
            out.append({"type": "trade", "data": [{"symbol": e["s"], "lastPrice": f"{e['p']:.2f}", "lastQty": str(e["q"]), "eventTime": us(e), "tradeId": e["id"]} for e in rows]})
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/data/symbol", price="/data/lastPrice", size="/data/lastQty", time="/data/eventTime", id="/data/tradeId"),
                                     "quote": dict(bid="/data/bidPrice", ask="/data/askPrice", bid_size="/data/bidQty", ask_size="/data/askQty")}, more=dict(time_format="us"), words={"trade": "trade", "quote": "quote"})


@shape
def fresh_schema_then_rows(seed):
    m = Market(seed)
    out = m.batches(25, 1, 4, lambda rows: {"columns": ["time", "symbol", "price", "size", "exchange"], "values": [[iso(e["ns"], 6), e["s"], e["p"], e["q"], e["x"]] for e in rows]})
    n = m.seq
    return out, dict(ticks=n, kinds={"trade": dict(time="/values/0", symbol="/values/1", price="/values/2", size="/values/3", exchange="/values/4")}, more=dict(time_format="rfc3339"))


@shape
def fresh_csv_header(seed):
    m = Market(seed)
    lines = ["timestamp,symbol,bid,bid_size,ask,ask_size"]
    for e in (m.quote() for _ in range(50)):
        lines.append(f"{ms(e)},{e['s']},{e['b']},{e['bq']},{e['a']},{e['aq']}")
    return lines, dict(ticks=50, kinds={"quote": dict(time="/0", symbol="/1", bid="/2", bid_size="/3", ask="/4", ask_size="/5")}, more=dict(encoding="csv", time_format="ms"))


@shape
def fresh_lower_topics(seed):
    m = Market(seed)
    out = m.written(60, 0.4, lambda e: {"stream": f"{e['s']}@trade", "data": {"price": f"{e['p']:.2f}", "qty": str(e["q"]), "time": ms(e)}},
        lambda e: {"stream": f"{e['s']}@quote", "data": {"bid": f"{e['b']:.2f}", "ask": f"{e['a']:.2f}", "bidQty": str(e["bq"]), "askQty": str(e["aq"]), "time": ms(e)}})
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/stream", price="/data/price", size="/data/qty", time="/data/time"), "quote": dict(bid="/data/bid", ask="/data/ask")}, more=dict(symbol_form="{symbol}@*", time_format="ms"))


@shape
def fresh_volume_only(seed):
    m = Market(seed)
    out = []
    for e in m.mixed(60, 0):
        if e["id"] % 3:
            out.append({"instrument": e["s"], "px_last": e["p"], "volume": e["dv"], "ts": sec(e)})
    return out, dict(ticks=len(out), kinds={"day|trade": dict(symbol="/instrument", price="/px_last", day_volume="/volume", time="/ts")}, more=dict(time_format="s"))


@shape
def fresh_many_extras(seed):
    m = Market(seed)
    out = []
    for e in m.mixed(60, 0):
        p = e["p"]
        out.append({"id": e["id"], "sym": e["s"], "exch": "ARCX", "cur": "USD", "open": 50.01, "high": round(p + 1.5, 2), "low": round(p - 2.1, 2), "prevClose": 47.9, "change": round(p - 47.9, 2), "pctChange": 0.4,
                    "last": p, "lastSize": e["q"], "bid": round(p - .01, 2), "ask": round(p + .01, 2), "vwap": round(p - .2, 3), "numTrades": 1000 + e["seq"], "turnover": round(e["dv"] * p), "volume": e["dv"], "lastTime": ms(e), "receivedTime": ms(e) + 31})
    return out, dict(ticks=60, kinds={"trade|day": dict(symbol="/sym", price="/last", day_volume="/volume", time="/lastTime")}, more=dict(time_format="ms"))


@shape
def fresh_status_flags(seed):
    m = Market(seed)
    out = []
    for i, e in enumerate(m.mixed(60, 0)):
        out.append({"evt": "TradeReport", "Instrument": e["s"], "Price": e["p"], "Quantity": e["q"], "TransactTime": iso(e["ns"], 9), "TradeID": f"{e['id']:X}".rjust(8, "0"), "LateFlag": False, "OddLot": e["odd"]})
        if i in (20, 35):
            out.append({"evt": "TradingAction", "Instrument": "HALQ", "Halted": i == 20, "TransactTime": iso(m.pass_time(), 9)})
        if i == 40:
            out.append({"evt": "SystemEvent", "Code": "Q", "TransactTime": iso(m.pass_time(), 9)})
    return out, dict(ticks=62, kinds={"trade": dict(symbol="/Instrument", price="/Price", size="/Quantity", time="/TransactTime", id="/TradeID", odd_lot="/OddLot"), "status": dict(symbol="/Instrument", status="/Halted")}, more=dict(time_format="rfc3339"), words={"TradeReport": "trade", "TradingAction": "status"})


@shape
def fresh_nanos_in_tuple(seed):
    m = Market(seed)
    out = m.written(70, 0.3, lambda e: {"x": [1, e["s"], e["ns"], e["p"], e["q"], e["id"]]},
        lambda e: {"x": [2, e["s"], e["ns"], e["b"], e["bq"], e["a"], e["aq"]]})
    return out, dict(ticks=70, kinds={"trade": dict(symbol="/x/1", time="/x/2", price="/x/3", size="/x/4"), "quote": dict(symbol="/x/1", bid="/x/3", bid_size="/x/4", ask="/x/5", ask_size="/x/6")}, more=dict(time_format="ns"))


@shape
def fresh_rest_of_trades_by_symbol(seed):
    m = Market(seed)
    doc = {"trades": {s: [] for s in m.symbols}, "next_page_token": None}
    n = 0
    for _ in range(40):
        e = m.trade()
        n += 1
        doc["trades"][e["s"]].append({"t": iso(e["ns"], 9), "x": e["x"], "p": e["p"], "s": e["q"], "c": ["@"] if not e["odd"] else ["@", "I"], "i": e["id"]})
    return json.dumps(doc), dict(ticks=n, kinds={"trade": dict(symbol="key", price="/trades/p", size="/trades/s", time="/trades/t", conditions="/trades/c", id="/trades/i")}, more=dict(time_format="rfc3339", conditions="utdf"))


@shape
def fresh_local_compact(seed):
    m = Market(seed, symbols=2)
    out = [{"k": "auth", "ok": True}] + m.written(50, 0.3, lambda e: {"k": "tr", "n": e["s"], "d": iso(e["ns"], 3, "", " "), "pr": f"{e['p']:.2f}", "qy": e["q"]},
        lambda e: {"k": "qt", "n": e["s"], "d": iso(e["ns"], 3, "", " "), "bd": f"{e['b']:.2f}", "ak": f"{e['a']:.2f}", "bds": e["bq"], "aks": e["aq"]})
    return out, dict(ticks=50, kinds={"trade": dict(symbol="/n", time="/d", price="/pr", size="/qy"), "quote": dict(bid="/bd", ask="/ak", bid_size="/bds", ask_size="/aks")}, more=dict(time_format="rfc3339", time_zone="America/New_York"), words={"tr": "trade", "qt": "quote"})
