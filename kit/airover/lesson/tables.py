"""A marked class as a table (pandas)."""

import pandas as pd

from airover.lesson.class_marks import ClassMarks
from airover.texts import Texts


def class_points(marks: ClassMarks) -> pd.DataFrame:
    """Points by student and question, in the order of the class and of the paper.

    A student who handed in nothing has a row of empty cells.
    """
    texts = Texts(marks.room.language)
    scripts = {one.student: one for one in marks.scripts}
    headings = [texts("lesson_paper.table.question", number=one.number) for one in marks.asked]
    rows = []
    for name in marks.room.students:
        one = scripts.get(name)
        told = [f"{mark.points:g}" for mark in one.marks] if one else [""] * len(headings)
        rows.append(
            {
                texts("lesson_paper.sheet.student"): name,
                texts("lesson_paper.table.points"): f"{one.points:g}" if one else "",
                texts("lesson_paper.table.most"): marks.most,
                **dict(zip(headings, told, strict=True)),
            }
        )
    return pd.DataFrame(rows)
