//! The printed card: what a case and its assessment put on paper, row by row, already in words. The page only
//! draws it.
//!
//! It must fit one page. What does not fit is left out in a fixed order: notes, predictions, the ledger strip, what
//! to do about a caution.
//! Identity, planned and done, doses, cautions and stops are never left out.

mod blank;
mod fit;
mod made;
mod rows;
mod since;
#[cfg(test)]
mod tests;

use self::rows::text;
use super::code::symbol::Symbol;
use super::code::{Code, NoCode};
use super::label::{self, Labels};
use super::signed::stands;
use super::strip::{Strip, strip};
use crate::assess::{Assessment, MODEL, Now};
use crate::bench::Clinic;
use crate::blood::anticoagulant::Agent;
use crate::case::Case;
use crate::draft::{Check, CheckKind, Correction, DEMO_CLINIC, Draft, Field};
use crate::finding::{Finding, Level};
use crate::product::order::{Ordered, OrderedAmount};
use crate::quantity::time::read::{DateReading, date};
use crate::quantity::time::{Instant, Offset};
use crate::quantity::unit::{Conventions, NumberStyle};
use crate::quantity::write::with_unit;
use crate::quantity::{Quantity, Volume};
use crate::record::changes::{self, Change};
use crate::record::course::Session;
use crate::record::standing::RecordStanding;
use crate::record::{APP, Record};
use crate::words::card::{CardLine, CardWord, ChangedPart, by_the_count};
use crate::words::choice::{AgentName, BeforeChange, CheckName, SiteLine};
use crate::words::chosen::{self, ChosenLabel, ChosenName};
use crate::words::code::CodeSays;
use crate::words::field::Label;
use crate::words::finding::{FindingWords, Part};
use crate::words::log::Discarded;
use crate::words::plan::SessionLine;
use crate::words::product::{OrderMet, OrderedFor, OrderedText};
use crate::words::records::DayAndTime;
use crate::words::step::after_lead;
use crate::words::times::{TimeCorrected, TimeName};
use crate::words::unit::{self, Written};
use crate::words::{Language, Phrase};
use serde::{Deserialize, Serialize};

pub use blank::blank;
pub use fit::Fit;
pub(super) use fit::to_one_page;
pub use since::{Told, since_hand_over};
pub(super) use since::{changed_and_why, corrected_lots, rebuilt_line, trouble_line};

/// A piece of text on paper.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Run {
    /// Words.
    Plain(String),
    /// Words that matter.
    Heavy(String),
    /// An identifier, never broken over lines.
    Id(String),
    /// A number that was typed, counted or planned, heavy, with its unit.
    Amount {
        /// The number in the reader's style.
        number: String,
        /// The unit as printed; empty for a pure number.
        unit: String,
    },
    /// A ruled line for a value by hand.
    Rule,
    /// A ruled line for a name by hand.
    LongRule,
}

impl Run {
    /// A number as it was written.
    pub fn amount(written: Written) -> Run {
        Run::Amount { number: written.number, unit: written.unit.to_owned() }
    }
}

/// A line or cell.
pub type Text = Vec<Run>;

/// The words of a text as one string; a ruled line is four low lines.
pub fn plain(text: &[Run]) -> String {
    text.iter()
        .map(|run| match run {
            Run::Plain(s) | Run::Heavy(s) | Run::Id(s) => s.clone(),
            Run::Amount { number, unit } => with_unit(number, unit),
            Run::Rule | Run::LongRule => "____".to_owned(),
        })
        .collect()
}

/// Pieces of a text, each with whether it stays on one line: a short word with figures and hyphens, a date above all.
pub fn pieces(text: &str) -> Vec<(&str, bool)> {
    let whole = |word: &str| {
        let joined = |pair: &[char]| matches!(pair, [a, b] if a.is_alphanumeric() && *b == '-');
        let letters: Vec<char> = word.chars().collect();
        letters.len() <= 20
            && letters.windows(2).any(joined)
            && !word.ends_with('-')
            && letters.iter().any(char::is_ascii_digit)
    };
    let (mut pieces, mut from, mut at) = (Vec::new(), 0, 0);
    for word in text.split_inclusive(' ') {
        let bare = word.trim_end_matches(' ');
        if whole(bare) {
            pieces.push((text.get(from..at).unwrap_or_default(), false));
            pieces.push((bare, true));
            from = at + bare.len();
        }
        at += word.len();
    }
    pieces.push((text.get(from..).unwrap_or_default(), false));
    pieces.retain(|(piece, _)| !piece.is_empty());
    pieces
}

/// One row of a table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// Its name, then its cells.
    pub cells: Vec<Text>,
    /// A sum, ruled off from what it sums.
    pub sum: bool,
}

/// A table with its heading.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Table {
    /// Above it.
    pub heading: String,
    /// Above its cells; empty where the cells say it themselves.
    pub columns: Vec<String>,
    /// Its rows.
    pub rows: Vec<Row>,
}

/// A block of the head: who, where, by whom.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Block {
    /// Large.
    pub head: Text,
    /// Whether the head is a site, set in the serif face.
    pub site: bool,
    /// Below it.
    pub lines: Vec<Text>,
    /// Below that, small.
    pub small: Vec<Text>,
}

/// A finding with what was said of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Printed {
    /// How loud.
    pub level: Level,
    /// The word that leads it.
    pub lead: String,
    /// Cause.
    pub text: String,
    /// What to do, while that is open and there is room to say it.
    pub action: Option<String>,
    /// Who saw it, or decided and why; that nobody has, for an open Stop.
    pub said: Option<String>,
}

/// Where every millilitre went.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ledger {
    /// Above it.
    pub heading: String,
    /// The strip.
    pub strip: Strip,
}

/// What prints. A signed record keeps it as it stood, whole: what a page of paper has no room for is left out when it
/// prints.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Card {
    /// Ruled lines in place of values.
    pub blank: bool,
    /// Clinic, its second line.
    pub clinic: Vec<String>,
    /// What the paper is.
    pub title: String,
    /// That it is a demo.
    pub tag: Option<String>,
    /// Check sign; none on a blank sheet.
    pub sign: Option<String>,
    /// What an amended card says of itself.
    pub amended: Vec<String>,
    /// Patient, site, who.
    pub who: Vec<Block>,
    /// Planned and done.
    pub done: Table,
    /// What was made or is expected.
    pub made: Table,
    /// Dose by part of the site.
    pub doses: Table,
    /// The ledger strip under its heading; none leaves it out.
    pub ledger: Option<Ledger>,
    /// Findings, loudest first.
    pub findings: Vec<Printed>,
    /// What went wrong, with its heading.
    pub troubles: Vec<String>,
    /// Times that were corrected, and what was changed after the hand-over.
    pub corrected: Vec<String>,
    /// Lines to sign on.
    pub sign_off: Vec<String>,
    /// What always stands at the foot; the start of the record's seal comes to it when a kept card prints.
    pub notice: Vec<String>,
    /// Above the space for notes; the notes that were typed.
    pub notes: String,
    /// Cut line and labels; none while a Stop without a way past stands.
    pub labels: Option<Labels>,
    /// How tightly it must be set to fit.
    pub fit: Fit,
    /// The code from which the case is rebuilt: made when it prints, and not kept.
    #[serde(skip)]
    pub code: Option<CardCode>,
}

/// The code of a card as it prints.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardCode {
    /// One code or two; none where there is no room.
    pub symbols: Vec<Symbol>,
    /// What it holds, or why there is none.
    pub says: String,
    /// The labels below are copies for the chart: the code has their place where there is no other.
    over_labels: bool,
    /// What it says when it is left out.
    no_room: String,
}

impl CardCode {
    /// The code of a case, or why it has none.
    pub fn new(made: Result<Code, NoCode>, of: &Draft, language: Language) -> CardCode {
        let says = |code: &Code| match (code.closed, code.reference) {
            (true, _) => language.say(CodeSays::Closed),
            (false, true) => language.say(CodeSays::ClearReference),
            (false, false) => language.say(CodeSays::Clear),
        };
        let (says, symbols) = match made {
            Ok(code) => (says(&code), code.symbols),
            Err(none) => (language.say(none), Vec::new()),
        };
        let no_room = language.say(CodeSays::NoRoom).into_owned();
        let over_labels = of.times.handed_over.is_some();
        CardCode { symbols, says: says.into_owned(), over_labels, no_room }
    }

    /// How wide and how high its drawings stand together [mm]; 0 without any.
    pub fn size(&self) -> (f64, f64) {
        let sides = self.symbols.iter().map(Symbol::side);
        sides.fold((0.0, 0.0), |(wide, high), side| (wide + side, side.max(high)))
    }
}

/// Everything a card is made from.
#[derive(Debug, Clone, Copy)]
pub struct Given<'a> {
    /// What was typed.
    pub draft: &'a Draft,
    /// What is meant by it.
    pub case: &'a Case,
    /// What follows.
    pub answer: &'a Assessment,
    /// Whose card it is.
    pub clinic: &'a Clinic,
    /// Language of the paper.
    pub language: Language,
    /// When it prints, and the local offset.
    pub now: Now,
    /// The signed record of this case, if there is one.
    pub record: Option<&'a Record>,
    /// How that stands to what was signed; of none, sound.
    pub standing: RecordStanding,
    /// What earlier sessions of its course measured.
    pub sessions: &'a [Session],
}

/// Writes for one card.
pub(super) struct Pen<'a> {
    pub(super) given: Given<'a>,
    pub(super) c: Conventions,
}

impl<'a> Pen<'a> {
    pub(super) fn new(given: Given<'a>) -> Self {
        Self { given, c: given.draft.conventions }
    }

    pub(super) fn say(&self, phrase: impl Phrase) -> String {
        self.given.language.say(phrase).into_owned()
    }

    pub(super) fn word(&self, word: CardWord) -> Run {
        Run::Plain(self.say(word))
    }

    pub(super) fn line(&self, line: CardLine) -> Run {
        Run::Plain(self.say(line))
    }

    pub(super) fn clock(&self, at: Option<Instant>) -> String {
        at.map(|at| unit::clock(at, self.given.now.offset)).unwrap_or_default()
    }

    pub(super) fn day(&self, at: Instant) -> String {
        unit::date(at, self.given.now.offset).map(|day| self.say(day)).unwrap_or_default()
    }

    /// The clock, with its day where that is not the day of the draw.
    pub(super) fn moment(&self, at: Instant) -> String {
        let draw = self.given.draft.times.needle_in.unwrap_or(self.given.draft.begun);
        let (clock, day) = (self.clock(Some(at)), self.day(at));
        if day == self.day(draw) { clock } else { format!("{day}, {clock}") }
    }

    pub(super) fn volume(&self, v: Volume) -> Written {
        unit::volume(v, &self.c)
    }

    pub(super) fn amount(&self, v: Option<Volume>) -> Text {
        v.map(|v| Run::amount(self.volume(v))).into_iter().collect()
    }

    /// The anticoagulant's name; the clinic's own by the name it was given.
    pub(super) fn agent(&self) -> Option<String> {
        use crate::blood::anticoagulant::Agent;
        let agent = self.given.answer.draw.agent?;
        let own = self.given.draft.text(Field::OwnAgent).trim();
        Some(match agent {
            Agent::ClinicOwn if !own.is_empty() => own.to_owned(),
            agent => self.say(AgentName(agent, self.c.numbers)),
        })
    }

    /// A typed text, trimmed; `None` when empty.
    pub(super) fn typed(&self, field: Field) -> Option<&'a str> {
        let text = self.given.draft.text(field).trim();
        (!text.is_empty()).then_some(text)
    }

    /// Patient reference.
    pub(super) fn reference(&self) -> Run {
        match self.typed(Field::PatientReference) {
            Some(reference) => Run::Id(reference.to_owned()),
            None => self.word(CardWord::NoPatient),
        }
    }

    /// The second identifier: "born" before a date, as typed.
    pub(super) fn second(&self) -> String {
        let Some(typed) = self.typed(Field::SecondIdentifier) else { return self.say(CardWord::NoSecond) };
        match date(typed, self.given.language.months()) {
            DateReading::Date(_) => self.say(CardLine::Born(typed.to_owned())),
            _ => typed.to_owned(),
        }
    }

    /// Side and site.
    pub(super) fn site(&self) -> String {
        let order = &self.given.case.order;
        self.say(SiteLine { side: order.side, site: &order.site })
    }

    pub(super) fn check(&self, kind: CheckKind) -> Option<(&'a Check, String)> {
        let check = self.given.draft.checks.get(&kind)?;
        Some((check, self.clock(Some(check.at))))
    }

    pub(super) fn demo(&self, word: CardWord) -> Option<String> {
        self.given.draft.demo.then(|| self.say(word))
    }

    /// Name and second line of the clinic; the demo's own.
    fn clinic(&self) -> Vec<String> {
        if self.given.draft.demo {
            return vec![DEMO_CLINIC.to_owned()];
        }
        let clinic = self.given.clinic;
        [&clinic.name, &clinic.second_line].into_iter().filter(|s| !s.is_empty()).cloned().collect()
    }

    /// An amount as it is ordered and meant.
    fn meant<Q: Quantity>(&self, what: OrderedAmount, ordered: Ordered<Q>) -> String {
        let text = |q: Q| unit::ordered(what, q.get(), &self.c).to_string();
        let meant = match ordered {
            Ordered::AtLeast(least) => OrderedText::AtLeast(text(least)),
            Ordered::Between(least, most) => OrderedText::Between(text(least), text(most)),
            Ordered::BetweenFrom(least) => OrderedText::SecondMissing(text(least)),
            Ordered::About(named) => OrderedText::About(text(named)),
        };
        self.say(meant)
    }

    /// An amount ordered as it is meant; where it was counted, whether that meets it.
    fn asked<Q: Quantity>(
        &self,
        field: Field,
        what: OrderedAmount,
        ordered: Option<Ordered<Q>>,
    ) -> Option<Text> {
        let mut said = format!("{} {}", self.say(Label(field)), self.meant(what, ordered?));
        if what == OrderedAmount::Platelets {
            let each = self.given.case.order.each_part;
            let given = if each { OrderedFor::EachPart } else { OrderedFor::InAll };
            said = format!("{said} {}", self.say(given));
        }
        let line = self.given.answer.product.order.iter().find(|l| l.what == what);
        let Some((line, met)) = line.and_then(|l| Some((l, l.counted?))) else { return Some(text(said)) };
        let how = line.shared.map_or(CardWord::ByTheCount, by_the_count);
        let by = format!("{said}; {} ", self.say(how));
        Some(vec![Run::Plain(by), Run::Heavy(self.say(OrderMet(met)))])
    }

    fn who(&self) -> Vec<Block> {
        let (draft, order) = (self.given.draft, &self.given.case.order);
        let identity = match (self.check(CheckKind::IdentityDiffers), self.check(CheckKind::Identity)) {
            (Some(_), _) => vec![Run::Heavy(self.say(CardWord::IdentityDiffers))],
            (None, Some((check, at))) => vec![self.line(CardLine::IdentityBy { by: check.by.clone(), at })],
            (None, None) => vec![Run::Heavy(self.say(CardWord::IdentityOpen))],
        };
        let patient = Block {
            head: vec![self.reference()],
            site: false,
            lines: vec![vec![Run::Plain(self.second())]],
            small: std::iter::once(identity).chain(self.lapsed()).collect(),
        };
        let mut small: Vec<Text> = Vec::new();
        let questions: Vec<String> = self.given.answer.questions.iter().map(|q| self.say(*q)).collect();
        if !questions.is_empty() {
            small.push(vec![self.line(CardLine::LeavesOpen(questions))]);
        }
        let amounts = [
            self.asked(Field::OrderPlatelets, OrderedAmount::Platelets, order.platelets),
            self.asked(Field::OrderConcentration, OrderedAmount::Concentration, order.concentration),
            self.asked(Field::OrderFold, OrderedAmount::Fold, order.fold),
        ];
        small.extend(amounts.into_iter().flatten());
        let also = self.typed(Field::OrderNote).map(|t| CardLine::Also(t.to_owned()));
        let session = self.typed(Field::Session).map(|t| CardLine::Session(t.to_owned()));
        let said = self.typed(Field::ScreeningNote).map(|t| CardLine::Said(t.to_owned()));
        small.extend(session.map(|l| vec![self.line(l)]).into_iter().chain(self.sessions()));
        small.extend([also, said].into_iter().flatten().map(|l| vec![self.line(l)]));
        let site =
            Block { head: vec![Run::Plain(self.site())], site: true, lines: vec![self.ordered()], small };
        let begun = draft.times.needle_in.unwrap_or(draft.begun);
        let prescriber = match order.prescriber.as_str() {
            "" => self.word(CardWord::NoPrescriber),
            who => self.line(CardLine::OrderedBy(who.to_owned())),
        };
        let mut lines = vec![vec![Run::Heavy(self.day(begun))], vec![prescriber]];
        if let Some(from) = draft.taken_over {
            let held = self.check(CheckKind::TodaysOrder).map(|(check, at)| (check.by.clone(), at));
            let (sign, day) = (from.sign.to_string(), self.day(from.at));
            lines.push(vec![self.line(CardLine::TakenOver { sign, day, held })]);
        }
        if !order.technician.is_empty() {
            lines.push(vec![self.line(CardLine::MadeBy(order.technician.clone()))]);
        }
        vec![patient, site, Block { head: Vec::new(), site: false, lines, small: Vec::new() }]
    }

    /// Checks that a later change took the ground from. A rotor is balanced for each spin and stands beside it: its
    /// check was good for the spin it was made for, and is none of the patient.
    fn lapsed(&self) -> impl Iterator<Item = Text> {
        self.given.draft.lapsed.iter().filter(|l| l.kind != CheckKind::Balance).map(|l| {
            let what = [self.say(CheckName(l.kind)), l.check.of.clone()];
            let what = what.into_iter().filter(|s| !s.is_empty()).collect::<Vec<_>>().join(", ");
            let by = l.check.by.clone();
            let at = self.clock(Some(l.check.at));
            vec![self.line(CardLine::Lapsed { what, by, at, before: self.say(BeforeChange(l.changed)) })]
        })
    }

    /// Volume ordered and its parts: 3 mL: 2 mL into the tendon, 1 mL beside it.
    fn ordered(&self) -> Text {
        let order = &self.given.case.order;
        let mut text = self.amount(order.volume);
        let parts: Vec<String> = order
            .parts
            .iter()
            .filter(|p| p.planned.is_some() || !p.name.is_empty())
            .map(|p| {
                let volume = p.planned.map(|v| self.volume(v).to_string()).unwrap_or_default();
                self.say(CardLine::PartOf { volume, name: p.name.clone() }).trim().to_owned()
            })
            .collect();
        if !parts.is_empty() {
            let lead = if text.is_empty() { "" } else { ": " };
            text.push(Run::Plain(format!("{lead}{}", parts.join(", "))));
        }
        text
    }

    fn finding(&self, finding: &Finding) -> Printed {
        let say = |part| {
            self.say(FindingWords {
                kind: &finding.kind,
                part,
                conventions: &self.c,
                offset: self.given.now.offset,
            })
        };
        let cause = say(Part::Cause);
        let open = finding.is_open() && finding.level > Level::Note;
        let action = open.then(|| say(Part::Action));
        let said = match (&finding.decision, finding.level) {
            (_, Level::Note | Level::StopFinal) => None,
            (_, Level::StopClinician) if open => Some(self.say(CardWord::OpenStop)),
            (None, _) => None,
            (Some(d), _) => {
                let (by, at) = (d.by.clone(), self.clock(Some(d.at)));
                Some(match d.reason.as_str() {
                    "" => self.say(CardLine::SeenBy { by, at }),
                    reason => self.say(CardLine::DecidedBy { by, at, reason: reason.to_owned() }),
                })
            }
        };
        let past = finding.past().map(|d| {
            let (by, at) = (d.by.clone(), self.clock(Some(d.at)));
            let (reason, found) = (d.reason.clone(), d.found.clone());
            self.say(CardLine::DecidedBefore { by, at, reason, found })
        });
        let said: Vec<String> = said.into_iter().chain(past).collect();
        let said = (!said.is_empty()).then(|| said.join(" "));
        let lead = match after_lead(finding.level) {
            Some(after) => format!("{}, {}", self.say(finding.level), self.say(after)),
            None => self.say(finding.level),
        };
        Printed { level: finding.level, lead, text: cause, action, said }
    }

    /// What earlier sessions of the course measured, in the words of the screen.
    fn sessions(&self) -> impl Iterator<Item = Text> {
        self.given.sessions.iter().map(|one| {
            let day = self.day(one.at);
            let recovery = unit::recovery(one.recovery, &self.c).to_string();
            let (sign, number, same_protocol) = (one.sign, one.number, one.same_protocol);
            text(self.say(SessionLine { sign, number, day, recovery, same_protocol }))
        })
    }

    fn troubles(&self) -> Vec<String> {
        let draft = self.given.draft;
        let one = |t| trouble_line(t, &draft.times, self.given.language, |at| self.clock(Some(at)));
        let event = self.typed(Field::AdverseEvent).map(|t| self.say(CardLine::AdverseEvent(t.to_owned())));
        let lines: Vec<String> = draft.troubles.iter().map(one).chain(event).collect();
        let heading = (!lines.is_empty()).then(|| self.say(CardWord::Troubles));
        heading.into_iter().chain(lines).collect()
    }

    /// One line for each time that was corrected: as it first stood, and as it stands.
    fn corrected(&self) -> Vec<String> {
        let mut lines: Vec<(&Correction, &Correction, usize)> = Vec::new();
        for now in &self.given.draft.corrections {
            match lines.iter_mut().find(|(first, ..)| first.what == now.what) {
                Some((_, last, times)) => (*last, *times) = (now, times.saturating_add(1)),
                None => lines.push((now, now, 1)),
            }
        }
        let line = |(first, last, times): (&Correction, &Correction, usize)| TimeCorrected {
            what: last.what,
            was: self.moment(first.was),
            now: self.moment(last.now),
            times,
            by: last.by.clone(),
            at: self.moment(last.at),
        };
        let times = lines.into_iter().map(|all| self.say(line(all)));
        // What was changed after the signature is an amendment's to say.
        let signed = self.given.record.map_or(self.given.draft, |record| &record.first_signed().draft);
        let taken_back = signed.hand_overs.iter().filter_map(|h| {
            let back = h.taken_back.as_ref()?;
            let (at, by) = (self.clock(Some(h.at)), back.by.clone());
            Some(self.say(CardLine::HandOverTakenBack { at, by, back: self.clock(Some(back.at)) }))
        });
        let discards = self.given.draft.discards.iter().map(|d| {
            let back = d.withdrawn.as_ref().map(|w| (w.by.clone(), self.clock(Some(w.at))));
            let volume = d.volume.map(|v| self.volume(v).to_string());
            self.say(Discarded { line: d, volume, at: self.clock(Some(d.at)), back })
        });
        times.chain(taken_back).chain(discards).chain(changed_and_why(signed, self.given.language)).collect()
    }

    /// That the case was rebuilt from a card's code.
    fn rebuilt(&self) -> Option<String> {
        let rebuilt = self.given.draft.rebuilt.as_ref()?;
        let moment = |at| format!("{}, {}", self.day(at), self.clock(Some(at)));
        Some(self.say(rebuilt_line(rebuilt, moment)))
    }

    fn amended(&self) -> Vec<String> {
        let none =
            self.given.draft.without_product().map(|why| self.say(CardLine::NoProduct(why.to_owned())));
        let mut lines: Vec<String> = none.into_iter().chain(self.rebuilt()).collect();
        let Some(record) = self.given.record else { return lines };
        let before = lines.len();
        for (amendment, changed) in record.changes() {
            let entry = &amendment.entry;
            lines.push(self.say(CardLine::AmendedBy {
                by: entry.by.clone(),
                day: self.day(entry.at),
                at: self.clock(Some(entry.at)),
                reason: amendment.reason.clone(),
            }));
            let changed: Vec<String> =
                changed.iter().map(|c| said_of(c, self.given.language, self.c.numbers)).collect();
            if !changed.is_empty() {
                lines.push(self.say(CardLine::Changed(changed)));
            }
        }
        if lines.len() > before {
            let first = record.first_signed();
            let (by, day, at) = (first.by.clone(), self.day(first.at), self.clock(Some(first.at)));
            lines.push(self.say(CardLine::FirstSigned { by, day, at }));
        }
        if !changes::between(record.latest(), self.given.draft).is_empty() {
            lines.push(self.say(CardWord::Unsigned));
        }
        lines
    }

    fn ledger(&self) -> Option<Ledger> {
        let answer = self.given.answer;
        answer.product.ledger.as_ref()?;
        let added = !self.given.case.additions.is_empty();
        let strip = strip(answer, self.given.language, &self.c, added)?;
        Some(Ledger { heading: self.say(CardWord::Ledger), strip })
    }

    /// What the space for notes is for: what nobody entered, and notes.
    fn by_hand(&self) -> String {
        let (draft, case) = (self.given.draft, self.given.case);
        let unset = |stage: u8| {
            let run = case.spin.actual.get(usize::from(stage));
            run.is_none_or(|r| r.brake.is_none()) || self.typed(Field::TemperatureSet(stage)).is_none()
        };
        let stages = case.protocol.iter().flat_map(|p| (0u8..).zip(&p.programme.0));
        let parts = 0..draft.rows.parts.max(1);
        let left = [
            (CardWord::HandDrawSite, self.typed(Field::DrawSite).is_none()),
            (CardWord::HandSpin, stages.filter(|(_, s)| s.speed().is_some()).any(|(i, _)| unset(i))),
            (CardWord::HandGivenAt, parts.map(Field::PartGivenAt).any(|field| self.typed(field).is_none())),
            (CardWord::HandKept, self.typed(Field::KeptUntilGiven).is_none()),
            (CardWord::HandNotes, true),
        ];
        let left = left.into_iter().filter(|(_, left)| *left).map(|(word, _)| self.say(word));
        self.say(CardLine::ByHand(left.collect()))
    }

    fn sign_off(&self) -> Vec<String> {
        let made = match self.given.case.order.technician.as_str() {
            "" => self.say(CardWord::MadeBy),
            who => self.say(CardLine::MadeBySign(who.to_owned())),
        };
        let mut handed = read_back(self.given.draft, self.given.language, self.given.now.offset);
        handed.push(match handed_to(self.given.draft, self.given.language, self.given.now.offset) {
            None => self.say(CardWord::HandedTo),
            Some(said) => self.say(CardLine::ToSign(said)),
        });
        let handed = handed.join("; ");
        let handed = Some(handed).filter(|_| self.given.draft.without_product().is_none());
        [made, self.say(CardWord::CheckedBy)].into_iter().chain(handed).collect()
    }
}

/// Who read the identifiers back at the hand-over, and when.
fn read_back(draft: &Draft, language: Language, offset: Offset) -> Vec<String> {
    let check = draft.checks.get(&CheckKind::HandOver).map(|check| {
        let (by, at) = (check.by.clone(), unit::clock(check.at, offset));
        language.say(CardLine::ReadBack { by, at, site: !check.of.is_empty() }).into_owned()
    });
    check.into_iter().collect()
}

/// To whom the product is handed, and when it was.
fn handed_to(draft: &Draft, language: Language, offset: Offset) -> Option<String> {
    let to = Some(draft.text(Field::HandedTo).trim()).filter(|to| !to.is_empty())?.to_owned();
    let at = draft.times.handed_over.map(|at| unit::clock(at, offset)).unwrap_or_default();
    let who = draft.text(Field::WhoHandOver).trim().to_owned();
    Some(language.say(CardLine::HandedOver { to, at, who }).into_owned())
}

/// That the product was handed over, with nothing for a hand to fill in; none before it was.
pub(super) fn handed_over(draft: &Draft, language: Language, offset: Offset) -> Option<String> {
    let at = unit::clock(draft.times.handed_over?, offset);
    let who = draft.text(Field::WhoHandOver).trim().to_owned();
    let nobody = || language.say(CardLine::HandedOver { to: String::new(), at, who }).into_owned();
    let handed = handed_to(draft, language, offset).unwrap_or_else(nobody);
    let said = read_back(draft, language, offset).into_iter().chain([handed]);
    Some(said.collect::<Vec<_>>().join("; "))
}

/// One change of an amendment: the old value and the new one.
pub(crate) fn said_of(change: &Change, language: Language, numbers: NumberStyle) -> String {
    match change {
        Change::Typed { field, before, after } => language.say(CardLine::ChangedField {
            label: language.say(Label(*field)).into_owned(),
            before: before.clone(),
            after: after.clone(),
        }),
        Change::Chosen { before, after } => {
            let label = language.say(ChosenLabel(after)).into_owned();
            let [before, after] = [before, after].map(|c| language.say(ChosenName(c, numbers)).into_owned());
            language.say(CardLine::ChangedField { label, before, after })
        }
        Change::Entry { part, name } => {
            let label = language.say(chosen::entry(*part)).into_owned();
            language.say(CardLine::ChangedEntry { label, name: name.clone().unwrap_or_default() })
        }
        Change::Time { what, before, after, offset } => {
            let label = language.say(TimeName(*what)).into_owned();
            let said = |at: Instant| dated(at, *offset, language);
            let [before, after] = [*before, *after].map(|at| at.map(said).unwrap_or_default());
            language.say(CardLine::ChangedField { label, before, after })
        }
        Change::Check { kind, before, after, offset } => {
            let label = language.say(CheckName(*kind)).into_owned();
            let one = |check: &Check| {
                let (by, at) = (check.by.clone(), dated(check.at, *offset, language));
                language.say(CardLine::Confirmed { by, at }).into_owned()
            };
            let [before, after] = [before, after].map(|check| check.as_ref().map(one).unwrap_or_default());
            language.say(CardLine::ChangedField { label, before, after })
        }
        Change::Part(part) => language.say(ChangedPart(*part)),
    }
    .into_owned()
}

/// A moment in the local time of the case; of one that kept none in UTC, as in files, and said to be.
fn dated(at: Instant, offset: Option<Offset>, language: Language) -> String {
    let Some((day, time)) = at.local(offset.unwrap_or(Offset::UTC)) else { return String::new() };
    let said = language.say(DayAndTime(day, time)).into_owned();
    if offset.is_some() { said } else { language.say(CardLine::Utc(said)).into_owned() }
}

/// What always stands at the foot: the notice, the wording for own blood, the clinic's own line.
fn notice(language: Language, clinic: &Clinic, agent: Option<String>) -> Vec<String> {
    // Until one is chosen the shipped protocols' own stands here.
    let agent =
        agent.unwrap_or_else(|| language.say(AgentName(Agent::AcdA, NumberStyle::Point)).into_owned());
    let always = language.say(CardLine::Notice { app: APP.to_owned(), model: MODEL, agent }).into_owned();
    let own = [&clinic.autologous, &clinic.local_line].into_iter().filter(|s| !s.is_empty()).cloned();
    std::iter::once(always).chain(own).collect()
}

/// The card of a case, on one page.
pub fn card(given: Given<'_>) -> Card {
    card_with(given, None)
}

/// The same with a code on it.
pub(super) fn card_with(given: Given<'_>, code: Option<CardCode>) -> Card {
    let mut card = Card { code, ..as_it_stands(given) };
    to_one_page(&mut card);
    card
}

/// The card of a case that is not as it was signed, with nothing left out, and how its record stands.
pub(super) fn as_it_stands(given: Given<'_>) -> Card {
    let mut card = whole(given);
    if let Some((true, said)) =
        given.record.and_then(|record| stands(record, given.standing, given.language, given.now.offset))
    {
        card.amended.insert(0, said);
    }
    card
}

/// The card of a case with nothing left out.
pub(super) fn whole(given: Given<'_>) -> Card {
    let pen = Pen::new(given);
    let amended = pen.amended();
    let title = match given.record {
        Some(record) if record.amended() => CardWord::AmendedTitle,
        _ => CardWord::Title,
    };
    Card {
        blank: false,
        clinic: pen.clinic(),
        title: pen.say(title),
        tag: pen.demo(CardWord::DemoPaper),
        sign: Some(given.draft.sign.to_string()),
        amended,
        who: pen.who(),
        done: pen.done(),
        made: pen.made(),
        doses: pen.doses(),
        ledger: pen.ledger(),
        findings: given.answer.findings.iter().map(|f| pen.finding(f)).collect(),
        troubles: pen.troubles(),
        corrected: pen.corrected(),
        sign_off: pen.sign_off(),
        notice: notice(given.language, given.clinic, pen.agent()),
        notes: [pen.by_hand()]
            .into_iter()
            .chain(pen.typed(Field::Notes).map(str::to_owned))
            .collect::<Vec<_>>()
            .join(": "),
        labels: label::written(&pen),
        fit: Fit::Ordinary,
        code: None,
    }
}
