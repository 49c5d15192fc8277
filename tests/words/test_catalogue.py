"""The catalogue is whole: every sentence is in it once, in the terms of the site, and every language has all of it."""

import ast
import re
from pathlib import Path

import mixlab
from mixlab.adapting.catalogue import messages
from mixlab.words import TERMS
from mixlab.words.translations import places
from mixlab.words.voice import WORDLESS

CODE = sorted(Path(mixlab.__file__).parent.rglob("*.py"))
SAYING = {"sentence", "counted", "say", "plural", "CohortError"}
COUNTING = {"counted", "plural"}
MESSAGES = {message.sentence: message for message in messages()}


def saying(tree):
    return [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in SAYING
    ]


def calls():
    return [(path, node) for path in CODE for node in saying(ast.parse(path.read_text(encoding="utf-8")))]


def test_no_sentence_is_built_before_it_is_looked_up():
    built = [
        f"{path.name}:{node.lineno}"
        for path, node in calls()
        for argument in node.args[node.func.id in COUNTING :]
        if isinstance(argument, ast.JoinedStr | ast.BinOp)
    ]
    assert not built


def test_every_sentence_in_the_code_is_gathered():
    """Also one that is said inside a formatted text, where a gatherer by tokens would not look."""
    lost = [
        f"{path.name}:{node.lineno} {argument.value!r}"
        for path, node in calls()
        for argument in node.args[: 2 if node.func.id in COUNTING else 1]
        if isinstance(argument, ast.Constant)
        and isinstance(argument.value, str)
        and argument.value not in MESSAGES
        and not WORDLESS.fullmatch(argument.value)
    ]
    assert not lost


def test_no_value_takes_the_place_of_a_term():
    taken = [
        f"{path.name}:{node.lineno} {keyword.arg}"
        for path, node in calls()
        for keyword in node.keywords
        if keyword.arg and keyword.arg.lower() in TERMS
    ]
    assert not taken


def english(node):
    return [one.value for one in node.args if isinstance(one, ast.Constant) and isinstance(one.value, str)]


def filled():
    """Every call that fills places, and the English of it, also where a variable of the function holds the sentence first."""
    for path, node in calls():
        if node.keywords or node.func.id not in {"sentence", "counted"}:
            yield path, node, english(node)
    for path in CODE:
        for function in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            nodes = [node for node in ast.walk(function) if isinstance(node, ast.Assign | ast.Call)]
            held, asked = {}, saying(function)
            for node in sorted(nodes if isinstance(function, ast.FunctionDef) else (), key=lambda node: node.lineno):
                if isinstance(node, ast.Assign) and node.value in asked and not node.value.keywords:
                    held[ast.unparse(node.targets[0])] = english(node.value)
                elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "filled":
                    yield path, node, held.get(ast.unparse(node.func.value), [])


def test_what_a_sentence_names_and_what_it_is_given_agree():
    wrong = []
    for path, node, sentences in filled():
        if not sentences or any(keyword.arg is None for keyword in node.keywords):
            continue
        named = {re.match(r"\w+", place)[0] for one in sentences for place in places(one)}
        given = {keyword.arg for keyword in node.keywords}
        if {name for name in named if name.lower() not in TERMS} != given:
            wrong.append(f"{path.name}:{node.lineno} {sorted(named ^ given)}")
    assert not wrong


AS_THEY_ARE = re.compile(r"facts\.(?:insulins|trials)|care/action/studies|ward/site/values/choices")
"""Where the generic names themselves stand: the facts of each insulin, studies by what they gave, and keys of a site file."""

BARE = re.compile(r"\b(prescribers?|chart|regular insulin|NPH|soluble|isophane|neutral)\b", re.IGNORECASE)


def test_a_thing_that_a_site_can_rename_is_never_called_by_its_name():
    """But for the generic names themselves, and for what stands in quotation marks: what somebody wrote or is to write."""
    named = []
    for sentence, message in MESSAGES.items():
        said = re.sub(r"""\{[^}]*\}|'[^']*'|"[^"]*\"""", "", sentence)
        if BARE.search(said) and sentence not in TERMS.values() and not AS_THEY_ARE.match(message.where):
            named.append(f"{message.where}: {sentence}")
    assert not named, "\n".join(named)
