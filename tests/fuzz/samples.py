"""Good input for the entrances: the sample data, a small catalog, and files made here."""

import io
import json
import struct
import zlib
from functools import cache
from pathlib import Path
from random import Random

from airover.core.files import data_folder
from airover.records.catalog import catalog_of
from airover.records.job import Job
from tests.fuzz.mutate import hostile_text, mutated
from tests.model.test_year import epw, own, tmy3

DATA = data_folder()
SAMPLE = DATA / "jobs" / "roof-unit.toml"
CALLS = 12  # rows of the sample that are kept


def files(*patterns: str) -> tuple[bytes, ...]:
    """The sample files of these patterns, below the data folder."""
    found = tuple(path.read_bytes() for one in patterns for path in sorted(DATA.glob(one)))
    assert found, patterns
    return found


def head(path: Path, lines: int) -> bytes:
    """The first ``lines`` of a sample file."""
    return b"\n".join(path.read_bytes().split(b"\n")[:lines]) + b"\n"


@cache
def job() -> Job:
    return Job.read(SAMPLE)


@cache
def small_catalog() -> bytes:
    """The heading, the motors of the sample job and some for another line."""
    lines = (DATA / "catalogue.csv").read_bytes().split(b"\n")
    wanted = (b",A-005,", b",A-009,", b",C-015,")
    near = [line for line in lines if any(one in line for one in wanted)]
    assert len(near) == len(wanted)
    return b"\n".join([lines[0], *near, *lines[1:130:40]]) + b"\n"


@cache
def motors():
    return catalog_of(small_catalog().decode())


@cache
def weather() -> tuple[bytes, ...]:
    """A year in each of the three kinds of file."""
    return tuple(("\n".join(lines) + "\n").encode() for lines in (own(), epw(), tmy3()))


def curves_typed() -> tuple[bytes, ...]:
    points = ("2800 cfm, 0.05 in. w.g., 190 W", "2400 cfm, 0.15 in. w.g., 210 W",
              "1500 cfm, 0.35 in. w.g., 240 W", "1000 cfm, 0.38 in. w.g., 236 W")  # fmt: skip
    return ("\n".join(points).encode(),)


@cache
def unsaved() -> tuple[bytes, ...]:
    """Work that a page or a panel kept over a reload."""
    typed = {
        "nameplate": {"voltage": "208-230 V", "power": "1/3 hp", "current": "1.9 A",
                      "speed": "1075 rpm", "rotation": "clockwise"},
        "job": {"name": "Roof", "kept": "[found]\ninside = \"dry\"\n"},
        "measured": {"motor": "", "file": "[[reading]]\ncurrent = \"1.85 A\"\n"},
        "blade": {"diameter": "22 in"}, "site": {"outdoor_temperature": "105 degF"},
        "page": {"language": "es", "units": "SI", "step": "1"},
    }  # fmt: skip
    kept = {"saved": "2026-03-15 12:00:00", "typed": typed}
    return (json.dumps(kept, indent=1, ensure_ascii=False).encode(),)


def chunk(kind: bytes, data: bytes) -> bytes:
    """A chunk of a PNG file."""
    body = kind + data
    return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))


def png(width: int, height: int, rows: int | None = None) -> bytes:
    """A grey PNG of ``width`` x ``height``, of which ``rows`` are there (None: all)."""
    told = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    pressed, one = zlib.compressobj(9), bytes(width + 1)
    data = b"".join(pressed.compress(one) for _ in range(height if rows is None else rows))
    return b"".join((b"\x89PNG\r\n\x1a\n", chunk(b"IHDR", told),
                     chunk(b"IDAT", data + pressed.flush()), chunk(b"IEND", b"")))  # fmt: skip


def jpeg(width: int, height: int) -> bytes:
    """The head of a JPEG that tells its size, and nothing more."""
    told = struct.pack(">BHHB", 8, height, width, 1) + b"\x01\x11\x00"
    return b"\xff\xd8\xff\xc0" + struct.pack(">H", len(told) + 2) + told + b"\xff\xd9"


@cache
def parquet_calls() -> tuple[bytes, ...]:
    """Calls as Parquet: with dates, and with all kinds of columns."""
    import pyarrow as pa
    from pyarrow import csv

    text = head(DATA / "calls" / "calls.csv", CALLS)
    table = csv.read_csv(io.BytesIO(text))
    return (parquet_of(table), parquet_of(table.slice(0, 1)), parquet_of(pa.table({"date": []})))


RUN = {"units": "a1", "catalog": "b2", "code": "c3", "rows in a part": 10}  # inputs of a fleet


@cache
def manifests() -> tuple[bytes, ...]:
    """The manifest of a fleet's run with two parts, and that of one just begun."""
    counts = {"rows": 10, "accepted": 9, "rejected": 1, "fits": 4, "fits_with_work": 3}
    part = counts | {"chosen": {"0": 4, "3": 3}, "files": {"part-00000.parquet": "d4"}}
    parts = {"0": part, "1": part}
    told = {"inputs": RUN, "rows_done": 20, "accepted": 18, "rejected": 2, "parts": parts}
    begun = told | {"rows_done": 0, "accepted": 0, "rejected": 0, "parts": {}}
    return tuple(json.dumps(one, indent=1).encode() for one in (told, begun))


@cache
def parquet_fleet() -> tuple[bytes, ...]:
    import pyarrow.parquet as pq

    table = pq.read_table(DATA / "fleet" / "example-units.parquet").slice(0, CALLS)
    return (parquet_of(table.combine_chunks()),)


def parquet_of(table) -> bytes:
    import pyarrow.parquet as pq

    file = io.BytesIO()
    pq.write_table(table, file)
    return file.getvalue()


def parquet_changed(rng: Random, seeds: tuple[bytes, ...]) -> bytes:
    """A Parquet file with bytes, cells, names or kinds of columns changed."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    content = rng.choice(seeds)
    if rng.random() < 0.3:
        return mutated(rng, content, seeds)
    table = pq.read_table(io.BytesIO(content))
    for _ in range(rng.choice((1, 1, 2, 3))):
        if not table.num_columns:
            break
        at = rng.randrange(table.num_columns)
        name, cells = table.column_names[at], table.column(at).to_pylist()
        way = rng.randrange(6)
        if way == 0:
            table = table.remove_column(at)
        elif way == 1:
            name = rng.choice((name.upper(), name + " ", hostile_text(rng), name + " [x]", "self"))
            table = table.set_column(at, name.encode("utf-8", "replace").decode(), table.column(at))
        elif way == 2:
            table = table.append_column(name, table.column(at))
        elif way == 3 and cells:
            cells[rng.randrange(len(cells))] = hostile_text(rng)
            texts = [None if one is None else str(one).encode("utf-8", "replace").decode()
                     for one in cells]  # fmt: skip
            table = table.set_column(at, name, pa.array(texts, pa.string()))
        elif way == 4 and cells:
            numbers = [_float(one) for one in cells]
            numbers[rng.randrange(len(cells))] = rng.choice(
                (float("nan"), float("inf"), -float("inf"), 1e308, -1e308, 5e-324, -1.0, 0.0, 1e-9,
                 1e6, rng.uniform(-100, 2000)))  # fmt: skip
            table = table.set_column(at, name, pa.array(numbers, pa.float64()))
        else:
            return parquet_of(table.set_column(at, name, _odd_column(rng, table.num_rows)))
    return parquet_of(table)


def _float(value) -> float | None:
    try:
        return float(value)
    except (TypeError, ValueError):
        return None


def _odd_column(rng: Random, rows: int):
    """A column of a kind that nobody expects."""
    import pyarrow as pa

    kind, value = rng.choice((
        (pa.bool_(), True), (pa.binary(), b"\xff\x00"), (pa.date32(), 2**31 - 1),
        (pa.date64(), 86_400_000 * 2**31), (pa.timestamp("ns"), 2**62), (pa.timestamp("s"), 2**50),
        (pa.timestamp("us", "UTC"), 0), (pa.duration("s"), 2**62), (pa.list_(pa.int8()), [1]),
        (pa.struct([("a", pa.int8())]), {"a": 1}), (pa.decimal128(38, 3), 10), (pa.int64(), 2**62),
        (pa.uint64(), 2**64 - 1), (pa.float32(), float("nan")), (pa.null(), None),
        (pa.large_string(), "x"), (pa.time64("us"), 1), (pa.map_(pa.string(), pa.int8()), [("a",
        1)]),
        (pa.dictionary(pa.int8(), pa.string()), "60"), (pa.float16(), None), (pa.int8(), None),
    ))  # fmt: skip
    return pa.array([value] * rows, kind)
