"""Classes of what went wrong with sources of others: the day's fields beside a trade, trades taken back in the words of a field, numbers for
symbols, symbols among other words, frames counted, markets by their codes. See shapes.py."""
from market import Market, iso
from shapes import ms, shape, us

PATH = "/topic"


def cents(price):
    return f"{price:.2f}"


class Days:
    """Open, high and low of each symbol so far, and the close before."""

    def __init__(self, m):
        self.open = dict(m.last)
        self.high = {s: round(p + 0.04, 2) for s, p in m.last.items()}
        self.low = {s: round(p - 0.04, 2) for s, p in m.last.items()}
        self.before = {s: round(p * 0.99, 2) for s, p in m.last.items()}

    def take(self, e):
        s = e["s"]
        self.high[s], self.low[s] = max(self.high[s], e["p"]), min(self.low[s], e["p"])
        return s


# The day beside a trade or a quote -------------------------------------------------------------------------------------------------


@shape
def cls_day_beside_trade(seed):
    m = Market(seed)
    d, out = Days(m), []
    for e in m.mixed(120, 0):
        s = d.take(e)
        out.append({"sym": s, "px": e["p"], "qty": e["q"], "ts": ms(e), "o": d.open[s], "h": d.high[s], "l": d.low[s], "pc": d.before[s], "tv": e["dv"]})
    return out, dict(ticks=120, kinds={"trade": dict(symbol="/sym", price="/px", size="/qty", time="/ts", day_volume="/tv")}, more=dict(time_format="ms"))


@shape
def cls_day_beside_trade_nested(seed):
    m = Market(seed)
    d, out = Days(m), []
    for e in m.mixed(120, 0):
        s = d.take(e)
        out.append({"ev": "update", "instrument": {"code": s}, "trade": {"price": cents(e["p"]), "volume": e["q"], "time": iso(e["ns"])},
                    "day": {"open": cents(d.open[s]), "high": cents(d.high[s]), "low": cents(d.low[s]), "volume": e["dv"]}, "prevClose": cents(d.before[s])})
    return out, dict(ticks=120, kinds={"trade": dict(symbol="/instrument/code", price="/trade/price", size="/trade/volume", time="/trade/time", day_volume="/day/volume")},
                     more=dict(time_format="rfc3339"))


@shape
def cls_bars_move_on(seed):
    """Real bars of one minute: they begin anew, and stay bars."""
    m = Market(seed)
    out = [{"sym": e["s"], "o": e["o"], "h": e["h"], "l": e["l"], "c": e["c"], "v": e["q"], "ts": ms(e)} for e in (m.bar() for _ in range(80))]
    return out, dict(ticks=80, kinds={"bar": dict(symbol="/sym", price="/c", high="/h", low="/l", size="/v", time="/ts")}, more=dict(time_format="ms"))


# Taken back, in the words of a field -----------------------------------------------------------------------------------------------


@shape
def cls_path_words(seed):
    m = Market(seed)
    base, out = "net.sample.market.v2.", []
    for i in range(160):
        if i % 40 == 39:
            e, word = m.cancel(), "print.busted"
        else:
            e, word = (m.quote(), "book.changed") if i % 3 == 0 else (m.trade(), "print.made")
        d = {"bid": e["b"], "ask": e["a"]} if word == "book.changed" else {"ref": f"P{e['id']}", "price": e["p"], "qty": e["q"]}
        out.append({"kind": base + word, "about": e["s"], "at": ms(e), "data": d})
    return out, dict(ticks=160, kinds={"trade": dict(symbol="/about", price="/data/price", size="/data/qty", time="/at", id="/data/ref"), "cancel": dict(symbol="/about", id="/data/ref", time="/at"),
                                       "quote": dict(symbol="/about", bid="/data/bid", ask="/data/ask", time="/at")},
                     words={base + "print.made": "trade", base + "print.busted": "cancel", base + "book.changed": "quote"}, more=dict(time_format="ms"))


@shape
def cls_new_and_delete(seed):
    """What is taken back looks like the trade in all but one word."""
    m, out = Market(seed), []
    for i in range(120):
        e = m.cancel() if i % 30 == 29 else m.trade()
        out.append({"action": "delete" if e["kind"] == "cancel" else "new", "sym": e["s"], "px": e["p"], "sz": e["q"], "tid": e["id"], "ts": us(e)})
    return out, dict(ticks=120, kinds={"trade": dict(symbol="/sym", price="/px", size="/sz", id="/tid", time="/ts"), "cancel": dict(symbol="/sym", price="/px", size="/sz", id="/tid", time="/ts")},
                     words={"new": "trade", "delete": "cancel"}, more=dict(time_format="us"))


@shape
def cls_flag_of_cancel(seed):
    m, out = Market(seed), []
    for i in range(120):
        e = m.cancel() if i % 30 == 29 else m.trade()
        out.append({"sym": e["s"], "px": e["p"], "sz": e["q"], "tid": e["id"], "ts": us(e), "cancelled": e["kind"] == "cancel"})
    return out, dict(ticks=120, kinds={"trade": dict(symbol="/sym", price="/px", size="/sz", id="/tid", time="/ts"), "cancel": dict(symbol="/sym", id="/tid", time="/ts")}, more=dict(time_format="us"))


@shape
def cls_trades_new_and_removed(seed):
    """A word for the sort, and a second one for what happened to it."""
    m, out = Market(seed), []
    for i in range(150):
        if i % 3 == 0:
            e = m.quote()
            out.append({"t": "quote", "op": "add", "sym": e["s"], "bid": e["b"], "ask": e["a"], "ts": us(e)})
            continue
        e = m.cancel() if i % 30 == 29 else m.trade()
        out.append({"t": "trade", "op": "remove" if e["kind"] == "cancel" else "add", "sym": e["s"], "px": e["p"], "sz": e["q"], "tid": e["id"], "ts": us(e)})
    return out, dict(ticks=150, kinds={"trade": dict(symbol="/sym", price="/px", size="/sz", id="/tid", time="/ts"), "cancel": dict(symbol="/sym", id="/tid", time="/ts"),
                                       "quote": dict(symbol="/sym", bid="/bid", ask="/ask", time="/ts")}, more=dict(time_format="us"))


# Numbers for symbols ---------------------------------------------------------------------------------------------------------------


@shape
def cls_numbers_beside_symbols(seed):
    m = Market(seed)
    no = {s: 900 + 13 * i for i, s in enumerate(m.symbols)}
    out = [{"mt": "D", "ref": no[s], "name": s, "tier": "G", "lot": 100} for s in m.symbols]
    for i in range(120):
        e = m.cancel() if i % 30 == 29 else m.trade()
        head = {"ref": no[e["s"]], "ns": e["ns"]}
        out.append({"mt": "C", **head, "matchNo": e["id"]} if e["kind"] == "cancel" else {"mt": "E", **head, "name": e["s"], "price": cents(e["p"]), "shares": e["q"], "matchNo": e["id"]})
    return out, dict(ticks=120, kinds={"trade": dict(symbol="/name|/ref", price="/price", size="/shares", time="/ns", id="/matchNo"), "cancel": dict(symbol="/ref", id="/matchNo", time="/ns"),
                                       "naming": dict(symbol="/name", number="/ref")}, words={"D": "naming", "E": "trade", "C": "cancel"}, more=dict(time_format="ns"))


@shape
def cls_naming_in_answers(seed):
    m = Market(seed)
    no = {s: 31 + 4 * i for i, s in enumerate(m.symbols)}
    out = [{"event": "subscribed", "chan": no[s], "symbol": s} for s in m.symbols]
    out += [{"event": "trade", "chan": no[e["s"]], "price": e["p"], "qty": e["q"], "ts": ms(e)} for e in m.mixed(70, 0)]
    return out, dict(ticks=70, kinds={"trade": dict(symbol="/chan", price="/price", size="/qty", time="/ts"), "naming": dict(symbol="/symbol", number="/chan")},
                     words={"subscribed": "naming", "trade": "trade"}, more=dict(time_format="ms"))


# Symbols among other words ---------------------------------------------------------------------------------------------------------


def topics(seed, trade, quote, form=None):
    m = Market(seed)
    out = m.written(90, 0.4, lambda e: {"topic": trade.format(e["s"]), "ts": ms(e), "data": {"p": cents(e["p"]), "q": e["q"]}},
        lambda e: {"topic": quote.format(e["s"]), "ts": ms(e), "data": {"b": cents(e["b"]), "a": cents(e["a"])}})
    return out, dict(ticks=90, kinds={"trade": dict(symbol=PATH, price="/data/p", size="/data/q", time="/ts"), "quote": dict(symbol=PATH, bid="/data/b", ask="/data/a", time="/ts")},
                     more=dict(time_format="ms", **({"symbol_form": form} if form else {})), ask=[] if form else ["symbol_words"])


@shape
def cls_topic_symbol_in_the_middle(seed):
    return topics(seed, "feed.eq.{}.trades", "feed.eq.{}.best", "feed.eq.{symbol}.*")


@shape
def cls_topic_symbol_behind_two_words(seed):
    return topics(seed, "prints:{}", "best_quotes:{}", "*:{symbol}")


@shape
def cls_topic_no_form_reads(seed):
    """No symbol_form reads it: what stands behind varies in its middle."""
    return topics(seed, "{}/print/v1", "{}/touch/v1")


@shape
def cls_topic_words_on_both_sides(seed):
    return topics(seed, "trade/{}/raw", "touch/{}/100ms", "*/{symbol}/*")


# Frames counted, markets by their codes --------------------------------------------------------------------------------------------


@shape
def cls_frames_counted(seed):
    """The frame's number stands around several trades, and in frames without any."""
    m, out, n = Market(seed), [], 0
    while len(out) < 60:
        n += 1
        if n % 10 == 0:
            out.append({"hdr": {"type": "beat", "seqNum": n}})
        elif n % 25 == 0:
            out.append({"hdr": {"type": "halt", "seqNum": n}, "symbol": m.symbols[0], "tradingStatus": "Halted" if n % 2 else "Resumed", "time": ms(m.trade())})
        else:
            rows = [m.trade() for _ in range(m.random.randrange(1, 4))]
            out.append({"hdr": {"type": "trades", "seqNum": n}, "rows": [{"sym": e["s"], "px": e["p"], "qty": e["q"], "ts": ms(e), "execMkt": {"N": "ZAAA", "P": "ZBBB", "Q": "ZCCC", "Z": "Y1DD"}[e["x"]]} for e in rows]})
    rows = sum(len(f.get("rows", [])) + ("tradingStatus" in f) for f in out)
    return out, dict(ticks=rows, kinds={"trade": dict(symbol="/rows/sym", price="/rows/px", size="/rows/qty", time="/rows/ts", exchange="/rows/execMkt", sequence="frame:/hdr/seqNum")},
                     words={"trades": "trade"}, more=dict(time_format="ms"))


@shape
def cls_market_codes_without_a_name(seed):
    m = Market(seed)
    return [{"sym": e["s"], "px": e["p"], "qty": e["q"], "ts": ms(e), "w": {"N": "ZAAA", "P": "ZBBB", "Q": "ZCCC", "Z": "Y1DD"}[e["x"]]} for e in m.mixed(80, 0)], dict(
        ticks=80, kinds={"trade": dict(symbol="/sym", price="/px", size="/qty", time="/ts", exchange="/w")}, more=dict(time_format="ms"))


@shape
def cls_markets_in_words(seed):
    """The name says what it is; which market each is, nothing does."""
    m = Market(seed)
    words = {"N": "North Floor", "P": "Pier Crossing", "Q": "Quarry Hall", "Z": "Zenith Pool 2"}
    return [{"sym": e["s"], "px": e["p"], "qty": e["q"], "ts": ms(e), "venue": words[e["x"]]} for e in m.mixed(80, 0)], dict(
        ticks=80, kinds={"trade": dict(symbol="/sym", price="/px", size="/qty", time="/ts", exchange="/venue")}, more=dict(time_format="ms"), ask=["exchange_words"])


@shape
def cls_markets_in_letters(seed):
    m = Market(seed)
    return [{"sym": e["s"], "px": e["p"], "qty": e["q"], "ts": ms(e), "market": e["x"]} for e in m.mixed(80, 0)], dict(
        ticks=80, kinds={"trade": dict(symbol="/sym", price="/px", size="/qty", time="/ts", exchange="/market")}, more=dict(time_format="ms"), unasked=["exchange_words"])


# Rows in an envelope ---------------------------------------------------------------------------------------------------------------


def changes(seed, old, new, words):
    """A table of trades told change by change: the row as it was, and as it is now."""
    m, out, rows = Market(seed), [], {}
    for i in range(160):
        if i % 20 not in (18, 19):
            e, op = m.trade(), 0
            was, now = None, {"no": e["id"], "sym": e["s"], "px": cents(e["p"]), "qty": e["q"], "exec_us": us(e)}
        else:
            no = m.random.choice(sorted(rows))
            op, was, m.ns = i % 20 - 17, rows.pop(no), m.ns + 700_000_000
            now = dict(was, px=cents(float(was["px"]) + 0.02)) if op == 1 else None
        if now:
            rows[now["no"]] = now
        out.append({old: was, new: now, "op": words[op], "ts_ms": (m.ns + 9_000_000) // 1_000_000})
    row, before = "/" + new, "/" + old
    either = lambda name: f"{row}/{name}|{before}/{name}"
    return out, dict(ticks=160, kinds={
        "trade": dict(symbol=row + "/sym", price=row + "/px", size=row + "/qty", time=row + "/exec_us", id=row + "/no"),
        "correct": dict(symbol=either("sym"), price=row + "/px", size=row + "/qty", id=either("no"), old_price=before + "/px"),
        "cancel": dict(symbol=before + "/sym", price=before + "/px", size=before + "/qty", id=before + "/no")},
        words={words[0]: "trade", words[1]: "correct", words[2]: "cancel"}, more={})


@shape
def cls_rows_by_letters(seed):
    return changes(seed, "before", "after", "iud")


@shape
def cls_rows_by_words(seed):
    return changes(seed, "old", "new", ["insert", "update", "delete"])


@shape
def cls_time_beside_the_price(seed):
    """The envelope's time is named best, and is when it was sent."""
    m = Market(seed)
    return [{"timestamp": ms(e) + 4, "body": {"sym": e["s"], "px": e["p"], "qty": e["q"], "dealt_ns": e["ns"]}} for e in m.mixed(80, 0)], dict(
        ticks=80, kinds={"trade": dict(symbol="/body/sym", price="/body/px", size="/body/qty", time="/body/dealt_ns")}, more=dict(time_format="ns"))


@shape
def cls_time_of_the_envelope_alone(seed):
    """What stands beside the price is of something else: later, or days away."""
    m = Market(seed)
    return [{"time": ms(e), "body": {"sym": e["s"], "px": e["p"], "qty": e["q"], "storedAt": ms(e) + 40 + e["q"] % 7, "listedAt": ms(e) - 86_400_000 * 900}} for e in m.mixed(80, 0)], dict(
        ticks=80, kinds={"trade": dict(symbol="/body/sym", price="/body/px", size="/body/qty", time="/time")}, more=dict(time_format="ms"))


@shape
def cls_time_in_two_units(seed):
    m = Market(seed)
    return [{"sym": e["s"], "px": e["p"], "qty": e["q"], "ts_ms": ms(e), "ts_ns": e["ns"]} for e in m.mixed(80, 0)], dict(
        ticks=80, kinds={"trade": dict(symbol="/sym", price="/px", size="/qty", time="/ts_ns")}, more=dict(time_format="ns"))


# Flags beside a trade -------------------------------------------------------------------------------------------------------------


def flagged(seed, name, flag, **truth):
    """Trades with a flag; what it says is mapped or asked for, and never taken for a sale condition."""
    m = Market(seed)
    fields = dict(symbol="/sym", price="/px", size="/qty", time="/ts", **truth.pop("more_fields", {}))
    return [{"sym": e["s"], "px": e["p"], "qty": e["q"], "ts": ms(e), name: flag(m, e)} for e in m.mixed(80, 0)], dict(
        ticks=80, kinds={"trade": fields}, more=dict(time_format="ms"), **truth)


@shape
def cls_odd_lot_flag_in_letters(seed):
    return flagged(seed, "oddLot", lambda m, e: "Y" if e["odd"] else "N", more_fields=dict(odd_lot="/oddLot"))


@shape
def cls_odd_lot_flag_or_nothing(seed):
    return flagged(seed, "odd_lot_indicator", lambda m, e: "Y" if e["odd"] else "", more_fields=dict(odd_lot="/odd_lot_indicator"))


@shape
def cls_odd_lot_flag_in_two_letters(seed):
    return flagged(seed, "OL", lambda m, e: int(e["odd"]), more_fields=dict(odd_lot="/OL"))


@shape
def cls_odd_lot_flag_of_t_and_f(seed):
    return flagged(seed, "oddLot", lambda m, e: "T" if e["odd"] else "F", more_fields=dict(odd_lot="/oddLot"))


@shape
def cls_odd_lot_flag_by_its_sizes(seed):
    return flagged(seed, "zz", lambda m, e: e["odd"], more_fields=dict(odd_lot="/zz"))


@shape
def cls_flag_of_extended_hours(seed):
    return flagged(seed, "isExtendedHours", lambda m, e: m.random.random() < 0.3, ask=["rules: the flag /isExtendedHours"])


@shape
def cls_flag_in_letters_is_no_condition(seed):
    return flagged(seed, "outOfSequence", lambda m, e: "Y" if m.random.random() < 0.3 else "", ask=["rules: the flag /outOfSequence"],
                   unasked=["conditions"])


@shape
def cls_flag_that_no_key_needs(seed):
    return flagged(seed, "internal", lambda m, e: m.random.choice("YN"), unasked=["rules"])
