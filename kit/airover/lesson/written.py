"""Read numbers and letters as people write them on a test.

If an answer could be read in two ways, it is left for the instructor to grade.
"""

import math
import re
import unicodedata
from fractions import Fraction
from functools import lru_cache

from airover.core.files import LANGUAGES
from airover.core.texts import Texts
from airover.core.units import parse_number

LONGEST = 200  # maximum number of characters read from an answer
_NUMBER = re.compile(
    r"(?<![\w^.,/])(?P<sign>[+-]?)\s*"
    r"(?P<number>(?:[0-9][0-9.,]*(?:\s+[0-9]+/[0-9]+|/[0-9]+)?|[.,][0-9]+)(?:e[+-]?[0-9]+)?)",
    re.IGNORECASE,
)
_POWER_OF_TEN = re.compile(r"(?<=[0-9])\s*[x×*·]\s*10\s*\^?\s*([-+]?[0-9]+|[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)")
_SUPERSCRIPTS = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
_MINUS = {0x2212: "-", 0x2013: "-", 0x2044: "/"}
_SPACED = re.compile(r"(?<![0-9.,])([0-9]{1,3})((?:[ '][0-9]{3})+)(?![0-9/])")  # 62 500
_AROUND = re.compile(r"~|\u2248|\u223c|\+/-|\u00b1")
_SIGN_OF_FRACTION = re.compile(
    "(?<=[0-9])(?=[\u00bc-\u00be\u2150-\u215e])"
)  # before a sign such as 1/2
_OVER = re.compile(r"(?<=[0-9])\s*/\s*(?=[0-9])")
_MIXED = re.compile(r"(?<![0-9./,])(?<![0-9]-)([0-9]+)-([0-9]+/[0-9]+)")  # 8-1/3
_LETTERS = re.compile(r"(?<![^\W\d_])[A-Za-z](?![^\W\d_])")


def plain(given: object) -> str:
    """Return the student's answer in plain characters, truncated to the maximum length."""
    text = "" if given is None else str(given)[:LONGEST]
    text = _SIGN_OF_FRACTION.sub(" ", text)
    text = _POWER_OF_TEN.sub(lambda power: f"e{power[1].translate(_SUPERSCRIPTS)}", text)
    return unicodedata.normalize("NFKC", text.translate(_MINUS)).translate(_MINUS).strip()


def number(text: str) -> tuple[list[float], str] | None:
    """Return the possible values of the only number in ``text``, and the unit after it.

    Returns None if there is no number or more than one. After an equals sign, only the text behind
    it is read. Words such as "about" and remarks in parentheses are ignored.

    >>> number("about 8.33 A"), number("six"), number("9.6 percent"), number("8 or 9")
    (([8.33], 'A'), ([6.0], ''), ([9.6], '%'), None)
    >>> number("nine point six"), number("minus 8-1/2"), number("ciento veinticinco")
    (([9.6], ''), ([-8.5], ''), ([125.0], ''))
    """
    outside = re.sub(r"\([^()]*\)", " ", text)
    if not re.search("[<>]", outside):
        text = outside.strip(" =").rpartition("=")[2]
        text = _SPACED.sub(lambda one: one[0].replace(" ", "").replace("'", ""), _worded(text))
        found = list(_NUMBER.finditer(text))
        if len(found) == 1:
            (one,) = found
            values = readings(one["sign"], one["number"].rstrip(".,"))
            return (values, text[one.end() :].strip(" .,;!?")) if values else None
    return None


def readings(sign: str, number: str) -> list[float]:
    """Return the possible values of a number as written.

    A comma can be a thousands separator or a decimal comma.

    >>> readings("", "1,075"), readings("-", "7,5")
    ([1075.0, 1.075], [-7.5])
    """
    texts = [number, number.replace(",", ".")] if number.count(",") == 1 else [number]
    found = dict.fromkeys(parse_number(text, fractions=True) for text in texts)
    factor = -1.0 if sign == "-" else 1.0
    return [factor * one for one in found if one is not None and math.isfinite(one)]


def letter(text: str) -> str:
    """Return the only option letter in ``text``, in upper case, or "" if it is not clear.

    >>> letter("b)"), letter("Option C"), letter("A or B"), letter("D, it is a cap")
    ('B', 'C', '', 'D')
    """
    first = re.match(r"\W*([A-Za-z])\W*(?:$|[).:,;]\s)", text)
    found = set(_LETTERS.findall(text))
    capitals = {one for one in found if one.isupper()}
    if len(capitals) <= 1 and first:
        return first[1].upper()
    found = capitals or found
    return found.pop().upper() if len(found) == 1 else ""


def letters(text: str, known: str) -> list[str]:
    """Return the letters in ``text`` in upper case, in order, or [] if they are not clear.

    Each letter is in ``known`` and is written at most once.

    >>> letters("c-a-d-b", "ABCD"), letters("CADB", "ABCD"), letters("A then C", "ABCD")
    (['C', 'A', 'D', 'B'], ['C', 'A', 'D', 'B'], ['A', 'C'])
    """
    words = re.findall(r"[^\W\d_]+", text.upper())
    joined = "".join(words)
    if not set(joined) <= set(known):
        joined = "".join(word for word in words if len(word) == 1)
    clear = 2 <= len(joined) == len(set(joined)) and set(joined) <= set(known)
    return list(joined) if clear else []


def awarded(text: str, most: float) -> float | None:
    """Return the points that an instructor typed instead of an answer, such as "2 points".

    Returns None for any other text, and for points above ``most``.
    """
    found = re.fullmatch(rf"([0-9.,]+)\s*(?:{_either('points')})", text, re.IGNORECASE)
    points = parse_number(found[1]) if found else None
    return points if points is not None and points <= most else None


def _worded(text: str) -> str:
    """Return ``text`` with number words as digits, % for percent, and no words for "about"."""
    text = _AROUND.sub(" ", text)
    text = re.sub(rf"\b(?:{_either('about')})\b\.?", " ", text, flags=re.IGNORECASE)
    text = re.sub(rf"(?<![^\W\d_])(?:{_either('percent')})\b", "%", text, flags=re.IGNORECASE)
    text = re.sub(
        rf"(?<![^\W\d_])(?:{_either('degrees')})\b\.?\s*", "deg", text, flags=re.IGNORECASE
    )
    text = _OVER.sub("/", _run_pattern().sub(_digits, text))
    for pattern, digits in (
        (rf"([0-9])\s+(?:{_either('and')})\s+([0-9]+/[0-9]+)", r"\1 \2"),
        (rf"([0-9])\s+(?:{_either('point')})\s+([0-9]+)\b", r"\1.\2"),
        (rf"\b(?:{_either('minus')})\s+([0-9.])", r"-\1"),
        (rf"([0-9])\s+(?:{_either('of')})\s+(?=[^\W\d_])", r"\1 "),
    ):
        text = re.sub(pattern, digits, text, flags=re.IGNORECASE)
    return _MIXED.sub(r"\1 \2", text).strip()


@lru_cache
def _words(table: str) -> dict[str, str]:
    """Return the words of all languages in a table of texts, with the last part of their keys."""
    start = f"lesson_words.{table}"
    return {
        word.strip(): key.rpartition(".")[2]
        for language in LANGUAGES
        for key, words in Texts(language).texts.items()
        if key == start or key.startswith(f"{start}.")
        for word in words.split(",")
    }


@lru_cache
def _either(*tables: str) -> str:
    """Return a pattern for any word in the tables, with the longest words first."""
    words = sorted((word for table in tables for word in _words(table)), key=len, reverse=True)
    return "|".join(map(re.escape, words))


@lru_cache
def _run_pattern() -> re.Pattern:
    """Return the pattern for a number in words, such as "twenty-five" or "one and a half"."""
    word = f"(?:{_either('number', 'fraction', 'hundred', 'thousand')})"
    also = f"(?:{_either('and', 'whole')})"
    point = f"(?:{_either('point')})"
    start = f"(?:(?:{_either('whole')})\\s+(?={word}\\b)|{point}[\\s-]+)?{word}"
    also = f"(?:{also}|{point})"
    return re.compile(
        rf"(?<![^\W\d_])({start}\b(?:(?:[\s-]+{also})*[\s-]+{word}\b)*)", re.IGNORECASE
    )


def _digits(run: re.Match) -> str:
    """Return a number in words as digits, with a fraction as "1/3"."""
    words = re.split(r"[\s-]+", run[0].lower())
    at = next((at for at, word in enumerate(words) if word in _words("point")), None)
    if at is None:
        return _whole_digits(words)
    numbers = _words("number")
    decimals = [numbers.get(word, "") for word in words[at + 1 :]]
    if any(len(one) != 1 for one in decimals):  # "nine point twenty-five"
        decimals = [_whole_digits(words[at + 1 :])]
    return f"{_whole_digits(words[:at]) or 0}.{''.join(decimals)}"


def _whole_digits(words: list[str]) -> str:
    """Return number words without a decimal point as digits, or "" if there are none."""
    numbers, fractions = _words("number"), _words("fraction")
    whole, part, last = 0, Fraction(0), None
    for word in words:
        if word in fractions:
            part += Fraction(last or 1, int(fractions[word]))
            whole, last = whole - (last or 0), None
        elif word in _words("hundred"):
            whole, last = whole + 99 * (last or 1) + (0 if last else 1), None
        elif word in _words("thousand"):
            whole, last = (whole or 1) * 1000, None
        elif word in numbers:
            last = int(numbers[word])
            whole += last
        elif word in _words("and"):
            last = None
    shown = f"{part.numerator}/{part.denominator}" if part else ""
    return f"{whole} {shown}".strip() if words and (whole or not part) else shown
