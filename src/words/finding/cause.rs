//! What was found, with the numbers.

use super::super::Phrase;
use super::super::card::CardLine;
use super::super::choice::{AgentName, RatingName, SampleName, ScreeningStatement, SiteLine};
use super::super::field::Label;
use super::super::product::{OrderedName, beside};
use super::super::unit;
use super::trouble;
use crate::blood::patient::{LimitHit, LimitLevel, LimitRule};
use crate::case::BloodUntold;
use crate::draft::Placed;
use crate::finding::{FindingKind, LotOf, RunDiffers};
use crate::log::{CheckState, Checked};
use crate::product::order::OrderedAmount;
use crate::quantity::time::{Instant, Offset};
use crate::quantity::unit::Conventions;
use crate::quantity::write::with_unit;
use crate::quantity::{AcRatio, CellCount, Cells, Haemoglobin, Quantity, Seconds, Volume};
use crate::spin::programme::RatingBreach;
use crate::working::Figure;
use std::borrow::Cow;

/// Listed as a caution below this.
const PLATELETS_LOW: CellCount = CellCount::constant(100.0);
/// Listed as a caution below this.
const HAEMOGLOBIN_LOW: Haemoglobin = Haemoglobin::constant(10.0);

fn lot_of(of: LotOf) -> &'static str {
    match of {
        LotOf::Anticoagulant => "anticoagulant",
        LotOf::Containers => "containers",
        LotOf::Addition(0) => "first addition",
        LotOf::Addition(1) => "second addition",
        LotOf::Addition(_) => "third addition",
    }
}

/// After a check sign: ", 12 Mar 2026".
fn day_of(at: Instant, offset: Offset) -> String {
    at.local(offset).map(|(day, _)| format!(", {}", unit::Day(day).english())).unwrap_or_default()
}

pub(super) fn cause(kind: &FindingKind, c: &Conventions, offset: Offset) -> Cow<'static, str> {
    use FindingKind as F;
    let agent_name = |agent| AgentName(agent, c.numbers).english();
    Cow::Owned(match kind {
        F::AgentUnsuitable(agent) => {
            format!(
                "Chosen to keep the blood from clotting: {}. It is not meant for blood that goes back into a person.",
                agent_name(*agent)
            )
        }
        F::AmountUnknown(agent) => format!("No amount is known for {}.", agent_name(*agent)),
        F::BandUnknown(agent) => {
            format!(
                "No range is known for {}, so the amount stands with nothing to hold it against.",
                agent_name(*agent)
            )
        }
        F::AnticoagulantLow { ratio, low, container } => {
            let (is, low) = per_100(*ratio, *low, c);
            format!(
                "{} {is} of anticoagulant for 100\u{a0}mL of blood; the range begins at {low}.",
                holds(*container)
            )
        }
        F::AnticoagulantFarLow { ratio, low: Some(low), container } if ratio.get() > 0.0 => {
            let (is, low) = per_100(*ratio, *low, c);
            format!(
                "{} {is} of anticoagulant for 100\u{a0}mL of blood, less than half of the {low}\u{a0}mL at which the range begins.",
                holds(*container)
            )
        }
        F::AnticoagulantFarLow { container, .. } => format!("{} no anticoagulant.", holds(*container)),
        F::AnticoagulantHigh { ratio, high, container, mark: _ } => {
            let (is, high) = per_100(*ratio, *high, c);
            format!(
                "{} {is} of anticoagulant for 100\u{a0}mL of blood; the range ends at {high}.",
                holds(*container)
            )
        }
        F::RoundedDown => {
            return "Rounding up would have left the anticoagulant’s range, so the amount is rounded down."
                .into();
        }
        F::ConventionUnsaid => return "The volume could mean the fill mark or blood alone.".into(),
        F::MarkBelowAnticoagulant { container } => {
            format!(
                "In container {} the mark lies below the anticoagulant already inside: mark or amount must be wrong.",
                number(*container)
            )
        }
        F::MarkMissing { container } => {
            format!("The needle is out, and no mark is entered for container {}.", number(*container))
        }
        F::AboveCapacity { fill, capacity, container } => {
            let (fill, capacity) = (unit::volume(*fill, c), unit::volume(*capacity, c));
            match container {
                Some(i) => {
                    format!(
                        "The mark of container {}, {fill}, is more than it can hold, {capacity}.",
                        number(*i)
                    )
                }
                None => format!("A fill of {fill} is more than the container can hold, {capacity}."),
            }
        }
        F::FillOutsideRange { fill, low, high } => format!(
            "A fill of {} is outside the {} to {} this container is used for.",
            unit::volume(*fill, c),
            unit::volume(*low, c).number,
            unit::volume(*high, c)
        ),
        F::UnderFilledTube { container } => format!(
            "Tube {} was not filled to its line. The anticoagulant inside is meant for a full tube.",
            number(*container)
        ),
        F::MoreThanOneContainer => return "The order asks for one container, and more are planned.".into(),
        F::PartsDiffer { parts, ordered } => {
            let (parts, ordered) = unit::apart(parts.get(), ordered.get(), 2, c.numbers);
            format!(
                "The parts of the site come to {}; the volume ordered is {}.",
                with_unit(&parts, Volume::UNIT),
                with_unit(&ordered, Volume::UNIT)
            )
        }
        F::OrderUpsideDown { what, least, most } => {
            let unit = match what {
                OrderedAmount::Platelets => Cells::UNIT,
                OrderedAmount::Concentration => CellCount::UNIT,
                OrderedAmount::Fold => "",
            };
            let (least, most) = unit::apart(*least, *most, 2, c.numbers);
            format!(
                "The order, {}: no less than {} and no more than {}. The second number is the smaller.",
                OrderedName(*what).english().to_lowercase(),
                with_unit(&least, unit),
                with_unit(&most, unit)
            )
        }
        F::Beyond { counted, range } => {
            let what = if *counted { "By the count" } else { "As predicted" };
            let figure = |value| unit::figure(&Figure { value, unit: range.unit }, c);
            let (name, value, most) = (range.quantity, figure(range.value), figure(range.max));
            match range.value > range.max {
                true => format!("{what}, the {name} would be {value}; it is reckoned up to {most} only."),
                false => format!("{what}, the {name} would be {value}, which cannot be."),
            }
        }
        F::Limit(hit) => limit(hit, c),
        F::LimitUnknown { level: LimitLevel::Stop, drawn } => format!(
            "The weight is not known, and {} in 8 weeks, today included, are more than a light adult’s limit allows.",
            unit::volume(*drawn, c)
        ),
        F::BloodUntold(BloodUntold { told, whole, entered }) => {
            let told = match whole {
                true => format!("{} drawn", unit::volume(*told, c)),
                false if told.get() > 0.0 => format!("at least {} drawn", unit::volume(*told, c)),
                false => "an amount that is not known, drawn".to_owned(),
            };
            let entered = match entered {
                Some(entered) => format!("{} are entered", unit::volume(*entered, c)),
                None => "nothing is entered".to_owned(),
            };
            format!("Cases on this device tell of {told} in the eight weeks before; {entered}.")
        }
        F::NoPlan => {
            return "There is no draw plan: how much anticoagulant and blood go into a container is not known.".into();
        }
        F::RebuiltInPart => {
            return "This case was rebuilt from a code that any phone reads: checks, names, what was scanned and what a Stop rested on were not in it.".into();
        }
        F::LimitUnknown { level: LimitLevel::Caution, .. } => {
            return "The draw is large enough to be checked against limits, and what that takes is not all known.".into();
        }
        F::PlateletsLow(count) => format!(
            "The blood’s count is {}. Below {} is listed as a caution.",
            unit::count(*count, c),
            unit::count(PLATELETS_LOW, c).number
        ),
        F::HaemoglobinLow(haemoglobin) => format!(
            "Haemoglobin is {}. Below {} is listed as a caution.",
            unit::haemoglobin(*haemoglobin, c),
            unit::haemoglobin(HAEMOGLOBIN_LOW, c).number
        ),
        F::ScreeningYes(what) => format!("Answered yes: {}.", ScreeningStatement(*what).english()),
        F::ScreeningOpen => return "Not every screening question has an answer.".into(),
        F::SampleUnsaid => {
            return "It is not said what the blood count was taken from. It is taken as a laboratory EDTA tube.".into();
        }
        F::WeakSample(kind, days) => {
            let old = days.map(|days| format!(", {}", CardLine::DaysOld(days).english())).unwrap_or_default();
            format!("The blood count is a weak one: {}{old}.", SampleName(*kind).english().to_lowercase())
        }
        F::NoCount => return "The blood was not counted.".into(),
        F::HaematocritUnknown => {
            return "The haematocrit is not known, and the most plasma that can be taken depends on it."
                .into();
        }
        F::IdentityUnchecked => return "The two identifiers have not been checked with the patient.".into(),
        F::IdentityDiffers => return "What the patient stated does not agree with the order.".into(),
        F::SoundUnchecked { anticoagulant, containers } => {
            return match (anticoagulant, containers) {
                (true, true) => "Nobody has said whether anticoagulant and containers are sound and in date.",
                (true, false) => "Nobody has said whether the anticoagulant is sound and in date.",
                (false, _) => "Nobody has said whether the containers are sound and in date.",
            }
            .into();
        }
        F::DrawnWithOther { anticoagulant, container } => {
            return match (anticoagulant, container) {
                (true, true) => "Blood was drawn with another anticoagulant and into another container than are now entered.",
                (true, false) => "Blood was drawn with another anticoagulant than is now entered.",
                (false, _) => "Blood was drawn into another container than is now entered.",
            }
            .into();
        }
        F::OrderTakenOver { sign, at } => {
            format!(
                "The order was taken over from {sign}{}; nobody has held it against today’s.",
                day_of(*at, offset)
            )
        }
        F::OtherIdentifier { sign, at, others } => {
            let more = match others {
                0 => String::new(),
                n => format!(" So have {n} more."),
            };
            let day = day_of(*at, offset);
            format!(
                "{sign}{day} has this patient reference on this device with another second identifier.{more}"
            )
        }
        F::SiteChanged { then, now } => {
            let line = |p: &Placed| SiteLine { side: p.side, site: &p.site }.english();
            format!(
                "When the needle went in, side and site were: {}. Now they are: {}.",
                line(then),
                line(now)
            )
        }
        F::SiteReworded { then, now } => {
            format!("When the needle went in, the site was written {}. Now it is {}.", then.site, now.site)
        }
        F::Unsound(LotOf::Anticoagulant) => {
            return "The anticoagulant is cloudy, out of date or was opened.".into();
        }
        F::Unsound(LotOf::Containers | LotOf::Addition(_)) => {
            return "A container is cracked, was opened or is out of date.".into();
        }
        F::Expired { of, lot, last } => {
            let past = if *of == LotOf::Containers { "are past their expiry" } else { "is past its expiry" };
            let what = format!("{} {past}", lot_of(*of));
            let lot = if lot.is_empty() { "lot not entered".to_owned() } else { format!("lot {lot}") };
            format!("The {what}: {lot}, last good day {}.", unit::Day(*last).english())
        }
        F::ExpiryDiffers { of, code, entered } => {
            let code = unit::Day(*code).english();
            let entered = match entered {
                Some(day) => format!("{} is entered", unit::Day(*day).english()),
                None => "none that can be read is entered".to_owned(),
            };
            format!("The code scanned for the {} says expiry {code}; {entered}.", lot_of(*of))
        }
        F::SameProduct { of: of @ LotOf::Addition(_), product } => {
            let of = lot_of(*of);
            format!("The code scanned for the {of} is of a product scanned before the needle, {product}.")
        }
        F::SameProduct { product, .. } => {
            format!(
                "The codes scanned for the anticoagulant and for the containers are of one product, {product}."
            )
        }
        F::OtherProduct { of, scanned, expected } => {
            let what = lot_of(*of);
            format!("The code scanned for the {what} is of product {scanned}; the Bench names {expected}.")
        }
        F::ExpiryUnreadable(of) => format!("No day can be read from the expiry of the {}.", lot_of(*of)),
        F::WhiteCellsContradict => {
            return "What the order says of white cells does not agree with what the protocol does with them.".into();
        }
        F::NothingToPredictFrom => {
            return "This protocol has no counts behind it, so nothing is predicted.".into();
        }
        F::LiteratureRange => return "The range comes from published work, not from this clinic.".into(),
        F::ProductAboveBound { asked, bound } => {
            let (asked, bound) = (unit::volume(*asked, c), unit::volume(*bound, c));
            format!("The product asked for is {asked}; at most {bound} can be had.")
        }
        F::KeptAboveFill { kept, fill } => {
            let (kept, fill) = unit::apart(kept.get(), fill.get(), 1, c.numbers);
            let (kept, fill) = (with_unit(&kept, Volume::UNIT), with_unit(&fill, Volume::UNIT));
            format!(
                "{kept} of product are entered as kept, and all containers together were filled with {fill}."
            )
        }
        F::ProductOutsideRange { asked } => {
            format!("A product of {} is outside what these containers are used for.", unit::volume(*asked, c))
        }
        F::LedgerShort { missing } => format!(
            "Sites, sample and losses together need {} more than there is of the product.",
            unit::volume(*missing, c)
        ),
        F::OverRating(breach) => rating(breach, "would take", c),
        F::RanOverRating(breach) => rating(breach, "took", c),
        F::OutOfBalance { second, container, other, apart, allowed, turned } => {
            let spin = if *second { "second" } else { "first" };
            let other = match other {
                Some(other) => format!("container {}", number(*other)),
                None => "its counterweight".to_owned(),
            };
            let (apart, allowed) = unit::apart(apart.get(), allowed.get(), 1, c.numbers);
            let (apart, allowed) = (with_unit(&apart, "g"), with_unit(&allowed, "g"));
            let has = if *turned { ", and it has turned" } else { "" };
            format!(
                "By weight, container {} and {other} of the {spin} spin differ by {apart}; the rotor’s entry allows {allowed}{has}.",
                number(*container)
            )
        }
        F::RunDiffers { stage, what: RunDiffers::Clock { planned, left } } => {
            let minutes = |time: &Seconds| time.get() / 60.0;
            let (left, planned) = unit::apart(minutes(left), minutes(planned), 1, c.numbers);
            let (left, planned) = (with_unit(&left, "min"), with_unit(&planned, "min"));
            format!("From stage {} on, the times entered leave {left} for {planned} planned.", number(*stage))
        }
        F::RunDiffers { stage, what } => {
            let (ran, planned) = match what {
                RunDiffers::Speed { planned, ran } => (unit::rpm(*ran, c), unit::rpm(*planned, c)),
                RunDiffers::Time { planned, ran } | RunDiffers::Clock { planned, left: ran } => {
                    (unit::minutes(*ran, c), unit::minutes(*planned, c))
                }
            };
            format!("Stage {} ran {ran}; planned were {planned}.", number(*stage))
        }
        F::NoRating { rotor, container } => {
            return match (rotor, container) {
                (true, true) => {
                    "No highest speed is on record for the rotor, and no highest force for the container."
                }
                (true, false) => "No highest speed is on record for the rotor.",
                (false, _) => "No highest force is on record for the container.",
            }
            .into();
        }
        F::NoRotor => return "The programme turns, and no rotor is chosen.".into(),
        F::CentrifugeCheck { of, state, chosen } => {
            let of = match of {
                Checked::Speed => "speed",
                Checked::Timer => "timer",
            };
            let (one, which) = match chosen {
                true => ("this centrifuge", ""),
                false => ("a centrifuge of this rotor", " None is chosen."),
            };
            match state {
                CheckState::Failed(on) => format!(
                    "The {of} of {one} was not in order when it was last checked, on {}.{which}",
                    unit::Day(*on).english()
                ),
                CheckState::Overdue(due) => format!(
                    "The check of the {of} of {one} is overdue: it was due on {}.{which}",
                    unit::Day(*due).english()
                ),
                CheckState::Never => format!(
                    "The clinic has set how often the {of} of {one} is checked, and no check is entered.{which}"
                ),
            }
        }
        F::RatingUnchecked => {
            return "A limit of the rotor, the bucket or the container is on record, and the planned speed cannot be held against it.".into();
        }
        F::RadiusUnknown => return "A stage is planned at a radius that this rotor has no value for.".into(),
        F::PastSpinBy(by) => past("The blood was to be spun by", *by, offset),
        F::PastUseBy(by) => past("The use-by has passed: it was", *by, offset),
        F::GivenPastUseBy { at, by } => {
            let (given, by) = (beside(*at, *by, offset), beside(*by, *at, offset));
            format!("The product was given at {given}; its use-by was {by}.")
        }
        F::UseByEarlier { was, now } => {
            let (was, now) = (beside(*was, *now, offset), beside(*now, *was, offset));
            format!(
                "The use-by was {was} and is now {now}: a time was corrected after the product was collected."
            )
        }
        F::ClockWentBack => {
            return "The times entered are not in the order of the job, or lie ahead of this device’s clock."
                .into();
        }
        F::Trouble(kind, container) => return trouble::cause(*kind, *container),
        F::SpinCutShort => {
            return "The spin stopped before its time and was ended there; what is predicted was reckoned for the whole spin."
                .into();
        }
        F::SetAside(container) => {
            format!("Container {} is set aside and takes no further part.", number(*container))
        }
        F::SetAsideLate(container) => format!(
            "Container {} was set aside only after the product was collected: its blood is in the product.",
            number(*container)
        ),
        F::NothingLeft => {
            return "Every container is set aside: nothing is left to spin or to hand over.".into();
        }
        F::AboveCeiling { fold, ceiling } => {
            let (fold, ceiling) = unit::apart(fold.get(), ceiling.get(), 1, c.numbers);
            format!("The count makes {fold} times the blood’s own; the volumes allow {ceiling} at most.")
        }
        F::FoldUnlikely { fold } => format!(
            "By the count the product holds {} times the blood’s own platelets: hardly more than blood, or far from what is expected.",
            unit::fold(*fold, c)
        ),
        F::MixingUnsaid => {
            return "It is not confirmed that the counted sample was mixed and free of clumps.".into();
        }
        F::NotMixed => return "The counted sample was not mixed, or clumps were seen in it.".into(),
        F::DilutionUnsaid => {
            return "It is not said whether the counted sample was diluted, or by how much.".into();
        }
        F::ProductTubeUnsaid => {
            return "It is not said what the counted sample went into. It is taken as a tube that adds no liquid.".into();
        }
        F::CellsDilutionUnsaid => {
            return "It is not said whether white cells, red cells or haematocrit were read from the diluted sample.".into();
        }
        F::ReadingNotLinear { reading, end, above, .. } => {
            let (reading, end) = (unit::count(*reading, c), unit::count(*end, c).number);
            let (lies, ends) = if *above { ("above", "ends") } else { ("below", "begins") };
            format!(
                "A reading of {reading} lies {lies} what the analyser counts in proportion, which {ends} at {end}."
            )
        }
        F::DifferentialOver { sum } => {
            let (sum, all) = unit::apart(100.0 * sum.get(), 100.0, 0, c.numbers);
            format!(
                "Neutrophils, lymphocytes and monocytes come to {} of the white cells, more than {}.",
                with_unit(&sum, "%"),
                with_unit(&all, "%")
            )
        }
        F::VolumesOpen { found, fill, tolerance } => {
            let (found, filled) = unit::apart(found.get(), fill.get(), 1, c.numbers);
            format!(
                "Product, plasma and cells come to {}; filled were {}. The scales can be off by {}.",
                with_unit(&found, Volume::UNIT),
                with_unit(&filled, Volume::UNIT),
                unit::volume(*tolerance, c)
            )
        }
        F::PlateletsOver { found, drawn } => {
            let (found, drawn) = unit::apart(found.get(), drawn.get(), 1, c.numbers);
            format!(
                "Product and plasma hold {} platelets by their counts; drawn were {}.",
                with_unit(&found, Cells::UNIT),
                with_unit(&drawn, Cells::UNIT)
            )
        }
        F::WhiteCellsNotCounted => return "The white cells of the product were not counted.".into(),
        F::AdditionIncomplete => return "An addition lacks its name, its strength or its volume.".into(),
        F::CalciumAdded => {
            return "Calcium is added. It is a concentrated irritant, and its salt and strength decide how much is given.".into();
        }
        F::ProductNotCounted => return "The product was not counted.".into(),
        F::BloodUnknown => {
            return "The product was counted, and how much blood it came from is not known in full.".into();
        }
        F::Unread(field) => format!(
            "What is typed at “{}” cannot be read, or still asks which reading is meant.",
            Label(*field).english()
        ),
    })
}

/// A container's number as a person counts, from 1.
fn number(container: u8) -> u32 {
    u32::from(container) + 1
}

fn holds(container: Option<u8>) -> String {
    match container {
        Some(i) => format!("Container {} holds", number(i)),
        None => "The plan gives".to_owned(),
    }
}

/// A ratio and the end of its range, per 100 mL of blood.
fn per_100(ratio: AcRatio, end: AcRatio, c: &Conventions) -> (String, String) {
    let (is, end) = unit::apart(100.0 * ratio.get(), 100.0 * end.get(), 1, c.numbers);
    (with_unit(&is, "mL"), end)
}

fn past(words: &str, by: Instant, offset: Offset) -> String {
    format!("{words} {}.", unit::clock(by, offset))
}

fn limit(hit: &LimitHit, c: &Conventions) -> String {
    use LimitRule as R;
    let haemoglobin =
        matches!(hit.rule, R::HaemoglobinLow | R::HaemoglobinForVolume | R::HaemoglobinForPerKg);
    let shown = |core: f64| if haemoglobin { c.haemoglobin.from_core(core) } else { core };
    let unit = if haemoglobin { c.haemoglobin.symbol() } else { hit.value.unit };
    // A volume or a haemoglobin is read whole unless only its decimals pass the limit.
    let decimals = match hit.rule {
        R::Volume | R::EightWeeksVolume | R::Minor => 0,
        _ => 1,
    };
    let (value, limit) = unit::apart(shown(hit.value.value), shown(hit.limit.value), decimals, c.numbers);
    let value = with_unit(&value, unit);
    let today = "Today’s draw with its discards comes to";
    match hit.rule {
        R::PerKg => format!("{today} {value}; the limit is {limit}."),
        R::Share => format!("{today} {value} of the estimated blood volume; the limit is {limit}."),
        R::Volume => format!("{today} {value}; the limit is {limit}."),
        R::EightWeeksPerKg => format!("In 8 weeks, today included, {value} are drawn; the limit is {limit}."),
        R::EightWeeksVolume => {
            format!("In 8 weeks, today included, {value} are drawn; the limit is {limit}.")
        }
        R::HaemoglobinLow => format!("Haemoglobin is {value}; the limit for any draw is {limit}."),
        R::HaemoglobinForVolume => {
            format!("Haemoglobin is {value}; the limit for a draw of this volume is {limit}.")
        }
        R::HaemoglobinForPerKg => {
            format!("Haemoglobin is {value}; the limit for a draw of this size is {limit}.")
        }
        R::LightWeight => format!("{today} {value}; for a light patient the limit is {limit}."),
        R::SmallBloodVolume => format!("{today} {value}; with a small blood volume the limit is {limit}."),
        R::FirstDraw => format!("{today} {value}; at a first draw the limit is {limit}."),
        R::Minor => format!("The patient is {value} old, and this clinic prepares from {limit} on."),
    }
}

fn rating(breach: &RatingBreach, took: &str, c: &Conventions) -> String {
    let (value, limit) = unit::apart(breach.value.value, breach.limit.value, 0, c.numbers);
    format!(
        "Stage {} {took} {} to {}; its limit is {limit}.",
        breach.stage.saturating_add(1),
        RatingName(breach.rating).english(),
        with_unit(&value, breach.value.unit),
    )
}
