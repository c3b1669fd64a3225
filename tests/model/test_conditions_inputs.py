"""The list of inputs: what was typed is shown as typed, and what is missing is said to be assumed."""

import numpy as np
import pytest

from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.model.conditions import AIR_SPEED_AT_MOTOR, site_conditions
from tests.jobs import job

ENGLISH, SPANISH = Writer("en"), Writer("es", "SI")


def shown(found, writer=ENGLISH) -> dict[str, tuple[str, str]]:
    """Name, value and origin of every input."""
    return {one.name: (*writer.input(one)[:2], one.origin) for one in found.inputs}


def test_what_was_typed_is_listed_as_measured_or_from_the_nameplate():
    inputs = shown(site_conditions(job(), 50))
    for name, title, value, origin in (
        ("line voltage", "Supply voltage", "232 V", "measured"),
        ("frequency", "Frequency", "60 Hz", "nameplate"),
        ("rated power", "Rated power", "1/3 hp", "nameplate"),
        ("rated speed", "Rated speed", "1075 rpm", "nameplate"),
        ("airflow", "Airflow", "2,400 cfm", "measured"),
        ("fan diameter", "Fan diameter", "22 in", "measured"),
        ("outdoor temperature", "Outdoor air", "105 degF", "measured"),
        ("elevation", "Elevation", "300 ft", "measured"),
        ("heat of the coil", "Heat rejected by the coil", "45,000 Btu/h", "measured"),
        ("blade mass", "Fan weight", "3.5 lb", "measured"),
    ):
        assert inputs[name] == (title, value, origin)
    assert inputs["range of the line voltage"][1:] == ("220 to 244 V", "assumed")
    assert "number of poles" not in inputs
    spanish = shown(site_conditions(job(), 50), SPANISH)
    assert not {title for title, *_ in spanish.values()} & {title for title, *_ in inputs.values()}


def test_what_is_missing_is_assumed():
    found = site_conditions(
        job(site__voltage=None, nameplate__frequency=None, blade__diameter=None,
            site__airflow=None, nameplate__speed=None, nameplate__power=None), 50
    )  # fmt: skip
    inputs = shown(found)
    assert found.frequency == 60.0 and inputs["frequency"][1:] == ("60 Hz", "assumed")
    assert inputs["line voltage"][1:] == ("198 to 242 V", "assumed")  # 208 - 5 %, 230 + 5 %
    np.testing.assert_allclose(found.voltage, [0.95 * 208, 230, 1.05 * 230])
    assert inputs["number of poles"][1:] == ("6", "assumed")
    for name in ("rated power", "rated speed", "fan diameter", "airflow"):
        assert inputs[name][2] == "assumed"
    assert "hp" in inputs["rated power"][1] and inputs["rated speed"][1].endswith("rpm")
    assert inputs["fan diameter"][1].endswith(" in") and inputs["airflow"][1].endswith(" cfm")
    fifty = site_conditions(job(site__frequency="50 Hz", nameplate__frequency=None), 50)
    assert shown(fifty)["frequency"][1:] == ("50 Hz", "measured") and fifty.frequency == 50.0


def test_air_speed_at_the_motor_varies_independently_of_the_other_inputs():
    found = site_conditions(job(), 400)
    mean = found.flow / (np.pi / 4 * found.blade_diameter**2)
    share = found.air_speed / mean
    low, high = AIR_SPEED_AT_MOTOR
    assert low <= share.min() < low + 0.02 and high - 0.02 < share.max() <= high
    for other in (found.coefficient, found.temp_air, found.sun):
        assert abs(np.corrcoef(share, other)[0, 1]) < 0.2


def test_a_nameplate_without_power_and_amps_is_rejected_with_what_to_type():
    neither = {"nameplate__power": None, "nameplate__current": None, "nameplate__capacitor": None}
    with pytest.raises(InputError) as caught:
        site_conditions(job(**neither), 50)
    said = ENGLISH.error(caught.value)
    assert "power and current are both missing" in said and "or a fan curve" in said
