"""What the bench and the merchant need to know: what to buy, what to brush on cuts, in which order to work."""

from .bench import Bench, bench
from .boards import BoardOrder, SheetOrder, Wood, wood
from .care import Care
from .cuts import Cut
from .packing import Plan, pack
from .sheets import SheetPlan, sheets
from .slots import Slotted
from .sources import FINDINGS, Used
from .steps import STAGES, Due
from .supplies import Coats, FastenerOrder, GlueOrder
from .work import Work, plan

__all__ = [
    "FINDINGS",
    "STAGES",
    "Bench",
    "BoardOrder",
    "Care",
    "Coats",
    "Cut",
    "Due",
    "FastenerOrder",
    "GlueOrder",
    "Plan",
    "SheetOrder",
    "SheetPlan",
    "Slotted",
    "Used",
    "Wood",
    "Work",
    "bench",
    "pack",
    "plan",
    "sheets",
    "wood",
]
