"""What meters showed on the running motor, at one moment."""

from collections.abc import Iterator

from pydantic import Field

from airover.errors import InputError
from airover.message import Message
from airover.records.fields import Record, amount


class Reading(Record):
    """One set of readings; what was not read is None.

    ``voltage`` [V] and ``current`` [A] of the line, ``power`` [W] that goes in, ``speed_rpm``,
    ``capacitor_voltage`` [V] across the capacitor's own terminals. Raises InputError for a field
    that cannot be read, and for more watts than volts x amps.
    """

    voltage: amount("voltage") = None
    current: amount("current") = None
    power: amount("power") = None
    speed_rpm: amount("speed") = Field(None, alias="speed")
    capacitor_voltage: amount("voltage") = None

    @property
    def is_complete(self) -> bool:
        """True with volts and at least one figure beside them."""
        others = (self.current, self.power, self.speed_rpm, self.capacitor_voltage)
        return self.voltage is not None and any(one is not None for one in others)

    def contradictions(self) -> Iterator[InputError]:
        if None in (self.voltage, self.current, self.power):
            return
        most = self.voltage.high * self.current.high
        if self.power.low > most:
            accepted = Message("error.measured.volt_amps", most=f"{most:.0f} W")
            yield InputError("power", self.power.text, accepted)
