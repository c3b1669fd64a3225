"""The unit's site: outdoor air, elevation and supply."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import PlainValidator, ValidationInfo

from airover.core.errors import InputError, Range
from airover.core.message import Message
from airover.records.fields import EXPOSURES, Record, amount, choices, phase_field, text_field

# heat that a cubic metre of air takes up [J/(m3 K)], for any air this kit accepts
_LEAST_HEAT_OF_AIR, _MOST_HEAT_OF_AIR = 0.5 * 1004.0, 1.6 * 1030.0


def _hazardous(value, info: ValidationInfo) -> str | bool | None:
    known = value is None or isinstance(value, bool)
    return value if known else text_field(value, info) or None


class Site(Record):
    """Facts about the site: amounts in SI units, temperatures in degC; unknown fields None.

    ``voltage`` is measured, a range where it varies. The coil's heating of the air is told by
    ``coil_temperature_rise`` [K], or by ``heat`` [W] and ``airflow`` [m3/s]. ``max_body_length``
    and ``max_body_diameter`` [m] are the room for the motor.
    """

    outdoor_temperature: amount("air_temperature") = None
    outdoor_temperature_min: amount("air_temperature") = None
    elevation: amount("elevation") = None
    relative_humidity: amount("humidity") = None
    voltage: amount("voltage") = None
    frequency: amount("frequency") = None
    phase: phase_field() = None
    coil_temperature_rise: amount("temperature_rise") = None
    heat: amount("heat") = None
    airflow: amount("flow") = None
    recirculation: amount("temperature_rise") = None
    exposure: choices(EXPOSURES) = ()
    hazardous: Annotated[str | bool | None, PlainValidator(_hazardous)] = None
    max_body_length: amount("body_length") = None
    max_body_diameter: amount("body_diameter") = None

    def contradictions(self) -> Iterator[InputError]:
        lowest, design = self.outdoor_temperature_min, self.outdoor_temperature
        if lowest is not None and design is not None and lowest.low > design.high:
            accepted = Message("error.site.coldest", temp=design)
            yield InputError("outdoor temperature min", lowest.text, accepted)
        yield from self._rise_against_heat()

    def _rise_against_heat(self) -> Iterator[InputError]:
        rise, heat, flow = self.coil_temperature_rise, self.heat, self.airflow
        if rise is None or heat is None or flow is None or not flow.low:
            return
        least = heat.low / (_MOST_HEAT_OF_AIR * flow.high)
        most = heat.high / (_LEAST_HEAT_OF_AIR * flow.low)
        if rise.high < least or rise.low > most:
            span = Range(round(least, 1), round(most, 1), "K")
            accepted = Message("error.site.rise", range=span, heat=heat, flow=flow)
            yield InputError("coil temperature rise", rise.text, accepted)
