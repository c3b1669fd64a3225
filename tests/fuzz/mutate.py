"""Files made bad: bytes, lines, values and keys of good ones, changed by a seeded draw.

Every function takes a ``random.Random`` first; the same seed gives the same bytes.
"""

import re
from random import Random

from airover.core.kinds import KINDS

LONG = 40_000  # letters of a very long line or value
DEEP = (40, 3000)  # tables in one another: few, and more than Python's own stack takes
MOST = 4  # changes made to one file
# 1: a text in quotes, a number, a word between commas. TOML, JSON and CSV have them all.
_VALUE = re.compile(
    rb'"(?:\\.|[^"\\\n])*"|(?<![A-Za-z_])[+-]?[0-9][0-9.,eE/ -]*|(?<=,)[^,\n"]*(?=[,\n])'
)
_KEY = re.compile(rb"^[ \t]*[A-Za-z_]+(?=[ \t]*=)|(?<=\[)[A-Za-z_.]+(?=\])", re.MULTILINE)
_NUMBER = re.compile(rb"[0-9]+(?:\.[0-9]+)?")

NUMBERS = (
    "nan", "inf", "-inf", "NaN", "Infinity", "1e308", "-1e308", "1e309", "1e-320", "5e-324", "0",
    "-0", "-1", "0.0", "9" * 400, "9" * 5000, "0x" + "f" * 6000, "1" + "0" * 30, "1e", "--1",
    "1_000", "0x10", "1.7976931348623157e308", "\u0661\u0662\u0663", "\uff11\uff12", "\u00b2",
    "1,5", "1.2.3", "1/0", "0/0", "1/3/5", "999999999999", "-273.16", "1e-9", "+5", "\u2153",
    "1 1/0",
)  # fmt: skip
WORDS = (
    "", " ", "=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(1;2)", "{{7*7}}", "${7*7}", "%s%n", "{0}",
    "{", "{name}", "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "#typst",
    '#read("/etc/passwd")', '#import "@preview/x:0.1.0": *', "\\input{x}", "$x$", "[x]", "*b*",
    "`c`",
    "../../etc/passwd", "/etc/passwd", "..\\..\\x", "C:\\x", "file:///etc/passwd", "CON", "a/b",
    "\u0000", "\u001b[31m", "\u202e right", "\u200b", "\ufeff", "\u0301" * 60, "\U0001f600" * 30,
    "\u0130\u0131\u017f\u1e9e", "\ufdfa" * 20, "'; DROP TABLE x;--", "\x85", "\u2028", "True",
    "None",
    "null", "self", "__class__", "a" * 81, "a" * 2001, "\\", "\\u0000", "\\ud800", "\\u001b", "\n",
    "clockwise", "shaft end", "2026-02-30", "2026-13", "9999-12-31", "0001-01-01", "1969-12-31",
)  # fmt: skip
RAW = (
    "true", "1", "-1", "1.5", "[]", "{}", "[1]", '["a", "b"]', "[[1], [2]]", '{a = "b"}',
    '{"a": 1}',
    "2026-03-15", "2026-03-15T00:00:00Z", "00:00:00", "'''x'''", '"""x"""', "null", "[nan]",
    "[inf]",
    "[0x" + "f" * 6000 + "]", "{a.a.a = [0x" + "f" * 6000 + "]}",
)  # fmt: skip
KEYS = (
    "self", "__init__", "__class__", "model_config", "model_fields", "given", '""', '"a b"',
    "'a\"b'",
    '"\\n"', '"\\u0000"', "context", "name", "1", "-", "text", "motor", '"%s"', '"{x}"', "cls",
    '"' + "k" * 3000 + '"', "a" * 3000, "record", "field",
)  # fmt: skip
ENCODINGS = ("utf-16", "utf-16-le", "utf-32", "latin-1", "cp1252", "cp037", "utf-7", "shift_jis")
UNITS = tuple(sorted({word.encode() for kind in KINDS.values() for word in kind.words}))
_UNIT = re.compile(rb"(?<=[0-9] )(?:%s)\b" % b"|".join(map(re.escape, reversed(UNITS))))


def mutated(rng: Random, seed: bytes, others: tuple[bytes, ...]) -> bytes:
    """``seed`` with one change or a few; ``others`` lend their lines and values."""
    for _ in range(rng.choice((1, 1, 1, 2, 2, 3, MOST))):
        seed = rng.choice(_WAYS)(rng, seed, others)
    return seed


def hostile_text(rng: Random) -> str:
    """A text that nobody should type: a number, a word, or one of these with a unit."""
    text = rng.choice(rng.choice((NUMBERS, WORDS)))
    if rng.random() < 0.4:
        text = f"{text} {rng.choice(UNITS).decode()}"
    return f"{text}-{rng.choice(NUMBERS)}" if rng.random() < 0.1 else text


def _spot(rng: Random, pattern, text: bytes):
    """One match of ``pattern``, looked for from a random place on; None if there is none."""
    return pattern.search(text, rng.randrange(len(text) + 1)) or pattern.search(text)


def _put(text: bytes, match, new: bytes) -> bytes:
    return text if match is None else text[: match.start()] + new + text[match.end() :]


def _flip(rng, text, others):
    at = rng.randrange(len(text) + 1)
    return text[:at] + bytes([rng.randrange(256)]) + text[at + 1 :]


def _cut(rng, text, others):
    at = rng.randrange(len(text) + 1)
    return text[:at] + text[at + rng.choice((1, 2, 8, 64, len(text))) :]


def _grow(rng, text, others):
    at = rng.randrange(len(text) + 1)
    part = text[at : at + rng.choice((1, 4, 40, 400))]
    return text[:at] + part * rng.choice((2, 2, 3, 50)) + text[at:]


def _noise(rng, text, others):
    at = rng.randrange(len(text) + 1)
    new = rng.choice((b"\0", b"\xef\xbb\xbf", b"\xff\xfe", b"\xc3", b"\r", b'"', b"'", b"[",
    b"\x1a",
                      b"\xed\xa0\x80", b"\\", b",", b";", b"#", b"=",
                      rng.randbytes(8)))  # fmt: skip
    return text[:at] + new + text[at:]


def _encoded(rng, text, others):
    return text.decode("utf-8", "replace").encode(rng.choice(ENCODINGS), "replace")


def _marked(rng, text, others):
    return b"\xef\xbb\xbf" + text


def _endings(rng, text, others):
    return text.replace(b"\n", rng.choice((b"\r\n", b"\r", b"\n\n", b"\x0b", b"\xe2\x80\xa8")))


def _lines(rng, text, others):
    """A line left out, doubled, moved, lent by another file, or drawn very long."""
    lines = text.split(b"\n")
    at = rng.randrange(len(lines))
    way = rng.randrange(6)
    if way == 0:
        del lines[at]
    elif way == 1:
        lines.insert(at, lines[at])
    elif way == 2:
        lines.insert(rng.randrange(len(lines)), lines.pop(at))
    elif way == 3:
        lines.insert(at, rng.choice(rng.choice(others).split(b"\n")))
    elif way == 4:
        lines[at:at] = [lines[at]] * rng.choice((10, 300))
    else:
        lines[at] += rng.choice((b" ", b"a", b"#", b",", b"0", b"a.")) * LONG
    return b"\n".join(lines)


def _value(rng, text, others):
    """A value that becomes a hostile one, in quotes where it was, or another type."""
    match = _spot(rng, _VALUE, text)
    if match is None:
        return text
    if rng.random() < 0.2:
        return _put(text, match, rng.choice(RAW).encode())
    new = hostile_text(rng).encode("utf-8", "replace")
    return _put(text, match, b'"%s"' % new if match[0].startswith(b'"') else new)


def _lent(rng, text, others):
    """A value in the place of another."""
    new = _spot(rng, _VALUE, rng.choice(others))
    return text if new is None else _put(text, _spot(rng, _VALUE, text), new[0])


def _number(rng, text, others):
    """A number made larger, smaller, or another one near to it."""
    match = _spot(rng, _NUMBER, text)
    if match is None:
        return text
    value = float(match[0]) if len(match[0]) < 300 else 1.0
    value *= rng.choice((1e-9, 1e-3, 0.1, 0.5, 0.9, 1.1, 2.0, 10.0, 1e3, 1e9, -1.0, 0.0))
    return _put(text, match, f"{value:.6g}".encode())


def _unit(rng, text, others):
    return _put(text, _spot(rng, _UNIT, text), rng.choice(UNITS))


def _key(rng, text, others):
    match = _spot(rng, _KEY, text)
    if match is None:
        return text
    new = rng.choice((match[0].upper(), match[0] + b"s", match[0][:-1], rng.choice(KEYS).encode(),
                      b".".join([match[0]] * rng.choice(DEEP))))  # fmt: skip
    return _put(text, match, new)


def _another(rng, text, others):
    """A key of a user's own on a line of its own."""
    at = text.find(b"\n", rng.randrange(len(text) + 1)) + 1
    line = " = ".join((rng.choice(KEYS), rng.choice(RAW))) + "\n"
    return text[:at] + line.encode() + text[at:]


def _nested(rng, text, others):
    deep = rng.choice(DEEP)
    new = rng.choice((b"[" * deep + b"]" * deep, b"{a=" * deep + b"1" + b"}" * deep,
                      b'{"a":' * deep + b"1" + b"}" * deep,
                      b"{a" + b".a" * deep + b"=1}"))  # fmt: skip
    return _put(text, _spot(rng, _VALUE, text), new)


_WAYS = (
    _flip, _cut, _grow, _noise, _encoded, _marked, _endings, _lines, _lines, _value, _value, _value,
    _value, _value, _lent, _lent, _lent, _number, _number, _number, _number, _unit, _unit, _key,
    _another, _nested,
)  # fmt: skip
