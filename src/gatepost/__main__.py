"""python -m gatepost"""

from .cli import main

main()
