"""What the profile factor rests on: the documents, and the factors that their profiles have.

The points are drawn beside the curve; `tests/outside/test_profile_factor.py` integrates them again from the profiles.
"""

from __future__ import annotations

MEASURED: tuple[tuple[float, float], ...] = (
    *((74345.0, 0.9285), (144580.0, 0.9336), (233970.0, 0.9374), (309630.0, 0.9398), (410860.0, 0.9415)),
    *((536930.0, 0.9434), (753590.0, 0.9447), (1030900.0, 0.9466), (1346200.0, 0.9476), (1795000.0, 0.9485)),
    *((2362900.0, 0.9496), (3105000.0, 0.9508), (4462200.0, 0.9520), (6112700.0, 0.9527), (7806100.0, 0.9536)),
    (10313999.0, 0.9545),
)
"""Reynolds number and factor along a diameter, from profiles measured in a smooth pipe."""
SIMULATED: tuple[tuple[float, float], ...] = (
    *((5300.0, 0.8958), (19000.0, 0.9168), (24580.0, 0.9169), (37733.0, 0.9215), (44000.0, 0.9203)),
    *((82963.0, 0.9286), (240010.0, 0.9369)),
)
"""The same from direct simulations."""
FROM_RATIOS: tuple[tuple[float, float], ...] = (
    *((1780.0, 0.750), (1939.0, 0.752), (2042.0, 0.754), (2143.0, 0.765), (2263.0, 0.775), (2366.0, 0.810)),
    *((2460.0, 0.831), (2548.0, 0.847), (2718.0, 0.865), (2998.0, 0.871), (3256.0, 0.877), (3618.0, 0.881)),
    *((4294.0, 0.889), (5031.0, 0.893), (6459.0, 0.899)),
)
"""The same from ratios of mean to greatest velocity, as a mixture of laminar and turbulent flow; means of 3 to 12
readings."""
DOCUMENTS: tuple[str, ...] = (
    "McKeon, B. J. and others, 2004. Princeton Superpipe, mean velocity (gasdyn.princeton.edu, data set e248): sixteen "
    "profiles measured in a smooth pipe, Re 74 345 to 10.3 million",
    "Yao, J. and others. Direct numerical simulations of turbulent pipe flow up to Reτ ≈ 5200. arXiv:2207.06289 "
    "(2022): four simulated profiles, Re 19 000 to 240 000",
    "Wu, X.; Moin, P. A direct numerical simulation study on the mean velocity characteristics in turbulent pipe "
    "flow. J. Fluid Mech. 608 (2008) 81-112: three simulated profiles, Re 5300 to 44 000",
    "Stanton, T. E. The mechanical viscosity of fluids. Proc. R. Soc. A 85 (1911) 366-376: profiles in roughened and "
    "smooth pipes",
    "Senecal, V. E. Fluid flow in the transition zone. Carnegie Institute of Technology, 1951: 112 ratios of mean to "
    "greatest velocity, Re 623 to 7541",
)
"""What was published, and for what it stands."""
WORDS = (
    "The profile factor turns the velocity along the path into the mean over the bore. Up to Re 2020 it is that of the "
    "parabola, 3/4; in turbulent flow it follows velocity profiles that were measured and simulated; between them the "
    "flow is laminar and turbulent by turns, in parts that measurements gave. It holds for developed flow: what bends "
    "and valves do to it is in the uncertainty of the place."
)
"""For the sheet: what the factor is and rests on."""
