"""airover: replacing the fan motor of an outdoor air-conditioning unit, worked out.

Layers, each importing only those above it: ``units``, ``limits``, ``errors``, ``bands``;
``physics``; ``records``; ``scope``, ``identify``, ``work``, ``choose``;
``figures``, ``tables``; ``panels``, ``cli``.
"""

__version__ = "0.1.0"
