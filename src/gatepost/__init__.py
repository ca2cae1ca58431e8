"""gatepost: reads a parts list of outdoor woodwork, judges it by sourced rules and published physics, explains.

The road, a function a stage, with ordinary pandas frames between: read, derive, judge, choose, write.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"
__interrupted__ = "gatepost: interrupted; nothing was written"
__all__ = ["__version__", "choose", "derive", "judge", "read", "write"]

if TYPE_CHECKING:
    from .road import choose, derive, judge, read, write


def __getattr__(name: str) -> Any:
    if name in __all__:
        from . import road

        return getattr(road, name)
    raise AttributeError(f"module 'gatepost' has no attribute {name!r}")
