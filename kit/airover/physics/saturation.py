"""Saturation of the magnetising path."""

from typing import NamedTuple

import numpy as np


class Saturation(NamedTuple):
    """A magnetising current that grows faster than the air-gap voltage.

    I = E/Xm ((1 - share) + share (E/emf_rated)^exponent): at the rated voltage of the air gap
    the current is that of Xm, above it the last term takes over. A form in common use for small
    motors, no source; ``share`` .1 to .4 and ``exponent`` 4 to 8 cover what is seen.
    ``emf_rated`` [V] is the main winding's at its rated frequency. Arrays broadcast.
    """

    share: float
    exponent: float
    emf_rated: float

    def factor(self, emf):
        """Magnetising current over that of the unsaturated Xm, at ``emf`` [V].

        >>> float(Saturation(0.2, 5.0, 200.0).factor(200.0))
        1.0
        """
        return 1 - self.share + self.share * (np.asarray(emf) / self.emf_rated) ** self.exponent
