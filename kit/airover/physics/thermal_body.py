"""Conductances and heat capacities of a usual outdoor fan motor, from its size.

No motor was measured for them. They are sizes as one finds them by hand for a 48-frame body, 0.14
by 0.14 m: 36 slots with a liner of 0.25 mm, a stack of 50 mm pressed into a steel shell, an air
gap of 0.35 mm without whirls, a shaft of 1/2 in, end shields of 2.5 mm. They grow with the surface
or the length that each stands for.
"""

import numpy as np

from airover.limits import Range, check
from airover.physics.heat import DIAMETER_SHELL, LENGTH_SHELL, shell_area
from airover.physics.thermal import Inside, Network, Nodes

FACTOR = Range(1e-3, 1e3, "")
SHARE = Range(0.0, 0.9, "")
DENSITY_BODY = Range(500.0, 9000.0, "kg/m3")
USUAL_DENSITY = 3250.0  # kg/m3: 7 kg in a body of 0.14 by 0.14 m, common practice, no source
REFERENCE = 0.14  # m, diameter and length at which the conductances below hold

# W/K, own estimates from the sizes above: area times conductivity over thickness, with 300 W/m2K
# for a liner and the windings in it, 700 for a press fit, 20 to 25 for the air inside.
IN_REFERENCE = Inside(
    main_core=7.0,
    aux_core=7.0,
    main_aux=3.0,
    main_shell=0.3,
    aux_shell=0.3,
    core_shell=14.0,
    rotor_core=1.0,
    rotor_shell=0.5,
    rotor_blade=0.13,
    rotor_far=0.13,
    blade_shell=1.2,
    far_shell=1.2,
)
# W/K, (pi/2) sqrt(h k d^3) of a long steel pin 12.7 mm thick with a film of 47 W/m2K. Bare in 6 m/s
# it would have 0.15; hub and shell stand in its wind (own judgement).
FIN_IN_REFERENCE = 0.12

# Shares of a motor's mass and specific heats [J/kgK]: copper 385, aluminium 903, plain carbon
# steel 434, silicon steel 460 (the first three Incropera and DeWitt, table A.1, 300 K; from
# memory, not verified). The shares are common practice, no source.
COPPER, ALUMINIUM, STEEL, SILICON_STEEL = 385.0, 903.0, 434.0, 460.0
COPPER_MAIN, COPPER_AUX = 0.06, 0.05
PER_MASS = Nodes(
    winding_main=COPPER_MAIN * COPPER,
    winding_aux=COPPER_AUX * COPPER,
    rotor=0.03 * ALUMINIUM + 0.17 * SILICON_STEEL + 0.05 * STEEL,
    core=0.38 * SILICON_STEEL,
    shell=0.20 * STEEL,
    bearing_blade=0.03 * STEEL,
    bearing_far=0.03 * STEEL,
)


def usual_inside(diameter, length, ways_stator=1.0, ways_rotor=1.0, ways_shields=1.0) -> Inside:
    """Conductances [W/K] inside of a usual motor, ``diameter`` and ``length`` [m] of its shell.

    ``ways_stator`` is a factor on the ways from the windings to the shell, ``ways_rotor`` on those
    of the rotor, ``ways_shields`` on those of the end shields: what is not known of a motor.
    Slots, press fit and air gap grow with diameter times length, ends with the diameter's square.
    Arrays broadcast. Raises InputError out of range.
    """
    d = check("diameter", diameter, DIAMETER_SHELL) / REFERENCE
    x = check("length", length, LENGTH_SHELL) / REFERENCE
    ways_stator = check("ways_stator", ways_stator, FACTOR)
    ways_rotor = check("ways_rotor", ways_rotor, FACTOR)
    ways_shields = check("ways_shields", ways_shields, FACTOR)
    grown = Inside(
        main_core=ways_stator * d * x,
        aux_core=ways_stator * d * x,
        main_aux=ways_stator * d * x,
        main_shell=ways_stator * d**2,
        aux_shell=ways_stator * d**2,
        core_shell=ways_stator * d * x,
        rotor_core=ways_rotor * d * x,
        rotor_shell=ways_rotor * d**2,
        rotor_blade=ways_rotor * d**2 / x,
        rotor_far=ways_rotor * d**2 / x,
        blade_shell=ways_shields * d,
        far_shell=ways_shields * d,
    )
    return Inside(*(g * factor for g, factor in zip(IN_REFERENCE, grown, strict=True)))


def usual_capacity(diameter, length, density=USUAL_DENSITY) -> Nodes:
    """Heat capacities [J/K] of the nodes of a usual motor.

    ``diameter`` and ``length`` [m] of its shell, ``density`` [kg/m3] of the whole body. Arrays
    broadcast. Raises InputError out of range.
    """
    diameter = check("diameter", diameter, DIAMETER_SHELL)
    length = check("length", length, LENGTH_SHELL)
    mass = check("density", density, DENSITY_BODY) * np.pi / 4 * diameter**2 * length
    return Nodes(*(mass * each for each in PER_MASS))


def usual_network(
    diameter, length, inside=None, hub_share=0.25, emissivity=0.9, upright=1.0
) -> Network:
    """The network of a usual motor, ``diameter`` and ``length`` [m] of its shell.

    ``inside`` [W/K] instead of the usual conductances; ``hub_share`` of each end shield is as
    warm as its bearing (0.15 to 0.35, own judgement); ``emissivity`` 0 is without radiation and
    ``upright`` 0 is a lying motor. Arrays broadcast. Raises InputError out of range.
    """
    hub = check("hub_share", hub_share, SHARE) * np.pi / 4 * np.square(diameter)
    return Network(
        inside=usual_inside(diameter, length) if inside is None else inside,
        diameter=diameter,
        length=length,
        area=shell_area(diameter, length) - 2 * hub,
        hub=hub,
        fin=FIN_IN_REFERENCE * (np.asarray(diameter) / REFERENCE) ** 1.5,
        capacity=usual_capacity(diameter, length),
        emissivity=emissivity,
        upright=upright,
    )
