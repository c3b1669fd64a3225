"""What may be wrong with a motor that runs, as changes to the one that was expected.

Each fault changes one quantity of the model, by a severity within the edges of its cells. How
common each is, and from which severity on it counts, is own judgement, no source.
"""

from typing import NamedTuple

import numpy as np

from airover.bands import normal_draws, uniform


class Changes(NamedTuple):
    """What differs from the expected motor on its fan: arrays (cells, draws).

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
    """A fault: the ``quantity`` of Changes that it changes, the ``edges`` of its cells, how common
    it is (``prior``), what it is called, and what to ``look`` at next."""

    key: str
    quantity: str
    edges: tuple[float, ...]
    prior: float
    name: str
    look: str


HEALTHY = "as expected"
PRIOR_HEALTHY = 0.70
FAULTS = (
    Fault(
        "heavy load", "load", (1.12, 1.25, 1.42, 1.7), 0.08,
        "more load than expected: a blade too big or too steep, or a blocked coil",
        "Look at the coil and the guard first, then compare the blade's diameter, pitch and depth "
        "in the orifice with the unit's own, and turn it by hand, locked out: it must not drag.",
    ),
    Fault(
        "light load", "load", (0.55, 0.75, 0.88), 0.03,
        "less load than expected: a blade too small, slipping or mounted the wrong way round",
        "See that the blade is tight on its flat, the right way round and at its old depth, and "
        "that air moves the right way; compare it with the unit's own.",
    ),
    Fault(
        "weak capacitor", "capacitor", (0.25, 0.4, 0.55, 0.7, 0.88), 0.06,
        "a capacitor with too few microfarads",
        "Locked out and discharged, read the microfarads off circuit and the marking; put in what "
        "the motor's own plate asks for.",
    ),
    Fault(
        "large capacitor", "capacitor", (1.13, 1.4, 1.9), 0.03,
        "a capacitor with too many microfarads",
        "Read its marking: put in what the motor's own plate asks for, at its volts or more.",
    ),
    Fault(
        "shorted turns", "shorted", (0.10, 0.25, 0.5, 1.0), 0.03,
        "watts that the shaft does not give: shorted turns, or another motor than its plate says",
        "Switch off and leave it off; compare the windings' resistances with a twin's, test the "
        "insulation to ground, and smell and look for burnt varnish.",
    ),
    Fault(
        "hot air", "hotter", (5.0, 12.0, 25.0), 0.04,
        "hot air into the coil: the unit draws its own air in again, or heat from beside it",
        "Hold a thermometer at the coil's face and one in the shade away from the unit; look for "
        "walls, fences, a second unit or a missing shroud.",
    ),
    Fault(
        "poor cooling", "cooling", (0.45, 0.62, 0.82), 0.03,
        "a motor that loses its heat badly: its shell or openings covered, or little air over it",
        "See that no belly band, dirt or guard covers the shell or its openings, and that the air "
        "passes over the motor.",
    ),
)  # fmt: skip
BY_KEY = {fault.key: fault for fault in FAULTS}
CAPACITOR_MADE = 0.05  # either side of its marking: common practice
COOLING_MADE = 0.15  # either side of what the model of heat says, own judgement: none was measured
FLOW_HEAVY = (0.6, 1.25)  # a blocked coil, or a bigger blade
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


def changes(kinds: tuple[Cell, ...], draws: int, seed: int) -> Changes:
    """Severities of each of ``kinds``, evenly likely within its ends; the rest as expected."""
    names = ("severity", "made", "cooled", "flow")
    z = normal_draws(np.random.default_rng([seed, 7]), names, draws)
    ones = np.ones((len(kinds), draws))
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
