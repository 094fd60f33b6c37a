//! A way that was planned, written into the draft at a tap, and taken back.

use super::{Draft, Field};
use crate::bench::{Bench, Container, Protocol};
use crate::blood::anticoagulant::{Agent, VolumeConvention};
use crate::finding::LotOf;
use crate::product::plan::Way;

/// What stood in the draft before a plan was used, or another container, anticoagulant or protocol was chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct Replaced {
    before: Stood,
    /// As that left it; `None`: as it stands when it is taken back, but for what is typed.
    left: Option<Stood>,
    lots: Vec<Lot>,
}

/// What a plan or a choice writes.
#[derive(Debug, Clone, PartialEq)]
struct Stood {
    container: Option<Container>,
    protocol: Option<Protocol>,
    agent: Option<Agent>,
    convention: Option<VolumeConvention>,
    texts: [String; 4],
    spare: u8,
    containers: u8,
}

impl Stood {
    fn of(draft: &Draft) -> Self {
        Self {
            container: draft.kit.container.clone(),
            protocol: draft.kit.protocol.clone(),
            agent: draft.choices.agent,
            convention: draft.choices.convention,
            texts: WRITTEN.map(|field| draft.text(field).to_owned()),
            spare: draft.rows.spare,
            containers: draft.rows.containers,
        }
    }
}

/// A lot and its expiry, with the container or the anticoagulant that they are of.
#[derive(Debug, Clone, PartialEq)]
struct Lot {
    of: LotOf,
    container: Option<String>,
    agent: Option<Agent>,
    texts: [String; 2],
}

impl Lot {
    fn of(draft: &Draft, of: LotOf) -> Self {
        let vessels = of == LotOf::Containers;
        Self {
            of,
            container: draft.kit.container.as_ref().filter(|_| vessels).map(|c| c.id.clone()),
            agent: draft.agent().filter(|_| !vessels),
            texts: of.fields().map(|field| draft.text(field).to_owned()),
        }
    }

    /// Whether the case has the container or the anticoagulant that it is of.
    fn fits(&self, draft: &Draft) -> bool {
        let now = Lot::of(draft, self.of);
        (now.container, now.agent) == (self.container.clone(), self.agent)
    }

    /// Whether something else was entered there since.
    fn typed_over(&self, draft: &Draft) -> bool {
        let now = Lot::of(draft, self.of).texts;
        now.iter().zip(&self.texts).any(|(now, was)| !now.trim().is_empty() && now.trim() != was.trim())
    }
}

/// Puts something back that is still as it was left.
fn back<T: PartialEq>(now: &mut T, left: &T, before: T) {
    if now == left {
        *now = before;
    }
}

/// What a plan says. An amount of anticoagulant chosen by hand gives way: the plan has its own.
const WRITTEN: [Field; 4] =
    [Field::Containers, Field::FillVolume, Field::ProductVolume, Field::AnticoagulantChosen];

impl Replaced {
    /// Whether a lot or an expiry stood there that stands no longer.
    pub fn lost_lots(&self, now: &Draft) -> bool {
        let gone = |(field, was): (Field, &String)| !was.is_empty() && now.text(field).is_empty();
        self.lots.iter().any(|lot| lot.of.fields().into_iter().zip(&lot.texts).any(gone))
    }

    /// The same with what is there now in its place: what is otherwise when it is taken back was changed since.
    pub fn left(self, now: &Draft) -> Self {
        let lots = self.lots.into_iter().filter(|lot| !lot.fits(now)).collect();
        Self { before: self.before, left: Some(Stood::of(now)), lots }
    }
}

impl Draft {
    /// What a plan or a choice may replace, to be put back.
    pub fn to_put_back(&self) -> Replaced {
        let lots = [LotOf::Containers, LotOf::Anticoagulant].map(|of| Lot::of(self, of));
        Replaced { before: Stood::of(self), left: None, lots: lots.into() }
    }

    /// Writes the containers, their fill and the product of a way; containers taken to another plan are left out
    /// again, unless something was entered of them. `None`, and nothing is written, when the Bench has its
    /// container no longer.
    pub fn use_plan(&mut self, way: &Way, bench: &Bench) -> Option<Replaced> {
        let own = self.kit.container.as_ref().filter(|c| c.id == way.container);
        let container = own.or_else(|| bench.container(&way.container)).cloned()?;
        let replaced = self.to_put_back();
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
        Some(replaced.left(self))
    }

    /// Takes that back; what was typed or chosen since stays, and once the needle is in so does all of it. A lot entered
    /// since keeps what it is of. The checks that lapsed meanwhile are made again.
    pub fn put_back(&mut self, replaced: Replaced) {
        if self.times.needle_in.is_some() {
            return;
        }
        let Replaced { before, left, lots } = replaced;
        let typed = left.is_some();
        let left = left.unwrap_or_else(|| Stood::of(self));
        if !lots.iter().any(|lot| lot.typed_over(self) && !lot.fits(self)) {
            back(&mut self.kit.container, &left.container, before.container);
            back(&mut self.kit.protocol, &left.protocol, before.protocol);
            back(&mut self.choices.agent, &left.agent, before.agent);
            back(&mut self.choices.convention, &left.convention, before.convention);
        }
        back(&mut self.rows.spare, &left.spare, before.spare);
        back(&mut self.rows.containers, &left.containers, before.containers);
        for ((field, was), left) in WRITTEN.into_iter().zip(before.texts).zip(left.texts) {
            if typed && self.text(field) == left {
                self.write(field, was);
            }
        }
        for lot in lots {
            if lot.fits(self) && !lot.typed_over(self) {
                for (field, text) in lot.of.fields().into_iter().zip(lot.texts) {
                    self.write(field, text);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::CheckSign;
    use crate::quantity::time::Instant;
    use crate::quantity::unit::Conventions;

    fn demo() -> Draft {
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        for (field, text) in [
            (Field::ContainerLot, "K-0058"),
            (Field::ContainerExpiry, "2027-06"),
            (Field::AnticoagulantLot, "AC-2291"),
            (Field::ProductVolume, "4"),
        ] {
            d.write(field, text);
        }
        d
    }

    /// As a plan does it: another container, another product.
    fn planned(d: &mut Draft) -> Replaced {
        let before = d.to_put_back();
        d.change(|d| {
            d.kit.container.as_mut().unwrap().id = "tube-10".into();
            d.write(Field::ProductVolume, "5");
        });
        assert_eq!(d.text(Field::ContainerLot), "");
        before.left(d)
    }

    fn container(d: &Draft) -> &str {
        &d.kit.container.as_ref().unwrap().id
    }

    #[test]
    fn a_plan_taken_back_leaves_what_was_typed_and_chosen_since() {
        let stood = demo();
        let mut d = stood.clone();
        let replaced = planned(&mut d);
        let mut untouched = d.clone();
        untouched.change(|d| d.put_back(replaced.clone()));
        assert_eq!(untouched, stood);
        d.change(|d| {
            d.write(Field::ProductVolume, "4.5");
            d.choices.convention = Some(VolumeConvention::AddedBlood);
            d.kit.protocol = None;
            d.one_more_container(2);
            d.write(Field::AnticoagulantLot, "");
        });
        let spare = d.rows.spare;
        d.change(|d| d.put_back(replaced));
        assert_eq!((container(&d), d.text(Field::ContainerLot)), (container(&stood), "K-0058"));
        assert_eq!(d.text(Field::ProductVolume), "4.5");
        assert_eq!(d.text(Field::AnticoagulantLot), "", "it had not gone with the plan");
        assert_eq!((d.choices.convention, &d.kit.protocol), (Some(VolumeConvention::AddedBlood), &None));
        assert_eq!((d.rows.spare, spare), (1, 1));
    }

    #[test]
    fn a_lot_entered_since_stays_with_the_container_it_is_of() {
        let mut d = demo();
        let replaced = planned(&mut d);
        d.change(|d| d.write(Field::ContainerLot, "L-0001"));
        d.change(|d| d.put_back(replaced));
        assert_eq!((container(&d), d.text(Field::ContainerLot)), ("tube-10", "L-0001"));
        assert_eq!(d.text(Field::ProductVolume), "4");
        // Nor does the lot that went come back under a third one.
        let mut d = demo();
        let replaced = planned(&mut d);
        d.change(|d| d.kit.container.as_mut().unwrap().id = "chamber".into());
        d.change(|d| d.put_back(replaced));
        assert_eq!((container(&d), d.text(Field::ContainerLot)), ("chamber", ""));
    }
}
