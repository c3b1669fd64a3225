"""A part of a fleet screened, beside the jobs that its units are."""

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
from row import Row, timed

from airover.business import fleet_response
from airover.business.fleet_files import rows_of
from airover.business.fleet_screen import Screener
from airover.business.fleet_units import job_of
from airover.core.files import data_folder
from airover.records.catalog import read_catalog
from airover.selection.answer import answer


def fleet(motors: int, sample: int, repeats: int) -> Row:
    """The sample's units for the usual line against so many motors; tables made beforehand.

    What is compared are the winding's middles of the best motors, in degC.
    """
    usual = [m for m in read_catalog(data_folder() / "catalogue.csv") if m.voltage_high == 230]
    chosen = [motor for motor in usual if motor.frequency == 60][:motors]
    parts = [fleet_response.surfaces(group) for group in fleet_response.groups(chosen)]
    screener = Screener(chosen, fleet_response.joined(parts))
    table = pq.read_table(data_folder() / "fleet" / "example-units.parquet")
    table = table.filter(pa.compute.equal(table["plate_voltage_high_v"], 230.0))
    rows = rows_of(table)
    found = screener.screened(rows)
    ours, _ = timed(lambda: screener.screened(rows), repeats)
    some = np.flatnonzero(found.best.motor[:, 0] >= 0)[:sample]
    jobs = [job_of(table.slice(int(found.taken[at]), 1).to_pylist()[0]) for at in some]
    loop, answers = timed(lambda: [answer(job, chosen) for job in jobs])
    apart = [
        abs(found.best.figures[at, 0, 4] / _winding(one, chosen[found.best.motor[at, 0]].name) - 1)
        for at, one in zip(some, answers, strict=True)
    ]
    what = f"{len(table)} units x {len(chosen)} motors screened"
    peer = f"answer, job by job; {len(jobs)} timed, scaled"
    return Row(what, ours, peer, loop / len(jobs) * len(table), float(max(apart)), 0.02)


def _winding(answered, name: str) -> float:
    """Middle of the winding's band [degC] of the motor of that name."""
    case = next(c.case for c in answered.candidates if c.case.motor.name == name)
    return float(case.winding.mid)
