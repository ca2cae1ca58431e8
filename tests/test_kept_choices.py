"""What is chosen, scheduled and compared for small projects is what was looked at and kept."""

from __future__ import annotations

import json

import pytest

import kept_choices
from test_projects import compare


@pytest.mark.parametrize("kind", kept_choices.KINDS)
@pytest.mark.parametrize("name", kept_choices.ASKED)
def test_what_is_chosen_is_what_was_kept(name, kind):
    wanted = json.loads(kept_choices.kept(name, kind).read_text(encoding="utf-8"))
    compare(kept_choices.now(name, kind), wanted)
