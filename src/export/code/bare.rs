//! What of a case may stand where any phone can read it.

use crate::arrange::gather;
use crate::draft::{Check, CheckKind, Choices, Correction, Discard, Draft, DrawnTo, Field, Kit, Trouble};
use crate::log::Centrifuges;
use crate::quantity::read::{Reading, read};
use crate::quantity::time::Instant;
use crate::quantity::time::read::{
    DateReading, DateRefusal, TimeReading, date, date_and_time, last_day_of_month, time_of_day,
};
use crate::quantity::unit::Conventions;
use crate::spin::programme::Stage;
use crate::words::Language;

/// Longest reference or lot that is taken for one: a lot of a GS1 code has 20 at most.
const LONGEST: usize = 20;

/// Quantities, lots and times; the patient reference where it is said to be a coded one. What a person is, said,
/// answered or is called stays out, and so does every word that somebody typed.
pub(super) fn bare(draft: &Draft, reference: bool) -> Draft {
    let mut bare = Draft::new(draft.id.clone(), draft.sign, second(draft.begun), draft.conventions);
    let texts = draft.texts.iter().filter(|(field, text)| match field {
        Field::PatientReference => reference && coded(text),
        Field::AnticoagulantLot | Field::ContainerLot | Field::AdditionLot(_)
            if names_somebody(draft, text) =>
        {
            false
        }
        _ => stands(**field, text, &draft.conventions),
    });
    bare.texts = gather(texts.map(|(field, text)| (*field, text.trim().to_owned())));
    let lots = draft.corrected_lots.iter().filter(|(field, text)| {
        text.is_empty()
            || !names_somebody(draft, text)
                && field.kind().is_none()
                && stands(**field, text, &draft.conventions)
    });
    bare.corrected_lots = gather(lots.map(|(field, text)| (*field, text.clone())));
    bare.demo = draft.demo;
    bare.offset = draft.offset;
    bare.stage = draft.stage;
    bare.rows = draft.rows;
    bare.kit = kit(&draft.kit);
    bare.choices = choices(&draft.choices);
    bare.times = draft.times.clone();
    let times = &mut bare.times;
    let single = [
        &mut times.needle_in,
        &mut times.needle_out,
        &mut times.spin_end,
        &mut times.collected,
        &mut times.counted,
        &mut times.handed_over,
    ];
    single.into_iter().flatten().chain(times.stages.values_mut()).for_each(to_second);
    times.interrupted.iter_mut().for_each(|run| {
        to_second(&mut run.began);
        to_second(&mut run.stopped);
    });
    times.stops.iter_mut().for_each(|stop| {
        to_second(&mut stop.at);
        stop.weighed.retain(|field, text| stands(*field, text, &draft.conventions));
    });
    let correction = |c: &Correction| Correction {
        what: c.what,
        was: second(c.was),
        now: second(c.now),
        by: String::new(),
        at: second(c.at),
    };
    bare.corrections = draft.corrections.iter().map(correction).collect();
    // A check by nobody is none; what told against going on stays.
    let against = draft.checks.iter().filter(|(kind, _)| {
        matches!(
            kind,
            CheckKind::IdentityDiffers | CheckKind::AnticoagulantUnsound | CheckKind::ContainersUnsound
        )
    });
    bare.checks = gather(against.map(|(kind, check)| (*kind, by_nobody(check))));
    bare.troubles = draft.troubles.iter().map(trouble).collect();
    bare.discards = draft.discards.iter().map(|d| discard(draft, d)).collect();
    bare.given_ahead = gather(draft.given_ahead.iter().map(|(f, typed)| (*f, typed.trim().to_owned())));
    bare.given_ahead.retain(|field, text| stands(*field, text, &draft.conventions));
    bare.ended_without = draft.ended_without.map(second);
    bare.drawn_to = draft.drawn_to.as_ref().map(|to| DrawnTo { container: None, ..to.clone() });
    bare
}

/// Whether the patient reference is in it.
pub(super) fn has_reference(draft: &Draft, reference: bool) -> bool {
    reference && coded(draft.text(Field::PatientReference))
}

/// Whether a text of a field is the quantity, the lot or the date that belongs there.
fn stands(field: Field, text: &str, c: &Conventions) -> bool {
    match field {
        // Of the person, not of the preparation.
        Field::Weight | Field::Height | Field::Age | Field::PreviousBlood => false,
        Field::AnticoagulantLot | Field::ContainerLot | Field::AdditionLot(_) => coded(text),
        Field::AnticoagulantExpiry | Field::ContainerExpiry | Field::AdditionExpiry(_) => {
            // A stored text has no language; names of months are read in the first.
            let months = Language::English.months();
            matches!(date(text, months), DateReading::Date(_)) || last_day_of_month(text, months).is_some()
        }
        Field::PartGivenAt(_) => {
            matches!(time_of_day(text), TimeReading::Time(_))
                || date_and_time(text, Language::English.months()).is_some()
        }
        field => field
            .kind()
            .is_some_and(|kind| matches!(read(text, kind, c), Reading::Value { .. } | Reading::Ask { .. })),
    }
}

/// Whether a text is a code and not a name or a date: no space, a figure in it, no more than [`LONGEST`] letters.
fn coded(text: &str) -> bool {
    let text = text.trim();
    text.len() <= LONGEST
        && text.bytes().all(|b| b.is_ascii_alphanumeric() || b"-./_#+".contains(&b))
        && text.bytes().any(|b| b.is_ascii_digit())
        && matches!(
            date(text, Language::English.months()),
            DateReading::Wrong(DateRefusal::NotADate | DateRefusal::TooLong)
        )
        && last_day_of_month(text, Language::English.months()).is_none()
        && !day_in_figures(text)
}

/// Whether a text is six or eight figures that could be a day in some order, such as a birth date.
fn day_in_figures(text: &str) -> bool {
    let two = |at: usize| text.get(at..at.checked_add(2)?)?.parse::<u8>().ok();
    let day = |a: Option<u8>, b: Option<u8>| {
        let fits = |day: u8, month: u8| (1..=31).contains(&day) && (1..=12).contains(&month);
        a.zip(b).is_some_and(|(a, b)| fits(a, b) || fits(b, a))
    };
    let orders: &[(usize, usize)] = match text.len() {
        6 => &[(0, 2), (2, 4)],
        8 => &[(0, 2), (4, 6)],
        _ => &[],
    };
    text.bytes().all(|b| b.is_ascii_digit()) && orders.iter().any(|(a, b)| day(two(*a), two(*b)))
}

/// Whether what stands as a lot is, or holds, or is held by, what names a person in this case: it was scanned or typed
/// into the wrong field.
fn names_somebody(draft: &Draft, text: &str) -> bool {
    let plain = |text: &str| {
        text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>()
    };
    let lot = plain(text);
    let who = draft.texts.keys().copied().filter(|field| field.is_who());
    let names = Field::IDENTIFIERS.into_iter().filter(|field| *field != Field::Site).chain(who);
    let mut names = names.flat_map(|field| {
        let whole = draft.text(field);
        std::iter::once(plain(whole)).chain(whole.split(|c: char| !c.is_alphanumeric()).map(plain))
    });
    names.any(|name| name.len() > 2 && (lot.contains(&name) || name.contains(&lot)))
}

pub(super) fn second(at: Instant) -> Instant {
    Instant(at.0.saturating_sub(at.0.rem_euclid(1000)))
}

fn to_second(at: &mut Instant) {
    *at = second(*at);
}

fn by_nobody(check: &Check) -> Check {
    Check { by: String::new(), at: second(check.at), of: String::new() }
}

fn trouble(t: &Trouble) -> Trouble {
    Trouble {
        at: second(t.at),
        by: String::new(),
        aside: t.aside.as_ref().map(by_nobody),
        withdrawn: t.withdrawn.as_ref().map(by_nobody),
        ..t.clone()
    }
}

/// Its numbers and its lot.
fn discard(draft: &Draft, d: &Discard) -> Discard {
    let lot = if coded(&d.lot) && !names_somebody(draft, &d.lot) { d.lot.clone() } else { String::new() };
    Discard {
        lot,
        what: String::new(),
        why: String::new(),
        by: String::new(),
        at: second(d.at),
        withdrawn: d.withdrawn.as_ref().map(by_nobody),
        ..d.clone()
    }
}

/// Its numbers, without the clinic's names for it.
fn kit(kit: &Kit) -> Kit {
    let mut kit = Kit { centrifuge: None, centrifuges: Centrifuges::default(), ..kit.clone() };
    let keys = [
        kit.container.as_mut().map(|c| &mut c.id),
        kit.rotor.as_mut().map(|r| &mut r.id),
        kit.protocol.as_mut().map(|p| &mut p.id),
    ];
    keys.into_iter().flatten().for_each(String::clear);
    names(&mut kit, String::clear);
    kit
}

/// Everything in a kit that the clinic named in words.
pub(super) fn names(kit: &mut Kit, act: impl Fn(&mut String)) {
    let Kit { container, protocol, rotor, .. } = kit;
    let stages = protocol.as_mut().map(|p| (&mut p.name, p.programme.0.iter_mut()));
    let mut words: Vec<&mut String> = Vec::new();
    words.extend(container.as_mut().map(|c| &mut c.name));
    words.extend(rotor.as_mut().map(|r| &mut r.name));
    if let Some((name, stages)) = stages {
        words.push(name);
        words.extend(stages.filter_map(|stage| match stage {
            Stage::Handling { what, .. } => Some(what),
            _ => None,
        }));
    }
    words.into_iter().for_each(act);
}

/// How quantities are meant; nothing of the person, and not where the product goes.
fn choices(all: &Choices) -> Choices {
    Choices {
        white_cells: all.white_cells,
        one_container: all.one_container,
        order_sense: all.order_sense.clone(),
        each_part: all.each_part,
        count: all.count,
        sample: all.sample,
        agent: all.agent,
        convention: all.convention,
        additions: all.additions.clone(),
        dilution: all.dilution,
        product_tube: all.product_tube,
        cells_dilution: all.cells_dilution,
        mixed_no_clumps: all.mixed_no_clumps,
        count_later: all.count_later,
        brakes: all.brakes.clone(),
        ..Choices::default()
    }
}
