"""Findings on the failed motor and its surroundings, selected from lists of words."""

from collections.abc import Iterator

from airover.core.errors import InputError
from airover.core.message import Message, Word
from airover.records.fields import Record, amount, choice, whole
from airover.records.nameplate import capacitor_reading

WINDINGS = {
    "good": ("ok", "sound"),
    "open winding": ("open", "open circuit", "burnt open"),
    "shorted turns": ("shorted", "short", "burnt"),
    "grounded": ("ground", "earthed", "shorted to ground"),
}
BEARINGS = {
    "free": ("good", "ok"),
    "worn": ("worn sleeve", "loose", "play"),
    "rough": ("noisy", "dry"),
    "seized": ("stuck", "locked"),
}
INSIDE = {
    "dry": ("clean",),
    "rust": ("rusty",),
    "water": ("wet",),
}
BLADES = {
    "good": ("ok",),
    "bent or cracked": ("bent", "cracked", "dented", "damaged"),
    "out of balance": ("unbalanced", "dirty"),
    "loose on the shaft": ("loose", "loose hub"),
    "another than the unit's": ("wrong blade", "another", "another size"),
}
COILS = {
    "clean": ("good",),
    "dirty": ("dusty",),
    "blocked": ("very dirty", "matted"),
}
IN_HEAT = "in the heat"  # shows that the failed motor was too hot
TRIPS = {
    "none": ("never", "no"),
    IN_HEAT: ("hot afternoons", "afternoon", "afternoons", "hot days"),
    "soon after starting": ("at start", "at starting", "on start"),
    "at any time": ("any time", "random"),
}
PLUGS = {
    "low end open": ("low", "right"),
    "low end closed": ("closed", "both in", "wrong end open"),
    "both open": ("both out",),
}
SLINGERS = {
    "in place": ("yes", "good"),
    "missing": ("no", "lost", "damaged"),
}
STARTS = {
    "by itself": ("normal", "good"),
    "only with a push": ("push", "with a push"),
    "hums, won't start": ("hums", "hums only", "hums and stands", "hums but won't start"),
    "dead": ("not at all", "silent", "no sound"),
}
CAPACITORS = {
    "open": ("open circuit", "no reading", "dead", "bulged"),
    "shorted": ("short", "short circuit"),
}
LEADS = {
    "good": ("ok",),
    "chewed or burnt": ("chewed", "burnt", "rodents", "rodent damage", "damaged"),
    "loose": ("loose connection", "corroded"),
}
SUPPLY = {
    "present": ("yes", "good"),
    "missing": ("no", "none", "dead"),
}
TURNS = {
    "right": ("good", "correct"),
    "backward": ("backwards", "reverse", "reversed", "wrong"),
}
DEAD_BELOW = 0.5e-6  # F, less than any run capacitor; a meter can read this with open leads


class Found(Record):
    """Findings on the old motor and its surroundings. Items that were not inspected are None.

    Raises InputError, which lists the accepted words, if a word is not one of them.

    Attributes
    ----------
    winding : str or None
        Condition of the windings.
    bearings : str or None
        Condition of the bearings.
    inside : str or None
        Material found in the shell.
    drain_plugs, slinger : str or None
        Condition of the drain plugs and of the slinger.
    capacitor
        Measured capacitance [F].
    capacitor_fault : str or None
        Visible damage to the capacitor, if its capacitance cannot be measured.
    voltage : Amount or None
        Supply voltage [V], logged over the day.
    current : Amount or None
        Current [A] drawn by the old motor.
    supply : str or None
        Result of the check for voltage at the motor leads.
    leads : str or None
        Condition of the leads.
    rotation, start : str or None
        Direction of rotation and starting behavior of the old motor.
    trips : str or None
        Conditions under which the overload tripped.
    blade, coil : str or None
        Condition of the fan and of the coil.
    age : Amount or None
        Age [months] of the failed motor.
    earlier_failures : int or None
        Number of previous motor failures at this location.
    """

    winding: choice(WINDINGS) = None
    bearings: choice(BEARINGS) = None
    inside: choice(INSIDE) = None
    drain_plugs: choice(PLUGS) = None
    slinger: choice(SLINGERS) = None
    capacitor: capacitor_reading() = None
    capacitor_fault: choice(CAPACITORS) = None
    voltage: amount("voltage") = None
    current: amount("current") = None
    supply: choice(SUPPLY) = None
    leads: choice(LEADS) = None
    rotation: choice(TURNS) = None
    start: choice(STARTS) = None
    trips: choice(TRIPS) = None
    blade: choice(BLADES) = None
    coil: choice(COILS) = None
    age: amount("duration", "years") = None
    earlier_failures: whole(0, 20) = None

    def contradictions(self) -> Iterator[InputError]:
        if self.capacitor_fault and self.capacitor and self.capacitor.high >= DEAD_BELOW:
            fault, capacitor = Word(self.capacitor_fault), self.capacitor.text
            given = Message("error.found.both", fault=fault, capacitor=capacitor)
            yield InputError("capacitor fault", given, Message("error.found.one"))
