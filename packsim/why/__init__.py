"""Why one stage with one can size is answered as it is: every term behind every number."""

from packsim.why.cans import SprayTerms
from packsim.why.why import Reasons, reasons
