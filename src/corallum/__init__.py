"""Name stony corals to genus on the living reef, with the uncertainty said.

The rooms, in the order in which they may import each other: ``records``,
``reference``, ``model``, then ``exchange`` and ``store``, then ``actions``,
then ``cli``. ``ARCHITECTURE.md`` shows the picture.
"""

__version__ = "0.1.0"
__all__ = ["__version__"]
