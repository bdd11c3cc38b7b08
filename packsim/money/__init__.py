"""What a change saves in a year and when it has paid, by the user's own figures."""

from packsim.money.figures import Figures, SizeFigures
from packsim.money.saving import saving_of
