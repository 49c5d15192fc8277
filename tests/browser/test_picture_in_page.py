"""The live picture in a bare page, with a stand-in for the kernel's side: what a lab rarely brings about."""

import json
from io import BytesIO, StringIO
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle
from PIL import Image
from playwright.sync_api import Page, expect

from mixlab.screen import picture as picture_module
from mixlab.screen.picture import LivePicture

# A model as the page sees it: what it holds, what it is told, what it sends.
STAND_IN = """async ([source, state]) => {
  const url = URL.createObjectURL(new Blob([source], { type: "text/javascript" }));
  const { default: widget } = await import(url);
  const heard = {};
  window.sent = [];
  window.model = {
    get: name => state[name],
    set: (name, value) => { state[name] = value; (heard[`change:${name}`] ?? []).forEach(call => call(value)); },
    on: (name, call) => (heard[name] ??= []).push(call),
    send: message => window.sent.push(message),
    tell: message => heard["msg:custom"].forEach(call => call(message)),
  };
  await widget.initialize({ model });
  window.show = () => {
    const el = document.body.appendChild(document.createElement("div"));
    widget.render({ model, el });
    return el;
  };
  window.show();
}"""


def make_picture(**looks: object) -> tuple[LivePicture, dict]:
    figure = Figure(figsize=(4, 2))
    axes = figure.subplots()
    axes.set(xlim=(0, 24), ylim=(0, 10))
    axes.scatter(np.arange(20), np.arange(20) / 3)
    moving = {
        "curve": axes.plot([2, 8, 14], [1, 8, 3], marker="o")[0],
        "cloudy": axes.add_patch(Rectangle((1, 1), 9, 6, facecolor="white", hatch="//")),
        "words": axes.text(12, 8, "8 units", parse_math=False),
    }
    moving["cloudy"].set_clip_path(Circle((5, 4), 3, transform=axes.transData))
    for name, artist in moving.items():
        artist.set_gid(name)
    return LivePicture(figure, "8 units", **looks), moving


def say(picture: LivePicture, moving: dict, words: str) -> dict:
    """Let the picture say something else, and give what its page must be told."""
    moving["words"].set_text(words)
    return json.loads(json.dumps(picture.change(moving.values(), words)))


def tell(page: Page, news: dict) -> None:
    page.evaluate("news => model.tell(news)", news)


def open_picture(page: Page, picture: LivePicture) -> None:
    page.set_content("<body style='margin: 0; width: 800px'></body>")
    css = Path(picture_module.__file__).with_name("picture.css").read_text(encoding="utf-8")
    source = Path(picture_module.__file__).with_name("picture.js").read_text(encoding="utf-8")
    page.add_style_tag(content=css)
    state = {name: picture.get_state()[name] for name in ("now", "stale", "stale_words", "max_height", "caption")}
    page.evaluate(STAND_IN, [source, state])


def look(page: Page, selector: str = "body > div") -> np.ndarray:
    return np.asarray(Image.open(BytesIO(page.locator(selector).last.screenshot())).convert("L"), dtype=float)


def part(page: Page, name: str) -> str:
    return page.locator(f"svg #{name}").last.text_content() or ""


def test_moved_parts_look_as_if_drawn_anew(page):
    picture, moving = make_picture()
    open_picture(page, picture)
    start = look(page)
    moving["cloudy"].set(hatch="xx", height=8)
    moving["curve"].set(ydata=[2, 4, 9], marker="s")
    moving["words"].set_position((3, 9))
    tell(page, say(picture, moving, "9 units"))
    moved = look(page)
    open_picture(page, picture)
    assert np.array_equal(moved, look(page))
    assert np.abs(moved - start).max() > 100


def test_the_picture_looks_as_matplotlib_saves_it(page):
    # Matplotlib's own `savefig` in SVG is the reference; the live picture only cuts coordinates to a tenth of a pixel.
    picture, _ = make_picture()
    saved = StringIO()
    with picture._drawing.settings():
        picture._drawing.figure.savefig(saved, format="svg")
    looks = []
    for svg in (saved.getvalue(), picture.svg()):
        page.set_content(f"<style>svg {{ width: 800px; height: 400px }}</style>{svg[svg.index('<svg') :]}")
        looks.append(look(page, "svg"))
    difference = np.abs(looks[0] - looks[1])
    assert looks[0].std() > 10
    assert difference.mean() < 0.5
    assert (difference > 128).mean() < 0.0005  # edges may be smoothed a little otherwise


def test_a_second_view_shows_the_present_and_needs_nothing_of_the_first(page):
    picture, moving = make_picture()
    open_picture(page, picture)
    tell(page, say(picture, moving, "9 units"))
    page.evaluate("() => { window.second = show() }")
    assert part(page, "words") == "9 units"
    both = look(page)
    page.evaluate("() => { document.body.firstElementChild.style.display = 'none' }")
    assert np.abs(both - look(page)).max() < 64  # a lost clip or hatch would differ by all of 255
    ids = page.evaluate("[...document.querySelectorAll('[id]')].map(node => node.id)")
    definitions = [one for one in ids if one not in moving and not one.startswith("m")]
    assert len(definitions) == len(set(definitions)) > 0
    tell(page, say(picture, moving, "10 units"))
    assert [node.text_content() for node in page.locator("svg #words").all()] == ["10 units"] * 2


def test_a_page_that_missed_a_step_asks_for_all(page):
    picture, moving = make_picture()
    open_picture(page, picture)
    assert page.evaluate("sent") == [{"holds": 0}]
    first, second = (say(picture, moving, f"{value} units") for value in (9, 10))
    tell(page, second)
    assert part(page, "words") == "8 units"
    assert page.evaluate("sent.at(-1)") == {"holds": 0}
    data = {"method": "custom", "content": page.evaluate("sent.at(-1)")}
    picture.send = lambda content, buffers=None: tell(page, content)
    picture._handle_msg({"content": {"data": data}, "buffers": []})
    tell(page, first)  # late, and past
    assert part(page, "words") == "10 units"
    assert page.get_by_role("img", name="10 units").count() == 1
    tell(page, say(picture, moving, "11 units"))
    assert part(page, "words") == "11 units"


def test_markup_in_words_stays_words(page):
    picture, moving = make_picture()
    open_picture(page, picture)
    typed = "<img src=x onerror='window.ran = 1'><script>window.ran = 1</script>"
    tell(page, say(picture, moving, typed))
    assert part(page, "words") == typed
    assert page.locator("svg").get_attribute("aria-label") == typed
    page.wait_for_timeout(200)
    assert page.evaluate("window.ran") is None
    assert page.locator("svg img, svg script").count() == 0


def test_a_stale_picture_says_so_in_words_stripes_and_name(page):
    picture, _ = make_picture()
    open_picture(page, picture)
    badge = page.get_by_role("status")
    assert badge.text_content() == ""
    fresh = look(page)
    page.evaluate("model.set('stale', true)")
    assert badge.is_visible()
    assert page.locator(".mixlab-picture-caption").text_content().startswith("Not updated")
    assert badge.text_content().startswith("Not updated")
    assert page.get_by_role("img", name="Not updated: see the message above. 8 units").is_visible()
    assert look(page).shape == fresh.shape  # nothing jumps
    assert (np.abs(look(page) - fresh) > 20).mean() > 0.05
    page.evaluate("model.set('stale', false)")
    assert np.array_equal(look(page), fresh)
    assert page.get_by_role("img", name="8 units", exact=True).is_visible()


def test_the_picture_fits_its_place_and_a_greatest_height(page):
    for looks, height in (({}, 400), ({"max_height": "200px"}, 200)):
        open_picture(page, make_picture(**looks)[0])
        assert page.locator("svg").bounding_box() == {"x": 0, "y": 0, "width": 800, "height": height}


def test_a_caption_says_the_same_as_the_name(page):
    open_picture(page, make_picture()[0])
    caption = page.get_by_role("note")
    assert not caption.is_visible()
    picture, moving = make_picture(caption=True)
    open_picture(page, picture)
    tell(page, say(picture, moving, "9 units 💉 and more"))
    assert caption.is_visible()
    assert page.locator("svg").get_attribute("aria-label") == "9 units 💉 and more"
    expect(caption).to_have_text("9 units 💉 and more")
    tell(page, say(picture, moving, "9 units 💉 or more"))
    assert part(page, "words") == page.locator("svg").get_attribute("aria-label") == "9 units 💉 or more"
    expect(caption).to_have_text("9 units 💉 or more")


def test_a_caption_is_read_ten_times_a_second_at_most_and_the_last_is_read(page):
    picture, moving = make_picture()
    open_picture(page, picture)
    news = [say(picture, moving, f"{units} units") for units in range(9, 29)]
    name, read, moved = page.evaluate(
        """async news => {
          const caption = document.querySelector("[role=note]"), svg = document.querySelector("svg"), read = [];
          new MutationObserver(() => read.push(caption.textContent)).observe(caption, {childList: true});
          const start = performance.now();
          for (const one of news) {
            model.tell(one);
            await new Promise(resolve => setTimeout(resolve, 10));
          }
          const name = svg.getAttribute("aria-label"), moved = performance.now() - start;
          await new Promise(resolve => setTimeout(resolve, 300));
          return [name, read, moved];
        }""",
        news,
    )
    assert name == read[-1] == "28 units"
    assert 2 <= len(read) <= moved / 100 + 2


def test_a_picture_that_grows_stale_says_so_at_once_while_its_caption_waits(page):
    picture, moving = make_picture()
    open_picture(page, picture)
    said = page.evaluate(
        "news => { model.tell(news); model.set('stale', true); return document.querySelector('[role=note]').textContent }",
        say(picture, moving, "9 units"),
    )
    assert said == "Not updated: see the message above. 9 units"
