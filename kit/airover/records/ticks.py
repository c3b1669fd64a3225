"""Which steps of the work order were done, and on which day."""

from airover.records.dates import read_day
from airover.records.fields import Record, read_by

Day = read_by(read_day)


class Ticks(Record):
    """The day on which each step of a work order was done, in the order of the steps, or None."""

    isolation: Day = None
    discharge: Day = None
    record: Day = None
    cause: Day = None
    blade_height: Day = None
    blade: Day = None
    hub: Day = None
    shaft: Day = None
    mounting: Day = None
    rotation: Day = None
    drains: Day = None
    slinger: Day = None
    leads: Day = None
    capacitor: Day = None
    guard: Day = None
    first_start: Day = None
    warm: Day = None
    handover: Day = None
