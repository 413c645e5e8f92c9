"""The rules by which readings become recommended values: name, method, where it is published."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Rule:
    """A named, versioned rule. A released row names its rule; the rule's behaviour never changes."""

    name: str
    method: str
    published: str


CONSENSUS = Rule(
    "consensus/1",
    "Arithmetic mean over independent documents of the readings at room temperature that carry no doubt; documents "
    "that copied from one another are one, and several readings of one document are averaged first. The standard "
    "uncertainty is predictive, for the one specimen in front of the user: with three or more readings half the 95 % "
    "prediction interval for one further reading (Student's t), with two their spread and the family's between-"
    "document spread, with one the latter alone; never less than what the readings' own uncertainty allows.",
    "Prediction interval for one further observation: Hahn and Meeker, Statistical Intervals, Wiley 1991; Student's t "
    "for few observations: JCGM 100:2008, G.3.",
)
REFERENCE = Rule(
    "reference/1",
    "One published equation or table is followed, chosen by a written reason. The other usable equations and tables "
    "are evaluated beside it every kelvin; the largest disagreement, taken as the half-width of a rectangular "
    "distribution, is the standard uncertainty, together with a stated allowance for the pressure range.",
    "Rectangular distribution for a bounded disagreement: JCGM 100:2008, 4.3.7.",
)
GRID = Rule(
    "grid/1",
    "Node values of one equation of state are joined by the polynomial through them, in scaled temperature and in "
    "pressure from saturation to the limit; what the joining costs stands in the working. Usable equations are "
    "compared with it every kelvin at 1 atm, measured tables at their own points. The standard uncertainty is the "
    "stated one, or the largest disagreement at 1 atm as a rectangular distribution where it is larger; what is stated "
    "for a megapascal is added in quadrature above 1 atm.",
    "Interpolation at Chebyshev nodes: Trefethen, Approximation Theory and Approximation Practice, SIAM 2013; "
    "rectangular distribution: JCGM 100:2008, 4.3.7.",
)
ISOTROPIC_MODULI = Rule(
    "isotropic-moduli/1",
    "Speeds of an isotropic metal from its recommended Young's modulus E, Poisson's ratio nu and density rho: "
    "cL² = E(1-nu)/(rho(1+nu)(1-2nu)), cS² = E/(2 rho(1+nu)). The uncertainty is propagated to first order and carries "
    "the difference between static moduli and ultrasonic speeds.",
    "Isotropic elasticity: Landau and Lifshitz, Theory of Elasticity, section 22; propagation: JCGM 100:2008, 5.1.2.",
)
PRINTED_DIMENSIONS = Rule(
    "printed-dimensions/1",
    "The standard's own numbers, as printed in each unit; nothing is converted or combined.",
    "The standard named by the row.",
)
PRINTED_PIPES = Rule(
    "printed-dimensions/2",
    "As printed-dimensions/1, for documents that list diameters without walls, or walls that are minima or averages: "
    "each kind of wall stands by itself. Of several readings the one closest to the standard's own text is shown. "
    "What is only recalled is left out where a document was seen, and is marked as memory where none was.",
    "The standard named by the row.",
)
PRINTED_LIMITS = Rule(
    "printed-limits/1",
    "A tolerance or a thickness as its standard is said to print it, from the reading closest to the standard's own "
    "text; readings that print other numbers are left out and told.",
    "The standard named by the row.",
)
PRINTED_ROUGHNESS = Rule(
    "printed-roughness/1",
    "Geometric mean of the printed central values (of the ends, where only a range is printed); the range spans "
    "everything printed, and is absent where a single number is. Roughness spreads over decades, hence the logarithms.",
    "Logarithmic averaging of a quantity spread over decades: common practice, no source.",
)

ROUGHNESS_OF_DOCUMENTS = Rule(
    "printed-roughness/2",
    "As printed-roughness/1, with one voice for each document: its central values are averaged first (geometrically), "
    "and documents that copied from one another are one.",
    "Logarithmic averaging of a quantity spread over decades: common practice, no source.",
)

RULES: dict[str, Rule] = {
    rule.name: rule
    for rule in (
        CONSENSUS,
        REFERENCE,
        GRID,
        ISOTROPIC_MODULI,
        PRINTED_DIMENSIONS,
        PRINTED_PIPES,
        PRINTED_LIMITS,
        PRINTED_ROUGHNESS,
        ROUGHNESS_OF_DOCUMENTS,
    )
}
