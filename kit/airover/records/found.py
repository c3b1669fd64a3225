"""What was seen on the failed motor and around it, in words of a few choices."""

from collections.abc import Iterator

from airover.errors import InputError
from airover.records.capacitor import capacitor_reading
from airover.records.fields import Record, amount, choice, whole

WINDINGS = {
    "good": ("ok", "sound"),
    "open winding": ("open", "open circuit"),
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
TRIPS = {
    "none": ("never", "no"),
    "in the heat": ("hot afternoons", "afternoon", "afternoons", "hot days"),
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
    "hums and stands": ("hums", "hums only"),
    "dead": ("not at all", "silent"),
}
CAPACITORS = {
    "open": ("open circuit", "no reading"),
    "shorted": ("short", "short circuit"),
}


class Found(Record):
    """What was seen on the old motor and at its place; what nobody looked at is None.

    ``capacitor`` [F] is the measured one, or ``capacitor_fault`` says that it gives no reading;
    ``voltage`` [V] is what a log showed over the day; ``trips`` says when the protector tripped,
    ``inside`` what came out of the shell; ``age`` [month] and ``earlier_failures`` are those of
    motors in this place. Raises InputError that names the accepted words.
    """

    winding: choice(WINDINGS) = None
    bearings: choice(BEARINGS) = None
    inside: choice(INSIDE) = None
    drain_plugs: choice(PLUGS) = None
    slinger: choice(SLINGERS) = None
    capacitor: capacitor_reading() = None
    capacitor_fault: choice(CAPACITORS) = None
    voltage: amount("voltage") = None
    start: choice(STARTS) = None
    trips: choice(TRIPS) = None
    blade: choice(BLADES) = None
    coil: choice(COILS) = None
    age: amount("duration") = None
    earlier_failures: whole(0, 20) = None

    def contradictions(self) -> Iterator[InputError]:
        if self.capacitor is not None and self.capacitor_fault is not None:
            given = f"{self.capacitor_fault} beside {self.capacitor.text}"
            yield InputError("capacitor fault", given, "a measured capacitor or a fault, not both")
