"""Ten more shapes, written after the second round, to measure once more on what the guesser was not made for."""
import json

from market import Market, iso
from shapes import ms, sec, shape, us


@shape
def later_pascal_envelope(seed):
    m = Market(seed)
    out = [{"Header": {"MessageType": "Heartbeat", "SendTime": ms(m.trade())}}]
    for e in m.mixed(60, 0.4):
        head = {"MessageType": "Trade" if e["kind"] == "trade" else "Quote", "SendTime": ms(e) + 4, "SeqNo": e["seq"]}
        body = {"Symbol": e["s"], "TradePrice": e["p"], "TradeSize": e["q"], "TradeTime": ms(e)} if e["kind"] == "trade" else {"Symbol": e["s"], "BidPrice": e["b"], "BidSize": e["bq"], "AskPrice": e["a"], "AskSize": e["aq"], "QuoteTime": ms(e)}
        out.append({"Header": head, "Body": body})
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/Body/Symbol", price="/Body/TradePrice", size="/Body/TradeSize", time="/Body/TradeTime"), "quote": dict(bid="/Body/BidPrice", ask="/Body/AskPrice", time="/Body/QuoteTime")}, more=dict(time_format="ms"), words={"Trade": "trade", "Quote": "quote"})


@shape
def later_numbers_by_directory(seed):
    m = Market(seed)
    no = {s: i + 1 for i, s in enumerate(m.symbols)}
    out = [{"op": "symbols", "list": [{"id": no[s], "name": s} for s in m.symbols]}] + m.written(60, 0, lambda e: {"op": "t", "i": no[e["s"]], "p": e["p"], "q": e["q"], "u": us(e)})
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/i", price="/p", size="/q", time="/u")}, more=dict(time_format="us"))


@shape
def later_text_numbers_ns(seed):
    m = Market(seed, symbols=3)
    return [{"a": "T", "b": e["s"], "c": str(e["ns"]), "d": f"{e['p']:.4f}", "e": str(e["q"]), "f": str(e["dv"]), "g": "P"} for e in m.mixed(40, 0)], dict(
        ticks=40, kinds={"trade": dict(symbol="/b", time="/c", price="/d", size="/e", day_volume="/f")}, more=dict(time_format="ns"))


@shape
def later_round_lots_named(seed):
    m = Market(seed, lots=True)
    return [{"type": "trade", "sym": e["s"], "price": e["p"], "roundLots": e["q"] // 100, "ts": ms(e)} for e in m.mixed(50, 0)], dict(
        ticks=50, kinds={"trade": dict(symbol="/sym", price="/price", size="/roundLots", time="/ts")}, more=dict(lot_size=100, time_format="ms"))


@shape
def later_ticker_updates(seed):
    m = Market(seed)
    out = m.written(50, 0, lambda e: {"channel": "ticker", "data": {"s": e["s"], "last": f"{e['p']:.2f}", "bid": f"{e['p'] - .01:.2f}", "ask": f"{e['p'] + .01:.2f}", "vol": str(e["dv"]), "ts": iso(e["ns"], 3)}})
    out.insert(3, {"channel": "heartbeat", "data": {"counter": 5}})
    return out, dict(ticks=50, kinds={"day": dict(symbol="/data/s", price="/data/last", day_volume="/data/vol", bid="/data/bid", ask="/data/ask", time="/data/ts")}, more=dict(time_format="rfc3339"), words={"ticker": "day"})


@shape
def later_slash_times(seed):
    m = Market(seed, start_minutes=200)
    return [{"Ticker": e["s"], "Px": e["p"], "Qty": e["q"], "Stamp": iso(e["ns"], 3, "", " ").replace("-", "/"), "Cond": ""} for e in m.mixed(40, 0)], dict(
        ticks=40, kinds={"trade": dict(symbol="/Ticker", price="/Px", size="/Qty", time="/Stamp")}, more=dict(time_format="rfc3339"))


@shape
def later_nested_quote_and_trade(seed):
    m = Market(seed)
    out = m.written(60, 0.5, lambda e: {"trade": {"symbol": e["s"], "price": e["p"], "size": e["q"], "time": ms(e)}},
        lambda e: {"quote": {"symbol": e["s"], "bid": e["b"], "bidSize": e["bq"], "ask": e["a"], "askSize": e["aq"], "time": ms(e)}})
    out.insert(5, {"heartbeat": {"time": 1791986460000}})
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/trade/symbol", price="/trade/price", size="/trade/size", time="/trade/time"), "quote": dict(symbol="/quote/symbol", bid="/quote/bid", ask="/quote/ask", time="/quote/time")}, more=dict(time_format="ms"))


@shape
def later_halts_and_bands(seed):
    m = Market(seed)
    out = []
    for i, e in enumerate(m.mixed(60, 0)):
        out.append({"t": "trade", "sym": e["s"], "p": e["p"], "s": e["q"], "ts": e["ns"]})
        if i % 20 == 7:
            out.append({"t": "luld", "sym": e["s"], "up": round(e["p"] * 1.05, 2), "down": round(e["p"] * .95, 2), "ts": e["ns"]})
        if i in (11, 31):
            out.append({"t": "status", "sym": "HALQ", "sc": "H" if i == 11 else "T", "ts": e["ns"]})
    return out, dict(ticks=62, kinds={"trade": dict(symbol="/sym", price="/p", size="/s", time="/ts"), "status": dict(status="/sc", symbol="/sym")}, more=dict(time_format="ns"), words={"trade": "trade", "luld": "ignore", "status": "status"})


@shape
def later_two_symbols_short(seed):
    m = Market(seed, symbols=2)
    return [{"x": e["s"], "y": e["p"], "z": e["q"], "w": ms(e)} for e in m.mixed(12, 0)], dict(
        ticks=12, kinds={"trade": dict(symbol="/x", price="/y", size="/z", time="/w")}, more=dict(time_format="ms"))


@shape
def later_members_with_parts(seed):
    m = Market(seed)
    out, n = [], 0
    for _ in range(10):
        snap = {}
        for s in m.symbols:
            e = m.trade(s)
            n += 1
            snap[s] = {"latestTrade": {"p": e["p"], "s": e["q"], "t": iso(e["ns"], 9)}, "latestQuote": {"bp": round(e["p"] - .01, 2), "bs": 2, "ap": round(e["p"] + .01, 2), "as": 3}, "dailyBar": {"o": 47, "h": 51.2, "l": 6.5, "c": e["p"], "v": e["dv"]}}
        out.append(snap)
    return out, dict(ticks=n, kinds={"day|trade": dict(symbol="key", price="/latestTrade/p", time="/latestTrade/t", day_volume="/dailyBar/v")}, more=dict(time_format="rfc3339"))
