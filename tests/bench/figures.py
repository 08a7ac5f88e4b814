#!/usr/bin/python3
"""Medians, ratios and growth exponents for scripts/bench.

figures.py ratios FILE: lines "what seconds" -> medians and the ratios that are promised.
figures.py growth FILE: lines "what n seconds bytes" -> slope of ln(seconds) and ln(bytes) on ln(n), least squares, a line each.
"""
import math
import statistics
import sys
from collections import defaultdict


def slope(points):
    xs = [math.log(x) for x, _ in points]
    ys = [math.log(max(y, 1e-9)) for _, y in points]
    mx, my = statistics.mean(xs), statistics.mean(ys)
    return sum((x - mx) * (y - my) for x, y in zip(xs, ys)) / sum((x - mx) ** 2 for x in xs)


def ratios(lines):
    runs = defaultdict(list)
    for what, seconds in (line.split() for line in lines):
        runs[what].append(float(seconds))
    median = {what: statistics.median(values) for what, values in runs.items()}

    def ratio(text, above, below, promise):
        if above in median and below in median:
            print(f"{text:<46} {median[above] / median[below]:6.2f}   ({promise})")

    ratio("DuckDB / replay of the plain tape", "duckdb", "replay", "at least 2.5")
    ratio("replay of the plain tape / wc -l", "replay", "wc", "at most 10")
    ratio("zstd tape / plain tape on one core", "replay_zst", "replay_one_core", "at most 1.3")
    ratio("zstd tape / plain tape on two cores as well", "replay_zst", "replay", "at most 1.3")
    print()
    for what, values in runs.items():
        print(f"{what:<15} median {median[what]:.3f} s, of {len(values)}: {min(values):.3f} to {max(values):.3f}")


def growth(lines):
    points = defaultdict(list)
    for what, n, seconds, size in (line.split() for line in lines):
        points[what].append((float(n), float(seconds), float(size)))
    for what, rows in points.items():
        time = slope([(n, seconds) for n, seconds, _ in rows])
        memory = slope([(n, size) for n, _, size in rows])
        print(f"against {what:<8} time ~ n^{time:.2f}, peak memory ~ n^{memory:.2f}")
        for n, seconds, size in rows:
            print(f"    {n:>12,.0f} {seconds:9.3f} s {size / 1e6:9.1f} MB")


{"ratios": ratios, "growth": growth}[sys.argv[1]](open(sys.argv[2]).read().splitlines())
