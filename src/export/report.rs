//! An assessment as a flat list: every result with its unit, standing, range, working and sources, and every
//! finding. The shell prints it as JSON; a signed record keeps it as "what was shown".

use super::plan;
use crate::assess::draw::Standing;
use crate::assess::product::ProductResult;
use crate::assess::{self, Assessment, MODEL};
use crate::case::{Case, Readings};
use crate::draft::Draft;
use crate::evidence::{SourceId, Standing as SourceStanding};
use crate::finding::{Finding, HeldStep, Level};
use crate::product::classification::Classified;
use crate::product::range::Range;
use crate::product::recipe::{Linear, Recipe};
use crate::quantity::time::Offset;
use crate::quantity::unit::Conventions;
use crate::quantity::{Quantity, Volume};
use crate::record::shown::{ShownFigure, ShownStanding};
use crate::words::Language;
use crate::words::classification::{ABOUT, PartWords};
use crate::words::counting::SlipWords;
use crate::words::finding::{FindingWords, Part};
use crate::words::product::CheckThis;
use crate::words::reading::ReadingWords;
use crate::working::{Worked, Working};
use serde::Serialize;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// One result as found in an assessment.
pub struct Found<'a> {
    /// Stable name of the amount.
    pub what: String,
    /// Value or median, in `unit`.
    pub value: f64,
    /// Ends of the 80 % range, for a prediction.
    pub range: Option<(f64, f64)>,
    /// Core unit; empty for a pure number.
    pub unit: &'static str,
    /// Planned, measured, predicted or counted.
    pub standing: ShownStanding,
    /// How it came about, where there is more than a typed number.
    pub working: Option<&'a Working>,
}

/// Collects results in the order of the job.
struct Collector<'a>(Vec<Found<'a>>);

impl<'a> Collector<'a> {
    fn plain<Q: Quantity>(
        &mut self,
        what: &str,
        q: Option<Q>,
        standing: ShownStanding,
        working: Option<&'a Working>,
    ) {
        if let Some(q) = q {
            let what = what.to_owned();
            self.0.push(Found { what, value: q.get(), range: None, unit: Q::UNIT, standing, working });
        }
    }

    fn worked<Q: Quantity>(&mut self, what: &str, w: Option<&'a Worked<Q>>, standing: ShownStanding) {
        self.plain(what, w.map(|w| w.value), standing, w.map(|w| &w.working));
    }

    fn range<Q: Quantity>(&mut self, what: &str, w: Option<&'a Worked<Range<Q>>>) {
        if let Some(w) = w {
            self.0.push(Found {
                what: what.to_owned(),
                value: w.value.median.get(),
                range: Some((w.value.low.get(), w.value.high.get())),
                unit: Q::UNIT,
                standing: ShownStanding::Predicted,
                working: Some(&w.working),
            });
        }
    }
}

/// Every result of an assessment, in the order of the job.
pub fn results(a: &Assessment) -> Vec<Found<'_>> {
    use ShownStanding as S;
    let mut c = Collector(Vec::new());
    if let Some(plan) = &a.draw.plan {
        let (exact, rounded) = (&plan.exact, &plan.rounded);
        c.plain(
            "anticoagulant_before_rounding",
            Some(exact.value.anticoagulant),
            S::Planned,
            Some(&exact.working),
        );
        let each = rounded.value.split;
        c.plain("anticoagulant_each", Some(each.anticoagulant), S::Planned, Some(&rounded.working));
        c.plain("blood_each", Some(each.blood), S::Planned, Some(&rounded.working));
        c.plain("fill_mark", Some(each.fill), S::Planned, Some(&rounded.working));
        c.plain("anticoagulant_per_blood", Some(rounded.value.ratio), S::Planned, Some(&rounded.working));
    }
    for container in &a.draw.containers {
        let n = u32::from(container.index) + 1;
        let standing = if container.entered { S::Measured } else { S::Planned };
        c.plain(&format!("container_{n}_blood"), container.split.map(|s| s.blood), standing, None);
        c.plain(&format!("container_{n}_anticoagulant_per_blood"), container.ratio, standing, None);
    }
    let drawn = drawn(a);
    // A sum that leaves a container out is no sum of all.
    if let Some(now) = a.draw.now.as_ref().filter(|t| t.unknown.is_empty()) {
        let standing = once(drawn, S::Measured);
        c.worked("anticoagulant_in_all", Some(&now.anticoagulant), standing);
        c.worked("blood_in_all", Some(&now.blood), standing);
        c.worked("anticoagulant_per_blood_in_all", now.ratio.as_ref(), standing);
        c.worked("mixture_haematocrit", now.haematocrit.as_ref(), standing);
        c.worked("plasma", now.plasma.as_ref(), standing);
        c.worked("plasma_citrate", now.citrate.as_ref(), standing);
    }
    if let Some(p) = &a.draw.patient {
        // Containers set aside were drawn too; one whose mark is not known counts as planned here.
        let every = a.draw.containers.iter().all(|c| c.entered && c.split.is_some());
        let standing = once(every && !a.draw.containers.is_empty(), S::Measured);
        c.worked("drawn_today", Some(&p.drawn_today), standing);
        c.worked("drawn_in_eight_weeks", Some(&p.eight_weeks), standing);
        c.worked("drawn_per_kg", p.per_kg.as_ref(), standing);
        // An estimate from weight and height, and a share of it.
        c.worked("estimated_blood_volume", p.ebv.as_ref(), S::Predicted);
        c.worked("drawn_share", p.share.as_ref(), S::Predicted);
    }
    for (i, stage) in a.spin.stages.iter().enumerate() {
        let n = i + 1;
        if let Some(force) = &stage.planned {
            c.worked(&format!("stage_{n}_speed"), Some(&force.rpm), S::Planned);
            c.worked(&format!("stage_{n}_rcf_maximum_radius"), force.maximum.as_ref(), S::Planned);
            c.worked(&format!("stage_{n}_rcf_mean_radius"), force.mean.as_ref(), S::Planned);
            c.worked(&format!("stage_{n}_rcf_minimum_radius"), force.minimum.as_ref(), S::Planned);
        }
        if let Some(force) = &stage.actual {
            c.worked(&format!("stage_{n}_run_speed"), Some(&force.rpm), S::Measured);
            c.worked(&format!("stage_{n}_run_rcf_maximum_radius"), force.maximum.as_ref(), S::Measured);
        }
    }
    product(a, drawn, &mut c);
    c.0
}

/// Whether every container that takes part has its mark entered.
fn drawn(a: &Assessment) -> bool {
    a.draw.now.as_ref().is_some_and(|t| t.standing == Standing::Done)
}

/// Planned until what it rests on was entered.
fn once(entered: bool, standing: ShownStanding) -> ShownStanding {
    if entered { standing } else { ShownStanding::Planned }
}

fn product<'a>(a: &'a Assessment, drawn: bool, c: &mut Collector<'a>) {
    use ShownStanding as S;
    let p = &a.product;
    let collected = p.collected;
    if let Some(native) = &p.native {
        c.worked("blood_count", Some(&native.count), S::Counted);
        c.worked("blood_count_cv", Some(&native.cv), S::Assumed);
    }
    c.plain("product_volume", p.volume, once(collected, S::Measured), None);
    // How the cells pack is taken as given.
    c.worked("product_bound", p.bound.as_ref(), S::Planned);
    if let Some(prediction) = &p.prediction {
        c.worked("ceiling", Some(&prediction.ceiling), once(drawn && collected, S::Measured));
        c.worked("platelets_drawn", prediction.drawn.as_ref(), once(drawn, S::Counted));
        c.range("fold_predicted", prediction.fold.as_ref());
        c.range("recovery_predicted", prediction.recovery.as_ref());
        c.range("concentration_predicted", prediction.concentration.as_ref());
        c.range("platelets_in_product_predicted", prediction.in_product.as_ref());
    }
    for row in p.table.iter().flat_map(|t| &t.value) {
        c.range(
            &format!("platelets_in_product_if_count_{}", row.count.get()),
            row.prediction.in_product.as_ref(),
        );
    }
    if let Some(m) = &p.measured {
        let name = if p.confirmed { "concentration_counted" } else { "concentration_not_confirmed" };
        c.worked(name, Some(&m.concentration), S::Counted);
        c.worked("replicate_cv", m.replicate_cv.as_ref(), S::Counted);
        c.worked("platelets_in_product_counted", m.in_product.as_ref(), S::Counted);
        c.worked("fold_counted", m.fold.as_ref(), S::Counted);
        c.worked("recovery_counted", m.recovery.as_ref(), once(drawn, S::Counted));
    }
    counted(p, c);
    if let Some(mixed) = &p.mixed {
        c.worked("volume_after_additions", Some(&mixed.volume), once(collected, S::Measured));
        c.worked("concentration_after_additions", mixed.counted.as_ref(), S::Counted);
        if let Some(calcium) = &mixed.calcium {
            let standing = once(drawn && collected, S::Measured);
            c.worked("calcium_added", Some(&calcium.calcium), once(collected, S::Measured));
            c.worked("citrate_present", Some(&calcium.citrate), standing);
            c.worked("calcium_per_citrate", calcium.ratio.as_ref(), standing);
        }
    }
    let given = p.shares.iter().all(|s| s.given);
    if let Some(l) = &p.ledger {
        c.worked("fill_in_all", Some(&l.fill), once(drawn, S::Measured));
        c.worked("left_behind", Some(&l.left_behind), once(drawn && collected, S::Measured));
        // So much for each change and each transfer, by the Bench.
        c.worked("losses", Some(&l.losses), S::Assumed);
        let all = if p.shares.iter().any(|s| s.given) { once(given, S::Measured) } else { S::Ordered };
        c.worked("given_in_all", Some(&l.sites), all);
        let left = if l.losses.value.get() > 0.0 { S::Assumed } else { S::Measured };
        c.worked("left_over", Some(&l.left_over), once(collected && given, left));
    }
    for share in &p.shares {
        // a row of the order keeps its number, whether the rows before it have a volume or not
        let n = u32::from(share.part.unwrap_or(0)) + 1;
        let standing = if share.given { S::Measured } else { S::Ordered };
        c.plain(&format!("part_{n}_volume"), Some(share.volume), standing, None);
        c.range(&format!("part_{n}_dose_predicted"), share.predicted.as_ref());
        // By the count, of a volume that may still only be ordered.
        c.worked(&format!("part_{n}_dose_counted"), share.counted.as_ref(), once(share.given, S::Counted));
    }
    c.range("dose_predicted", p.dose_predicted.as_ref());
    c.worked("dose_counted", p.dose_counted.as_ref(), once(given, S::Counted));
}

/// What was counted besides the platelets of the product, and the spin closed by it.
fn counted<'a>(p: &'a ProductResult, c: &mut Collector<'a>) {
    use ShownStanding as S;
    let other = &p.other;
    c.worked("white_cells_counted", other.white.as_ref(), S::Counted);
    c.worked("white_cell_fold", other.white_fold.as_ref(), S::Counted);
    c.worked("red_cells_counted", other.red.as_ref(), S::Counted);
    c.worked("product_haematocrit_counted", other.haematocrit.as_ref(), S::Counted);
    c.worked("neutrophils_counted", other.neutrophils.as_ref(), S::Counted);
    c.worked("blood_neutrophils_counted", other.blood_neutrophils.as_ref(), S::Counted);
    if let Some(v) = &p.volumes {
        c.worked("found_after_spin", Some(&v.found), S::Measured);
        c.worked("found_after_spin_tolerance", Some(&v.tolerance), S::Measured);
    }
    if let Some(b) = &p.balance {
        c.worked("platelets_in_plasma_counted", Some(&b.plasma), S::Counted);
        c.worked("platelets_elsewhere", b.elsewhere.as_ref(), S::Counted);
    }
}

/// What was shown, as a signed record keeps it.
pub fn shown(a: &Assessment) -> Vec<ShownFigure> {
    results(a)
        .into_iter()
        .map(|r| ShownFigure {
            what: r.what,
            value: r.value,
            low: r.range.map(|(low, _)| low),
            high: r.range.map(|(_, high)| high),
            unit: r.unit.to_owned(),
            standing: r.standing,
            sources: r.working.iter().flat_map(|w| &w.sources).map(|s| s.source().key.to_owned()).collect(),
        })
        .collect()
}

/// The whole answer as written by the shell.
#[derive(Debug, Serialize)]
pub struct Report {
    /// Version of the program.
    pub app: &'static str,
    /// Version of the reckoning.
    pub model: u32,
    /// Every result.
    pub results: Vec<ResultOut>,
    /// Every finding, loudest first.
    pub findings: Vec<FindingOut>,
    /// How the product's sample is counted; none while a factor cannot be read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count_recipe: Option<RecipeOut>,
    /// More platelets than were drawn: what to check, in order, and what each would make of the number.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub checks: Vec<String>,
    /// Published classes, once the product is counted.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub classes: Vec<ClassOut>,
    /// What the order leaves open.
    pub questions: Vec<String>,
    /// Typed texts that need an answer or cannot be read.
    pub unread: BTreeMap<String, String>,
    /// Each amount ordered, beside what is expected and counted.
    pub order: Vec<Value>,
    /// How likely all of several amounts ordered are met at once.
    pub order_at_once: Value,
    /// What makes the prediction unsure.
    pub sure: Value,
    /// What to draw so that the order is met; null where nothing can be planned.
    pub plan: Value,
    /// Every source named above.
    pub sources: BTreeMap<&'static str, SourceOut>,
}

/// One result.
#[derive(Debug, Serialize)]
pub struct ResultOut {
    what: String,
    value: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    low: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    high: Option<f64>,
    unit: &'static str,
    standing: ShownStanding,
    working: Vec<StepOut>,
    sources: Vec<&'static str>,
}

/// How the product's sample is counted.
#[derive(Debug, Serialize)]
pub struct RecipeOut {
    #[serde(skip_serializing_if = "Option::is_none")]
    sample_ml: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    dilution: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    product_ul: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    diluent_ul: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reading: Option<Expected>,
    #[serde(skip_serializing_if = "Option::is_none")]
    linear: Option<Linear>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rather_dilution: Option<f64>,
}

/// A reading to expect [10⁹/L].
#[derive(Debug, Serialize)]
pub struct Expected {
    median: f64,
    low: f64,
    high: f64,
}

/// A product in one family of classes.
#[derive(Debug, Serialize)]
pub struct ClassOut {
    family: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    code: Option<String>,
    parts: Vec<ClassPartOut>,
}

/// One part of a class.
#[derive(Debug, Serialize)]
pub struct ClassPartOut {
    of: String,
    is: String,
    source: &'static str,
}

fn recipe(r: &Recipe) -> RecipeOut {
    let microlitres = |v: Volume| 1000.0 * v.get();
    RecipeOut {
        sample_ml: r.sample.map(Quantity::get),
        dilution: r.dilution.map(Quantity::get),
        product_ul: r.mix.as_ref().map(|m| microlitres(m.product)),
        diluent_ul: r.mix.as_ref().map(|m| microlitres(m.diluent.value)),
        reading: r.reading.as_ref().map(|r| Expected {
            median: r.value.median.get(),
            low: r.value.low.get(),
            high: r.value.high.get(),
        }),
        linear: r.linear,
        rather_dilution: r.rather.map(Quantity::get),
    }
}

fn class(classified: &Classified, language: Language, conventions: &Conventions) -> ClassOut {
    let parts = classified.parts.iter().map(|p| ClassPartOut {
        of: language.say(p.of).into_owned(),
        is: language.say(PartWords(p, conventions)).into_owned(),
        source: p.source.source().key,
    });
    ClassOut {
        family: language.say(classified.family).into_owned(),
        code: classified.code(),
        parts: parts.collect(),
    }
}

/// One line of a working.
#[derive(Debug, Serialize)]
pub struct StepOut {
    what: String,
    formula: &'static str,
    numbers: Vec<f64>,
    result: f64,
    unit: &'static str,
}

/// One finding.
#[derive(Debug, Serialize)]
pub struct FindingOut {
    key: String,
    level: &'static str,
    cause: String,
    action: String,
    holds: Option<&'static str>,
    open: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    source: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    decided_by: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reason: Option<String>,
}

/// One source.
#[derive(Debug, Serialize)]
pub struct SourceOut {
    citation: &'static str,
    standing: &'static str,
}

/// Who reads it: in which language, by which local clock.
#[derive(Debug, Clone, Copy)]
pub struct Reader {
    /// Language.
    pub language: Language,
    /// Offset of the local clock.
    pub offset: Offset,
}

/// Writes the whole answer.
pub fn report(case: &Case, readings: &Readings, draft: &Draft, a: &Assessment, reader: Reader) -> Report {
    let language = reader.language;
    let conventions = &draft.conventions;
    let mut named: BTreeSet<SourceId> = BTreeSet::new();
    let results = results(a)
        .into_iter()
        .map(|r| {
            let sources: &[SourceId] = r.working.map_or(&[], |w| &w.sources);
            named.extend(sources);
            ResultOut {
                low: r.range.map(|(low, _)| low),
                high: r.range.map(|(_, high)| high),
                working: r.working.iter().flat_map(|w| &w.steps).map(step).collect(),
                sources: sources.iter().map(|s| s.source().key).collect(),
                what: r.what,
                value: r.value,
                unit: r.unit,
                standing: r.standing,
            }
        })
        .collect();
    named.extend(a.findings.iter().filter_map(|f| f.kind.source()));
    let classified = &a.product.classified;
    named.extend(classified.iter().flat_map(Classified::sources));
    named.extend((!classified.is_empty()).then_some(ABOUT));
    let checks = a.product.slips.iter().map(|s| {
        let check = language.say(CheckThis(s.check));
        format!("{check}: {}", language.say(SlipWords(&s.if_so, conventions)))
    });
    let unread = case
        .unread
        .keys()
        .filter_map(|field| {
            let words = ReadingWords {
                reading: readings.get(field)?,
                typed: draft.text(*field),
                kind: field.kind()?,
                conventions,
            };
            Some((field.key(), language.say(words).into_owned()))
        })
        .collect();
    Report {
        app: env!("CARGO_PKG_VERSION"),
        model: MODEL,
        results,
        findings: a.findings.iter().map(|f| finding(f, conventions, reader)).collect(),
        count_recipe: a.product.recipe(case).as_ref().map(recipe),
        checks: checks.collect(),
        classes: classified.iter().map(|c| class(c, language, conventions)).collect(),
        questions: a.questions.iter().map(|q| language.say(*q).into_owned()).collect(),
        unread,
        order: a.product.order.iter().map(|line| plan::order(line, language)).collect(),
        order_at_once: a.product.order_at_once.as_ref().map_or(Value::Null, |c| plan::chance(c, language)),
        sure: plan::sure(case, a),
        plan: assess::plan_among(case, a, &[]).map_or(Value::Null, |p| plan::plan(&p, language)),
        sources: named.into_iter().map(source).collect(),
    }
}

fn step(step: &crate::working::Step) -> StepOut {
    StepOut {
        what: crate::words::Language::English.say(step.what).into_owned(),
        formula: step.formula,
        numbers: step.numbers.iter().map(|f| f.value).collect(),
        result: step.result.value,
        unit: step.result.unit,
    }
}

fn finding(f: &Finding, conventions: &Conventions, reader: Reader) -> FindingOut {
    let Reader { language, offset } = reader;
    let words = |part| language.say(FindingWords { kind: &f.kind, part, conventions, offset }).into_owned();
    let holds = [HeldStep::Needle, HeldStep::Spin, HeldStep::HandOver].into_iter().find(|s| f.holds(*s));
    FindingOut {
        key: f.kind.key(),
        level: match f.level {
            Level::Note => "note",
            Level::Caution => "caution",
            Level::StopClinician => "stop_clinician_decides",
            Level::StopFinal => "stop_no_override",
        },
        cause: words(Part::Cause),
        action: words(Part::Action),
        holds: holds.map(|s| match s {
            HeldStep::Needle => "needle",
            HeldStep::Spin => "spin",
            HeldStep::HandOver => "hand_over",
        }),
        open: f.is_open(),
        source: f.kind.source().map(|s| s.source().key),
        decided_by: f.decision.as_ref().map(|d| d.by.clone()),
        reason: f.decision.as_ref().map(|d| d.reason.clone()),
    }
}

fn source(id: SourceId) -> (&'static str, SourceOut) {
    let s = id.source();
    let standing = match s.standing {
        SourceStanding::Read => "read",
        SourceStanding::ReadSecondHand => "read_second_hand",
        SourceStanding::FromMemory => "from_memory",
        SourceStanding::CommonPractice => "common_practice_no_source",
        SourceStanding::Judgement => "judgement",
        SourceStanding::Arithmetic => "arithmetic",
    };
    (s.key, SourceOut { citation: s.citation, standing })
}
