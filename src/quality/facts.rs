//! One counted preparation as plain facts, and whether its count may teach.

use super::decided::Decisions;
use crate::assess::{Assessment, Now, assess};
use crate::blood::baseline::SampleKind;
use crate::case::{self, Case};
use crate::draft::{CountStanding, Draft, Field, TroubleKind};
use crate::evidence::SourceId;
use crate::product::kind::ProductKind;
use crate::product::predict::{ANALYSER, NativeCount};
use crate::product::recipe::Linear;
use crate::quantity::time::{Instant, Offset};
use crate::quantity::{CellCount, Fold, Haematocrit, Quantity, Volume};
use crate::record::Record;
use crate::words::Language;
use libm::{log, log1p};
use serde::{Deserialize, Serialize};

/// What a product count says of how it was made. Nothing about the patient.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Counted {
    /// Key of the case.
    pub id: String,
    /// When it was collected, else counted, else signed.
    pub at: Instant,
    /// Invented.
    pub demo: bool,
    /// Bench key of the protocol.
    pub protocol: Option<String>,
    /// What kind of product it makes.
    pub kind: Option<ProductKind>,
    /// Bench key of the container.
    pub container: Option<String>,
    /// Lot of the containers as typed.
    pub container_lot: String,
    /// Lot of the anticoagulant as typed.
    pub anticoagulant_lot: String,
    /// Who prepared it.
    pub operator: String,
    /// Bench key of the rotor.
    pub rotor: Option<String>,
    /// Haematocrit of the blood.
    pub haematocrit: Option<Haematocrit>,
    /// The blood's own count, corrected for its sample, and how sure it is.
    pub baseline: Option<NativeCount>,
    /// What that was counted from.
    pub sample: Option<SampleKind>,
    /// Blood drawn, without anticoagulant; `None` when a container's fill is unknown.
    pub blood: Option<Volume>,
    /// Product really kept.
    pub kept: Option<Volume>,
    /// Count of the product, dilution reckoned in.
    pub product: Option<CellCount>,
    /// How many readings it is the mean of.
    pub readings: u32,
    /// Whether the dilution of the sample was said.
    pub dilution_noted: bool,
    /// Whether it was said what tube the sample was in: a liquid one dilutes it.
    pub tube_said: bool,
    /// Every reading lies where the analyser counts in proportion, as far as that is known.
    pub linear: bool,
    /// Whether the sample was well mixed; `None` when nobody said.
    pub mixed: Option<bool>,
    /// Clumps were reported.
    pub clumps: bool,
    /// White cells of the product over those of the blood, each corrected for its sample.
    pub white_fold: Option<Fold>,
    /// Its record was changed, damaged or taken away outside: it does not enter. Known of the line, not of the facts.
    #[serde(skip)]
    pub outside: bool,
    /// Its case was rebuilt from a card's code: it does not enter unless let in. Known of the line, not of the facts.
    #[serde(skip)]
    pub rebuilt: bool,
}

impl Counted {
    /// Whether the blood's own count is of an earlier day: it is called so, or is less sure than one of today.
    pub fn blood_is_older(&self) -> bool {
        let aged = self.baseline.is_some_and(|b| b.cv.get() > ANALYSER.get() * (1.0 + 1e-9));
        aged || self.sample == Some(SampleKind::OlderResult)
    }
}

/// The facts of a preparation whose product was counted; `None` when no reading was typed, or no product was handed
/// over. `signed` stands in where neither collection nor count has a time.
pub fn facts_of(draft: &Draft, case: &Case, assessed: &Assessment, signed: Instant) -> Option<Counted> {
    let readings = u32::try_from(case.count.readings.len()).ok().filter(|&n| n > 0)?;
    if draft.without_product().is_some() {
        return None;
    }
    let text = |field| draft.text(field).trim().to_owned();
    let sample = match (case.baseline.standing, case.baseline.sample) {
        (Some(CountStanding::Older), None) => Some(SampleKind::OlderResult),
        (_, said) => said,
    };
    let now = assessed.draw.now.as_ref().filter(|t| t.unknown.is_empty());
    let protocol = case.protocol.as_ref();
    let product = &assessed.product;
    let counted = product.measured.as_ref().map(|m| m.concentration.value);
    Some(Counted {
        id: draft.id.clone(),
        at: case.times.collected.or(case.times.counted).unwrap_or(signed),
        demo: draft.demo,
        protocol: protocol.map(|p| p.id.clone()),
        kind: protocol.map(|p| p.kind),
        container: case.draw.container.as_ref().map(|c| c.id.clone()),
        container_lot: text(Field::ContainerLot),
        anticoagulant_lot: text(Field::AnticoagulantLot),
        operator: text(Field::Technician),
        rotor: case.spin.rotor.as_ref().map(|r| r.id.clone()),
        haematocrit: case.baseline.haematocrit,
        baseline: product.native.as_ref().map(|n| NativeCount { value: n.count.value, cv: n.cv.value }),
        sample,
        blood: now.map(|t| t.blood.value),
        kept: case.collect.actual,
        product: counted,
        readings,
        dilution_noted: case.count.dilution.is_some(),
        mixed: case.count.mixed,
        clumps: case.standing_troubles().any(|t| t.kind == TroubleKind::Clumps),
        tube_said: case.count.tube.is_some(),
        linear: !matches!(product.linear, Some(Linear::Above | Linear::Below)),
        white_fold: product.other.white_fold.as_ref().map(|fold| fold.value),
        outside: false,
        rebuilt: draft.rebuilt.is_some(),
    })
}

/// The facts of a signed record as it now holds; `None` when no reading was typed.
pub fn facts_of_record(record: &Record) -> Option<Counted> {
    let entry = record.latest_entry();
    // Only a case with a reading is worth the reckoning.
    let (case, _) = case::read(&entry.draft, Language::English);
    if case.count.readings.is_empty() {
        return None;
    }
    let assessed = assess(&case, Now { at: entry.at, offset: Offset::UTC });
    facts_of(&entry.draft, &case, &assessed, entry.at)
}

/// Why a count does not enter what the clinic learns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Excluded {
    /// Invented.
    Demo,
    /// Its record was changed, damaged or taken away outside Strawline.
    ChangedOutside,
    /// Its case was rebuilt from the code on a card: what was entered after it printed is not in it, and the case it came
    /// from may be among the records too.
    Rebuilt,
    /// Said not to be well mixed and free of clumps.
    NotMixed,
    /// Nobody said whether it was mixed.
    MixingUnsaid,
    /// Clumps were reported.
    Clumps,
    /// Nobody said what the blood's count was taken from.
    SampleUnknown,
    /// The blood's count is of an earlier day: what it has moved since would be taken for the process.
    OlderBlood,
    /// Nobody said how the product's sample was diluted.
    DilutionUnknown,
    /// Nobody said what tube the product's sample was in.
    TubeUnsaid,
    /// A reading lies where the analyser does not count in proportion.
    NotLinear,
    /// The readings give no count although the dilution is said: something they rest on cannot be read, or is out
    /// of range.
    NoProductCount,
    /// Made by no protocol of the Bench.
    NoProtocol,
    /// The blood was not counted, or counted as none.
    NoBaseline,
    /// The blood of some container is not known.
    NoBlood,
    /// The volume kept was not entered.
    NoVolume,
    /// A count of none, which has no logarithm.
    NoPlatelets,
    /// The protocol made another kind of product then.
    OtherKind,
    /// Somebody excluded it.
    ByHand {
        /// Who.
        by: String,
        /// When.
        at: Instant,
        /// Why.
        why: String,
    },
}

impl Excluded {
    /// Whether a person may let the count in all the same.
    pub fn can_be_let_in(&self) -> bool {
        matches!(self, Excluded::Rebuilt | Excluded::OlderBlood)
    }
}

/// The stable number of one accepted count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observed<'a> {
    /// Everything about it.
    pub counted: &'a Counted,
    /// Fold of plasma off the top, recovery of the other kinds. May exceed what is possible, by counting error.
    pub value: f64,
    /// Its natural logarithm.
    pub log: f64,
    /// Variance of that logarithm by the two counts alone.
    pub counting: f64,
}

/// Variance of the logarithm of a number with this relative SD.
pub(super) fn log_variance(cv: f64) -> f64 {
    // σ² = ln(1 + CV²)
    log1p(cv * cv)
}

/// What counts alone do to a stable number, if both are of one reading today [`SourceId::AnalyserCv`].
pub(super) fn usual_counting() -> f64 {
    2.0 * log_variance(ANALYSER.get())
}

/// Where [`usual_counting`] comes from.
pub const COUNTING_SOURCE: SourceId = SourceId::AnalyserCv;

/// The stable number of a count, or every reason why it does not enter.
pub fn judge<'a>(counted: &'a Counted, decided: &Decisions) -> Result<Observed<'a>, Vec<Excluded>> {
    match judge_but_for_demo(counted, decided) {
        Ok(_) if counted.demo => Err(vec![Excluded::Demo]),
        Err(mut why) if counted.demo => {
            why.insert(0, Excluded::Demo);
            Err(why)
        }
        judged => judged,
    }
}

/// The same for the demo's history, which is shown apart.
pub(super) fn judge_but_for_demo<'a>(
    counted: &'a Counted,
    decided: &Decisions,
) -> Result<Observed<'a>, Vec<Excluded>> {
    let mut why = Vec::new();
    let mut when = |is: bool, reason: Excluded| {
        if is {
            why.push(reason);
        }
    };
    when(counted.outside, Excluded::ChangedOutside);
    when(counted.rebuilt && !decided.is_let_in(&counted.id), Excluded::Rebuilt);
    match counted.mixed {
        Some(true) => {}
        Some(false) => when(true, Excluded::NotMixed),
        None => when(true, Excluded::MixingUnsaid),
    }
    when(counted.clumps, Excluded::Clumps);
    when(counted.sample.is_none(), Excluded::SampleUnknown);
    when(counted.blood_is_older() && !decided.is_let_in(&counted.id), Excluded::OlderBlood);
    when(!counted.dilution_noted, Excluded::DilutionUnknown);
    when(!counted.tube_said, Excluded::TubeUnsaid);
    when(!counted.linear, Excluded::NotLinear);
    when(counted.dilution_noted && counted.product.is_none(), Excluded::NoProductCount);
    when(counted.protocol.is_none() || counted.kind.is_none(), Excluded::NoProtocol);
    let baseline = counted.baseline.filter(|b| b.value.get() > 0.0);
    when(baseline.is_none(), Excluded::NoBaseline);
    let off_the_top = counted.kind == Some(ProductKind::OffTheTop);
    when(!off_the_top && counted.blood.is_none_or(|b| b.get() <= 0.0), Excluded::NoBlood);
    when(!off_the_top && counted.kept.is_none_or(|v| v.get() <= 0.0), Excluded::NoVolume);
    when(counted.product.is_some_and(|c| c.get() <= 0.0), Excluded::NoPlatelets);
    if let Some(hand) = decided.exclusion(&counted.id) {
        why.push(Excluded::ByHand { by: hand.by.clone(), at: hand.at, why: hand.why.clone() });
    }
    let number = stable(counted, baseline);
    match number {
        Some((value, counting)) if why.is_empty() => {
            Ok(Observed { counted, value, log: log(value), counting })
        }
        // Everything is there, and the number is none that can be reckoned with.
        None if why.is_empty() => Err(vec![Excluded::NoProductCount]),
        _ => Err(why),
    }
}

fn stable(counted: &Counted, baseline: Option<NativeCount>) -> Option<(f64, f64)> {
    let (product, baseline) = (counted.product?, baseline?);
    // fold = c/PLT
    let fold = product.get() / baseline.value.get();
    let value = match counted.kind? {
        ProductKind::OffTheTop => fold,
        // η = c·V/(PLT·B)
        ProductKind::Concentrate | ProductKind::WithCells => {
            fold * counted.kept?.get() / counted.blood?.get()
        }
    };
    // v = ln(1 + CV²/n) + ln(1 + CV_PLT²)
    let replicates = f64::from(counted.readings.max(1));
    let product_cv = ANALYSER.get() / libm::sqrt(replicates);
    let counting = log_variance(product_cv) + log_variance(baseline.cv.get());
    (value > 0.0 && value.is_finite()).then_some((value, counting))
}

/// Logarithm of the fold of white cells, if both were counted and neither is none.
pub fn white_log(counted: &Counted) -> Option<f64> {
    counted.white_fold.map(Quantity::get).filter(|&fold| fold > 0.0).map(log)
}
