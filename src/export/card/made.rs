//! What was made and who gets how much of it: counted heavy, predicted light and named so.

use super::rows::{listed, row, text};
use super::{Pen, Row, Run, Table, Text};
use crate::assess::draw::Standing;
use crate::assess::product::{ShareLine, Shared};
use crate::case::TypedMoment;
use crate::draft::Field;
use crate::export::sampled::over_older;
use crate::product::range::Range;
use crate::quantity::{Quantity, Volume};
use crate::words::card::{CardLine, CardWord, by_the_count};
use crate::words::page::Common;
use crate::words::unit::{self, Written};
use crate::working::Worked;

impl Pen<'_> {
    /// A counted number; one that may not be relied on stands light and says so.
    pub(super) fn counted(&self, written: Written) -> Text {
        self.by_count(written, self.say(Common::Counted))
    }

    fn by_count(&self, written: Written, how: String) -> Text {
        if self.given.answer.product.unconfirmed() {
            let number = Run::Plain(format!("{written} "));
            return vec![number, Run::Heavy(self.say(CardWord::NotConfirmed))];
        }
        vec![Run::amount(written), Run::Plain(format!(" {how}"))]
    }

    /// Median and 80 % range, never heavy, with the words that say so.
    fn predicted<Q: Quantity>(&self, range: &Range<Q>, write: impl Fn(Q) -> Written) -> Text {
        let median = write(range.median);
        let ranged = CardLine::Ranged {
            median: median.number,
            unit: median.unit.to_owned(),
            low: write(range.low).number,
            high: write(range.high).number,
        };
        vec![Run::Plain(format!("{}, {}", self.say(ranged), self.say(Common::Predicted)))]
    }

    /// A row of what was made: counted, then predicted.
    fn result<Q: Quantity>(
        &self,
        name: String,
        counted: Option<Written>,
        predicted: Option<&Worked<Range<Q>>>,
        write: impl Fn(Q) -> Written,
    ) -> Option<Row> {
        if counted.is_none() && predicted.is_none() {
            return None;
        }
        // Beside a counted value the unit stands already.
        let bare = |q| match &counted {
            Some(_) => Written { unit: "", ..write(q) },
            None => write(q),
        };
        let predicted = predicted.map(|p| self.predicted(&p.value, bare)).unwrap_or_default();
        let counted = counted.map(|w| self.counted(w)).unwrap_or_default();
        Some(row(vec![vec![Run::Plain(name)], counted, predicted]))
    }

    /// A row whose count is reckoned over the blood's, which says so where that is of another day.
    fn over_blood(&self, mut row: Row) -> Row {
        let over = over_older(self.given.case, self.given.language);
        if let Some((counted, over)) = row.cells.get_mut(1).filter(|cell| !cell.is_empty()).zip(over) {
            counted.push(Run::Plain(format!(", {over}")));
        }
        row
    }

    /// What was made: platelets drawn, fold, concentration, platelets in product.
    pub(super) fn made(&self) -> Table {
        let p = &self.given.answer.product;
        let (prediction, measured) = (p.prediction.as_ref(), p.measured.as_ref());
        let c = &self.c;
        let mut rows = Vec::new();
        if let Some(drawn) = prediction.and_then(|p| p.drawn.as_ref()) {
            let done = self.given.answer.draw.now.as_ref().is_some_and(|t| t.standing == Standing::Done);
            let by = if done { CardWord::FromBloodCount } else { CardWord::FromPlannedDraw };
            let amount =
                vec![Run::amount(unit::cells(drawn.value, c)), Run::Plain(format!(" {}", self.say(by)))];
            rows.push(row(vec![vec![self.word(CardWord::PlateletsDrawn)], amount, Vec::new()]));
        }
        rows.extend(self.result(
            self.say(CardWord::Concentration),
            measured.map(|m| unit::count(m.concentration.value, c)),
            prediction.and_then(|p| p.concentration.as_ref()),
            |q| unit::count_predicted(q, c),
        ));
        rows.extend(self.result(
            self.say(CardWord::PlateletsInProduct),
            measured.and_then(|m| m.in_product.as_ref()).map(|n| unit::cells(n.value, c)),
            prediction.and_then(|p| p.in_product.as_ref()),
            |q| unit::cells(q, c),
        ));
        let fold = match prediction {
            Some(p) => self.say(CardLine::FoldCeiling(unit::fold(p.ceiling.value, c).number)),
            None => self.say(CardWord::Fold),
        };
        let fold = self.result(
            fold,
            measured.and_then(|m| m.fold.as_ref()).map(|f| unit::fold(f.value, c)),
            prediction.and_then(|p| p.fold.as_ref()),
            |q| unit::fold(q, c),
        );
        let recovery = self.result(
            self.say(CardWord::Recovery),
            measured.and_then(|m| m.recovery.as_ref()).map(|r| unit::recovery(r.value, c)),
            prediction.and_then(|p| p.recovery.as_ref()),
            |q| unit::recovery(q, c),
        );
        rows.extend([fold, recovery].into_iter().flatten().map(|row| self.over_blood(row)));
        rows.extend(self.if_count());
        if measured.is_some() || p.collected {
            let other = &p.other;
            let mut white = match &other.white {
                Some(white) => self.counted(unit::count(white.value, c)),
                None => vec![self.word(CardWord::NotCounted)],
            };
            if let Some(fold) = &other.white_fold {
                let of = CardLine::OfTheBloods(unit::fold(fold.value, c).number);
                white.push(Run::Plain(format!("; {}", self.say(of))));
            }
            rows.push(row(vec![vec![self.word(CardWord::WhiteCells)], white, Vec::new()]));
            let red = match (&other.haematocrit, &other.red) {
                (Some(h), _) => Some((CardWord::RedCells, unit::haematocrit(h.value, c))),
                (None, Some(red)) => Some((CardWord::RedCount, unit::red_count(red.value, c))),
                (None, None) => None,
            };
            if let Some((name, cells)) = red {
                rows.push(row(vec![vec![self.word(name)], self.counted(cells), Vec::new()]));
            }
        }
        let heading = if p.collected || measured.is_some() { CardWord::Made } else { CardWord::MadePlanned };
        Table { heading: self.say(heading), columns: Vec::new(), rows }
    }

    /// Without a count of the blood: platelets in product at plausible counts.
    fn if_count(&self) -> Option<Row> {
        let table = self.given.answer.product.table.as_ref()?;
        let lines: Vec<String> = table
            .value
            .iter()
            .filter_map(|r| {
                let cells =
                    self.predicted(&r.prediction.in_product.as_ref()?.value, |q| unit::cells(q, &self.c));
                let count = unit::count(r.count, &self.c).to_string();
                Some(self.say(CardLine::IfCount { count, cells: super::plain(&cells) }))
            })
            .collect();
        let name = vec![self.word(CardWord::IfCount)];
        (!lines.is_empty()).then(|| row(vec![name, Vec::new(), listed(lines)]))
    }

    /// Dose by part of the site and in all. By the count it is counted once the volume was given.
    pub(super) fn doses(&self) -> Table {
        let p = &self.given.answer.product;
        let dose = |counted: Option<(Written, String)>, predicted: Option<Text>| match (counted, predicted) {
            (Some((written, how)), _) => self.by_count(written, how),
            (None, Some(text)) => text,
            (None, None) => vec![self.word(CardWord::NoDose)],
        };
        let given = p.shares.iter().any(|s| s.given);
        let how = |shared| match shared {
            Shared::Given => self.say(Common::Counted),
            shared => self.say(by_the_count(shared)),
        };
        let cells = |q| unit::cells(q, &self.c);
        let mut rows: Vec<Row> =
            p.shares
                .iter()
                .map(|s| {
                    let counted = s.counted.as_ref().map(|w| {
                        (cells(w.value), how(if s.given { Shared::Given } else { Shared::Planned }))
                    });
                    let predicted = s.predicted.as_ref().map(|w| self.predicted(&w.value, cells));
                    row(vec![self.part(s), self.share_volume(s), dose(counted, predicted)])
                })
                .collect();
        if let Some(ledger) = p.ledger.as_ref().filter(|_| p.shares.len() > 1) {
            let counted =
                p.dose_counted.as_ref().zip(p.shared).map(|(w, shared)| (cells(w.value), how(shared)));
            let predicted = p.dose_predicted.as_ref().map(|w| self.predicted(&w.value, cells));
            let name = vec![Run::Heavy(self.say(CardWord::InAll))];
            let all = vec![name, self.amount(Some(ledger.sites.value)), dose(counted, predicted)];
            rows.push(Row { cells: all, sum: true });
        }
        let heading = if given { CardWord::Doses } else { CardWord::DosesPlanned };
        Table { heading: self.say(heading), columns: Vec::new(), rows }
    }

    fn part(&self, share: &ShareLine) -> Text {
        if share.name.is_empty() { vec![self.word(CardWord::WholeSite)] } else { text(share.name.clone()) }
    }

    /// Volume, and when it was given.
    fn share_volume(&self, share: &ShareLine) -> Text {
        let row = share.part.unwrap_or(0);
        let part = self.given.case.order.parts.get(usize::from(row));
        let told = part.and_then(|p| p.told);
        let said = match (part.map(|p| p.given_at).unwrap_or_default(), told) {
            // Handed over, and nobody said how much of it.
            (TypedMoment::At(_), Some(at)) if part.is_some_and(|p| p.was_given && p.given.is_none()) => {
                Some(CardLine::GivenAmountUntold(self.moment(at)))
            }
            (TypedMoment::At(_), Some(at)) => Some(CardLine::GivenAt(self.moment(at))),
            // A time to come, or of a hand-over that was taken back.
            (TypedMoment::At(at), None) => Some(CardLine::GivenUntold(self.moment(at))),
            (TypedMoment::Unreadable, _) => {
                self.typed(Field::PartGivenAt(row)).map(|typed| CardLine::GivenAt(typed.to_owned()))
            }
            (TypedMoment::NotTyped, _) => None,
        };
        let mut text = self.planned_or_given(share);
        text.extend(said.map(|said| Run::Plain(format!(", {}", self.say(said)))));
        text
    }

    /// Volume with planned or given; both where they differ.
    fn planned_or_given(&self, share: &ShareLine) -> Text {
        let with =
            |v: Volume, word| [Run::amount(self.volume(v)), Run::Plain(format!(" {}", self.say(word)))];
        if !share.given {
            // The heading says planned unless some part was given.
            let parts = &self.given.case.order.parts;
            let any = self.given.answer.product.shares.iter().any(|s| s.given);
            return match any || parts.iter().any(|p| p.told.is_some()) {
                true => with(share.volume, CardWord::PlannedVolume).into(),
                false => self.amount(Some(share.volume)),
            };
        }
        let mut text: Text = with(share.volume, CardWord::GivenVolume).into();
        let part = share.part.and_then(|i| self.given.case.order.parts.get(usize::from(i)));
        if let Some(planned) = part.and_then(|p| p.planned).filter(|p| *p != share.volume) {
            text.push(Run::Plain(", ".to_owned()));
            text.extend(with(planned, CardWord::PlannedVolume));
        }
        text
    }
}
