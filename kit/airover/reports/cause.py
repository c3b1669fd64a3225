"""Why the old motor failed, as plain text."""

from airover.cause.why import Why, percent
from airover.reports.answer import listed, wrapped

SHOWN, ASKED = 5, 3
TELLS = 0.005  # bits, from which a question is worth asking
NOTHING_TELLS = "Nothing that is left to look at would tell the two leading causes apart."
NOTE = (
    "How common a cause is and how likely a finding is under it: {basis}. The bands move each of "
    "these figures by a factor of 2. Findings that go together make a cause look surer than it is. "
    "Nothing here replaces a look at the motor."
)


def cause_report(why: Why) -> str:
    """Verdict, causes with bands, what was weighed, what to correct, what to look at next."""
    invented = " (invented scenario)" if why.job.invented else ""
    shown = why.likely[:SHOWN]
    parts = [
        f"{why.job.name or 'Job without a name'}{invented}",
        wrapped(why.verdict.upper()),
        "\n".join(f"  {percent(one.band):>12}  {one.cause.name}" for one in shown),
        listed("Before the new motor runs", _corrections(why)),
        listed("Weighed", [f"{one.said}." for one in why.evidence]),
        listed("Known and not weighed", why.left_out),
        listed("Look next, the most telling first", _asked(why) or [NOTHING_TELLS]),
        wrapped(NOTE.format(basis=why.causes.basis)),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _corrections(why: Why) -> list[str]:
    return [
        f"{one.cause.name.capitalize()}: {' '.join(one.cause.correct)}"
        for one in why.worth_correcting
    ]


def _asked(why: Why) -> list[str]:
    names = [one.cause.name for one in why.likely[:2]]
    told = []
    for one in why.questions[:ASKED]:
        if one.bits >= TELLS:
            speaks = [
                f"for {name}: {', '.join(state for state, whom in one.speaks if whom == name)}"
                for name in names
            ]
            told.append(f"{one.ask} Tells {one.bits:.2f} of 1 bit; {'; '.join(speaks)}.")
    return told
