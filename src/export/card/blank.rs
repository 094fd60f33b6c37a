//! The worksheet for the day without a device: the card with ruled lines where values stand.

use super::{Block, Card, Fit, Row, Run, Table, Text, notice};
use crate::bench::Clinic;
use crate::export::label;
use crate::words::Language;
use crate::words::card::{CardLine, CardWord};
use crate::words::page::Common;

/// The blank worksheet of a clinic.
pub fn blank(clinic: &Clinic, language: Language) -> Card {
    let say = |word: CardWord| language.say(word).into_owned();
    let text = |word: CardWord| -> Text { vec![Run::Plain(say(word))] };
    let ruled = |word: CardWord| -> Text { vec![Run::Plain(format!("{} ", say(word))), Run::LongRule] };
    let row = |name: Text, cells: Vec<Text>| Row {
        cells: std::iter::once(name).chain(cells).collect(),
        sum: false,
    };
    let done = |name: Text, with: CardWord| {
        let by = vec![Run::Rule];
        row(name, vec![vec![Run::Rule], vec![Run::Rule], vec![Run::Rule], by, text(with)])
    };
    let spin = |n| vec![Run::Plain(language.say(CardLine::SpinNumber(n)).into_owned())];
    let columns = [CardWord::Planned, CardWord::Done, CardWord::Time, CardWord::By, CardWord::With].map(say);
    let standing = || -> Text { vec![Run::Rule, Run::Plain(format!(" {}", say(CardWord::Standing)))] };
    let made = |word: CardWord| row(text(word), vec![standing()]);
    let part = |n: u8| row(vec![Run::Plain(n.to_string())], vec![vec![Run::Rule], vec![Run::Rule]]);
    let block = |head: CardWord, lines: &[CardWord]| Block {
        head: text(head),
        site: false,
        lines: std::iter::once(vec![Run::LongRule]).chain(lines.iter().map(|&w| ruled(w))).collect(),
        small: Vec::new(),
    };
    Card {
        blank: true,
        clinic: [&clinic.name, &clinic.second_line].into_iter().filter(|s| !s.is_empty()).cloned().collect(),
        title: say(CardWord::BlankTitle),
        tag: None,
        // An empty box for a sign by hand.
        sign: Some(String::new()),
        amended: Vec::new(),
        who: vec![
            block(CardWord::Reference, &[CardWord::SecondIdentifier, CardWord::Identity]),
            block(CardWord::Site, &[CardWord::Volume, CardWord::OpenPoints]),
            block(CardWord::Date, &[CardWord::OrderedBy, CardWord::MadeByShort]),
        ],
        done: Table {
            heading: say(CardWord::PlannedAndDone),
            columns: std::iter::once(String::new()).chain(columns).collect(),
            rows: vec![
                done(text(CardWord::BloodCount), CardWord::CountWith),
                done(text(CardWord::Anticoagulant), CardWord::Checks),
                done(text(CardWord::EachContainer), CardWord::ContainerWith),
                done(text(CardWord::BloodUsed), CardWord::NeedleWith),
                done(spin(1), CardWord::SpinWith),
                done(spin(2), CardWord::SpinWith),
                done(text(CardWord::ProductKept), CardWord::UseByWith),
                done(text(CardWord::ProductCount), CardWord::ProductCountWith),
                done(text(CardWord::Added), CardWord::AddedWith),
            ],
        },
        made: Table {
            heading: say(CardWord::Made),
            columns: Vec::new(),
            rows: [
                CardWord::PlateletsDrawn,
                CardWord::Concentration,
                CardWord::PlateletsInProduct,
                CardWord::Fold,
            ]
            .map(made)
            .into(),
        },
        doses: Table {
            heading: say(CardWord::Doses),
            columns: vec![
                String::new(),
                language.say(Common::Planned).into_owned(),
                say(CardWord::GivenVolume),
                say(CardWord::DoseStanding),
            ],
            rows: (1..=3)
                .map(part)
                .map(|mut r| {
                    r.cells.push(vec![Run::Rule]);
                    r
                })
                .collect(),
        },
        ledger: None,
        findings: Vec::new(),
        troubles: Vec::new(),
        corrected: Vec::new(),
        sign_off: [CardWord::MadeBy, CardWord::CheckedBy, CardWord::HandedTo].map(say).into(),
        notice: notice(language, clinic, None),
        notes: say(CardWord::NotesByHand),
        labels: Some(label::blank(language, &clinic.autologous)),
        fit: Fit::Ordinary,
        code: None,
    }
}
