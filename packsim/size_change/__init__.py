"""Going from one can size to another: what moves where, by how much, and what to know first."""

from packsim.findings import Finding
from packsim.size_change.plan import plan_change
from packsim.size_change.size_change import SizeChange, StageChange, apply_change
