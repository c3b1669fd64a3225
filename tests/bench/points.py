"""Operating points: a whole job, and many points at once."""

import numpy as np
from row import Row, timed
from scalar import Motor
from scipy.optimize import elementwise

from airover.core.files import data_folder
from airover.model.identify import from_nameplate
from airover.model.simulation import simulate
from airover.physics.operating_point import settle
from airover.records.catalog import read_catalog
from airover.records.job import Job
from airover.selection.answer import answer

PLATE = {
    "voltage": "230 V", "frequency": "60 Hz", "power": "1/3 hp", "current": "2.0 A",
    "speed": "1075 rpm", "poles": 6, "capacitor": "7.5 uF",
}  # fmt: skip


def one_job(sample: int, repeats: int) -> Row:
    """answer() on the catalog, beside a loop that only finds every point of the cold motors."""
    job = Job.read(data_folder() / "jobs" / "roof-unit.toml")
    motors = read_catalog(data_folder() / "catalogue.csv")
    ours, _ = timed(lambda: answer(job, motors), repeats)
    worked = simulate(job, motors)
    asked, rated = worked.conditions, worked.rated
    voltage = asked.voltage[:, None, None]
    points = settle(rated.circuit, voltage, asked.frequency, asked.coefficient)
    peer, apart = looped(rated.circuit, voltage, asked.frequency, asked.coefficient, points, sample)
    name = f"brentq per case, {points.slip.size} cold points only; {sample} timed, scaled"
    return Row(f"one job, {len(motors)} motors, answered", ours, name, peer, apart, 1e-6)


def many_points(draws: int, sample: int, repeats: int) -> list[Row]:
    """settle() beside a loop, and beside SciPy's own vectorised root finder."""
    motor = from_nameplate(PLATE, draws)
    circuit = motor.rearranged(lambda value: value[:, None]).circuit
    coefficient = motor.coefficient[:, None]
    voltage = np.linspace(200.0, 250.0, 10)
    ours, points = timed(lambda: settle(circuit, voltage, 60.0, coefficient), repeats)
    loop, apart = looped(circuit, voltage, 60.0, coefficient, points, sample)
    vector, found = timed(lambda: vectorised(circuit, voltage, coefficient, points.slip), repeats)
    what = f"{points.slip.size} operating points"
    away = float(np.max(np.abs(found / points.slip - 1)))
    name = f"brentq per case; {sample} timed, scaled"
    return [
        Row(what, ours, name, loop, apart, 1e-6),
        Row(what, ours, "elementwise.find_root, known bracket", vector, away, 1e-6),
    ]


def looped(circuit, voltage, frequency, coefficient, points, sample):
    """Time of brentq on all of the cases, from ``sample`` of them, and how far slips differ."""
    shape, slips = points.slip.shape, points.slip
    voltage, coefficient = (np.broadcast_to(x, shape) for x in (voltage, coefficient))
    running = np.flatnonzero(points.starts)  # a motor that stands still has no root to look for
    places = np.random.default_rng(1).choice(running, sample, replace=False)
    places = [np.unravel_index(place, shape) for place in places]

    def loop():
        return [
            Motor(circuit, shape, at).settled_slip(
                float(voltage[at]), float(frequency), float(coefficient[at])
            )
            for at in places
        ]

    seconds, found = timed(loop)
    apart = max(abs(slip / slips[at] - 1) for slip, at in zip(found, places, strict=True))
    return seconds * slips.size / sample, float(apart)


def vectorised(circuit, voltage, coefficient, slips):
    """All slips by one call, between synchronous speed and a little more than ``slips``."""
    shape = np.broadcast_shapes(circuit.shape, voltage.shape)

    def flat(value):
        return np.broadcast_to(value, shape).ravel()

    circuit = circuit.rearranged(flat)
    voltage, coefficient = flat(voltage), flat(coefficient)

    def surplus(slip, which):
        motors = circuit.rearranged(lambda value: value[which])
        at = motors.balance(voltage[which], 60.0, slip)
        return at.torque - coefficient[which] * (at.speed_rpm * np.pi / 30) ** 2

    places = np.arange(len(voltage))
    result = elementwise.find_root(surplus, (1e-4, 1.05 * flat(slips)), args=(places,))
    assert result.success.all()
    return result.x.reshape(shape)
