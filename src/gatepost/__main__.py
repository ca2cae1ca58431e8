"""python -m gatepost"""

from .cli import entry

entry()
