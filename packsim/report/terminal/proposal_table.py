"""What a change saves and when it has paid, for the terminal."""

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from packsim.money.proposal import MachineProposal
from packsim.report.terminal.parts import WideTable, caution, points
from packsim.report.words.doubt_words import GAIN_MEANING
from packsim.report.words.money_words import HEADS, answer_words, saving_rows
from packsim.report.words.proposal_words import (
    basis_words,
    case_words,
    counted_words,
    settle_words,
    taken_words,
)


def proposal_report(proposal: MachineProposal) -> Group:
    """Return the answer of a proposal, what is saved, what it rests on and what would settle it."""
    table = WideTable("", HEADS)
    for name, cells in saving_rows(proposal.saving):
        table.add_row(name, *cells)
    answer = answer_words(proposal.saving)
    parts: list[RenderableType] = [
        Text(case_words(proposal), style="bold"),
        Text(answer[0], style="bold"),
        Text(answer[1]),
        Text(),
        Padding(table, (0, 0, 0, 2)),
        *(Text(counted_words(one, proposal.saving)) for one in proposal.counted),
        points(filter(None, (basis_words(proposal.saving), *taken_words(proposal)))),
        Text(),
        Text("What would make it surer:"),
        points(settle_words(proposal)),
        Text(GAIN_MEANING, "dim"),
        Text(),
        caution(),
    ]
    return Group(*parts)
