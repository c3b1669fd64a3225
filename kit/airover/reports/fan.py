"""One fan at its place in words: verdict, facts, warnings, and what else to measure.

Every function takes the Writer of the reader's language and units.
"""

import numpy as np

from airover.bands import Band
from airover.message import Message, Quantity
from airover.sizing.at_place import Sized
from airover.texts import Writer

TIGHT = 0.01  # a range narrower than this is written as one number


def verdict(found: Sized, writer: Writer) -> str:
    """Shaft power, the rating for it, and the worst along the whole curve."""
    worst = round(found.overload.largest.mid)
    return writer(
        "fan.verdict",
        power=_watts(found.bands["power_shaft_w"]),
        rpm=round(found.place.speed_rpm),
        rating=found.size.standard.text,
        spare=Quantity(found.spare, "share", 0),
        worst=Message(f"fan.worst.{found.worst}", power=worst),
    )


def details(found: Sized, writer: Writer) -> list[str]:
    """Warnings, then facts: what stands below the verdict."""
    return [*warnings(found, writer), *facts(found, writer)]


def facts(found: Sized, writer: Writer) -> list[str]:
    """The duty, and the air that it holds in."""
    duty = writer(
        "fan.duty",
        flow=Quantity(found.bands["flow_m3s"].mid, "flow"),
        pressure=Quantity(found.bands["pressure_pa"].mid, "pressure"),
        torque=Quantity(found.bands["torque_nm"].mid, "torque"),
        temp=Quantity(float(np.median(found.temp_air)), "air_temperature"),
        density=Quantity(found.density, "density"),
    )
    return [duty, writer("fan.needed", power=round(found.size.needed.mid))]


def warnings(found: Sized, writer: Writer) -> list[str]:
    """Doubts about the rating."""
    told, worst = [], found.overload
    if worst.over:
        low, high = (Quantity(end, "flow") for end in worst.over)
        share = Quantity(worst.load - 1, "share", 0)
        told.append(Message("fan.warning.over", low=low, high=high, share=share))
    if found.size.sure is not found.size.standard:
        told.append(Message("fan.warning.unsure", rating=found.size.sure.text))
    if found.duty.several:
        told.append(Message("fan.warning.several"))
    if found.duty.extrapolated:
        told.append(Message("fan.warning.extrapolated"))
    return [writer(one) for one in told]


def _watts(band: Band) -> Message:
    """A power, with its ends in brackets where they differ."""
    low, mid, high = map(float, band)
    key = "watts_range" if high - low > 2 * TIGHT * mid else "watts"
    return Message(f"fan.{key}", low=round(low), mid=round(mid), high=round(high))
