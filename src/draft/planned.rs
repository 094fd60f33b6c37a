//! A way that was planned, written into the draft at a tap, and taken back.

use super::{Draft, Field};
use crate::bench::{Bench, Container};
use crate::blood::anticoagulant::VolumeConvention;
use crate::product::plan::Way;

/// What stood in the draft before a plan was used.
#[derive(Debug, Clone, PartialEq)]
pub struct Replaced {
    container: Option<Container>,
    convention: Option<VolumeConvention>,
    texts: [(Field, String); 4],
}

/// What a plan says. An amount of anticoagulant chosen by hand gives way: the plan has its own.
const WRITTEN: [Field; 4] =
    [Field::Containers, Field::FillVolume, Field::ProductVolume, Field::AnticoagulantChosen];

impl Draft {
    /// Writes the containers, their fill and the product of a way. `None`, and nothing is written, when the Bench
    /// has its container no longer.
    pub fn use_plan(&mut self, way: &Way, bench: &Bench) -> Option<Replaced> {
        let own = self.kit.container.as_ref().filter(|c| c.id == way.container);
        let container = own.or_else(|| bench.container(&way.container)).cloned()?;
        let replaced = Replaced {
            container: self.kit.container.clone(),
            convention: self.choices.convention,
            texts: WRITTEN.map(|field| (field, self.text(field).to_owned())),
        };
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

    /// Takes that back.
    pub fn put_back(&mut self, replaced: Replaced) {
        self.kit.container = replaced.container;
        self.choices.convention = replaced.convention;
        for (field, text) in replaced.texts {
            self.write(field, text);
        }
    }
}
