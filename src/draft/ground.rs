//! What each check speaks of. When that changes the check has to be made again; the old one stays as lapsed.

use super::{
    AdditionChoice, Changed, Check, CheckKind, Draft, DrawnTo, Field, Lapsed, Placed, Side, WhiteCellOrder,
};
use crate::arrange::{gather, sort_by};
use crate::blood::anticoagulant::Agent;
use crate::finding::LotOf;
use crate::product::order::{OrderSense, OrderedAmount};
use crate::quantity::Volume;
use crate::quantity::unit::Conventions;
use std::collections::BTreeMap;

/// What stood there.
#[derive(Debug, Clone, PartialEq)]
struct Ground {
    identifiers: [String; 2],
    site: (Option<Side>, String),
    agent: Option<Agent>,
    agent_lot: [String; 2],
    container: Option<String>,
    container_lot: [String; 2],
    receiver: String,
    order: Ordered,
    load: Option<Load>,
}

/// What goes into the rotor in the spin that is next; weights in the units they are typed in.
#[derive(Debug, Clone, PartialEq)]
struct Load {
    spin: usize,
    units: Conventions,
    rotor: Option<String>,
    centrifuge: Option<String>,
    container: Option<String>,
    containers: (String, u8),
    left_out: Vec<Option<u8>>,
    texts: BTreeMap<Field, String>,
}

impl Load {
    /// `None` while a spin turns, and once none follows.
    fn of(draft: &Draft) -> Option<Self> {
        let spin = draft.loads()?;
        let (kit, to) = (&draft.kit, draft.drawn_to.as_ref());
        // What is typed of how many are planned has no say once blood was drawn to a plan.
        let planned = to.is_none().then(|| draft.text(Field::Containers).trim().to_owned());
        let marks =
            draft.texts.iter().filter(|(field, _)| spin == 0 && matches!(field, Field::FillActual(_)));
        let marks = marks.map(|(field, text)| (*field, text.trim().to_owned()));
        let mut texts = draft.weights(spin);
        texts.extend(marks.filter(|(_, text)| !text.is_empty()));
        let mut left_out: Vec<Option<u8>> =
            draft.troubles.iter().filter(|t| t.left_out(&draft.times)).map(|t| t.container).collect();
        sort_by(&mut left_out, Ord::cmp);
        left_out.dedup();
        Some(Self {
            spin,
            units: draft.conventions,
            rotor: kit.rotor.as_ref().map(|r| r.id.clone()),
            centrifuge: kit.centrifuge.as_ref().map(|c| c.id.clone()),
            container: kit.container.as_ref().map(|c| c.id.clone()),
            containers: (planned.unwrap_or_default(), draft.in_hand(to.map_or(0, |to| to.containers))),
            left_out,
            texts,
        })
    }

    /// In other units it weighs the same; another spin has a balance of its own.
    fn differs(&self, before: &Load) -> bool {
        (self.spin, self.units) == (before.spin, before.units) && self != before
    }
}

/// What is ordered and by whom, in the units it is typed in.
#[derive(Debug, Clone, PartialEq)]
struct Ordered {
    units: Conventions,
    texts: BTreeMap<Field, String>,
    white_cells: Option<WhiteCellOrder>,
    one_container: bool,
    senses: BTreeMap<OrderedAmount, OrderSense>,
    each_part: bool,
    additions: BTreeMap<u8, AdditionChoice>,
}

impl Ordered {
    fn of(draft: &Draft) -> Self {
        let said = draft.texts.iter().filter(|(field, text)| ordered(**field) && !text.trim().is_empty());
        let chosen = &draft.choices;
        Self {
            units: draft.conventions,
            texts: gather(said.map(|(field, text)| (*field, text.trim().to_owned()))),
            white_cells: chosen.white_cells,
            one_container: chosen.one_container,
            senses: chosen.order_sense.clone(),
            each_part: chosen.each_part,
            additions: chosen.additions.clone(),
        }
    }

    /// In other units it is the same order.
    fn differs(&self, before: &Ordered) -> bool {
        self.units == before.units && self != before
    }
}

/// Whether it is the prescriber's word. Patient and site are told apart from it; plan and kit are the clinic's.
fn ordered(field: Field) -> bool {
    matches!(
        field,
        Field::Prescriber
            | Field::OrderVolume
            | Field::OrderPlatelets
            | Field::OrderPlateletsMost
            | Field::OrderConcentration
            | Field::OrderConcentrationMost
            | Field::OrderFold
            | Field::OrderFoldMost
            | Field::OrderNote
            | Field::PartName(_)
            | Field::PartVolume(_)
            | Field::AdditionName(_)
            | Field::AdditionStrength(_)
            | Field::AdditionVolume(_)
    )
}

impl Ground {
    fn of(draft: &Draft) -> Self {
        let text = |field| draft.text(field).trim().to_owned();
        Self {
            identifiers: [Field::PatientReference, Field::SecondIdentifier].map(text),
            site: (draft.choices.side, text(Field::Site)),
            agent: draft.agent(),
            agent_lot: [Field::AnticoagulantLot, Field::AnticoagulantExpiry].map(text),
            container: draft.kit.container.as_ref().map(|c| c.id.clone()),
            container_lot: [Field::ContainerLot, Field::ContainerExpiry].map(text),
            receiver: text(Field::HandedTo),
            order: Ordered::of(draft),
            load: Load::of(draft),
        }
    }

    /// What has changed since `before`.
    fn since(&self, before: &Ground) -> impl Iterator<Item = Changed> {
        let agent = self.agent != before.agent || corrected(&before.agent_lot, &self.agent_lot);
        let containers =
            self.container != before.container || corrected(&before.container_lot, &self.container_lot);
        let load = self.load.as_ref().zip(before.load.as_ref()).is_some_and(|(now, was)| now.differs(was));
        [
            (self.identifiers != before.identifiers, Changed::Identifiers),
            (self.site != before.site, Changed::Site),
            (agent, Changed::Anticoagulant),
            (containers, Changed::Containers),
            (self.receiver != before.receiver, Changed::Receiver),
            (self.order.differs(&before.order), Changed::Order),
            (load, Changed::Load),
        ]
        .into_iter()
        .filter_map(|(yes, what)| yes.then_some(what))
    }
}

/// The amount that is planned, with the second person's check that stands beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct AmountSeen {
    amount: Option<(Option<Agent>, Volume)>,
    check: Option<Check>,
}

impl AmountSeen {
    /// Whether the check stands by now beside another amount than it was made of. One that was not there before came with
    /// the amount, out of this tab or another: it is of that.
    pub fn outlived(&self, now: &AmountSeen) -> bool {
        self.amount != now.amount && self.check.is_some() && self.check == now.check
    }
}

/// Whether a text became another one. What is only typed on from its beginning is what was in hand all along.
fn corrected(before: &[String; 2], now: &[String; 2]) -> bool {
    before.iter().zip(now).any(|(before, now)| !now.starts_with(before.as_str()))
}

impl Draft {
    /// Changes the draft; a check whose ground the change took away lapses.
    pub fn change(&mut self, change: impl FnOnce(&mut Draft)) {
        let (before, place, times) = (Ground::of(self), Placed::of(self), self.times.clone());
        let one = self.one_of_two();
        // Drafts of older versions kept none: then what stood before their first change.
        self.keep_identifiers();
        change(self);
        self.keep_identifiers();
        self.keep_place(&place, &times);
        self.clear_lots(&before);
        self.keep_lots(&before);
        for what in Ground::of(self).since(&before) {
            self.lapse(what);
        }
        for (kind, was) in self.one_of_two().into_iter().zip(one).filter_map(|(now, was)| Some((now?, was))) {
            if was.is_none() {
                self.lapse_one(kind, Changed::OnePerson);
            }
        }
    }

    /// How this amount, which follows from the case, stands beside the second person's check.
    pub fn amount_seen(&self, amount: Option<(Option<Agent>, Volume)>) -> AmountSeen {
        AmountSeen { amount, check: self.checks.get(&CheckKind::Anticoagulant).cloned() }
    }

    /// The checks between two people that are of one, by those who are named now.
    fn one_of_two(&self) -> [Option<CheckKind>; 2] {
        let second = self.checks.get(&CheckKind::Anticoagulant);
        // Another technician takes over after the draw: who made ready is no other for that.
        let ready = |by: &str| match self.times.needle_in {
            Some(_) => self.named_ready(by),
            None => self.made_ready_by(by),
        };
        let read = self.checks.contains_key(&CheckKind::HandOver);
        [
            second.filter(|check| ready(&check.by)).map(|_| CheckKind::Anticoagulant),
            (read && self.receives_own()).then_some(CheckKind::HandOver),
        ]
    }

    /// Whether the second person's check lapsed because one person was named as both, and nobody made it anew.
    pub fn second_was_own(&self) -> bool {
        self.lapsed_last(CheckKind::Anticoagulant).is_some_and(|l| l.changed == Changed::OnePerson)
    }

    /// The check of a kind that holds no longer, where nobody made it anew.
    pub fn lapsed_last(&self, kind: CheckKind) -> Option<&Lapsed> {
        let last = self.lapsed.iter().rev().find(|l| l.kind == kind);
        last.filter(|_| !self.checks.contains_key(&kind))
    }

    fn lapse_one(&mut self, kind: CheckKind, changed: Changed) {
        let was = self.checks.remove(&kind);
        self.lapsed.extend(was.map(|check| Lapsed { kind, check, changed }));
    }

    /// A lot and an expiry are those of what was in hand: with another container or anticoagulant they go, unless
    /// that change wrote them. Once the needle was in they stay, as its checks do: what was drawn was drawn with them.
    fn clear_lots(&mut self, before: &Ground) {
        let now = Ground::of(self);
        let other = |was: bool, same: bool, lot: bool| was && !same && lot && self.times.needle_in.is_none();
        let agent =
            other(before.agent.is_some(), now.agent == before.agent, now.agent_lot == before.agent_lot);
        let container = other(
            before.container.is_some(),
            now.container == before.container,
            now.container_lot == before.container_lot,
        );
        let of_agent = [Field::AnticoagulantLot, Field::AnticoagulantExpiry].into_iter().filter(|_| agent);
        let of_container = [Field::ContainerLot, Field::ContainerExpiry].into_iter().filter(|_| container);
        for field in of_agent.chain(of_container).collect::<Vec<_>>() {
            self.write(field, "");
        }
    }

    /// Once the needle was in, the lot that stood there stays told, and a look at it is of that lot.
    fn keep_lots(&mut self, before: &Ground) {
        use CheckKind as K;
        if self.times.needle_in.is_none() {
            // A needle that was a slip: nothing was corrected after it, and what was put in place of what was
            // looked at has to be looked at.
            for field in std::mem::take(&mut self.corrected_lots).into_keys() {
                let of_agent = LotOf::Anticoagulant.fields().contains(&field);
                self.lapse(if of_agent { Changed::Anticoagulant } else { Changed::Containers });
            }
            return;
        }
        let now = Ground::of(self);
        let all = [
            (
                LotOf::Anticoagulant,
                &before.agent_lot,
                now.agent_lot,
                [K::AnticoagulantSound, K::AnticoagulantUnsound],
            ),
            (
                LotOf::Containers,
                &before.container_lot,
                now.container_lot,
                [K::ContainersSound, K::ContainersUnsound],
            ),
        ];
        for (of, before, now, looks) in all {
            for ((field, before), now) in of.fields().into_iter().zip(before).zip(&now) {
                let was = self.corrected_lots.get(&field).cloned();
                let of_lot = field == of.lot();
                if was.as_ref() == Some(now) {
                    self.corrected_lots.remove(&field);
                } else if was.is_none() && !now.starts_with(before.as_str()) {
                    self.corrected_lots.insert(field, before.clone());
                }
                for kind in looks.iter().filter(|_| of_lot) {
                    let Some(check) = self.checks.get_mut(kind) else { continue };
                    if check.of == *now {
                        check.of.clear();
                    } else if check.of.is_empty() && !now.starts_with(before.as_str()) {
                        check.of.clone_from(before);
                    }
                }
            }
        }
    }

    /// The same, under the plan that holds until then. What draws blood keeps that plan as it stands; a mark or a
    /// needle out that was a slip gives it up again.
    pub fn change_under(&mut self, plan: Option<DrawnTo>, change: impl FnOnce(&mut Draft)) {
        let drawn = self.blood_drawn();
        let Ground { agent, container, .. } = Ground::of(self);
        self.change(change);
        match self.blood_drawn() {
            false => self.drawn_to = None,
            true if !drawn => self.drawn_to = plan.map(|plan| DrawnTo { agent, container, ..plan }),
            true => {}
        }
    }

    /// A check is taken back by the person who made it. What told against going on stays as lapsed, and so does
    /// everything once the needle was in.
    pub fn take_back(&mut self, kind: CheckKind) {
        use CheckKind as K;
        let against = matches!(kind, K::IdentityDiffers | K::AnticoagulantUnsound | K::ContainersUnsound);
        let was = self.checks.remove(&kind);
        if against || self.times.needle_in.is_some() {
            let changed = Changed::TakenBack;
            self.lapsed.extend(was.map(|check| Lapsed { kind, check, changed }));
        }
    }

    /// Takes back the checks that spoke of what has changed; each is kept as lapsed. That the identifiers differed
    /// is not taken back once the needle was in; what was drawn was drawn under the checks of that time.
    pub fn lapse(&mut self, changed: Changed) {
        use CheckKind as K;
        let drawn = self.times.needle_in.is_some();
        let kinds: &[CheckKind] = match changed {
            Changed::Identifiers if drawn => &[K::Identity, K::HandOver, K::TodaysOrder],
            Changed::Identifiers => &[K::Identity, K::IdentityDiffers, K::HandOver, K::TodaysOrder],
            Changed::Site => &[K::HandOver, K::TodaysOrder],
            Changed::Receiver => &[K::HandOver],
            Changed::Order => &[K::TodaysOrder],
            Changed::Rotor | Changed::Load => &[K::Balance],
            Changed::Anticoagulant | Changed::Containers | Changed::Amount if drawn => &[],
            Changed::Anticoagulant => &[K::AnticoagulantSound, K::AnticoagulantUnsound],
            Changed::Containers => &[K::ContainersSound, K::ContainersUnsound],
            Changed::Amount => &[K::Anticoagulant],
            Changed::OnePerson | Changed::TakenBack => &[],
        };
        for &kind in kinds {
            self.lapse_one(kind, changed);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::CheckSign;
    use crate::quantity::time::Instant;
    use crate::quantity::unit::Conventions;

    fn checked(kinds: &[CheckKind]) -> Draft {
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        for &kind in kinds {
            d.checks.insert(kind, Check { by: "MO".into(), at: Instant(5), of: String::new() });
        }
        d
    }

    fn left(d: &Draft) -> Vec<CheckKind> {
        d.checks.keys().copied().collect()
    }

    #[test]
    fn each_check_lapses_with_what_it_spoke_of_and_with_nothing_else() {
        use CheckKind::{AnticoagulantSound, ContainersSound, HandOver, Identity, TodaysOrder};
        let all = [Identity, AnticoagulantSound, ContainersSound, HandOver, TodaysOrder];
        type Change = fn(&mut Draft);
        let cases: [(Change, &[CheckKind]); 13] = [
            (|d| d.write(Field::HandedTo, "JT"), &[HandOver]),
            (|d| d.write(Field::HandedTo, "Dr A. Reyes-Lindqvist"), &[HandOver]),
            (|d| d.write(Field::SecondIdentifier, "1 Jan 1980"), &[Identity, HandOver, TodaysOrder]),
            (|d| d.choices.side = Some(Side::Left), &[HandOver, TodaysOrder]),
            (|d| d.write(Field::OrderVolume, "5"), &[TodaysOrder]),
            (|d| d.write(Field::Prescriber, "Dr B"), &[TodaysOrder]),
            (|d| d.write(Field::PartVolume(1), "0.5"), &[TodaysOrder]),
            (|d| d.choices.white_cells = Some(WhiteCellOrder::Wanted), &[TodaysOrder]),
            (|d| d.choices.agent = Some(Agent::AcdB), &[AnticoagulantSound]),
            (|d| d.write(Field::AnticoagulantLot, "AC-2292"), &[AnticoagulantSound]),
            (|d| d.write(Field::ContainerLot, "K-0059"), &[ContainersSound]),
            (|d| d.kit.container = None, &[ContainersSound]),
            (|d| d.write(Field::Notes, "slow"), &[]),
        ];
        for (change, gone) in cases {
            let mut d = checked(&all);
            d.write(Field::HandedTo, "Dr A. Reyes");
            d.change(change);
            let kept: Vec<_> = all.into_iter().filter(|k| !gone.contains(k)).collect();
            assert_eq!(left(&d), kept);
            assert_eq!(d.lapsed.iter().map(|l| l.kind).collect::<Vec<_>>(), gone);
        }
    }

    #[test]
    fn an_order_held_against_todays_is_held_anew_when_it_changes_also_after_the_needle_and_not_in_other_units()
     {
        use crate::quantity::unit::MassUnit;
        let mut d = checked(&[CheckKind::TodaysOrder]);
        d.times.needle_in = Some(Instant(6));
        d.write(Field::OrderConcentration, "1000");
        d.change(|d| d.write(Field::OrderVolume, "3 "));
        let other = Conventions { mass: MassUnit::Pound, ..d.conventions };
        d.change(|d| *d = d.in_conventions(other));
        assert_eq!(left(&d), [CheckKind::TodaysOrder]);
        d.change(|d| d.write(Field::OrderConcentration, "1100"));
        assert_eq!(d.lapsed.iter().map(|l| l.changed).collect::<Vec<_>>(), [Changed::Order]);
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
    }

    #[test]
    fn a_rotor_is_balanced_anew_when_what_goes_into_it_changes_until_it_turns() {
        use crate::draft::{Trouble, TroubleKind};
        use crate::log::{Centrifuge, LastCheck};
        use CheckKind::Balance;
        type Change = fn(&mut Draft);
        let leak = |d: &mut Draft| {
            let (kind, container) = (TroubleKind::Dropped, Some(1));
            let (at, by) = (Instant(7), "MO".into());
            d.went_wrong(Trouble {
                kind,
                container,
                at,
                by,
                set_aside: false,
                aside: None,
                collected: false,
                withdrawn: None,
            });
            d.set_aside(kind, container, "MO".to_owned(), at);
        };
        let centrifuge = |d: &mut Draft| {
            let never = LastCheck::default();
            let (name, serial) = (String::new(), String::new());
            d.kit.centrifuge = Some(Centrifuge { id: "c".into(), name, serial, speed: never, timer: never });
        };
        let first: [Change; 7] = [
            leak,
            centrifuge,
            |d| d.kit.rotor.as_mut().unwrap().id = "another".into(),
            |d| d.kit.container.as_mut().unwrap().id = "tube-10".into(),
            |d| d.one_more_container(2),
            |d| d.write(Field::FillActual(1), "12"),
            |d| d.write(Field::FilledWeight(1), ""),
        ];
        let start = || {
            let mut d = checked(&[Balance]);
            d.write(Field::FilledWeight(1), "31.2");
            d.times.needle_in = Some(Instant(1));
            d.times.needle_out = Some(Instant(2));
            let ml = crate::quantity::Volume::constant;
            let (anticoagulant, fill) = (ml(2.0), ml(15.0));
            d.drawn_to = Some(DrawnTo { containers: 2, anticoagulant, fill, agent: None, container: None });
            d
        };
        for change in first {
            let mut d = start();
            d.change(change);
            assert!(left(&d).is_empty());
            let lapsed: Vec<_> = d.lapsed.iter().map(|l| (l.kind, l.changed)).collect();
            assert_eq!(lapsed, [(Balance, Changed::Load)]);
            assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
        }
        let kept = |d: &mut Draft, changes: &[Change]| {
            for change in changes {
                d.change(change);
            }
            assert_eq!(left(d), [Balance]);
        };
        // What says the same, and what the first spin does not turn.
        let others: [Change; 4] = [
            |d| d.write(Field::FilledWeight(1), "31.2 "),
            |d| d.write(Field::FilledWeightSecond(1), "22"),
            |d| d.write(Field::Notes, "slow"),
            |d| {
                use crate::quantity::unit::NumberStyle;
                *d = d.in_conventions(Conventions { numbers: NumberStyle::Comma, ..d.conventions });
            },
        ];
        kept(&mut start(), &others);
        // Once it turns, what is known late was so all along; a spin that has ended was balanced.
        let mut turns = start();
        turns.change(|d| d.begin_stage(0, Instant(8)));
        kept(&mut turns.clone(), &first);
        turns.change(|d| d.times.spin_end = Some(Instant(9)));
        kept(&mut turns, &first);
        // The second spin, once a person has been at it: its own weights, and not the marks.
        let mut second = start();
        second.change(|d| d.begin_stage(1, Instant(8)));
        second.checks.insert(Balance, Check { by: "MO".into(), at: Instant(9), of: String::new() });
        kept(&mut second, &first[5..]);
        second.change(|d| d.write(Field::OwnCounterweightSecond(0), "22"));
        assert!(left(&second).is_empty());
        // What stands stopped is the first again.
        let mut stopped = start();
        stopped.change(|d| d.begin_stage(0, Instant(8)));
        let (kind, by) = (TroubleKind::SpinStopped, "MO".into());
        let stop = Trouble {
            kind,
            container: None,
            at: Instant(9),
            by,
            set_aside: false,
            aside: None,
            collected: false,
            withdrawn: None,
        };
        stopped.change(|d| d.went_wrong(stop));
        stopped.checks.insert(Balance, Check { by: "MO".into(), at: Instant(10), of: String::new() });
        stopped.change(leak);
        assert!(left(&stopped).is_empty());
        assert_eq!(
            stopped.lapsed.iter().map(|l| l.changed).collect::<Vec<_>>(),
            [Changed::Rotor, Changed::Load]
        );
    }

    #[test]
    fn one_person_is_not_two_whichever_name_is_typed_last() {
        use CheckKind::{Anticoagulant, HandOver};
        type Change = fn(&mut Draft);
        let by = |kind, by: &str| {
            let mut d = checked(&[kind]);
            d.write(Field::HandedTo, "JT");
            d.checks.get_mut(&kind).unwrap().by = by.to_owned();
            d
        };
        let cases: [(CheckKind, &str, Change); 4] = [
            (Anticoagulant, "J. T.", |d| d.write(Field::WhoBefore, " jt")),
            (Anticoagulant, "JT", |d| d.write(Field::Technician, "J T")),
            (HandOver, "MO", |d| d.write(Field::WhoHandOver, "jt")),
            (HandOver, "MO", |d| d.write(Field::Technician, "J.T.")),
        ];
        for (kind, who, change) in cases {
            let mut d = by(kind, who);
            d.change(|d| d.write(Field::WhoDraw, "JT"));
            assert_eq!(left(&d), [kind], "who drew did not make ready, nor hand over");
            d.change(change);
            assert!(left(&d).is_empty());
            assert_eq!(
                d.lapsed.iter().map(|l| (l.kind, l.changed)).collect::<Vec<_>>(),
                [(kind, Changed::OnePerson)]
            );
            assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
        }
        // After the draw another may take over; who is named as having made ready is held against it then too.
        let mut drawn = by(Anticoagulant, "JT");
        drawn.times.needle_in = Some(Instant(6));
        drawn.change(|d| d.write(Field::Technician, "JT"));
        assert_eq!(left(&drawn), [Anticoagulant]);
        assert!(!drawn.second_was_own());
        drawn.change(|d| d.write(Field::WhoBefore, "JT"));
        assert!(left(&drawn).is_empty() && drawn.second_was_own());
    }

    #[test]
    fn a_check_of_the_amount_lapses_with_it_and_not_where_it_came_with_it() {
        let amount = |ml| Some((Some(Agent::AcdA), Volume::constant(ml)));
        let made = checked(&[CheckKind::Anticoagulant]);
        let mut anew = made.clone();
        anew.checks.get_mut(&CheckKind::Anticoagulant).unwrap().at = Instant(9);
        let none = checked(&[]);
        let outlived = |was: &Draft, ml, now: &Draft| {
            was.amount_seen(amount(2.0)).outlived(&now.amount_seen(amount(ml)))
        };
        assert!(outlived(&made, 2.4, &made));
        assert!(made.amount_seen(amount(2.0)).outlived(&made.amount_seen(None)));
        assert!(!outlived(&made, 2.0, &made));
        // Made of the other amount: in the same moment, or in a tab whose case was taken as a whole.
        assert!(!outlived(&none, 2.4, &made) && !outlived(&made, 2.4, &anew) && !outlived(&made, 2.4, &none));
    }

    #[test]
    fn a_lot_goes_with_the_container_or_the_anticoagulant_it_was_of() {
        use Field::{AnticoagulantExpiry, AnticoagulantLot, ContainerExpiry, ContainerLot};
        let all = [AnticoagulantLot, AnticoagulantExpiry, ContainerLot, ContainerExpiry];
        let kept = |d: &Draft| all.into_iter().filter(|f| !d.text(*f).is_empty()).collect::<Vec<_>>();
        let start = || {
            let mut d = checked(&[CheckKind::ContainersSound, CheckKind::AnticoagulantSound]);
            for (field, text) in all.into_iter().zip(["AC-2291", "2027-03", "K-0058", "2027-04"]) {
                d.write(field, text);
            }
            d
        };
        let other = |d: &mut Draft| d.kit.container.as_mut().unwrap().id = "tube-10".to_owned();
        let mut d = start();
        let before = d.to_put_back();
        d.change(other);
        assert_eq!(kept(&d), [AnticoagulantLot, AnticoagulantExpiry]);
        assert_eq!(left(&d), [CheckKind::AnticoagulantSound], "with the check that spoke of them");
        d.change(|d| d.put_back(before));
        assert_eq!(
            (kept(&d), d.text(ContainerLot)),
            (all.to_vec(), "K-0058"),
            "taken back, they are there again"
        );
        d.change(|d| d.choices.agent = Some(Agent::AcdB));
        assert_eq!(kept(&d), [ContainerLot, ContainerExpiry]);
        // A lot that the same change brings is of the new one; the same container copied anew keeps its own.
        let mut d = start();
        d.change(|d| {
            other(d);
            d.write(ContainerLot, "K-0059");
        });
        assert_eq!((kept(&d), d.text(ContainerLot)), (all.to_vec(), "K-0059"));
        d.change(|d| d.kit.container.as_mut().unwrap().name = "Tube".to_owned());
        assert_eq!(kept(&d), all);
        // What was drawn was drawn with them.
        d.times.needle_in = Some(Instant(6));
        d.change(|d| d.kit.container = None);
        assert_eq!(kept(&d), all);
    }

    #[test]
    fn a_lot_typed_after_the_look_is_the_lot_that_was_looked_at() {
        let mut d = checked(&[CheckKind::AnticoagulantSound]);
        d.write(Field::AnticoagulantLot, "");
        for text in ["A", "AC", "AC-2291"] {
            d.change(|d| d.write(Field::AnticoagulantLot, text));
        }
        assert_eq!(left(&d), [CheckKind::AnticoagulantSound]);
        d.change(|d| d.write(Field::AnticoagulantLot, "AC-22"));
        assert!(left(&d).is_empty());
    }

    #[test]
    fn what_told_against_going_on_is_not_wiped_out() {
        use CheckKind::{Identity, IdentityDiffers};
        let mut d = checked(&[Identity]);
        d.take_back(Identity);
        assert!(d.checks.is_empty() && d.lapsed.is_empty(), "a slip of the finger");
        let mut d = checked(&[IdentityDiffers]);
        d.take_back(IdentityDiffers);
        assert_eq!(
            d.lapsed.iter().map(|l| (l.kind, l.changed)).collect::<Vec<_>>(),
            [(IdentityDiffers, Changed::TakenBack)]
        );
        let mut d = checked(&[Identity]);
        d.times.needle_in = Some(Instant(6));
        d.take_back(Identity);
        assert_eq!(d.lapsed.len(), 1);
        d.take_back(Identity);
        assert_eq!(d.lapsed.len(), 1, "nothing was there");
    }

    #[test]
    fn what_was_drawn_stays_checked() {
        let kinds = [CheckKind::Anticoagulant, CheckKind::AnticoagulantSound, CheckKind::ContainersSound];
        let mut d = checked(&kinds);
        d.times.needle_in = Some(Instant(6));
        d.change(|d| {
            d.write(Field::AnticoagulantLot, "AC-2292");
            d.kit.container = None;
        });
        d.lapse(Changed::Amount);
        assert_eq!(left(&d), kinds);
    }

    #[test]
    fn a_lot_corrected_after_the_needle_stays_told_and_a_look_is_of_the_lot_that_was_looked_at() {
        use CheckKind::ContainersSound;
        use Field::{ContainerExpiry, ContainerLot};
        let mut d = checked(&[ContainersSound]);
        d.write(ContainerLot, "");
        d.times.needle_in = Some(Instant(6));
        let lot = |d: &mut Draft, text: &str| d.change(|d| d.write(ContainerLot, text));
        let told =
            |d: &Draft| (d.corrected_lots.get(&ContainerLot).cloned(), d.checks[&ContainersSound].of.clone());
        // Typed late it is what was in hand; corrected in bits, the one that stood at first is told.
        for text in ["K", "K-0071"] {
            lot(&mut d, text);
            assert_eq!(told(&d), (None, String::new()));
        }
        for text in ["K-00", "K-0099"] {
            lot(&mut d, text);
            assert_eq!(told(&d), (Some("K-0071".into()), "K-0071".into()));
        }
        assert!(d.checks.contains_key(&ContainersSound) && d.lapsed.is_empty());
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
        // Looked at anew, it is of the new one.
        let mut again = d.clone();
        again.checks.insert(ContainersSound, Check { by: "MO".into(), at: Instant(9), of: String::new() });
        assert_eq!(told(&again), (Some("K-0071".into()), String::new()));
        // As it stood, nothing is corrected.
        lot(&mut d, "K-0071");
        assert_eq!(told(&d), (None, String::new()));
        d.change(|d| d.write(ContainerExpiry, "2027-04"));
        d.change(|d| d.write(ContainerExpiry, "2027-05"));
        assert_eq!(d.corrected_lots, [(ContainerExpiry, "2027-04".to_owned())].into());
        assert_eq!(told(&d).1, "");
        d.change(|d| d.times.needle_in = None);
        assert!(d.corrected_lots.is_empty(), "the needle was a slip");
        assert_eq!(
            d.lapsed.iter().map(|l| l.kind).collect::<Vec<_>>(),
            [ContainersSound],
            "nobody looked at these"
        );
        let mut slip = checked(&[ContainersSound]);
        slip.times.needle_in = Some(Instant(6));
        slip.change(|d| d.times.needle_in = None);
        assert_eq!(left(&slip), [ContainersSound], "nothing was changed meanwhile");
        assert!(!checked(&[]).to_json().contains("corrected_lots"));
    }
}
