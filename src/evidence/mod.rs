//! Where the numbers come from, and the hazard list.
//!
//! A constant lives beside the code that uses it and names its [`SourceId`]; the citation stands here once.

pub mod hazard;

use serde::{Deserialize, Serialize};

/// How a source was consulted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The page, abstract or table was read.
    Read,
    /// Read only as quoted by another page.
    ReadSecondHand,
    /// Recalled, not read: verify.
    FromMemory,
    /// A fact of the trade without a source.
    CommonPractice,
    /// Our own choice, said so.
    Judgement,
    /// Arithmetic or conservation, no constant of nature in it.
    Arithmetic,
}

/// One source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Source {
    /// Stable key, as written to files.
    pub key: &'static str,
    /// Citation as printed.
    pub citation: &'static str,
    /// How it was consulted.
    pub standing: Standing,
}

macro_rules! sources {
    ($($id:ident, $key:literal, $standing:ident, $citation:literal;)*) => {
        /// A source, by name.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[allow(missing_docs)]
        pub enum SourceId { $(#[serde(rename = $key)] $id),* }

        impl SourceId {
            /// Every source, in the order printed.
            pub const ALL: &'static [SourceId] = &[$(SourceId::$id),*];

            /// Citation and standing.
            pub fn source(self) -> Source {
                match self {
                    $(SourceId::$id => Source { key: $key, citation: $citation, standing: Standing::$standing }),*
                }
            }
        }
    };
}

sources! {
    Conservation, "conservation", Arithmetic, "Conservation of volume and number: nothing is made or lost in the reckoning.";
    UspAcd, "usp-acd", Read, "USP monograph, Anticoagulant Citrate Dextrose Solution (USP 28 copy): composition per litre, label amount in mL per 100 mL of blood.";
    AcdLabel15, "acd-a-15-per-100", Read, "Blood-bank teaching texts: 15 mL of ACD-A for 100 mL of blood (67.5 mL for 450 mL).";
    AcdBand, "acd-a-band", Judgement, "Band 10 to 20 mL of ACD-A for 100 mL of blood: judgement, no source.";
    AnticoagulantFarLow, "anticoagulant-far-low", Judgement, "No anticoagulant, or less than half of the lowest accepted amount, is nothing to rely on: judgement, no source.";
    UspCpd, "usp-cpd", FromMemory, "USP, Anticoagulant Citrate Phosphate Dextrose Solution: composition and 14 mL per 100 mL of blood, from memory, verify.";
    CitrateMolarity, "citrate-molarity", Read, "Public laboratory-formula page: 3.8 % sodium citrate is 0.129 mol/L; 3.2 % by stoichiometry (294.10 g/mol) 0.1088 mol/L.";
    MolarMasses, "molar-masses", FromMemory, "Molar masses from the standard atomic weights, from memory.";
    CitrateLimits, "citrate-one-compartment", Judgement, "Citrate taken to stay outside the red cells: about ±5 %, says nothing of pH.";
    EdtaHeparin, "edta-heparin", FromMemory, "General haematology: EDTA and heparin are counting and laboratory anticoagulants, not for re-injection; from memory, verify.";
    CitrateTube, "citrate-tube-factor", Read, "CAP Today, December 2023: citrate-tube platelet count × 1.1 or the laboratory's validated factor.";
    Nadler1962, "nadler-1962", ReadSecondHand, "Nadler 1962, Surgery 51:224: estimated blood volume from height, weight and sex.";
    Lemmens2006, "lemmens-2006", ReadSecondHand, "Lemmens, Bernstein, Brodsky 2006, Obes Surg 16:773: 70/√(BMI/22) mL/kg.";
    Icsh1995, "icsh-1995", FromMemory, "ICSH 1995, Br J Haematol 89:748: red-cell mass and plasma volume (populations read, coefficients from memory, verify).";
    DuBois1916, "du-bois-1916", FromMemory, "Du Bois 1916, Arch Intern Med 17:863: body surface 0.007184 W^0.425 H^0.725; from memory, verify.";
    Donor105, "donor-10.5-ml-kg", Read, "AABB Standard 5.4 as tabulated in PMC7152478 Table 11-3: donation ≤ 10.5 mL/kg with samples.";
    Jpac15, "jpac-15-percent", Read, "UK JPAC Red Book 3.7: ≤ 15 % of estimated blood volume per donation.";
    Cfr46110, "45-cfr-46.110", Read, "45 CFR 46.110 expedited category 2: research, healthy adults ≥ 110 lb, 550 mL in 8 weeks; others the lesser of 50 mL or 3 mL/kg.";
    Duke2012, "duke-hrpp-2012", Read, "Duke HRPP 2012: 5 mL/kg in 24 h, 7 mL/kg in 8 weeks (research).";
    Partners200, "partners-200-ml", Read, "Partners IRB page: ≤ 200 mL at once needs no extra precaution in healthy adults.";
    DonorHb, "donor-hb", ReadSecondHand, "21 CFR 630.10: haemoglobin ≥ 13.0 g/dL men, ≥ 12.5 g/dL women (quoted); autologous donation ≥ 11 g/dL (quoted).";
    HbBelow10, "hb-below-10", Read, "Medscape 1997643-101173: haemoglobin below 10 g/dL listed as a relative contraindication.";
    PltBelow100, "plt-below-100", Read, "Medscape 1997643-101173: platelets below 100 ×10⁹/L listed as a relative contraindication.";
    ChildVolume, "child-80-ml-kg", Read, "PMC4890332: blood volume 80 mL/kg (2 months to under 12 years), 3.8 % of it drawn at most; in proportion to haemoglobin.";
    LowEbv, "ebv-below-3.5-l", Read, "Transfusion 2010, doi 10.1111/j.1537-2995.2009.02578.x: reactions more frequent below 3.5 L blood volume and at a first donation.";
    BodyMassSlip, "body-mass-slip", Judgement, "Weight and height that give a body-mass index outside 12 to 50 kg/m² are asked about as a slip of unit: judgement, no source.";
    LimitsJudgement, "limits-judgement", Judgement, "Which published limit becomes which level is our judgement; the clinic may tighten, loosening needs the lead.";
    BloodWeighs, "blood-weighs", Read, "Clin Chem 1974;20:615: specific gravity of whole blood 1.0506 at 37 °C, 1.0621 at 4 °C; the mixture taken as about 1.05 g/mL and water as 1.00, a first guess before weighing.";
    StandardGravity, "standard-gravity", FromMemory, "Standard gravity 9.80665 m/s² (CGPM 1901; SI Brochure), from memory.";
    RcfFormula, "rcf-formula", Read, "RCF = ω²r/g₀; 1.118×10⁻⁵ r[cm] rpm², laboratory-centrifuge theory page (encyclopaedic).";
    RadiusNamed, "radius-named", Read, "Clinical-research handout: minimum, mean and maximum radius and what each is used for.";
    Lueptow1991, "lueptow-1991", Read, "Lueptow and Hubler 1991, J Biomech Eng 113:485 (abstract): settling of blood in a centrifuge as a kinematic wave after Kynch; the suspension thins out with time.";
    RichardsonZaki, "richardson-zaki", FromMemory, "Richardson and Zaki 1954: hindered settling (1 − φ)^n, n about 4.65 at low Reynolds number; from memory, verify.";
    SlipInSuspension, "slip-in-suspension", FromMemory, "Masliyah 1979, Chem Eng Sci 34:1166, and Lockett and Bassoon 1979, Powder Technol 24:1: each kind slips against the density of the suspension; from memory, verify.";
    PlasmaViscosity, "plasma-viscosity", ReadSecondHand, "Plasma viscosity at room temperature 1.50 to 1.70 mPa·s, clinical reference page (secondary).";
    Corash1977, "corash-1977", Read, "Corash 1977, Blood 49:71 (abstract): platelet volume 5.17 ± 0.46 µm³, skewed; 4.50 at a density up to 1.062, 5.32 at 1.071 to 1.084 g/mL.";
    CellSizes, "cell-sizes", FromMemory, "Red cell 90 fL, 1.09 to 1.10 g/mL; platelet about 1.06; lymphocytes and monocytes 1.055 to 1.075, granulocytes 1.08 to 1.09, 7 to 15 µm; plasma 1.024 to 1.028: from memory, verify.";
    Clearing, "clearing", FromMemory, "Svedberg and Pedersen 1940, The Ultracentrifuge: a single cell stands at r₀·e^{s·∫ω²dt}, so that it is cleared from the surface of the fluid to the bottom where ∫ω²dt = ln(r_max/r_top)/s; from memory, verify.";
    Clark1960, "clark-1960", Read, "Clark 1960, Aust J Exp Biol Med Sci, doi 10.1038/icb.1960.49 (abstract): red cells fill 0.94 of their column at all forces above 1430 ×g, less below.";
    PackedMost, "microhaematocrit-packing", Read, "Re-assessment of the reliability of the haematocrit (abstract; author and year not read): about 3 % plasma in the packed column.";
    RedClumping, "red-cell-clumping", Judgement, "How the clumping of red cells fades with force and sets in, and what anticoagulant does to it: judgement. That they clump was reckoned from Petrushenko 2022 (single cells fall too slowly for it), to which the factor itself is fitted, from a start that favours none between 1 and 32.";
    PublishedSpins, "published-spins", Judgement, "Fitted to Petrushenko 2022, Perez 2014 and Amable 2013 (abstracts; Amable’s spins from memory, verify): height of the column, haematocrit, radius, anticoagulant and what was left behind are not printed and were assumed.";
    CitrateFluid, "citrate-fluid", Judgement, "A citrate solution taken as 1.02 ± 0.01 g/mL and 1.15 ± 0.1 mPa·s, viscosities mixed by their logarithms: judgement.";
    ColumnChoices, "column-choices", Judgement, "In the picture of a spin: spread of platelet sizes, sharpness of packing, cells taken to begin at a tenth of the volume, of thin blood at half of what its red cells begin with, 2 mm above the cells in which platelets count as gathered on them, what counts as a turn, how far the picture goes: judgement.";
    SoftSpinPacking, "soft-spin-packing", Judgement, "Packed red-cell fraction of a soft spin 0.70 (judgement; published rows give 0.63 to 0.83 by convention).";
    Petrushenko2022, "petrushenko-2022", Read, "Petrushenko 2022, Paediatric Surgery (Ukraine) 3(76):27-35, doi 10.15574/PS.2022.76.27 (abstract): 160 ×g, 10 min, n 30.";
    Series686, "series-686", Read, "Single-centre series of 686 patients (abstract): 378 against 222 ×10³/µL, 1.7-fold.";
    Amable2013, "amable-2013", Read, "Amable 2013, Stem Cell Res Ther 4:67, doi 10.1186/scrt218 (abstract): recovery 0.47 to 0.70.";
    Perez2014, "perez-2014", Read, "Perez 2014, ISRN Hematology 2014:176060, PMC4005024 (abstract): recovery 0.70 to 0.80, n 20.";
    JOralImplantol2013, "j-oral-implantol-2013", Read, "J Oral Implantol 2013;39:525: step recoveries 0.92 and 0.843, product 0.78.";
    Pmc9577528, "pmc9577528", Read, "PMC9577528 (abstract): recovery 0.86 to 0.99, 6.4-fold, n 40.";
    RecoveryJudgement, "double-spin-recovery-judgement", Judgement, "Recovery 0.70 ± 0.12 for a double-spin tube method: judgement over the four papers named beside it.";
    AnalyserCv, "analyser-cv", Judgement, "Platelet analyser CV 3 % (judgement, within the desirable imprecision of half the within-person CV).";
    WithinPersonCv, "within-person-cv", Read, "Arch Pathol Lab Med 1992;116:825: within-person CV of the platelet count over a year 6.7 % (men), 8.6 % (women).";
    CountAgeing, "count-ageing", Judgement, "Pace at which an older count grows as unsure as the within-person CV allows (time constant 30 days): judgement.";
    Nhanes2011, "nhanes-plt", Read, "Wongsaengsak 2019, doi 10.12746/swrccc.v7i30.558: adult platelets 236 ± 59 ×10⁹/L (NHANES 2011–2016).";
    ContainerCorrelation, "container-correlation", Judgement, "Containers of one patient and run share most of what makes them differ from others (correlation 0.8): judgement, no source.";
    GraduationUniform, "graduation-uniform", Judgement, "A volume read to a graduation lies anywhere within half of it: judgement.";
    AboutOrdered, "about-ordered", Judgement, "An order for about so much is taken as within 10 % of it: judgement, no source.";
    ChanceWanted, "chance-wanted", Judgement, "A plan is made so that about 8 in 10 such preparations meet the order; which chance takes which words: judgement.";
    PlanSteps, "plan-steps", Judgement, "What is worth telling of a plan: 5 mL more blood is priced; a larger plan must be surer by 0.005, a fuller one by 0.02, a limit that binds by 0.01; ways that differ by less than 10 % of blood and 20 % of product are one; three stand beside the first: judgement.";
    SharesRounded, "shares-rounded", Judgement, "Three shares of the white cells may add to 101.5 %, as each may be rounded to whole per cent: judgement.";
    Cfr64024, "21-cfr-640.24", Read, "21 CFR 640.24 (2001 text): blood held at 20–24 °C, platelets separated within 4 h; applied here by analogy.";
    RunTolerance, "run-tolerance", Judgement, "A run further than 5 % in speed or 10 % in time from its stage is said to differ: judgement, no source.";
    UnlikelyCount, "unlikely-count", Judgement, "A concentrate counted below 1.2 times the blood, or below half the low end of what is expected, is looked at again: judgement, no source.";
    CaChloride, "ca-chloride-10", Read, "10 % calcium chloride dihydrate: 6.8 mmol in 10 mL (product text).";
    CaGluconate, "ca-gluconate-10", Read, "10 % calcium gluconate: 0.232 mmol in 1 mL (label copies).";
    CaCitrate, "ca-citrate-1-1", FromMemory, "Calcium binds citrate about 1:1 (mol:mol), estimate from memory.";
    Mixing, "mix-before-sampling", Read, "Woodell-May 2005, J Craniofac Surg 16:749: rock at least 5 min and resuspend the whole before sampling; 153 preparations.";
    LinearRange, "linear-range", Read, "Woodell-May 2005, J Craniofac Surg 16:749: one validated analyser counted to 4.8 million/µL without dilution; each validates its own.";
    RecipePipette, "recipe-pipette", Judgement, "50 µL of product taken for a dilution where the clinic has set no volume: judgement.";
    GraduationError, "graduation-error", Judgement, "A volume read on a scale is off by at most half a step, each as likely (SD step/√12): judgement.";
    Paw2012, "paw-2012", ReadSecondHand, "DeLong 2012, Arthroscopy 28:998, doi 10.1016/j.arthro.2012.04.148 (abstract); cut-offs as in PMC8044532, Table 1.";
    Mishra2012, "mishra-2012", ReadSecondHand, "Mishra 2012: four types by white cells and activation, A from fivefold on, as in PMC8044532, Table 1.";
    Plra2015, "plra-2015", ReadSecondHand, "Mautner 2015, PM R 7:S53: platelets and volume, leukocytes, red cells, activation, as in PMC8044532, Table 1; which share is meant differs between reviews.";
    Depa2016, "depa-2016", Read, "Magalon 2016, BMJ Open SEM, PMC5117023 (abstract): dose, efficiency, purity, activation; purity above 90 % is A.";
    DepaGrades, "depa-grades", FromMemory, "Magalon 2016, PMC5117023: grade table of dose, efficiency and purity, from memory, verify; to which grade an edge belongs was not read.";
    DohanEhrenfest2009, "dohan-ehrenfest-2009", ReadSecondHand, "Dohan Ehrenfest 2009, Trends Biotechnol 27:158: four families by leukocytes and fibrin, as in PMC8044532, Table 1; no number for either.";
    NoneValidated, "no-classification-validated", Read, "PMC8142058 (review, 2021): no classification of platelet-rich plasma had been validated.";
    Marx2001, "marx-2001", ReadSecondHand, "Marx 2001, Implant Dent 10:225, as quoted at BNID 102750: working definition.";
    Giusti2009, "giusti-2009", Read, "Giusti 2009, Transfusion 49:771: angiogenesis in vitro.";
    Bansal2021, "bansal-2021", Read, "Bansal 2021, doi 10.1038/s41598-021-83025-2: randomised, n 150, knee, against hyaluronic acid.";
    Berrigan2024, "berrigan-2024", Read, "Berrigan 2024, doi 10.1016/j.arthro.2024.03.018: systematic review of trials, knee.";
    BerriganMeta2024, "berrigan-meta-2024", Read, "Berrigan 2024, doi 10.1007/s12178-024-09922-x: review of dose.";
    Restore2021, "restore-2021", Read, "PMC8611484: randomised, n 288, knee, three weekly injections against saline.";
    Achilles2021, "achilles-2021", Read, "PMC8278266: randomised, n 240, Achilles tendinopathy.";
    AnkleOa2021, "ankle-oa-2021", FromMemory, "JAMA 2021: randomised, n 100, ankle, two injections; design read, result from memory, verify.";
    AchillesRupture2019, "achilles-rupture-2019", FromMemory, "PMC6863552: randomised, n 230, acute Achilles rupture; design read, result from memory, verify.";
    SportsTrials13, "sports-trials-13", Read, "PMC4930250: review of 13 randomised trials of sports injuries.";
    KneeGuidelines, "knee-guidelines", ReadSecondHand, "ACR and OARSI, as quoted in the introduction of PMC8458198.";
    FrenchExperts2021, "french-experts-2021", Read, "PMC8458198: French-speaking experts, 2021, knee.";
    SteroidComparison, "steroid-comparison", Read, "PMC8208610: review of 8 studies, 648 patients, against corticosteroid.";
    PriorWeight, "prior-weight", Judgement, "A published expectation weighs as one own preparation without counting error for the middle and as six degrees of freedom for its spread, counting being taken as at most ten times that; three counts are the least without one: judgement, no source.";
    SlopePrior, "slope-prior", Judgement, "Width of what is held possible for the effect of haematocrit, count and volume on a recovery before counts speak (a tenth of haematocrit 20 %; e-fold of count or volume 50 %), the height left to the counts where nothing was known, with a variance of 0.02; five counts are the least for a line: judgement, no source.";
    TenCounts, "ten-counts", Judgement, "Ten accepted counts make a check of the process, and a container’s own series; below ten what was known before is told beside them: judgement, no source.";
    TwentyPoints, "twenty-points", FromMemory, "CLSI C24: at least 20 points to set first limits; from memory, verify.";
    Westgard, "westgard-rules", Read, "Multirule definitions 1₂ₛ, 1₃ₛ, 2₂ₛ, R₄ₛ, 4₁ₛ, 10ₓ as given at westgard.com and medialabinc.net; made for stable control material.";
    Nelson1984, "nelson-1984", FromMemory, "Nelson 1984, J Qual Technol 16:237: tests for special causes on individuals; from memory, verify.";
    NistEwma, "nist-ewma", ReadSecondHand, "NIST/SEMATECH e-Handbook 6.3.2.4: EWMA and its limits, λ usually 0.2 to 0.3 (method as quoted; that figure from memory).";
    ClinicBench, "clinic-bench", CommonPractice, "The clinic's own entry in Bench.";
    ProductMeasured, "own-count", Arithmetic, "This preparation's own count.";
}
