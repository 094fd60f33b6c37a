//! What was handed over, what was changed since, and why.

use super::{Changed, Check, CheckKind, Choices, Draft, DrawnTo, Field, Kit, Side};
use crate::quantity::time::{Instant, Offset};
use crate::stored;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A hand-over, and how everything stood then.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HandOver {
    /// When it was entered.
    pub at: Instant,
    /// Who said later that it was none, and when.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taken_back: Option<Check>,
    /// What was typed.
    pub texts: BTreeMap<Field, String>,
    /// What was chosen.
    pub choices: Choices,
    /// What it was made with; absent in what was stored before this was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kit: Option<Kit>,
    /// Why something was changed since, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub reasons: Vec<Reason>,
}

/// A reason, what it was given for, and how everything stood then: it is one for that alone, as it was changed then.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reason {
    /// In words.
    pub why: String,
    /// What it was given for, by [`Since::key`].
    pub of: Vec<String>,
    /// What was typed.
    pub texts: BTreeMap<Field, String>,
    /// What was chosen.
    pub choices: Choices,
    /// What it was made with.
    pub kit: Kit,
}

/// One thing that is no longer as it was handed over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Since {
    /// A text, as it was then; empty where something was added.
    Text(Field, String),
    /// The side, as it was then.
    Side(Side),
    /// An entry of the Bench, by its name then; `None` where none was chosen.
    Kit(KitPart, Option<String>),
    /// Something else that was chosen.
    Choices,
}

/// An entry of the Bench that a product is made with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum KitPart {
    /// Container.
    Container,
    /// Protocol.
    Protocol,
    /// Rotor.
    Rotor,
}

impl KitPart {
    /// All of them.
    pub(crate) const ALL: [KitPart; 3] = [KitPart::Container, KitPart::Protocol, KitPart::Rotor];

    /// The name of the entry; `None` where none is chosen.
    pub fn name(self, kit: &Kit) -> Option<&str> {
        match self {
            KitPart::Container => kit.container.as_ref().map(|c| c.name.as_str()),
            KitPart::Protocol => kit.protocol.as_ref().map(|p| p.name.as_str()),
            KitPart::Rotor => kit.rotor.as_ref().map(|r| r.name.as_str()),
        }
    }

    /// Whether two kits hold the same entry.
    pub(crate) fn same(self, one: &Kit, other: &Kit) -> bool {
        match self {
            KitPart::Container => one.container == other.container,
            KitPart::Protocol => one.protocol == other.protocol,
            KitPart::Rotor => one.rotor == other.rotor,
        }
    }
}

/// How everything stood at one moment.
#[derive(Clone, Copy)]
struct Stood<'a> {
    texts: &'a BTreeMap<Field, String>,
    choices: &'a Choices,
    kit: Option<&'a Kit>,
}

impl Stood<'_> {
    fn text(&self, field: Field) -> &str {
        self.texts.get(&field).map_or("", String::as_str)
    }

    /// What is otherwise in `now`. To add to what was empty, or not said, changes nothing that was handed over, unless
    /// it goes into the product; a note is a note.
    fn changed_to(self, now: Stood<'_>) -> Vec<Since> {
        let mut found = Vec::new();
        found.extend(self.choices.side.filter(|side| now.choices.side != Some(*side)).map(Since::Side));
        let added = now.texts.keys().filter(|field| !self.texts.contains_key(field));
        for &field in self.texts.keys().chain(added) {
            let (before, after) = (self.text(field), now.text(field));
            let changed = match before.trim().is_empty() {
                true => of_addition(field) && !after.trim().is_empty(),
                // None stays none, however it is written.
                false if matches!(field, Field::PartGiven(_)) && is_none(before) && is_none(after) => false,
                false => before.trim() != after.trim(),
            };
            if changed && !of_telling(field) {
                found.push(Since::Text(field, before.to_owned()));
            }
        }
        if let Some((then, now)) = self.kit.zip(now.kit) {
            let other = KitPart::ALL.into_iter().filter(|part| !part.same(then, now));
            found.extend(other.map(|part| Since::Kit(part, part.name(then).map(str::to_owned))));
        }
        if now.choices.said_in(self.choices) != *self.choices {
            found.push(Since::Choices);
        }
        found
    }
}

/// Whether it only tells of what was done.
fn of_telling(field: Field) -> bool {
    matches!(field, Field::Notes | Field::AdverseEvent | Field::WhyChanged | Field::NoProduct)
}

/// Whether an amount is written as none.
fn is_none(text: &str) -> bool {
    let text = text.trim();
    text.contains('0') && text.chars().all(|c| matches!(c, '0' | '.' | ','))
}

/// Whether it goes into the product after the spin.
fn of_addition(field: Field) -> bool {
    matches!(field, Field::AdditionName(_) | Field::AdditionStrength(_) | Field::AdditionVolume(_))
}

impl Since {
    /// What was changed, as it is stored: the key of a field, `side`, `container`, `protocol`, `rotor` or `choices`.
    pub fn key(&self) -> String {
        match self {
            Since::Text(field, _) => field.key(),
            Since::Side(_) => "side".to_owned(),
            Since::Kit(part, _) => stored::key(part).unwrap_or_default(),
            Since::Choices => "choices".to_owned(),
        }
    }

    /// Whether this is in `one` what it is in `other`, as far as a hand-over said it.
    fn alike(&self, handed: &Choices, one: Stood<'_>, other: Stood<'_>) -> bool {
        match self {
            Since::Text(field, _) => one.text(*field).trim() == other.text(*field).trim(),
            Since::Side(_) => one.choices.side == other.choices.side,
            Since::Kit(part, _) => one.kit.zip(other.kit).is_some_and(|(one, other)| part.same(one, other)),
            Since::Choices => one.choices.said_in(handed) == other.choices.said_in(handed),
        }
    }
}

impl HandOver {
    fn stood(&self) -> Stood<'_> {
        Stood { texts: &self.texts, choices: &self.choices, kit: self.kit.as_ref() }
    }
}

impl Reason {
    fn stood(&self) -> Stood<'_> {
        Stood { texts: &self.texts, choices: &self.choices, kit: Some(&self.kit) }
    }
}

impl Draft {
    fn stands(&self) -> Stood<'_> {
        Stood { texts: &self.texts, choices: &self.choices, kit: Some(&self.kit) }
    }

    /// A person changes the draft, under the plan that holds until then: see [`Draft::change_under`]. A change after
    /// the hand-over asks for a reason of its own.
    pub fn edit(&mut self, plan: Option<DrawnTo>, change: impl FnOnce(&mut Draft)) {
        self.keep_hand_over();
        self.change_under(plan, change);
        if self.reasons_kept() && self.reason_wanted() {
            self.write(Field::WhyChanged, "");
        }
    }

    fn reasons_kept(&self) -> bool {
        self.hand_overs.iter().any(|h| !h.reasons.is_empty())
    }

    /// Keeps of a hand-over what older versions did not: how everything stood, as it stands before the first change.
    fn keep_hand_over(&mut self) {
        if let Some(at) = self.times.handed_over.filter(|_| !self.stands_handed_over()) {
            self.hand_overs.push(self.as_handed_over(at));
        }
        for then in &mut self.hand_overs {
            then.kit.get_or_insert_with(|| self.kit.clone());
        }
        if !self.reasons_kept() && !self.text(Field::WhyChanged).trim().is_empty() {
            self.give_reason("");
        }
    }

    fn stands_handed_over(&self) -> bool {
        self.hand_overs.last().is_some_and(|last| last.taken_back.is_none())
    }

    fn as_handed_over(&self, at: Instant) -> HandOver {
        HandOver {
            at,
            taken_back: None,
            texts: self.texts.clone(),
            choices: self.choices.clone(),
            kit: Some(self.kit.clone()),
            reasons: Vec::new(),
        }
    }

    /// The product is handed over now, as everything stands. A reason given before stays with the hand-over before.
    pub fn hand_over(&mut self, now: Instant) {
        self.write(Field::WhyChanged, "");
        self.times.handed_over = Some(now);
        self.hand_overs.push(self.as_handed_over(now));
    }

    /// Whether the amount of a part was entered, or entered otherwise, since it was handed over.
    pub(crate) fn given_since(&self, part: u8) -> bool {
        let field = Field::PartGiven(part);
        let last = self.hand_overs.last().filter(|_| self.hand_over_kept());
        last.is_some_and(|then| then.stood().text(field).trim() != self.text(field).trim())
    }

    /// Whether it is kept how the hand-over that holds stood.
    pub(crate) fn hand_over_kept(&self) -> bool {
        self.times.handed_over.is_some() && self.stands_handed_over()
    }

    /// Whether the time of giving of a part, as it stands, lay ahead when it was typed.
    pub(crate) fn is_ahead(&self, part: u8) -> bool {
        let field = Field::PartGivenAt(part);
        self.given_ahead.get(&field).is_some_and(|typed| *typed == self.text(field))
    }

    /// Keeps what was typed as a time of giving that lay ahead, or that nothing was.
    pub fn lies_ahead(&mut self, field: Field, typed: Option<String>) {
        match typed {
            Some(typed) => self.given_ahead.insert(field, typed),
            None => self.given_ahead.remove(&field),
        };
    }

    /// Whether a time of giving of a part tells that it was given: no time to come, nor one before the minute of the
    /// hand-over, which is of one that was taken back.
    pub(crate) fn tells_given(&self, part: u8, at: Instant) -> bool {
        let minute = |at: Instant| at.0.div_euclid(60_000);
        !self.is_ahead(part) && self.times.handed_over.is_none_or(|over| minute(at) >= minute(over))
    }

    /// The times of giving that lay ahead when they were typed, by the parts, from 0, whose time lies ahead now; nothing
    /// where these are kept already.
    pub fn ahead_by(&self, ahead: &[u8]) -> Option<BTreeMap<Field, String>> {
        let mut kept = self.given_ahead.clone();
        kept.retain(|field, typed| self.text(*field) == typed);
        for field in ahead.iter().copied().map(Field::PartGivenAt) {
            kept.insert(field, self.text(field).to_owned());
        }
        (kept != self.given_ahead).then_some(kept)
    }

    /// These parts were given now, says a person. The day stands with it where a time alone would be taken for that of
    /// another.
    pub fn all_given(&mut self, parts: &[u8], now: Instant) {
        let offset = self.offset.unwrap_or(Offset::UTC);
        let Some((day, time)) = now.local(offset) else { return };
        let alone = self.times.handed_over.and_then(|near| near.nearest(time, offset));
        let text = match alone == Some(Instant::of_local(day, time, offset)) {
            true => time.text(),
            false => format!("{day} {}", time.text()),
        };
        for field in parts.iter().copied().map(Field::PartGivenAt) {
            self.write(field, text.clone());
            // The same text may have been typed for a time to come.
            self.lies_ahead(field, None);
        }
    }

    /// Of these parts none was given, says a person after the hand-over. What is entered since, the text tells by being
    /// another one than then.
    pub fn none_given(&mut self, parts: &[u8]) {
        let mark = self.conventions.numbers.mark();
        for &part in parts {
            self.write(Field::PartGiven(part), "0");
            if !self.given_since(part) {
                self.write(Field::PartGiven(part), format!("0{mark}0"));
            }
        }
    }

    /// This case as it is signed now: one that was not handed over is signed without a product. The case itself is that
    /// only once its record is stored: until then it keeps its label and its clocks.
    pub fn as_signed_at(&self, now: Instant) -> Draft {
        let ended_without = self.ended_without.or(Some(now)).filter(|_| self.times.handed_over.is_none());
        Draft { ended_without, ..self.clone() }
    }

    /// Why no product came of the draw, once it was signed so. Words that are only typed decide nothing.
    pub fn without_product(&self) -> Option<&str> {
        self.ended_without.filter(|_| self.times.handed_over.is_none())?;
        Some(self.text(Field::NoProduct).trim())
    }

    /// It was not handed over, says the technician: that it was entered stays in the record, and who receives it is read
    /// back anew.
    pub fn not_handed_over(&mut self, now: Instant) {
        self.times.handed_over = None;
        let by = self.text(Field::Technician).trim().to_owned();
        if let Some(last) = self.hand_overs.last_mut() {
            last.taken_back = Some(Check { by, at: now, of: String::new() });
        }
        let was = self.checks.remove(&CheckKind::HandOver);
        self.lapsed.extend(was.map(|check| super::Lapsed {
            kind: CheckKind::HandOver,
            check,
            changed: Changed::TakenBack,
        }));
    }

    /// The reason in hand is typed, in place of what it was a letter ago: it is kept with what has no other.
    pub(super) fn give_reason(&mut self, before: &str) {
        let why = self.text(Field::WhyChanged).trim().to_owned();
        if !before.trim().is_empty()
            && let Some(last) = self.hand_overs.last_mut()
        {
            last.reasons.pop();
        }
        let open = self.told_since_hand_over(None).into_iter().filter(|(_, why)| why.is_none());
        let of = open.map(|(since, _)| since.key()).collect();
        let (texts, choices, kit) = (self.texts.clone(), self.choices.clone(), self.kit.clone());
        if let Some(last) = self.hand_overs.last_mut().filter(|_| !why.is_empty()) {
            last.reasons.push(Reason { why, of, texts, choices, kit });
        }
    }

    /// A reason that was given is to be given anew.
    pub fn take_back_reason(&mut self, why: &str) {
        self.hand_overs.iter_mut().for_each(|h| h.reasons.retain(|reason| reason.why != why));
        if self.text(Field::WhyChanged).trim() == why {
            self.write(Field::WhyChanged, "");
        }
    }

    /// What is no longer as it was at a hand-over, one taken back among them, each with the reason given for it, if one
    /// was. Older versions kept one for all.
    pub fn changed_since_hand_over(&self) -> Vec<(Since, Option<&str>)> {
        let of_all = Some(self.text(Field::WhyChanged).trim());
        self.told_since_hand_over(of_all.filter(|why| !why.is_empty() && !self.reasons_kept()))
    }

    fn told_since_hand_over<'a>(&'a self, of_all: Option<&'a str>) -> Vec<(Since, Option<&'a str>)> {
        let (now, mut found) = (self.stands(), Vec::<(Since, Option<&str>)>::new());
        for (n, then) in self.hand_overs.iter().enumerate() {
            for since in then.stood().changed_to(now) {
                let key = since.key();
                let is_for = |r: &&Reason| r.of.contains(&key) && since.alike(&then.choices, r.stood(), now);
                let given = self.hand_overs.iter().skip(n).flat_map(|h| &h.reasons).find(is_for);
                let why = given.map(|reason| reason.why.as_str()).or(of_all);
                match found.iter_mut().find(|(known, _)| known.key() == key) {
                    Some((_, known)) => *known = why.and(*known),
                    None => found.push((since, why)),
                }
            }
        }
        found
    }

    /// Whether something was changed after a hand-over and nobody said why.
    pub fn reason_wanted(&self) -> bool {
        self.changed_since_hand_over().iter().any(|(_, why)| why.is_none())
    }
}

impl Choices {
    /// These, but the side, as far as `then` said them. What was not said then may be said since; that a count will come
    /// later ends when it has come. What goes into the product is no mere addition.
    fn said_in(&self, then: &Choices) -> Choices {
        let mut now = self.clone();
        now.side = then.side;
        now.count_later = then.count_later;
        macro_rules! said_since {
            ($($choice:ident)*) => { $( if then.$choice.is_none() { now.$choice = None; } )* };
        }
        said_since! {
            white_cells count sample sex first_draw agent convention dilution product_tube cells_dilution
            mixed_no_clumps
        }
        now.order_sense.retain(|key, _| then.order_sense.contains_key(key));
        now.screening.retain(|key, _| then.screening.contains_key(key));
        now.brakes.retain(|key, _| then.brakes.contains_key(key));
        now
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::Bench;
    use crate::draft::{AdditionChoice, Brake, CheckSign, Correction, SampleDilution, TimeOf};
    use crate::quantity::unit::{Conventions, MassUnit};

    /// The demo case, 4 mL kept and both parts given, collected and handed over.
    fn handed() -> Draft {
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        for (field, text) in
            [(Field::ProductActual, "4"), (Field::PartGiven(0), "2"), (Field::PartGiven(1), "1")]
        {
            d.write(field, text);
        }
        (d.times.needle_in, d.times.collected) = (Some(Instant(1)), Some(Instant(3)));
        d.edit(None, |d| d.hand_over(Instant(5)));
        d
    }

    fn type_in(d: &mut Draft, field: Field, text: &str) {
        d.edit(None, |d| d.type_in(field, text, Instant(9), None));
    }

    fn why(d: &mut Draft, text: &str) {
        for (end, _) in text.char_indices().skip(1) {
            type_in(d, Field::WhyChanged, &text[..end]);
        }
        type_in(d, Field::WhyChanged, text);
    }

    fn told(d: &Draft) -> Vec<(Since, Option<String>)> {
        d.changed_since_hand_over().into_iter().map(|(since, why)| (since, why.map(str::to_owned))).collect()
    }

    #[test]
    fn another_entry_of_the_bench_after_the_hand_over_wants_a_reason() {
        let bench = Bench::default();
        let mut d = handed();
        assert!(!d.reason_wanted());
        let before = d.kit.clone();
        let other = bench.rotors.iter().find(|r| Some(*r) != before.rotor.as_ref()).unwrap().clone();
        d.edit(None, |d| d.kit.rotor = Some(other.clone()));
        let was = |name: Option<&String>| Some(name.unwrap().clone());
        let rotor = Since::Kit(KitPart::Rotor, was(before.rotor.as_ref().map(|r| &r.name)));
        assert_eq!(told(&d), [(rotor.clone(), None)]);
        why(&mut d, "spun on the other");
        assert!(!d.reason_wanted());
        // The same entry as the Bench has it since is another too, and each wants its own.
        d.edit(None, |d| d.kit.rotor.as_mut().unwrap().id.push('x'));
        assert_eq!(told(&d), [(rotor, None)]);
        d.edit(None, |d| d.kit = before.clone());
        d.edit(None, |d| d.kit.protocol.as_mut().unwrap().programme.0.clear());
        let name = was(before.protocol.as_ref().map(|p| &p.name));
        assert_eq!(told(&d), [(Since::Kit(KitPart::Protocol, name), None)]);
        d.edit(None, |d| d.kit = Kit { container: None, ..before.clone() });
        let name = was(before.container.as_ref().map(|c| &c.name));
        assert_eq!(told(&d), [(Since::Kit(KitPart::Container, name), None)]);
        // How its count is read is no part of what was handed over.
        d.edit(None, |d| d.kit = before);
        d.edit(None, |d| d.kit.analyser.low = Some(crate::quantity::CellCount::constant(10.0)));
        assert_eq!(told(&d), []);
        // One that was chosen only afterwards: what is told of the spin is reckoned with it.
        let mut d = handed();
        d.hand_overs[0].kit.as_mut().unwrap().rotor = None;
        assert_eq!(told(&d), [(Since::Kit(KitPart::Rotor, None), None)]);
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
    }

    #[test]
    fn a_reason_is_for_what_was_changed_when_it_was_given() {
        let mut d = handed();
        type_in(&mut d, Field::ProductActual, "3.6");
        why(&mut d, "misread the syringe");
        assert!(!d.reason_wanted());
        assert_eq!(d.hand_overs[0].reasons.len(), 1, "one reason, however many letters");
        type_in(&mut d, Field::PartGiven(1), "0.5");
        assert!(d.reason_wanted() && d.text(Field::WhyChanged).is_empty(), "the next is asked for anew");
        why(&mut d, "did not want all");
        let both = [
            (Since::Text(Field::ProductActual, "4".into()), Some("misread the syringe".to_owned())),
            (Since::Text(Field::PartGiven(1), "1".into()), Some("did not want all".to_owned())),
        ];
        assert_eq!(told(&d), both);
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
        // In other units they say the same of the same.
        let reasons = |d: &Draft| told(d).into_iter().map(|(_, why)| why).collect::<Vec<_>>();
        let mut heavy = d.clone();
        heavy.hand_overs[0].texts.insert(Field::Weight, "70".into());
        type_in(&mut heavy, Field::Weight, "80");
        why(&mut heavy, "weighed");
        assert_eq!(reasons(&heavy).len(), 3);
        let pounds = heavy.in_conventions(Conventions { mass: MassUnit::Pound, ..d.conventions });
        assert_ne!(pounds.text(Field::Weight), "80");
        assert_eq!(reasons(&pounds), reasons(&heavy));
        // Changed once more it is another change; a choice is one as well.
        type_in(&mut d, Field::ProductActual, "3.8");
        assert_eq!(reasons(&d), [None, Some("did not want all".to_owned())]);
        type_in(&mut d, Field::ProductActual, "3.6");
        assert_eq!(told(&d), both);
        d.edit(None, |d| d.choices.each_part = true);
        assert_eq!(told(&d)[2], (Since::Choices, None));
        why(&mut d, "asked again");
        // What was not said may be said, and takes no reason away.
        d.edit(None, |d| d.choices.dilution = Some(SampleDilution::Undiluted));
        assert!(!d.reason_wanted());
        d.take_back_reason("did not want all");
        assert_eq!(told(&d)[1].1, None);
        assert_eq!(d.text(Field::WhyChanged), "asked again");
        d.take_back_reason("asked again");
        assert_eq!((told(&d)[2].1.clone(), d.text(Field::WhyChanged)), (None, ""));
    }

    #[test]
    fn the_reason_of_a_change_that_was_undone_serves_no_other() {
        let mut d = handed();
        type_in(&mut d, Field::ProductActual, "3.6");
        why(&mut d, "misread the syringe");
        type_in(&mut d, Field::ProductActual, "4");
        assert_eq!(told(&d), []);
        type_in(&mut d, Field::PartGiven(0), "1");
        assert_eq!(told(&d), [(Since::Text(Field::PartGiven(0), "2".into()), None)]);
    }

    #[test]
    fn a_reason_outlasts_a_second_hand_over_and_is_none_for_what_is_changed_after_it() {
        let mut d = handed();
        type_in(&mut d, Field::ProductActual, "3.6");
        why(&mut d, "misread the syringe");
        d.edit(None, |d| d.not_handed_over(Instant(6)));
        d.edit(None, |d| d.hand_over(Instant(7)));
        assert!(!d.reason_wanted());
        assert_eq!(told(&d)[0].1.as_deref(), Some("misread the syringe"));
        type_in(&mut d, Field::ProductActual, "4");
        assert_eq!(told(&d), [(Since::Text(Field::ProductActual, "3.6".into()), None)]);
        why(&mut d, "read it again");
        assert_eq!(d.hand_overs.iter().map(|h| h.reasons.len()).collect::<Vec<_>>(), [1, 1]);
        assert!(!d.reason_wanted());
    }

    #[test]
    fn an_addition_after_the_hand_over_is_a_change() {
        let additions = [
            (Field::AdditionName(0), "buffer"),
            (Field::AdditionStrength(0), "10"),
            (Field::AdditionVolume(0), "0.4"),
        ];
        for (field, text) in additions {
            let mut d = handed();
            type_in(&mut d, field, text);
            assert_eq!(told(&d), [(Since::Text(field, String::new()), None)]);
            why(&mut d, "asked for at the chair");
            assert!(!d.reason_wanted());
            type_in(&mut d, field, " ");
            assert_eq!(told(&d), [], "nothing but a space");
        }
        let mut d = handed();
        d.edit(None, |d| d.choices.additions.extend([(0, AdditionChoice::CalciumChloride)]));
        assert_eq!(told(&d), [(Since::Choices, None)]);
        // A count, and what was given, may come later.
        let mut d = handed();
        for field in [Field::Reading(0), Field::Dilution, Field::PartGiven(2)] {
            type_in(&mut d, field, "2");
        }
        assert_eq!(told(&d), []);
    }

    #[test]
    fn a_hand_over_that_kept_nothing_is_kept_as_it_stands_before_the_first_change() {
        let mut old = handed();
        old.hand_overs.clear();
        let mut d = Draft::from_json(&old.to_json()).unwrap();
        type_in(&mut d, Field::ProductActual, "3.6");
        assert_eq!(told(&d), [(Since::Text(Field::ProductActual, "4".into()), None)]);
        assert_eq!(d.hand_overs.len(), 1);
        assert_eq!(d.hand_overs[0].at, Instant(5));
        // One that is taken back keeps how it stood, too.
        let mut back = old.clone();
        back.edit(None, |d| d.not_handed_over(Instant(6)));
        assert!(back.hand_overs[0].taken_back.is_some());
        type_in(&mut back, Field::ProductActual, "3.6");
        assert!(back.reason_wanted());
        // Before a hand-over there is none to keep.
        let mut before = old;
        before.times.handed_over = None;
        type_in(&mut before, Field::ProductActual, "3.6");
        assert_eq!(before.hand_overs, []);
    }

    #[test]
    fn a_hand_over_stored_before_kit_and_reasons_were_kept_loads_and_goes_on_with_what_stands() {
        let mut d = handed();
        d.write(Field::ProductActual, "3.6");
        d.write(Field::WhyChanged, "misread the syringe");
        d.hand_overs[0].kit = None;
        let text = d.to_json();
        assert_eq!(text.matches("\"kit\"").count(), 1, "the kit of the case alone");
        assert!(!text.contains("reasons"));
        let mut old = Draft::from_json(&text).unwrap();
        assert_eq!(told(&old)[0].1.as_deref(), Some("misread the syringe"), "as it was meant, for all");
        old.edit(None, |d| d.kit.rotor = None);
        type_in(&mut old, Field::PartGiven(1), "0.5");
        let rotor = d.kit.rotor.as_ref().map(|r| r.name.clone());
        assert_eq!(
            told(&old),
            [
                (Since::Text(Field::ProductActual, "4".into()), Some("misread the syringe".to_owned())),
                (Since::Text(Field::PartGiven(1), "1".into()), None),
                (Since::Kit(KitPart::Rotor, rotor), None),
            ]
        );
    }

    #[test]
    fn what_the_card_left_to_the_hand_may_be_filled_in_after_the_hand_over_and_is_changed_for_a_reason() {
        let mut d = handed();
        let late =
            [Field::WhoHandOver, Field::PartGivenAt(0), Field::KeptUntilGiven, Field::TemperatureSet(0)];
        for field in late {
            type_in(&mut d, field, "11:50");
        }
        d.edit(None, |d| {
            d.choices.brakes.insert(0, Brake::Off);
        });
        assert_eq!(told(&d), []);
        let mut named = handed();
        named.hand_overs[0].texts.insert(Field::WhoDraw, "MO".into());
        named.hand_overs[0].choices.brakes.insert(0, Brake::On);
        type_in(&mut named, Field::WhoDraw, "JT");
        let who = (Since::Text(Field::WhoDraw, "MO".into()), None);
        assert_eq!(told(&named), [who, (Since::Choices, None)]);
    }

    #[test]
    fn a_space_is_no_change() {
        let mut d = handed();
        type_in(&mut d, Field::ProductActual, " 4 ");
        assert_eq!(told(&d), []);
        type_in(&mut d, Field::ProductActual, "3.6 ");
        d.write(Field::WhyChanged, "misread the syringe");
        assert!(!d.reason_wanted());
        type_in(&mut d, Field::ProductActual, "3.6");
        assert!(!d.reason_wanted(), "given for the same");
    }

    #[test]
    fn a_case_is_signed_without_a_product_by_its_record_alone() {
        let mut d = handed();
        assert_eq!(d.as_signed_at(Instant(9)), d, "handed over");
        d.times.handed_over = None;
        d.write(Field::NoProduct, "clotted");
        let signed = d.as_signed_at(Instant(9));
        assert_eq!((signed.without_product(), d.without_product()), (Some("clotted"), None));
        assert_eq!(signed.as_signed_at(Instant(12)).ended_without, Some(Instant(9)), "the first time holds");
    }

    #[test]
    fn collected_is_taken_back_only_while_nothing_was_handed_over() {
        let mut d = handed();
        assert!(!d.collected_can_go());
        // Nor under a hand-over that was none: its time is corrected, with a trace.
        d.edit(None, |d| d.not_handed_over(Instant(6)));
        assert!(!d.collected_can_go());
        d.correct(TimeOf::Collected, Instant(4), "MO".into(), Instant(7));
        let trace = [Correction {
            what: TimeOf::Collected,
            was: Instant(3),
            now: Instant(4),
            by: "MO".into(),
            at: Instant(7),
        }];
        assert_eq!(d.corrections, trace);
        d.hand_overs.clear();
        assert!(d.collected_can_go());
        d.times.handed_over = Some(Instant(6));
        assert!(!d.collected_can_go(), "an older version kept the time alone");
        d.times = super::super::Times::default();
        assert!(!d.collected_can_go());
    }
}
