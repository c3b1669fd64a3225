"""Speed, amps and winding temperature of motors at operating temperature.

Winding resistance increases with temperature, so losses, speed and temperature are solved together.
The resistance of each winding depends on the temperature of its node, and the cage resistance
depends on the rotor temperature. The average winding temperature corresponds to a resistance
measurement of both windings in series. A nameplate does not give the rotor temperature, so the
value from the thermal network at the rating is used.

Cooling is uncertain. Each sample has its own shell, conductances and convection coefficient (varied
by 25 % to allow for axial or blocked flow). Stator conductances are scaled so that the winding is
10 to 20 K hotter than the shell at rated losses (common practice). Rotor conductances vary by a
factor of up to 1.6, and end-shield conductances vary by a factor of up to 2 (engineering judgment).

The temperature rise at the rating is estimated in two ways: from the losses and body dimensions,
and from the manufacturer's insulation class and rated ambient temperature, which imply a rise close
to the limit for the class. If the insulation class or the ambient temperature is not known, the
range for typical combinations in condenser fan motors is used (USUAL_RATINGS). If the rating is
trusted, the two estimates are weighted by their standard deviations, and all conductances of a
motor are multiplied by a common factor. If the rating is wrong, the calculated winding temperature
can therefore be too low. `Shell.of(..., trust_rating=False)` ignores the rating.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from airover.core.errors import AIR_SPEED
from airover.core.intervals import normal_draws, uniform
from airover.model.identify import Ensemble
from airover.physics import compiled, heat, insulation
from airover.physics.circuit import CapacitorRun, Solution
from airover.physics.compiled import (
    FASTEST,
    HASTENED,
    LAST_STEP,
    RESTART,
    SLIP_STILL,
    TEMP_NO_WORK,
    TEMP_STILL,
)
from airover.physics.operating_point import settle, step
from airover.physics.thermal_network import Network, Nodes, placed, usual_inside, usual_network

# Common practice; no published source.
SHELL_DIAMETER = 0.14  # m, if not known
SHELL_LENGTH = 0.14  # m, if not known
WINDING_OVER_SHELL = (10.0, 20.0)  # K at rated losses
FILM_SPREAD = (0.75, 1.25)  # axial or blocked flow relative to undisturbed cross-flow
WAYS_ROTOR = (0.6, 1.6)  # multiplier for typical rotor conductances
WAYS_SHIELDS = (0.5, 2.0)  # multiplier for typical end-shield conductances: steel or cast
HUB_SHARE = (0.15, 0.35)  # fraction of an end shield at bearing temperature
RATED_AIR_SPEED = (2.0, 10.0)  # m/s at a motor with its rated fan
# Insulation class and rated ambient temperature [degC] of condenser fan motors.
USUAL_RATINGS = (("A", 40.0), ("B", 40.0), ("B", 60.0), ("F", 60.0), ("F", 70.0))
PROMISE_USED = (0.57, 1.18)  # ratio of the rise at the rating to the class limit
# Standard deviations of the logarithm of temperature rise at the rating: first as calculated from
# body and losses (engineering judgment; the variations above account for BODY_EXPLAINED of the
# total), then from the rating (uniform between the limits above). They determine the weights.
RISE_SPREAD = 0.5
BODY_EXPLAINED = 0.15
PROMISE_SPREAD = float(np.log(PROMISE_USED[1] / PROMISE_USED[0]) / np.sqrt(12))
PROMISE_WEIGHT = RISE_SPREAD**2 / (RISE_SPREAD**2 + PROMISE_SPREAD**2)
RISE_MOST = 160.0  # K at the rating; no manufacturer would sell a hotter motor


class Body(NamedTuple):
    """Motor body data, as arrays of shape (motors, 1).

    An unknown diameter, length or ambient temperature is NaN.

    Attributes
    ----------
    diameter : ndarray
        Body diameter [m].
    length : ndarray
        Body length [m].
    ambient : ndarray
        Rated ambient temperature [degC].
    rise_low, rise_high : ndarray
        Average temperature rise [K] that the insulation class allows at this ambient temperature.
        The two limits differ if the insulation class or the ambient temperature is not known.
    """

    diameter: np.ndarray
    length: np.ndarray
    ambient: np.ndarray
    rise_low: np.ndarray
    rise_high: np.ndarray

    @classmethod
    def of(cls, facts) -> "Body":
        """Create a Body from (diameter, length, ambient, insulation class) of each motor."""
        diameter, length, ambient, letters = zip(*facts, strict=True)
        rise = (rated_rises(*pair) for pair in zip(letters, ambient, strict=True))
        columns = (diameter, length, ambient, *zip(*rise, strict=True))
        return cls(*(np.array(column, dtype=float)[:, None] for column in columns))

    def first(self) -> "Body":
        """Return the first motor, without the motor axis."""
        return Body(*(column[0] for column in self))


def rated_rises(letter: str | None, ambient: float | None) -> tuple[float, float]:
    """Return the smallest and largest rise [K] that a nameplate allows.

    Parameters
    ----------
    letter
        Insulation class, or None if it is not known.
    ambient
        Rated ambient temperature [degC], or None if it is not known.
    """
    if None in (letter, ambient):
        usual = [
            one for one in USUAL_RATINGS if letter in (None, one[0]) and ambient in (None, one[1])
        ]
        pairs = usual or [(letter or "B", insulation.RISE_AMBIENT if ambient is None else ambient)]
    else:
        pairs = [(letter, ambient)]
    limits = [float(insulation.rise_limit(one, temp_ambient=temp)) for one, temp in pairs]
    return min(limits), max(limits)


class AirStream(NamedTuple):
    """Air at the motor, with samples along the last axis.

    Attributes
    ----------
    temp_air : ndarray
        Air temperature [degC].
    speed : ndarray
        Air speed [m/s] at the reference speed.
    speed_rpm : ndarray
        Reference speed [rpm] of the fan.
    sun : ndarray
        Solar heat [W/m2] absorbed by the motor's upper end.
    """

    temp_air: np.ndarray
    speed: np.ndarray
    speed_rpm: np.ndarray
    sun: np.ndarray = 0.0

    @classmethod
    def of(cls, conditions) -> "AirStream":
        """Create an AirStream from the Conditions of a job, or an object with the same arrays."""
        return cls(
            conditions.temp_air, conditions.cooling_speed, conditions.speed_rpm, conditions.sun
        )


class Warm(NamedTuple):
    """Warmed-up motors at their operating points.

    Attributes
    ----------
    slip : ndarray
        Slip.
    starts : ndarray
        True if the motor starts from standstill.
    solution : Solution
        Steady state of the circuit.
    nodes : Nodes
        Temperatures [degC] of all nodes in the thermal network.
    temp_winding : ndarray
        Average winding temperature [degC] from the resistance of both windings in series.
    """

    slip: np.ndarray
    starts: np.ndarray
    solution: Solution
    nodes: Nodes
    temp_winding: np.ndarray

    @property
    def temp_shell(self) -> np.ndarray:
        return self.nodes.shell

    def part(self, which) -> "Warm":
        """Return the same motors at selected voltages, given by an index or a slice."""
        return Warm(
            slip=self.slip[which],
            starts=self.starts[which],
            solution=Solution(*(value[which] for value in self.solution)),
            nodes=self.nodes.part(which),
            temp_winding=self.temp_winding[which],
        )


@dataclass(frozen=True)
class Shell:
    """Thermal networks and uncertainty factors for motors, shape (motors, samples).

    Attributes
    ----------
    network : Network
        Thermal network.
    film_place : ndarray
        Position within the range of the convection coefficient, 0 to 1.
    film_factor : ndarray
        Multiplier for the convection coefficient.
    rise_factor : ndarray
        Multiplier for the temperature rise, based on the rating. The factor is already included in
        the network. A value below 1 means that the motor is cooled better than its body and losses
        suggest.
    share_main : ndarray
        Main winding's fraction of the series resistance of both windings.
    over_winding : Nodes
        Node temperatures [K] above the average winding temperature at the rating.
    """

    network: Network
    film_place: np.ndarray
    film_factor: np.ndarray
    rise_factor: np.ndarray
    share_main: np.ndarray
    over_winding: Nodes

    @classmethod
    def of(cls, body: Body, rated: Ensemble, seed: int, trust_rating: bool = True) -> "Shell":
        """Create a Shell for circuits that have their samples along the last axis.

        If ``trust_rating`` is True, the manufacturer's rating is used to estimate the full-load
        temperature rise in the airstream of the motor's fan. Otherwise, only the body
        and the losses are used. The samples of all other parameters are the same in both cases.
        """
        rng = np.random.default_rng([seed, 1])
        names = ("place", "factor", "winding", "promise", "rotor", "shields", "hub", "upright")
        z = normal_draws(rng, (*names, "speed", "body", "class"), rated.power.shape[-1])
        losses = losses_of(rated.at_rating())
        share_main = rated.circuit.R1 / (rated.circuit.R1 + rated.circuit.R_aux)
        bare = cls(
            network=_calibrated(body, losses, share_main, z),
            film_place=uniform((0.0, 1.0), z["place"]),
            film_factor=uniform(FILM_SPREAD, z["factor"]),
            rise_factor=np.ones(1),
            share_main=share_main,
            over_winding=Nodes.all_at(0.0),
        )
        ambient = np.nan_to_num(body.ambient, nan=insulation.RISE_AMBIENT)
        promised = uniform((body.rise_low, body.rise_high), z["class"])
        promised = promised * uniform(PROMISE_USED, z["promise"])
        if not trust_rating:
            promised = np.full_like(promised, np.nan)
        more = np.exp(np.sqrt(RISE_SPREAD**2 - BODY_EXPLAINED**2) * z["body"])
        air_speed = uniform(RATED_AIR_SPEED, z["speed"])
        return bare._weighed(promised, more, losses, ambient, air_speed)

    def _weighed(self, promised, more, losses: Nodes, ambient, air_speed) -> "Shell":
        """Return this shell with an adjusted temperature rise at the rating.

        The adjusted rise [K] is between the ``promised`` rise and ``more`` times the rise of this
        shell. The adjusted rise is the mean of two independent log-normal estimates, weighted by
        their inverse variances. All conductances are multiplied by a common factor, which is
        equivalent to scaling the losses. The rise is almost proportional to the losses, so the
        factor is found in a few steps. A ``promised`` rise of NaN has no effect.
        """
        nodes = self.temperatures(losses, air_speed, ambient, ambient + 20.0)
        for _ in range(2):
            nodes = self.temperatures(losses, air_speed, ambient, nodes.shell)
        rise = self.average(nodes) - ambient
        own = more * rise
        wanted = np.where(np.isnan(promised), own, own * (promised / own) ** PROMISE_WEIGHT)
        wanted = np.minimum(wanted, RISE_MOST)
        factor = np.ones(np.shape(self.network.inside.main_core))
        for _ in range(5):
            lessened = Nodes(*(factor * loss for loss in losses))
            nodes = self.temperatures(lessened, air_speed, ambient, nodes.shell)
            rise = self.average(nodes) - ambient
            factor = factor * wanted / rise
        over = Nodes(*(node - ambient - rise for node in nodes))
        network = self.network.better(1 / factor)
        return replace(self, network=network, rise_factor=factor, over_winding=over)

    def rearranged(self, rearrange) -> "Shell":
        """Return the shells with ``rearrange``, a selection or reshape, applied to each array."""
        plain = ("film_place", "film_factor", "rise_factor", "share_main")
        return Shell(
            network=self.network.rearranged(rearrange),
            over_winding=Nodes(*map(rearrange, self.over_winding)),
            **{name: rearrange(getattr(self, name)) for name in plain},
        )

    def film(self, air_speed, temp_air):
        """Return the forced convection coefficient [W/m2K] for ``air_speed`` [m/s]."""
        air_speed = np.clip(air_speed, AIR_SPEED.low, AIR_SPEED.high)
        film = heat.film_coefficient(self.network.diameter, air_speed, temp_air)
        return (film.low + self.film_place * (film.high - film.low)) * self.film_factor

    def temperatures(self, losses: Nodes, air_speed, temp_air, temp_shell=None) -> Nodes:
        """Return the node temperatures [degC] for given losses [W] and air.

        ``temp_shell`` [degC] is an initial estimate for calculating natural convection. A good
        estimate saves iterations.
        """
        film = self.film(air_speed, temp_air)
        if temp_shell is None:
            return self.network.steady(losses, film, temp_air)
        return self.network.approach(losses, film, temp_air, temp_shell)

    def average(self, nodes: Nodes):
        """Return the average winding temperature [degC] from the series resistance."""
        return nodes.winding_aux + self.share_main * (nodes.winding_main - nodes.winding_aux)


def losses_of(solution: Solution, sun=0.0) -> Nodes:
    """Return the losses [W] by node, including the solar heat [W] at the shell."""
    at = solution
    return placed(at.loss_main, at.loss_aux, at.loss_rotor, at.loss_core, at.loss_friction, sun)


def _calibrated(body: Body, losses: Nodes, share_main, z) -> Network:
    """Return typical networks, scaled to the sampled winding-to-shell temperature difference.

    This difference applies at rated ``losses``. Stator conductances are scaled in two steps,
    because the winding rise is not exactly proportional: some rotor heat also flows through them.
    """
    diameter = np.where(np.isnan(body.diameter), SHELL_DIAMETER, body.diameter)
    length = np.where(np.isnan(body.length), SHELL_LENGTH, body.length)
    ways = uniform(WAYS_ROTOR, z["rotor"]), uniform(WAYS_SHIELDS, z["shields"])
    hub, upright = uniform(HUB_SHARE, z["hub"]), uniform((0.0, 1.0), z["upright"])

    def network(stator):
        inside = usual_inside(diameter, length, stator, *ways)
        return usual_network(diameter, length, inside, hub, upright=upright)

    stator = np.ones(np.shape(share_main))
    for _ in range(2):
        main, aux, _, _ = network(stator).inner_rises(losses)
        over_shell = aux + share_main * (main - aux)
        stator = stator * over_shell / uniform(WINDING_OVER_SHELL, z["winding"])
    return network(stator)


def warmed(
    rated: Ensemble, shell: Shell, air: AirStream, voltage, frequency, coefficient, settle=settle
) -> Warm:
    """Return warmed-up motors at their operating points.

    Array arguments are broadcast against each other, with samples along the last axis. The
    operating point is first solved with the resistances at the rating. Then Newton steps for slip
    alternate with steps for temperature.

    A motor that does not start remains at slip 1. A motor that pulls out as it warms up stays at a
    crawling speed. A motor that alternates between running when cool and pulling out when hot is
    treated as not running, at TEMP_NO_WORK.

    Parameters
    ----------
    rated : Ensemble
        Equivalent circuits at the rating.
    shell : Shell
        Thermal networks.
    air : AirStream
        Air at the motors.
    voltage
        Supply voltage [V].
    frequency
        Supply frequency [Hz].
    coefficient
        Fan coefficient [N m s^2].
    settle : optional
        Function that solves for the operating point. The faster `compiled.settle` gives the same
        results.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    if settle is compiled.settle:
        return _warmed_compiled(rated, shell, air, voltage, frequency, coefficient)
    first = settle(rated.circuit, voltage, frequency, coefficient)
    nodes = Nodes.all_at(rated.temp_reference + np.zeros(first.slip.shape))
    case = _Case(rated, shell, air, voltage, frequency, coefficient, first.starts)
    state = _State(first.slip, first.solution, nodes, nodes)
    for number in range(1, LAST_STEP + 1):
        if number % RESTART == 0:  # after a pull-out, find the crawling speed from standstill
            state = state._replace(slip=case.settled(state.nodes, settle))
        state, hunting = _following(case, state, number)
        if not hunting.any():
            break
    else:
        nodes = Nodes(*(np.where(hunting, TEMP_NO_WORK, temp) for temp in state.nodes))
        slip = np.where(hunting, case.settled(nodes, settle), state.slip)
        at = case.circuit(nodes).balance(case.voltage, case.frequency, slip, state.at.emf)
        state = _State(slip, at, nodes, state.last)
    return Warm(state.slip, first.starts, state.at, state.nodes, shell.average(state.nodes))


def _warmed_compiled(rated, shell, air, voltage, frequency, coefficient) -> Warm:
    slip, emf, starts, nodes = warm_nodes(rated, shell, air, voltage, frequency, coefficient)
    circuit = at_temperature(rated, shell, nodes)
    at = circuit.balance(voltage, frequency, slip, emf)
    return Warm(slip, starts, at, nodes, shell.average(nodes))


def warm_nodes(
    rated: Ensemble, shell: Shell, air: AirStream, voltage, frequency, coefficient
) -> tuple[np.ndarray, np.ndarray, np.ndarray, Nodes]:
    """Return the slip, air-gap voltage [V], start flag and node temperatures [degC] of `warmed`.

    The steady state of the circuit is not calculated. Requires numba.
    """
    slip, emf, starts, temps = compiled.warm(
        rated.circuit, shell.network, shell.over_winding, (shell.film_place, shell.film_factor),
        rated.temp_reference, air, voltage, frequency, coefficient,
    )  # fmt: skip
    return slip, emf, starts, Nodes(*np.moveaxis(temps, -1, 0).copy())


class _Case(NamedTuple):
    """Motors to be warmed up, with their air, supply and fans."""

    rated: Ensemble
    shell: Shell
    air: AirStream
    voltage: np.ndarray
    frequency: np.ndarray
    coefficient: np.ndarray
    starts: np.ndarray

    def circuit(self, nodes: Nodes) -> CapacitorRun:
        return at_temperature(self.rated, self.shell, nodes)

    def settled(self, nodes: Nodes, settle) -> np.ndarray:
        """Return the slips that the motors reach from standstill."""
        return settle(self.circuit(nodes), self.voltage, self.frequency, self.coefficient).slip


class _State(NamedTuple):
    """Slips, steady states, and temperatures [degC] with their ``last`` changes [K]."""

    slip: np.ndarray
    at: Solution
    nodes: Nodes
    last: Nodes


def _following(case: _Case, state: _State, number: int):
    """Return the state after iteration ``number``, and True for the cases that still change."""
    slip, at, nodes, before_last = state
    air = case.air
    air_speed = air.speed * at.speed_rpm / air.speed_rpm
    losses = losses_of(at, air.sun * np.pi / 4 * case.shell.network.diameter**2)
    following = case.shell.temperatures(losses, air_speed, air.temp_air, nodes.shell)
    warming = _warming(nodes, following)
    last = Nodes(*(b - a for a, b in zip(nodes, following, strict=True)))
    nodes = following
    if number in HASTENED:
        nodes = Nodes(*map(_hastened, nodes, before_last, last))
    before, supply = np.where(case.starts, slip, 1.0), (case.voltage, case.frequency)
    slip, at = step(case.circuit(nodes), *supply, case.coefficient, before, at.emf, case.starts)
    hunting = (np.abs(slip - before) >= SLIP_STILL) | (warming >= TEMP_STILL)
    return _State(slip, at, nodes, last), hunting


def at_temperature(rated: Ensemble, shell: Shell, temps: Nodes) -> CapacitorRun:
    """Return the equivalent circuits at node temperatures ``temps`` [degC].

    The resistance of each winding depends on the temperature of its node, and the resistance of the
    aluminum cage depends on the rotor temperature. The rated resistances apply at an average
    winding temperature of ``rated.temp_reference``, where each node differs from the average by the
    amount in ``shell.over_winding``.
    """
    circuit, over = rated.circuit, shell.over_winding

    def factor(part, material):
        reference = _workable(rated.temp_reference + getattr(over, part))
        return heat.resistance_factor(_workable(getattr(temps, part)), reference, material)

    return replace(
        circuit,
        R1=circuit.R1 * factor("winding_main", "copper"),
        R_aux=circuit.R_aux * factor("winding_aux", "copper"),
        R2=circuit.R2 * factor("rotor", "aluminum"),
    )


def _hastened(temp, before_last, last):
    """Extrapolate a node temperature [degC] to its limit from its last two changes [K].

    Each change is assumed to be the same fraction of the change before it (Aitken). A temperature
    that does not approach a limit is returned unchanged.
    """
    ratio = last / np.where(before_last == 0, np.inf, before_last)
    ratio = np.where((ratio > 0) & (ratio < FASTEST), ratio, 0)
    return temp + ratio / (1 - ratio) * last


def _warming(before: Nodes, after: Nodes):
    """Return the largest change [K] in the temperatures on which the resistances depend."""
    parts = ("winding_main", "winding_aux", "rotor")
    pairs = ((getattr(before, part), getattr(after, part)) for part in parts)
    return np.maximum.reduce([np.abs(_workable(b) - _workable(a)) for a, b in pairs])


def _workable(temp):
    return np.minimum(temp, TEMP_NO_WORK)
