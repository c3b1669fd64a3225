"""Write the cause of the old motor's failure as plain text and as JSON."""

from airover.core.texts import Writer
from airover.records.causes import STATES
from airover.reports.plain import listed, paragraphs, wrapped
from airover.service.cause import LEAST, TELLS, Evidence, Likely, OpenFinding, Why

ASKED = 2
SIMULATED = ("heat", "air")  # findings that airover calculates from readings


def cause_report(why: Why, writer: Writer) -> str:
    """Return the verdict, ranked causes, findings, corrections and next inspections as text."""
    name = why.job.name or writer("failure.no_name")
    weighed = [" ".join(map(writer, one.said)) for one in why.evidence]
    parts = [
        writer("failure.job_invented", job=name) if why.job.invented else name,
        wrapped(writer(why.verdict)),
        _ranking(why, writer),
        listed(writer("failure.title.next"), asked(why, writer)),
        listed(writer("failure.title.correct"), corrections(why, writer)),
        listed(writer("failure.title.weighed"), weighed),
        listed(writer("failure.title.left_out"), [writer.value(one) for one in why.left_out]),
        wrapped(writer("failure.note", basis=why.causes.basis)),
    ]
    return paragraphs(parts)


def cause_dict(why: Why, writer: Writer) -> dict:
    """Return the causes as a dict for JSON, with probabilities and text from ``writer``."""
    worth = why.worth_correcting
    return {
        "job": {"name": why.job.name, "invented": why.job.invented},
        "verdict": writer(why.verdict),
        "standing": why.standing,
        "causes": [_likely_dict(one, one in worth, writer) for one in why.likely],
        "evidence": [_evidence_dict(one, writer) for one in why.evidence],
        "left_out": [writer.value(one) for one in why.left_out],
        "next": [_question_dict(one, writer) for one in why.questions],
        "basis": writer.value(why.causes.basis),
    }


def ranking(why: Why, writer: Writer) -> list[tuple[str, str]]:
    """Return the rank and the name of each cause, most likely first, omitting negligible ones."""
    rows = []
    for place, one in enumerate(why.likely):
        if place and one.chance < LEAST:
            break
        rank = "first" if place == 0 else "leader" if one in why.leaders else "other"
        rows.append((writer(f"failure.rank.{rank}"), writer.value(one.cause.name)))
    return rows


def _ranking(why: Why, writer: Writer) -> str:
    """Return the ranked causes as aligned lines."""
    rows = ranking(why, writer)
    width = max(len(word) for word, _ in rows) + 1
    return "\n".join(f"  {word:<{width}} {name}" for word, name in rows)


def corrections(why: Why, writer: Writer) -> list[str]:
    """Return the causes that should be corrected, with the correction for each."""
    lines = []
    for one in why.worth_correcting:
        name = writer.value(one.cause.name)
        correct = " ".join(map(writer.value, one.cause.correct))
        lines.append(
            writer("failure.correction", cause=name[0].upper() + name[1:], correct=correct)
        )
    return lines


def asked(why: Why, writer: Writer) -> list[str]:
    """Return the inspections that would distinguish between the leading causes."""
    if len(why.leaders) == 1:
        return []
    asked = [_question(one, writer) for one in why.questions[:ASKED] if one.bits >= TELLS]
    return asked or [writer("failure.nothing_tells")]


def _question(question: OpenFinding, writer: Writer) -> str:
    """Return an inspection and the leading cause that each result supports."""
    ask = writer.value(question.ask)
    if question.finding in SIMULATED or not question.speaks:
        return ask
    states: dict[str, str] = {}
    for state, cause in question.speaks:
        name = writer.value(cause.name)
        said = writer(f"failure.state.{question.finding}.{state}")
        states[name] = (
            writer("failure.or", one=states[name], other=said) if name in states else said
        )
    answers = [
        writer("failure.answer" if at else "failure.answer_begun", states=said, cause=name)
        for at, (name, said) in enumerate(states.items())
    ]
    return writer("failure.asked", ask=ask, answers="; ".join(answers))


def _likely_dict(one: Likely, worth: bool, writer: Writer) -> dict:
    band = {name: round(value, 4) for name, value in one.band._asdict().items()}
    return {
        "key": one.cause.key,
        "name": writer.value(one.cause.name),
        "chance": round(one.chance, 4),
        "band": band,
        "correct": [writer.value(sentence) for sentence in one.cause.correct] if worth else [],
    }


def _evidence_dict(one: Evidence, writer: Writer) -> dict:
    states = zip(STATES[one.finding], one.shares, strict=True)
    return {
        "finding": one.finding,
        "said": " ".join(map(writer, one.said)),
        "seen": one.seen,
        "shares": {state: round(float(share), 4) for state, share in states if share},
    }


def _question_dict(one: OpenFinding, writer: Writer) -> dict:
    speaks = [{"answer": state, "for": writer.value(kind.name)} for state, kind in one.speaks]
    ask = writer.value(one.ask)
    return {"finding": one.finding, "ask": ask, "bits": round(one.bits, 4), "speaks": speaks}
