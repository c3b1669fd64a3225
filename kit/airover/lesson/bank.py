"""Read and check the question bank, a folder with one TOML file per subject."""

import inspect
import os
from pathlib import Path

from airover.core.errors import NOTHING, InputError, one_of
from airover.core.files import beside, data_folder, read_text
from airover.core.message import Message
from airover.core.texts import PLACE, Texts
from airover.core.toml import LARGEST_FILE, toml_table
from airover.core.units import quoted, read, show
from airover.lesson.answers import ANSWERS, Solved
from airover.lesson.question import Chance, ask
from airover.records.lesson import CHOICE, NUMBER, SYSTEMS, Template


def read_bank(folder: str | os.PathLike | None = None) -> tuple[Template, ...]:
    """Return the templates in ``folder``, sorted by file.

    If ``folder`` is None, the templates shipped with airover are read. The file name is the
    subject.

    Raises
    ------
    InputError
        If an item is missing, unknown, only partly translated, or cannot be calculated. The error
        names the file, question and field.
    """
    folder = Path(data_folder() / "questions" if folder is None else folder)
    paths = sorted(folder.glob("*.toml"))
    if not paths:
        raise InputError(
            Message("lesson.error.bank"), quoted(str(folder)), Message("lesson.error.folder")
        )
    for path in paths:
        beside(folder, path.name, path.name)
    bank = tuple(template for path in paths for template in _file(path))
    keys = [template.key for template in bank]
    for template in bank:
        if keys.count(template.key) > 1:
            given, accepted = Message("lesson.error.same_key"), Message("lesson.error.own_key")
            raise InputError(_place(f"{template.subject}.toml", template.key), given, accepted)
    return bank


def _file(path: Path):
    subject = path.stem
    if not Texts("en").has(f"lesson.subject.{subject}"):
        known = one_of(name.split(".")[-1] for name in Texts("en").texts
                       if name.startswith("lesson.subject."))  # fmt: skip
        raise InputError(path.name, Message("lesson.error.subject", name=quoted(subject)), known)
    for key, given in toml_table(read_text(path, path.name, LARGEST_FILE), path.name).items():
        place = _place(path.name, key)
        if not isinstance(given, dict):
            raise InputError(place, quoted(str(given)), Message("lesson.error.table"))
        yield _template(place, given | {"key": key, "subject": subject})


def _place(file: str, key: str) -> Message:
    return Message("lesson.error.question", file=file, name=key)


def _template(place: Message, given: dict) -> Template:
    try:
        template = Template(**given)
        _check_samples(template)
        _check_answer(template)
        _check_places(template)
        for language in template.ask.languages:
            for system in SYSTEMS:
                ask(template, Chance("trial", template.key), language, system)
        return template
    except InputError as error:
        raise error.within(place) from None
    except (ArithmeticError, LookupError, TypeError) as error:  # an unusable value
        given = Message("lesson.error.values", reason=str(error))
        raise InputError(place, given, Message("lesson.error.apart")) from None


def _check_samples(template: Template) -> None:
    """Check that every amount can be displayed and read back in both unit systems."""
    for name, draw in template.draw.items():
        for value in draw.values if draw.kind else ():
            for system in SYSTEMS:
                read(show(value, draw.kind, system), draw.kind, f"draw {name}")


def _check_answer(template: Template) -> None:
    """Check that the answer function exists and matches the random values and mistakes."""
    if not template.answer:
        return
    if template.answer not in ANSWERS:
        raise InputError("answer", quoted(template.answer), one_of(sorted(ANSWERS)))
    asked = list(inspect.signature(ANSWERS[template.answer]).parameters)
    if sorted(asked) != sorted(template.draw):
        raise InputError("draw", one_of(template.draw) or NOTHING, one_of(asked))
    solved = _solved(template)
    if template.kind == NUMBER and set(solved.slips) != set(template.slips):
        given = one_of(template.slips) or NOTHING
        raise InputError("slips", given, one_of(solved.slips))
    if template.kind == CHOICE and solved not in template.options:
        accepted = Message("lesson.error.option", name=quoted(solved))
        raise InputError("options", one_of(template.options), accepted)


def _solved(template: Template) -> Solved | str:
    """Return the answer to the question for the first value of each placeholder."""
    return ANSWERS[template.answer](**{name: one.values[0] for name, one in template.draw.items()})


def _check_places(template: Template) -> None:
    """Check that every placeholder has a value and appears in the text in every language."""
    inside = set(template.draw)
    after = inside | {"answer"} if template.kind != "order" else inside
    if template.kind == NUMBER:
        after |= set(_solved(template).shown)
    for name, text in template.texts().items():
        known = inside if name == "ask" or name.startswith("options") else after
        said = [text.text(language) for language in template.ask.languages]
        if any(set("{}") & set(PLACE.sub("", one)) for one in said):
            accepted = Message("lesson.error.places", example="{speed_new}")
            raise InputError(name, Message("lesson.error.brace"), accepted)
        places = [set(PLACE.findall(one)) for one in said]
        strange = set.union(*places) - known or set.union(*places) - set.intersection(*places)
        if strange:
            given = Message("lesson.error.place", name=f"{{{min(strange)}}}")
            among = one_of(sorted(known)) or NOTHING
            raise InputError(name, given, Message("lesson.error.among", names=among))
