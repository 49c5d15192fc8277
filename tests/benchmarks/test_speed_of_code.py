"""How fast the code itself is, as figures measured in one run."""

import statistics
import subprocess
import sys
import timeit

import numpy as np
import pytest

from mixlab import action_curves, read_order

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
