//! Rows of the things on the shelf: containers, rotors, protocols.

use super::radii;
use super::row::{Row, Spot, name, number};
use crate::dom::prelude::*;
use crate::state::Desk;
use strawline::bench::{Bench, Bottom, Container, OwnBand, Prefill, Protocol, Separates, WhiteCells};
use strawline::blood::anticoagulant::{Agent, Dosing};
use strawline::product::kind::{Basis, Expectation, Expected, ProductKind};
use strawline::quantity::read::Kind;
use strawline::quantity::{
    AcRatio, Fold, Grams, Haematocrit, Millimetre, Quantity, Radius, Rcf, Recovery, Rpm, Share, Volume,
};
use strawline::scan::Gtin;
use strawline::spin::rotor::RotorKind;
use strawline::words::bench::{BenchWord, ComesFrom};
use strawline::words::choice::{
    AgentName, BottomName, ProductKindName, RotorKindName, SeparatesName, WhiteCellsName,
};

const fn ml(min: f64, max: f64) -> Kind {
    Kind::Volume { min, max }
}

const BOTTOMS: [Bottom; 3] = [Bottom::Round, Bottom::Conical, Bottom::Flat];
const HANGS: [RotorKind; 2] = [RotorKind::SwingOut, RotorKind::FixedAngle];
const KINDS: [ProductKind; 3] = [ProductKind::OffTheTop, ProductKind::Concentrate, ProductKind::WithCells];
const WHITES: [WhiteCells; 3] = [WhiteCells::LeftBehind, WhiteCells::Kept, WhiteCells::Unknown];

/// Place of a choice among all.
fn place<T: PartialEq>(all: &[T], of: T) -> Option<usize> {
    all.iter().position(|one| *one == of)
}

fn agents(desk: Desk) -> Vec<String> {
    let style = desk.bench.with_untracked(|b| b.clinic.conventions.numbers);
    Agent::ALL.into_iter().map(|agent| desk.say(AgentName(agent, style))).collect()
}

fn product(number: Option<Gtin>) -> String {
    number.map(|number| number.to_string()).unwrap_or_default()
}

/// What was typed as a product number; `None` where it is none.
fn numbered(text: &str) -> Option<Option<Gtin>> {
    if text.is_empty() { Some(None) } else { Gtin::read(text).map(Some) }
}

/// A container.
pub static CONTAINER: &[Row] = &[
    name!(containers),
    number!(containers.capacity: Volume, Capacity, ml(0.5, 1000.0), CapacityHint),
    number!(containers.graduation: Volume, Graduation, ml(0.001, 100.0)),
    number!(containers.fill_low: Volume, FillLow, ml(0.0, 1000.0)),
    number!(containers.fill_high: Volume, FillHigh, ml(0.1, 1000.0)),
    number!(containers.anticoagulant_graduation: Volume, AgentGraduation, ml(0.001, 50.0), AgentGraduationHint),
    Row::Number {
        words: BenchWord::PrefillVolume,
        hint: Some(BenchWord::PrefillVolumeHint),
        kind: ml(0.01, 200.0),
        unit: "",
        needed: false,
        get: |b, at| Some(b.containers.get(at.item)?.prefill.as_ref().map(|p| p.volume.get())),
        set: |b, at, v| {
            let container = b.containers.get_mut(at.item)?;
            // Which one it is, is asked next; until then nothing is claimed of it.
            let agent = container.prefill.as_ref().map_or(Agent::ClinicOwn, |p| p.agent);
            container.prefill = match v {
                Some(v) => Some(Prefill { agent, volume: Volume::new(v).ok()? }),
                None => None,
            };
            Some(())
        },
    },
    Row::Pick {
        words: BenchWord::PrefillAgent,
        hint: None,
        names: agents,
        get: |b, at| place(&Agent::ALL, b.containers.get(at.item)?.prefill.as_ref()?.agent),
        set: |b, at, i| {
            b.containers.get_mut(at.item)?.prefill.as_mut()?.agent = *Agent::ALL.get(i)?;
            Some(())
        },
    },
    number!(containers.product_low?: Volume, ProductLow, ml(0.01, 500.0)),
    number!(containers.product_high?: Volume, ProductHigh, ml(0.01, 500.0)),
    number!(containers.rated?: Rcf, RatedForce, Kind::Rcf, RatedForceHint),
    number!(containers.transfer_loss: Volume, TransferLoss, ml(0.0, 10.0)),
    number!(containers.needle_loss: Volume, NeedleLoss, ml(0.0, 10.0)),
    number!(containers.inner_diameter: Millimetre, InnerDiameter, Kind::Millimetre),
    Row::Pick {
        words: BenchWord::Bottom,
        hint: None,
        names: |desk| BOTTOMS.map(|b| desk.say(BottomName(b))).to_vec(),
        get: |b, at| place(&BOTTOMS, b.containers.get(at.item)?.bottom),
        set: |b, at, i| {
            b.containers.get_mut(at.item)?.bottom = *BOTTOMS.get(i)?;
            Some(())
        },
    },
    Row::Pick {
        words: BenchWord::Separates,
        hint: Some(BenchWord::SeparatesHint),
        names: |desk| {
            let named = Separates::ALL.map(|s| desk.say(SeparatesName(s)));
            std::iter::once(desk.say(BenchWord::SeparatesUnsaid)).chain(named).collect()
        },
        get: |b, at| {
            let said = b.containers.get(at.item)?.separates;
            Some(said.and_then(|s| place(&Separates::ALL, s)).map_or(0, |i| i + 1))
        },
        set: |b, at, i| {
            let said = i.checked_sub(1).and_then(|i| Separates::ALL.get(i)).copied();
            b.containers.get_mut(at.item)?.separates = said;
            Some(())
        },
    },
    Row::Text {
        words: BenchWord::ProductNumber,
        hint: Some(BenchWord::ProductNumberHint),
        get: |b, at| Some(product(b.containers.get(at.item)?.product_number)),
        set: |b, at, text| {
            b.containers.get_mut(at.item)?.product_number = numbered(&text)?;
            Some(())
        },
    },
];

/// A rotor.
pub static ROTOR: &[Row] = &[
    name!(rotors),
    Row::Pick {
        words: BenchWord::Hang,
        hint: None,
        names: |desk| HANGS.map(|kind| desk.say(RotorKindName(kind))).to_vec(),
        get: |b, at| place(&HANGS, b.rotors.get(at.item)?.kind),
        set: |b, at, i| {
            b.rotors.get_mut(at.item)?.kind = *HANGS.get(i)?;
            Some(())
        },
    },
    number!(rotors.minimum?: Radius, MinimumRadius, Kind::RadiusMm, MinimumRadiusHint),
    number!(rotors.maximum?: Radius, MaximumRadius, Kind::RadiusMm, MaximumRadiusHint),
    Row::Sight(radii::radii),
    number!(rotors.rated_rpm?: Rpm, RatedSpeed, Kind::Speed),
    number!(rotors.rated_bucket?: Rcf, RatedBucket, Kind::Rcf),
    number!(rotors.speed_step?: Rpm, SpeedStep, Kind::Factor { min: 1.0, max: 1000.0 }),
    Row::Number {
        words: BenchWord::Places,
        hint: Some(BenchWord::PlacesHint),
        kind: Kind::WholeNumber { min: 1, max: 48 },
        unit: "",
        needed: false,
        get: |b, at| Some(b.rotors.get(at.item)?.places.map(f64::from)),
        set: |b, at, v| {
            let whole = |v: f64| (1..=48_u8).find(|n| f64::from(*n) == v);
            b.rotors.get_mut(at.item)?.places = match v {
                Some(v) => Some(whole(v)?),
                None => None,
            };
            Some(())
        },
    },
    Row::Number {
        words: BenchWord::Tolerance,
        hint: Some(BenchWord::ToleranceHint),
        kind: Kind::Factor { min: 0.01, max: 1000.0 },
        unit: "g",
        needed: false,
        get: |b, at| Some(b.rotors.get(at.item)?.tolerance.map(Quantity::get)),
        set: |b, at, v| {
            b.rotors.get_mut(at.item)?.tolerance = v.map(Grams::new).transpose().ok()?;
            Some(())
        },
    },
];

/// The numbers that are expected of a protocol, if it is of this kind.
fn expected(b: &Bench, at: Spot, kind: ProductKind) -> Option<Vec<Option<f64>>> {
    let protocol = b.protocols.get(at.item).filter(|p| p.kind == kind)?;
    let empty = if kind == ProductKind::WithCells { vec![None; 3] } else { vec![None; 2] };
    Some(match protocol.expectation.as_ref().map(|e| e.expected) {
        Some(Expected::Fold { mean, sd }) => vec![Some(mean.get()), Some(sd.get())],
        Some(Expected::Recovery { mean, sd }) => vec![Some(mean.get()), Some(sd.get())],
        Some(Expected::RecoveryWithCells { mean, sd, haematocrit }) => {
            vec![Some(mean.get()), Some(sd.get()), Some(haematocrit.get())]
        }
        None => empty,
    })
}

/// Sets what is expected; it becomes the clinic's own entry.
fn expect(b: &mut Bench, at: Spot, all: Option<&[f64]>) -> Option<()> {
    let protocol = b.protocols.get_mut(at.item)?;
    let recovery = |v: f64| Recovery::new(v).ok();
    let expected = match (protocol.kind, all) {
        (_, None) => None,
        (ProductKind::OffTheTop, Some([mean, sd])) => {
            Some(Expected::Fold { mean: Fold::new(*mean).ok()?, sd: Fold::new(*sd).ok()? })
        }
        (ProductKind::Concentrate, Some([mean, sd])) => {
            Some(Expected::Recovery { mean: recovery(*mean)?, sd: recovery(*sd)? })
        }
        (ProductKind::WithCells, Some([mean, sd, haematocrit])) => Some(Expected::RecoveryWithCells {
            mean: recovery(*mean)?,
            sd: recovery(*sd)?,
            haematocrit: Haematocrit::new(*haematocrit).ok()?,
        }),
        _ => return None,
    };
    protocol.expectation = expected.map(|expected| Expectation { expected, basis: Basis::ClinicEntry });
    Some(())
}

/// A protocol, without its programme.
pub static PROTOCOL: &[Row] = &[
    name!(protocols),
    Row::Pick {
        words: BenchWord::Kind,
        hint: None,
        names: |desk| KINDS.map(|kind| desk.say(ProductKindName(kind))).to_vec(),
        get: |b, at| place(&KINDS, b.protocols.get(at.item)?.kind),
        set: |b, at, i| {
            let protocol = b.protocols.get_mut(at.item)?;
            protocol.kind = *KINDS.get(i)?;
            // A fold says nothing of a recovery.
            protocol.expectation = protocol.expectation.take().filter(|e| e.kind() == protocol.kind);
            Some(())
        },
    },
    Row::Pick {
        words: BenchWord::White,
        hint: None,
        names: |desk| WHITES.map(|w| desk.say(WhiteCellsName(w))).to_vec(),
        get: |b, at| place(&WHITES, b.protocols.get(at.item)?.white_cells),
        set: |b, at, i| {
            b.protocols.get_mut(at.item)?.white_cells = *WHITES.get(i)?;
            Some(())
        },
    },
    Row::Together {
        rows: &[
            (BenchWord::MeanFold, Kind::Fold),
            (BenchWord::FoldDeviation, Kind::Factor { min: 0.0, max: 50.0 }),
        ],
        hint: None,
        get: |b, at| expected(b, at, ProductKind::OffTheTop),
        set: expect,
    },
    Row::Together {
        rows: &[(BenchWord::MeanRecovery, Kind::Recovery), (BenchWord::RecoveryDeviation, Kind::Spread)],
        hint: None,
        get: |b, at| expected(b, at, ProductKind::Concentrate),
        set: expect,
    },
    Row::Together {
        rows: &[
            (BenchWord::MeanRecovery, Kind::Recovery),
            (BenchWord::RecoveryDeviation, Kind::Spread),
            (BenchWord::ProductHaematocrit, Kind::ProductHaematocrit),
        ],
        hint: None,
        get: |b, at| expected(b, at, ProductKind::WithCells),
        set: expect,
    },
    Row::Note(|desk, b, at| {
        Some(match &b.protocols.get(at.item)?.expectation {
            Some(expectation) => desk.say(ComesFrom(expectation)),
            None => desk.say(BenchWord::EnterCounts),
        })
    }),
    Row::Pick {
        words: BenchWord::Agent,
        hint: None,
        names: agents,
        get: |b, at| place(&Agent::ALL, b.protocols.get(at.item)?.agent),
        set: |b, at, i| {
            let protocol = b.protocols.get_mut(at.item)?;
            let agent = *Agent::ALL.get(i)?;
            if agent != protocol.agent {
                // Amount, band and product number were those of another solution.
                protocol.agent = agent;
                protocol.dosing = agent.label_amount().map(|(ratio, _)| Dosing::PerBlood(ratio));
                protocol.own_band = None;
                protocol.agent_product = None;
            }
            Some(())
        },
    },
    Row::Text {
        words: BenchWord::AgentProduct,
        hint: Some(BenchWord::ProductNumberHint),
        get: |b, at| Some(product(b.protocols.get(at.item)?.agent_product)),
        set: |b, at, text| {
            b.protocols.get_mut(at.item)?.agent_product = numbered(&text)?;
            Some(())
        },
    },
    // Both empty: read from the label each time.
    Row::Number {
        words: BenchWord::PerBlood,
        hint: Some(BenchWord::DosingHint),
        kind: Kind::RatioPer100,
        unit: "",
        needed: false,
        get: |b, at| {
            Some(match b.protocols.get(at.item)?.dosing {
                Some(Dosing::PerBlood(ratio)) => Some(ratio.get()),
                Some(Dosing::PerContainer(_)) | None => None,
            })
        },
        set: |b, at, v| {
            let ratio = v.map(AcRatio::new).transpose().ok()?;
            b.protocols.get_mut(at.item)?.dosing = ratio.map(Dosing::PerBlood);
            Some(())
        },
    },
    Row::Number {
        words: BenchWord::PerContainer,
        hint: None,
        kind: ml(0.01, 200.0),
        unit: "",
        needed: false,
        get: |b, at| {
            Some(match b.protocols.get(at.item)?.dosing {
                Some(Dosing::PerContainer(volume)) => Some(volume.get()),
                Some(Dosing::PerBlood(_)) | None => None,
            })
        },
        set: |b, at, v| {
            let volume = v.map(Volume::new).transpose().ok()?;
            b.protocols.get_mut(at.item)?.dosing = volume.map(Dosing::PerContainer);
            Some(())
        },
    },
    Row::Together {
        rows: &[(BenchWord::BandLow, Kind::RatioPer100), (BenchWord::BandHigh, Kind::RatioPer100)],
        hint: Some(BenchWord::BandHint),
        get: |b, at| {
            let band = b.protocols.get(at.item)?.own_band;
            Some(vec![band.map(|b| b.low.get()), band.map(|b| b.high.get())])
        },
        set: |b, at, all| {
            b.protocols.get_mut(at.item)?.own_band = match all {
                None => None,
                Some([low, high]) if low < high => {
                    Some(OwnBand { low: AcRatio::new(*low).ok()?, high: AcRatio::new(*high).ok()? })
                }
                Some(_) => return None,
            };
            Some(())
        },
    },
    number!(protocols.product?: Volume, ProductUsual, ml(0.05, 200.0), ProductUsualHint),
    number!(protocols.count_sample: Volume, CountSample, ml(0.0, 10.0)),
    number!(protocols.left_behind: Volume, LeftBehind, ml(0.0, 50.0)),
    number!(protocols.packing: Share, Packing, Kind::Percent, PackingHint),
];

/// The lists of the Bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    Containers,
    Rotors,
    Protocols,
}

/// One entry of a list, taken out of it.
#[derive(Debug, Clone)]
pub enum Thing {
    Container(Container),
    Rotor(strawline::spin::rotor::Rotor),
    Protocol(Protocol),
}

impl Thing {
    fn identity(&mut self) -> (&mut String, &mut String) {
        match self {
            Thing::Container(x) => (&mut x.id, &mut x.name),
            Thing::Rotor(x) => (&mut x.id, &mut x.name),
            Thing::Protocol(x) => (&mut x.id, &mut x.name),
        }
    }

    /// Gives it a key and a name of its own.
    pub fn named(mut self, id: String, name: impl FnOnce(&str) -> String) -> Self {
        let (key, old) = self.identity();
        *key = id;
        *old = name(old);
        self
    }
}

impl Group {
    /// Its heading.
    pub fn words(self) -> BenchWord {
        match self {
            Group::Containers => BenchWord::Containers,
            Group::Rotors => BenchWord::Rotors,
            Group::Protocols => BenchWord::Protocols,
        }
    }

    /// What begins the ids of its inputs.
    pub fn id(self) -> &'static str {
        match self {
            Group::Containers => "container",
            Group::Rotors => "rotor",
            Group::Protocols => "protocol",
        }
    }

    /// The rows of one entry.
    pub fn rows(self) -> &'static [Row] {
        match self {
            Group::Containers => CONTAINER,
            Group::Rotors => ROTOR,
            Group::Protocols => PROTOCOL,
        }
    }

    /// Keys of all entries.
    pub fn keys(self, b: &Bench) -> Vec<String> {
        match self {
            Group::Containers => b.containers.iter().map(|x| x.id.clone()).collect(),
            Group::Rotors => b.rotors.iter().map(|x| x.id.clone()).collect(),
            Group::Protocols => b.protocols.iter().map(|x| x.id.clone()).collect(),
        }
    }

    /// One entry.
    pub fn get(self, b: &Bench, at: usize) -> Option<Thing> {
        Some(match self {
            Group::Containers => Thing::Container(b.containers.get(at)?.clone()),
            Group::Rotors => Thing::Rotor(b.rotors.get(at)?.clone()),
            Group::Protocols => Thing::Protocol(b.protocols.get(at)?.clone()),
        })
    }

    /// Name and what tells it apart at a glance.
    pub fn summary(self, desk: Desk, b: &Bench, at: usize) -> Option<(String, String)> {
        Some(match self {
            Group::Containers => {
                let c = b.containers.get(at)?;
                (c.name.clone(), desk.say(BottomName(c.bottom)))
            }
            Group::Rotors => {
                let r = b.rotors.get(at)?;
                (r.name.clone(), desk.say(RotorKindName(r.kind)))
            }
            Group::Protocols => {
                let p = b.protocols.get(at)?;
                (p.name.clone(), desk.say(ProductKindName(p.kind)))
            }
        })
    }

    /// Takes one out.
    pub fn remove(self, b: &mut Bench, at: usize) {
        let within = at < self.keys(b).len();
        match self {
            _ if !within => {}
            Group::Containers => drop(b.containers.remove(at)),
            Group::Rotors => drop(b.rotors.remove(at)),
            Group::Protocols => drop(b.protocols.remove(at)),
        }
    }
}

/// Puts one in, at its old place or at the end.
pub fn insert(b: &mut Bench, at: usize, thing: Thing) {
    match thing {
        Thing::Container(x) => b.containers.insert(at.min(b.containers.len()), x),
        Thing::Rotor(x) => b.rotors.insert(at.min(b.rotors.len()), x),
        Thing::Protocol(x) => b.protocols.insert(at.min(b.protocols.len()), x),
    }
}

/// A further entry as the Bench ships it: of protocols the last, which claims least.
pub fn fresh(group: Group) -> Option<Thing> {
    let shipped = Bench::default();
    match group {
        Group::Containers => shipped.containers.into_iter().next().map(Thing::Container),
        Group::Rotors => shipped.rotors.into_iter().next().map(Thing::Rotor),
        Group::Protocols => shipped.protocols.into_iter().next_back().map(Thing::Protocol),
    }
}
