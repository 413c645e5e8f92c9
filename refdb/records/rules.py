"""The rules that make recommended values of readings: name, what each does in short and in full, where published."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Rule:
    """A named, versioned rule. A released row names its rule, whose behaviour never changes.

    `sentence` says in a few words what it does, so that it can end a sentence; `method` says it in full.
    """

    name: str
    sentence: str
    method: str
    published: str


CONSENSUS = Rule(
    "consensus/1",
    "the plain mean over independent documents, with half the 95 % interval for one further specimen",
    "Arithmetic mean over independent documents of the readings at room temperature that carry no doubt; documents "
    "that copied from one another are one, and several readings of one document are averaged first. The standard "
    "uncertainty is predictive, for the one specimen in front of the user: with three or more readings half the 95 % "
    "prediction interval for one further reading (Student's t), with two their spread and the family's between-"
    "document spread, with one the latter alone; never less than what the readings' own uncertainty allows.",
    "Prediction interval for one further observation: Hahn and Meeker, Statistical Intervals, Wiley 1991; Student's t "
    "for few observations: JCGM 100:2008, G.3.",
)
RANDOM_EFFECTS = Rule(
    "consensus/2",
    "the random-effects mean over independent documents, with half the 95 % interval for one further specimen",
    "Random-effects mean over independent documents of the readings at room temperature that carry no doubt and "
    "contradict no check; documents that copied from one another are one, several readings of one document are "
    "averaged first, and a reading from memory counts only where nothing else was seen. A reading that states no "
    "uncertainty gets one from how finely its document prints, half its printed range, what one laboratory's reading "
    "is off by and, for a speed, its unstated temperature. From three documents on, one beyond 3.5 modified z-scores "
    "is left out. The between-source variance is that of Paule and Mandel, pooled by degrees of freedom with what the "
    "family shows. The standard uncertainty is predictive, for the one specimen in front of the user: half the 95 % "
    "interval for one further specimen, Student's t with the family's degrees of freedom plus k - 2 for k documents. "
    "A speed gets the slope that documents print, unless it was guessed or derived from static moduli; without one "
    "the row holds at room temperature, with the neglect in its uncertainty.",
    "Paule and Mandel, J. Res. Natl. Bur. Stand. 87, 377-385, 1982; Hartung and Knapp, Stat. Med. 20, 3875-3889, "
    "2001; Higgins, Thompson and Spiegelhalter, J. R. Stat. Soc. A 172, 137-159, 2009 (k - 2); pooling with a family: "
    "Smyth, Stat. Appl. Genet. Mol. Biol. 3, 3, 2004; outliers: Iglewicz and Hoaglin, How to Detect and Handle "
    "Outliers, ASQC Quality Press 1993.",
)
WEIGHED_EVIDENCE = Rule(
    "consensus/3",
    "the random-effects mean of the best classes of evidence, with half the 95 % interval for one further specimen",
    "As consensus/2, with evidence weighed by its class: measurement with stated uncertainty, measurement, standard, "
    "evaluated handbook, teaching table, program's default, simulation's input. What something better exists for is "
    "left out and told. Of one document that tells no speed, two elastic constants found by sound and a density tell "
    "it. A document is uncertain by how it prints or what it states, and by what its class is off by more than a good "
    "one; what good documents of a group of families differ by stands once, in the interval for one further "
    "document about one further specimen. Both were estimated by maximum likelihood from readings held against the "
    "other documents, one document left out at a time, with a tenth of the documents set aside. Documents that print "
    "so many equal digits that chance does not explain it count once. Constants found by sound stay out of the static "
    "moduli of plastics, irons and masonry.",
    RANDOM_EFFECTS.published,
)
EVIDENCE_AT_20 = Rule(
    "consensus/4",
    "the random-effects mean of the best classes of evidence at 20 degC, with half the 95 % interval for one further "
    "specimen",
    "As consensus/3, but at 20 degC alone: what the temperature does is told by solid-temperature/1, and no allowance "
    "for its neglect stands in the uncertainty.",
    RANDOM_EFFECTS.published,
)
REFERENCE = Rule(
    "reference/1",
    "one published equation or table is followed, and the others are compared with it",
    "One published equation or table is followed, chosen by a written reason. The other usable equations and tables "
    "are evaluated beside it every kelvin; the largest disagreement, taken as the half-width of a rectangular "
    "distribution, is the standard uncertainty, together with a stated allowance for the pressure range.",
    "Rectangular distribution for a bounded disagreement: JCGM 100:2008, 4.3.7.",
)
GRID = Rule(
    "grid/1",
    "the node values of one equation of state are joined, and other curves are compared with them",
    "Node values of one equation of state are joined by the polynomial through them, in scaled temperature and in "
    "pressure from saturation to the limit; what the joining costs stands in the working. Usable equations are "
    "compared with it every kelvin at 1 atm, measured tables at their own points. The standard uncertainty is the "
    "stated one, or the largest disagreement at 1 atm as a rectangular distribution where it is larger; what is stated "
    "for a megapascal is added in quadrature above 1 atm.",
    "Interpolation at Chebyshev nodes: Trefethen, Approximation Theory and Approximation Practice, SIAM 2013; "
    "rectangular distribution: JCGM 100:2008, 4.3.7.",
)
GRID_OF_KIND = Rule(
    "grid/2",
    "the node values of one equation of state are joined, and every other reading is compared with them",
    "As grid/1, for grids that a policy names by property and document instead of one by one. Every other reading of "
    "the property along the temperature that carries no doubt and was seen is compared with the grid where it stands: "
    "single values at their temperature and pressure, tables at their own points, equations at 41 temperatures of the "
    "shared range, the curves of handbooks between -20 and 60 degC; where no pressure is printed, or the words say "
    "atmospheric, at 1 atm, or at saturation where that is higher. The standard uncertainty is the stated one, or the "
    "largest disagreement as a rectangular distribution where it is larger. Where no pressure is given, a liquid that "
    "boils at 1 atm is answered at saturation. A grid that carries a doubt gives no row.",
    "Interpolation at Chebyshev nodes: Trefethen, Approximation Theory and Approximation Practice, SIAM 2013; "
    "rectangular distribution: JCGM 100:2008, 4.3.7.",
)
GRID_NEAR_ATMOSPHERE = Rule(
    "grid/3",
    "the curve of a library along the temperature alone is followed, and the pressure is neglected",
    "As grid/2, for liquids that a library knows along the temperature alone, such as heat-transfer oils by chemical "
    "kind. Pressure is neglected. Where the library gives a vapour pressure, a state at which the liquid boils is "
    "refused, at 1 atm if no pressure is given; colder than that curve begins, it is taken as at its cold end, which "
    "is too high a pressure. Where it gives none, the row says that boiling was not checked.",
    "As grid/2.",
)
GRID_EXACT = Rule(
    "grid/4",
    "the node values of one equation of state are joined, and other curves are compared with them",
    "As grid/1, with the same digits on every processor: the coefficients are those of the polynomial through the "
    "values as printed, each rounded once.",
    GRID.published,
)
GRID_OF_KIND_EXACT = Rule(
    "grid/5",
    "the node values of one equation of state are joined, and every other reading is compared with them",
    "As grid/2, with the same digits on every processor, as in grid/4.",
    GRID_OF_KIND.published,
)
GRID_NEAR_ATMOSPHERE_EXACT = Rule(
    "grid/6",
    "the curve of a library along the temperature alone is followed, and the pressure is neglected",
    "As grid/3, with the same digits on every processor, as in grid/4.",
    "As grid/5.",
)
QUOTIENT = Rule(
    "quotient/1",
    "the dynamic viscosity is divided by the density",
    "The kinematic viscosity of a liquid, where none is published: its recommended dynamic viscosity over its "
    "recommended density, both kept as forms and divided at every state, over the range that both cover. The "
    "relative standard uncertainties are joined in quadrature; one that is absolute is taken relative to the "
    "smallest value at the corners of the range.",
    "Definition of kinematic viscosity: ISO 80000-4:2019, item 4-25; propagation: JCGM 100:2008, 5.1.2.",
)
EXPANSION = Rule(
    "expansion/1",
    "the expansion is taken from the slope of the density along the temperature",
    "The volumetric thermal expansion of a liquid at constant pressure, where none is published: -(1/rho) d "
    "rho/dt, the slope being that of the form of its recommended density. The standard uncertainty is that of the"
    " density, divided by a stated number of kelvin over which the error of a density may change by as much as it"
    " is (judgement).",
    "Definition of the cubic expansion coefficient: ISO 80000-5:2019, item 5-3.2; the span is judgement.",
)
CLASSICAL_ABSORPTION = Rule(
    "classical-absorption/1",
    "Stokes' absorption by shear viscosity alone, which is a lower bound",
    "A lower bound of the absorption of a liquid over the frequency squared, where no absorption is published: Stokes' "
    "(8 pi²/3) mu/(rho c³) from its recommended dynamic viscosity mu, density rho and sound speed c, or from its "
    "kinematic viscosity mu/rho where only that is recommended. The three are kept as forms and evaluated at every "
    "state, over the range that all cover. The bulk viscosity and the conduction of heat, which both add to it, are "
    "taken as 0; the row says that it is a bound. The relative standard uncertainty joins those of viscosity and "
    "density and three times that of the speed in quadrature; it is that of the bound. The rung is the weakest of the "
    "three, and no better than derived.",
    "Stokes, Trans. Cambridge Phil. Soc. 8, 287-319, 1845; with the bulk viscosity: Landau and Lifshitz, Fluid "
    "Mechanics, section 79; propagation: JCGM 100:2008, 5.1.2.",
)
CURVE_FIT = Rule(
    "curve-fit/1",
    "one low polynomial in temperature, through a handbook's equation or through measured points",
    "For a property of a liquid that no equation of state gives: one low polynomial in temperature, of the value or of "
    "its logarithm. Where a handbook carries an equation, its curve is followed between freezing and boiling, as "
    "far from room temperature as another handbook does not contradict it, and the other readings are compared with "
    "it; the standard uncertainty is what is written for the handbook, or the largest disagreement as a rectangular "
    "distribution. Otherwise the polynomial goes through the measured points near 1 atm "
    "(compiled values only where nothing was measured), every independent document weighing by what it is uncertain "
    "by; the order, at most two, or three from eight temperatures on, is that of the least corrected Akaike criterion. "
    "The curve is moved to the random-effects mean of the documents; the standard uncertainty is half the 95 % "
    "interval for one further specimen, pooled with what liquids show, joined with the scatter about the curve. Points "
    "at one temperature get the slope that liquids usually have, for the stated few kelvin. The range is that of the "
    "evidence, carried on to 20 degC where it ends within those few kelvin of it, with an uncertain slope added; "
    "pressure is neglected from saturation to 1 MPa, with what that costs added above 1 atm.",
    "Corrected Akaike criterion: Hurvich and Tsai, Biometrika 76, 297-307, 1989; random effects and the interval: as "
    "consensus/2; rectangular distribution: JCGM 100:2008, 4.3.7.",
)
CURVE_FIT_EXACT = Rule(
    "curve-fit/2",
    "one low polynomial in temperature, through a handbook's equation or through measured points",
    "As curve-fit/1, with the same digits on every processor: sums are rounded once or go in a fixed order, "
    "exponentials and logarithms are rounded correctly, and node values are joined as in grid/4. What is less than "
    "1e-9 % is told as that.",
    CURVE_FIT.published,
)
ISOTROPIC_MODULI = Rule(
    "isotropic-moduli/1",
    "a speed of an isotropic metal from Young's modulus, Poisson's ratio and density",
    "Speeds of an isotropic metal from its recommended Young's modulus E, Poisson's ratio nu and density rho: "
    "cL² = E(1-nu)/(rho(1+nu)(1-2nu)), cS² = E/(2 rho(1+nu)). The uncertainty is propagated to first order and carries "
    "the difference between static moduli and ultrasonic speeds.",
    "Isotropic elasticity: Landau and Lifshitz, Theory of Elasticity, section 22; propagation: JCGM 100:2008, 5.1.2.",
)
ISOTROPIC = Rule(
    "isotropic-moduli/2",
    "a speed of an isotropic material from its moduli and density, or from its other speed and Poisson's ratio",
    "A speed of an isotropic material from what is recommended for it, by whichever of these ways has the least "
    "uncertainty: Young's modulus E, Poisson's ratio nu and density rho, or shear modulus G and rho, for families "
    "whose static moduli hold at ultrasonic frequencies, with what those differ by; or the other speed and nu. cL² = "
    "E(1-nu)/(rho(1+nu)(1-2nu)), cS² = E/(2 rho(1+nu)) = G/rho, cS²/cL² = (1-2nu)/(2(1-nu)). The uncertainty is "
    "propagated to first order; the ways not taken stand in the working.",
    "Isotropic elasticity: Landau and Lifshitz, Theory of Elasticity, section 22; propagation: JCGM 100:2008, 5.1.2.",
)
UNBIASED = Rule(
    "isotropic-moduli/3",
    "a speed of an isotropic material from its moduli and density without their bias, or from its other speed",
    "As isotropic-moduli/2, with the published other speed and Poisson's ratio first. A speed from static moduli is "
    "corrected by what such speeds are off by where the speed is published too: the random-effects mean of the "
    "comparisons of its family, drawn to that of all families; what is not known of it, and by what materials differ "
    "about it, is in the uncertainty. It is then weighed by the inverse squares of their uncertainties with the "
    "published speeds of three or more members of its family (their mean and what one further member may differ by) "
    "and with that of the pure metal of which the material nearly consists; where these differ by more than they "
    "admit, the uncertainty grows by the root of their chi-squared. A Poisson's ratio that only programs offer is not "
    "used: that of the family, or of families alike, stands in.",
    ISOTROPIC.published
    + " Shrinkage towards a family: Efron and Morris, J. Am. Stat. Assoc. 70, 311-319, 1975; growth by chi-squared: "
    "Birge, Phys. Rev. 40, 207-227, 1932.",
)
SOLID_EXPANSION = Rule(
    "solid-expansion/1",
    "a line through the mean coefficients from 20 degC that documents print",
    "Mean linear expansion from 20 degC to the temperature asked for, a straight line in that temperature. Curves of "
    "means give a value at 20 degC and a rise by least squares; single numbers are brought to 20 degC by the rise of "
    "their kin, those for room temperature as means to somewhere between 20 and 100 degC. Documents are weighed by "
    "what they are uncertain by and by what grades and documents differ by, which stands in the uncertainty with that "
    "of the rise. Instantaneous coefficients are left out.",
    "Weighted least squares: common practice, no source; propagation: JCGM 100:2008, 5.1.2.",
)
SOLID_TEMPERATURE = Rule(
    "solid-temperature/1",
    "the slope of a speed or density about 20 degC by the best that is known of it",
    "A row at 20 degC becomes a straight line in temperature. The relative slope of a speed is the mean of what "
    "documents print of the material and of what two elastic moduli over temperature, found by sound, and its thermal "
    "expansion give; else that of named materials that are the same metal but for a percent or so; else, of cubic "
    "metals, a multiple of the linear expansion that the former show, with half the 95 % interval for one further "
    "metal; else what is judged of its family. A density falls by three times the linear expansion. The standard "
    "uncertainty grows by that of the slope per kelvin from 20 degC, in quadrature, in which a stated part of the "
    "slope stands for what it changes by to the ends of the range; the unstated temperature of readings at room "
    "temperature stands in the uncertainty at 20 degC. Where no slope is known the value stays and its uncertainty "
    "grows. Rows end below softening and at transitions.",
    "Speeds from elastic moduli: Landau and Lifshitz, Theory of Elasticity, 22; prediction for one further "
    "observation: Hahn and Meeker, Statistical Intervals, Wiley 1991; that relative slopes go with the expansion: "
    "Grueneisen's rule, common practice, no source.",
)
ATTENUATION = Rule(
    "attenuation/1",
    "the geometric mean of documents, with a factor that they may differ by",
    "Geometric mean over independent documents of the loss of a wave over one wavelength, one voice each, of readings "
    "at room temperature without a doubt. The standard uncertainty is, to first order, a stated spread of the "
    "logarithm for one further document. Per length the loss is taken to go with the frequency.",
    "Logarithmic averaging of a quantity spread over decades: common practice, no source.",
)
FAMILY = Rule(
    "family/1",
    "an estimate, the mean over the other members of the family, with half the 95 % interval for one further member",
    "An estimate where nothing is published and nothing can be derived: the mean of the recommended values of the "
    "other members of the family, each member counted once. The standard uncertainty is half the 95 % prediction "
    "interval for one further member (Student's t), with the members' own. It is given only where enough members have "
    "a value and the interval says something.",
    "Prediction interval for one further observation: Hahn and Meeker, Statistical Intervals, Wiley 1991; Student's t "
    "for few observations: JCGM 100:2008, G.3.",
)
FAMILY_BOUNDS = Rule(
    "family-bounds/1",
    "between the least and the greatest of its family, or of a wider group",
    "No value: the least and the greatest of what is published or derived of the other members of the material's "
    "family, or where fewer than three are known of a wider group that the policy names, each moved outwards by two "
    "standard uncertainties and by one and a half mean gaps between neighbouring members. Or the range that a document "
    "prints for a wider kind of material. Whoever works with it takes a rectangle between the ends.",
    "Rectangular distribution between bounds: JCGM 100:2008, 4.3.7.",
)
WOUND_WALL = Rule(
    "wound-wall/1",
    "between the speeds of beams in walls wound of layers whose constants are printed",
    "No value: the least and the greatest phase speed of the quasi-longitudinal, or of the quasi-shear wave in the "
    "plane of axis and radius, of walls wound at the named angles of layers whose five elastic constants documents "
    "print, for beams from straight through to the greatest lean, moved outwards by a stated part. Layers at plus and "
    "minus one angle share their strains.",
    "Stiffness of a layer and of balanced layers: Jones, Mechanics of Composite Materials, 2.4 and 4.2 (not seen; the "
    "relations are common); speeds: Christoffel's equation, Auld, Acoustic Fields and Waves in Solids, 7.D (not seen).",
)
ANALOGUE = Rule(
    "analogue/1",
    "an estimate, the value of a near relative with a stated allowance for how the two may differ",
    "An estimate where nothing is published, nothing can be derived and the family's members differ too much: the "
    "recommended value of a near relative that a maintainer names with the reason. Its standard uncertainty is joined "
    "in quadrature with a stated relative difference between the two.",
    "Propagation: JCGM 100:2008, 5.1.2; the choice of the relative and the difference are judgement.",
)
SOLUTION_GRID = Rule(
    "solution-grid/1",
    "the node values of one published correlation are joined in temperature and strength, and points are "
    "compared with it",
    "Node values of a published correlation of a solution are joined by the polynomial through them, in temperature "
    "and in mass fraction; what the joining costs stands in the working. Every measured or tabulated point that "
    "carries no doubt, and the row of water at strength 0, is compared with it at its own place. The standard "
    "uncertainty is the stated one, or the largest disagreement as a rectangular distribution where it is larger. "
    "Where a curve of freezing points was seen, the row begins there.",
    "Interpolation at Chebyshev nodes: Trefethen, Approximation Theory and Approximation Practice, SIAM 2013; "
    "rectangular distribution: JCGM 100:2008, 4.3.7.",
)
SURFACE_FIT = Rule(
    "surface-fit/1",
    "a surface of least squares through measured points, in temperature and strength, that begins at water",
    "Weighted least squares through measured points: the difference from the row of water (of the logarithms, for a "
    "viscosity) is a difference at the strongest solution and an excess after Redlich and Kister in the mass fraction, "
    "over the strongest, with coefficients that are polynomials of the temperature. It is the row of water at strength "
    "0. Each document weighs the same, however many points it prints. The order is the one with the least error where "
    "each interior isotherm and each interior strength is left out in turn, and among those within 5 % of it the one "
    "with the fewest terms. The standard uncertainty is predictive: that left-out error and a stated allowance in "
    "quadrature.",
    "Redlich and Kister, Ind. Eng. Chem. 40, 345-348, 1948; leaving out: Allen, Technometrics 16, 125-127, 1974.",
)
THERMODYNAMIC_SPEED = Rule(
    "thermodynamic-speed/1",
    "the sound speed from published density, isothermal bulk modulus and heat capacity",
    "Sound speed of a solution that nobody is seen to have measured, from three published correlations: density rho "
    "with its slope, isothermal bulk modulus K and heat capacity cp. 1/(rho c^2) = 1/K - T alpha^2/(rho cp), alpha = "
    "-(1/rho) d rho/dT. The standard uncertainty is stated from solutions whose speed is published.",
    "Newton-Laplace equation with the difference of the compressibilities: Landau and Lifshitz, Statistical Physics, "
    "part 1, section 16.",
)
SOLUTION_ANALOGUE = Rule(
    "solution-analogue/1",
    "an estimate, the sound speed of a homologue's solution scaled by the ratio of the pure liquids",
    "An estimate where nothing is measured: the sound speed of a homologue's solution at the same temperature and mass "
    "fraction w, times 1 + w (r - 1), r being the ratio of the pure liquids at that temperature (a straight line "
    "through their measured points). It is the row of water at strength 0 and the pure liquid at 1. Beyond the "
    "temperatures at which the homologue is measured, its excess over water goes on with the slope it ends with and "
    "its mean bend. The standard uncertainty is stated from pairs of homologues that are both measured, joined with "
    "the homologue's own and with a stated allowance for going beyond.",
    "Comparison of homologues: common practice, no source; propagation: JCGM 100:2008, 5.1.2.",
)
SOLUTION_GRID_EXACT = Rule(
    "solution-grid/2",
    "the node values of one published correlation are joined in temperature and strength, and points are "
    "compared with it",
    "As solution-grid/1, with the same digits on every processor, as in grid/4.",
    SOLUTION_GRID.published,
)
SURFACE_FIT_EXACT = Rule(
    "surface-fit/2",
    "a surface of least squares through measured points, in temperature and strength, that begins at water",
    "As surface-fit/1, with the same digits on every processor: the columns are made orthogonal to one another in "
    "sums of a fixed order, whether the points determine a surface without a group is told by Cholesky's factors, and "
    "the surface is joined at Chebyshev nodes as in grid/4. What joining costs has its unit; less than 1e-9 is told as "
    "that.",
    SURFACE_FIT.published,
)
THERMODYNAMIC_SPEED_EXACT = Rule(
    "thermodynamic-speed/2",
    "the sound speed from published density, isothermal bulk modulus and heat capacity",
    "As thermodynamic-speed/1, with the same digits on every processor, joined as in surface-fit/2.",
    THERMODYNAMIC_SPEED.published,
)
SOLUTION_ANALOGUE_EXACT = Rule(
    "solution-analogue/2",
    "an estimate, the sound speed of a homologue's solution scaled by the ratio of the pure liquids",
    "As solution-analogue/1, with the same digits on every processor, joined as in surface-fit/2.",
    SOLUTION_ANALOGUE.published,
)
DEAD_OIL = Rule(
    "dead-oil/1",
    "density and speed of an oil without dissolved gas from its density at one temperature",
    "Density and speed of sound of an oil without dissolved gas, from its density at one temperature. The density "
    "follows the thermal expansion of petroleum for the product's class, rho = rho15 exp(-a dt (1 + 0.8 a dt)) with "
    "a = K0/rho15² + K1/rho15. The speed is V = 2096 (r0/(2.6 - r0))^½ - 3.7 t + 4.64 P + 0.0115 (4.12 (1.08/r0 - 1)^½ "
    "- 1) t P in m/s, with r0 the relative density at 60 degF and 1 atm, t in degC, P in MPa; of light products a "
    "stated excess of the model is taken off. Its uncertainty joins what the density may differ by with a stated "
    "judgement of what the model may. What is no crude oil is an analogue; what rests on a recalled density is memory.",
    "Speed: Batzle and Wang, Geophysics 57, 1396-1408, 1992, eq. 20a; expansion: ISO 91-1, ASTM D1250; propagation: "
    "JCGM 100:2008, 5.1.2.",
)
TEMPERATURE_LINE = Rule(
    "temperature-line/1",
    "a straight line in temperature through numbers and tables, with a printed or a stated slope",
    "A straight line in temperature through the usable numbers and tables near one temperature. Its slope is the "
    "pooled one of documents that print several temperatures, or a stated one with its uncertainty; each is moved to "
    "one temperature along it, and documents that copied from one another are one. The standard uncertainty joins what "
    "specimens differ by (judgement, or what the documents show where that is more), the scatter about the line, how "
    "finely is printed, and what the slope may do at the ends. What is recalled counts only where nothing was seen.",
    "Pooled slope within groups: Draper and Smith, Applied Regression Analysis, 3rd edition, Wiley 1998; propagation: "
    "JCGM 100:2008, 5.1.2.",
)
VISCOSITY_LINE = Rule(
    "viscosity-line/1",
    "the line of ASTM D341 through two readings, with which the others are compared",
    "Kinematic viscosity of an oil through two readings, a straight line of lg lg (v + 0.7) against lg T; other "
    "readings are compared with it. The standard uncertainty is what one delivery of the grade may differ by.",
    "ASTM D341.",
)
PRINTED_DIMENSIONS = Rule(
    "printed-dimensions/1",
    "the standard's own numbers as printed, nothing converted or combined",
    "The standard's own numbers, as printed in each unit; nothing is converted or combined.",
    "The standard named by the row.",
)
PRINTED_PIPES = Rule(
    "printed-dimensions/2",
    "the numbers as printed, from the reading closest to the standard's own text",
    "As printed-dimensions/1, for documents that list diameters without walls, or walls that are minima or averages: "
    "each kind of wall stands by itself. Of several readings the one closest to the standard's own text is shown. "
    "What is only recalled is left out where a document was seen, and is marked as memory where none was.",
    "The standard named by the row.",
)
PRINTED_LIMITS = Rule(
    "printed-limits/1",
    "a tolerance or a thickness as printed, from the reading closest to the standard's own text",
    "A tolerance or a thickness as its standard is said to print it, from the reading closest to the standard's own "
    "text; readings that print other numbers are left out and told.",
    "The standard named by the row.",
)
PRINTED_ROUGHNESS = Rule(
    "printed-roughness/1",
    "the geometric mean of the printed values, and the range of everything printed",
    "Geometric mean of the printed central values (of the ends, where only a range is printed); the range spans "
    "everything printed, and is absent where a single number is. Roughness spreads over decades, hence the logarithms.",
    "Logarithmic averaging of a quantity spread over decades: common practice, no source.",
)

ROUGHNESS_OF_DOCUMENTS = Rule(
    "printed-roughness/2",
    "the geometric mean of the documents, one voice each, and the range of everything printed",
    "As printed-roughness/1, with one voice for each document: its central values are averaged first (geometrically), "
    "and documents that copied from one another are one.",
    "Logarithmic averaging of a quantity spread over decades: common practice, no source.",
)

RULES: dict[str, Rule] = {
    rule.name: rule
    for rule in (
        CONSENSUS,
        RANDOM_EFFECTS,
        WEIGHED_EVIDENCE,
        EVIDENCE_AT_20,
        REFERENCE,
        GRID,
        GRID_OF_KIND,
        GRID_NEAR_ATMOSPHERE,
        GRID_EXACT,
        GRID_OF_KIND_EXACT,
        GRID_NEAR_ATMOSPHERE_EXACT,
        QUOTIENT,
        EXPANSION,
        CLASSICAL_ABSORPTION,
        CURVE_FIT,
        CURVE_FIT_EXACT,
        ISOTROPIC_MODULI,
        ISOTROPIC,
        UNBIASED,
        ATTENUATION,
        SOLID_EXPANSION,
        SOLID_TEMPERATURE,
        FAMILY,
        FAMILY_BOUNDS,
        WOUND_WALL,
        ANALOGUE,
        SOLUTION_GRID,
        SURFACE_FIT,
        THERMODYNAMIC_SPEED,
        SOLUTION_ANALOGUE,
        SOLUTION_GRID_EXACT,
        SURFACE_FIT_EXACT,
        THERMODYNAMIC_SPEED_EXACT,
        SOLUTION_ANALOGUE_EXACT,
        DEAD_OIL,
        TEMPERATURE_LINE,
        VISCOSITY_LINE,
        PRINTED_DIMENSIONS,
        PRINTED_PIPES,
        PRINTED_LIMITS,
        PRINTED_ROUGHNESS,
        ROUGHNESS_OF_DOCUMENTS,
    )
}
