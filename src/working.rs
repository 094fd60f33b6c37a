//! A result together with how it came about: formula, numbers put in, sources.
//!
//! Workings are language-free: a view writes the figures with the reader's own number style and takes the
//! name of each step from `words`.

use crate::evidence::SourceId;
use crate::quantity::{OutOfRange, Quantity};

/// A number with the unit it is shown in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// The number, in `unit`.
    pub value: f64,
    /// The unit as printed; empty for a pure number.
    pub unit: &'static str,
}

impl Figure {
    /// A quantity as a figure in its own unit.
    pub fn of<Q: Quantity>(q: Q) -> Self {
        Self { value: q.get(), unit: Q::UNIT }
    }
    /// A pure number.
    pub fn pure(value: f64) -> Self {
        Self { value, unit: "" }
    }
}

/// One line of a working.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What the line finds; named in `words`.
    pub what: StepName,
    /// The formula in symbols, as in `A = F·a/(1+a)`.
    pub formula: &'static str,
    /// The right-hand side with a `{}` for each entry of `numbers`, in order.
    pub substituted: &'static str,
    /// The numbers put in.
    pub numbers: Vec<Figure>,
    /// What comes out.
    pub result: Figure,
}

/// How a result came about.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Working {
    /// Lines in the order of reckoning.
    pub steps: Vec<Step>,
    /// Where its constants come from.
    pub sources: Vec<SourceId>,
}

impl Working {
    /// A working of one line.
    pub fn line(
        what: StepName,
        formula: &'static str,
        substituted: &'static str,
        numbers: Vec<Figure>,
        result: Figure,
    ) -> Self {
        Self { steps: vec![Step { what, formula, substituted, numbers, result }], sources: Vec::new() }
    }
    /// The same working with one more source, named once.
    #[must_use]
    pub fn from(mut self, source: SourceId) -> Self {
        if !self.sources.contains(&source) {
            self.sources.push(source);
        }
        self
    }
    /// This working followed by another; sources are named once.
    #[must_use]
    pub fn then(mut self, next: Working) -> Self {
        self.steps.extend(next.steps);
        next.sources.into_iter().fold(self, Working::from)
    }
}

/// A value with its working.
#[derive(Debug, Clone, PartialEq)]
pub struct Worked<T> {
    /// The result.
    pub value: T,
    /// How it came about.
    pub working: Working,
}

impl<T> Worked<T> {
    /// Pairs a result with its working.
    pub fn new(value: T, working: Working) -> Self {
        Self { value, working }
    }
}

/// A result that may leave the domain of its quantity.
pub type Checked<T> = Result<Worked<T>, OutOfRange>;

/// What a line of a working finds. One entry each; the words are in `words`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StepName {
    /// Anticoagulant before rounding, one container.
    AnticoagulantExact,
    /// Anticoagulant rounded up to the measuring device.
    RoundedUp,
    /// Anticoagulant rounded down, because up would leave the band.
    RoundedDown,
    /// Blood in one container.
    Blood,
    /// Fill of one container.
    Fill,
    /// Anticoagulant per 100 mL of blood, as it truly is.
    TrueRatio,
    /// Blood in all containers.
    BloodInAll,
    /// Anticoagulant in all containers.
    AnticoagulantInAll,
    /// Haematocrit of the mixture that is spun.
    MixtureHaematocrit,
    /// Platelet count of the mixture that is spun.
    MixturePlatelets,
    /// Plasma with the anticoagulant in it.
    Plasma,
    /// Citrate in the anticoagulant, from its composition.
    AgentCitrate,
    /// A part of the anticoagulant's composition, by mass.
    AgentComposition,
    /// Citrate in that plasma.
    Citrate,
    /// Blood that must be in a container to come back into the band.
    TopUpTo,
    /// The blood's own count, from the reading.
    NativeCount,
    /// Spread of the blood's count, by its age.
    CountSpread,
    /// Spread of a product pooled from several containers.
    PooledSpread,
    /// Error of the product volume, by its graduation.
    VolumeReading,
    /// Chance that the order is met.
    ChanceMet,
    /// What a count of the product will read.
    WillRead,
    /// Platelets drawn.
    PlateletsDrawn,
    /// Highest possible fold.
    Ceiling,
    /// Expected fold.
    Fold,
    /// Expected recovery.
    Recovery,
    /// What the analyser should read of the product.
    ExpectedReading,
    /// Concentration in the product.
    Concentration,
    /// Platelets in product.
    PlateletsInProduct,
    /// Fold by which passive carriage alone would enrich plasma.
    PassiveFold,
    /// Most that can stand above the packed cells.
    Supernatant,
    /// Most plasma that can be taken.
    ProductBound,
    /// Left behind in the containers when the product is taken.
    LeftBehind,
    /// Product left after the count sample.
    AfterSample,
    /// Losses in needles and transfers.
    Losses,
    /// Volume for all sites together.
    SitesTotal,
    /// Left over after all sites.
    LeftOver,
    /// Dose at one site.
    Dose,
    /// Estimated blood volume, Nadler.
    BloodVolumeNadler,
    /// Estimated blood volume, Lemmens-Bernstein-Brodsky.
    BloodVolumeLemmens,
    /// Estimated blood volume, ICSH (literature, shown only).
    BloodVolumeIcsh,
    /// Estimated blood volume, the smaller of the estimates possible.
    BloodVolume,
    /// Blood volume of a child, 80 mL/kg (literature, shown only).
    BloodVolumeChild,
    /// Blood volume in proportion to haemoglobin (literature, shown only).
    BloodVolumeFunctional,
    /// Body-mass index.
    BodyMassIndex,
    /// Body surface.
    BodySurface,
    /// Drawn today with discards and samples.
    DrawnToday,
    /// Drawn per kilogram.
    DrawnPerKg,
    /// Drawn as a share of the blood volume.
    DrawnShare,
    /// Drawn in eight weeks.
    DrawnEightWeeks,
    /// Drawn in eight weeks per kilogram.
    DrawnEightWeeksPerKg,
    /// Most drawn at a donation, per weight (literature, shown only).
    DonorLimit,
    /// Most drawn at a donation, as a share of the blood volume (literature, shown only).
    DonorShareLimit,
    /// Most drawn for research in eight weeks (literature, shown only).
    ResearchLimit,
    /// Most drawn from a child, as a share of the blood volume (literature, shown only).
    ChildLimit,
    /// Mean of minimum and maximum radius.
    MeanRadius,
    /// Speed rounded to the step of the machine.
    SpeedRounded,
    /// RCF from speed and radius.
    RcfFromRpm,
    /// Speed from RCF and radius.
    RpmFromRcf,
    /// Clearing factor of a rotor at a speed.
    ClearingFactor,
    /// Time with the same clearing on another rotor.
    Clearing,
    /// Water that weighs as much as the contents of a container.
    WaterAsHeavy,
    /// By how much two containers differ in weight.
    WeightApart,
    /// Difference in weight of two sides that were weighed.
    WeighedApart,
    /// Water that makes up a difference in weight.
    WaterForWeight,
    /// Force over time of a whole programme.
    Exposure,
    /// Volume after an addition.
    VolumeAfterAddition,
    /// Concentration after an addition.
    ConcentrationAfterAddition,
    /// Calcium added.
    CalciumAdded,
    /// Citrate present in the product.
    CitratePresent,
    /// Calcium per citrate.
    CalciumPerCitrate,
    /// Reading × dilution × sample factor.
    CountFromReading,
    /// Mean of replicate readings.
    MeanReading,
    /// Spread of replicate readings.
    ReplicateCv,
    /// White cells of the product.
    WhiteCells,
    /// Red cells of the product.
    RedCells,
    /// Haematocrit of the product.
    ProductHaematocrit,
    /// Neutrophils, from white cells and their share.
    Neutrophils,
    /// White cells of the product over those of the blood.
    WhiteFold,
    /// Diluent for the count sample.
    Diluent,
    /// Highest reading that the platelets drawn allow.
    ReadingAtMost,
    /// Most product that the platelets drawn allow at this concentration.
    ProductAtMost,
    /// Product, plasma and cells together.
    FoundAfterSpin,
    /// What the scales cannot tell.
    ScaleTolerance,
    /// Platelets in the platelet-poor plasma.
    PlateletsInPlasma,
    /// Platelets drawn that are neither in product nor in plasma.
    PlateletsElsewhere,
    /// Use-by from collection.
    UseBy,
    /// Spin-by from collection.
    SpinBy,
}
