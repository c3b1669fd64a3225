"""For whom the work is done, and what was found at the unit, in the technician's words."""

from airover.records.fields import Record, Text


class Customer(Record):
    """Who is to sign: what is empty becomes a line to write on."""

    name: Text = ""
    address: Text = ""
    contact: Text = ""


class Finding(Record):
    """What ``failed`` and ``why``; an empty ``why`` means that the cause is not known."""

    failed: Text = ""
    why: Text = ""
