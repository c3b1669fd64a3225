"""The one error that bad input raises."""


class InputError(ValueError):
    """A value that cannot be accepted.

    Attributes say which ``field``, what was ``given``, in which ``unit``, and what is
    ``accepted``; the message says the same in one sentence.
    """

    def __init__(self, field: str, given: object, accepted: str, unit: str = ""):
        self.field = field
        self.given = given
        self.accepted = accepted
        self.unit = unit
        shown = f"{given} {unit}".strip()
        super().__init__(f"{field}: {shown} was given; accepted is {accepted}.")

    def __reduce__(self):
        return type(self), (self.field, self.given, self.accepted, self.unit)
