"""Reading the catalog: every cell checked and in SI, beside pandas, which only splits them."""

import pandas as pd
from row import Row, timed

from airover.core.files import data_folder
from airover.records.catalog import read_catalog


def read(repeats: int) -> Row:
    path = data_folder() / "catalogue.csv"
    read_catalog(path)  # the registry of units is made once, at the first need
    ours, motors = timed(lambda: read_catalog(path), repeats)
    peer, frame = timed(lambda: pd.read_csv(path, dtype=str), repeats)
    same = [motor.model for motor in motors] == list(frame["model"])
    highest = [float(cell.split(";")[-1]) for cell in frame["currents [A]"]]
    apart = max(abs(m.currents[-1] / amps - 1) for m, amps in zip(motors, highest, strict=True))
    apart = apart if same else 1.0
    return Row(f"catalog of {len(motors)} motors, checked, in SI", ours,
               "pandas.read_csv, texts only", peer, apart, 1e-12)  # fmt: skip
