//! What was typed, chosen, ticked and timed in one preparation. Nothing here is reckoned; [`crate::case`]
//! reads it. This is also the stored form of a case, so that nothing typed is ever lost.

mod again;
mod convert;
mod demo;
pub mod field;
mod ground;
mod sign;
mod times;

use crate::bench::{Container, Protocol};
use crate::blood::anticoagulant::{Agent, VolumeConvention};
use crate::blood::baseline::SampleKind;
use crate::blood::patient::{Limits, Sex};
use crate::product::clock::ClockPolicy;
use crate::quantity::time::{Instant, Offset};
use crate::quantity::unit::Conventions;
use crate::spin::rotor::Rotor;
use crate::stored::fault;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

pub use demo::CLINIC as DEMO_CLINIC;
pub use field::Field;
pub use sign::CheckSign;
pub use times::{Correction, Interrupted, TimeOf, TimeRefused, Times, stop_between};

/// Version of the stored layout.
pub const SCHEMA: u32 = 1;

/// One preparation as typed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Draft {
    /// Version of this layout.
    pub schema: u32,
    /// Key of the case on this device.
    pub id: String,
    /// Two characters that tell this case from the others open.
    pub sign: CheckSign,
    /// Invented data, marked wherever it shows.
    #[serde(default)]
    pub demo: bool,
    /// When the case was begun.
    pub begun: Instant,
    /// Local time against UTC where and when it was begun: its times are written in that, also years later. Absent
    /// in what was stored before this was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offset: Option<Offset>,
    /// Units and number style its texts are typed in.
    #[serde(default)]
    pub conventions: Conventions,
    /// The stage in hand.
    #[serde(default)]
    pub stage: Stage,
    /// Bench entries as they stood when chosen.
    #[serde(default)]
    pub kit: Kit,
    /// Everything typed.
    #[serde(default)]
    pub texts: BTreeMap<Field, String>,
    /// Everything chosen.
    #[serde(default)]
    pub choices: Choices,
    /// How many rows of each list are open.
    #[serde(default)]
    pub rows: Rows,
    /// When things happened.
    #[serde(default)]
    pub times: Times,
    /// Times that were corrected, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<Correction>,
    /// What was confirmed, by whom, when.
    #[serde(default)]
    pub checks: BTreeMap<CheckKind, Check>,
    /// What was confirmed and holds no longer, because what it spoke of has changed since.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lapsed: Vec<Lapsed>,
    /// What went wrong.
    #[serde(default)]
    pub troubles: Vec<Trouble>,
    /// What was seen or decided about findings, by finding key.
    #[serde(default)]
    pub decisions: BTreeMap<String, Decision>,
}

/// The stages of the job; they are the navigation of the worksheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// What is ordered, for whom, with what.
    #[default]
    Order,
    /// Identity, anticoagulant, fill mark.
    BeforeNeedle,
    /// Blood is being drawn.
    NeedleIn,
    /// Between draw and collection.
    Spinning,
    /// Collect, count, share, card.
    Product,
    /// Late counts and the amended card.
    Later,
}

impl Stage {
    /// In the order of the job.
    pub const ALL: [Stage; 6] =
        [Stage::Order, Stage::BeforeNeedle, Stage::NeedleIn, Stage::Spinning, Stage::Product, Stage::Later];
}

/// Bench entries a case was begun with; a later change of Bench does not reach into it.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kit {
    /// Container.
    #[serde(default)]
    pub container: Option<Container>,
    /// Protocol.
    #[serde(default)]
    pub protocol: Option<Protocol>,
    /// Rotor.
    #[serde(default)]
    pub rotor: Option<Rotor>,
    /// Blood-draw limits.
    #[serde(default)]
    pub limits: Limits,
    /// Clock policy.
    #[serde(default)]
    pub clock: ClockPolicy,
}

/// Side of the body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
    /// The site has no side.
    NoSide,
}

/// What the order says of white cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WhiteCellOrder {
    /// Wanted.
    Wanted,
    /// Not wanted.
    NotWanted,
}

/// Whether the blood has been counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CountStanding {
    /// Counted today.
    Today,
    /// An older result.
    Older,
    /// Not counted.
    NoCount,
}

/// Answer to a screening question: yes raises a finding for the prescriber.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Screening {
    /// Unwell, fever or infection, also at the site.
    Infection,
    /// Known disorder of platelets, blood or clotting.
    BloodDisorder,
    /// Cancer, now or before.
    Cancer,
    /// Takes a medicine against clotting or platelets.
    AntithromboticMedicine,
    /// Took an anti-inflammatory pain medicine in the last days.
    AntiInflammatory,
    /// Had a corticosteroid in the last weeks.
    Corticosteroid,
    /// Pregnant or breast-feeding.
    Pregnancy,
    /// Fainted at a blood draw before.
    Fainted,
    /// Allergy to something that will be used.
    Allergy,
}

impl Screening {
    /// In the order asked.
    pub const ALL: [Screening; 9] = [
        Screening::Infection,
        Screening::BloodDisorder,
        Screening::Cancer,
        Screening::AntithromboticMedicine,
        Screening::AntiInflammatory,
        Screening::Corticosteroid,
        Screening::Pregnancy,
        Screening::Fainted,
        Screening::Allergy,
    ];
}

/// What is added to the product.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AdditionChoice {
    /// Calcium chloride, strength as the dihydrate.
    CalciumChloride,
    /// Calcium gluconate.
    CalciumGluconate,
    /// Thrombin made from the patient's own blood.
    AutologousThrombin,
    /// Local anaesthetic.
    LocalAnaesthetic,
    /// Anything else, named in words.
    Other,
}

impl AdditionChoice {
    /// In the order offered.
    pub const ALL: [AdditionChoice; 5] = [
        AdditionChoice::CalciumChloride,
        AdditionChoice::CalciumGluconate,
        AdditionChoice::AutologousThrombin,
        AdditionChoice::LocalAnaesthetic,
        AdditionChoice::Other,
    ];
}

/// Whether the sample went into the analyser as it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SampleDilution {
    /// As taken from the product.
    Undiluted,
    /// Diluted by the typed factor.
    Diluted,
}

/// Everything chosen from a few. `None` is "not said".
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Choices {
    /// Side of the site.
    pub side: Option<Side>,
    /// White cells wanted or not.
    pub white_cells: Option<WhiteCellOrder>,
    /// The order asks for one container only.
    pub one_container: bool,
    /// Whether the blood has been counted.
    pub count: Option<CountStanding>,
    /// What the baseline was counted from.
    pub sample: Option<SampleKind>,
    /// Sex, for the blood volume.
    pub sex: Option<Sex>,
    /// The patient's first draw.
    pub first_draw: Option<bool>,
    /// Anticoagulant instead of the protocol's.
    pub agent: Option<Agent>,
    /// What the volume that was named means.
    pub convention: Option<VolumeConvention>,
    /// What each addition is, by its row from 0.
    pub additions: BTreeMap<u8, AdditionChoice>,
    /// Screening answers; absent is "not asked".
    pub screening: BTreeMap<Screening, bool>,
    /// Whether the sample of the product was diluted before the analyser.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dilution: Option<SampleDilution>,
    /// The product count was of a well-mixed sample without clumps.
    pub mixed_no_clumps: Option<bool>,
    /// Platelets of the product will be counted later.
    pub count_later: bool,
}

/// How many rows of each list are open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Rows {
    /// Parts of the site.
    pub parts: u8,
    /// Readings of the product count.
    pub readings: u8,
    /// Additions.
    pub additions: u8,
    /// Containers in hand beyond or below the plan; 0 follows the plan.
    pub containers: u8,
}

impl Default for Rows {
    fn default() -> Self {
        Self { parts: 1, readings: 1, additions: 0, containers: 0 }
    }
}

/// What can be confirmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CheckKind {
    /// The patient stated both identifiers and they agree.
    Identity,
    /// The identifiers do not agree.
    IdentityDiffers,
    /// A second person checked the anticoagulant amount.
    Anticoagulant,
    /// Anticoagulant clear, in date, seal whole.
    AnticoagulantSound,
    /// Anticoagulant cloudy, out of date, or its seal broken.
    AnticoagulantUnsound,
    /// Containers whole, sealed, in date, labelled.
    ContainersSound,
    /// A container cracked, opened or out of date.
    ContainersUnsound,
    /// Rotor balanced, lids closed.
    Balance,
    /// Identifiers read back between two people at hand-over.
    HandOver,
}

/// One confirmation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// Who.
    pub by: String,
    /// When.
    pub at: Instant,
}

/// What a check spoke of, and is no longer as it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Changed {
    /// One of the two identifiers.
    Identifiers,
    /// Site or side.
    Site,
    /// What is in the rotor: it was opened and handled.
    Rotor,
    /// The anticoagulant, its lot or its expiry.
    Anticoagulant,
    /// The containers, their lot or their expiry.
    Containers,
    /// How much anticoagulant.
    Amount,
}

/// A confirmation that a later change took the ground from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lapsed {
    /// What was confirmed.
    pub kind: CheckKind,
    /// By whom and when.
    pub check: Check,
    /// What changed afterwards.
    pub changed: Changed,
}

/// What can go wrong at the chair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TroubleKind {
    /// A clot is seen.
    Clot,
    /// The draw stopped short.
    ShortDraw,
    /// Blood without its anticoagulant.
    AnticoagulantForgotten,
    /// Plasma is pink.
    PinkPlasma,
    /// Plasma is milky.
    MilkyPlasma,
    /// The spin stopped before its time.
    SpinStopped,
    /// Red cells in the product.
    RedCells,
    /// Clumps in the product.
    Clumps,
    /// A container fell, leaked or was opened.
    Dropped,
    /// A container has no label, or nobody is sure whose it is.
    Unlabelled,
}

impl TroubleKind {
    /// In the order offered.
    pub const ALL: [TroubleKind; 10] = [
        TroubleKind::ShortDraw,
        TroubleKind::Clot,
        TroubleKind::AnticoagulantForgotten,
        TroubleKind::Dropped,
        TroubleKind::Unlabelled,
        TroubleKind::SpinStopped,
        TroubleKind::PinkPlasma,
        TroubleKind::MilkyPlasma,
        TroubleKind::RedCells,
        TroubleKind::Clumps,
    ];
    /// Whether it concerns one container and leaves the others usable.
    pub fn of_one_container(self) -> bool {
        matches!(
            self,
            TroubleKind::Clot
                | TroubleKind::ShortDraw
                | TroubleKind::AnticoagulantForgotten
                | TroubleKind::Dropped
                | TroubleKind::Unlabelled
        )
    }
}

/// One thing that went wrong.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trouble {
    /// What.
    pub kind: TroubleKind,
    /// Which container, from 0, when it concerns one.
    #[serde(default)]
    pub container: Option<u8>,
    /// When it was entered.
    pub at: Instant,
    /// Who entered it.
    #[serde(default)]
    pub by: String,
    /// The container was set aside and takes no further part.
    #[serde(default)]
    pub set_aside: bool,
    /// Taken back as a mistake, by whom and when; it stays in the record and raises nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub withdrawn: Option<Check>,
}

impl Trouble {
    /// Not taken back.
    pub fn stands(&self) -> bool {
        self.withdrawn.is_none()
    }
}

/// What was said of a finding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Decision {
    /// Who saw it, or who decided (the prescriber, for a Stop).
    pub by: String,
    /// Reason given; empty for a Caution that was seen.
    #[serde(default)]
    pub reason: String,
    /// When.
    pub at: Instant,
    /// The sentence that stood there then.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub found: String,
    /// What it was about; absent in what was stored before this was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub about: Option<About>,
    /// Decisions before it that no longer held, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub earlier: Vec<Decision>,
}

impl Decision {
    /// Said by somebody, at a moment, about nothing in particular.
    pub fn new(by: impl Into<String>, reason: impl Into<String>, at: Instant) -> Self {
        let (by, reason) = (by.into(), reason.into());
        Self { by, reason, at, found: String::new(), about: None, earlier: Vec::new() }
    }
}

/// What was decided on: a decision holds for this and for nothing worse.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct About {
    /// What it turns on, besides how grave it is: another rotor, another occurrence.
    pub of: String,
    /// How grave, in the finding's own unit; more is worse.
    pub grave: f64,
    /// How much graver it may become before it is decided anew.
    pub slack: f64,
}

impl About {
    /// Whether what was decided about this holds for `now` as well.
    pub fn covers(&self, now: &About) -> bool {
        // What was typed in another unit may differ in its last figure.
        let most = self.grave + self.slack + 1e-9 * self.grave.abs().max(1.0);
        self.of == now.of && now.grave <= most
    }
}

impl Draft {
    /// An empty case.
    pub fn new(id: String, sign: CheckSign, begun: Instant, conventions: Conventions) -> Self {
        Self {
            schema: SCHEMA,
            id,
            sign,
            demo: false,
            begun,
            offset: None,
            conventions,
            stage: Stage::default(),
            kit: Kit::default(),
            texts: BTreeMap::new(),
            choices: Choices::default(),
            rows: Rows::default(),
            times: Times::default(),
            corrections: Vec::new(),
            checks: BTreeMap::new(),
            lapsed: Vec::new(),
            troubles: Vec::new(),
            decisions: BTreeMap::new(),
        }
    }

    /// What was typed in a field; empty when nothing was.
    pub fn text(&self, field: Field) -> &str {
        self.texts.get(&field).map_or("", String::as_str)
    }

    /// Types into a field; an empty text clears it.
    pub fn write(&mut self, field: Field, text: impl Into<String>) {
        let text = text.into();
        if text.is_empty() {
            self.texts.remove(&field);
        } else {
            self.texts.insert(field, text);
        }
    }

    /// Keeps what was said of a finding, by its key. What was said of it before stays in the record.
    pub fn decide(&mut self, key: String, mut decision: Decision) {
        if let Some(mut before) = self.decisions.remove(&key) {
            decision.earlier = std::mem::take(&mut before.earlier);
            decision.earlier.push(before);
        }
        self.decisions.insert(key, decision);
    }

    /// A person types into a field now. The first reading typed of the product says when it was counted.
    pub fn type_in(&mut self, field: Field, text: impl Into<String>, now: Instant) {
        self.write(field, text);
        if matches!(field, Field::Reading(_)) && !self.text(field).is_empty() {
            self.times.counted.get_or_insert(now);
        }
    }

    /// A stage of the spin begins. One by hand opens the rotor: what turned in balance before it says nothing of
    /// what turns after it.
    pub fn begin_stage(&mut self, index: u8, at: Instant) {
        if self.by_hand(index) {
            self.lapse(Changed::Rotor);
        }
        self.times.stages.insert(index, at);
    }

    /// One more container is taken to those there are; none beyond [`field::MAX_CONTAINERS`].
    pub fn one_more_container(&mut self, there: u8) {
        self.rows.containers = there.saturating_add(1).min(field::MAX_CONTAINERS);
    }

    /// Whether the last container came in addition and nothing was entered of it, so that it can be left out again.
    pub fn last_is_spare(&self, planned: u8) -> bool {
        let last = self.rows.containers.saturating_sub(1);
        let typed = [Field::FillActual(last), Field::AnticoagulantActual(last)];
        self.rows.containers > planned
            && typed.into_iter().all(|f| self.text(f).is_empty())
            && self.troubles.iter().all(|t| t.container != Some(last))
    }

    /// Whether a stage of the plan is done by hand.
    pub fn by_hand(&self, index: u8) -> bool {
        let stage = self.kit.protocol.as_ref().and_then(|p| p.programme.0.get(usize::from(index)));
        matches!(stage, Some(crate::spin::programme::Stage::Handling { .. }))
    }

    /// Whether the sample was diluted: as chosen; a typed factor alone says it too.
    pub fn dilution(&self) -> Option<SampleDilution> {
        let typed = (!self.text(Field::Dilution).is_empty()).then_some(SampleDilution::Diluted);
        self.choices.dilution.or(typed)
    }

    /// Reads a stored case. Errors: where reading stopped and why.
    pub fn from_json(text: &str) -> Result<Draft, DraftError> {
        #[derive(Deserialize)]
        struct Head {
            schema: u32,
        }
        let unreadable = |e: serde_json::Error| DraftError::Unreadable(fault(text, &e));
        let head: Head = serde_json::from_str(text).map_err(unreadable)?;
        if head.schema > SCHEMA {
            return Err(DraftError::Newer { found: head.schema });
        }
        serde_json::from_str(text).map_err(unreadable)
    }

    /// Writes the case as stored.
    pub fn to_json(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
}

/// Why a stored case was refused.
#[derive(Debug, Clone, PartialEq)]
pub enum DraftError {
    /// Not a case; the text says where reading stopped.
    Unreadable(String),
    /// Written by a newer version of Strawline; it is left untouched.
    Newer {
        /// Its schema number.
        found: u32,
    },
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spin::programme::Stage;

    fn demo() -> Draft {
        Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default())
    }

    fn check(draft: &mut Draft, kind: CheckKind) {
        draft.checks.insert(kind, Check { by: "MO".into(), at: Instant(5) });
    }

    #[test]
    fn only_a_person_who_types_a_reading_says_when_it_was_counted() {
        let mut stored = demo();
        stored.write(Field::Reading(0), "924");
        let mut loaded = Draft::from_json(&stored.to_json()).unwrap();
        assert_eq!(loaded.times.counted, None);
        loaded.type_in(Field::Notes, "slow", Instant(7));
        loaded.type_in(Field::Reading(1), "", Instant(8));
        assert_eq!(loaded.times.counted, None);
        loaded.type_in(Field::Reading(1), "930", Instant(9));
        loaded.type_in(Field::Reading(1), "931", Instant(10));
        assert_eq!(loaded.times.counted, Some(Instant(9)));
    }

    #[test]
    fn a_check_lapses_with_what_it_spoke_of_also_after_the_needle() {
        for drawn in [None, Some(Instant(6))] {
            let mut d = demo();
            d.times.needle_in = drawn;
            for kind in [CheckKind::Identity, CheckKind::HandOver, CheckKind::AnticoagulantSound] {
                check(&mut d, kind);
            }
            d.lapse(Changed::Site);
            assert!(
                d.checks.contains_key(&CheckKind::Identity) && !d.checks.contains_key(&CheckKind::HandOver)
            );
            d.lapse(Changed::Identifiers);
            assert_eq!(d.checks.keys().copied().collect::<Vec<_>>(), [CheckKind::AnticoagulantSound]);
            let kept: Vec<_> = d.lapsed.iter().map(|l| (l.kind, l.check.by.as_str(), l.changed)).collect();
            assert_eq!(
                kept,
                [
                    (CheckKind::HandOver, "MO", Changed::Site),
                    (CheckKind::Identity, "MO", Changed::Identifiers)
                ]
            );
            assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
        }
    }

    #[test]
    fn a_rotor_that_was_opened_is_balanced_anew() {
        let mut d = demo();
        let programme = &d.kit.protocol.as_ref().unwrap().programme.0;
        let by_hand = (0u8..).zip(programme).find(|(_, s)| matches!(s, Stage::Handling { .. })).unwrap().0;
        check(&mut d, CheckKind::Balance);
        d.begin_stage(0, Instant(6));
        assert!(d.checks.contains_key(&CheckKind::Balance), "what turns stays balanced");
        d.begin_stage(by_hand, Instant(7));
        assert!(!d.checks.contains_key(&CheckKind::Balance));
        let kept: Vec<_> = d.lapsed.iter().map(|l| (l.kind, l.check.at, l.changed)).collect();
        assert_eq!(kept, [(CheckKind::Balance, Instant(5), Changed::Rotor)]);
        let mut back = d.clone();
        back.take_back_stage(by_hand);
        assert_eq!(back.checks.get(&CheckKind::Balance).map(|c| c.at), Some(Instant(5)));
        assert!(back.lapsed.is_empty() && !back.times.stages.contains_key(&by_hand));
        d.checks.insert(CheckKind::Balance, Check { by: "MO".into(), at: Instant(8) });
        d.take_back_stage(by_hand);
        assert_eq!(d.checks.get(&CheckKind::Balance).map(|c| c.at), Some(Instant(8)), "the newer one stays");
    }

    #[test]
    fn identifiers_that_differed_at_the_needle_still_differ_when_they_are_typed_anew() {
        let mut d = demo();
        check(&mut d, CheckKind::IdentityDiffers);
        d.times.needle_in = Some(Instant(6));
        d.lapse(Changed::Identifiers);
        assert!(d.checks.contains_key(&CheckKind::IdentityDiffers));
    }

    #[test]
    fn a_draft_stored_before_dilution_was_asked_still_loads() {
        let mut d = demo();
        let text = d.to_json();
        assert!(!text.contains("dilution") && !text.contains("lapsed"), "{text}");
        assert_eq!(Draft::from_json(&text).unwrap().dilution(), None);
        d.write(Field::Dilution, "20");
        assert_eq!(d.dilution(), Some(SampleDilution::Diluted));
    }
}
