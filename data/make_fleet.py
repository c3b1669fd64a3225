"""Generate fleet/example-units.parquet: an invented table of units, one row per unit.

The old motor of each unit is a single-rating motor from the invented catalog, as installed at the
factory, with part of its nameplate unreadable; the site conditions are sampled from the ranges
below. A few rows contain deliberate errors. No real place, owner or manufacturer is represented.

python data/make_fleet.py                      1000 units, the sample
python data/make_fleet.py 1000000 FILE.parquet
"""

import sys
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from airover.records.catalog import read_catalog

FOLDER = Path(__file__).resolve().parent
SEED, ROWS, CHUNK = 41507, 1000, 100_000
UNREADABLE = 0.06  # fraction of each nameplate column
WRONG = 0.004  # fraction of rows with each of two errors
SITES = {  # uniform between the limits, rounded to the given digits
    "outdoor_temperature_c": (32.0, 48.0, 1),
    "elevation_m": (0.0, 1800.0, 0),
    "line": (218.0, 246.0, 1),
    "coil_rise_k": (6.0, 14.0, 1),
    "airflow": (0.30, 0.42, 4),  # airflow over (revolutions per second times diameter cubed)
}


def units(motors, count: int, seed: int) -> pa.Table:
    """Return ``count`` units; the same ``seed`` gives the same units."""
    rng = np.random.default_rng([SEED, seed])
    motors = [motor for motor in motors if len(motor.ratings) == 1]
    motor = rng.integers(len(motors), size=count)

    def of(read, unreadable=UNREADABLE):
        values = np.array([read(m) for m in motors], dtype=object)[motor]
        values[rng.random(count) < unreadable] = None
        return values.tolist()

    def rated(read):
        chosen = [read(motors[m])[0] for m in motor]
        gone = rng.random(count) < UNREADABLE / 2
        return [None if lost else round(one, 4) for one, lost in zip(chosen, gone)]

    site = {
        name: np.round(rng.uniform(low, high, count), digits)
        for name, (low, high, digits) in SITES.items()
    }
    diameter = rng.choice([457.2, 508.0, 558.8, 609.6], size=count)
    speed = np.array([m.speed_rpm for m in motors])[motor]
    high = np.array([m.voltage_high for m in motors])[motor]
    flow = site["airflow"] * speed * 60 * (diameter / 1000) ** 3
    flow = np.where(rng.random(count) < 0.5, np.round(flow), np.nan)
    outdoor = site["outdoor_temperature_c"]
    outdoor[rng.random(count) < WRONG] = 140.0  # degrees Fahrenheit entered as Celsius
    power = rated(lambda m: m.ratings)
    for at in np.flatnonzero(rng.random(count) < WRONG):
        power[at] = 9000.0
    line = np.round(site["line"] * high / 230, 1)
    known = {
        "unit": [f"U{seed:04d}-{number:06d}" for number in range(count)],
        "plate_voltage_low_v": of(lambda m: m.voltage_low, 0.0),
        "plate_voltage_high_v": of(lambda m: m.voltage_high, 0.0),
        "frequency_hz": of(lambda m: m.frequency, 0.0),
        "phase": of(lambda m: m.phase, 0.0),
        "power_w": power,
        "current_a": rated(lambda m: m.currents),
        "speed_rpm": of(lambda m: m.speed_rpm, 0.0),
        "poles": of(lambda m: m.poles),
        "capacitor_uf": of(lambda m: _scaled(m.capacitor, 1e6)),
        "rotation": rng.choice(["clockwise", "counterclockwise"], size=count).tolist(),
        "rotation_seen_from": of(lambda m: "lead end"),
        "frame": of(lambda m: m.frame),
        "shaft_diameter_mm": of(lambda m: _scaled(m.shaft_diameter, 1e3)),
        "shaft_length_mm": of(lambda m: _scaled(m.shaft_length, 1e3)),
        "body_length_mm": of(lambda m: _scaled(m.body_length, 1e3)),
        "mounting": of(lambda m: m.mounting[0] if m.mounting else None),
        "shaft_position": of(lambda m: m.shaft_positions[0] if m.shaft_positions else None),
        "enclosure": of(lambda m: m.enclosure),
        "blade_diameter_mm": diameter,
        "line_voltage_low_v": pa.array(line, mask=rng.random(count) < 0.2),
        "outdoor_temperature_c": outdoor,
        "elevation_m": site["elevation_m"],
        "coil_rise_k": pa.array(site["coil_rise_k"], mask=rng.random(count) < 0.5),
        "airflow_m3h": pa.array(flow, from_pandas=True),
    }
    spread = np.round(line + rng.uniform(0.0, 12.0, count), 1)
    known["line_voltage_high_v"] = pa.array(spread, mask=rng.random(count) < 0.6)
    columns = {name: pa.array(values, type=_type(name)) for name, values in known.items()}
    return pa.table(columns)


def _scaled(value, scale):
    return None if value is None else round(value * scale, 3)


def _type(name: str):
    if name == "poles":
        return pa.int64()
    words = "unit", "rotation", "rotation_seen_from", "frame", "mounting", "shaft_position"
    return pa.string() if name in (*words, "enclosure") else pa.float64()


def write(path, count: int) -> None:
    """Write ``count`` units to ``path``, one chunk at a time."""
    motors = read_catalog(FOLDER / "catalogue.csv")
    first = units(motors, min(count, CHUNK), 0)
    with pq.ParquetWriter(path, first.schema, compression="zstd") as file:
        file.write_table(first)
        for number, start in enumerate(range(CHUNK, count, CHUNK), 1):
            file.write_table(units(motors, min(CHUNK, count - start), number))


if __name__ == "__main__":
    given = sys.argv[1:]
    rows = int(given[0]) if given else ROWS
    target = Path(given[1]) if len(given) > 1 else FOLDER / "fleet" / "example-units.parquet"
    write(target, rows)
