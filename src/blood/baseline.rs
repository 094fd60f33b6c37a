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
            // PLT = x
            native_line(reading.get(), "PLT = x", "{}", vec![Figure::of(reading)], SourceId::Conservation)?
        }
        SampleKind::FilledContainer => {
            let ratio = ratio.ok_or(NativeError::RatioUnknown)?;
            // PLT = x·(1 + a)
            native_line(
                reading.get() * (1.0 + ratio.get()),
                "PLT = x·(1 + a)",
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
            // PLT = x·k
            native_line(
                reading.get() * factor.get(),
                "PLT = x·k",
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
    // c = x·d
    let value = CellCount::new(reading.get() * dilution.get())?;
    let working = Working::line(
        StepName::CountFromReading,
        "c = x·d",
        "{}·{}",
        vec![Figure::of(reading), Figure::of(dilution)],
        Figure::of(value),
    );
    Ok(Worked::new(value, working.from(SourceId::Conservation)))
}

/// A reading of a sample mixed with diluent, both in the same unit. Errors: no sample.
pub fn predilution(reading: CellCount, sample: Volume, diluent: Volume) -> Checked<CellCount> {
    // c = x·(s + d)/s
    let value = CellCount::new(reading.get() * (sample.get() + diluent.get()) / sample.get())?;
    let working = Working::line(
        StepName::CountFromReading,
        "c = x·(s + d)/s",
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
    Some(Replicates {
        mean: Worked::new(mean, line.from(SourceId::Conservation)),
        cv,
        readings: readings.len(),
    })
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, number, q, sound};

    fn of(kind: SampleKind) -> f64 {
        let worked = native(q(200.0), kind, Some(q(0.15)), None).unwrap();
        sound(&worked);
        worked.value.get()
    }

    #[test]
    fn each_kind_of_sample_by_its_own_factor() {
        assert_eq!(of(SampleKind::LaboratoryEdta), 200.0);
        assert_eq!(of(SampleKind::FingerPrick), 200.0);
        assert_eq!(of(SampleKind::OlderResult), 200.0);
        near(of(SampleKind::FilledContainer), 230.0, 1e-9);
        near(of(SampleKind::LiquidCitrate), 220.0, 1e-9);
    }

    #[test]
    fn the_laboratorys_factor_wins_and_says_so() {
        let own = native(q(200.0), SampleKind::LiquidCitrate, None, Some(q(1.2))).unwrap();
        near(own.value.get(), 240.0, 1e-9);
        assert_eq!(own.working.sources, [SourceId::ClinicBench]);
        let edta = native(q(200.0), SampleKind::LaboratoryEdta, None, Some(q(1.2))).unwrap();
        assert_eq!(edta.value.get(), 200.0);
    }

    #[test]
    fn a_container_sample_needs_its_ratio() {
        let error = native(q(200.0), SampleKind::FilledContainer, None, None).unwrap_err();
        assert_eq!(error, NativeError::RatioUnknown);
        let error = native(q(100_000.0), SampleKind::LiquidCitrate, None, None).unwrap_err();
        assert!(matches!(error, NativeError::OutOfRange(_)));
    }

    #[test]
    fn counts_from_chamber_and_dilution() {
        // D03: 250 000 per µL is 250 ×10⁹/L
        near(number(haemocytometer(250, q(100.0), 1, q(0.0001))), 250.0, 1e-9);
        near(number(haemocytometer(250, q(100.0), 5, q(0.0001))), 50.0, 1e-9);
        assert!(haemocytometer(250, q(100.0), 0, q(0.0001)).is_err());
        // D04
        near(number(predilution(q(480.0), q(1.0), q(4.0))), 2400.0, 1e-9);
        near(number(from_dilution(q(480.0), q(5.0))), 2400.0, 1e-9);
        assert!(predilution(q(480.0), Volume::ZERO, q(4.0)).is_err());
    }

    #[test]
    fn replicates() {
        let three = mean_and_cv(&[q(90.0), q(100.0), q(110.0)]).unwrap();
        assert_eq!((three.mean.value.get(), three.readings), (100.0, 3));
        near(three.cv.as_ref().unwrap().value.get(), 0.1, 1e-12);
        sound(&three.mean);
        sound(&three.cv.unwrap());
        assert!(mean_and_cv(&[q(90.0)]).unwrap().cv.is_none());
        assert!(mean_and_cv(&[q(0.0), q(0.0)]).unwrap().cv.is_none());
        assert!(mean_and_cv(&[]).is_none());
    }

    #[test]
    fn cautions_begin_below_the_number() {
        // H01: 99 000 and 100 000 per µL; H02
        assert_eq!([99.0, 99.9, 100.0].map(|n| platelets_below_100(q(n))), [true, true, false]);
        assert_eq!([9.9, 9.99, 10.0].map(|n| haemoglobin_below_10(q(n))), [true, true, false]);
    }
}
