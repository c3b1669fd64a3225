"""Compiled code as Python: a mutant of it is planted at once, and not compiled for seconds.

Has to be asked for before numba is loaded.
"""

import os

import numpy as np


def run_uncompiled() -> None:
    os.environ["NUMBA_DISABLE_JIT"] = "1"
    import numba  # reads the environment when it is loaded

    numba.guvectorize = _guvectorize


def _guvectorize(signatures, layout, **_):
    """A universal function by a loop: inputs of one or no dimension, outputs of none."""
    given, returned = (side.split("),(") for side in layout.split("->"))
    whole = [bool(core.strip("()")) for core in given]
    kinds = [kind.dtype.name for kind in signatures[0][len(given) :]]

    def made(function):
        def run(*inputs):
            inputs = [np.asarray(one) for one in inputs]
            singles = [one for one, core in zip(inputs, whole, strict=True) if not core]
            shape = np.broadcast_shapes(*(one.shape for one in singles))
            results = [np.empty((*shape, 1), kind) for kind in kinds]
            spread = [
                one if core else np.broadcast_to(one, shape)
                for one, core in zip(inputs, whole, strict=True)
            ]
            for at in np.ndindex(shape):
                case = [one if core else one[at] for one, core in zip(spread, whole, strict=True)]
                function(*case, *(one[at] for one in results))
            return tuple(one[..., 0] for one in results)

        return run

    assert len(kinds) == len(returned)
    return made
