"""Mustache against the open specification's own cases, and against a second renderer.

The cases are those of the specification's required modules (github mustache/spec, MIT), found
through BEADLINE_REFERENCE. The second renderer below works as the specification words it (a
standalone partial's text is indented and parsed again), which is not how ours does it, and random
templates must come out of both alike.
"""
import json
import os
import pathlib
import random
import re
import subprocess
import sys

MODULES = {"comments": 12, "delimiters": 14, "interpolation": 42, "inverted": 22, "partials": 12,
           "sections": 34}  # cases by module, specification of 2025-01-18
TOOL = pathlib.Path(os.environ["BL_BUILD"]) / "tests" / "mustache_tool"


def hexed(text):
    return text.encode().hex()


def value_lines(value):
    """The value as the tool reads it. Numbers and null become the texts the specification shows."""
    if isinstance(value, bool):
        return ["yes" if value else "no"]
    if value is None:
        return ["text "]
    if isinstance(value, dict):
        lines = ["map"]
        for name, item in value.items():
            lines += ["name " + hexed(name)] + value_lines(item)
        return lines + ["end"]
    if isinstance(value, list):
        return ["list"] + [line for item in value for line in value_lines(item)] + ["end"]
    return ["text " + hexed(str(value))]


def case_lines(template, data, partials):
    lines = ["template " + hexed(template), "escape html"] + value_lines(data)
    lines += [f"partial {hexed(name)} {hexed(text)}" for name, text in partials.items()]
    return lines + ["go"]


def render_all(cases):
    """What our renderer makes of each (template, data, partials)."""
    lines = [line for case in cases for line in case_lines(*case)]
    done = subprocess.run([TOOL], input="\n".join(lines) + "\n", text=True, check=True,
                          stdout=subprocess.PIPE)
    answers = done.stdout.splitlines()
    assert len(answers) == len(cases), f"{len(answers)} answers to {len(cases)} cases"
    return [bytes.fromhex(a[3:]).decode() if a.startswith("ok ") else a for a in answers]


def check_specification():
    folder = os.environ.get("BEADLINE_REFERENCE")
    if not folder or not (pathlib.Path(folder) / "mustache-spec").is_dir():
        print("specification: skipped, BEADLINE_REFERENCE names no folder with mustache-spec")
        return 0
    wrong = total = 0
    for module, expected_count in MODULES.items():
        path = pathlib.Path(folder) / "mustache-spec" / f"{module}.json"
        tests = json.loads(path.read_text(encoding="utf-8"))["tests"]
        assert len(tests) >= expected_count, f"{module}: {len(tests)} cases"
        got = render_all([(t["template"], t["data"], t.get("partials", {})) for t in tests])
        for test, text in zip(tests, got):
            total += 1
            if text != test["expected"]:
                wrong += 1
                print(f"{module}: {test['name']}: {text!r}, expected {test['expected']!r}")
    print(f"specification: {total - wrong} of {total} required cases")
    return wrong


# --- the second renderer ----------------------------------------------------------------------
TAG = re.compile(r"\{\{(\{[^}]*\}|[^}]*)\}\}")
ALONE = re.compile(r"(?m)^[ \t]*\{\{([#^/>!][^}]*)\}\}[ \t]*(?:\r?\n|\Z)")


def tokens(text):
    """The template as (kind, name, indent) and texts; standalone lines are cut out first."""
    at = 0
    while at < len(text):
        match = TAG.search(text, at)
        if not match:
            yield text[at:]
            return
        begin = text.rfind("\n", 0, match.start()) + 1
        alone = ALONE.match(text, begin)
        if alone and alone.start(1) == match.start(1):
            yield text[at:begin]
            indent, end = text[begin:match.start()], alone.end()
        else:
            yield text[at:match.start()]
            indent, end = None, match.end()
        body = match.group(1)
        kind = body[0] if body[0] in "#^/>!&{" else "v"
        yield kind, body.strip("#^/>!&{} "), indent
        at = end


def tree(stream):
    nodes = []
    for token in stream:
        if isinstance(token, str):
            nodes.append(token)
        elif token[0] == "/":
            return nodes
        elif token[0] in "#^":
            nodes.append((*token, tree(stream)))
        else:
            nodes.append(token)
    return nodes


def find(name, scopes):
    if name == ".":
        return scopes[-1]
    first, *rest = name.split(".")
    found = next((s[first] for s in reversed(scopes) if isinstance(s, dict) and first in s), None)
    for part in rest:
        found = found.get(part) if isinstance(found, dict) else None
    return found


def escaped(text):
    for char, entity in (("&", "&amp;"), ('"', "&quot;"), ("<", "&lt;"), (">", "&gt;"),
                         ("'", "&#39;")):
        text = text.replace(char, entity)
    return text


def truthy(value):
    """As our header has it: an empty text, an empty list and no are no; an empty map is yes."""
    return isinstance(value, dict) or bool(value)


def shown(value):
    if isinstance(value, bool):
        return "true" if value else "false"
    return value if isinstance(value, str) else ""


def render(text, scopes, partials):
    return render_nodes(tree(tokens(text)), scopes, partials)


def render_nodes(nodes, scopes, partials):
    return "".join(node if isinstance(node, str) else render_tag(node, scopes, partials)
                   for node in nodes)


def render_tag(node, scopes, partials):
    kind, name, indent = node[:3]
    if kind == "!":
        return ""
    if kind == ">":
        text = re.sub(r"(?m)^(?=[\s\S])", indent or "", partials.get(name, ""))
        return render(text, scopes, partials)
    value = find(name, scopes)
    if kind == "#":
        rounds = value if isinstance(value, list) else [value] if truthy(value) else []
        return "".join(render_nodes(node[3], scopes + [v], partials) for v in rounds)
    if kind == "^":
        return "" if truthy(value) else render_nodes(node[3], scopes, partials)
    return shown(value) if kind in "&{" else escaped(shown(value))


# --- random templates -------------------------------------------------------------------------
NAMES = ["a", "b", "c", "a.b", "b.c.a", ".", "zz"]
BLANKS = ["", " ", "  ", "\t"]
ENDS = ["\n", "\n", "\r\n", ""]


def random_value(chance, depth):
    kind = chance.choice("tttbblm" if depth < 4 else "tb")
    if kind == "t":
        return chance.choice(["", "x", "1\n2", "<&>", "'\"", "{{a}}", "é"])
    if kind == "b":
        return chance.random() < 0.5
    if kind == "l":
        return [random_value(chance, depth + 1) for _ in range(chance.randrange(3))]
    return random_map(chance, depth + 1)


def random_map(chance, depth):
    return {n: random_value(chance, depth) for n in "abc" if chance.random() < 0.8}


def random_piece(chance, depth, partials):
    kind = chance.choice("wwwvvr&!#^>" if depth < 4 else "wvr&!")
    name, pad = chance.choice(NAMES), chance.choice(["", " "])
    if kind == "w":
        return chance.choice(["x", "y ", "\n", " ", "\n\n", "\r\n", "|"])
    if kind == "v":
        return "{{" + pad + name + pad + "}}"
    if kind == "r":
        return "{{{" + pad + name + pad + "}}}"
    if kind == "&":
        return "{{&" + pad + name + "}}"
    if kind == "!":
        return chance.choice(["", "\n  "]) + "{{! note" + chance.choice(["", "\n"]) + "}}\n"
    if kind == ">":
        partial = chance.choice(partials + ["none"])
        return chance.choice(BLANKS) + "{{>" + pad + partial + "}}" + chance.choice(ENDS)
    body = random_template(chance, depth + 1, partials)
    opened, closed = (chance.choice(BLANKS) + "{{" + sign + name + pad + "}}" + chance.choice(BLANKS)
                      + chance.choice(ENDS) for sign in (kind, "/"))
    return opened + body + closed


def random_template(chance, depth, partials):
    return "".join(random_piece(chance, depth, partials) for _ in range(chance.randrange(1, 5)))


def random_case(chance):
    partials = {}
    for name in ("p", "q"):  # each may use those before it, so none calls itself
        partials[name] = random_template(chance, 2, sorted(partials))
    return random_template(chance, 0, sorted(partials)), random_map(chance, 0), partials


def check_random(count):
    seed = int(os.environ.get("BL_SEED", random.randrange(1 << 32)))
    chance = random.Random(seed)
    cases = [random_case(chance) for _ in range(count)]
    wrong = 0
    for case, got in zip(cases, render_all(cases)):
        template, data, partials = case
        expected = render(template, [data], partials)
        if got != expected:
            wrong += 1
            if wrong <= 5:
                print(f"differs: {template!r} {data!r} {partials!r}\n  ours {got!r}\n"
                      f"  second {expected!r}")
    longest = max(len(template) for template, _, _ in cases)
    print(f"random templates: {count - wrong} of {count} alike, longest {longest}, "
          f"BL_SEED={seed}")
    return wrong


if __name__ == "__main__":
    faults = check_specification() + check_random(10000)
    sys.exit(1 if faults else 0)
