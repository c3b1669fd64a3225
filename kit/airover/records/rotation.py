"""Which way a shaft turns, and the end that one looks from."""

CLOCKWISE = "clockwise"
COUNTERCLOCKWISE = "counterclockwise"
REVERSIBLE = "reversible"
SHAFT_END = "shaft end"
LEAD_END = "lead end"

SENSES = {
    CLOCKWISE: ("cw", "clockwise rotation"),
    COUNTERCLOCKWISE: ("ccw", "anticlockwise", "counter clockwise", "counterclockwise rotation"),
    REVERSIBLE: ("rev", "either"),
}
ENDS = {SHAFT_END: ("shaft", "se", "pse"), LEAD_END: ("lead", "le", "opposite shaft end")}

_OPPOSITE = {CLOCKWISE: COUNTERCLOCKWISE, COUNTERCLOCKWISE: CLOCKWISE}


def from_shaft_end(rotation: str | None, seen_from: str | None) -> str | None:
    """``rotation`` as seen from the shaft end; None when that cannot be known.

    Seen from the other end the sense is the opposite. A reversible motor is reversible from
    either end.

    >>> from_shaft_end("clockwise", "lead end")
    'counterclockwise'
    """
    if rotation == REVERSIBLE:
        return rotation
    if rotation is None or seen_from is None:
        return None
    return rotation if seen_from == SHAFT_END else _OPPOSITE[rotation]
