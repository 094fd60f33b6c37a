//! What is chosen of a few.

use crate::blood::anticoagulant::{Agent, VolumeConvention};
use crate::blood::baseline::SampleKind;
use crate::blood::patient::Sex;
use crate::product::order::{OrderSense, OrderedAmount};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

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

/// What the product's sample went into before the analyser.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ProductTube {
    /// Nothing liquid in it: a dry tube, or straight from the product.
    Plain,
    /// A tube with liquid citrate.
    LiquidCitrate,
}

/// How a centrifuge was set to come to rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Brake {
    /// Runs out by itself.
    Off,
    /// Braked.
    On,
}

impl Brake {
    /// In the order offered.
    pub const ALL: [Brake; 2] = [Brake::Off, Brake::On];
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
    /// How the order means each amount it names; an amount that is absent is meant as "at least".
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub order_sense: BTreeMap<OrderedAmount, OrderSense>,
    /// Platelets ordered are for each part of the site; else in all.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub each_part: bool,
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
    /// What the sample of the product went into.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub product_tube: Option<ProductTube>,
    /// Whether white cells, red cells and haematocrit were read from the diluted sample, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cells_dilution: Option<SampleDilution>,
    /// The product count was of a well-mixed sample without clumps.
    pub mixed_no_clumps: Option<bool>,
    /// Platelets of the product will be counted later.
    pub count_later: bool,
    /// The brake as set, by stage of the programme from 0; absent is "not noted".
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub brakes: BTreeMap<u8, Brake>,
}
