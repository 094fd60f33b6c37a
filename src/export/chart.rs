//! Text for the patient's chart: what the card says before it is made to fit its page, in plain lines, in the
//! clinic's order. What was predicted and what was counted is marked as on the card.

use super::card::{Card, Given, Row, Run, Table, as_it_stands, handed_over, plain};
use super::signed::{as_signed, history, whole_of};
use crate::bench::Clinic;
use crate::bench::chart::ChartPart;
use crate::draft::{Draft, Field};
use crate::quantity::time::Offset;
use crate::record::Record;
use crate::record::standing::RecordStanding;
use crate::words::Language;
use crate::words::field::Label;
use crate::words::out::OutSays;

/// The text of a case: as it was signed while nothing was changed since, else as it stands.
pub fn chart(given: Given<'_>) -> String {
    if let Some(record) = as_signed(given) {
        return chart_of(record, given.standing, given.clinic, given.language, given.now.offset);
    }
    let signed = given.record.map(|record| signed(record, given.language, given.now.offset));
    text(
        &as_it_stands(given),
        given.draft,
        signed.unwrap_or_default(),
        given.clinic,
        given.language,
        given.now.offset,
    )
}

/// The text of a signed record, from what was shown, in the local time of the case, and how it stands to what was signed;
/// `offset` is for one that kept none.
pub fn chart_of(
    record: &Record,
    standing: RecordStanding,
    clinic: &Clinic,
    language: Language,
    offset: Offset,
) -> String {
    let draft = record.latest();
    let offset = draft.offset.unwrap_or(offset);
    let card = whole_of(record, standing, clinic, language, offset);
    text(&card, draft, signed(record, language, offset), clinic, language, offset)
}

fn signed(record: &Record, language: Language, offset: Offset) -> Vec<String> {
    history(record, language, offset).into_iter().map(|entry| entry.said).collect()
}

/// Cells of a row behind its name; under a column's name where there is one.
fn line(row: &Row, columns: &[String]) -> String {
    // A line that waits for a hand is for paper.
    let by_hand = |run: &Run| matches!(run, Run::Rule | Run::LongRule);
    let mut cells =
        row.cells.iter().map(|cell| if cell.iter().all(by_hand) { String::new() } else { plain(cell) });
    let name = cells.next().unwrap_or_default();
    let columns = columns.iter().skip(1).map(|c| format!("{c} ")).chain(std::iter::repeat(String::new()));
    let cells = cells.zip(columns).filter(|(cell, _)| !cell.is_empty());
    let cells: Vec<String> = cells.map(|(cell, column)| format!("{column}{cell}")).collect();
    if cells.is_empty() { name } else { format!("{name}: {}", cells.join("; ")) }
}

fn table(table: &Table) -> Vec<String> {
    if table.rows.is_empty() {
        return Vec::new();
    }
    let rows = table.rows.iter().map(|row| line(row, &table.columns));
    std::iter::once(table.heading.clone()).chain(rows).collect()
}

fn text(
    card: &Card,
    draft: &Draft,
    signed: Vec<String>,
    clinic: &Clinic,
    language: Language,
    offset: Offset,
) -> String {
    let say = |word: OutSays| language.say(word).into_owned();
    let block = |n: usize| -> Vec<String> {
        let Some(block) = card.who.get(n) else { return Vec::new() };
        let all = std::iter::once(&block.head).chain(&block.lines).chain(&block.small);
        all.map(|text| plain(text)).filter(|line| !line.is_empty()).collect()
    };
    let part = |part: &ChartPart| -> Vec<String> {
        match part {
            ChartPart::Patient => block(0),
            ChartPart::Order => block(1),
            ChartPart::People => card.clinic.iter().cloned().chain(block(2)).collect(),
            ChartPart::Done => table(&card.done),
            ChartPart::Made => table(&card.made),
            ChartPart::Doses => table(&card.doses),
            ChartPart::Findings => {
                let said = card.findings.iter().map(|f| {
                    let more = f.action.iter().chain(&f.said).map(|s| format!(" {s}")).collect::<String>();
                    format!("{}: {}{more}", f.lead, f.text)
                });
                said.collect()
            }
            ChartPart::Troubles => card.troubles.iter().chain(&card.corrected).cloned().collect(),
            ChartPart::Signed => {
                // Not the lines of the card, which are for a hand on paper.
                let handed = handed_over(draft, language, offset);
                let none = signed.is_empty().then(|| say(OutSays::NotSigned));
                handed.into_iter().chain(signed.iter().cloned()).chain(none).collect()
            }
            ChartPart::Notes => match draft.text(Field::Notes).trim() {
                "" => Vec::new(),
                notes => vec![format!("{}: {notes}", language.say(Label(Field::Notes)))],
            },
            ChartPart::Foot => card.notice.clone(),
        }
    };
    let title = std::iter::once(&card.title).chain(&card.sign).cloned().collect::<Vec<_>>().join(", ");
    let first: Vec<String> =
        card.tag.iter().chain(std::iter::once(&title)).chain(&card.amended).cloned().collect();
    let parts = std::iter::once(first).chain(clinic.chart.parts().iter().map(part));
    let parts: Vec<String> = parts.filter(|lines| !lines.is_empty()).map(|lines| lines.join("\n")).collect();
    // Chart programs split lines at spaces they know.
    format!("{}\n", parts.join("\n\n").replace(['\u{a0}', '\u{202f}'], " "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::Bench;
    use crate::draft::Screening;
    use crate::export::card::card;
    use crate::export::signed::card_then;
    use crate::export::trial;
    use crate::finding::Level;

    fn chart(record: &Record, clinic: &Clinic) -> String {
        chart_of(record, RecordStanding::Sound, clinic, Language::English, Offset::UTC)
    }

    #[test]
    fn predicted_and_counted_are_marked_and_the_three_amounts_named() {
        let clinic = Bench::default().clinic;
        let predicted = chart(&trial::planned(), &clinic);
        for words in ["Platelets drawn: ", "Platelets in product: ", "Dose by part of the site", "predicted"]
        {
            assert!(predicted.contains(words), "{words}: {predicted}");
        }
        assert!(!predicted.contains(" counted;") && predicted.starts_with("Demo, not a patient\n"));
        let counted = chart(&trial::counted(), &clinic);
        // 940·4/1000 of 210·26/1000
        assert!(counted.contains("Platelets drawn: 5.5 ×10⁹ from the blood’s count"), "{counted}");
        assert!(
            counted
                .contains("Platelets in product: 3.8 ×10⁹ counted; 3.8 (3.1 to 4.6), predicted, not counted"),
            "{counted}"
        );
        assert!(counted.contains("Signed by MO, 25 Nov 2026, 11:40"), "{counted}");
    }

    #[test]
    fn every_time_is_the_cases_own_wherever_it_is_copied() {
        let (record, clinic) = (trial::amended(), Bench::default().clinic);
        assert_eq!(record.latest().offset, Offset::new(60));
        let here =
            chart_of(&record, RecordStanding::Sound, &clinic, Language::English, Offset::new(60).unwrap());
        // Handed over 10:35 and signed 10:40, an hour east of Greenwich.
        for said in ["11:35", "25 Nov 2026, 11:40"] {
            assert!(here.contains(said), "{said}: {here}");
        }
        for minutes in [-480, 0, 600] {
            let offset = Offset::new(minutes).unwrap();
            assert_eq!(
                chart_of(&record, RecordStanding::Sound, &clinic, Language::English, offset),
                here,
                "{minutes}"
            );
        }
    }

    #[test]
    fn a_dose_on_a_planned_volume_says_so_in_its_line() {
        let mut draft = trial::counted_draft();
        draft.write(Field::PartGiven(0), "");
        draft.write(Field::PartGiven(1), "");
        let text = chart(&trial::signed(&draft), &Bench::default().clinic);
        // 940·3/1000
        assert!(text.contains("in all: 3 mL; 2.8 ×10⁹ planned volume, by the count\n"), "{text}");
        assert!(!text.contains("×10⁹ counted\n"), "{text}");
        let given = chart(&trial::counted(), &Bench::default().clinic);
        assert!(given.contains("in all: 3 mL; 2.8 ×10⁹ counted\n"), "{given}");
    }

    #[test]
    fn no_line_of_the_text_waits_for_a_hand() {
        let mut draft = trial::counted_draft();
        let unsigned = trial::with(&draft, None, super::chart);
        assert!(unsigned.contains("handed to Dr A. Reyes-Lindqvist, 10:35\nNot signed.\n"), "{unsigned}");
        let signed = chart(&trial::signed(&draft), &Bench::default().clinic);
        // Signed, in the local time of the case.
        assert!(signed.contains("handed to Dr A. Reyes-Lindqvist, 11:35\nSigned by MO"), "{signed}");
        draft.write(Field::HandedTo, "");
        let nobody = trial::with(&draft, None, super::chart);
        assert!(nobody.contains("handed over 10:35\nNot signed.\n"), "{nobody}");
        for text in [unsigned, signed, nobody] {
            assert!(!text.contains("signature"), "{text}");
        }
    }

    #[test]
    fn the_clinic_orders_the_parts_and_none_is_lost() {
        let mut clinic = Bench::default().clinic;
        let record = trial::counted();
        let shipped = chart(&record, &clinic);
        for _ in 0..12 {
            clinic.chart.earlier(ChartPart::Doses);
        }
        let moved = chart(&record, &clinic);
        assert!(moved.find("Dose by part") < moved.find("HL-0417"), "{moved}");
        let lines = |text: &str| {
            let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
            lines.sort_unstable();
            lines
        };
        assert_eq!(lines(&shipped), lines(&moved));
    }

    /// A planned case with more on it than a page holds.
    fn crowded() -> Draft {
        let mut draft = trial::drawn();
        for what in Screening::ALL {
            draft.choices.screening.insert(what, true);
        }
        for (field, text) in
            [(Field::OrderPlatelets, "3"), (Field::OrderConcentration, "900"), (Field::OrderFold, "4.5")]
        {
            draft.write(field, text);
        }
        draft.write(
            Field::OrderNote,
            "slow injection, patient seated, local anaesthetic beforehand ".repeat(4),
        );
        draft.write(Field::FillActual(1), "11");
        draft
    }

    #[test]
    fn what_a_page_has_no_room_for_is_in_the_text() {
        let (draft, clinic) = (crowded(), Bench::default().clinic);
        let record = trial::signed(&draft);
        let paper = card_then(
            &record,
            0,
            RecordStanding::Sound,
            &clinic,
            Language::English,
            Offset::UTC,
            &mut |_| None,
        );
        assert!(paper.made.rows.iter().all(|row| row.cells.len() < 3), "the page has room for predictions");
        let (signed, unsigned) = (chart(&record, &clinic), trial::with(&draft, None, super::chart));
        let findings = record.latest_entry().findings.clone().unwrap();
        assert!(paper.findings.len() < findings.len(), "the page has room for notes");
        for text in [&signed, &unsigned] {
            for row in ["Concentration: ", "Platelets in product: ", "Fold, ceiling ", "Recovery: "] {
                let line = text.lines().find(|line| line.starts_with(row));
                assert!(line.is_some_and(|line| line.ends_with("predicted, not counted")), "{row}: {text}");
            }
            for finding in &findings {
                assert!(text.contains(&finding.cause.replace('\u{a0}', " ")), "{}", finding.cause);
            }
            assert!(!text.contains("may be missing"), "{text}");
        }
    }

    #[test]
    fn a_record_that_kept_what_fitted_its_page_says_so() {
        let clinic = Bench::default().clinic;
        let mut record = trial::signed(&crowded());
        record.keep_card(trial::with(&crowded(), None, card));
        let text = chart(&record, &clinic);
        assert!(
            text.contains("notes, predictions or what to do about a caution may be missing here."),
            "{text}"
        );
        assert!(!text.contains("Recovery: "));
    }

    #[test]
    fn what_is_open_is_said_and_an_amendment_stands_first() {
        let clinic = Bench::default().clinic;
        let record = trial::amended();
        let text = chart(&record, &clinic);
        let card = record.latest_entry().card.clone().unwrap();
        for finding in card.findings.iter().filter(|f| f.level > Level::Note) {
            assert!(text.contains(&finding.text.replace('\u{a0}', " ")), "{}", finding.text);
        }
        let (amended, patient) = (text.find("Amended by JT"), text.find("HL-0417"));
        assert!(amended.is_some() && amended < patient, "{text}");
        assert!(text.contains("now “3.8”, “4” before"), "{text}");
    }
}
