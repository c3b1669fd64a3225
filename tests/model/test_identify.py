"""Circuits behind a plate: they meet it, they say the same twice, and odd plates are named."""

import dataclasses

import numpy as np
import pytest

from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.model import identify
from airover.model.identify import Point
from airover.physics.operating_point import fan_coefficient, settle
from airover.records.nameplate import Nameplate

PLATE = {
    "voltage": "208-230 V",
    "frequency": "60 Hz",
    "power": "1/3 hp",
    "current": "2.0 A",
    "speed": "1075 rpm",
    "capacitor": "7.5 uF",
}


@pytest.fixture(scope="module")
def ensemble():
    return identify.from_nameplate(Nameplate(**PLATE))


def plate_without(*fields):
    return Nameplate(**{name: text for name, text in PLATE.items() if name not in fields})


def width(amps):
    low, high = np.quantile(amps, (0.05, 0.95))
    return high - low


def test_every_circuit_delivers_the_nameplate_s_power_at_its_amps(ensemble):
    """Amps within the tolerance: NEMA MG 1, 12.47, allows 10 % (as quoted on public pages)."""
    at = ensemble.at_rating()
    np.testing.assert_allclose(at.power_out, 745.6999 / 3, rtol=1e-4)
    low, mid, high = np.quantile(np.abs(at.current), (0.05, 0.5, 0.95))
    assert 1.9 <= mid <= 2.0  # nameplate amps are more often high than low
    assert 1.7 < low < 1.85 and 2.0 < high < 2.2
    assert np.median(at.speed_rpm) == pytest.approx(1075, abs=8)
    low, high = np.quantile(at.speed_rpm, (0.05, 0.95))
    assert 1035 < low < 1060 and 1090 < high < 1110  # a class, not a speed


def test_powers_of_every_circuit_balance(ensemble):
    at = ensemble.settle([180.0, 208.0, 230.0, 253.0, 260.0]).solution
    np.testing.assert_allclose(at.power_in, at.power_out + at.loss, rtol=1e-9)


def test_efficiency_times_power_factor_is_what_the_plate_fixes(ensemble):
    """Volts x amps x efficiency x power factor is the shaft power: 0.540 for this plate."""
    at = ensemble.at_rating()
    product = at.power_out / (230.0 * np.abs(at.current))
    assert np.median(product) == pytest.approx(0.540, rel=0.06)  # the nameplate's tolerance


def test_amps_at_high_line_lie_where_saturation_puts_them(ensemble):
    """Linear 1.96-2.06 A at 260 V; plausible saturation 2.24 to 2.40 A (own computation)."""
    low, mid, high = np.quantile(ensemble.amps([260.0]), (0.05, 0.5, 0.95))
    assert low < 2.24 < high and low < 2.40 < high
    assert mid > 2.06


def test_amps_of_one_voltage_are_those_among_several(ensemble):
    several = ensemble.amps([208.0, 230.0, 253.0])
    np.testing.assert_allclose(ensemble.amps(230.0), several[:, 1:2])
    assert len(several) == 300 and len(identify.from_nameplate(PLATE, draws=50).amps(230.0)) == 50


def test_one_motor_can_have_thousands_of_samples():
    assert len(identify.from_nameplate(PLATE, draws=2000).amps(230.0)) == 2000


def test_the_same_seed_gives_the_same_samples(ensemble):
    again = identify.from_nameplate(Nameplate(**PLATE))
    np.testing.assert_array_equal(again.amps([230.0]), ensemble.amps([230.0]))
    other = identify.from_nameplate(Nameplate(**PLATE), seed=1)
    assert not np.array_equal(other.amps([230.0]), ensemble.amps([230.0]))


def test_a_motor_alone_is_the_motor_among_others():
    small = {**PLATE, "power": "1/4 hp", "current": "1.6 A", "capacitor": "5 uF"}
    plates = [identify.ratings_of(Nameplate(**facts)) for facts in (PLATE, small)]
    both = identify.Ratings(
        **{
            field.name: np.concatenate([getattr(plate, field.name) for plate in plates])
            for field in dataclasses.fields(identify.Ratings)
        }
    )
    together = identify.ensemble(both, 40)
    alone = identify.ensemble(plates[1], 40)
    np.testing.assert_allclose(together.circuit.R2[1], alone.circuit.R2[0], rtol=1e-9)
    # The same with evidence that the other motor does not have, or has more of.
    fan, nan = 0.7 * fan_coefficient(745.7 / 4, 1075.0), np.nan

    def readings(*columns):
        volts, printed, watts, speed = (np.array(c)[:, None] for c in columns)
        return [
            Point(230.0, current=printed, coefficient=fan, printed=True),
            Point(volts, power_in=watts, speed_rpm=speed),
        ]

    first = readings([236.0, 230.0], [nan, 1.25], [400.0, nan], [1080.0, nan])
    second = readings([230.0, 236.0], [nan, 1.25], [nan, 330.0], [nan, nan])
    third = readings([236.0, 236.0], [nan, nan], [400.0, 330.0], [nan, nan])
    for points in (first, second, third):
        own = [p.rearranged(lambda x: x[1:] if np.ndim(x) else x) for p in points]
        among = identify.ensemble(both, 40, measured=points)
        alone = identify.ensemble(plates[1], 40, measured=own)
        np.testing.assert_allclose(among.circuit.Xm[1], alone.circuit.Xm[0], rtol=1e-9)
    untouched = identify.ensemble(plates[0], 40)
    among = identify.ensemble(both, 40, measured=second)
    np.testing.assert_allclose(among.circuit.R2[0], untouched.circuit.R2[0], rtol=1e-9)
    # A voltage alone is no reading.
    among = identify.ensemble(both, 40, measured=[Point(236.0)])
    np.testing.assert_allclose(among.circuit.R2, together.circuit.R2, rtol=1e-9)


def test_a_motor_that_no_circuit_fits_does_not_spoil_the_others():
    """A 60 uF capacitor does not belong to a 2 A motor; the amps of 1.2 A are too few for 1/3 hp."""
    odd = [Nameplate(**PLATE | entry) for entry in ({"capacitor": "60 uF"}, {"current": "1.2 A"})]
    found = identify.ensemble(identify.ratings_of(odd[0], Nameplate(**PLATE), odd[1]), 40)
    assert found.met.all(axis=1).tolist() == [False, True, False]
    alone = identify.ensemble(identify.ratings_of(Nameplate(**PLATE)), 40)
    np.testing.assert_allclose(found.circuit.R2[1], alone.circuit.R2[0], rtol=1e-9)
    # Typical circuits take the place of the odd motor, or those of another nameplate.
    typical = found.rearranged(lambda value: value[2]).settle([208.0, 230.0, 253.0]).solution
    assert np.all(np.abs(np.log(np.median(typical.power_out, axis=0) / (745.7 / 3))) < 0.4)
    again = found.replaced(2, alone)
    np.testing.assert_array_equal(again.circuit.R2[[0, 1]], found.circuit.R2[[0, 1]])
    np.testing.assert_array_equal(again.circuit.R2[2], alone.circuit.R2[0])
    assert again.met.all(axis=1).tolist() == [False, True, True]


def test_a_nameplate_without_hertz_is_for_60_hz():
    plate = Nameplate(**dict(plate_without("frequency")) | {"poles": 6})
    assert identify.ratings_of(plate).frequency.tolist() == [60.0]


def test_unreadable_microfarads_are_those_of_such_motors():
    """5 to 10 uF for 1/3 hp at 230 V (common practice); a 460 V motor that feeds its capacitor
    from a tap needs the same, and one that does not needs a quarter of it."""
    usual = identify.from_nameplate(plate_without("capacitor")).circuit.capacitance
    low, mid, high = np.quantile(usual, (0.05, 0.5, 0.95))
    assert 4e-6 < low and 6.5e-6 < mid < 9e-6 and high < 12e-6
    plate = dict(plate_without("capacitor")) | {"voltage": "460 V", "current": "1.0 A"}
    circuit = identify.from_nameplate(Nameplate(**plate), draws=400).circuit
    tapped = circuit.tap == 0.5
    assert 0.2 < np.mean(tapped) < 0.8  # either connection is possible
    assert np.median(circuit.capacitance[tapped]) == pytest.approx(mid, rel=0.2)
    assert np.median(circuit.capacitance[~tapped]) == pytest.approx(mid / 4, rel=0.2)


@pytest.mark.parametrize("missing", ["capacitor", "speed", "power", "current"])
def test_a_missing_fact_widens_the_band(ensemble, missing):
    plate = plate_without(missing)
    if missing == "speed":
        plate = Nameplate(**dict(plate) | {"poles": 6})
    band = identify.from_nameplate(plate).amps([208.0])
    assert np.all(np.isfinite(band))
    assert width(band) > 0.95 * width(ensemble.amps([208.0]))


def test_power_from_volts_and_amps_has_the_band_of_such_motors():
    power = identify.from_nameplate(plate_without("power")).power
    low, high = np.quantile(power, (0.05, 0.95))
    assert low < 745.7 / 3 < high
    # efficiency 0.50 to 0.70, power factor 0.85 to 0.98, common practice
    assert 0.50 * 0.85 * 460 < low and high < 0.70 * 0.98 * 460


@pytest.mark.parametrize(
    ("missing", "named", "remedy"),
    [
        (("voltage",), "voltage", "Enter a value from the nameplate"),
        (("power", "current"), "power", "at least one of the two"),
        (("speed",), "poles", "Enter a value from the nameplate"),
    ],
)
def test_too_little_on_the_plate_is_said(missing, named, remedy):
    with pytest.raises(InputError, match=named) as caught:
        identify.from_nameplate(plate_without(*missing))
    assert remedy in Writer("en").error(caught.value)


def test_a_plate_that_no_such_motor_can_have_is_said():
    with pytest.raises(InputError, match="nameplate"):
        identify.from_nameplate({**PLATE, "current": "1.1 A", "capacitor": "60 uF"})


@pytest.mark.parametrize(("amps", "power"), [("10 A", "1/6 hp"), ("1.2 A", "1/3 hp")])
def test_amps_and_horsepower_that_cannot_go_together_are_not_met(amps, power):
    plate = identify.ratings_of(Nameplate(**PLATE | {"current": amps, "power": power}))
    assert not identify.ensemble(plate, 20).met.any()


VOLTS = [(115, None), (200, None), (230, 370), (277, 370), (380, 440), (460, 370), (460, 660)]


@pytest.mark.parametrize(("volts", "capacitor"), [*VOLTS, (460, None), (575, 440)])
@pytest.mark.parametrize("product", [0.30, 0.45, 0.60, 0.70])
def test_every_ordinary_nameplate_can_be_identified(volts, capacitor, product):
    """1/12 to 1 hp, 4 to 8 poles; a capacitor for less than the line is fed from a tap."""
    power = 745.7 * np.array([1 / 12, 1 / 6, 1 / 3, 1.0])
    count = len(power)
    plate = identify.Ratings(
        voltage=np.full(count, volts),
        frequency=np.full(count, 50.0 if volts == 380 else 60.0),
        poles=[4, 6, 8, 6],
        power=power,
        current=power / (volts * product),
        speed_rpm=np.full(count, np.nan),
        capacitance=np.full(count, np.nan),
        capacitor_voltage=np.full(count, np.nan if capacitor is None else capacitor),
    )
    found = identify.ensemble(plate, 40)
    assert found.met.all()
    current = np.abs(found.at_rating().current)
    assert np.all(np.abs(np.log(np.median(current, axis=1) / plate.current)) < 0.2)
    across = np.abs(found.at_rating().voltage_capacitor)
    if capacitor is not None:
        assert np.all(np.median(across, axis=1) < 1.05 * capacitor)
        assert np.all(found.circuit.tap == (0.5 if capacitor < 1.2 * volts else 1.0))


@pytest.mark.parametrize(
    ("power", "amps", "capacitor"),
    [("1/6 hp", "2.9 A", "5 uF"), ("1/4 hp", "4.3 A", "5 uF"), ("1/3 hp", "5.2 A", "7.5 uF")],
)
def test_a_115_v_motor_has_many_auxiliary_turns(power, amps, capacitor):
    """Ordinary nameplates (common practice, no source): a small capacitor at a high voltage leaves
    a low power factor, and the efficiency is that of such motors at 230 V."""
    plate = {"voltage": "115 V", "frequency": "60 Hz", "speed": "1075 rpm", "power": power}
    plate |= {"current": amps, "capacitor": f"{capacitor} 370 V"}
    found = identify.from_nameplate(Nameplate(**plate))
    at = found.at_rating()
    assert np.all(np.abs(at.voltage_capacitor) < 1.1 * 370)
    assert 200 < np.median(np.abs(at.voltage_capacitor)) < 300
    assert 1.8 < np.median(found.circuit.turns_ratio) < 2.6
    assert 0.65 < np.median(at.power_in / (115 * np.abs(at.current))) < 0.80
    assert 0.50 < np.median(at.power_out / at.power_in) < 0.62


@pytest.mark.parametrize("fan", [None, fan_coefficient(745.6999 / 5, 1075.0)])
def test_a_reading_is_trusted_within_the_error_of_the_meter(fan):
    """The range of the amps after a reading of the amps is the clamp meter's own, 1.5 %."""
    read = 2.0 if fan is None else 1.62
    point = Point(230.0, current=read, coefficient=fan)
    found = identify.from_nameplate(Nameplate(**PLATE), draws=600, measured=[point])
    point = settle(found.circuit, 230.0, 60.0, found.coefficient if fan is None else fan)
    amps = np.abs(point.solution.current)
    assert np.mean(amps) == pytest.approx(read, rel=0.01)
    assert np.std(amps) / read == pytest.approx(0.015, rel=0.15)


def test_amps_on_a_lighter_fan_update_the_motor():
    """A clamp-meter reading fixes the amps; the nameplate amps of a lower rating only move them."""
    fan = fan_coefficient(745.6999 / 5, 1075.0)

    def amps(*measured):
        found = identify.from_nameplate(Nameplate(**PLATE), draws=200, measured=measured)
        return float(np.median(np.abs(settle(found.circuit, 230.0, 60.0, fan).solution.current)))

    usual = amps()
    for share in (0.94, 1.06):
        point = Point(230.0, current=share * usual, coefficient=fan)
        read, printed = amps(point), amps(point._replace(printed=True))
        assert read == pytest.approx(share * usual, rel=0.015)
        true = share * usual / 1.02  # printed amps are typically 2 % high
        assert min(usual, true) < printed < max(usual, true)
        assert abs(printed / true - 1) > abs(read / (share * usual) - 1)
