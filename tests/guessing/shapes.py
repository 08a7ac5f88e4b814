"""Shapes of sources, invented, as standards and the public descriptions of market data interfaces in general let one expect them:
each writes an invented market down in its own way and says where it put what.

A shape is a function of a seed that gives (frames, truth). Frames are objects to be written as JSON, or texts, or bytes. The truth:
  ticks   how many messages must become ticks
  kinds   kind -> {field: pointer}: what the mapping has to have for each kind ("a|b": either will do)
  more    other keys of the mapping and their values
  ask     names that must be asked for, or left likely, because the messages cannot tell them
"""
import json

from market import Market, iso

SHAPES = {}


def shape(f):
    SHAPES[f.__name__] = f
    return f


def ms(e):
    return e["ns"] // 10**6


def us(e):
    return e["ns"] // 10**3


def sec(e):
    return round(e["ns"] / 1e9, 3)


def two(kinds):
    return kinds


@shape
def flat_short(seed):
    m = Market(seed)
    out = [{"T": "subscription", "trades": ["KLVN"]}] + m.written(80, 0.3, lambda e: {"T": "t", "S": e["s"], "i": e["id"], "x": e["x"], "p": e["p"], "s": e["q"], "t": iso(e["ns"], 9), "c": ["@", "I"] if e["odd"] else ["@"], "z": "C"},
        lambda e: {"T": "q", "S": e["s"], "bp": e["b"], "bs": e["bq"], "ap": e["a"], "as": e["aq"], "t": iso(e["ns"], 9), "c": ["R"], "z": "C"})
    return out, dict(ticks=80, kinds={"trade": dict(symbol="/S", price="/p", size="/s", time="/t", conditions="/c", id="/i", exchange="/x"),
                                      "quote": dict(symbol="/S", bid="/bp", ask="/ap", bid_size="/bs", ask_size="/as", time="/t")},
                     more=dict(time_format="rfc3339", conditions="utdf"), words={"t": "trade", "q": "quote"})


@shape
def array_of_objects(seed):
    m = Market(seed)
    out, n = [[{"ev": "status", "status": "connected", "message": "Connected"}]], 0
    while n < 90:
        batch = []
        for e in m.mixed(m.random.randrange(1, 6)):
            n += 1
            if e["kind"] == "trade":
                batch.append({"ev": "T", "sym": e["s"], "x": m.random.randrange(1, 20), "i": str(e["id"]), "z": 3, "p": e["p"], "s": e["q"], "c": [14, 41] if e["odd"] else [], "t": ms(e), "q": e["seq"]})
            else:
                batch.append({"ev": "Q", "sym": e["s"], "bx": 4, "bp": e["b"], "bs": e["bq"] // 100, "ax": 7, "ap": e["a"], "as": e["aq"] // 100, "c": 0, "t": ms(e), "q": e["seq"]})
        out.append(batch)
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/sym", price="/p", size="/s", time="/t", id="/i", conditions="/c"),
                                     "quote": dict(symbol="/sym", bid="/bp", ask="/ap", bid_size="/bs", ask_size="/as", time="/t")},
                     more=dict(time_format="ms"), words={"T": "trade", "Q": "quote"})


@shape
def envelope_long_names(seed):
    m = Market(seed)
    out = [{"messageType": "heartbeat", "serverTime": ms(m.trade())}]
    for i, e in enumerate(m.mixed(70, 0)):
        if i % 15 == 0:
            out.append({"messageType": "heartbeat", "serverTime": ms(e)})
        out.append({"messageType": "trade", "payload": {"instrumentSymbol": e["s"], "tradePrice": f"{e['p']:.2f}", "tradeQuantity": str(e["q"]), "exchangeTimestamp": ms(e), "tradeId": f"TR{e['id']}", "venueCode": "XNYS", "totalVolume": e["dv"]}})
    return out, dict(ticks=70, kinds={"trade": dict(symbol="/payload/instrumentSymbol", price="/payload/tradePrice", size="/payload/tradeQuantity", time="/payload/exchangeTimestamp", id="/payload/tradeId", day_volume="/payload/totalVolume")},
                     more=dict(time_format="ms"), words={"trade": "trade"})


@shape
def batch_in_data(seed):
    m = Market(seed)
    out = [{"type": "ping"}] + m.batches(25, 1, 5, lambda rows: {"type": "trade", "data": [{"s": e["s"], "p": e["p"], "v": e["q"], "t": ms(e), "c": None} for e in rows]})
    n = m.seq
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/data/s", price="/data/p", size="/data/v", time="/data/t")}, more=dict(time_format="ms"))


@shape
def positional_rows(seed):
    m = Market(seed)
    out = m.batches(30, 1, 4, lambda rows: {"ch": "prints", "rows": [[e["s"], ms(e), f"{e['p']:.2f}", str(e["q"]), e["id"]] for e in rows]})
    n = m.seq
    out.insert(9, {"ch": "alive"})
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/rows/0", time="/rows/1", price="/rows/2", size="/rows/3", id="/rows/4")}, more=dict(time_format="ms"))


@shape
def positional_messages(seed):
    m = Market(seed)
    out = m.written(80, 0.4, lambda e: ["T", e["s"], us(e), e["p"], e["q"], e["dv"]],
        lambda e: ["Q", e["s"], us(e), e["b"], e["bq"], e["a"], e["aq"]])
    return out, dict(ticks=80, kinds={"trade": dict(symbol="/1", time="/2", price="/3", size="/4", day_volume="/5"),
                                      "quote": dict(symbol="/1", time="/2", bid="/3", bid_size="/4", ask="/5", ask_size="/6")},
                     more=dict(time_format="us"), words={"T": "trade", "Q": "quote"})


@shape
def columns(seed):
    m = Market(seed)
    out = m.batches(25, 1, 6, lambda rows: {"symbols": [e["s"] for e in rows], "prices": [e["p"] for e in rows], "sizes": [e["q"] for e in rows], "times": [ms(e) for e in rows]})
    n = m.seq
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/symbols", price="/prices", size="/sizes", time="/times")}, more=dict(columns=True, time_format="ms"))


@shape
def csv_lines(seed):
    m = Market(seed)
    return [f"{e['s']},{iso(e['ns'], 3)},{e['p']:.2f},{e['q']},{e['x']},{'@I' if e['odd'] else '@'}" for e in m.mixed(70, 0)], dict(
        ticks=70, kinds={"trade": dict(symbol="/0", time="/1", price="/2", size="/3")}, more=dict(encoding="csv", time_format="rfc3339"))


@shape
def scaled_prices(seed):
    m = Market(seed)
    return [{"sym": e["s"], "px": round(e["p"] * 10000), "qty": e["q"], "ts": e["ns"], "execId": e["id"]} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/sym", price="/px", size="/qty", time="/ts", id="/execId")}, more=dict(price_decimals=4, time_format="ns"))


@shape
def lots_and_volume(seed):
    m = Market(seed, lots=True)
    return [{"code": e["s"], "last": e["p"], "lots": e["q"] // 100, "cumVolume": e["dv"], "time": sec(e)} for e in m.mixed(80, 0)], dict(
        ticks=80, kinds={"trade": dict(symbol="/code", price="/last", size="/lots", day_volume="/cumVolume", time="/time")}, more=dict(lot_size=100, time_format="s"))


@shape
def meaningless_names(seed):
    m = Market(seed)
    return [{"a7": e["id"], "k2": e["p"], "zz": e["s"], "f1": e["q"], "b9": e["ns"], "w": e["dv"]} for e in m.mixed(90, 0)], dict(
        ticks=90, kinds={"trade": dict(symbol="/zz", price="/k2", size="/f1", time="/b9", day_volume="/w")}, more=dict(time_format="ns"))


@shape
def meaningless_quotes(seed):
    m = Market(seed)
    out = m.written(120, 0.5, lambda e: {"m": 17, "u": e["s"], "r": ms(e), "d1": e["p"], "d2": e["q"]},
        lambda e: {"m": 23, "u": e["s"], "r": ms(e), "g1": e["b"], "g2": e["bq"], "g3": e["a"], "g4": e["aq"]})
    return out, dict(ticks=120, kinds={"trade": dict(symbol="/u", time="/r", price="/d1", size="/d2"), "quote": dict(symbol="/u", time="/r", bid="/g1", ask="/g3", bid_size="/g2", ask_size="/g4")}, more=dict(time_format="ms"))


@shape
def topic_with_symbol(seed):
    m = Market(seed)
    out = [{"op": "subscribe", "success": True}] + m.written(70, 0.3, lambda e: {"topic": f"trade.{e['s']}", "ts": ms(e), "data": {"px": f"{e['p']:.2f}", "qty": e["q"], "tid": e["id"]}},
        lambda e: {"topic": f"quote.{e['s']}", "ts": ms(e), "data": {"bid": f"{e['b']:.2f}", "bidQty": e["bq"], "ask": f"{e['a']:.2f}", "askQty": e["aq"]}})
    return out, dict(ticks=70, kinds={"trade": dict(symbol="/topic", price="/data/px", size="/data/qty", time="/ts", id="/data/tid"), "quote": dict(symbol="/topic", bid="/data/bid", ask="/data/ask", bid_size="/data/bidQty", ask_size="/data/askQty", time="/ts")},
                     more=dict(symbol_form="*.{symbol}", time_format="ms"))


@shape
def channel_envelope(seed):
    m = Market(seed)
    out, n = [{"event": "subscribed", "channel": "trades", "id": 1}], 0
    for e in m.mixed(70, 0.4):
        n += 1
        d = {"symbol": e["s"], "timestamp": iso(e["ns"], 6)}
        d.update({"price": e["p"], "size": e["q"], "trade_id": e["id"]} if e["kind"] == "trade" else {"bid_price": e["b"], "bid_size": e["bq"], "ask_price": e["a"], "ask_size": e["aq"]})
        out.append({"event": "update", "channel": "trades" if e["kind"] == "trade" else "quotes", "result": d})
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/result/symbol", price="/result/price", size="/result/size", time="/result/timestamp", id="/result/trade_id"),
                                     "quote": dict(symbol="/result/symbol", bid="/result/bid_price", ask="/result/ask_price", bid_size="/result/bid_size", ask_size="/result/ask_size")}, more=dict(time_format="rfc3339"))


@shape
def kind_by_presence(seed):
    m = Market(seed)
    out = m.written(80, 0.4, lambda e: {"ticker": e["s"], "when": iso(e["ns"], 3, "-04:00"), "price": e["p"], "shares": e["q"]},
        lambda e: {"ticker": e["s"], "when": iso(e["ns"], 3, "-04:00"), "bid": e["b"], "ask": e["a"], "bidShares": e["bq"], "askShares": e["aq"]})
    out.insert(4, {"heartbeat": 1})
    return out, dict(ticks=80, kinds={"trade": dict(symbol="/ticker", time="/when", price="/price", size="/shares"), "quote": dict(symbol="/ticker", bid="/bid", ask="/ask", bid_size="/bidShares", ask_size="/askShares")}, more=dict(time_format="rfc3339"))


@shape
def fix_tags_in_json(seed):
    m = Market(seed)
    out = [{"35": "0", "34": 1, "52": "20261014-13:59:00.000"}] + m.written(60, 0, lambda e: {"35": "X", "34": e["seq"] + 1, "52": iso(e["ns"], 3).replace("-", "").replace("T", "-").rstrip("Z"), "55": e["s"], "270": f"{e['p']:.2f}", "271": str(e["q"]), "1003": str(e["id"]), "60": iso(e["ns"], 3).replace("-", "").replace("T", "-").rstrip("Z")})
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/55", price="/270", size="/271", time="/60", id="/1003")}, more=dict(time_format="rfc3339"))


@shape
def one_symbol_only(seed):
    m = Market(seed, symbols=1)
    return [{"symbol": e["s"], "price": e["p"], "volume": e["q"], "time": ms(e)} for e in m.mixed(30, 0)], dict(
        ticks=30, kinds={"trade": dict(symbol="/symbol", price="/price", size="/volume", time="/time")}, more=dict(time_format="ms"))


@shape
def few_messages(seed):
    m = Market(seed)
    return [{"type": "trade", "symbol": e["s"], "price": e["p"], "size": e["q"], "timestamp": iso(e["ns"]), "exchange": e["x"]} for e in m.mixed(4, 0)], dict(
        ticks=4, kinds={"trade": dict(symbol="/symbol", price="/price", size="/size", time="/timestamp")}, more=dict(time_format="rfc3339"))


@shape
def snapshot_members(seed):
    m = Market(seed)
    out, n = [], 0
    for _ in range(15):
        es = [m.trade(s) for s in m.symbols]
        n += len(es)
        out.append({"asOf": ms(es[-1]), "quotes": {e["s"]: {"last": e["p"], "volume": e["dv"], "bid": round(e["p"] - .01, 2), "ask": round(e["p"] + .01, 2), "time": ms(e), "open": 40 + len(e["s"]), "prevClose": 41.5} for e in es}})
    return out, dict(ticks=n, kinds={"day": dict(symbol="key", price="/quotes/last", day_volume="/quotes/volume", time="/quotes/time", bid="/quotes/bid", ask="/quotes/ask")}, more=dict(time_format="ms"))


@shape
def with_status_and_cancels(seed):
    m = Market(seed)
    out = []
    for i, e in enumerate(m.mixed(70, 0.2)):
        if e["kind"] == "trade":
            out.append({"type": "trade", "sym": e["s"], "px": e["p"], "sz": e["q"], "ts": us(e), "id": e["id"]})
        else:
            out.append({"type": "quote", "sym": e["s"], "bid": e["b"], "ask": e["a"], "bsz": e["bq"], "asz": e["aq"], "ts": us(e)})
        if i in (30, 50):
            h = m.status("NIVO", i == 30)
            out.append({"type": "halt", "sym": "NIVO", "state": "halted" if h["halted"] else "resumed", "ts": us(h)})
        if i in (40, 41):
            c = m.cancel()
            out.append({"type": "cancel", "sym": c["s"], "id": c["id"], "ts": us(c)})
        if i in (44, 46):
            c = m.correct()
            out.append({"type": "correction", "sym": c["s"], "id": c["id"], "px": c["p"], "sz": c["q"], "oldPx": c["op"], "oldSz": c["oq"], "ts": us(c)})
    return out, dict(ticks=76, kinds={"trade": dict(symbol="/sym", price="/px", size="/sz", time="/ts", id="/id"), "quote": dict(bid="/bid", ask="/ask"), "status": dict(symbol="/sym", status="/state", time="/ts"),
                                      "cancel": dict(id="/id", symbol="/sym"), "correct": dict(id="/id", price="/px", size="/sz", old_price="/oldPx")},
                     more=dict(time_format="us"), words={"trade": "trade", "quote": "quote", "halt": "status", "cancel": "cancel", "correction": "correct"})


@shape
def bars_only(seed):
    m = Market(seed)
    return [{"type": "bar", "symbol": e["s"], "o": e["o"], "h": e["h"], "l": e["l"], "c": e["c"], "v": e["q"], "t": ms(e)} for e in (m.bar() for _ in range(60))], dict(
        ticks=60, kinds={"bar": dict(symbol="/symbol", price="/c", low="/l", high="/h", size="/v", time="/t")}, more=dict(time_format="ms"))


@shape
def local_times(seed):
    m = Market(seed)
    return [{"Symbol": e["s"], "LastPrice": e["p"], "LastSize": e["q"], "TradeTime": iso(e["ns"], 3, "", " "), "Volume": e["dv"], "Vwap": round(e["p"] - .07, 4), "Open": 47.1, "Change": .4} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/Symbol", price="/LastPrice", size="/LastSize", time="/TradeTime", day_volume="/Volume")}, more=dict(time_format="rfc3339", time_zone="America/New_York"))


@shape
def suffixed_symbols(seed):
    m = Market(seed)
    return [{"s": e["s"] + ".US", "p": e["p"], "v": e["q"], "t": ms(e), "type": "trade" if i % 7 else "trade"} for i, e in enumerate(m.mixed(50, 0))], dict(
        ticks=50, kinds={"trade": dict(symbol="/s", price="/p", size="/v", time="/t")}, more=dict(symbol_form="{symbol}.US", time_format="ms"))


@shape
def symbol_in_envelope(seed):
    m = Market(seed)
    out, n = [], 0
    for _ in range(40):
        s = m.random.choice(m.symbols)
        rows = [m.trade(s) for _ in range(m.random.randrange(1, 4))]
        n += len(rows)
        out.append({"instrument": s, "trades": [{"price": e["p"], "qty": e["q"], "time": us(e), "tradeNo": e["id"]} for e in rows]})
    return out, dict(ticks=n, kinds={"trade": dict(symbol="frame:/instrument", price="/trades/price", size="/trades/qty", time="/trades/time", id="/trades/tradeNo")}, more=dict(time_format="us"))


@shape
def nested_values(seed):
    m = Market(seed)
    out = m.written(70, 0.4, lambda e: {"kind": "print", "instrument": {"symbol": e["s"], "type": "equity"}, "trade": {"price": {"value": e["p"], "currency": "USD"}, "quantity": e["q"]}, "time": {"exchange": iso(e["ns"], 6), "published": iso(e["ns"] + 3_000_000, 6)}},
        lambda e: {"kind": "book", "instrument": {"symbol": e["s"], "type": "equity"}, "bid": {"price": e["b"], "size": e["bq"]}, "ask": {"price": e["a"], "size": e["aq"]}, "time": {"exchange": iso(e["ns"], 6), "published": iso(e["ns"] + 3_000_000, 6)}})
    return out, dict(ticks=70, kinds={"trade": dict(symbol="/instrument/symbol", price="/trade/price/value", size="/trade/quantity", time="/time/exchange"), "quote": dict(bid="/bid/price", ask="/ask/price", bid_size="/bid/size", ask_size="/ask/size")}, more=dict(time_format="rfc3339"))


# Held out from the tuning ---------------------------------------------------------------------------------------------------------
HELD_OUT_FROM = len(SHAPES)


@shape
def ho_sse(seed):
    m = Market(seed)
    out = []
    for i, e in enumerate(m.mixed(50, 0.3)):
        if e["kind"] == "trade":
            d = {"ticker": e["s"], "price": e["p"], "size": e["q"], "ts": ms(e)}
        else:
            d = {"ticker": e["s"], "bid": e["b"], "bid_size": e["bq"], "ask": e["a"], "ask_size": e["aq"], "ts": ms(e)}
        out.append(f"event: {e['kind']}\nid: {i}\ndata: {json.dumps(d)}\n\n")
    return "".join(out), dict(ticks=50, kinds={"trade": dict(symbol="/ticker", price="/price", size="/size", time="/ts"), "quote": dict(bid="/bid", ask="/ask", bid_size="/bid_size", ask_size="/ask_size")}, more=dict(time_format="ms"))


@shape
def ho_stream_suffix(seed):
    m = Market(seed)
    return [{"stream": f"{e['s']}@trade", "data": {"e": "trade", "E": ms(e) + 2, "s": e["s"], "t": e["id"], "p": f"{e['p']:.4f}", "q": f"{e['q']}.0", "T": ms(e), "m": bool(e["id"] % 2)}} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/data/s", price="/data/p", size="/data/q", time="/data/T", id="/data/t")}, more=dict(time_format="ms"))


@shape
def ho_channel_array(seed):
    m = Market(seed)
    out = [{"event": "info", "version": 2}] + m.written(60, 0.3, lambda e: ["trades", e["s"], [e["id"], ms(e), e["p"], e["q"]]],
        lambda e: ["quotes", e["s"], [ms(e), e["b"], e["bq"], e["a"], e["aq"]]])
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/1", time="/2/1", price="/2/2", size="/2/3"), "quote": dict(symbol="/1", time="/2/0", bid="/2/1", ask="/2/3")}, more=dict(time_format="ms"))


@shape
def ho_numeric_types(seed):
    m = Market(seed)
    out = []
    for i, e in enumerate(m.mixed(90, 0.4)):
        if i % 20 == 3:
            out.append({"mt": 0, "ts": us(e)})
        if e["kind"] == "trade":
            out.append({"mt": 3, "sym": e["s"], "ts": us(e), "px": e["p"], "qty": e["q"], "seq": e["seq"]})
        else:
            out.append({"mt": 4, "sym": e["s"], "ts": us(e), "bpx": e["b"], "bqty": e["bq"], "apx": e["a"], "aqty": e["aq"], "seq": e["seq"]})
    return out, dict(ticks=90, kinds={"trade": dict(symbol="/sym", time="/ts", price="/px", size="/qty"), "quote": dict(bid="/bpx", ask="/apx", bid_size="/bqty", ask_size="/aqty")}, more=dict(time_format="us"))


@shape
def ho_word_conditions(seed):
    m = Market(seed)
    return [{"event": "last_sale", "security": e["s"], "amount": e["p"], "shares": e["q"], "executed_at": iso(e["ns"], 3), "qualifiers": "odd lot" if e["odd"] else "regular", "accumulated_volume": e["dv"], "reference": f"X-{e['id']}"} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/security", price="/amount", size="/shares", time="/executed_at", conditions="/qualifiers", day_volume="/accumulated_volume", id="/reference")}, more=dict(time_format="rfc3339", condition_words={"odd lot": "I", "regular": "@"}))


@shape
def ho_places_apart(seed):
    m = Market(seed)
    out, n = [], 0
    for _ in range(30):
        t = [m.trade() for _ in range(m.random.randrange(0, 3))]
        q = [m.quote() for _ in range(m.random.randrange(1, 3))]
        n += len(t) + len(q)
        f = {"seq": len(out) + 1, "quotes": [{"s": e["s"], "b": e["b"], "a": e["a"], "bs": e["bq"], "as": e["aq"], "t": ms(e)} for e in q]}
        if t:
            f["trades"] = [{"s": e["s"], "p": e["p"], "z": e["q"], "t": ms(e)} for e in t]
        out.append(f)
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/trades/s", price="/trades/p", size="/trades/z", time="/trades/t"), "quote": dict(symbol="/quotes/s", bid="/quotes/b", ask="/quotes/a", bid_size="/quotes/bs", ask_size="/quotes/as", time="/quotes/t")}, more=dict(time_format="ms"))


@shape
def ho_premarket_small(seed):
    m = Market(seed, start_minutes=-120)
    return [{"Type": "TRD", "Sec": e["s"], "Prc": f"{e['p']:.3f}", "Vol": e["q"], "Tm": sec(e), "Mkt": "XNAS", "Cnd": "T" if not e["odd"] else "TI", "AccVol": e["dv"]} for e in m.mixed(40, 0)], dict(
        ticks=40, kinds={"trade": dict(symbol="/Sec", price="/Prc", size="/Vol", time="/Tm", day_volume="/AccVol", conditions="/Cnd")}, more=dict(time_format="s"))


@shape
def ho_trade_with_bbo(seed):
    m = Market(seed)
    return [{"symbol": e["s"], "lastSale": {"price": e["p"], "size": e["q"], "timestamp": e["ns"]}, "day": {"high": 50.0, "low": 7.0, "volume": e["dv"]}, "bid": round(e["p"] - .01, 2), "ask": round(e["p"] + .01, 2)} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade|day": dict(symbol="/symbol", price="/lastSale/price", time="/lastSale/timestamp", day_volume="/day/volume")}, more=dict(time_format="ns"))


@shape
def ho_meaningless_rows(seed):
    m = Market(seed)
    return [[e["dv"], e["p"], e["q"], e["s"], e["id"], ms(e)] for e in m.mixed(70, 0)], dict(
        ticks=70, kinds={"trade": dict(symbol="/3", price="/1", size="/2", day_volume="/0", time="/5", id="/4")}, more=dict(time_format="ms"))


@shape
def ho_bars_beside_trades(seed):
    m = Market(seed)
    out = []
    for i, e in enumerate(m.mixed(60, 0)):
        out.append({"action": "trade", "symbol": e["s"], "price": e["p"], "quantity": e["q"], "time": iso(e["ns"], 6)})
        if i % 12 == 11:
            b = m.bar()
            out.append({"action": "minute_bar", "symbol": b["s"], "open": b["o"], "high": b["h"], "low": b["l"], "close": b["c"], "volume": b["q"], "time": iso(b["ns"], 0)})
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/symbol", price="/price", size="/quantity", time="/time")}, more=dict(time_format="rfc3339"), words={"trade": "trade", "minute_bar": "ignore"})


@shape
def ho_small_letters(seed):
    m = Market(seed)
    return [{"sym": e["s"].lower(), "price": e["p"], "size": e["q"], "epoch": ms(e)} for e in m.mixed(50, 0)], dict(
        ticks=50, kinds={"trade": dict(symbol="/sym", price="/price", size="/size", time="/epoch")}, more=dict(time_format="ms"))


@shape
def ho_cents(seed):
    m = Market(seed)
    out = [{"t": "hb"}] + m.written(70, 0.4, lambda e: {"t": "trd", "s": e["s"], "p": round(e["p"] * 100), "q": e["q"], "u": us(e)},
        lambda e: {"t": "bbo", "s": e["s"], "b": round(e["b"] * 100), "bq": e["bq"], "a": round(e["a"] * 100), "aq": e["aq"], "u": us(e)})
    return out, dict(ticks=70, kinds={"trade": dict(symbol="/s", price="/p", size="/q", time="/u"), "quote": dict(bid="/b", ask="/a", bid_size="/bq", ask_size="/aq")}, more=dict(price_decimals=2, time_format="us"), words={"trd": "trade", "bbo": "quote", "hb": "ignore"})
