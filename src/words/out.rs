//! Words of what leaves the page: text for the chart, tables, files, backup and restore.

use super::Phrase;
use super::unit::Day;
use crate::bench::chart::ChartPart;
use crate::draft::CheckSign;
use crate::log::Checked;
use crate::quantity::time::Date;
use crate::record::archive::backup::{Item, Outcome, What};
use crate::scan::Gtin;
use std::borrow::Cow;

crate::phrases! {
    /// Headings, buttons, names of files.
    OutWord {
        Copy => "Copy for the chart",
        Text => "Text for the chart",
        Files => "Records as files",
        Table => "Records as a table (CSV)",
        Quality => "Quality data without identifiers (CSV)",
        Day => "the day",
        Month => "the month",
        NoDate => "none",
        Fhir => "FHIR file",
        Backup => "Back up everything",
        Restore => "Restore from a backup",
        OpenFile => "Open the file and restore",
        Restored => "What the backup held",
        TableFile => "strawline-records.csv",
        QualityFile => "strawline-quality-data.csv",
        BackupFile => "strawline-backup.json",
        FhirFile => "strawline-record-fhir.json",
        Predicted => "Predicted, not measured; not to be read as observations:",
        NotConfirmed => "Read by an analyser, not confirmed:",
        SampleFrom => "Sample:",
        Corrected => "Corrected for the kind of sample; as read:",
    }
}

crate::phrases! {
    /// Sentences.
    OutSays {
        ByHand => "Not copied: the browser does not let the page, and what was copied before is still there to paste. Select the text below and copy it.",
        NotSigned => "Not signed.",
        FilesWhat => "Files are saved on this device and go nowhere by themselves. All but quality data name patients, and only a backup can be encrypted: keep them as the clinic keeps its charts.",
        BackupWhat => "Records, open and discarded cases, Bench, log, and decisions about counts, in one file. It is not encrypted: here is no passphrase.",
        BackupWhatClosed => "Records, open and discarded cases, Bench, log, and decisions about counts, in one file, encrypted under the clinic’s passphrase: that, or the recovery key, opens it on any device. A passphrase changed later does not change files made before.",
        BackupClosed => "This backup is encrypted. Type the passphrase that held when it was made, or the recovery key.",
        InClearHere => "This device has no passphrase: what is restored will stand here in clear.",
        NotItsPassphrase => "That does not open the file; nothing was changed. Look at capitals and spaces, and type it again.",
        BackUp => "Save one below, under Records as files.",
        Clears => "A browser may delete what a page has stored: at a person’s tap, when it needs room, and some after days without a visit. The backup file is the archive; keep it off this device.",
        RestoreWhat => "Adds what is not here; never replaces or removes what is.",
        NotABackup => "This is no backup of Strawline, or it is damaged; nothing was changed.",
    }
}

/// When everything was last saved as a backup, the day written, and how many records were signed since.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastBackup(pub Option<String>, pub usize);

impl Phrase for LastBackup {
    fn english(&self) -> Cow<'static, str> {
        let since = match self.1 {
            0 => "nothing was signed since".to_owned(),
            1 => "one record was signed since".to_owned(),
            n => format!("{n} records were signed since"),
        };
        match (&self.0, self.1) {
            (Some(day), _) => Cow::Owned(format!("Last backup {day}; {since}.")),
            (None, 0) => Cow::Borrowed("No backup was made on this device, and nothing is signed yet."),
            (None, 1) => {
                Cow::Borrowed("No backup was made on this device of all it now holds: one signed record.")
            }
            (None, n) => Cow::Owned(format!(
                "No backup was made on this device of all it now holds: {n} signed records."
            )),
        }
    }
}

/// Whose text was copied, without naming the patient.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Copied(pub CheckSign);

impl Phrase for Copied {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!(
            "Copied: the text with check sign {} at its head. Paste it into the chart, then check that it is the right patient’s.",
            self.0
        ))
    }
}

/// Names of the parts of a text for the chart.
impl Phrase for ChartPart {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            ChartPart::Patient => "Patient",
            ChartPart::Order => "Order",
            ChartPart::People => "Day and people",
            ChartPart::Done => "Planned and done",
            ChartPart::Made => "What was made",
            ChartPart::Doses => "Dose by part of the site",
            ChartPart::Findings => "Findings",
            ChartPart::Troubles => "What went wrong",
            ChartPart::Signed => "Handed over and signed",
            ChartPart::Notes => "Notes",
            ChartPart::Foot => "Program and wording",
        })
    }
}

/// One line of the report on a restore.
impl Phrase for Item {
    fn english(&self) -> Cow<'static, str> {
        let what = match &self.what {
            What::Record(sign) => format!("Record {sign}"),
            What::OpenCase(sign) => format!("Open case {sign}"),
            What::DiscardedCase(sign) => format!("Discarded case {sign}"),
            What::Bench => "Bench".to_owned(),
            What::Decisions => "Decisions about counts".to_owned(),
            What::Log => "Log of equipment and lots".to_owned(),
            What::SetAside(key) | What::Unknown(key) => key.clone(),
        };
        let became = match &self.outcome {
            Outcome::Added => "added".to_owned(),
            Outcome::Amended(1) => "1 amendment added".to_owned(),
            Outcome::Amended(n) => format!("{n} amendments added"),
            Outcome::Same => "already here".to_owned(),
            Outcome::Older => "older than what is here; left as it is here".to_owned(),
            Outcome::Differs => "differs from what is here; what is here was kept".to_owned(),
            Outcome::PutAside => {
                "differs from what is here, which was kept; the file’s text is kept aside, under Records, to be saved"
                    .to_owned()
            }
            Outcome::Discarded => "discarded here, and left among the discarded cases".to_owned(),
            Outcome::Merged(1) => "1 decision added".to_owned(),
            Outcome::Merged(n) => format!("{n} decisions added"),
            Outcome::Entered(1) => "1 entry added".to_owned(),
            Outcome::Entered(n) => format!("{n} entries added"),
            Outcome::BenchDiffers => {
                "differs from the one here, which was kept; under Bench its parts stand beside those here, to be taken or left".to_owned()
            }
            Outcome::Unreadable(reason) => {
                return Cow::Owned(format!("{what}: not restored. {}", reason.english()));
            }
            Outcome::NotKept => {
                "not restored: it could not be stored. Make room, then restore again".to_owned()
            }
            Outcome::NotKnown => "not restored: this version does not know what it is".to_owned(),
        };
        Cow::Owned(format!("{what}: {became}."))
    }
}

/// Names of what stands in a FHIR file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum FhirWord<'a> {
    Blood,
    Product,
    ProductPlatelets,
    ProductWhite,
    ProductRed,
    ProductHaematocrit,
    ProductNeutrophils,
    InProduct,
    Drawn,
    Fold,
    Recovery,
    VolumeGiven,
    GivenAt(&'a str),
    DoseOfPart,
    DoseInAll,
    Rotor,
    MaximumRadius,
    Container,
    Centrifuge,
    CheckedOn { what: Checked, on: Date, failed: bool },
    DiscardedContainer,
    Added,
    ToBeAdded,
    NotSaidWhat,
    NoAmount,
    Lot,
    Preparation,
    Rebuilt,
    ProductNumber(Gtin),
    Program { app: &'a str, model: u32 },
}

impl Phrase for FhirWord<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            FhirWord::Blood => "Whole blood with anticoagulant",
            FhirWord::Product => "Platelet-rich plasma, own blood",
            FhirWord::ProductPlatelets => "Platelets per volume of platelet-rich plasma, counted",
            FhirWord::ProductWhite => "White cells per volume of platelet-rich plasma, counted",
            FhirWord::ProductRed => "Red cells per volume of platelet-rich plasma, counted",
            FhirWord::ProductHaematocrit => "Haematocrit of platelet-rich plasma, counted",
            FhirWord::ProductNeutrophils => "Neutrophils per volume of platelet-rich plasma, counted",
            FhirWord::InProduct => "Platelets in product, by the product’s count",
            FhirWord::Drawn => "Platelets drawn, by the blood’s count",
            FhirWord::Fold => "Concentration of the product over the blood’s own, counted",
            FhirWord::Recovery => "Platelets in product over platelets drawn, counted",
            FhirWord::VolumeGiven => "Volume given to a part of the site",
            FhirWord::GivenAt(typed) => return Cow::Owned(format!("Given at, as typed: {typed}")),
            FhirWord::DoseOfPart => "Platelets given to a part of the site, by the product’s count",
            FhirWord::DoseInAll => "Platelets given in all, by the product’s count",
            FhirWord::Rotor => "Centrifuge rotor",
            FhirWord::MaximumRadius => "Maximum radius",
            FhirWord::Container => "Container for blood, filled to",
            FhirWord::Centrifuge => "Centrifuge",
            FhirWord::CheckedOn { what, on, failed } => {
                let what = if *what == Checked::Speed { "speed" } else { "timer" };
                let how = if *failed { "not in order" } else { "in order" };
                return Cow::Owned(format!("Its {what} was last checked on {}: {how}", Day(*on).english()));
            }
            FhirWord::DiscardedContainer => "Container for blood, not used or discarded",
            FhirWord::Added => "Added to the product",
            FhirWord::ToBeAdded => "To be added, as entered",
            FhirWord::NotSaidWhat => "not said what",
            FhirWord::NoAmount => "amount not entered",
            FhirWord::Lot => "Lot",
            FhirWord::Preparation => "Preparation of platelet-rich plasma from own blood",
            FhirWord::Rebuilt => "Rebuilt from the code on a card",
            FhirWord::ProductNumber(number) => return Cow::Owned(format!("product number {number}")),
            FhirWord::Program { app, model } => return Cow::Owned(format!("Strawline {app}, model {model}")),
        })
    }
}
