"""A fourth round: shapes after general standards of messages, none of them a market's own, to measure once more on what the guesser
was not made for. After: FIX in JSON (FIX Trading Community, JSON encoding), CloudEvents 1.0 (CNCF), GraphQL over WebSocket
(graphql-transport-ws), JSON:API 1.1, WAMP 2 (its EVENT), JSON-RPC 2.0 with parameters by place, decimals as mantissa and exponent
(FIX SBE), server-sent events (HTML standard) of arrays, ISO 20022's abbreviations, OData 4.01. Envelopes from memory of the standards."""
import json

from market import Market, iso
from shapes import ms, shape, us


@shape
def stranger_fix_json(seed):
    m = Market(seed)
    out, n = [{"Header": {"BeginString": "FIXT.1.1", "MsgType": "0", "MsgSeqNum": 1}, "Body": {}}], 0
    for i in range(30):
        rows = [m.trade() for _ in range(m.random.randrange(1, 3))]
        n += len(rows)
        stamp = iso(rows[-1]["ns"], 3).replace("-", "").replace("T", "-").rstrip("Z")
        out.append({"Header": {"BeginString": "FIXT.1.1", "MsgType": "X", "MsgSeqNum": i + 2, "SenderCompID": "MD", "SendingTime": stamp},
                    "Body": {"MDIncGrp": [{"MDUpdateAction": "0", "MDEntryType": "2", "Symbol": e["s"], "MDEntryPx": f"{e['p']:.2f}", "MDEntrySize": str(e["q"]),
                                           "MDEntryID": str(e["id"]), "TransactTime": iso(e["ns"], 6).replace("-", "").replace("T", "-").rstrip("Z")} for e in rows]}})
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/Body/MDIncGrp/Symbol", price="/Body/MDIncGrp/MDEntryPx", size="/Body/MDIncGrp/MDEntrySize",
                                                   time="/Body/MDIncGrp/TransactTime", id="/Body/MDIncGrp/MDEntryID")}, more=dict(time_format="rfc3339"))


@shape
def stranger_cloudevents(seed):
    m = Market(seed)
    out = []
    for e in m.mixed(60, 0.3):
        head = {"specversion": "1.0", "id": f"{e['seq']:08x}", "source": "/feeds/equities", "time": iso(e["ns"] + 2_000_000, 3), "datacontenttype": "application/json"}
        if e["kind"] == "trade":
            out.append({**head, "type": "org.example.equities.trade.v1", "subject": e["s"], "data": {"price": e["p"], "quantity": e["q"], "executedAt": iso(e["ns"], 6), "tradeId": str(e["id"])}})
        else:
            out.append({**head, "type": "org.example.equities.quote.v1", "subject": e["s"], "data": {"bidPrice": e["b"], "bidQuantity": e["bq"], "askPrice": e["a"], "askQuantity": e["aq"], "quotedAt": iso(e["ns"], 6)}})
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/subject", price="/data/price", size="/data/quantity", time="/data/executedAt", id="/data/tradeId"),
                                      "quote": dict(symbol="/subject", bid="/data/bidPrice", ask="/data/askPrice", time="/data/quotedAt")},
                     more=dict(time_format="rfc3339"), words={"org.example.equities.trade.v1": "trade", "org.example.equities.quote.v1": "quote"})


@shape
def stranger_graphql(seed):
    m = Market(seed)
    out = [{"type": "connection_ack"}, {"type": "ping"}]
    for i, e in enumerate(m.mixed(50, 0)):
        out.append({"id": "1", "type": "next", "payload": {"data": {"tradeExecuted": {"__typename": "Trade", "instrument": {"ticker": e["s"]}, "price": e["p"], "volume": e["q"], "timestamp": iso(e["ns"], 3)}}}})
        if i % 15 == 9:
            out.append({"type": "ping"})
    p = "/payload/data/tradeExecuted"
    return out, dict(ticks=50, kinds={"trade": dict(symbol=p + "/instrument/ticker", price=p + "/price", size=p + "/volume", time=p + "/timestamp")}, more=dict(time_format="rfc3339"))


@shape
def stranger_json_api(seed):
    m = Market(seed)
    out, n = [], 0
    for _ in range(20):
        rows = [m.trade() for _ in range(m.random.randrange(1, 4))]
        n += len(rows)
        out.append({"jsonapi": {"version": "1.1"}, "data": [{"type": "trades", "id": str(e["id"]), "attributes": {"symbol": e["s"], "price": f"{e['p']:.2f}", "shares": e["q"], "traded-at": iso(e["ns"], 3)}, "links": {"self": f"/trades/{e['id']}"}} for e in rows],
                    "meta": {"count": len(rows)}})
    return out, dict(ticks=n, kinds={"trade": dict(symbol="/data/attributes/symbol", price="/data/attributes/price", size="/data/attributes/shares", time="/data/attributes/traded-at", id="/data/id")}, more=dict(time_format="rfc3339"))


@shape
def stranger_wamp(seed):
    m = Market(seed)
    out = [[33, 713845233, 5512315355]]
    for i, e in enumerate(m.mixed(60, 0)):
        out.append([36, 5512315355, 4429313566 + i, {}, [], {"symbol": e["s"], "last": e["p"], "lastSize": e["q"], "cumVolume": e["dv"], "at": us(e)}])
    return out, dict(ticks=60, kinds={"trade": dict(symbol="/5/symbol", price="/5/last", size="/5/lastSize", day_volume="/5/cumVolume", time="/5/at")}, more=dict(time_format="us"))


@shape
def stranger_rpc_by_place(seed):
    m = Market(seed)
    out = [{"jsonrpc": "2.0", "id": 7, "result": {"subscribed": 4}}] + m.written(70, 0.4, lambda e: {"jsonrpc": "2.0", "method": "onTrade", "params": [e["s"], ms(e), f"{e['p']:.2f}", e["q"]]},
        lambda e: {"jsonrpc": "2.0", "method": "onQuote", "params": [e["s"], ms(e), f"{e['b']:.2f}", e["bq"], f"{e['a']:.2f}", e["aq"]]})
    return out, dict(ticks=70, kinds={"trade": dict(symbol="/params/0", time="/params/1", price="/params/2", size="/params/3"),
                                      "quote": dict(symbol="/params/0", time="/params/1", bid="/params/2", ask="/params/4")},
                     more=dict(time_format="ms"), words={"onTrade": "trade", "onQuote": "quote"})


@shape
def stranger_mantissa(seed):
    m = Market(seed)
    return [{"template": "Trade", "securityID": e["s"], "px": {"mantissa": round(e["p"] * 10_000), "exponent": -4}, "qty": e["q"], "transactTime": e["ns"], "rptSeq": e["seq"]} for e in m.mixed(60, 0)], dict(
        ticks=60, kinds={"trade": dict(symbol="/securityID", price="/px/mantissa", size="/qty", time="/transactTime")}, more=dict(price_decimals=4, time_format="ns"))


@shape
def stranger_sse_arrays(seed):
    m = Market(seed)
    out = [": welcome\n\n"]
    for i, e in enumerate(m.mixed(50, 0.3)):
        row = [e["s"], iso(e["ns"], 3, "-04:00"), e["p"], e["q"]] if e["kind"] == "trade" else [e["s"], iso(e["ns"], 3, "-04:00"), e["b"], e["bq"], e["a"], e["aq"]]
        out.append(f"id: {i}\nevent: {'last-sale' if e['kind'] == 'trade' else 'top-of-book'}\ndata: {json.dumps(row)}\n\n")
    return "".join(out), dict(ticks=50, kinds={"trade": dict(symbol="/0", time="/1", price="/2", size="/3"), "quote": dict(symbol="/0", time="/1", bid="/2", ask="/4")},
                              more=dict(time_format="rfc3339"), words={"last-sale": "trade", "top-of-book": "quote"})


@shape
def stranger_abbreviated(seed):
    m = Market(seed)
    out = []
    for i, e in enumerate(m.mixed(60, 0)):
        out.append({"Hdr": {"MsgId": f"M{i:06d}", "CreDtTm": iso(e["ns"] + 4_000_000, 3)}, "Rpt": {"Tp": "TRAD", "FinInstrmId": {"TckrSymb": e["s"], "MktIdrCd": "XNAS"},
                    "Pric": {"Amt": {"Val": e["p"], "Ccy": "USD"}}, "Qty": {"Unit": e["q"]}, "TradDtTm": iso(e["ns"], 6), "TxId": f"{e['id']:010d}"}})
    p = "/Rpt"
    return out, dict(ticks=60, kinds={"trade": dict(symbol=p + "/FinInstrmId/TckrSymb", price=p + "/Pric/Amt/Val", size=p + "/Qty/Unit", time=p + "/TradDtTm", id=p + "/TxId")}, more=dict(time_format="rfc3339"))


@shape
def stranger_odata(seed):
    m = Market(seed)
    out, n = [], 0
    for _ in range(12):
        rows = [m.trade(s) for s in m.symbols]
        n += len(rows)
        out.append({"@odata.context": "$metadata#Quotes", "value": [{"@odata.etag": f"W/\"{e['seq']}\"", "Symbol": e["s"], "LastTradePrice": e["p"], "LastTradeTime": iso(e["ns"], 3), "AccumulatedVolume": e["dv"],
                    "BestBid": round(e["p"] - .01, 2), "BestAsk": round(e["p"] + .01, 2), "PreviousClose": 47.11} for e in rows]})
    p = "/value"
    return out, dict(ticks=n, kinds={"day|trade": dict(symbol=p + "/Symbol", price=p + "/LastTradePrice", time=p + "/LastTradeTime", day_volume=p + "/AccumulatedVolume")}, more=dict(time_format="rfc3339"))
