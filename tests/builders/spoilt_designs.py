"""Stored designs spoilt by a seed: figures, names and lists that no design has, or broken text."""

import json
import random

NUMBERS = [0, -1, 1, 1e12, 1e-300, -1e-12, 1e308, 10**30, 0.5, 2, 7, -0.0]
SCRAPS = [
    None, True, "", " ", "0", [], {}, [[]], "NaN", "\u202eabc", "\u0000", "x" * 5000, "💧" * 50,
    "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "</script><script>alert(2)",
    "{{ 7 * 7 }}", "=HYPERLINK(1)", "../../../../tmp/evil", "/etc/passwd", "C:\\evil", "a/../../b",
    "CON", "-rf", "$(touch evil)", "`touch evil`", "%s%s%n", "\ud800",
]  # fmt: skip
WORDS = ["NaN", "Infinity", "-Infinity", "1e999", "9" * 400, "[" * 2000 + "]" * 2000, "'x'", "//"]


def spoilt_design(seed: int, texts: list[str]) -> bytes:
    """Return the bytes of one of the designs, spoilt in its tree, in its text, or in both."""
    rng = random.Random(seed)
    text = rng.choice(texts)
    if rng.random() < 0.8:
        text = _with_spoilt_tree(text, rng)
    if rng.random() < 0.3:
        text = _with_spoilt_text(text, rng)
    raw = text.encode(rng.choice(["utf-8"] * 9 + ["utf-16"]), errors="surrogatepass")
    return raw[: rng.randrange(len(raw))] if rng.random() < 0.05 else raw


def _with_spoilt_tree(text: str, rng: random.Random) -> str:
    tree = json.loads(text)
    for _ in range(rng.choice([1, 1, 1, 2, 3])):
        _spoil_somewhere(tree, rng)
    return json.dumps(tree, indent=1)


def _spoil_somewhere(tree: object, rng: random.Random) -> None:
    """Walk down at random and change what is found there."""
    while True:
        keys = list(tree) if isinstance(tree, dict) else range(len(tree))
        if not keys:
            return
        key = rng.choice(list(keys))
        below = tree[key]
        if isinstance(below, dict | list) and below and rng.random() < 0.93:
            tree = below
            continue
        _change(tree, key, rng)
        return


def _change(tree, key, rng: random.Random) -> None:
    old = tree[key]
    how = rng.random()
    if how < 0.1:
        del tree[key]
    elif how < 0.15 and isinstance(tree, dict):
        tree[rng.choice(["x", "", "<b>", "__class__"])] = old
    elif how < 0.2 and isinstance(tree, list):
        tree.insert(key, old)
    elif isinstance(old, int | float) and not isinstance(old, bool) and how < 0.75:
        factor = rng.choice([0, -1, 0.5, 0.9, 1.1, 2, 10, 1e6, 1e-6])
        tree[key] = type(old)(old * factor) if rng.random() < 0.6 else rng.choice(NUMBERS)
    else:
        tree[key] = rng.choice(NUMBERS + SCRAPS)


def _with_spoilt_text(text: str, rng: random.Random) -> str:
    at = rng.randrange(len(text))
    how = rng.randrange(4)
    if how == 0:
        return text[:at] + text[at + rng.randint(1, 200) :]
    if how == 1:
        return text[:at] + rng.choice([*WORDS, '"', "{", "\x00", "\ufeff"]) + text[at:]
    line = rng.randrange(text.count("\n") + 1)
    lines = text.split("\n")
    if how == 2:
        lines.insert(line, lines[line])  # most often a key that stands twice
    else:
        before, _, _ = lines[line].partition(":")
        lines[line] = f"{before}: {rng.choice(WORDS)},"
    return "\n".join(lines)
