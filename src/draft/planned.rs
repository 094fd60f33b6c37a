//! A way that was planned, written into the draft at a tap, and taken back.

use super::{Draft, Field, Rows};
use crate::arrange::gather;
use crate::bench::{Bench, Container, Protocol};
use crate::blood::anticoagulant::{Agent, VolumeConvention};
use crate::product::plan::Way;

/// What stood in the draft before a plan was used, or another container, anticoagulant or protocol was chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct Replaced {
    container: Option<Container>,
    protocol: Option<Protocol>,
    agent: Option<Agent>,
    convention: Option<VolumeConvention>,
    texts: Vec<(Field, String)>,
    rows: Rows,
    /// A plan replaced it: then what the plan wrote goes again.
    plan: bool,
}

/// What a plan says. An amount of anticoagulant chosen by hand gives way: the plan has its own.
const WRITTEN: [Field; 4] =
    [Field::Containers, Field::FillVolume, Field::ProductVolume, Field::AnticoagulantChosen];

/// What goes when a container or an anticoagulant becomes another one.
const LOTS: [Field; 4] =
    [Field::ContainerLot, Field::ContainerExpiry, Field::AnticoagulantLot, Field::AnticoagulantExpiry];

impl Replaced {
    /// Whether a lot or an expiry stood there that stands no longer.
    pub fn lost_lots(&self, now: &Draft) -> bool {
        let gone = |(field, text): &(Field, String)| !text.is_empty() && now.text(*field).is_empty();
        self.texts.iter().filter(|(field, _)| LOTS.contains(field)).any(gone)
    }
}

impl Draft {
    /// What a plan or a choice may replace, to be put back.
    pub fn to_put_back(&self) -> Replaced {
        let fields = WRITTEN.into_iter().chain(LOTS);
        Replaced {
            container: self.kit.container.clone(),
            protocol: self.kit.protocol.clone(),
            agent: self.choices.agent,
            convention: self.choices.convention,
            texts: gather(fields.map(|field| (field, self.text(field).to_owned()))),
            rows: self.rows,
            plan: false,
        }
    }

    /// Writes the containers, their fill and the product of a way; containers taken to another plan are left out
    /// again, unless something was entered of them. `None`, and nothing is written, when the Bench has its
    /// container no longer.
    pub fn use_plan(&mut self, way: &Way, bench: &Bench) -> Option<Replaced> {
        let own = self.kit.container.as_ref().filter(|c| c.id == way.container);
        let container = own.or_else(|| bench.container(&way.container)).cloned()?;
        let replaced = Replaced { plan: true, ..self.to_put_back() };
        (self.rows.spare, self.rows.containers) = (0, 0);
        for field in WRITTEN {
            self.write(field, "");
        }
        self.write(Field::Containers, way.containers.to_string());
        // What is inside when bought is filled to its line.
        if container.prefill.is_none() {
            self.spell(Field::FillVolume, way.each.value.split.fill);
            self.choices.convention = Some(VolumeConvention::FillMark);
        }
        self.spell(Field::ProductVolume, way.product);
        self.kit.container = Some(container);
        Some(replaced)
    }

    /// Takes that back; what was typed since stays, and once the needle is in so does all of it. The checks that lapsed
    /// meanwhile are made again.
    pub fn put_back(&mut self, replaced: Replaced) {
        if self.times.needle_in.is_some() {
            return;
        }
        self.kit.container = replaced.container;
        self.kit.protocol = replaced.protocol;
        self.choices.agent = replaced.agent;
        self.choices.convention = replaced.convention;
        (self.rows.spare, self.rows.containers) = (replaced.rows.spare, replaced.rows.containers);
        for (field, text) in replaced.texts {
            let lot = LOTS.contains(&field) && self.text(field).trim().is_empty();
            if lot || (replaced.plan && WRITTEN.contains(&field)) {
                self.write(field, text);
            }
        }
    }
}
