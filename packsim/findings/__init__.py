"""What is wrong, by how much, and what to do: one kind of finding, one set of rules."""

from packsim.findings.finding import LEVELS, WHY, Finding, in_brief, joined, quoted, tell
