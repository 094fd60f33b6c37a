//! Drafts as a person might leave them: everything typed as text, in any units, with any kit. A draft follows
//! from one number, so that a failing case is named by it.

use strawline::assess::{Assessment, Now, assess};
use strawline::bench::{Bench, Container, OwnBand, Prefill, Protocol};
use strawline::blood::anticoagulant::{Agent, Dosing, VolumeConvention};
use strawline::blood::baseline::SampleKind;
use strawline::blood::patient::Sex;
use strawline::case::{self, Case, Readings};
use strawline::draft::{
    AdditionChoice, CheckSign, CountStanding, Draft, Field, ProductTube, Rows, SampleDilution, Side, Stage,
    Trouble, TroubleKind,
};
use strawline::product::kind::{Basis, Expectation, Expected, ProductKind};
use strawline::product::recipe::Analyser;
use strawline::quantity::Quantity;
use strawline::quantity::read::spell;
use strawline::quantity::time::{Instant, Offset};
use strawline::quantity::unit::{
    Conventions, CountUnit, HaematocritUnit, HaemoglobinUnit, HeightUnit, MassUnit, NumberStyle,
};
use strawline::quantity::write::round_significant;
use strawline::spin::programme::{Programme, Speed, Stage as SpinStage};
use strawline::spin::rcf::RadiusKind;
use strawline::spin::rotor::{Rotor, RotorKind};
use strawline::words::Language;

/// 25 Nov 2026, 09:00 UTC.
pub const NOW: Now = Now { at: Instant(1_795_597_200_000), offset: Offset::UTC };

/// Numbers that follow from one (splitmix64, public domain).
pub struct Dice(pub u64);

impl Dice {
    pub fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let x = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let x = (x ^ (x >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        x ^ (x >> 31)
    }
    /// Below `n`.
    pub fn below(&mut self, n: u64) -> u64 {
        self.roll() % n
    }
    /// In so many of a hundred cases.
    pub fn chance(&mut self, percent: u64) -> bool {
        self.below(100) < percent
    }
    #[expect(clippy::cast_precision_loss, reason = "53 bits")]
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.roll() >> 11) as f64 / (1_u64 << 53) as f64
    }
    /// Rounded as people round: to two to four figures.
    pub fn plain(&mut self, low: f64, high: f64) -> f64 {
        let digits = if self.chance(70) { 2 } else { 4 };
        round_significant(self.between(low, high), digits).clamp(low, high)
    }
    pub fn pick<T: Clone>(&mut self, from: &[T]) -> T {
        let at = usize::try_from(self.below(from.len() as u64)).expect("small");
        from[at].clone()
    }
}

pub fn q<Q: Quantity>(value: f64) -> Q {
    Q::new(value).unwrap_or_else(|e| panic!("{e}"))
}

/// Every combination of conventions.
pub fn all_conventions() -> Vec<Conventions> {
    let mut all = Vec::new();
    for numbers in [NumberStyle::Point, NumberStyle::Comma] {
        for &count in CountUnit::ALL {
            for &haematocrit in HaematocritUnit::ALL {
                for &haemoglobin in HaemoglobinUnit::ALL {
                    for &mass in MassUnit::ALL {
                        for &height in HeightUnit::ALL {
                            all.push(Conventions { numbers, count, haematocrit, haemoglobin, mass, height });
                        }
                    }
                }
            }
        }
    }
    all
}

/// A draft with all that follows from it.
pub struct Answer {
    pub draft: Draft,
    pub case: Case,
    pub readings: Readings,
    pub found: Assessment,
}

impl Answer {
    pub fn of(draft: Draft) -> Self {
        let (case, readings) = case::read(&draft, Language::English);
        let found = assess(&case, NOW);
        Self { draft, case, readings, found }
    }
    pub fn says(&self, name: &str) -> bool {
        self.found.findings.iter().any(|f| f.kind.name() == name)
    }
}

pub fn draft(seed: u64) -> Draft {
    let d = &mut Dice(seed);
    let conventions = d.pick(&all_conventions());
    let mut draft = Draft::new(format!("{seed}"), CheckSign::pick(seed, &[]), NOW.at, conventions);
    draft.stage = d.pick(&Stage::ALL);
    let container = container(d);
    let protocol = protocol(d, &container);
    draft.kit.rotor = d.chance(80).then(|| rotor(d));
    choices(d, &mut draft);
    blood(d, &mut draft);
    fills(d, &mut draft, &container, &protocol);
    after(d, &mut draft, &container);
    (draft.kit.container, draft.kit.protocol) = (Some(container), Some(protocol));
    times(d, &mut draft);
    if d.chance(3) {
        draft.kit.container = None;
    }
    if d.chance(3) {
        draft.kit.protocol = None;
    }
    draft
}

/// Instants up to half a day before now, in the order of the job or, where a clock was set, not.
fn times(d: &mut Dice, draft: &mut Draft) {
    let mut at = NOW.at.0 - 43_200_000;
    let mut next = |d: &mut Dice, percent: u64| {
        at += i64::try_from(d.below(3_600_000)).expect("small");
        let set_back = if d.chance(3) { 7_200_000 } else { 0 };
        d.chance(percent).then_some(Instant(at - set_back))
    };
    let t = &mut draft.times;
    t.needle_in = next(d, 70);
    t.needle_out = next(d, 60);
    for stage in 0..u8::try_from(d.below(4)).expect("small") {
        t.stages.extend(next(d, 80).map(|at| (stage, at)));
    }
    t.spin_end = next(d, 40);
    t.collected = next(d, 40);
    t.counted = next(d, 30);
    t.handed_over = next(d, 30);
}

/// Types a number in the draft's own units; seldom with more figures than anybody types.
fn write(draft: &mut Draft, field: Field, value: f64) {
    let kind = field.kind().expect("a number");
    let (low, high) = kind.range();
    let text = spell(value.clamp(low, high), kind, &draft.conventions);
    draft.write(field, text);
}

fn container(d: &mut Dice) -> Container {
    let mut container = d.pick(&Bench::default().containers);
    container.anticoagulant_graduation = q(d.pick(&[0.05, 0.1, 0.2, 0.5, 1.0, 2.0]));
    container.needle_loss = q(d.plain(0.0, 0.2));
    container.transfer_loss = q(d.plain(0.0, 0.2));
    if d.chance(10) {
        let agent = d.pick(&Agent::ALL);
        container.prefill = Some(Prefill { agent, volume: q(d.plain(0.3, 2.0)) });
    }
    if d.chance(20) {
        container.product_low = Some(q(d.plain(0.5, 2.0)));
        container.product_high = Some(q(d.plain(2.0, 8.0)));
    }
    if d.chance(30) {
        container.rated = Some(q(d.plain(300.0, 3000.0)));
    }
    container
}

fn protocol(d: &mut Dice, container: &Container) -> Protocol {
    let mut protocol = d.pick(&Bench::default().protocols);
    protocol.agent = if d.chance(60) { Agent::AcdA } else { d.pick(&Agent::ALL) };
    protocol.dosing = match d.below(5) {
        0 => None,
        1 => Some(Dosing::PerContainer(q(d.plain(0.05, 0.3) * container.fill_high.get()))),
        _ => Some(Dosing::PerBlood(q(d.plain(0.05, 0.3)))),
    };
    if d.chance(30) {
        let low = d.plain(0.05, 0.2);
        protocol.own_band = Some(OwnBand { low: q(low), high: q(low + d.plain(0.01, 0.2)) });
    }
    let (recovery, fold) = (d.plain(0.2, 0.95), d.plain(1.1, 3.0));
    let expected = match d.below(3) {
        0 => Expected::Fold { mean: q(fold), sd: q(d.plain(0.0, 0.5)) },
        1 => Expected::Recovery { mean: q(recovery), sd: q(d.plain(0.0, 0.3)) },
        _ => {
            let (sd, haematocrit) = (q(d.plain(0.0, 0.3)), q(d.plain(0.01, 0.3)));
            Expected::RecoveryWithCells { mean: q(recovery), sd, haematocrit }
        }
    };
    let basis = if d.chance(50) { Basis::ClinicEntry } else { Basis::ClinicCounts { n: 12, learned: None } };
    let expectation = Expectation { expected, basis };
    protocol.kind = if d.chance(90) { expectation.kind() } else { ProductKind::OffTheTop };
    protocol.expectation = d.chance(90).then_some(expectation);
    protocol.packing = q(d.plain(0.6, 0.95));
    protocol.left_behind = q(d.plain(0.0, 1.0));
    protocol.count_sample = q(d.plain(0.0, 0.5));
    if d.chance(70) {
        protocol.programme = programme(d);
    }
    protocol
}

fn programme(d: &mut Dice) -> Programme {
    let speed = |d: &mut Dice| match d.below(3) {
        0 => Speed::Rpm(q(d.plain(500.0, 4000.0))),
        _ => {
            let at = d.pick(&[RadiusKind::Minimum, RadiusKind::Mean, RadiusKind::Maximum]);
            Speed::Rcf { g: q(d.plain(100.0, 2000.0)), at }
        }
    };
    let stage = |d: &mut Dice| {
        let time = q(d.plain(10.0, 900.0));
        match d.below(5) {
            0 => SpinStage::Ramp { to: speed(d), time },
            1 => SpinStage::Stop { time: d.chance(50).then_some(time) },
            2 => SpinStage::Handling { what: "move the plasma".into(), time: d.chance(50).then_some(time) },
            _ => SpinStage::Hold { speed: speed(d), time },
        }
    };
    Programme((0..d.below(6)).map(|_| stage(d)).collect())
}

fn rotor(d: &mut Dice) -> Rotor {
    let maximum = d.plain(80.0, 200.0);
    Rotor {
        id: "rotor".into(),
        name: "Rotor".into(),
        kind: d.pick(&[RotorKind::SwingOut, RotorKind::FixedAngle]),
        minimum: d.chance(60).then(|| q(maximum * d.between(0.3, 0.9))),
        maximum: d.chance(90).then(|| q(maximum)),
        rated_rpm: d.chance(40).then(|| q(d.plain(1000.0, 5000.0))),
        rated_bucket: d.chance(40).then(|| q(d.plain(500.0, 4000.0))),
        speed_step: d.chance(70).then(|| q(d.pick(&[1.0, 10.0, 50.0, 100.0]))),
        places: d.chance(50).then(|| d.pick(&[2, 3, 4, 6, 8, 24])),
        tolerance: d.chance(30).then(|| q(d.pick(&[0.1, 1.0, 5.0]))),
    }
}

fn choices(d: &mut Dice, draft: &mut Draft) {
    let c = &mut draft.choices;
    c.side = Some(Side::Left);
    c.count = Some(d.pick(&[
        CountStanding::Today,
        CountStanding::Today,
        CountStanding::Older,
        CountStanding::NoCount,
    ]));
    use SampleKind as S;
    let samples = [S::LaboratoryEdta, S::FilledContainer, S::LiquidCitrate, S::FingerPrick, S::OlderResult];
    c.sample = d.chance(90).then(|| d.pick(&samples));
    c.sex = d.pick(&[None, Some(Sex::Female), Some(Sex::Male)]);
    c.first_draw = d.pick(&[None, Some(false), Some(true)]);
    c.agent = d.chance(20).then(|| d.pick(&Agent::ALL));
    c.convention = d.chance(97).then(|| d.pick(&[VolumeConvention::FillMark, VolumeConvention::AddedBlood]));
    c.mixed_no_clumps = d.pick(&[None, Some(false), Some(true)]);
    draft.rows = Rows { parts: 1, readings: 1, additions: 0, containers: 0, spare: 0 };
}

fn blood(d: &mut Dice, draft: &mut Draft) {
    let usual = [
        (Field::BloodCount, 90, 60.0, 600.0),
        (Field::BloodHaematocrit, 80, 0.2, 0.6),
        (Field::BloodHaemoglobin, 40, 7.0, 18.0),
        (Field::BloodWhite, 30, 2.0, 12.0),
        (Field::CountAge, 40, 0.0, 400.0),
        (Field::CitrateFactor, 30, 1.0, 1.3),
        // They go together, so that nothing is asked: an open question is read anew in another unit.
        (Field::Weight, 70, 46.0, 110.0),
        (Field::Height, 60, 150.0, 195.0),
        (Field::Age, 70, 18.0, 80.0),
        (Field::Discard, 40, 0.0, 20.0),
        (Field::PreviousBlood, 30, 0.0, 500.0),
        (Field::OrderPlatelets, 30, 1.0, 6.0),
        (Field::OrderConcentration, 30, 300.0, 1500.0),
        (Field::OrderFold, 30, 1.5, 6.0),
    ];
    for (field, percent, low, high) in usual {
        if d.chance(percent) {
            let value = d.plain(low, high);
            let whole = matches!(field, Field::CountAge | Field::Age);
            write(draft, field, if whole { value.round() } else { value });
        }
    }
}

fn fills(d: &mut Dice, draft: &mut Draft, container: &Container, protocol: &Protocol) {
    let n = 1 + d.below(6);
    let (low, high) = (container.fill_low.get(), container.fill_high.get());
    if d.chance(97) {
        draft.write(Field::Containers, n.to_string());
    }
    if d.chance(97) {
        let volume = if d.chance(95) { d.plain(low, high) } else { d.plain(low, 1.5 * high) };
        write(draft, Field::FillVolume, volume);
    }
    if d.chance(15) {
        let typed = d.plain(0.05, 0.3) * high;
        write(draft, Field::AnticoagulantChosen, typed);
    }
    match d.below(10) {
        0 => write(draft, Field::AnticoagulantPer100, d.plain(0.05, 0.3)),
        1 => write(draft, Field::AnticoagulantPerContainer, d.plain(0.05, 0.3) * high),
        _ => {}
    }
    draft.rows.containers = if d.chance(80) { 0 } else { u8::try_from(1 + d.below(4)).expect("small") };
    draft.rows.spare = if d.chance(85) { 0 } else { 1 };
    for i in 0..u8::try_from(n).expect("small") {
        if d.chance(40) {
            write(draft, Field::FillActual(i), d.plain(0.3 * high, high));
        }
        if d.chance(20) {
            write(draft, Field::AnticoagulantActual(i), d.plain(0.05, 0.3) * high);
        }
        if d.chance(6) {
            let kind = d.pick(&TroubleKind::ALL);
            let (container, set_aside) = (d.chance(80).then_some(i), d.chance(50));
            draft.troubles.push(Trouble {
                kind,
                container,
                at: NOW.at,
                by: "MO".into(),
                set_aside,
                aside: None,
                collected: false,
                withdrawn: None,
            });
        }
    }
    let product = match protocol.kind {
        ProductKind::OffTheTop => d.plain(0.1, 0.7),
        ProductKind::Concentrate | ProductKind::WithCells => d.plain(0.05, 0.5),
    };
    #[expect(clippy::cast_precision_loss, reason = "at most 6")]
    let all = n as f64 * high;
    if d.chance(90) {
        write(draft, Field::ProductVolume, product * all);
    }
    if d.chance(40) {
        write(draft, Field::ProductActual, product * all * d.between(0.5, 1.1));
    }
}

/// Other cells, the spin closed by measurement, the analyser.
fn counted(d: &mut Dice, draft: &mut Draft) {
    draft.choices.product_tube = d.pick(&[None, Some(ProductTube::Plain), Some(ProductTube::LiquidCitrate)]);
    draft.choices.cells_dilution =
        d.pick(&[None, Some(SampleDilution::Undiluted), Some(SampleDilution::Diluted)]);
    if d.chance(30) {
        draft.kit.analyser = Analyser {
            low: Some(q(d.plain(1.0, 50.0))),
            high: Some(q(d.plain(200.0, 2000.0))),
            pipetted: None,
        };
    }
    let numbers = [
        (Field::ProductWhite, 0.0, 30.0),
        (Field::ProductRed, 0.0, 1.0),
        (Field::ProductHaematocrit, 0.0, 0.2),
        (Field::ProductNeutrophils, 0.0, 0.8),
        (Field::ProductLymphocytes, 0.0, 0.8),
        (Field::ProductMonocytes, 0.0, 0.2),
        (Field::BloodNeutrophils, 0.3, 0.8),
        (Field::SampleFactor, 1.0, 1.2),
        (Field::PoorPlasma, 0.0, 30.0),
        (Field::CellsVolume, 0.0, 30.0),
        (Field::PlasmaReading, 0.0, 300.0),
    ];
    for (field, low, high) in numbers {
        if d.chance(40) {
            write(draft, field, d.plain(low, high));
        }
    }
}

fn after(d: &mut Dice, draft: &mut Draft, container: &Container) {
    if d.chance(60) {
        write(draft, Field::CountSample, d.plain(0.0, 0.5));
    }
    if d.chance(60) {
        draft.rows.readings = u8::try_from(1 + d.below(5)).expect("small");
        let mean = d.between(20.0, 500.0);
        for i in 0..draft.rows.readings {
            write(draft, Field::Reading(i), mean * d.between(0.9, 1.1));
        }
    }
    if d.chance(60) {
        write(draft, Field::Dilution, d.pick(&[1.0, 2.0, 5.0, 10.0, 20.0]));
    } else if d.chance(80) {
        draft.choices.dilution = Some(SampleDilution::Undiluted);
    }
    counted(d, draft);
    if d.chance(50) {
        draft.write(Field::NeedleChanges, d.below(5).to_string());
        draft.write(Field::Transfers, d.below(5).to_string());
    }
    draft.rows.additions = u8::try_from(d.below(4)).expect("small");
    for i in 0..draft.rows.additions {
        draft.choices.additions.insert(i, d.pick(&AdditionChoice::ALL));
        if d.chance(90) {
            draft.write(Field::AdditionName(i), "diluent");
            draft.write(Field::AdditionStrength(i), "10");
            write(draft, Field::AdditionVolume(i), d.plain(0.05, 2.0));
        }
    }
    draft.rows.parts = u8::try_from(d.below(5)).expect("small");
    for i in 0..draft.rows.parts {
        if d.chance(90) {
            write(draft, Field::PartVolume(i), d.plain(0.1, 3.0));
        }
        if d.chance(30) {
            write(draft, Field::PartGiven(i), d.plain(0.0, 3.0));
        }
    }
    if d.chance(80) {
        write(draft, Field::OrderVolume, d.plain(0.5, 0.5 * container.fill_high.get()));
    }
}
