"""The one error that bad input raises."""

LONGEST = 300  # letters of a field and of what was given, as a sentence shows them


class InputError(ValueError):
    """A value that cannot be accepted.

    Attributes say which ``field``, what was ``given``, in which ``unit``, and what is
    ``accepted``; the message says the same in one sentence, on one line whatever was typed.
    """

    def __init__(self, field: str, given: object, accepted: str, unit: str = ""):
        self.field = field = _shown(field)  # a name that people typed may be in it
        self.given = given
        self.accepted = accepted
        self.unit = unit
        shown = _shown(f"{given} {unit}".strip())
        super().__init__(f"{field}: {shown} was given; accepted is {accepted}.")

    def __reduce__(self):
        return type(self), (self.field, self.given, self.accepted, self.unit)


def _shown(text: str) -> str:
    """``text`` on one line of at most LONGEST letters, without what a terminal would obey."""
    shown = text if len(text) <= LONGEST else f"{text[:LONGEST]}..."
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in shown)
