"""Generate lesson/answers.csv next to this file: answers by an invented class.

The class is defined in lesson/class.toml.

No real student took this test. Each invented student has a given probability of a correct answer,
and otherwise makes one of the question's typical mistakes, gives a nonsensical answer, or leaves
the question blank. Correct answers are calculated by airover.

Command: python data/make_lesson.py
"""

from pathlib import Path

from airover.core.units import convert
from airover.lesson.bank import read_bank
from airover.lesson.marking import shown_number
from airover.lesson.marks import answer_sheet, class_papers
from airover.lesson.question import Chance
from airover.records.lesson import SchoolClass

FOLDER = Path(__file__).parent / "lesson"
WEAKEST, BEST = 55, 95  # percentage of correct answers by a student
HARDER = 20  # maximum reduction for a hard question, in percentage points
NOTHING = 5  # percentage of blank answers
NO_SENSE = 15  # percentage of wrong numbers not explained by a typical mistake


def answers(room: SchoolClass) -> dict[str, tuple[str, ...]]:
    """Return each student's answers, in the order of the test."""
    papers = class_papers(read_bank(), room)
    return {paper.student: tuple(_written(paper, one) for one in paper.questions)
            for paper in papers}  # fmt: skip


def _written(paper, question) -> str:
    skill = WEAKEST + Chance("skill", paper.student).below(BEST - WEAKEST + 1)
    harder = Chance("harder", question.key).below(HARDER + 1)
    chance = Chance("answer", paper.seed, paper.student, question.key)
    if chance.below(100) < NOTHING:
        return ""
    if chance.below(100) < skill - harder:
        return _right(question, chance)
    wrong = {"number": _wrong_number, "choice": _wrong_letter, "order": _wrong_order}
    return wrong[question.kind](question, chance)


def _right(question, chance: Chance) -> str:
    """Return the correct answer as typed: without unit, in lower case, or without spaces."""
    if question.kind == "number":
        return chance.one_of((question.answer, question.answer.split()[0]))
    return chance.one_of(
        (question.answer, question.answer.lower(), question.answer.replace(" ", ""))
    )


def _wrong_number(question, chance: Chance) -> str:
    marking = question.marking
    if not marking.slips or chance.below(100) < NO_SENSE:
        return shown_number(_asked(marking, marking.value) * chance.one_of((0.7, 1.4, 3)))
    _, value, *_ = chance.one_of(marking.slips)
    return f"{shown_number(_asked(marking, value))} {question.unit}".strip()


def _asked(marking, value: float) -> float:
    """Return a value in the unit that the question requires."""
    return convert(value, marking.quantity, marking.unit) if marking.quantity else value


def _wrong_letter(question, chance: Chance) -> str:
    letters = "ABCDEFGH"[: len(question.options)].replace(question.answer, "")
    return chance.one_of(letters)


def _wrong_order(question, chance: Chance) -> str:
    """Return the steps with two consecutive ones exchanged."""
    letters = question.answer.split()
    first = chance.below(len(letters) - 1)
    letters[first : first + 2] = letters[first + 1], letters[first]
    return " ".join(letters)


def main() -> None:
    """Write lesson/answers.csv next to this file."""
    room = SchoolClass.read(FOLDER / "class.toml")
    text = answer_sheet(room, room.count, answers(room))
    (FOLDER / "answers.csv").write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
