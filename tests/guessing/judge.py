"""Holds a proposal of `brimwatch feeds map --json` against what a shape says is true."""
import json
import pathlib
import random
import subprocess
import tempfile

import market


def written(frames):
    """The sample as a file: text as it is, objects one a line, bytes behind each other."""
    if isinstance(frames, str):
        return frames.encode()
    if isinstance(frames, bytes):
        return frames
    return "".join((f if isinstance(f, str) else json.dumps(f)) + "\n" for f in frames).encode()


def proposal(program, frames):
    with tempfile.TemporaryDirectory() as where:
        sample = pathlib.Path(where) / "sample"
        sample.write_bytes(written(frames))
        run = subprocess.run([program, "feeds", "map", str(sample), "--json"], capture_output=True, text=True)
        return (json.loads(run.stdout) if run.stdout.strip() else None), run


def without_names(frames, truth, seed):
    """The same source with every name replaced by one that means nothing: only values can tell then. None where there are no names."""
    if isinstance(frames, (str, bytes)) or not isinstance(frames[0], (dict, list)):
        return None
    chance, names = random.Random(seed), {}

    def renamed(name):
        if name in market.LEVELS:
            return name
        while name not in names:
            fresh = chance.choice("bdfghjkmrwxz") + chance.choice("aeiou") + chance.choice("bdfghjkmrwxz") + str(chance.randrange(10))
            if fresh not in names.values():
                names[name] = fresh
        return names[name]

    def rewritten(value):
        if isinstance(value, dict):
            return {renamed(k): rewritten(v) for k, v in value.items()}
        return [rewritten(v) for v in value] if isinstance(value, list) else value

    def pointer(text):
        before = "frame:" if text.startswith("frame:") else ""
        if text in ("key", "event"):
            return text
        return before + "/".join(names.get(token, token) for token in text[len(before):].split("/"))

    frames = [rewritten(frame) for frame in frames]
    kinds = {kind: {field: "|".join(map(pointer, where.split("|"))) for field, where in fields.items()} for kind, fields in truth.get("kinds", {}).items()}
    return frames, dict(truth, kinds=kinds)


def effective(got, kind, field):
    """The pointer that the mapping has for a kind's field, as from the frame."""
    own = got["fields_of"].get(kind, {})
    pointer = own.get(field, got["fields"].get(field, ""))
    messages = own.get("messages", got["fields"].get("messages", ""))
    if pointer.startswith("frame:") or pointer in ("key", "event", ""):
        return pointer
    return messages + pointer


def effective_format(got, kind):
    return got["fields_of"].get(kind, {}).get("time_format", got["time_format"])


def sure_of(got, kind, field):
    return any(g["sure"] == "sure" for g in got["guesses"] if g.get("kind") == kind and g.get("field") == field)


def sure_keys(got):
    return {g["key"] for g in got["guesses"] if "key" in g and g["sure"] == "sure"}


def judge_questions(got, truth, wrong, sure):
    """`ask`: what has to be asked for by name, and may not be sure; `unasked`: what is told by the data; `doubtful`: words of sorts of
    which nothing may be sure."""
    asked = lambda name: any(a.startswith(name) for a in got["asked"])
    wrong += [f"{name} is not asked for" for name in truth.get("ask", []) if not asked(name)]
    wrong += [f"{name} is asked for" for name in truth.get("unasked", []) if asked(name)]
    for name in set(truth.get("ask", [])) & (sure_keys(got) | {f"kind_words.{s['word']}" for s in got["sorts"] if s["sure"] == "sure"}):
        sure.append(f"{name} is called sure")
    for sort in got["sorts"]:
        if sort["word"] in truth.get("doubtful", []) and sort["sure"] == "sure" and sort["is"] == "bar":
            sure.append(f"the sort \"{sort['word']}\" is called sure")


def judge_unsayable(got, truth):
    """No mapping can say such a source: whatever is proposed has to ask, and may not be sure of where price and size stand."""
    if got is None or not got["usable"]:
        return [], []
    wrong, sure = [], []
    judge_questions(got, truth, wrong, sure)
    for s in got["sorts"]:
        sure += [f"{s['kind']}.{field} is called sure" for field in ("price", "size") if sure_of(got, s["kind"], field)]
    return wrong, sure


def judge(got, truth):
    """(what is wrong, what is wrong and was called sure), each a list of texts."""
    if truth.get("unsayable"):
        return judge_unsayable(got, truth)
    if got is None or not got["usable"]:
        return ["nothing usable"], []
    wrong, sure = [], []
    for kinds, fields in truth["kinds"].items():
        kind = next((k for k in kinds.split("|") if any(s["kind"] == k for s in got["sorts"])), None)
        if kind is None:
            wrong.append(f"no {kinds}")
            continue
        for field, pointer in fields.items():
            found = effective(got, kind, field)
            if found not in pointer.split("|"):
                wrong.append(f"{kind}.{field}: {found or 'nothing'}, not {pointer}")
                if found and sure_of(got, kind, field):
                    sure.append(wrong[-1])
        if "time" in fields and effective_format(got, kind) != truth["more"].get("time_format", effective_format(got, kind)):
            wrong.append(f"{kind}.time_format: {effective_format(got, kind)}")
    for key, value in truth["more"].items():
        default = {"columns": False, "price_decimals": 0, "lot_size": 1, "symbol_form": "{symbol}"}.get(key)
        found = got.get(key, default)
        good = all(found.get(k) == v for k, v in value.items()) if isinstance(value, dict) and found else found == value
        if not good:
            wrong.append(f"{key}: {found}, not {value}")
    for key in ("price_decimals", "lot_size", "volume_lot_size"):
        if key not in truth["more"] and key in got and key not in truth.get("any_keys", []):
            wrong.append(f"{key}: {got[key]}, not asked")
    for text in [w for w in wrong if w.split(":")[0] in sure_keys(got)]:
        sure.append(text)
    judge_questions(got, truth, wrong, sure)
    ruled = {rule["kind"] for rule in got["rules"]}  # by another value than its word: the trial says whether it does
    for word, kind in truth.get("words", {}).items():
        if got["kind_words"].get(word, kind if kind in ruled else None) != kind:
            wrong.append(f"kind_words.{word}: {got['kind_words'].get(word)}, not {kind}")
    trial = got["trial"]
    if trial["ticks"] != truth["ticks"] or trial["otherwise"] or trial["malformed"] or trial["broken"]:
        wrong.append(f"trial: {trial['ticks']} ticks of {truth['ticks']}, {trial['malformed']} malformed, {trial['unknown']} unknown, {trial['otherwise']} otherwise")
    return wrong, sure


if __name__ == "__main__":
    import sys

    from shapes import HELD_OUT_FROM, SHAPES

    import more_shapes  # noqa: F401
    import fresh_shapes  # noqa: F401
    import later_shapes  # noqa: F401
    import stranger_shapes  # noqa: F401
    import outsider_shapes  # noqa: F401
    import sibling_shapes  # noqa: F401
    import class_shapes  # noqa: F401

    seed = int(sys.argv.pop()) if sys.argv[-1].isdigit() else 7
    program, only = sys.argv[1], sys.argv[2:]
    good = {True: 0, False: 0}
    count = {True: 0, False: 0}
    lies = 0
    for number, (name, make) in enumerate(SHAPES.items()):
        if only and name not in only and only != ["tuned"] and only != ["held"]:
            continue
        held = number >= HELD_OUT_FROM
        if (only == ["tuned"] and held) or (only == ["held"] and not held):
            continue
        frames, truth = make(seed)
        got, run = proposal(program, frames)
        wrong, sure = judge(got, truth)
        count[held] += 1
        good[held] += not wrong
        lies += len(sure)
        print("right" if not wrong else "WRONG", name, "" if not wrong else "\n      " + "\n      ".join(wrong), "SURE OF IT: " + "; ".join(sure) if sure else "", run.stderr.strip()[:300])
        if only and only not in (["tuned"], ["held"]):
            print(run.stdout[:6000])
    print(f"tuned {good[False]}/{count[False]}, held out {good[True]}/{count[True]}, sure of something wrong: {lies}")
