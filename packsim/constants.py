"""Named constants and tolerances, each with its reason.

Units inside the package are mm, N, kg, s and rad; energy is mJ (N·mm), pressure MPa (N/mm²).
"""

from typing import Final

GRAVITY_M_PER_S2: Final = 9.80665
"""Standard gravity (BIPM, exact by convention); kg·m/s² is N, so weights come out in N."""

MM_PER_INCH: Final = 25.4
"""Exact by the definition of the inch."""

PSI_PER_MPA: Final = 145.03773773
"""Pounds-force per square inch in a megapascal."""

LITRE_PER_MIN: Final = 60.0 / 1e6
"""Litres a minute in a cubic millimetre a second; exact."""

SIN60: Final = 0.8660254037844386
"""√3/2, the line pitch of the hexagonal packing in diameters."""

WATER_KG_PER_MM3: Final = 1.0e-6
"""Density of cold water, 1000 kg/m³; wash liquids are within 2 % of it (assumed)."""

CONTACT_TOL_REL: Final = 1e-6
"""Two cans touch when their gap is below this share of a diameter.

A few tenths of a nanometre per can are rounding; 0.07 µm on a real can is far below any gap that
matters, and far above the error of adding 10⁴ pitches in double precision.
"""

MAX_CANS: Final = 2_000_000
"""Largest pack one call builds; above it the answer is a typing error, not a washer."""

ALIGN_TIE_MM: Final = 1e-9
"""Two shifts of the pack are equally good when their misalignments differ by less than this.

Places of some metres carry 1e-12 mm of rounding each; a millionth of a micrometre means nothing to
a header drilled to tenths of a millimetre.
"""

N_PER_KG_MM_PER_S2: Final = 1e-3
"""One kg·mm/s² is a thousandth of a newton; so 1 MPa is 1000 kg/(mm·s²). Exact."""

PITCH_TOL_MM: Final = 1e-6
"""A search for a nozzle pitch ends when nothing left to look at can be better by more than this.

A nanometre: far below what is drilled, far above the rounding of a place divided by a count.
"""

NUDGE_REL: Final = 1e-6
"""Centres are nudged by up to this share of a diameter to decide how to cut cans on one circle.

Far above the rounding of an image's place (1e-12 on a line of a kilometre), so that all images of
a square of cans are cut along the same diagonal; far below anything that changes a true triangle.
"""

UNIT_SYSTEMS: Final = ("metric", "inch")
"""Systems of units that answers are told in."""
