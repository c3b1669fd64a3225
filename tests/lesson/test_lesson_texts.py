"""Questions, class cases and causes in two languages: nothing is exchanged or changed in one."""

import re
import tomllib
from collections import Counter, defaultdict

import numpy as np
from scipy.spatial.distance import cdist

from airover.core.files import data_folder
from tests.core.test_translations import NUMBER, PLACE, marks

FILES = sorted(
    [*data_folder().glob("questions/*.toml"), *data_folder().glob("lesson/cases/*.toml")]
)
ENGLISH = r"\b(?:the|of|is|and|to|in|on|it|that|for|with|from|not|an|at|than|does|are|if|no)\b"
SPANISH = r"\b(?:el|la|los|las|de|del|que|y|en|un|una|se|no|por|con|es|para|al|su|más|lo|ni|o)\b"

ALIKE = {  # both discharge the capacitor and verify that no voltage is left
    ("safety.change_capacitor.0.options.0.discharge.0", "safety.change_capacitor.0.options.0.check.0"),
}  # fmt: skip
REORDERED = {  # Spanish names the SI unit first, or builds the sentence in another order
    "causes.cause_chance.0.ask.0", "heat.allowed_rise.0.ask.0", "heat.allowed_rise.0.solution.0",
    "site.coil_air.0.ask.0",
}  # fmt: skip


def pairs() -> list[tuple[str, str, str]]:
    """Every text with its key, in English and in Spanish."""
    found = []
    for file in FILES:
        with file.open("rb") as text:
            _walk(tomllib.load(text), file.stem, found)
    return found


def _walk(table: dict, key: str, found: list) -> None:
    if {"en", "es"} <= table.keys():
        _pair(table["en"], table["es"], key, found)
    for name, value in table.items():
        if name in ("en", "es"):
            continue
        for number, one in enumerate(value if isinstance(value, list) else [value]):
            if isinstance(one, dict):
                _walk(one, f"{key}.{name}.{number}", found)


def _pair(english, spanish, key: str, found: list) -> None:
    if isinstance(english, str):
        found.append((key, english, spanish))
    elif isinstance(english, dict):
        assert english.keys() == spanish.keys(), key
        for name in english:
            _pair(english[name], spanish[name], f"{key}.{name}", found)
    else:
        assert len(english) == len(spanish), key
        for number, both in enumerate(zip(english, spanish, strict=True)):
            _pair(*both, f"{key}.{number}", found)


def count(words: str, text: str) -> int:
    return len(re.findall(words, text, re.IGNORECASE))


def test_each_text_is_in_its_own_language():
    found = pairs()
    assert len(found) > 300
    for key, english, spanish in found:
        if english == spanish:
            continue
        for own, other, text in ((ENGLISH, SPANISH, english), (SPANISH, ENGLISH, spanish)):
            if count(own, text) + count(other, text) > 2:
                assert count(own, text) > count(other, text), (key, text)


def numbers(text: str) -> list[str]:
    """Places and numbers of a text in their order, whatever separates the thousands."""
    plain = re.sub(r"(?<=\d),(?=\d{3}\b)", "", text)
    return [one[0] for one in re.finditer(rf"{PLACE.pattern}|{NUMBER.pattern}", plain)]


def test_numbers_and_places_are_the_same_in_both_languages():
    for key, english, spanish in pairs():
        assert PLACE.findall(english) == PLACE.findall(spanish), key
        if key in REORDERED:
            assert Counter(numbers(english)) == Counter(numbers(spanish)), key
        else:
            assert numbers(english) == numbers(spanish), key


def test_a_low_value_of_a_question_is_below_its_high_value():
    count = 0
    for file in FILES:
        for name, question in tomllib.loads(file.read_text(encoding="utf-8")).items():
            draw = question.get("draw", {}) if isinstance(question, dict) else {}
            for key in draw:
                if key.endswith("_low"):
                    high = draw[key.replace("_low", "_high")]
                    assert max(draw[key]["among"]) < min(high["among"]), (name, key)
                    count += 1
    assert count


def test_no_two_texts_of_a_question_were_exchanged_in_one_language():
    tables = defaultdict(list)
    for key, english, spanish in pairs():
        tables[key.split(".")[0], key.split(".")[1]].append((key, english, spanish))
    exchanged = []
    for rows in tables.values():
        english = [marks(one, "en") for _, one, _ in rows]
        spanish = [marks(one, "es") for _, _, one in rows]
        names = list(set().union(*english, *spanish))
        apart = cdist(
            *([[one[name] for name in names] for one in each] for each in (english, spanish)),
            metric="cityblock",
        )
        own = np.diag(apart)
        found = np.argwhere(np.triu(apart + apart.T < own[:, None] + own))
        exchanged += [(rows[one][0], rows[other][0]) for one, other in found]
    assert not [both for both in exchanged if both not in ALIKE]
