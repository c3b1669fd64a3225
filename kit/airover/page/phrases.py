"""Phrases that this kit writes in English inside of a refusal, in the reader's language.

The table `page.phrase` has each of them, with places for what varies. A phrase is found by its
English text, and said by the text of the same key in the reader's language.
"""

import re
from functools import lru_cache

from airover.kinds import KINDS
from airover.texts import PLACE, Texts, Writer, typeset

TABLE = "page.phrase."
_RANGE = re.compile(r"(?<=[0-9])-(?=[0-9])")
_CONNECTING = re.compile(r"\b(?:to|or|and|about|points|years|months)\b")
_LIST = re.compile(r'"[^"]*"(, "[^"]*")*( or "[^"]*")?')
_WORD = re.compile(r"[^\W\d_]+")
_JOINING = {"to", "or", "and", "about", "e", "E"}  # those that `_typed` turns, and 1e-06


def phrase(text: str, said: Writer) -> str | None:
    """``text`` in the language of ``said``, or None for a phrase that the table does not have."""
    if said.texts.language == "en":
        return text
    for pattern, key in _patterns():
        if match := pattern.fullmatch(text):
            values = {name: _value(name, value, said) for name, value in match.groupdict().items()}
            return said.texts(key, **values)
    if _LIST.fullmatch(text):  # words that stand so in a file
        return re.sub('"([^"]*)"', r"«\1»", text).replace("» or «", "» o «")
    return _typed(text, said) if _is_figures(text) else None


def _value(name: str, text: str, said: Writer) -> str:
    """What stands in the place ``name``: an example as it is, a word, a phrase again, figures."""
    if name.endswith("example"):
        return text
    word = said.texts.word(text)
    return word if word != text else phrase(text, said) or _typed(text, said)


def _typed(text: str, said: Writer) -> str:
    """A value as this kit, or a person, wrote it: its connecting words in this language."""
    between = _RANGE.sub(" to ", text)
    return typeset(_CONNECTING.sub(lambda word: said.texts.word(word[0]), between))


def _is_figures(text: str) -> bool:
    """Whether there are figures, units and words that join them in ``text``, and nothing else."""
    return set(_WORD.findall(text)) <= _units()


@lru_cache
def _units() -> set[str]:
    """The letters of every unit as a refusal writes it, and the joining words."""
    units = {spec.unit for spec in KINDS.values()}
    for spec in KINDS.values():
        firsts = {name: word for word, name in reversed(spec.words.items())}
        units |= {*firsts.values(), spec.us[0], spec.si[0]}
    return _JOINING | {part for unit in units for part in _WORD.findall(unit)}


@lru_cache
def _patterns() -> list[tuple[re.Pattern, str]]:
    """The English phrases as patterns, those with the most words first."""
    english = {key: text for key, text in Texts("en").texts.items() if key.startswith(TABLE)}
    longest = sorted(english.items(), key=lambda pair: -len(PLACE.sub("", pair[1])))
    return [(re.compile(_pattern(text)), key) for key, text in longest]


def _pattern(text: str) -> str:
    parts = PLACE.split(text)  # every second one is the name of a place
    return "".join(
        f"(?P<{part}>.+?)" if at % 2 else re.escape(part) for at, part in enumerate(parts)
    )
