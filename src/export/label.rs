//! The strip to cut off below the card: product and platelet-poor plasma, each container, the syringe that holds
//! the anticoagulant. A label says whose it is, what is inside, and never more than is known.

pub mod stock;

use super::card::{Given, Pen, Run, Text};
use crate::case::AdditionTyped;
use crate::draft::Field;
use crate::finding::Level;
use crate::quantity::time::Instant;
use crate::words::Language;
use crate::words::card::{CardLine, CardWord};
use crate::words::unit;
use serde::{Deserialize, Serialize};

/// What a label is stuck on; they differ in frame, head and first word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LabelKind {
    /// The product.
    Product,
    /// Says that there is no product label, and why.
    Withheld,
    /// Platelet-poor plasma.
    Poor,
    /// A container to be filled.
    Container,
    /// The syringe with the anticoagulant.
    Syringe,
}

/// How a line of a label is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LineKind {
    /// As text.
    Plain,
    /// Side and site.
    Site,
    /// Use-by, large.
    UseBy,
}

/// One label.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Label {
    /// What it is stuck on.
    pub kind: LabelKind,
    /// Its first words, large.
    pub head: Text,
    /// Check sign; empty on a blank sheet, for one by hand.
    pub sign: Option<String>,
    /// Its lines.
    pub lines: Vec<(LineKind, Text)>,
}

/// Everything below the cut.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Labels {
    /// On the cut line.
    pub cut: String,
    /// In the box for the clinic's own sticker.
    pub sticker: String,
    /// Product and platelet-poor plasma.
    pub large: Vec<Label>,
    /// Containers and syringe, until the spin begins.
    pub small: Vec<Label>,
}

/// The labels of a case as they print; none while a Stop without a way past stands. Once the product is handed over
/// they say that they are copies; without a product it has none.
pub fn labels(given: Given<'_>) -> Option<Labels> {
    written(&Pen::new(given))
}

pub(super) fn written(pen: &Pen<'_>) -> Option<Labels> {
    let answer = pen.given.answer;
    if answer.findings.iter().any(|f| f.level == Level::StopFinal && f.is_open()) {
        return None;
    }
    let stopped = answer.findings.iter().any(|f| f.level == Level::StopClinician && f.is_open());
    let mut large = if pen.given.draft.without_product().is_some() {
        Vec::new()
    } else if stopped {
        let head = vec![Run::Heavy(pen.say(CardWord::NoLabelHead))];
        let why = vec![(LineKind::Plain, vec![pen.word(CardWord::NoLabelWhy)])];
        vec![Label { kind: LabelKind::Withheld, head, sign: pen.sign(), lines: why }]
    } else {
        vec![pen.product_label(), pen.poor_label()]
    };
    let times = &pen.given.draft.times;
    if let Some(at) = times.handed_over.filter(|_| !stopped) {
        large.iter_mut().for_each(|label| pen.mark_copy(label, at));
    }
    let spun = !times.stages.is_empty() || times.collected.is_some() || answer.product.collected;
    let small = if spun { Vec::new() } else { pen.small() };
    Some(Labels { cut: pen.say(CardWord::CutHere), sticker: pen.say(CardWord::Sticker), large, small })
}

fn line(text: Text) -> (LineKind, Text) {
    (LineKind::Plain, text)
}

impl Pen<'_> {
    fn sign(&self) -> Option<String> {
        Some(self.given.draft.sign.to_string())
    }

    /// HL-0417, born 4 Aug 1982; ruled where one is not entered.
    fn patient(&self) -> Text {
        let ruled = |word| vec![Run::Plain(format!("{} ", self.say(word))), Run::Rule];
        let mut text = match self.typed(Field::PatientReference) {
            Some(_) => vec![self.reference()],
            None => ruled(CardWord::Reference),
        };
        text.push(Run::Plain(", ".to_owned()));
        match self.typed(Field::SecondIdentifier) {
            Some(_) => text.push(Run::Plain(self.second())),
            None => text.extend(ruled(CardWord::SecondIdentifier)),
        }
        text
    }

    /// Wording for own blood and the further line, as the clinic set them, and "Demo".
    fn own_blood(&self) -> Text {
        let clinic = self.given.clinic;
        let own = [&clinic.autologous, &clinic.local_line].map(|s| Some(s.trim().to_owned()));
        let words =
            own.into_iter().chain([self.demo(CardWord::DemoLabel)]).flatten().filter(|s| !s.is_empty());
        let words = words.collect::<Vec<_>>().join(" ");
        vec![Run::Plain(words)]
    }

    fn demo_run(&self) -> Option<Run> {
        self.demo(CardWord::DemoLabel).map(|demo| Run::Plain(format!(" {demo}")))
    }

    /// A label printed after the product has gone is for the chart alone.
    fn mark_copy(&self, label: &mut Label, at: Instant) {
        label.head.insert(0, Run::Heavy(format!("{} ", self.say(CardWord::CopyHead))));
        label.lines.insert(0, line(vec![Run::Heavy(self.say(CardLine::CopyOf(self.clock(Some(at)))))]));
        // A use-by is large only on what may still be used.
        for (kind, _) in label.lines.iter_mut().filter(|(kind, _)| *kind == LineKind::UseBy) {
            *kind = LineKind::Plain;
        }
    }

    /// When and by whom; ruled where it is not known yet.
    fn made_at(&self) -> Text {
        match self.given.draft.times.collected {
            Some(at) => vec![self.line(CardLine::MadeAt {
                day: self.day(at),
                at: self.clock(Some(at)),
                by: self.given.case.order.technician.clone(),
            })],
            None => vec![Run::Plain(format!("{} ", self.say(CardWord::MadeAt))), Run::LongRule],
        }
    }

    /// What is inside. A count stands there only when it may be relied on.
    fn contents(&self) -> CardLine {
        let p = &self.given.answer.product;
        let agent = self.agent().unwrap_or_default();
        let Some(measured) = &p.measured else { return CardLine::InAgent(agent) };
        let count = match self.given.case.additions.is_empty() {
            true => Some(&measured.concentration),
            false => p.mixed.as_ref().and_then(|m| m.counted.as_ref()),
        };
        match count.filter(|_| p.confirmed) {
            Some(c) => CardLine::LabelCounted { count: unit::count(c.value, &self.c).to_string(), agent },
            None => CardLine::LabelUnsure(agent),
        }
    }

    fn product_label(&self) -> Label {
        let mut head = vec![Run::Heavy(format!("{} ", self.say(CardWord::ProductHead)))];
        head.push(self.given.answer.product.inside.map_or(Run::Rule, |v| Run::amount(self.volume(v))));
        let mut lines = vec![line(self.patient()), (LineKind::Site, vec![Run::Plain(self.site())])];
        lines.push(line(vec![self.line(self.contents())]));
        let added: Vec<String> = (0u8..)
            .zip(&self.given.case.additions)
            .map(|(i, a)| match a {
                AdditionTyped::Whole(a) => self.added(i, Some(&a.agent)),
                AdditionTyped::Partial => self.added(i, None),
            })
            .collect();
        if !added.is_empty() {
            lines.push(line(vec![self.line(CardLine::WithAdded(added.join(", ")))]));
        }
        lines.push(line(self.made_at()));
        let use_by = format!("{} ", self.say(CardWord::UseBy));
        // One that the end of the spin may still bring forward is on no label.
        let settled = self.given.answer.spin.use_by.as_ref().map(|u| u.value).filter(|by| by.settled());
        let use_by = match settled.map(|by| by.at) {
            Some(at) => vec![
                Run::Heavy(format!("{use_by}{}", self.clock(Some(at)))),
                Run::Plain(format!(" {}", self.day(at))),
            ],
            None => vec![Run::Heavy(use_by), Run::LongRule],
        };
        lines.push((LineKind::UseBy, use_by));
        lines.push(line(self.own_blood()));
        Label { kind: LabelKind::Product, head, sign: self.sign(), lines }
    }

    fn poor_label(&self) -> Label {
        let volume = match self.given.case.collect.poor_plasma {
            Some(v) => Run::amount(self.volume(v)),
            None => Run::Rule,
        };
        let mut lines = poor_words(self.given.language);
        lines.push(line(self.patient()));
        lines.push(line(self.made_at()));
        lines.push(line(vec![Run::Plain(format!("{} ", self.say(CardWord::Volume))), volume]));
        lines.push(line(self.own_blood()));
        let head = vec![Run::Heavy(self.say(CardWord::PoorHead))];
        Label { kind: LabelKind::Poor, head, sign: self.sign(), lines }
    }

    /// Each container to be filled, then the syringe that fills it.
    fn small(&self) -> Vec<Label> {
        let draw = &self.given.answer.draw;
        let Some(plan) = &draw.plan else { return Vec::new() };
        let split = plan.rounded.value.split;
        let agent = self.agent().unwrap_or_default();
        let amount = self.volume(split.anticoagulant).to_string();
        let in_hand: Vec<u8> = draw.containers.iter().filter(|c| !c.set_aside).map(|c| c.index).collect();
        let all =
            usize::from(plan.containers).max(in_hand.iter().map(|i| usize::from(*i) + 1).max().unwrap_or(0));
        let mut small: Vec<Label> = in_hand
            .into_iter()
            .map(|i| {
                let n = usize::from(i) + 1;
                let agent = CardLine::AgentAmount { agent: agent.clone(), amount: amount.clone() };
                let mark = CardLine::ToMark(self.volume(split.fill).to_string());
                let mut lines = vec![line(self.patient())];
                lines.push(line(vec![self.line(agent)]));
                lines.push(line(vec![self.line(mark)]));
                let mut head = vec![Run::Heavy(self.say(CardLine::ContainerOf { n, all }))];
                head.extend(self.demo_run());
                Label { kind: LabelKind::Container, head, sign: self.sign(), lines }
            })
            .collect();
        let inside = self.given.case.draw.container.as_ref().is_some_and(|c| c.prefill.is_some());
        if !inside {
            let each = CardLine::ForEachOf { amount, n: plan.containers };
            let who = self.typed(Field::Technician).unwrap_or_default();
            let drawn = match who {
                "" => format!("{} ", self.say(CardWord::DrawnUp)),
                who => format!("{} ", self.say(CardLine::DrawnUpBy(who.to_owned()))),
            };
            let mut lines = vec![line(vec![self.line(each)]), line(self.patient())];
            lines.push(line(vec![Run::Plain(drawn), Run::Rule]));
            lines.push(line(vec![Run::Heavy(self.say(CardWord::NotIntravenous))]));
            let mut head = vec![Run::Heavy(agent)];
            head.extend(self.demo_run());
            small.push(Label { kind: LabelKind::Syringe, head, sign: self.sign(), lines });
        }
        small
    }
}

/// What keeps plasma from being taken for the product.
fn poor_words(language: Language) -> Vec<(LineKind, Text)> {
    let say = |word: CardWord| language.say(word).into_owned();
    vec![
        line(vec![Run::Heavy(say(CardWord::PoorName))]),
        line(vec![Run::Heavy(say(CardWord::NotProduct))]),
        line(vec![Run::Plain(say(CardWord::NotForInjection))]),
    ]
}

/// The same labels with ruled lines.
pub(super) fn blank(language: Language, own_blood: &str) -> Labels {
    let say = |word: CardWord| language.say(word).into_owned();
    let ruled = |word: CardWord| line(vec![Run::Plain(format!("{} ", say(word))), Run::LongRule]);
    let own = || line(vec![Run::Plain(own_blood.to_owned())]);
    let heavy = |word: CardWord| Run::Heavy(format!("{} ", say(word)));
    // An empty box for a sign by hand.
    let sign = || Some(String::new());
    let product = Label {
        kind: LabelKind::Product,
        head: vec![heavy(CardWord::ProductHead), Run::Rule],
        sign: sign(),
        lines: vec![
            ruled(CardWord::Reference),
            ruled(CardWord::SecondIdentifier),
            ruled(CardWord::Site),
            ruled(CardWord::LabelContents),
            ruled(CardWord::MadeAt),
            (LineKind::UseBy, vec![heavy(CardWord::UseBy), Run::LongRule]),
            own(),
        ],
    };
    let mut lines = poor_words(language);
    lines.extend([
        ruled(CardWord::Reference),
        ruled(CardWord::SecondIdentifier),
        ruled(CardWord::MadeAt),
        ruled(CardWord::Volume),
        own(),
    ]);
    let poor = Label { kind: LabelKind::Poor, head: vec![heavy(CardWord::PoorHead)], sign: sign(), lines };
    let container = Label {
        kind: LabelKind::Container,
        head: vec![Run::Rule],
        sign: sign(),
        lines: vec![
            ruled(CardWord::Reference),
            ruled(CardWord::SecondIdentifier),
            ruled(CardWord::Anticoagulant),
            ruled(CardWord::FillMark),
        ],
    };
    let syringe = Label {
        kind: LabelKind::Syringe,
        head: vec![Run::LongRule],
        sign: sign(),
        lines: vec![
            ruled(CardWord::Volume),
            ruled(CardWord::Reference),
            ruled(CardWord::SecondIdentifier),
            ruled(CardWord::DrawnUp),
            line(vec![Run::Heavy(say(CardWord::NotIntravenous))]),
        ],
    };
    Labels {
        cut: say(CardWord::CutHere),
        sticker: say(CardWord::Sticker),
        large: vec![product, poor],
        small: vec![container.clone(), container, syringe],
    }
}
