//! The question list for the prescriber: what the order leaves open, and what is to be known before going on.

use super::card::{Given, Pen};
use crate::finding::Level;
use crate::words::card::{Asked, CardWord};
use crate::words::finding::{FindingWords, Part};

/// What prints: each question and each caution has lines for an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Questions {
    /// Clinic.
    pub clinic: Vec<String>,
    /// What the paper is.
    pub title: String,
    /// That it is a demo.
    pub tag: Option<String>,
    /// Check sign.
    pub sign: String,
    /// Patient, site, prescriber, a line each.
    pub who: Vec<super::card::Block>,
    /// Heading above the open points.
    pub open_heading: String,
    /// What the order leaves open; a sentence that it leaves nothing open stands alone.
    pub open: Vec<String>,
    /// Whether `open` asks anything.
    pub asks: bool,
    /// Heading above the cautions.
    pub cautions_heading: String,
    /// Word and sentences of each caution and stop.
    pub cautions: Vec<(String, String)>,
    /// What stands before an answer.
    pub answer: String,
    /// Lines to sign on.
    pub sign_off: Vec<String>,
    /// What always stands at the foot.
    pub notice: Vec<String>,
}

/// The question list of a case.
pub fn questions(given: Given<'_>) -> Questions {
    let card = super::card::card(given);
    let pen = Pen::new(given);
    let open: Vec<String> = given.answer.questions.iter().map(|q| pen.say(Asked(*q))).collect();
    let asks = !open.is_empty();
    let say =
        |kind, part| pen.say(FindingWords { kind, part, conventions: &pen.c, offset: given.now.offset });
    let cautions: Vec<(String, String)> = given
        .answer
        .findings
        .iter()
        .filter(|f| f.level >= Level::Caution && !f.kind.settled_in_room())
        .map(|f| (pen.say(f.level), format!("{} {}", say(&f.kind, Part::Cause), say(&f.kind, Part::Action))))
        .collect();
    Questions {
        clinic: card.clinic,
        title: pen.say(CardWord::QuestionTitle),
        tag: card.tag,
        sign: given.draft.sign.to_string(),
        who: card.who,
        open_heading: pen.say(CardWord::PointsAsk),
        open: if asks { open } else { vec![pen.say(CardWord::NothingOpen)] },
        asks,
        cautions_heading: pen.say(CardWord::CautionsAsk),
        cautions,
        answer: pen.say(CardWord::Answer),
        sign_off: vec![pen.say(CardWord::AskedBy), pen.say(CardWord::AnsweredBy)],
        notice: card.notice,
    }
}
