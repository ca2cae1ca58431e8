"""The judge: rules over facts. It knows nothing of wood."""

from .findings import Judgement, judge, verdict
from .rules import SEVERITIES, TOPICS, Compiled, Rule, check_file, load_rules, severity_meaning

__all__ = [
    "SEVERITIES",
    "TOPICS",
    "Compiled",
    "Judgement",
    "Rule",
    "check_file",
    "judge",
    "load_rules",
    "severity_meaning",
    "verdict",
]
