"""More shapes of invented sources, with what is common in the wild and unpleasant: see shapes.py."""
import json

from market import Market, iso
from shapes import ms, sec, shape, us


@shape
def batch_of_kinds(seed):
    m = Market(seed)
    out, n = [{"e": "ok", "m": []}], 0
    for _ in range(25):
        rows = []
        for e in m.mixed(m.random.randrange(1, 5), 0.4):
            n += 1
            rows.append({"e": "t", "s": e["s"], "p": e["p"], "z": e["q"], "t": us(e)} if e["kind"] == "trade" else {"e": "q", "s": e["s"], "b": e["b"], "bz": e["bq"], "a": e["a"], "az": e["aq"], "t": us(e)})
        out.append({"e": "batch", "m": rows})
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/m/s", price="/m/p", size="/m/z", time="/m/t"), "quote": dict(bid="/m/b", ask="/m/a", bid_size="/m/bz", ask_size="/m/az")}, more=dict(time_format="us"), words={"t": "trade", "q": "quote"})


@shape
def root_members(seed):
    m = Market(seed)
    out, n = [], 0
    for _ in range(20):
        es = [m.trade(s) for s in m.symbols if m.random.random() < 0.7]
        n += len(es)
        if es:
            out.append({e["s"]: {"price": e["p"], "shares": e["q"], "time": ms(e), "dayVolume": e["dv"]} for e in es})
    return out, dict(ticks=n, kinds={"trade|day": dict(symbol="key", price="/price", time="/time", day_volume="/dayVolume")}, more=dict(time_format="ms"))


@shape
def rest_array(seed):
    m = Market(seed)
    rows = [{"ticker": s, "lastPrice": e["p"], "totalVolume": e["dv"], "lastTradeTime": iso(e["ns"], 3, "-04:00"), "bidPrice": round(e["p"] - .01, 2), "askPrice": round(e["p"] + .02, 2), "fiftyTwoWeekHigh": e["p"] * 1.3, "name": s.title() + " Incorporated"} for s, e in ((s, m.trade(s)) for s in m.symbols)]
    return json.dumps(rows, indent=1), dict(ticks=4, kinds={"day|trade": dict(symbol="/ticker", price="/lastPrice", day_volume="/totalVolume", time="/lastTradeTime", bid="/bidPrice", ask="/askPrice")}, more=dict(time_format="rfc3339"))


@shape
def book_with_levels(seed):
    m = Market(seed)
    out = m.written(70, 0.5, lambda e: {"type": "match", "product": e["s"], "price": f"{e['p']:.2f}", "size": str(e["q"]), "time": iso(e["ns"], 6), "trade_id": e["id"], "side": "buy" if e["id"] % 2 else "sell"},
        lambda e: {"type": "book", "product": e["s"], "bids": [[f"{e['b']:.2f}", str(e["bq"])], [f"{e['b'] - .01:.2f}", "300"]], "asks": [[f"{e['a']:.2f}", str(e["aq"])], [f"{e['a'] + .01:.2f}", "200"]], "time": iso(e["ns"], 6)})
    return out, dict(ticks=70, kinds={"trade": dict(symbol="/product", price="/price", size="/size", time="/time", id="/trade_id"), "quote": dict(symbol="/product", bid="/bids/0/0", ask="/asks/0/0", bid_size="/bids/0/1", ask_size="/asks/0/1", time="/time")}, more=dict(time_format="rfc3339"), words={"match": "trade", "book": "quote"})


@shape
def two_names_of_a_symbol(seed):
    m = Market(seed)
    return [{"isin": "US00000" + e["s"] + "0", "symbol": e["s"], "currency": "USD", "px": e["p"], "vol": e["q"], "avgPx": round(e["p"] - .13, 4), "ts": e["ns"], "venue": "XNAS", "side": "BUY" if e["id"] % 2 else "SELL", "tradeId": f"{e['id']:012d}"} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/symbol", price="/px", size="/vol", time="/ts", id="/tradeId")}, more=dict(time_format="ns"))


@shape
def method_params(seed):
    m = Market(seed)
    out = [{"jsonrpc": "2.0", "id": 1, "result": True}] + m.written(60, 0.3, lambda e: {"jsonrpc": "2.0", "method": "trade", "params": {"symbol": e["s"], "p": e["p"], "v": e["q"], "t": ms(e)}},
        lambda e: {"jsonrpc": "2.0", "method": "quote", "params": {"symbol": e["s"], "b": e["b"], "bv": e["bq"], "a": e["a"], "av": e["aq"], "t": ms(e)}})
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/params/symbol", price="/params/p", size="/params/v", time="/params/t"), "quote": dict(bid="/params/b", ask="/params/a")}, more=dict(time_format="ms"), words={"trade": "trade", "quote": "quote"})


@shape
def data_array_topics(seed):
    m = Market(seed)
    out, n = [], 0
    for _ in range(30):
        s = m.random.choice(m.symbols)
        rows = [m.trade(s) for _ in range(m.random.randrange(1, 4))]
        n += len(rows)
        out.append({"topic": f"trades:{s}", "type": "update", "data": [{"i": str(e["id"]), "p": f"{e['p']:.2f}", "v": str(e["q"]), "T": ms(e)} for e in rows]})
    return out, dict(ticks=n, kinds={"trade": dict(symbol="frame:/topic", price="/data/p", size="/data/v", time="/data/T", id="/data/i")}, more=dict(symbol_form="trades:{symbol}", time_format="ms"))


@shape
def exchange_prefix(seed):
    m = Market(seed)
    where = {"KLVN": "XNYS", "NIVO": "XNAS", "HALQ": "XNYS", "QUOL": "XNAS"}
    return [{"instrument": f"{where[e['s']]}:{e['s']}", "last": e["p"], "lastQty": e["q"], "tradeTime": us(e), "seqNo": i + 1000} for i, e in enumerate(m.mixed(60, 0))], dict(
        ticks=60, kinds={"trade": dict(symbol="/instrument", price="/last", size="/lastQty", time="/tradeTime")}, more=dict(symbol_form="*:{symbol}", time_format="us"))


@shape
def numbered_symbols(seed):
    m = Market(seed)
    number = {s: 1000 + i * 7 for i, s in enumerate(m.symbols)}
    out = [{"type": "directory", "symbol": s, "locate": k} for s, k in number.items()] + m.written(70, 0.3, lambda e: {"type": "trade", "locate": number[e["s"]], "price": e["p"], "shares": e["q"], "ts": e["ns"]},
        lambda e: {"type": "quote", "locate": number[e["s"]], "bid": e["b"], "ask": e["a"], "bidShares": e["bq"], "askShares": e["aq"], "ts": e["ns"]})
    return out, dict(ticks=70, kinds={"trade": dict(symbol="/locate", price="/price", size="/shares", time="/ts"), "naming": dict(symbol="/symbol", number="/locate")}, more=dict(time_format="ns"), words={"directory": "naming", "trade": "trade", "quote": "quote"})


@shape
def capital_names(seed):
    m = Market(seed)
    out = m.written(80, 0.4, lambda e: {"MSG_TYPE": "TRADE", "SYM": e["s"], "TRDPRC": e["p"], "TRDVOL": e["q"], "ACVOL": e["dv"], "TRDTIM_MS": ms(e), "SEQNUM": e["seq"]},
        lambda e: {"MSG_TYPE": "QUOTE", "SYM": e["s"], "BID": e["b"], "BIDSIZE": e["bq"], "ASK": e["a"], "ASKSIZE": e["aq"], "QUOTIM_MS": ms(e), "SEQNUM": e["seq"]})
    return out, dict(ticks=80, kinds={"trade": dict(symbol="/SYM", price="/TRDPRC", size="/TRDVOL", day_volume="/ACVOL", time="/TRDTIM_MS"), "quote": dict(bid="/BID", ask="/ASK", bid_size="/BIDSIZE", ask_size="/ASKSIZE", time="/QUOTIM_MS")}, more=dict(time_format="ms"), words={"TRADE": "trade", "QUOTE": "quote"})


@shape
def fix_lines(seed):
    m = Market(seed)
    stamp = lambda e: iso(e["ns"], 3).replace("-", "").replace("T", "-").rstrip("Z")
    return ["|".join(["35=W", f"34={i + 1}", f"52={stamp(e)}", f"55={e['s']}", "269=2", f"270={e['p']:.2f}", f"271={e['q']}", f"1003={e['id']}"]) for i, e in enumerate(m.mixed(50, 0))], dict(
        ticks=50, kinds={"trade": dict(symbol="/55", price="/270", size="/271", time="/52", id="/1003")}, more=dict(encoding="tags", time_format="rfc3339"))


@shape
def csv_with_kinds(seed):
    m = Market(seed)
    out = m.written(70, 0.4, lambda e: f"T;{e['s']};{ms(e)};{e['p']:.2f};{e['q']}",
        lambda e: f"Q;{e['s']};{ms(e)};{e['b']:.2f};{e['bq']};{e['a']:.2f};{e['aq']}")
    out.insert(7, "H;1791986400000")
    return out, dict(ticks=70, kinds={"trade": dict(symbol="/1", time="/2", price="/3", size="/4"), "quote": dict(bid="/3", ask="/5")}, more=dict(encoding="csv", time_format="ms"), words={"T": "trade", "Q": "quote"})


@shape
def meaningless_kinds_and_status(seed):
    m = Market(seed)
    out = []
    for i, e in enumerate(m.mixed(80, 0.4)):
        out.append({"aa": "x1", "bb": e["s"], "cc": e["ns"], "dd": f"{e['p']:.2f}", "ee": e["q"], "ff": f"n{e['id']}"} if e["kind"] == "trade" else {"aa": "x2", "bb": e["s"], "cc": e["ns"], "gg": f"{e['b']:.2f}", "hh": e["bq"], "ii": f"{e['a']:.2f}", "jj": e["aq"]})
        if i % 17 == 5:
            out.append({"aa": "x9", "cc": e["ns"]})
    return out, dict(ticks=80, kinds={"trade": dict(symbol="/bb", time="/cc", price="/dd", size="/ee", id="/ff"), "quote": dict(bid="/gg", bid_size="/hh", ask="/ii", ask_size="/jj")}, more=dict(time_format="ns"), words={"x1": "trade", "x2": "quote", "x9": "ignore"})


@shape
def bars_columns(seed):
    m = Market(seed, symbols=1)
    out, n = [], 0
    for _ in range(6):
        rows = [m.bar() for _ in range(5)]
        n += 5
        out.append({"symbol": rows[0]["s"], "open": [b["o"] for b in rows], "high": [b["h"] for b in rows], "low": [b["l"] for b in rows], "close": [b["c"] for b in rows], "volume": [b["q"] for b in rows], "timestamp": [b["ns"] // 10**9 for b in rows]})
    return out, dict(ticks=n, kinds={"bar": dict(symbol="/symbol", price="/close", low="/low", high="/high", size="/volume", time="/timestamp")}, more=dict(columns=True, time_format="s"))


@shape
def times_as_text_ns(seed):
    m = Market(seed)
    return [{"symbol": e["s"], "price": str(e["p"]), "size": str(e["q"]), "timestamp": str(e["ns"]), "conditions": "@ I" if e["odd"] else "@", "id": f"{e['id']:x}-{e['seq']}"} for e in m.mixed(50, 0)], dict(
        ticks=50, kinds={"trade": dict(symbol="/symbol", price="/price", size="/size", time="/timestamp", conditions="/conditions", id="/id")}, more=dict(time_format="ns"))


@shape
def bust_by_number(seed):
    m = Market(seed)
    out = []
    for i, e in enumerate(m.mixed(60, 0)):
        out.append({"k": "print", "s": e["s"], "px": e["p"], "n": e["q"], "ts": ms(e), "ref": e["id"]})
        if i in (20, 40, 50):
            c = m.cancel()
            out.append({"k": "bust", "s": c["s"], "px": c["p"], "n": c["q"], "ts": ms(c), "ref": c["id"]})
    return out, dict(ticks=63, kinds={"trade": dict(symbol="/s", price="/px", size="/n", time="/ts", id="/ref"), "cancel": dict(id="/ref", symbol="/s", price="/px", size="/n")}, more=dict(time_format="ms"), words={"print": "trade", "bust": "cancel"})
