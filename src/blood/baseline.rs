//! From a reading to the blood's own count. Raw reading and result are both kept by the caller.

use crate::blood::below;
use crate::evidence::SourceId;
use crate::quantity::{AcRatio, CellCount, Cv, Factor, Haemoglobin, OutOfRange, Quantity, Volume};
use crate::working::{Checked, Figure, StepName, Worked, Working};
use serde::{Deserialize, Serialize};

/// Where a baseline count came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SampleKind {
    /// A laboratory's EDTA tube: native blood.
    LaboratoryEdta,
    /// From the filled container, diluted by its anticoagulant.
    FilledContainer,
    /// A tube with liquid citrate.
    LiquidCitrate,
    /// A finger-prick: a Caution goes with it.
    FingerPrick,
    /// A result from an earlier day.
    OlderResult,
}

/// Why a reading could not be turned into the blood's own count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NativeError {
    /// A sample of the filled container needs the container's anticoagulant per blood.
    RatioUnknown,
    /// The result leaves the domain of a count.
    OutOfRange(OutOfRange),
}

impl From<OutOfRange> for NativeError {
    fn from(error: OutOfRange) -> Self {
        Self::OutOfRange(error)
    }
}

/// Factor for a tube with liquid citrate, where the laboratory has none of its own
/// ([`SourceId::CitrateTube`]).
pub const CITRATE_TUBE: Factor = Factor::constant(1.1);

/// The blood's own count. `ratio` is the container's anticoagulant per blood, `lab_factor` the laboratory's
/// own factor for its citrate tubes; each is used only by the kind it belongs to.
pub fn native(
    reading: CellCount,
    kind: SampleKind,
    ratio: Option<AcRatio>,
    lab_factor: Option<Factor>,
) -> Result<Worked<CellCount>, NativeError> {
    let worked = match kind {
        SampleKind::LaboratoryEdta | SampleKind::FingerPrick | SampleKind::OlderResult => {
            // PLT = reading
            native_line(reading.get(), "PLT = reading", "{}", vec![Figure::of(reading)], SourceId::Conservation)?
        }
        SampleKind::FilledContainer => {
            let ratio = ratio.ok_or(NativeError::RatioUnknown)?;
            // PLT = reading·(1 + a)
            native_line(
                reading.get() * (1.0 + ratio.get()),
                "PLT = reading·(1 + a)",
                "{}·(1 + {})",
                vec![Figure::of(reading), Figure::pure(ratio.get())],
                SourceId::Conservation,
            )?
        }
        SampleKind::LiquidCitrate => {
            let (factor, source) = match lab_factor {
                Some(own) => (own, SourceId::ClinicBench),
                None => (CITRATE_TUBE, SourceId::CitrateTube),
            };
            // PLT = reading·k
            native_line(
                reading.get() * factor.get(),
                "PLT = reading·k",
                "{}·{}",
                vec![Figure::of(reading), Figure::of(factor)],
                source,
            )?
        }
    };
    Ok(worked)
}

fn native_line(
    value: f64,
    formula: &'static str,
    substituted: &'static str,
    numbers: Vec<Figure>,
    source: SourceId,
) -> Checked<CellCount> {
    let value = CellCount::new(value)?;
    let working = Working::line(StepName::NativeCount, formula, substituted, numbers, Figure::of(value));
    Ok(Worked::new(value, working.from(source)))
}

/// A reading of a diluted sample as the count before dilution.
pub fn from_dilution(reading: CellCount, dilution: Factor) -> Checked<CellCount> {
    // c = reading·d
    let value = CellCount::new(reading.get() * dilution.get())?;
    let working = Working::line(
        StepName::CountFromReading,
        "c = reading·d",
        "{}·{}",
        vec![Figure::of(reading), Figure::of(dilution)],
        Figure::of(value),
    );
    Ok(Worked::new(value, working.from(SourceId::Conservation)))
}

/// A reading of a sample mixed with diluent, both in the same unit. Errors: no sample.
pub fn predilution(reading: CellCount, sample: Volume, diluent: Volume) -> Checked<CellCount> {
    // c = reading·(s + d)/s
    let value = CellCount::new(reading.get() * (sample.get() + diluent.get()) / sample.get())?;
    let working = Working::line(
        StepName::CountFromReading,
        "c = reading·(s + d)/s",
        "{}·({} + {})/{}",
        vec![Figure::of(reading), Figure::of(sample), Figure::of(diluent), Figure::of(sample)],
        Figure::of(value),
    );
    Ok(Worked::new(value, working.from(SourceId::Conservation)))
}

/// A count in a counting chamber: `counted` cells in `squares` squares of volume `square`, at `dilution`.
/// Errors: no squares.
pub fn haemocytometer(counted: u32, dilution: Factor, squares: u32, square: Volume) -> Checked<CellCount> {
    let (counted, squares) = (f64::from(counted), f64::from(squares));
    let microlitres = square.get() * 1000.0;
    // c = N·d/(n·v)/1000, v in µL: cells per µL over 1000 is 10⁹/L
    let value = CellCount::new(counted * dilution.get() / (squares * microlitres) / 1000.0)?;
    let working = Working::line(
        StepName::CountFromReading,
        "c = N·d/(n·v)/1000",
        "{}·{}/({}·{})/1000",
        vec![
            Figure::pure(counted),
            Figure::of(dilution),
            Figure::pure(squares),
            Figure { value: microlitres, unit: "µL" },
        ],
        Figure::of(value),
    );
    Ok(Worked::new(value, working.from(SourceId::Conservation)))
}

/// Readings of one sample taken together.
#[derive(Debug, Clone, PartialEq)]
pub struct Replicates {
    /// Their mean.
    pub mean: Worked<CellCount>,
    /// Their spread over the mean, n − 1 in the denominator; `None` for one reading or a mean of zero.
    pub cv: Option<Worked<Cv>>,
    /// How many.
    pub readings: usize,
}

/// Mean and spread of replicate readings; `None` without readings.
pub fn mean_and_cv(readings: &[CellCount]) -> Option<Replicates> {
    let count = f64::from(u32::try_from(readings.len()).ok()?);
    // m = Σx/n
    let mean = CellCount::new(readings.iter().map(|r| r.get()).sum::<f64>() / count).ok()?;
    let line = Working::line(
        StepName::MeanReading,
        "m = Σx/n",
        "Σx/{}",
        vec![Figure::pure(count)],
        Figure::of(mean),
    );
    let cv = spread(readings, mean, count).map(|value| {
        let line = Working::line(
            StepName::ReplicateCv,
            "CV = √(Σ(x − m)²/(n − 1))/m",
            "√(Σ(x − {})²/({} − 1))/{}",
            vec![Figure::of(mean), Figure::pure(count), Figure::of(mean)],
            Figure { value: 100.0 * value.get(), unit: "%" },
        );
        Worked::new(value, line.from(SourceId::Conservation))
    });
    Some(Replicates { mean: Worked::new(mean, line.from(SourceId::Conservation)), cv, readings: readings.len() })
}

fn spread(readings: &[CellCount], mean: CellCount, count: f64) -> Option<Cv> {
    if count < 2.0 {
        return None;
    }
    let squares: f64 = readings.iter().map(|r| (r.get() - mean.get()) * (r.get() - mean.get())).sum();
    // CV = √(Σ(x − m)²/(n − 1))/m
    Cv::new(libm::sqrt(squares / (count - 1.0)) / mean.get()).ok()
}

/// Below 100 ×10⁹/L: a listed caution ([`SourceId::PltBelow100`]).
pub fn platelets_below_100(native: CellCount) -> bool {
    below(native.get(), 100.0)
}

/// Below 10 g/dL: a listed caution ([`SourceId::HbBelow10`]).
pub fn haemoglobin_below_10(haemoglobin: Haemoglobin) -> bool {
    below(haemoglobin.get(), 10.0)
}
