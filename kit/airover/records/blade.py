"""The fan blade on the motor's shaft, and its curve where one is known."""

from collections.abc import Iterator

import numpy as np
from pydantic import Field

from airover.errors import NOTHING, InputError
from airover.message import Message
from airover.records.fields import Record, Text, amount, amounts, choice, whole
from airover.records.rotation import ENDS, SENSES, from_shaft_end
from airover.units import Amount, quoted

FEWEST_POINTS = 3


class Curve(Record):
    """Points of a fan curve at one speed and air density.

    ``flow`` [m3/s] ascends; ``pressure`` (static) [Pa] and shaft ``power`` [W] have a value for
    each flow. An unknown ``density`` [kg/m3] is None.
    """

    flow: amounts("flow") = ()
    pressure: amounts("pressure") = ()
    power: amounts("power") = ()
    speed_rpm: amount("speed") = Field(None, alias="speed")
    density: amount("density") = None

    def arrays(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Flow [m3/s], static pressure [Pa] and shaft power [W], each of shape (points,)."""
        columns = (self.flow, self.pressure, self.power)
        return tuple(np.array([amount.mid for amount in column]) for column in columns)

    def contradictions(self) -> Iterator[InputError]:
        counts = [len(self.flow), len(self.pressure), len(self.power)]
        if min(counts) < FEWEST_POINTS or len(set(counts)) > 1:
            names = ("flows", "pressures", "powers")
            given = Message("error.curve.counts", **dict(zip(names, counts, strict=True)))
            yield InputError("points", given, Message("error.curve.as_many", count=FEWEST_POINTS))
        if any(high.low <= low.high for low, high in zip(self.flow, self.flow[1:])):
            given = quoted(", ".join(amount.text for amount in self.flow))
            yield InputError("flow", given, Message("error.curve.ascending"))
        if self.speed_rpm is None:
            yield InputError("speed", NOTHING, Message("error.curve.speed", example="1075 rpm"))


class Blade(Record):
    """What is known of the blade: amounts in SI units, ``pitch`` in rad; unknown fields None."""

    diameter: amount("blade_diameter") = None
    blades: whole(2, 24) = None
    pitch: amount("angle") = None
    mass: amount("mass") = None
    rotation: choice(SENSES) = None
    rotation_seen_from: choice(ENDS) = None
    bore: amount("shaft_diameter") = None
    hub_diameter: amount("length") = None
    height_in_orifice: amount("length") = None
    material: Text = ""
    curve: Curve | None = None

    @property
    def rotation_shaft_end(self) -> str | None:
        """The rotation as seen from the motor's shaft end; None when that cannot be known."""
        return from_shaft_end(self.rotation, self.rotation_seen_from)

    def contradictions(self) -> Iterator[InputError]:
        yield from _inside("bore", self.bore, "below_hub", self.hub_diameter)
        yield from _inside("hub diameter", self.hub_diameter, "below_blade", self.diameter)


def _inside(name: str, inner: Amount | None, accepted: str, outer: Amount | None):
    """An InputError when ``inner`` is known not to fit in ``outer``."""
    if inner is not None and outer is not None and inner.low >= outer.high:
        yield InputError(name, inner.text, Message(f"error.size.{accepted}", diameter=outer.text))
