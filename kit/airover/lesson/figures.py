"""The picture of a marked class: which questions were missed, and by whom."""

from matplotlib.figure import Figure

from airover.figures.palette import INK, PAPER
from airover.figures.style import SMALL, THIN, frame, title, unframed
from airover.lesson.class_marks import BLANK, MISSED, PART, RIGHT, ClassMarks
from airover.lesson.marking import shown_number
from airover.texts import Texts

STEP = 0.25  # inches between two marks
AROUND = 5.6, 2.1  # inches for labels: beside the marks, above and below
LONGEST = 26  # letters of a student's name
# Filled draws the eye to what was missed; each state has a form of its own.
MARKS = {
    RIGHT: {"marker": "o", "mfc": PAPER, "fillstyle": "full"},
    PART: {"marker": "o", "mfc": INK, "mfcalt": PAPER, "fillstyle": "bottom"},
    MISSED: {"marker": "o", "mfc": INK, "fillstyle": "full"},
    BLANK: {"marker": "_", "mfc": INK, "fillstyle": "full"},
}


def missed(marks: ClassMarks) -> Figure:
    """Questions from the hardest down, students from the best on, a mark where they meet.

    A class of which nobody handed in anything is an empty picture that says so.
    """
    texts = Texts(marks.room.language)
    scripts = sorted(marks.scripts, key=lambda one: -one.points)
    rows = marks.hardest
    size = (STEP * max(len(scripts), 12) + AROUND[0], STEP * max(len(rows), 4) + AROUND[1])
    figure = Figure(figsize=size, layout="constrained")
    axes = figure.subplots()
    title(axes, texts("lesson_paper.picture.title"), pad=26)
    for state in MARKS:
        places = [
            (across, down)
            for down, row in enumerate(rows)
            for across, one in enumerate(scripts)
            if one.states[row.number - 1] == state
        ]
        _draw(axes, places, state)
    _name_rows(axes, marks, texts)
    _name_students(axes, scripts, marks, texts)
    _explain(axes, texts)
    axes.set(xlim=(-0.6, len(scripts) - 0.4), ylim=(len(rows) - 0.4, -0.6))
    _bare(axes)
    return figure


def _draw(axes, places, state: str) -> None:
    across, down = zip(*places, strict=True) if places else ((), ())
    axes.plot(across, down, ls="", ms=8.5, mec=INK, mew=THIN, clip_on=False, **MARKS[state])


def _name_rows(axes, marks: ClassMarks, texts: Texts) -> None:
    names = [f"{one.subject}, {one.number}" for one in marks.hardest]
    axes.set_yticks(range(len(names)), names)
    axes.set_ylabel(texts("lesson_paper.picture.questions"))
    for down, one in enumerate(marks.hardest):
        said = texts("lesson_paper.picture.count", right=one.counts[RIGHT],
                     present=len(marks.scripts))  # fmt: skip
        axes.annotate(
            said, (1, down), xycoords=("axes fraction", "data"), xytext=(8, 0),
            textcoords="offset points", va="center", fontsize=SMALL, color=INK,
            annotation_clip=False,
        )  # fmt: skip


def _name_students(axes, scripts, marks: ClassMarks, texts: Texts) -> None:
    names = [
        f"{_short(one.student)}, {shown_number(one.points) if one.points else 0}" for one in scripts
    ]
    axes.set_xticks(range(len(names)), names, rotation=90, parse_math=False)
    axes.set_xlabel(texts("lesson_paper.picture.students", most=marks.most))


def _short(name: str) -> str:
    return name if len(name) <= LONGEST else f"{name[: LONGEST - 1]}\u2026"


def _explain(axes, texts: Texts) -> None:
    """The four marks with their words, above the picture."""
    for state, form in MARKS.items():
        axes.plot(
            [], [], ls="", ms=8.5, mec=INK, mew=THIN, label=texts(f"lesson_paper.picture.{state}"),
            **form,
        )  # fmt: skip
    axes.legend(
        loc="lower left", bbox_to_anchor=(0, 1), ncols=len(MARKS), frameon=False, fontsize=SMALL,
        labelcolor=INK,
        handletextpad=0.2, borderaxespad=0.3, columnspacing=1.4,
    )  # fmt: skip


def _bare(axes) -> None:
    frame(axes, "y")
    axes.spines[["bottom", "left"]].set_visible(False)
    unframed(axes, "both")
