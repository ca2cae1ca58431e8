"""The tests run as the command does: garbage is collected as seldom as there."""

from __future__ import annotations

import gc

from gatepost.cli import GARBAGE_AFTER

gc.set_threshold(GARBAGE_AFTER)
