"""The job at the moments of its readings: blade, air and line as they were then."""

import numpy as np

from airover.motor.conditions import OUTDOOR_TEMPERATURE, Input, conditions
from airover.records import Job, Moment, Site
from airover.units import show
from airover.verify.readings import FLOW_NOW, HEAT_NOW

COOL_DAY = 15.0  # degC outdoors, taken as the least where it was not read
LEAST_DEVIATION = 0.012  # of the voltage, a share: what is simulated around the reading


def asked_at(job: Job, moments, odd, draws: int, seed: int, system: str) -> list:
    """Blade and air at each moment: the job's, in the weather that was read.

    What is ``odd`` (Questioned) counts as not read. Texts in ``system``. Raises InputError.
    """
    weather = []
    for number, moment in enumerate(moments):
        is_odd = any((number, "outdoor_temperature") == (one.moment, one.name) for one in odd)
        read = None if is_odd else moment.outdoor_temperature
        weather.append(_weather(job.site, read))
    found = {text: conditions(_in(job, text), draws, seed) for text in dict.fromkeys(weather)}
    return [found[text] for text in weather]


def inputs_of(asked, moment: Moment, odd, system: str) -> tuple[Input, ...]:
    """What the first moment was worked with, and what of it nobody read."""
    inputs = list(asked.inputs)
    is_odd = any((0, "outdoor_temperature") == (one.moment, one.name) for one in odd)
    if moment.outdoor_temperature is None or is_odd:
        ends = (show(float(end), "air_temperature", system) for end in _ends(asked.temp_outdoor))
        weather = Input("outdoor temperature", " to ".join(ends), "assumed", "not read")
        inputs = [weather if one.name == weather.name else one for one in inputs]
    shares = f"within {100 * HEAT_NOW:.0f} % and {100 * FLOW_NOW:.0f} %"
    why = "what a coil gives and a fan moves at one moment; own judgement"
    inputs.append(Input("heat and airflow, over the job's", shares, "assumed", why))
    return tuple(inputs)


def _ends(draws) -> tuple[float, float]:
    return float(np.min(draws)), float(np.max(draws))


def _weather(site: Site, read) -> str:
    """The outdoor temperature at a reading, or its range where nobody read it."""
    if read is not None:
        return read.text
    design = site.outdoor_temperature
    hottest = OUTDOOR_TEMPERATURE[1] if design is None else design.high
    return f"{min(COOL_DAY, hottest):.1f} degC to {hottest:.1f} degC"


def _in(job: Job, weather: str) -> Job:
    facts = {**dict(job.site), "outdoor_temperature": weather, "outdoor_temperature_min": None}
    return job.model_copy(update={"site": Site(**facts)})


def volts_at(number: int, taken, asked) -> tuple[float, float]:
    """Middle and deviation [V] of the line at a moment: around the reading, or the job's range."""
    for one in taken:
        if (one.moment, one.name) == (number, "voltage"):
            return one.value, max(1.5 * one.deviation, LEAST_DEVIATION * one.value)
    low, usual, high = map(float, asked.voltage)
    return usual, max((high - low) / 3.3, LEAST_DEVIATION * usual)
