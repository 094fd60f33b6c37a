//! Words of the Bench.

use super::Phrase;
use super::source::SourceLine;
use crate::bench::Bench;
use crate::bench::review::{Difference, Part, Stands};
use crate::product::kind::{Basis, Before, Expectation};
use std::borrow::Cow;

crate::phrases! {
    /// Labels, headings, buttons and hints.
    BenchWord {
        What => "What this clinic owns and has decided. A change holds for new cases; an open case keeps what it was begun with.",
        Clinic => "Clinic",
        Units => "Units and numbers",
        Containers => "Containers",
        Rotors => "Rotors",
        Protocols => "Protocols",
        Limits => "Limits on a draw",
        Clock => "Spin-by and use-by",
        Analyser => "Analyser",
        File => "The Bench to and from another device",
        // Clinic
        ClinicName => "Name",
        SecondLine => "Second line",
        SecondLineHint => "on the card: address, telephone",
        Autologous => "Autologous wording",
        AutologousHint => "on every label",
        LocalLine => "Further label line",
        LocalLineHint => "if local rules ask for one",
        CodedReference => "Patient reference in the card’s code",
        CodedReferenceHint => "any phone can read that code while records are not closed",
        Labels => "Labels",
        LabelSize => "Labels to print",
        LabelSizeHint => "beside the strip of the card",
        LabelPaper => "Label paper",
        LabelLeft => "Left edge of the sheet",
        LabelTop => "Top edge of the sheet",
        LabelEdgeHint => "to the first label",
        LabelAcross => "Between labels, across",
        LabelDown => "Between labels, down",
        ChartOrder => "Order of the text for the chart",
        ChartOrderWhat => "For “Copy for the chart”. What marks a demo or an amendment always stands first.",
        QualityDates => "Dates in quality data",
        // Units
        Decimal => "Decimal mark",
        Point => "point, 0.5",
        Comma => "comma, 0,5",
        Counts => "Counts",
        HaematocritUnit => "Haematocrit",
        HaemoglobinUnit => "Haemoglobin",
        WeightUnit => "Weight",
        HeightUnit => "Height",
        FeetInches => "ft and in",
        UnitsHint => "for new cases; stored values stay the same",
        SwitchOpenCase => "Use them for the open case too",
        OpenCaseDiffers => "The open case is typed in other units. Its entries are rewritten; nothing that is meant changes.",
        // Containers
        Name => "Name",
        Capacity => "Capacity",
        CapacityHint => "the most it can hold",
        Graduation => "Step of its scale",
        FillLow => "Lowest fill used",
        FillHigh => "Highest fill used",
        AgentGraduation => "Step for the anticoagulant",
        AgentGraduationHint => "of the syringe that measures it",
        PrefillVolume => "Anticoagulant already inside",
        PrefillVolumeHint => "empty: none",
        PrefillAgent => "Which anticoagulant is inside",
        ProductLow => "Least product it gives",
        ProductHigh => "Most product it gives",
        RatedForce => "Highest force allowed",
        RatedForceHint => "by its maker",
        TransferLoss => "Lost in each transfer",
        NeedleLoss => "Lost in each needle change",
        InnerDiameter => "Inner diameter",
        Bottom => "Closed end",
        Separates => "What parts the layers",
        SeparatesHint => "with a gel, a float or a chamber there is no picture of the spin",
        SeparatesUnsaid => "Not said",
        ProductNumber => "Product number",
        ProductNumberHint => "the digits behind (01) on its label; a scanned code is held against them",
        // Rotors
        Hang => "How the tubes hang",
        MinimumRadius => "Minimum radius",
        MinimumRadiusHint => "axis to the surface of the fluid, in running position",
        MaximumRadius => "Maximum radius",
        ProgrammeIs => "The machine’s programme",
        ProgrammeEdited => "entered here",
        ProgrammeFixed => "fixed in the machine: shown, not edited",
        NoStages => "No stage is on record: the machine’s own course is not followed.",
        Places => "Places that hold one container each",
        PlacesHint => "all around the axis",
        Tolerance => "Opposite places may differ by",
        ToleranceHint => "as the centrifuge’s instructions say",
        MaximumRadiusHint => "axis to the bottom of the tube, in running position",
        RatedSpeed => "Highest speed of the rotor",
        RatedBucket => "Highest force of a bucket",
        SpeedStep => "Step in which speed is set",
        // Protocols
        Kind => "Product",
        White => "White cells",
        MeanFold => "Expected fold, mean",
        FoldDeviation => "Its standard deviation",
        MeanRecovery => "Expected recovery, mean",
        RecoveryDeviation => "Its standard deviation",
        ProductHaematocrit => "Haematocrit of the product",
        EnterCounts => "Nothing is expected yet: enter the mean and spread of your own counts. Until then no number is predicted.",
        AllTogether => "These numbers hold once all of them are entered.",
        Agent => "Anticoagulant",
        DosingHint => "this or the next, not both; both empty: read from the label each time",
        PerBlood => "Amount per 100\u{a0}mL of blood",
        PerContainer => "Amount per filled container",
        BandLow => "Own band, lowest",
        BandHigh => "Own band, highest",
        BandHint => "anticoagulant per 100\u{a0}mL of blood; both empty: the shipped band, where there is one",
        ProductUsual => "Product usually kept",
        ProductUsualHint => "from all containers together",
        CountSample => "Count sample",
        LeftBehind => "Plasma left above the cells",
        AgentProduct => "Product number of the anticoagulant",
        Packing => "Red cells in the packed column",
        PackingHint => "share of its volume after the first spin",
        // Programme
        Programme => "Spin programme",
        StageKind => "Stage",
        Hold => "Hold a speed",
        Ramp => "Ramp to a speed",
        Stop => "Brake to a stop",
        Handling => "Handling",
        SpeedGiven => "Speed given as",
        InRpm => "rpm",
        AtMaximum => "×g at the maximum radius",
        AtMean => "×g at the mean radius",
        AtMinimum => "×g at the minimum radius",
        Speed => "Speed",
        Force => "Force",
        Time => "Time",
        TimeOpenHint => "empty: until a person says it is done",
        HandlingWhat => "What is done",
        AddStage => "Add a stage",
        Earlier => "Earlier",
        LaterWord => "Later",
        RemoveStage => "Remove this stage",
        // Limits
        Lead => "Lead who answers for looser limits",
        LeadHint => "needed before any limit is made looser than shipped",
        PerKgCaution => "Caution above, per kilogram",
        PerKgStop => "Stop above, per kilogram",
        ShareCaution => "Caution above, share of blood volume",
        ShareStop => "Stop above, share of blood volume",
        VolumeCaution => "Caution above, in one day",
        EightPerKgCaution => "Caution above, in 8 weeks",
        EightPerKgStop => "Stop above, in 8 weeks",
        EightVolumeStop => "Stop above, in 8 weeks in all",
        HbCaution => "Caution below, haemoglobin",
        HbFemale => "Caution below, woman, large draw",
        HbMale => "Caution below, man, large draw",
        HbVolume => "A large draw is more than",
        HbStop => "Stop below, haemoglobin",
        HbStopPerKg => "that Stop holds above",
        LightWeight => "Light is under",
        SmallVolume => "Small blood volume is under",
        Vulnerable => "Caution above, light, small or first draw",
        NoHeight => "No height needed up to",
        Minors => "Patients under 18",
        MinorsNo => "not prepared for here",
        MinorsYes => "prepared for here",
        Looser => "looser than shipped",
        LimitsSource => "Shipped values rest on published limits; which of them became a Caution and which a Stop is judgement.",
        NeedsLead => "This is looser than shipped. Enter the lead’s name first; the value before still holds.",
        LeadStillNeeded => "A limit is looser than shipped: the lead’s name must stay.",
        // Clock
        Total => "Use by, after the needle went in",
        SpinBy => "Spin by, after the needle went in",
        Window => "Use by, after the last spin ended",
        WindowHint => "empty: only the first holds; the earlier of the two counts",
        // Analyser
        LinearLow => "Lowest reading in proportion",
        LinearHigh => "Highest reading in proportion",
        LinearHint => "platelets, from the analyser’s instructions or the clinic’s own check; empty: not known",
        Pipetted => "Product taken for a dilution",
        // Keeping
        Keeping => "How long records are kept",
        KeepYears => "Years after the last signature",
        KeepYearsHint => "whole years, as the clinic and local law decide; empty: nothing is proposed. What is past it is proposed under Records and never removed by itself",
        // Doing
        AddOne => "Add",
        Duplicate => "Duplicate",
        Delete => "Delete",
        NewName => "New entry, to be named",
        CopyOf => "copy",
        // Entries
        NumberNeeded => "A number is needed here; the value before still holds.",
        StillHolds => "The value before still holds.",
        CannotBe => "This value cannot be kept; the one before still holds.",
        NotSet => "not set",
        // This device
        Theme => "Light or dark",
        Language => "Language",
        CardPaper => "Paper of the card",
        LockAfter => "The page is locked",
        // File
        FileWhat => "Everything on this page except the settings of this device: to keep aside, or to bring to another device.",
        Export => "Export the Bench",
        Import => "Look at a Bench file",
        LinkWhat => "Or as a link: what stands behind its # is sent to no server and carries no patient, not the clinic’s two lines and not the lead’s name. Names of entries are in it as typed.",
        CopyLink => "Copy a link to this Bench",
        LinkCopied => "Copied. Open it on the other device, which looks before it takes anything.",
        Link => "Link to this Bench",
        NoLinkFromDisk => "A page opened from a disk has no address that another device could open: use the file.",
        CameByLink => "A Bench came by a link. Nothing of it is taken yet.",
        CameInBackup => "A backup held another Bench. Nothing of it is taken yet.",
        LookAtIt => "Look at it",
        LinkHasNot => "A link carries neither the clinic’s lines and wordings, nor the lead’s name, nor whether codes carry the patient’s reference: those stay as they are here.",
        ReviewWhat => "Tick what to take; what is not taken, and what is only here, stays. A change holds for new cases.",
        NothingNew => "Everything in it is here already, as it is.",
        NothingToTake => "Nothing of it can be taken.",
        TakeAll => "Take all of it",
        TakeTicked => "Take what is ticked",
        LeaveIt => "Leave it",
        Taken => "Taken into the Bench.",
        NotTakenBack => "Not taken back: the Bench was changed since. What came stands in it, and can be changed there.",
        FileName => "strawline-bench.json",
        NotAText => "The file could not be read as text.",
        Wordings => "Card and label wording",
        Review => "What came, beside what is here",
        Now => "Now",
        InFile => "As it came",
        Differs => "differs",
        None => "none",
        Deleted => "Entry deleted.",
    }
}

/// Where an expectation comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ComesFrom<'a>(pub &'a Expectation);

impl Phrase for ComesFrom<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(match &self.0.basis {
            Basis::Literature(rows) => {
                let rows: Vec<_> = rows.iter().map(|id| SourceLine(*id).english()).collect();
                format!(
                    "From literature, not checked in this clinic; changing it makes it the clinic’s own entry. {}",
                    rows.join(" ")
                )
            }
            Basis::ClinicCounts { n: 1, .. } => "From 1 accepted count of this clinic.".to_owned(),
            Basis::ClinicCounts { n, .. } => format!("From {n} accepted counts of this clinic."),
            Basis::FewCounts { n, before, .. } => {
                let before = match before {
                    Before::Literature(_) => "literature",
                    Before::ClinicEntry => "this clinic’s entry",
                };
                let counts =
                    if *n == 1 { "1 accepted count".to_owned() } else { format!("{n} accepted counts") };
                format!("From {before} and {counts} of this clinic.")
            }
            Basis::ClinicEntry => "Entered by this clinic.".to_owned(),
        })
    }
}

/// Number of a stage of a programme, from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StageNumber(pub usize);

impl Phrase for StageNumber {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("Stage {}", self.0))
    }
}

/// The limits that are looser than shipped, and who answers for them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoosenedBy<'a>(pub &'a Bench);

impl Phrase for LoosenedBy<'_> {
    fn english(&self) -> Cow<'static, str> {
        let n = self.0.loosened().len();
        Cow::Owned(match n {
            0 => String::new(),
            1 => format!("One limit is looser than shipped; {} answers for it.", self.0.limits_lead),
            n => format!("{n} limits are looser than shipped; {} answers for them.", self.0.limits_lead),
        })
    }
}

/// What a difference is about: an entry by its name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartName<'a>(pub &'a Difference);

impl Phrase for PartName<'_> {
    fn english(&self) -> Cow<'static, str> {
        let (word, named) = match self.0.part {
            Part::Clinic => (BenchWord::Clinic, false),
            Part::Wordings => (BenchWord::Wordings, false),
            Part::Labels => (BenchWord::Labels, false),
            Part::CodedReference => (BenchWord::CodedReference, false),
            Part::Units => (BenchWord::Units, false),
            Part::ChartOrder => (BenchWord::ChartOrder, false),
            Part::Limits => (BenchWord::Limits, false),
            Part::Clock => (BenchWord::Clock, false),
            Part::Analyser => (BenchWord::Analyser, false),
            Part::Keeping => (BenchWord::Keeping, false),
            Part::Container(_) => (BenchWord::Containers, true),
            Part::Rotor(_) => (BenchWord::Rotors, true),
            Part::Protocol(_) => (BenchWord::Protocols, true),
        };
        if named { Cow::Owned(format!("{}: {}", word.english(), self.0.name)) } else { word.english() }
    }
}

/// How a difference stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandsSays<'a>(pub &'a Difference);

impl Phrase for StandsSays<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match (self.0.stands, &self.0.here) {
            (Stands::New, _) => "New here.",
            (Stands::Differs, Some(here)) => {
                return Cow::Owned(format!("Takes the place of {here}."));
            }
            (Stands::Differs, None) => "Differs, and takes the place of what is here.",
            (Stands::OnlyHere, _) => "Only here; it stays.",
            (Stands::NeedsLead, _) => {
                "Looser than shipped, and it came without a lead who answers for it, so it cannot be taken. Enter these limits under Limits here, with the lead’s name."
            }
        })
    }
}
