"""How fast a picture follows a key: four ways side by side, in a real lab and a real browser, in one run."""

from dataclasses import dataclass, field
from time import perf_counter, sleep

import numpy as np
from playwright.sync_api import Page

WAYS = {
    "echo": "slider echoed to a label (the floor)",
    "usual": "interact and new subplots, inline",
    "blitted": "one figure, blitted, cheap PNG",
    "live": "this way: drawn once, parts moved",
}
ROUNDS = 12  # the ways take turns, so that whatever else the machine does hits all alike
STEPS = 10  # key presses in a turn
HELD = 3.0  # s that the key is held
REPEATS = 30  # presses a second while it is held

# Waits for the way's own result to change, for its image to be decoded, for the frame that shows it to begin, and for the
# first task after that frame was painted.
WATCH = """way => {
  const result = document.querySelector(`.${way} .result`);
  const painted = () => new Promise(resolve => requestAnimationFrame(() => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = resolve;
    port2.postMessage(0);
  }));
  let pressed;
  window.painted = new Promise((resolve, reject) => {
    setTimeout(() => reject(new Error(`nothing came for ${way}`)), 5000);
    addEventListener("keydown", event => (pressed = event.timeStamp), { capture: true, once: true });
    new MutationObserver(async (_, observer) => {
      const image = result.matches("img") ? result : result.querySelector("img");
      if (pressed === undefined || (result.querySelector(".jp-OutputArea") && !image)) return;
      observer.disconnect();
      await image?.decode();
      await painted();
      resolve(performance.now() - pressed);
    }).observe(result, { subtree: true, childList: true, characterData: true, attributeFilter: ["src"] });
  });
}"""
COUNT = """way => {
  const result = document.querySelector(`.${way} .result`);
  window.pictures = [];
  new MutationObserver(() => window.pictures.push(performance.now()))
    .observe(result, { subtree: true, childList: true, characterData: true, attributeFilter: ["src"] });
}"""


@dataclass(kw_only=True)
class Measured:
    times: list[float] = field(default_factory=list)  # ms from key press to painted
    received: int = 0  # bytes on the kernel's web socket
    rate: float = 0.0  # pictures a second with the key held

    @property
    def median(self) -> float:
        return float(np.median(self.times))

    @property
    def p95(self) -> float:
        return float(np.percentile(self.times, 95))

    @property
    def step_bytes(self) -> float:
        return self.received / len(self.times)


def press_steps(page: Page, way: str, key: str, measured: Measured, received: list[int]) -> None:
    handle = page.locator(f".{way} [role=slider], .{way} .noUi-handle").first
    page.locator(f".{way} .result").scroll_into_view_if_needed()
    handle.focus()
    page.wait_for_timeout(300)
    received.clear()
    for _ in range(STEPS):
        page.evaluate(WATCH, way)
        page.keyboard.press(key)
        measured.times.append(page.evaluate("window.painted"))
        page.wait_for_timeout(50)
    page.wait_for_timeout(300)
    measured.received += sum(received)


def hold_key(page: Page, way: str) -> float:
    page.locator(f".{way} .noUi-handle").first.focus()
    page.wait_for_timeout(300)
    page.evaluate(COUNT, way)
    start = perf_counter()
    for press in range(int(HELD * REPEATS)):
        sleep(max(0.0, start + press / REPEATS - perf_counter()))
        page.keyboard.down("ArrowRight")
    page.keyboard.up("ArrowRight")
    page.wait_for_timeout(1500)
    shown = page.evaluate("window.pictures")
    return (len(shown) - 1) / (shown[-1] - shown[0]) * 1000


def measure(page: Page, received: list[int]) -> dict[str, Measured]:
    measured = {way: Measured() for way in WAYS}
    for turn in range(ROUNDS):
        for way in WAYS:
            press_steps(page, way, "ArrowLeft" if turn % 2 else "ArrowRight", measured[way], received)
    for way in WAYS:
        measured[way].rate = hold_key(page, way)
    return measured


def print_table(scale: int, measured: dict[str, Measured]) -> None:
    print(f"\ndevice scale {scale}, {ROUNDS * STEPS} key presses each, from key press to painted")
    print(f"{'way':<40}{'median ms':>10}{'p95 ms':>10}{'KB a step':>11}{'pictures/s':>12}")
    for way, words in WAYS.items():
        one = measured[way]
        print(f"{words:<40}{one.median:>10.1f}{one.p95:>10.1f}{one.step_bytes / 1000:>11.1f}{one.rate:>12.1f}")
