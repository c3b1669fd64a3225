"""Warm motors: speed, amps and winding temperature that agree with each other.

Warmer windings have more resistance, so losses, speed and temperature are solved together: each
winding's resistance follows its own node, the cage's the rotor. The average winding temperature is
what both windings in series show. A nameplate does not say how warm its rotor was: it is taken as
warm as the network makes it at the rating.

Cooling is uncertain. Every sample has its own shell, convection coefficient (25 % to either side,
for axial or blocked flow) and conductances: the stator's are scaled so that the winding is 10 to
20 K over the shell at rated losses (common practice), those of the rotor are within a factor of 1.6
and those of the end shields within 2 (engineering judgment).

Two pieces of evidence say how warm a motor gets at its rating: its losses and its body, and the
maker's class and ambient rating, which imply that the rise is about what the class allows. Where
the rating is trusted, the two are weighed by their standard deviations, and all conductances of a
motor change by one factor. So an untrue rating makes the winding look cooler than it is;
`Shell.of(..., trust_rating=False)` leaves it out.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from airover.core.errors import AIR_SPEED
from airover.core.intervals import normal_draws, uniform
from airover.model.identify import Ensemble
from airover.physics import heat, insulation
from airover.physics.circuit import CapacitorRun, Solution
from airover.physics.operating_point import resettle, settle
from airover.physics.thermal_network import Network, Nodes, placed, usual_inside, usual_network

# Common practice, no source.
SHELL_DIAMETER = 0.14  # m, where it is not known
SHELL_LENGTH = 0.14  # m, likewise
WINDING_OVER_SHELL = (10.0, 20.0)  # K at rated losses
FILM_SPREAD = (0.75, 1.25)  # axial or blocked flow against clean cross-flow
WAYS_ROTOR = (0.6, 1.6)  # factor on the usual conductances from the rotor
WAYS_SHIELDS = (0.5, 2.0)  # the same of the end shields: steel or cast aluminium
HUB_SHARE = (0.15, 0.35)  # of an end shield that is as warm as its bearing
RATED_AIR_SPEED = (2.0, 10.0)  # m/s over a motor on the fan that it is rated for
PROMISE_USED = (0.57, 1.18)  # rise at the rating over what the class allows: ratings may be untrue
# Standard deviations, in the logarithm, of the rise at the rating as the body and its losses give
# it (engineering judgment; the parts above explain BODY_EXPLAINED of it), and as the rating does
# (uniform between the ends above). They weigh the two.
RISE_SPREAD = 0.5
BODY_EXPLAINED = 0.15
PROMISE_SPREAD = float(np.log(PROMISE_USED[1] / PROMISE_USED[0]) / np.sqrt(12))
PROMISE_WEIGHT = RISE_SPREAD**2 / (RISE_SPREAD**2 + PROMISE_SPREAD**2)
RISE_MOST = 160.0  # K at its own rating: a motor that gets warmer does not last to be sold
TEMP_NO_WORK = 250.0  # degC: hotter than any protector allows, so nothing runs there


class Body(NamedTuple):
    """Bodies of motors: arrays of shape (motors, 1), NaN where it is not known.

    ``diameter`` and ``length`` [m]; the rating's ``ambient`` [degC] and the average ``rise`` [K]
    that its insulation class allows there.
    """

    diameter: np.ndarray
    length: np.ndarray
    ambient: np.ndarray
    rise: np.ndarray

    @classmethod
    def of(cls, facts) -> "Body":
        """From (diameter, length, ambient rating, insulation class) per motor, None if unknown."""
        diameter, length, ambient, insulating = zip(*facts, strict=True)
        rise = [
            None if None in pair else insulation.rise_limit(pair[1], temp_ambient=pair[0])
            for pair in zip(ambient, insulating, strict=True)
        ]
        columns = (np.array(x, dtype=float)[:, None] for x in (diameter, length, ambient, rise))
        return cls(*columns)

    def first(self) -> "Body":
        """The first motor alone, without the axis of the motors."""
        return Body(*(column[0] for column in self))


class AirStream(NamedTuple):
    """The air at the motor: ``temp_air`` [degC], and its ``speed`` [m/s] while the fan turns at
    ``speed_rpm``; ``sun`` [W/m2] that a motor's upper end takes up. Samples on the last axis."""

    temp_air: np.ndarray
    speed: np.ndarray
    speed_rpm: np.ndarray
    sun: np.ndarray = 0.0

    @classmethod
    def of(cls, conditions) -> "AirStream":
        """The air of a job's Conditions, or of anything with their arrays."""
        return cls(
            conditions.temp_air, conditions.cooling_speed, conditions.speed_rpm, conditions.sun
        )


class Warm(NamedTuple):
    """Motors warmed up: slip and solution, whether they started, temperatures [degC].

    ``nodes`` are those of the whole network; ``temp_winding`` is what the resistance of both
    windings in series would show.
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
        """The same at some of its voltages: ``which`` is an index or a slice."""
        return Warm(
            slip=self.slip[which],
            starts=self.starts[which],
            solution=Solution(*(value[which] for value in self.solution)),
            nodes=self.nodes.part(which),
            temp_winding=self.temp_winding[which],
        )


@dataclass(frozen=True)
class Shell:
    """The way of the heat, (motors, samples): the ``network``, factors of its convection
    coefficient, and the factor that the rating's evidence puts on its rises (``rise_factor``,
    already in the network: below 1 the motor is cooled better than its body and losses alone
    suggest).

    ``share_main`` is the main winding's part in the resistance of both windings in series;
    ``over_winding`` [K] are the nodes over the winding's average at the rating.
    """

    network: Network
    film_place: np.ndarray
    film_factor: np.ndarray
    rise_factor: np.ndarray
    share_main: np.ndarray
    over_winding: Nodes

    @classmethod
    def of(cls, body: Body, rated: Ensemble, seed: int, trust_rating: bool = True) -> "Shell":
        """Shells for ``rated``, whose last axis is the samples.

        With ``trust_rating`` the maker's rating counts as evidence of the rise at full load in
        the air of its own fan; without, or where no class or ambient is known, body and losses
        alone. Both see the same samples of everything else.
        """
        rng = np.random.default_rng([seed, 1])
        names = ("place", "factor", "winding", "promise", "rotor", "shields", "hub", "upright")
        z = normal_draws(rng, (*names, "speed", "body"), rated.power.shape[-1])
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
        promised = body.rise * uniform(PROMISE_USED, z["promise"])
        if not trust_rating:
            promised = np.full_like(promised, np.nan)
        more = np.exp(np.sqrt(RISE_SPREAD**2 - BODY_EXPLAINED**2) * z["body"])
        air_speed = uniform(RATED_AIR_SPEED, z["speed"])
        return bare._weighed(promised, more, losses, ambient, air_speed)

    def _weighed(self, promised, more, losses: Nodes, ambient, air_speed) -> "Shell":
        """This shell with a rise at the rating between ``more`` times its own and the ``promised``
        one [K].

        Independent samples of two log-normal pieces of evidence, averaged with the inverse of
        their variances as weights, are samples of both together. All conductances change alike,
        which is the same as changed losses: the rise goes almost in proportion, and a few steps
        find the factor. NaN promises nothing.
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
        """The same in other arrays: ``rearrange`` picks from, or reshapes, each of them."""
        plain = ("film_place", "film_factor", "rise_factor", "share_main")
        return Shell(
            network=self.network.rearranged(rearrange),
            over_winding=Nodes(*map(rearrange, self.over_winding)),
            **{name: rearrange(getattr(self, name)) for name in plain},
        )

    def film(self, air_speed, temp_air):
        """Convection coefficient [W/m2K] of a stream of ``air_speed`` [m/s], without the own
        draught."""
        air_speed = np.clip(air_speed, AIR_SPEED.low, AIR_SPEED.high)
        film = heat.film_coefficient(self.network.diameter, air_speed, temp_air)
        return (film.low + self.film_place * (film.high - film.low)) * self.film_factor

    def temperatures(self, losses: Nodes, air_speed, temp_air, temp_shell=None) -> Nodes:
        """Nodes [degC] for ``losses`` [W] in this air; a ``temp_shell`` [degC] close by, whose
        draught is then taken, saves steps."""
        film = self.film(air_speed, temp_air)
        if temp_shell is None:
            return self.network.steady(losses, film, temp_air)
        return self.network.approach(losses, film, temp_air, temp_shell)

    def average(self, nodes: Nodes):
        """Winding temperature [degC] that the resistance of both windings in series shows."""
        return nodes.winding_aux + self.share_main * (nodes.winding_main - nodes.winding_aux)


def losses_of(solution: Solution, sun=0.0) -> Nodes:
    """Losses [W] of a ``solution`` where they arise, with ``sun`` [W] at the shell."""
    at = solution
    return placed(at.loss_main, at.loss_aux, at.loss_rotor, at.loss_core, at.loss_friction, sun)


def _calibrated(body: Body, losses: Nodes, share_main, z) -> Network:
    """Usual networks whose winding is as far over the shell at rated ``losses`` as sampled.

    The stator's ways are scaled; only what little heat the rotor sends through them keeps the
    winding's rise from being in exact proportion, so two steps are enough.
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
    """Motors settled and warmed up; all arrays broadcast, samples on the last axis.

    ``voltage`` [V], ``frequency`` [Hz], fan ``coefficient`` [N m s^2]. After settling as the
    nameplate states the resistances, one Newton step of the slip and one of the temperature take
    turns. A motor that does not start stays at slip 1; one that the heat pulls out of its working
    range is left where it crawls, and one that hunts between the two, running cool and pulled out
    hot, is shown as no longer working: at TEMP_NO_WORK. ``settle`` may be `compiled.settle`, which
    gives the same sooner. Raises InputError out of range.
    """
    first = settle(rated.circuit, voltage, frequency, coefficient)
    slip, nodes = first.slip, Nodes.all_at(rated.temp_reference + np.zeros(first.slip.shape))
    circuit, at = rated.circuit, first.solution
    sun = air.sun * np.pi / 4 * shell.network.diameter**2
    for step in range(1, 40):
        if step % 12 == 0:  # something was pulled out: look for its crawling speed from standstill
            slip = settle(circuit, voltage, frequency, coefficient).slip
        air_speed = air.speed * at.speed_rpm / air.speed_rpm
        losses = losses_of(at, sun)
        following = shell.temperatures(losses, air_speed, air.temp_air, nodes.shell)
        warming = _warming(nodes, following)
        nodes = following
        circuit = at_temperature(rated, shell, nodes)
        stepped = resettle(circuit, voltage, frequency, coefficient, slip, at.emf)
        stepped = np.where(first.starts, stepped, 1.0)
        moved = np.abs(stepped - slip)
        slip = stepped
        at = circuit.balance(voltage, frequency, slip, at.emf)
        hunting = (moved >= 1e-6) | (warming >= 0.02)
        if not hunting.any():
            return Warm(slip, first.starts, at, nodes, shell.average(nodes))
    nodes = Nodes(*(np.where(hunting, TEMP_NO_WORK, temp) for temp in nodes))
    circuit = at_temperature(rated, shell, nodes)
    slip = np.where(hunting, settle(circuit, voltage, frequency, coefficient).slip, slip)
    at = circuit.balance(voltage, frequency, slip, at.emf)
    return Warm(slip, first.starts, at, nodes, shell.average(nodes))


def at_temperature(rated: Ensemble, shell: Shell, temps: Nodes) -> CapacitorRun:
    """The circuits at node temperatures ``temps`` [degC]: each winding by its own, the cage's
    aluminium by the rotor's.

    A nameplate's resistances hold at the winding's average ``rated.temp_reference``, so each part
    had then the temperature that the network gives it over that average at the rating.
    """
    circuit, over = rated.circuit, shell.over_winding

    def factor(part, material):
        reference = _workable(rated.temp_reference + getattr(over, part))
        return heat.resistance_factor(_workable(getattr(temps, part)), reference, material)

    return replace(
        circuit,
        R1=circuit.R1 * factor("winding_main", "copper"),
        R_aux=circuit.R_aux * factor("winding_aux", "copper"),
        R2=circuit.R2 * factor("rotor", "aluminium"),
    )


def _warming(before: Nodes, after: Nodes):
    """Largest change [K] of what sets a resistance."""
    parts = ("winding_main", "winding_aux", "rotor")
    pairs = ((getattr(before, part), getattr(after, part)) for part in parts)
    return np.maximum.reduce([np.abs(_workable(b) - _workable(a)) for a, b in pairs])


def _workable(temp):
    return np.minimum(temp, TEMP_NO_WORK)
