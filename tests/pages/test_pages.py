"""Every page: what it holds, that all of it went through the catalogue, and that no text breaks out of its place."""

import re
from dataclasses import replace
from html import unescape
from html.parser import HTMLParser
from types import MappingProxyType

import pytest
from brackets import bare_words, in_brackets

from mixlab.care.bench.bench import run
from mixlab.care.bench.handling import CleanHands, Give, LookAt, ReadLabel
from mixlab.care.bench.runs import CLEAR, bench_for, right_run
from mixlab.care.bench.variants import wrong_run
from mixlab.care.day.planning import day_plan
from mixlab.care.decision.chart import answer_concerns
from mixlab.care.decision.deciding import decide
from mixlab.care.dosing import plan_dose
from mixlab.care.low.events import CallForHelp, Carbohydrate, Eat, EmergencyTreatment, Measure, TellPrescriber, Wait
from mixlab.care.low.treatment import walk
from mixlab.care.order.checking import order_concerns
from mixlab.care.review.findings import review
from mixlab.facts.reading import the_facts
from mixlab.figures.day.day_words import DaySeen
from mixlab.pages.bench import notice_html, order_line_html, seen_words, step_words, steps_html
from mixlab.pages.comparison import comparison_html
from mixlab.pages.day import day_html
from mixlab.pages.decision import decision_html
from mixlab.pages.labels import checked_html, refusal_html
from mixlab.pages.low import event_words, log_html
from mixlab.pages.order import ORDER_CAUTION, order_html, verdict_words
from mixlab.pages.review import review_html
from mixlab.quantities import Glucose
from mixlab.ward.observation import Observation
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.record import LOCAL_POLICY, teaching_site
from mixlab.words import sentence, speaking

SITE = teaching_site()
ORDER = read_order("regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast")
FOUND = Observation(glucose=Glucose(61, "mg/dL"), signs=("sweating",), eating=True, can_swallow=True)
EVENTS = (
    CallForHelp(), Carbohydrate(15), Wait(15), Measure(Glucose(64, "mg/dL"), signs=()), EmergencyTreatment(), Wait(1), Wait(14),
    Measure(Glucose(98, "mg/dL")), Measure(Glucose(98, "mg/dL"), signs=("confusion",)), Eat(), TellPrescriber(says_give=False), TellPrescriber(says_give=True),
)  # fmt: skip
HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onmouseover='alert(1)",
    "{order} {{ 7 * 7 }} {0.__class__}",
    "</b></li></ol></div>",
)
SVG = '<?xml version="1.0"?>\n<svg width="3pt" viewBox="0 0 3 4">\n<g id="one"/>\n</svg>\n'


class Outline(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags = []

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, *(name for name, _ in attributes)))

    def handle_endtag(self, tag):
        self.tags.append(f"/{tag}")


def outline(page):
    """Return the tags of a page, with the names of their attributes."""
    reader = Outline()
    reader.feed(page)
    reader.close()
    return reader.tags


def words(page):
    """Return what is read on a page, without markup."""
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", page)).split())


def without_braces(text):
    return re.sub(r"[{}]", "", text)


def site_called(name):
    """Return a ward of any name, which calls the prescriber so too and has rules of its own: they are cited by its name."""
    site = teaching_site()
    rules = ("hold_line", "recheck", "waiting", "rounds", "push_back", "gloves")
    own = {field: replace(getattr(site, field), source=LOCAL_POLICY, known="recalled") for field in rules}
    term = without_braces(name)  # the reader of site files refuses a term with braces
    return replace(site, name=name, terms=MappingProxyType({**site.terms, "prescriber": term}), **own)


def pages_of(text):
    """Return every page, with a text wherever one may stand that somebody typed."""
    site = site_called(text)
    with speaking(site.voice):
        typed = f"regular insulin 8U and NPH insulin 20 units {text}"
        concerns = order_concerns(typed, usual=ORDER, site=site)
        plan = plan_dose(ORDER, site)
        trace = run(bench_for(ORDER, site), right_run(plan)[:4])
        made = wrong_run("waited-too-long", plan)
        day = day_plan(ORDER, "07:30", site.meals, site)
        return {
            "decision": decision_html(decide(ORDER, FOUND, site)),
            "log": log_html(walk(ORDER, FOUND, EVENTS, site)),
            "review": review_html(review(made.plan.order, made.trace(), site), made.trace()),
            "steps": steps_html(trace, 2),
            "order line": order_line_html(text),
            "notice": notice_html(sentence("<b>Not done:</b> {text}", text=text), refused=True),
            "refusal": refusal_html(
                sentence("<b>Not done:</b> {text}", text=text), sentence("{text}", text=text), faults=[text]
            ),
            "checked": checked_html(text),
            "day": day_html(DaySeen(plan=day, curves=None, cover=None)),
            "comparison": comparison_html(
                title=text,
                sections=[(text, [(text, ORDER_CAUTION), (text,)])],
                notes=[text],
                signature=text,
                picture=SVG,
                picture_words=text,
                whole=[(text, [text])],
            ),
            "order": order_html(text, (), answer_concerns((), SITE), verdict_words(text, ()), text),
            "order with concerns": order_html(
                typed, concerns, answer_concerns(concerns, SITE), verdict_words(typed, concerns), text
            )[: -len(text)],
        }


@pytest.fixture(scope="module")
def plain():
    return pages_of("willow")


@pytest.mark.parametrize("text", HOSTILE)
def test_no_text_that_somebody_typed_breaks_out_of_its_place(text, plain):
    """A page of a hostile text has the tags and attributes of one with a plain text, and shows the text as it was typed."""
    for name, page in pages_of(text).items():
        if name == "order with concerns":  # other words, other concerns
            assert set(outline(page)) <= set(outline(plain[name])) | {("br",)}
        else:
            assert outline(page) == outline(plain[name]), name
        if "willow" in plain[name]:
            assert without_braces(text) in without_braces(words(page)) + without_braces(unescape(page)), name
        assert "<script" not in page
        assert "onerror=alert(1)>" not in page


def test_what_somebody_typed_stands_on_most_pages(plain):
    """Otherwise the test above would show nothing."""
    assert {name for name, page in plain.items() if "willow" not in page} <= {"steps"}


def test_every_word_of_a_page_goes_through_the_catalogue():
    with in_brackets():
        for name, page in pages_of("8").items():
            bare = bare_words(words(page), "regular insulin", "8U", "and NPH insulin 20 units 8")
            assert not bare, (name, bare, page)


def test_the_order_shows_each_place_and_its_numbers():
    text = "Reg 8U\nQD"
    concerns = order_concerns(text)
    answer = answer_concerns(concerns, SITE)
    whole = order_html(text, concerns, answer, verdict_words(text, concerns))
    marked = re.match(r'<p class="mixlab-order-marked">(.*)</p>', whole)[1]
    assert marked.startswith("<u>Reg</u><sup><b>[1]</b></sup> <u>8U</u>")
    assert "<br>" in marked
    assert whole.count("<li>") == len(concerns)
    assert 'role="alert"' not in whole
    assert '<p role="alert"><b>not comparable</b></p>' in order_html(text, concerns, answer, "", "not comparable")


def test_an_order_without_concerns_has_no_list():
    text = str(ORDER)
    page = order_html(text, (), answer_concerns((), SITE), verdict_words(text, ()))
    assert "<ol>" not in page
    passes = "Nothing against the order itself: go on to the patient"
    assert words(page).startswith(f"{text} {passes} It reads as: {text}. Nothing unsafe was found")
    assert "<svg" not in page


def test_the_sheet_of_a_decision_holds_every_step_and_reason():
    decision = decide(ORDER, FOUND, teaching_site())
    page = decision_html(decision)
    told = (*decision.next_steps, *decision.tell, *decision.give_when, *decision.because, *decision.numbers)
    assert [unescape(line) for line in re.findall(r"<li>(.*?)</li>", page)] == list(map(str, told))
    assert re.findall(r"<b>(.*?)</b>\s*<(ol|ul)>", page) == [
        ("Next", "ol"), ("Tell", "ul"), ("For the dose to be given later", "ul"), ("Why, and who says so", "ul"),
    ]  # fmt: skip


def test_a_list_with_nothing_in_it_is_left_out():
    decision = decide(ORDER, FOUND, teaching_site())
    assert "Tell" not in words(decision_html(replace(decision, tell=(), steps=())))


def test_the_log_holds_every_moment_what_was_not_right_and_what_is_due():
    moments = walk(ORDER, FOUND, EVENTS, teaching_site())
    page = log_html(moments)
    told = [(words(line), moment) for line, moment in zip(re.findall(r"<li>(.*?)</li>", page), moments, strict=True)]
    for line, moment in told:
        assert line.startswith(f"minute {moment.minute}: {event_words(moment)} → {moment.decision.choice} .")
        assert line.endswith(str(moment.remark or f"{moment.decision.choice} ."))
    assert page.count("<b>Not right:</b>") == sum(bool(moment.remark) for moment in moments) > 0
    assert words(page).endswith(f"Now: {moments[-1].due}")
    assert len({str(event_words(moment)) for moment in moments}) == len(moments)


def test_the_review_holds_every_finding_and_what_was_seen_first():
    made = wrong_run("cloudy-drawn-first", plan_dose(ORDER))
    trace = made.trace()
    findings = review(made.plan.order, trace, made.plan.site)
    page = review_html(findings, trace)
    for finding in findings:
        for part in ("title", "amount", "dose", "patient", "vial", "do", "rule"):
            assert " ".join(str(getattr(finding, part)).split()) in words(page)
        if finding.step:
            assert f"({step_words(trace.actions[finding.step - 1], trace.states[finding.step])})" in words(page)
    assert page.count("<b>Most serious.</b>") == page.count("<b>Seen first:</b>") == 1
    judged = page[page.index("<b>Review</b>") :]
    assert judged.index("<b>Most serious.</b>") < judged.index("</li>")
    assert ("(critical step)" in words(page)) == any(finding.critical for finding in findings)
    assert "In doubt" not in words(page) or any(finding.doubt for finding in findings)


def test_a_wrong_dose_that_was_given_is_said_above_every_finding_with_its_amounts_and_steps():
    made = wrong_run("doses-swapped", plan_dose(ORDER))
    trace = made.trace()
    findings = review(ORDER, trace, made.plan.site)
    page = review_html(findings, trace)
    dose = findings[0].given
    top = page[: page.index("<b>Review</b>")]
    assert words(top).startswith(f"{dose.title}: {dose.amounts}. Now: {dose.told[0]} {dose.told[1]} ")
    assert words(top).endswith(f"{dose.told[-1]} Rule: {dose.rule}")
    assert [words(line) for line in re.findall(r"<li>(.*?)</li>", top)] == [str(each) for each in dose.told]
    assert words(page).count("Now: tell someone, as said at the top. Next time, before giving: ") == len(findings)
    gave = next(number for number, one, *_ in trace if isinstance(one, Give))
    before = trace.up_to(gave - 1)
    page = review_html(review(ORDER, before, made.plan.site), before)
    assert words(page).startswith("Review of ")
    assert "as said at the top" not in page


def test_the_review_of_a_right_run_says_that_nothing_was_wrong():
    trace = run(bench_for(ORDER), right_run(plan_dose(ORDER)))
    page = review_html((), trace)
    assert words(page).startswith(f"Review of {len(trace)} steps Nothing was wrong in this run. Not judged here: ")
    assert all(str(row.say) in words(page) for row in the_facts().not_judged.values())
    assert 'role="region" aria-label="Review"' in page


def test_the_steps_mark_the_one_that_is_looked_at():
    trace = run(bench_for(ORDER), right_run(plan_dose(ORDER))[:3])
    lines = re.findall(r"<li( aria-current=\"step\")?>(.*?)</li>", steps_html(trace, 2))
    assert [bool(current) for current, _ in lines] == [False, True, False]
    assert [line for _, line in lines] == [str(step_words(action, after)) for _, action, _, after in trace]
    assert "none yet" in words(steps_html(trace.up_to(0), 0))


def test_what_is_seen_at_the_bench_is_told_only_where_something_is_looked_at():
    looked = (LookAt(CLEAR), ReadLabel(CLEAR), CleanHands())
    trace = run(bench_for(ORDER), looked)
    seen = [seen_words(action, after) for _, action, _, after in trace]
    assert [bool(words) for words in seen] == [True, True, False]


def test_a_notice_is_read_out_at_once_only_when_it_refuses():
    line = sentence("<b>Not done:</b> {text}", text="a < b")
    assert notice_html(line) == '<div class="mixlab-bench-notice"><b>Not done:</b> a &lt; b</div>'
    assert '<span role="alert"><b>Not done:</b> a &lt; b</span>' in notice_html(line, refused=True)
    assert 'role="alert"' in refusal_html(line)
    assert 'role="status"' in checked_html("done")


def test_a_refusal_lists_what_has_to_be_put_right():
    page = refusal_html(sentence("Put right:"), sentence("It stays."), faults=["one", "two"])
    assert words(page) == "Put right: one two It stays."
    assert page.count("<li>") == 2
    assert "<ol>" not in refusal_html(sentence("Put right:"))


def test_the_day_holds_every_clash_every_look_and_whose_the_numbers_are():
    site = teaching_site()
    plan = day_plan(ORDER, "06:00", site.meals, site)
    page = day_html(DaySeen(plan=plan, curves=None, cover=None))
    assert plan.clashes
    assert page.count("<tr>") == len(plan.visits) + 1
    assert page.index("</ul>") < page.index("<table>")
    assert page.count("(first look)") == page.count("<td>1 (first look)</td>") == 1
    for one in (*plan.clashes, *plan.visits):
        assert str(one.say) in words(page)
    for told, rule in plan.standing:
        assert f"{told} ({site.cite(rule)})" in words(page)
    quiet = replace(plan, clashes=())
    assert "Nothing found by the taught times." in words(day_html(DaySeen(plan=quiet, curves=None, cover=None)))


def test_the_comparison_is_one_page_its_rules_numbered_through_and_its_picture_named():
    page = comparison_html(
        title="from one to two",
        sections=[("less strict", [("the line", "where"), ("the wait",)]), ("otherwise", [("the gloves",)])],
        notes=["the rest is the same"],
        signature="name and date",
        picture=SVG,
        picture_words="two wards",
        whole=[("decisions", ["a", "b"])],
    )
    assert page.count("<svg ") == 1
    assert '<svg role="img" aria-label="two wards" style="max-width: 100%; height: auto" width="3pt" viewBox=' in page
    assert '<g id="one"/>' in page
    assert re.findall(r'<ol start="(.)">', page) == ["1", "3"]
    assert "<li>the line<br>where</li>" in page
    assert words(page) == (
        "from one to two less strict the line where the wait otherwise the gloves the rest is the same name and date "
        "Everything that differs: the whole list behind this page decisions a b"
    )
    assert page.startswith('<article class="mixlab-sites">')
