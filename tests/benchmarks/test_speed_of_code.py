"""How fast the code itself is, as figures measured in one run."""

import contextlib
import heapq
import itertools
import runpy
import statistics
import subprocess
import sys
import time
import timeit
from pathlib import Path

import numpy as np
import pytest

from mixlab import action_curves, order_concerns, plan_dose, read_order
from mixlab.care.action.variation import day_to_day
from mixlab.care.bench.bench import act, run
from mixlab.care.bench.runs import bench_for, right_run
from mixlab.care.review.findings import review
from mixlab.ward.order.notation import look_over
from mixlab.ward.order.order import OrderError

pytestmark = pytest.mark.benchmark


def seconds(code):
    def once():
        return timeit.timeit(lambda: subprocess.run([sys.executable, "-c", code], check=True), number=1)

    return statistics.median(once() for _ in range(7))


def test_importing_mixlab_is_quick():
    bare, numpy, mixlab = (seconds(code) for code in ("pass", "import numpy", "import mixlab"))
    print(f"\nimport mixlab {1000 * (mixlab - bare):.0f} ms, import numpy {1000 * (numpy - bare):.0f} ms")
    assert mixlab - bare < 0.3


def test_both_curves_for_a_day_at_one_minute_are_quick():
    order = read_order("regular insulin 8 units and NPH insulin 20 units")
    hours = np.arange(1441) / 60
    best = min(timeit.repeat(lambda: action_curves(order, hours), number=200, repeat=7)) / 200
    print(f"\nboth curves, 24 h at 1 minute: {1000 * best:.3f} ms")
    assert best < 0.2e-3


def test_a_fan_of_400_days_at_one_minute_is_quick():
    order = read_order("regular insulin 8 units and NPH insulin 20 units")
    hours = np.arange(1441) / 60
    seeds = itertools.count()  # each time other days, for those once drawn are remembered
    best = min(timeit.repeat(lambda: day_to_day(order, hours, draws=400, seed=next(seeds)), number=1, repeat=20))
    print(f"\n400 days of both insulins, 24 h at 1 minute: {1000 * best:.1f} ms")
    assert best < 60e-3


def test_a_step_at_the_bench_with_its_review_is_quick():
    order = read_order("regular insulin 8 units and NPH insulin 20 units")
    trace = run(bench_for(order), right_run(plan_dose(order)))

    def step():
        act(trace.states[-2], trace.actions[-1])
        review(order, trace)

    best = min(timeit.repeat(step, number=100, repeat=7)) / 100
    print(f"\nthe last of {len(trace)} steps with its review: {1000 * best:.2f} ms")
    assert best < 2e-3


def test_no_text_takes_long_to_read():
    fuzzed = runpy.run_path(str(Path(__file__).parents[1] / "ward" / "orders.py"))["fuzzed"]
    repeated = [
        (piece * 500)[:500]
        for piece in ("8", "8.", "8,", "8 ", "a ", "eight ", "hundred and ", "at ", "(", "\u200b", "q")
    ]
    order_concerns("")  # the first text of all waits for the facts to be read: not measured

    def took(read, text):
        start = time.perf_counter()
        with contextlib.suppress(OrderError):
            read(text)
        return time.perf_counter() - start

    for read in (read_order, order_concerns):
        look_over.cache_clear()
        slowest = heapq.nlargest(300, ((took(read, text), text) for text in fuzzed(100_000)))
        again = []
        for text in [
            *(text for _, text in slowest),
            *repeated,
        ]:  # once more, for another program may have held the processor
            look_over.cache_clear()
            again.append(took(read, text))
        print(
            f"\n{read.__name__}: slowest of 100,000 texts {1000 * slowest[0][0]:.1f} ms, measured again {1000 * max(again):.1f} ms"
        )
        assert max(again) < 0.05


def test_comparing_two_sites_is_quick():
    code = """
import time
from mixlab.adapting.compare.comparison import compare_sites
from mixlab.ward.site import example_sites
sites = example_sites()
began = time.perf_counter()
comparison = compare_sites(sites[0], sites[-1])
compared = time.perf_counter()
text = str(comparison)
told = time.perf_counter()
page = comparison.page_html()
print(compared - began, told - compared, time.perf_counter() - told)
"""
    runs = [subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True) for _ in range(3)]
    compared, told, drawn = (
        min(map(float, times)) for times in zip(*(run.stdout.split() for run in runs), strict=True)
    )
    print(f"\ntwo sites, cold: compared in {compared:.2f} s, told in {told:.2f} s, drawn as a page in {drawn:.2f} s")
    assert compared < 3
