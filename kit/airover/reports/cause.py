"""Why the old motor failed, as plain text."""

from airover.cause.why import LEAST, TELLS, Question, Why
from airover.reports.answer import listed, wrapped

ASKED = 2
SIMULATED = ("heat", "air")  # findings that the kit works out from what is read
NOTHING_TELLS = "No other finding would separate the leading causes."
NOTE = (
    "How common a cause is and how likely a finding is with it: {basis}. Findings that go together "
    "make a cause look surer than it is. Look at the motor itself before you order parts."
)


def cause_report(why: Why) -> str:
    """Verdict, causes in order, findings, what to correct, what to look at next."""
    invented = " (invented scenario)" if why.job.invented else ""
    parts = [
        f"{why.job.name or 'Job without a name'}{invented}",
        wrapped(why.verdict),
        _ranking(why),
        listed("Look next", _asked(why)),
        listed("Before the new motor runs", _corrections(why)),
        listed("Weighed", [f"{one.said}." for one in why.evidence]),
        listed("Known and not weighed", why.left_out),
        wrapped(NOTE.format(basis=why.causes.basis)),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _ranking(why: Why) -> str:
    """Causes from the most likely down to those that hardly count."""
    rows = []
    for rank, one in enumerate(why.likely):
        if rank and one.chance < LEAST:
            break
        near = one in why.leaders
        word = "most likely" if rank == 0 else "possible" if near else "less likely"
        rows.append(f"  {word:<12} {one.cause.name}")
    return "\n".join(rows)


def _corrections(why: Why) -> list[str]:
    return [
        f"{one.cause.name.capitalize()}: {' '.join(one.cause.correct)}"
        for one in why.worth_correcting
    ]


def _asked(why: Why) -> list[str]:
    """Findings that would separate the leading causes; nothing where one is sure."""
    if len(why.leaders) == 1:
        return []
    asked = [_question(why, one) for one in why.questions[:ASKED] if one.bits >= TELLS]
    return asked or [NOTHING_TELLS]


def _question(why: Why, question: Question) -> str:
    """What to look at, and which answer supports which of the leading causes."""
    if question.finding in SIMULATED:
        return question.ask
    answers: dict[str, list[str]] = {}
    for state, name in question.speaks:
        answers.setdefault(name, []).append(state)
    told = "; ".join(f"if {' or '.join(states)}: {name}" for name, states in answers.items())
    return f"{question.ask} I{told[1:]}." if told else question.ask
