//! Rows of what there is once: header and label wording, units, limits, clock, analyser.

use super::row::{Row, hint};
use strawline::bench::stock::LabelSize;
use strawline::blood::patient::Limits;
use strawline::evidence::SourceId;
use strawline::quantity::read::Kind;
use strawline::quantity::unit::{
    CountUnit, HaematocritUnit, HaemoglobinUnit, HeightUnit, MassUnit, NumberStyle,
};
use strawline::quantity::{
    CellCount, Haemoglobin, Mass, Millimetre, Quantity, Seconds, Share, Volume, VolumePerMass,
};
use strawline::words::bench::{BenchWord, LoosenedBy};
use strawline::words::code::CodeWord;
use strawline::words::label::LabelWord;
use strawline::words::source::SourceLine;

macro_rules! text {
    ($($path:ident).+, $words:ident $(, $hint:ident)?) => {
        Row::Text {
            words: BenchWord::$words,
            hint: hint!($($hint)?),
            get: |b, _| Some(b.$($path).+.clone()),
            set: |b, _, text| {
                b.$($path).+ = text;
                Some(())
            },
        }
    };
}

/// A distance on a sheet of labels.
macro_rules! place {
    ($field:ident, $words:ident $(, $hint:ident)?) => {
        Row::Number {
            words: BenchWord::$words,
            hint: hint!($($hint)?),
            kind: MM,
            unit: "mm",
            needed: true,
            get: |b, _| Some(Some(b.clinic.labels.$field.get())),
            set: |b, _, v| {
                b.clinic.labels.$field = Millimetre::new(v?).ok()?;
                Some(())
            },
        }
    };
}

const MM: Kind = Kind::Factor { min: 0.0, max: 60.0 };

/// Header and label wording.
pub static CLINIC: &[Row] = &[
    text!(clinic.name, ClinicName),
    text!(clinic.second_line, SecondLine, SecondLineHint),
    text!(clinic.autologous, Autologous, AutologousHint),
    text!(clinic.local_line, LocalLine, LocalLineHint),
];

/// Labels of their own, and what of a patient may stand in a code.
pub static LABELS: &[Row] = &[
    Row::Pick {
        words: BenchWord::LabelSize,
        hint: Some(BenchWord::LabelSizeHint),
        names: |desk| {
            let sizes = LabelSize::ALL.iter().map(|size| desk.say(*size));
            std::iter::once(desk.say(LabelWord::OnCard)).chain(sizes).collect()
        },
        get: |b, _| match b.clinic.labels.size {
            None => Some(0),
            Some(size) => LabelSize::ALL.iter().position(|s| *s == size).map(|at| at + 1),
        },
        set: |b, _, i| {
            b.clinic.labels.size = i.checked_sub(1).and_then(|at| LabelSize::ALL.get(at)).copied();
            Some(())
        },
    },
    Row::Pick {
        words: BenchWord::LabelPaper,
        hint: None,
        names: |desk| [LabelWord::Sheet, LabelWord::Roll].map(|w| desk.say(w)).to_vec(),
        get: |b, _| Some(usize::from(b.clinic.labels.roll)),
        set: |b, _, i| {
            b.clinic.labels.roll = i == 1;
            Some(())
        },
    },
    place!(left, LabelLeft, LabelEdgeHint),
    place!(top, LabelTop, LabelEdgeHint),
    place!(across, LabelAcross),
    place!(down, LabelDown),
    Row::Note(|desk, _, _| Some(desk.say(LabelWord::What))),
    Row::Pick {
        words: BenchWord::CodedReference,
        hint: Some(BenchWord::CodedReferenceHint),
        names: |desk| [CodeWord::ReferenceNo, CodeWord::ReferenceYes].map(|w| desk.say(w)).to_vec(),
        get: |b, _| Some(usize::from(b.clinic.coded_reference)),
        set: |b, _, i| {
            b.clinic.coded_reference = i == 1;
            Some(())
        },
    },
];

/// A unit, shown by its symbol.
macro_rules! unit {
    ($field:ident: $unit:ty, $words:ident) => {
        Row::Pick {
            words: BenchWord::$words,
            hint: None,
            names: |_| <$unit>::ALL.iter().map(|u| u.symbol().to_owned()).collect(),
            get: |b, _| <$unit>::ALL.iter().position(|u| *u == b.clinic.conventions.$field),
            set: |b, _, i| {
                b.clinic.conventions.$field = *<$unit>::ALL.get(i)?;
                Some(())
            },
        }
    };
}

const STYLES: [NumberStyle; 2] = [NumberStyle::Point, NumberStyle::Comma];

/// Units and number style.
pub static UNITS: &[Row] = &[
    Row::Pick {
        words: BenchWord::Decimal,
        hint: Some(BenchWord::UnitsHint),
        names: |desk| vec![desk.say(BenchWord::Point), desk.say(BenchWord::Comma)],
        get: |b, _| STYLES.iter().position(|s| *s == b.clinic.conventions.numbers),
        set: |b, _, i| {
            b.clinic.conventions.numbers = *STYLES.get(i)?;
            Some(())
        },
    },
    unit!(count: CountUnit, Counts),
    unit!(haematocrit: HaematocritUnit, HaematocritUnit),
    unit!(haemoglobin: HaemoglobinUnit, HaemoglobinUnit),
    unit!(mass: MassUnit, WeightUnit),
    Row::Pick {
        words: BenchWord::HeightUnit,
        hint: None,
        names: |desk| vec![HeightUnit::Centimetre.symbol().to_owned(), desk.say(BenchWord::FeetInches)],
        get: |b, _| HeightUnit::ALL.iter().position(|u| *u == b.clinic.conventions.height),
        set: |b, _, i| {
            b.clinic.conventions.height = *HeightUnit::ALL.get(i)?;
            Some(())
        },
    },
];

/// A limit.
macro_rules! limit {
    ($field:ident: $q:ty, $words:ident, $kind:expr, $unit:literal) => {
        Row::Number {
            words: BenchWord::$words,
            hint: None,
            kind: $kind,
            unit: $unit,
            needed: true,
            get: |b, _| Some(Some(b.limits.$field.get())),
            set: |b, _, v| {
                b.limits.$field = <$q>::new(v?).ok()?;
                Some(())
            },
        }
    };
}

const PER_KG: Kind = Kind::Factor { min: 0.0, max: 50.0 };
const ML: Kind = Kind::Volume { min: 0.0, max: 10_000.0 };

/// Limits on a draw.
pub static LIMITS: &[Row] = &[
    text!(limits_lead, Lead, LeadHint),
    Row::Note(|desk, b, _| {
        Some(desk.say(LoosenedBy(b))).filter(|words| b.limits != Limits::SHIPPED && !words.is_empty())
    }),
    limit!(per_kg_caution: VolumePerMass, PerKgCaution, PER_KG, "mL/kg"),
    limit!(per_kg_stop: VolumePerMass, PerKgStop, PER_KG, "mL/kg"),
    limit!(share_caution: Share, ShareCaution, Kind::Percent, ""),
    limit!(share_stop: Share, ShareStop, Kind::Percent, ""),
    limit!(volume_caution: Volume, VolumeCaution, ML, ""),
    limit!(eight_weeks_per_kg_caution: VolumePerMass, EightPerKgCaution, PER_KG, "mL/kg"),
    limit!(eight_weeks_per_kg_stop: VolumePerMass, EightPerKgStop, PER_KG, "mL/kg"),
    limit!(eight_weeks_volume_stop: Volume, EightVolumeStop, ML, ""),
    limit!(haemoglobin_caution: Haemoglobin, HbCaution, Kind::Haemoglobin, ""),
    limit!(haemoglobin_female: Haemoglobin, HbFemale, Kind::Haemoglobin, ""),
    limit!(haemoglobin_male: Haemoglobin, HbMale, Kind::Haemoglobin, ""),
    limit!(haemoglobin_volume: Volume, HbVolume, ML, ""),
    limit!(haemoglobin_stop: Haemoglobin, HbStop, Kind::Haemoglobin, ""),
    limit!(haemoglobin_stop_per_kg: VolumePerMass, HbStopPerKg, PER_KG, "mL/kg"),
    limit!(light_weight: Mass, LightWeight, Kind::Weight, ""),
    limit!(small_blood_volume: Volume, SmallVolume, ML, ""),
    limit!(vulnerable_per_kg: VolumePerMass, Vulnerable, PER_KG, "mL/kg"),
    limit!(no_height_up_to: Volume, NoHeight, ML, ""),
    Row::Pick {
        words: BenchWord::Minors,
        hint: None,
        names: |desk| vec![desk.say(BenchWord::MinorsNo), desk.say(BenchWord::MinorsYes)],
        get: |b, _| Some(usize::from(b.limits.minors)),
        set: |b, _, i| {
            b.limits.minors = i == 1;
            Some(())
        },
    },
    Row::Note(|desk, _, _| Some(desk.say(BenchWord::LimitsSource))),
];

macro_rules! time {
    ($field:ident, $words:ident) => {
        Row::Number {
            words: BenchWord::$words,
            hint: None,
            kind: Kind::Minutes,
            unit: "",
            needed: true,
            get: |b, _| Some(Some(b.clock.$field.get())),
            set: |b, _, v| {
                b.clock.$field = Seconds::new(v?).ok().filter(|t| t.get() > 0.0)?;
                Some(())
            },
        }
    };
}

/// Clock policy.
pub static CLOCK: &[Row] = &[
    time!(spin_by, SpinBy),
    time!(total, Total),
    Row::Number {
        words: BenchWord::Window,
        hint: Some(BenchWord::WindowHint),
        kind: Kind::Minutes,
        unit: "",
        needed: false,
        get: |b, _| Some(b.clock.product_window.map(Quantity::get)),
        set: |b, _, v| {
            b.clock.product_window = v.map(Seconds::new).transpose().ok()?;
            Some(())
        },
    },
    Row::Note(|desk, b, _| {
        let shipped = b.clock == strawline::product::clock::ClockPolicy::SHIPPED;
        shipped.then(|| desk.say(SourceLine(SourceId::Cfr64024)))
    }),
];

macro_rules! analyser {
    ($field:ident: $q:ty, $words:ident, $kind:expr $(, $hint:ident)?) => {
        Row::Number {
            words: BenchWord::$words,
            hint: hint!($($hint)?),
            kind: $kind,
            unit: "",
            needed: false,
            get: |b, _| Some(b.analyser.$field.map(Quantity::get)),
            set: |b, _, v| {
                b.analyser.$field = v.map(<$q>::new).transpose().ok()?;
                Some(())
            },
        }
    };
}

/// What the clinic knows of its analyser.
pub static ANALYSER: &[Row] = &[
    analyser!(low: CellCount, LinearLow, Kind::ProductCount, LinearHint),
    analyser!(high: CellCount, LinearHigh, Kind::ProductCount),
    Row::Note(|desk, _, _| Some(desk.say(SourceLine(SourceId::LinearRange)))),
    analyser!(pipetted: Volume, Pipetted, Kind::Volume { min: 0.001, max: 10.0 }),
    Row::Note(|desk, b, _| {
        b.analyser.pipetted.is_none().then(|| desk.say(SourceLine(SourceId::RecipePipette)))
    }),
];

/// How long records are kept.
pub static KEEPING: &[Row] = &[Row::Number {
    words: BenchWord::KeepYears,
    hint: Some(BenchWord::KeepYearsHint),
    kind: Kind::Factor { min: 1.0, max: 100.0 },
    unit: "",
    needed: false,
    get: |b, _| Some(b.keep_years.map(f64::from)),
    set: |b, _, v| {
        b.keep_years = match v {
            Some(v) => Some((1..=100).find(|years| f64::from(*years) == v)?),
            None => None,
        };
        Some(())
    },
}];
