"""Web page step for determining why the old motor failed."""

from airover.app import style
from airover.app.fields import hint
from airover.app.panel import Panel
from airover.app.replacement import CAUTIONED
from airover.records.found import (
    BEARINGS,
    BLADES,
    CAPACITORS,
    COILS,
    INSIDE,
    LEADS,
    PLUGS,
    SLINGERS,
    STARTS,
    SUPPLY,
    TRIPS,
    TURNS,
    WINDINGS,
    Found,
)
from airover.reports.cause import asked, corrections, ranking
from airover.service.cause import CLEAR, Why, cause

FOUND = {
    "Found": {
        "start": STARTS,
        "trips": TRIPS,
        "winding": WINDINGS,
        "bearings": BEARINGS,
        "capacitor": "3.1 uF",
        "capacitor_fault": CAPACITORS,
        "inside": INSIDE,
        "drain_plugs": PLUGS,
        "slinger": SLINGERS,
        "rotation": TURNS,
        "blade": BLADES,
        "coil": COILS,
        "leads": LEADS,
        "supply": SUPPLY,
        "voltage": "196-229 V",
        "current": "2.2 A",
        "age": "9 years",
        "earlier_failures": "2",
    }
}


class CausePanel(Panel):
    """Panel for selecting findings and showing the causes that they indicate."""

    step = "cause"
    cautions = CAUTIONED

    def __init__(self, host, language: str = "en"):
        super().__init__(language, host)
        self.places("verdict", "result")
        found = [hint(self.writer("flow.cause.about")), host.form.found.pages["Found"]]
        folds = self.parts({self.writer("flow.cause.found"): found}, opened=True)
        self.arrange([self.verdict, *folds], [], [self.result], [])

    def compute(self) -> Why | None:
        job = self.host.answer.job
        return None if job.found == Found() else cause(job)

    def draw(self) -> None:
        why, write = self.answer, self.writer
        if why is None:
            said = style.verdict("fits with work", write("flow.cause.begin"))
            self.verdict.value, self.result.value = said, ""
            return
        bar = "fits" if why.standing == CLEAR else "fits with work"
        self.verdict.value = style.verdict(bar, write(why.verdict))
        weighed = [" ".join(map(write, one.said)) for one in why.evidence]
        self.result.value = "".join((
            style.listed(write("failure.title.next"), asked(why, write)),
            style.listed(write("failure.title.correct"), corrections(why, write)),
            style.heading(write("flow.cause.ranked")),
            style.facts(ranking(why, write)),
            style.folded(
                write("failure.title.weighed"),
                style.listed("", weighed),
                style.listed(write("failure.title.left_out"), map(write.value, why.left_out)),
            ),
            style.quiet(write("failure.note", basis=why.causes.basis)),
        ))  # fmt: skip
