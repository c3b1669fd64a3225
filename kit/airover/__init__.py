"""airover: replacing the fan motor of an outdoor air-conditioning unit, worked out.

Layers, each importing only those above it: ``errors``, ``limits``, ``bands``, ``units``;
``physics``; ``records``; ``identify``, ``motor``, ``choose`` and the other subjects; ``tables``,
``figures``, ``proposal``, ``reports``, ``lesson``, ``fleet``; ``panels``, ``page``, ``cli``.
"""

__version__ = "0.1.0"
