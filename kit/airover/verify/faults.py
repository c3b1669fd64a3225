"""What may be wrong with a motor that runs, as changes to the one that was expected.

Each fault changes one quantity of the model, by a severity within the edges of its cells. How
common each is, and from which severity on it counts, is engineering judgment, no source.
"""

from typing import NamedTuple

import numpy as np

from airover.bands import normal_draws, uniform


class Changes(NamedTuple):
    """What differs from the expected motor on its fan: arrays (cells, samples).

    ``load`` and ``capacitor`` are shares of the expected ones; ``shorted`` the power lost in
    shorted turns over the rated shaft power; ``hotter`` [K] the air into the coil; ``cooling`` a
    share of the motor's conductances to the air; ``flow`` of the airflow at the same speed.
    """

    load: np.ndarray
    capacitor: np.ndarray
    shorted: np.ndarray
    hotter: np.ndarray
    cooling: np.ndarray
    flow: np.ndarray


class Fault(NamedTuple):
    """A fault: the ``quantity`` of Changes that it changes, the ``edges`` of its cells, and how
    common it is (``prior``). Its name and what to look at are texts under its ``key``."""

    key: str
    quantity: str
    edges: tuple[float, ...]
    prior: float


HEALTHY = "as expected"
PRIOR_HEALTHY = 0.70
FAULTS = (
    Fault("heavy load", "load", (1.12, 1.25, 1.42, 1.7), 0.08),
    Fault("light load", "load", (0.55, 0.75, 0.88), 0.03),
    Fault("weak capacitor", "capacitor", (0.25, 0.4, 0.55, 0.7, 0.88), 0.06),
    Fault("large capacitor", "capacitor", (1.13, 1.4, 1.9), 0.03),
    Fault("shorted turns", "shorted", (0.10, 0.25, 0.5, 1.0), 0.03),
    Fault("hot air", "hotter", (5.0, 12.0, 25.0), 0.04),
    Fault("poor cooling", "cooling", (0.45, 0.62, 0.82), 0.03),
)
BY_KEY = {fault.key: fault for fault in FAULTS}
CAPACITOR_MADE = 0.05  # either side of its marking: common practice
COOLING_MADE = 0.15  # either side of the thermal model, engineering judgment: none was measured
FLOW_HEAVY = (0.6, 1.25)  # a blocked coil, or a bigger fan
FLOW_LIGHT = (0.6, 1.0)


class Cell(NamedTuple):
    """A part of a ``fault``'s severities, from ``low`` to ``high``; "as expected" has none."""

    fault: str
    low: float
    high: float
    prior: float


def cells() -> tuple[Cell, ...]:
    """The motor as expected, then every fault's cells; their priors add up to 1."""
    found = [Cell(HEALTHY, 0.0, 0.0, PRIOR_HEALTHY)]
    for fault in FAULTS:
        ends = list(zip(fault.edges[:-1], fault.edges[1:], strict=True))
        found += [Cell(fault.key, *pair, fault.prior / len(ends)) for pair in ends]
    return tuple(found)


def changes(kinds: tuple[Cell, ...], samples: int, seed: int) -> Changes:
    """Severities of each of ``kinds``, evenly likely within its ends; the rest as expected."""
    names = ("severity", "made", "cooled", "flow")
    z = normal_draws(np.random.default_rng([seed, 7]), names, samples)
    ones = np.ones((len(kinds), samples))
    made = 1 + uniform((-CAPACITOR_MADE, CAPACITOR_MADE), z["made"])
    cooled = 1 + uniform((-COOLING_MADE, COOLING_MADE), z["cooled"])
    found = Changes(ones.copy(), made * ones, 0 * ones, 0 * ones, cooled * ones, ones.copy())
    for place, cell in enumerate(kinds):
        if cell.fault == HEALTHY:
            continue
        quantity = BY_KEY[cell.fault].quantity
        severity = uniform((cell.low, cell.high), z["severity"])
        getattr(found, quantity)[place] = severity
        if quantity == "load":
            ends = FLOW_HEAVY if cell.low > 1 else FLOW_LIGHT
            found.flow[place] = uniform(ends, z["flow"])
    return found
