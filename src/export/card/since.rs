//! What was changed after the hand-over, in words, each with its reason; lots corrected after the needle; what went
//! wrong; that a case was rebuilt.

use super::said_of;
use crate::draft::{Draft, Field, Rebuilt, Side, Since, Times, Trouble};
use crate::quantity::time::Instant;
use crate::record::changes::{Change, Part};
use crate::words::Language;
use crate::words::card::{CardLine, CardWord, ChangedPart};
use crate::words::choice::{SiteLine, TroubleName};
use crate::words::chosen;
use crate::words::code::RebuiltLine;
use crate::words::field::Label;

/// What was changed for one reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// Each thing: the value then and the value now.
    pub lines: Vec<String>,
    /// Why; `None` where nobody said yet.
    pub why: Option<String>,
}

/// What was changed after the product was handed over, by the reason given for it; what has none yet stands last.
pub fn since_hand_over(draft: &Draft, language: Language) -> Vec<Told> {
    let mut all: Vec<Told> = Vec::new();
    let mut open = Vec::new();
    for (since, why) in draft.changed_since_hand_over() {
        let line = language.say(CardLine::SinceHandOver(said(draft, &since, language))).into_owned();
        match (why, all.iter_mut().find(|told| told.why.as_deref() == why)) {
            (None, _) => open.push(line),
            (Some(_), Some(told)) => told.lines.push(line),
            (Some(why), None) => all.push(Told { lines: vec![line], why: Some(why.to_owned()) }),
        }
    }
    if !open.is_empty() {
        all.push(Told { lines: open, why: None });
    }
    all
}

/// The same line by line, a reason after what it is for.
pub(in crate::export) fn changed_and_why(draft: &Draft, language: Language) -> Vec<String> {
    since_hand_over(draft, language)
        .into_iter()
        .flat_map(|told| told.lines.into_iter().chain(told.why))
        .collect()
}

/// Lots and expiries that were corrected after the needle, each with what stands and what stood before.
pub(in crate::export) fn corrected_lots(draft: &Draft, language: Language) -> Vec<String> {
    let one = |(field, before): (&Field, &String)| {
        let corrected = match field {
            Field::AnticoagulantExpiry | Field::ContainerExpiry => CardLine::ExpiryCorrected(before.clone()),
            _ => CardLine::LotCorrected(before.clone()),
        };
        format!("{}: {}; {}", language.say(Label(*field)), draft.text(*field).trim(), language.say(corrected))
    };
    draft.corrected_lots.iter().map(one).collect()
}

/// One thing that went wrong: when, what, where, what was done, by whom, and who took it back; `clock` writes a time.
pub(in crate::export) fn trouble_line(
    trouble: &Trouble,
    times: &Times,
    language: Language,
    clock: impl Fn(Instant) -> String,
) -> String {
    let say = |phrase: CardLine| language.say(phrase).into_owned();
    let late = trouble.set_aside_late(times);
    // What was done at once needs no time of its own.
    let later = trouble.aside.as_ref().filter(|a| (clock(a.at), &a.by) != (clock(trouble.at), &trouble.by));
    let word = if late { CardWord::SetAsideLate } else { CardWord::SetAside };
    let aside = later.map(|a| {
        let who = Some(a.by.as_str()).filter(|by| !by.is_empty() && *by != trouble.by);
        let said = [language.say(word).into_owned(), clock(a.at)].join(" ");
        who.map(|who| format!("{said} {who}")).unwrap_or(said)
    });
    let parts = [
        Some(clock(trouble.at)),
        Some(language.say(TroubleName(trouble.kind)).into_owned()),
        trouble.container.map(|i| say(CardLine::Container(usize::from(i) + 1))),
        trouble.set_aside.then(|| aside.unwrap_or_else(|| language.say(word).into_owned())),
        (!trouble.by.is_empty()).then(|| trouble.by.clone()),
        trouble.withdrawn.as_ref().map(|w| say(CardLine::TakenBack { by: w.by.clone(), at: clock(w.at) })),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// That a case was rebuilt from a card's code; `moment` writes day and clock.
pub(in crate::export) fn rebuilt_line(rebuilt: &Rebuilt, moment: impl Fn(Instant) -> String) -> RebuiltLine {
    RebuiltLine {
        read: moment(rebuilt.at),
        whole: rebuilt.whole,
        signed: rebuilt.signed.map(&moment),
        check: rebuilt.check.clone(),
        printed: rebuilt.printed.map(moment),
    }
}

fn said(draft: &Draft, since: &Since, language: Language) -> String {
    match since {
        Since::Text(field, before) => {
            let (before, after) = (before.clone(), draft.text(*field).to_owned());
            let numbers = draft.conventions.numbers;
            said_of(&Change::Typed { field: *field, before, after }, language, numbers)
        }
        Since::Side(before) => {
            let side = |side: Option<Side>| {
                let site = draft.text(Field::Site).trim();
                language.say(SiteLine { side, site }).into_owned()
            };
            let (before, after) = (side(Some(*before)), side(draft.choices.side));
            language.say(CardLine::ChangedSide { before, after }).into_owned()
        }
        Since::Kit(part, before) => {
            let label = language.say(chosen::entry(*part)).into_owned();
            let (before, after) = (before.clone(), part.name(&draft.kit).map(str::to_owned));
            let line = match before == after {
                true => CardLine::ChangedEntry { label, name: after.unwrap_or_default() },
                false => {
                    let [before, after] = [before, after].map(Option::unwrap_or_default);
                    CardLine::ChangedField { label, before, after }
                }
            };
            language.say(line).into_owned()
        }
        Since::Choices => language.say(ChangedPart(Part::Choices)).into_owned(),
    }
}
