"""The counter's cross-reference: for each plate of a list the motors that fit, and what to adapt.

Each plate is worked as one job is; where a plate says little, much is left to find out.
"""

from dataclasses import dataclass

from airover.choose import DOES_NOT_FIT, Candidate, choose
from airover.choose.check import ADAPT, MISSING
from airover.errors import InputError
from airover.matching.many_jobs import ready
from airover.message import Message
from airover.motor.work import SAMPLES
from airover.records import Job

SHOWN = ("voltage", "power", "current", "speed_rpm", "capacitor")  # of a plate, in this order


@dataclass(frozen=True)
class Fitting:
    """One motor for a plate; ``chance`` is the share of the draws in which its load, heat and
    starting are right, None where the catalogue does not tell what they are held to."""

    candidate: Candidate
    chance: float | None

    @property
    def adapt(self) -> tuple[Message, ...]:
        """What has to be adapted."""
        return tuple(check.why for check in self.candidate.having(ADAPT))

    @property
    def find_out(self) -> tuple[Message, ...]:
        """What has to be found out first."""
        return tuple(check.why for check in self.candidate.having(MISSING))


@dataclass(frozen=True)
class Entry:
    """One plate of the list: the job, its motors, best first, or why it is ``refused``."""

    job: Job
    fitting: tuple[Fitting, ...]
    refused: str = ""

    @property
    def plate(self) -> str:
        """The plate in one line, with the words of the list."""
        plate = self.job.nameplate
        amounts = [getattr(plate, name) for name in SHOWN]
        words = [amount.text for amount in amounts if amount is not None]
        words += [text for text in (plate.frame and f"frame {plate.frame}", plate.kind) if text]
        return ", ".join(words) or "nothing could be read"

    def rows(self, writer) -> list[dict[str, str]]:
        """A line for each motor, or one that says why there is none; texts by ``writer``, an
        `airover.texts.Writer`."""
        if not self.fitting:
            why = self.refused or "No motor of this catalogue fits."
            return [{"plate": self.plate, "motor": "", "verdict": DOES_NOT_FIT, "adapt": why}]
        return [_row(self.plate, one, writer) for one in self.fitting]


def crossref(needs, motors, draws: int = SAMPLES, seed: int = 0):
    """An Entry for each of ``needs`` (jobs), in their order, against ``motors``.

    Raises InputError for an empty list.
    """
    if not needs:
        raise InputError("plates", "none", "at least one plate")
    batches = ready(needs, motors, draws, seed)
    found = {
        number: tuple(_fitting(one) for one in choose(at) if one.verdict != DOES_NOT_FIT)
        for number, _, at in batches.worked()
    }
    return tuple(
        Entry(job, found.get(number, ()), batches.refused.get(number, ""))
        for number, job in enumerate(needs)
    )


def _fitting(one: Candidate) -> Fitting:
    motor = one.case.motor
    untold = None in (motor.ambient_rating, motor.insulation_class)
    return Fitting(one, None if untold else float(one.judged.passes[one.case.number].mean()))


def _row(plate: str, one: Fitting, writer) -> dict[str, str]:
    motor = one.candidate.case.motor
    price = "" if motor.price is None else f"{motor.price:.0f} {motor.currency}"
    return {
        "plate": plate,
        "motor": motor.name,
        "rating": writer.amount(one.candidate.case.rating, "power"),
        "verdict": one.candidate.verdict,
        "chance": "not known" if one.chance is None else f"{one.chance:.0%}",
        "adapt": " ".join(map(writer, one.adapt)),
        "find out": " ".join(map(writer, one.find_out)),
        "capacitor": ""
        if motor.capacitor is None
        else writer.amount(motor.capacitor, "capacitance"),
        "price": price,
    }
