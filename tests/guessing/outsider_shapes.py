"""Ten more shapes that the guesser was not made for, after public standards of messages and the published specifications of
consolidated tapes and order feeds, then kept as tests: see shapes.py."""
from market import Market, iso
from shapes import ms, shape, us


@shape
def outsider_hub_calls(seed):
    """A remote procedure hub: what is called, and its arguments; pings between."""
    m = Market(seed)
    out = [{}, {"type": 6}]
    for i, e in enumerate(m.mixed(60, 0.3)):
        if e["kind"] == "trade":
            out.append({"type": 1, "target": "tradePrinted", "arguments": [{"symbol": e["s"], "price": e["p"], "quantity": e["q"], "time": iso(e["ns"], 6)}]})
        else:
            out.append({"type": 1, "target": "quoteChanged", "arguments": [{"symbol": e["s"], "bid": e["b"], "bidSize": e["bq"], "ask": e["a"], "askSize": e["aq"], "time": iso(e["ns"], 6)}]})
        if i % 20 == 7:
            out.append({"type": 6})
    p = "/arguments/0"
    either = lambda name: f"{p}/{name}|/arguments/{name}"
    return out, dict(ticks=60, kinds={"trade": dict(symbol=either("symbol"), price=either("price"), size=either("quantity"), time=either("time")),
                                      "quote": dict(symbol=either("symbol"), bid=either("bid"), ask=either("ask"), bid_size=either("bidSize"), ask_size=either("askSize"))},
                     more=dict(time_format="rfc3339"), words={"tradePrinted": "trade", "quoteChanged": "quote"})


@shape
def outsider_five_parts(seed):
    """Channels over one socket: join, message, topic, event, payload."""
    m = Market(seed)
    out = [["1", "1", "trades:KLVN", "reply", {"status": "ok", "response": {}}]]
    for i, e in enumerate(m.mixed(60, 0.3)):
        if e["kind"] == "trade":
            out.append(["1", None, f"trades:{e['s']}", "new_trade", {"price": f"{e['p']:.2f}", "size": e["q"], "ts": ms(e), "trade_id": e["id"]}])
        else:
            out.append(["1", None, f"quotes:{e['s']}", "new_quote", {"bid": f"{e['b']:.2f}", "bid_size": e["bq"], "ask": f"{e['a']:.2f}", "ask_size": e["aq"], "ts": ms(e)}])
        if i % 25 == 11:
            out.append([None, str(i), "system", "heartbeat", {}])
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/2", price="/4/price", size="/4/size", time="/4/ts", id="/4/trade_id"),
                                      "quote": dict(symbol="/2", bid="/4/bid", ask="/4/ask", bid_size="/4/bid_size", ask_size="/4/ask_size", time="/4/ts")},
                     more=dict(symbol_form="*:{symbol}", time_format="ms"), words={"new_trade": "trade", "new_quote": "quote"})


@shape
def outsider_log_records(seed):
    """Records of a partitioned log, over HTTP: where each lies, its key, its value."""
    m = Market(seed)
    return [{"topic": "equities.trades", "partition": sum(map(ord, e["s"])) % 3, "offset": 810_000 + i, "timestamp": ms(e) + 14, "key": e["s"],
             "value": {"tradePrice": e["p"], "tradeSize": e["q"], "tradeTime": us(e), "matchId": e["id"]}, "headers": []} for i, e in enumerate(m.mixed(60, 0))], dict(
        ticks=60, kinds={"trade": dict(symbol="/key", price="/value/tradePrice", size="/value/tradeSize", time="/value/tradeTime", id="/value/matchId")}, more=dict(time_format="us"))


@shape
def outsider_named_unions(seed):
    """JSON of a schema whose optional values are wrapped in the name of their type."""
    m = Market(seed)
    return [{"symbol": {"string": e["s"]}, "price": {"double": e["p"]}, "size": {"int": e["q"]}, "eventTime": {"long": ms(e)}, "tradeId": {"long": e["id"]},
             "venue": {"string": "XNAS"}, "correctionOf": None} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/symbol/string", price="/price/double", size="/size/int", time="/eventTime/long", id="/tradeId/long")}, more=dict(time_format="ms"))


@shape
def outsider_embedded_links(seed):
    """A hypertext resource with its rows embedded and links everywhere."""
    m = Market(seed)
    out, n = [], 0
    for page in range(18):
        rows = [m.trade() for _ in range(m.random.randrange(1, 5))]
        n += len(rows)
        out.append({"_links": {"self": {"href": f"/trades?page={page}"}, "next": {"href": f"/trades?page={page + 1}"}}, "count": len(rows),
                    "_embedded": {"trades": [{"_links": {"self": {"href": f"/trades/{e['id']}"}}, "tradeId": e["id"], "instrumentCode": e["s"], "dealPrice": e["p"], "dealVolume": e["q"], "dealtAt": iso(e["ns"], 3, "-04:00"), "currency": "USD"} for e in rows]}})
    p = "/_embedded/trades"
    return out, dict(ticks=n, kinds={"trade": dict(symbol=p + "/instrumentCode", price=p + "/dealPrice", size=p + "/dealVolume", time=p + "/dealtAt", id=p + "/tradeId")}, more=dict(time_format="rfc3339"))


@shape
def outsider_order_feed(seed):
    """A full order feed: orders come and go, and only what matched is a trade."""
    m = Market(seed)
    out, n, ref, resting = [], 0, 5_000, []
    for e in m.mixed(150, 0.65):
        if e["kind"] == "trade":
            n += 1
            out.append({"type": "P", "timestamp": e["ns"], "orderRef": 0, "side": "B", "shares": e["q"], "stock": e["s"], "price": e["p"], "matchNumber": e["id"]})
            continue
        ref += m.random.randrange(1, 5)
        if e["seq"] % 3:
            buys = bool(e["seq"] % 2)
            resting.append(ref)
            out.append({"type": "A", "timestamp": e["ns"], "orderRef": ref, "side": "B" if buys else "S", "shares": e["bq"], "stock": e["s"], "price": e["b"] if buys else e["a"]})
        elif resting:
            out.append({"type": "X", "timestamp": e["ns"], "orderRef": resting.pop(m.random.randrange(len(resting))), "cancelledShares": 100})
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/stock", price="/price", size="/shares", time="/timestamp", id="/matchNumber")},
                     more=dict(time_format="ns"), words={"P": "trade"})


@shape
def outsider_consolidated_tape(seed):
    """As the published specifications of consolidated tapes name their fields: two clocks, conditions in four padded places."""
    m = Market(seed)
    out = []
    for i, e in enumerate(m.mixed(70, 0.4)):
        head = {"msgCategory": "T" if e["kind"] == "trade" else "Q", "participantId": "Q", "msgSeqNum": 90_000 + i, "sipTimestamp": e["ns"] + 412_000, "participantTimestamp": e["ns"], "symbol": e["s"]}
        if e["kind"] == "trade":
            out.append({**head, "tradeId": e["id"], "tradePrice": e["p"], "tradeVolume": e["q"], "saleCondition": "@  I" if e["odd"] else "@   ", "tradeThroughExempt": "0", "consolidatedVolume": e["dv"]})
        else:
            out.append({**head, "bidPrice": e["b"], "bidSize": e["bq"], "askPrice": e["a"], "askSize": e["aq"], "quoteCondition": "R", "nbboIndicator": "4"})
    times = "/participantTimestamp|/sipTimestamp"
    return out, dict(ticks=70, kinds={"trade": dict(symbol="/symbol", price="/tradePrice", size="/tradeVolume", time=times, id="/tradeId", conditions="/saleCondition", day_volume="/consolidatedVolume"),
                                      "quote": dict(symbol="/symbol", bid="/bidPrice", ask="/askPrice", bid_size="/bidSize", ask_size="/askSize", time=times)},
                     more=dict(time_format="ns", conditions="utdf"), words={"T": "trade", "Q": "quote"})


@shape
def outsider_auctions_and_bands(seed):
    """Trades among what looks like them: imbalances of an auction, price bands, an index level."""
    m = Market(seed)
    out, n = [], 0
    for i, e in enumerate(m.mixed(90, 0.35)):
        n += 1
        if e["kind"] == "trade":
            out.append({"event": "trade", "symbol": e["s"], "price": e["p"], "size": e["q"], "ts": ms(e)})
        else:
            out.append({"event": "quote", "symbol": e["s"], "bid": e["b"], "bidSize": e["bq"], "ask": e["a"], "askSize": e["aq"], "ts": ms(e)})
        if i % 9 == 4:
            out.append({"event": "imbalance", "symbol": e["s"], "referencePrice": m.last[e["s"]], "pairedShares": 4_100, "imbalanceShares": 900, "side": "B", "ts": ms(e) + 1})
        if i % 11 == 6:
            last = m.last[e["s"]]
            out.append({"event": "priceBand", "symbol": e["s"], "lowerBand": round(last * 0.95, 2), "upperBand": round(last * 1.05, 2), "ts": ms(e) + 1})
        if i % 13 == 8:
            out.append({"event": "indexLevel", "index": "BROAD", "level": round(4100 + i / 7, 2), "ts": ms(e) + 1})
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/symbol", price="/price", size="/size", time="/ts"),
                                     "quote": dict(symbol="/symbol", bid="/bid", ask="/ask", bid_size="/bidSize", ask_size="/askSize")},
                     more=dict(time_format="ms"), words={"trade": "trade", "quote": "quote"})


@shape
def outsider_quoted_csv(seed):
    """Comma-separated values as RFC 4180 has them, all in quotes, with a header in a person's words."""
    m = Market(seed)
    lines = ['"Symbol","Trade Date/Time","Trade Price","Trade Volume","Total Volume","Exchange"']
    for e in m.mixed(60, 0):
        lines.append(f'"{e["s"]}","{iso(e["ns"], 3, "-04:00")}","{e["p"]:.2f}","{e["q"]}","{e["dv"]}","{e["x"]}"')
    return lines, dict(ticks=60, kinds={"trade": dict(symbol="/0", time="/1", price="/2", size="/3", day_volume="/4")}, more=dict(encoding="csv", time_format="rfc3339"))


@shape
def outsider_one_of(seed):
    """Messages of a binary schema written as JSON: one member of several is there, whole numbers of 64 bits are texts."""
    m = Market(seed)
    out = []
    for i, e in enumerate(m.mixed(70, 0.4)):
        sequence = str(1_200_000 + i)
        if e["kind"] == "trade":
            out.append({"sequence": sequence, "trade": {"instrument": e["s"], "priceE4": str(round(e["p"] * 10_000)), "shares": str(e["q"]), "eventTime": iso(e["ns"], 9), "aggressor": "SIDE_BUY"}})
        else:
            out.append({"sequence": sequence, "quote": {"instrument": e["s"], "bidPriceE4": str(round(e["b"] * 10_000)), "bidShares": str(e["bq"]), "askPriceE4": str(round(e["a"] * 10_000)), "askShares": str(e["aq"]), "eventTime": iso(e["ns"], 9)}})
        if i % 17 == 3:
            out.append({"sequence": str(1_200_000 + i), "heartbeat": {}})
    return out, dict(ticks=70, kinds={"trade": dict(symbol="/trade/instrument", price="/trade/priceE4", size="/trade/shares", time="/trade/eventTime"),
                                      "quote": dict(symbol="/quote/instrument", bid="/quote/bidPriceE4", ask="/quote/askPriceE4", bid_size="/quote/bidShares", ask_size="/quote/askShares")},
                     more=dict(price_decimals=4, time_format="rfc3339"))
