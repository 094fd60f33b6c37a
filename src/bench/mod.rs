//! Bench: what the clinic owns and has decided. Containers, rotors, protocols, limits, clock policy, header
//! and label wording. Everything is editable, exported and imported as one file.

pub mod chart;
pub mod review;
mod shipped;
pub mod stock;
pub(crate) use shipped::demo_rotor;

use crate::blood::anticoagulant::{Agent, Band, Dosing};
use crate::blood::patient::{Limits, Loosened};
use crate::evidence::SourceId;
use crate::product::clock::ClockPolicy;
use crate::product::kind::{Expectation, ProductKind};
use crate::product::recipe::Analyser;
use crate::quantity::unit::Conventions;
use crate::quantity::{AcRatio, Millimetre, Quantity, Rcf, Share, Volume};
use crate::scan::Gtin;
use crate::spin::programme::Programme;
use crate::spin::rotor::Rotor;
use crate::spin::tube::{End, Tube};
use crate::stored::{self, Refused};
use chart::ChartOrder;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use stock::Stock;

/// Version of the file that carries a Bench.
pub const BENCH_SCHEMA: u32 = 3;

/// The clinic's whole Bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bench {
    /// Version of this layout.
    #[serde(deserialize_with = "stored::newest::<BENCH_SCHEMA, _>")]
    pub schema: u32,
    /// Header and label wording.
    pub clinic: Clinic,
    /// Containers on the shelf.
    pub containers: Vec<Container>,
    /// Rotors.
    pub rotors: Vec<Rotor>,
    /// Protocols.
    pub protocols: Vec<Protocol>,
    /// Blood-draw limits.
    pub limits: Limits,
    /// Lead who answers for limits looser than shipped; may be empty while none is.
    #[serde(default)]
    pub limits_lead: String,
    /// Spin-by and use-by.
    pub clock: ClockPolicy,
    /// What the clinic knows of its analyser.
    #[serde(default, skip_serializing_if = "Analyser::is_unset")]
    pub analyser: Analyser,
    /// Years a record is kept after its last signature, as the clinic decided; none is set here. What is past it is proposed
    /// for removal and never removed by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub keep_years: Option<u8>,
}

impl Default for Bench {
    fn default() -> Self {
        shipped::bench()
    }
}

/// Who the clinic is, and how it words its labels.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clinic {
    /// Name at the head of page and card.
    pub name: String,
    /// Second line of the card's head (address, telephone).
    pub second_line: String,
    /// Autologous wording on every label.
    pub autologous: String,
    /// A further label line required locally; empty when none.
    pub local_line: String,
    /// Units and number style for new cases.
    pub conventions: Conventions,
    /// Order of the parts of a text for the chart.
    #[serde(default, skip_serializing_if = "ChartOrder::is_shipped")]
    pub chart: ChartOrder,
    /// Labels beside the strip of the card.
    #[serde(default, skip_serializing_if = "Stock::is_shipped")]
    pub labels: Stock,
    /// The patient reference is a coded one: it may stand in the code of a card that any phone can read.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub coded_reference: bool,
}

/// Shape of a container's closed end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bottom {
    /// Half a sphere.
    Round,
    /// A cone as high as it is wide.
    Conical,
    /// Flat.
    Flat,
}

/// What parts the layers in a container.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Separates {
    /// Nothing: an open tube or a syringe.
    Open,
    /// A gel that comes to lie between them.
    Gel,
    /// A float that comes to lie between them.
    Float,
    /// Flows and walls of a chamber or a bag.
    Chamber,
}

impl Separates {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Open, Self::Gel, Self::Float, Self::Chamber];
}

/// Anticoagulant that is in an evacuated tube when it is bought.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Prefill {
    /// Which.
    pub agent: Agent,
    /// How much is inside.
    pub volume: Volume,
}

/// A container that blood is drawn into.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Container {
    /// Stable key.
    pub id: String,
    /// Name in the clinic.
    pub name: String,
    /// Most it can hold.
    pub capacity: Volume,
    /// Step of its own scale.
    pub graduation: Volume,
    /// Lowest fill it is used for.
    pub fill_low: Volume,
    /// Highest fill it is used for.
    pub fill_high: Volume,
    /// Step of the device that measures the anticoagulant.
    pub anticoagulant_graduation: Volume,
    /// Anticoagulant already inside, if any.
    pub prefill: Option<Prefill>,
    /// Least product it can give.
    pub product_low: Option<Volume>,
    /// Most product it can give.
    pub product_high: Option<Volume>,
    /// Highest RCF its maker allows.
    pub rated: Option<Rcf>,
    /// Lost in each transfer out of it.
    pub transfer_loss: Volume,
    /// Lost in each needle or syringe change.
    pub needle_loss: Volume,
    /// Inner diameter, for the picture to scale.
    pub inner_diameter: Millimetre,
    /// Closed end, for the picture to scale.
    pub bottom: Bottom,
    /// Product number on its label, to hold a scanned one against.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub product_number: Option<Gtin>,
    /// What parts the layers in it; `None`: not said, as in all that older versions stored.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub separates: Option<Separates>,
}

/// What a protocol does with white cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WhiteCells {
    /// Left behind with the red cells.
    LeftBehind,
    /// Kept in the product.
    Kept,
    /// Not known until counted.
    Unknown,
}

/// A band the clinic has set for its anticoagulant.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OwnBand {
    /// Lowest.
    pub low: AcRatio,
    /// Highest.
    pub high: AcRatio,
}

impl Protocol {
    /// The clinic's band, if it set one that rises.
    pub fn band(&self) -> Option<Band> {
        let own = self.own_band.filter(|b| b.low < b.high)?;
        Some(Band { low: own.low, high: own.high, source: SourceId::ClinicBench })
    }
    /// Whether its own band rises; true without one.
    pub fn band_rises(&self) -> bool {
        self.own_band.is_none() || self.band().is_some()
    }
}

/// A way to make a product.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Protocol {
    /// Stable key.
    pub id: String,
    /// Name in the clinic.
    pub name: String,
    /// What kind of product it makes.
    pub kind: ProductKind,
    /// What becomes of white cells.
    pub white_cells: WhiteCells,
    /// Expected fold or recovery with its spread and origin; `None` until the clinic enters its counts.
    pub expectation: Option<Expectation>,
    /// Anticoagulant.
    pub agent: Agent,
    /// Amount of it; `None` until read from the label.
    pub dosing: Option<Dosing>,
    /// The clinic's own band for that agent, anticoagulant per blood; `None` keeps the shipped one, if any.
    #[serde(default)]
    pub own_band: Option<OwnBand>,
    /// Planned spin.
    pub programme: Programme,
    /// Product usually kept, in all.
    pub product: Option<Volume>,
    /// Taken for a count.
    pub count_sample: Volume,
    /// Left above the cells when plasma is taken off the top.
    pub left_behind: Volume,
    /// Red-cell share of the packed column after the first spin.
    pub packing: Share,
    /// Product number on the label of the anticoagulant, to hold a scanned one against.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub agent_product: Option<Gtin>,
    /// The machine runs its own programme: it is shown as it stands and not edited. Older versions stored none.
    #[serde(default, skip_serializing_if = "core::ops::Not::not")]
    pub programme_fixed: bool,
}

impl Bench {
    /// The container with this key.
    pub fn container(&self, id: &str) -> Option<&Container> {
        self.containers.iter().find(|c| c.id == id)
    }
    /// Containers that a method may be planned in beside this one: a tube for a tube, a chamber for a chamber.
    /// Judgement: Bench does not say which containers a protocol is used with.
    pub fn alike(&self, own: &Container) -> Vec<Container> {
        self.containers.iter().filter(|c| c.is_chamber() == own.is_chamber()).cloned().collect()
    }
    /// The protocol with this key.
    pub fn protocol(&self, id: &str) -> Option<&Protocol> {
        self.protocols.iter().find(|p| p.id == id)
    }
    /// The rotor with this key.
    pub fn rotor(&self, id: &str) -> Option<&Rotor> {
        self.rotors.iter().find(|r| r.id == id)
    }
    /// The limits that let more through than shipped.
    pub fn loosened(&self) -> Vec<Loosened> {
        self.limits.loosened_from(&Limits::SHIPPED)
    }
    /// Whether a limit is looser than shipped and nobody answers for it.
    pub fn needs_lead(&self) -> bool {
        self.limits_lead.trim().is_empty() && !self.loosened().is_empty()
    }
    /// Reads a Bench file. Errors: a sentence naming the place and what was expected.
    pub fn from_json(text: &str) -> Result<Bench, BenchError> {
        let bench: Bench = stored::read(text, BENCH_SCHEMA)?;
        bench.check()?;
        Ok(bench)
    }
    /// Writes a Bench file.
    pub fn to_json(&self) -> String {
        stored::write_in_lines(self).unwrap_or_default()
    }
    fn check(&self) -> Result<(), BenchError> {
        for c in &self.containers {
            c.check().map_err(|fault| BenchError::Container { name: c.name.clone(), fault })?;
        }
        let lists = [
            named(&self.containers, |c| (&c.id, &c.name)),
            named(&self.rotors, |r| (&r.id, &r.name)),
            named(&self.protocols, |p| (&p.id, &p.name)),
        ];
        for list in lists {
            let mut seen = BTreeSet::new();
            if let Some((_, name)) = list.into_iter().find(|(id, _)| !seen.insert(*id)) {
                return Err(BenchError::Twice { name: name.to_owned() });
            }
        }
        if self.analyser.upside_down() {
            return Err(BenchError::Analyser);
        }
        if self.keep_years.is_some_and(|years| !(1..=100).contains(&years)) {
            return Err(BenchError::KeepYears);
        }
        match self.protocols.iter().find(|p| !p.band_rises()) {
            Some(p) => Err(BenchError::Band { name: p.name.clone() }),
            None => Ok(()),
        }
    }
}

/// Key and name of each entry of a list.
fn named<T>(list: &[T], of: impl Fn(&T) -> (&String, &String)) -> Vec<(&str, &str)> {
    list.iter().map(of).map(|(id, name)| (id.as_str(), name.as_str())).collect()
}

/// Why a Bench file was refused.
#[derive(Debug, Clone, PartialEq)]
pub enum BenchError {
    /// Not a Bench file; the text says where reading stopped.
    Unreadable(String),
    /// Written by a newer version of Strawline.
    Newer {
        /// Its schema number.
        found: u32,
    },
    /// A container contradicts itself.
    Container {
        /// Its name.
        name: String,
        /// How.
        fault: ContainerFault,
    },
    /// An entry has the key of an earlier one of its list.
    Twice {
        /// Its name.
        name: String,
    },
    /// A protocol's own band does not rise.
    Band {
        /// Its name.
        name: String,
    },
    /// The analyser's range does not rise.
    Analyser,
    /// Records are kept for no years, or for more than a hundred.
    KeepYears,
}

impl From<Refused> for BenchError {
    fn from(refused: Refused) -> Self {
        match refused {
            Refused::Unreadable(at) => BenchError::Unreadable(at),
            Refused::Newer { found } => BenchError::Newer { found },
        }
    }
}

/// How a container contradicts itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ContainerFault {
    /// A graduation of zero.
    NoGraduation,
    /// Fill range upside down or above the capacity.
    FillRange,
    /// Product range upside down.
    ProductRange,
    /// The picture needs an inner diameter.
    NoDiameter,
}

impl Container {
    /// Its inside. One without a width is as thin as a hair, so that no height is infinite.
    pub fn tube(&self) -> Tube {
        let hair = Millimetre::constant(0.02);
        let inner_diameter = if self.inner_diameter > hair { self.inner_diameter } else { hair };
        let end = match self.bottom {
            Bottom::Flat => End::Flat,
            Bottom::Round => End::Round,
            // As high as it is wide.
            Bottom::Conical => End::Cone { height: inner_diameter, tip: Millimetre::constant(0.0) },
        };
        Tube { inner_diameter, end, rated: self.rated }
    }
    /// Whether it is a chamber or a bag: as it says; where it does not, what has a flat bottom is taken for one.
    pub fn is_chamber(&self) -> bool {
        match self.separates {
            Some(separates) => separates == Separates::Chamber,
            None => self.bottom == Bottom::Flat,
        }
    }
    /// Whether the entry can be used. Errors: how it contradicts itself.
    pub fn check(&self) -> Result<(), ContainerFault> {
        if self.graduation.get() <= 0.0 || self.anticoagulant_graduation.get() <= 0.0 {
            return Err(ContainerFault::NoGraduation);
        }
        if self.fill_low > self.fill_high || self.fill_high > self.capacity || self.fill_high.get() <= 0.0 {
            return Err(ContainerFault::FillRange);
        }
        if let (Some(low), Some(high)) = (self.product_low, self.product_high)
            && low > high
        {
            return Err(ContainerFault::ProductRange);
        }
        if self.inner_diameter.get() <= 0.0 {
            return Err(ContainerFault::NoDiameter);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::Reason;
    use crate::words::Phrase;

    /// What older versions wrote says nothing of what parts the layers; what says it comes back from file and link.
    #[test]
    fn what_parts_the_layers_is_kept_and_older_files_are_read() {
        let bench = Bench::default();
        let text = bench.to_json();
        assert!(!text.contains("separates"));
        let older = text.replacen("\"schema\": 3", "\"schema\": 2", 1);
        assert_ne!(older, text);
        let read = Bench::from_json(&older).unwrap();
        assert!(read.containers.iter().all(|c| c.separates.is_none()));
        assert_eq!(read.containers, bench.containers);
        let newer = text.replacen("\"schema\": 3", "\"schema\": 4", 1);
        assert_eq!(Bench::from_json(&newer), Err(BenchError::Newer { found: 4 }));
        for separates in Separates::ALL {
            let mut said = bench.clone();
            said.containers[0].separates = Some(separates);
            assert_eq!(Bench::from_json(&said.to_json()), Ok(said.clone()));
            let link = crate::export::bench_link::fragment(&said).unwrap();
            let came = crate::export::bench_link::read(&link).unwrap().unwrap();
            assert_eq!(came.containers, said.containers);
        }
        // A tube for a tube, a chamber for a chamber, by what they say where they do.
        let mut said = bench.clone();
        let alike = |b: &Bench| b.alike(&b.containers[0]).len();
        let before = alike(&said);
        said.containers[1].separates = Some(Separates::Chamber);
        assert_eq!(alike(&said), before - 1);
    }

    #[test]
    fn a_file_that_contradicts_itself_is_refused_and_the_entry_is_named() {
        let refused = |change: fn(&mut Bench)| {
            let mut bench = Bench::default();
            change(&mut bench);
            Bench::from_json(&bench.to_json()).map_err(|error| Reason::from(error).english().into_owned())
        };
        assert_eq!(refused(|_| ()), Ok(Bench::default()));
        let band =
            |low, high| Some(OwnBand { low: AcRatio::new(low).unwrap(), high: AcRatio::new(high).unwrap() });
        let twice = "Rotor of today: it has the same key as another entry of its list. Import a file in which each has its own.";
        assert_eq!(
            refused(|b| {
                b.rotors[1].id = b.rotors[0].id.clone();
                b.rotors[1].name = "Rotor of today".to_owned();
            }),
            Err(twice.to_owned())
        );
        assert!(refused(|b| b.containers[1].id = b.containers[0].id.clone()).is_err());
        assert!(refused(|b| b.protocols[1].id = b.protocols[0].id.clone()).is_err());
        let upside_down = "Double-spin tube method: the lowest of its own band for the anticoagulant must be below the highest.";
        for (low, high) in [(0.2, 0.1), (0.1, 0.1)] {
            let mut bench = Bench::default();
            let at = bench.protocols.iter().position(|p| p.name == "Double-spin tube method").unwrap();
            bench.protocols[at].own_band = band(low, high);
            let said = Reason::from(Bench::from_json(&bench.to_json()).unwrap_err()).english().into_owned();
            assert_eq!(said, upside_down);
        }
    }
}
