//! What a hand-over and the signature after it rest on, and what of it is still open.

use crate::case::Case;
use crate::draft::{CheckKind, Draft, Field};
use crate::quantity::Quantity;

/// What must be entered before the product is handed over, or before the record is signed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// When the needle went in: the use-by counts from there.
    NeedleIn,
    /// To which mark each container was filled, or that it took no blood.
    Marks,
    /// When the spin ended, where the programme turns.
    SpinEnd,
    /// When the product was collected.
    Collected,
    /// How much was kept.
    ProductKept,
    /// Who receives it.
    Receiver,
    /// Somebody else than the technician, and than who hands it over, who receives it.
    OtherReceiver,
    /// Identifiers and check sign read back.
    ReadBack,
    /// Why something was changed after the product was handed over.
    WhyChanged,
    /// Who signs.
    Technician,
    /// Why no product is handed over.
    WhyNone,
    /// That a reason why none is handed over is taken out: it is one or the other.
    NotBoth,
}

/// What is still open, in the order of the job.
pub fn needs(draft: &Draft, case: &Case) -> Vec<Need> {
    let times = &case.times;
    let turns = case.protocol.as_ref().is_some_and(|p| p.programme.0.iter().any(|s| s.speed().is_some()));
    let mut open = Vec::new();
    let mut need = |missing: bool, what| {
        if missing {
            open.push(what);
        }
    };
    need(times.needle_in.is_none(), Need::NeedleIn);
    need(turns && times.spin_end.is_none(), Need::SpinEnd);
    need(times.collected.is_none(), Need::Collected);
    need(case.collect.actual.is_none_or(|v| v.get() <= 0.0), Need::ProductKept);
    need(draft.text(Field::HandedTo).trim().is_empty(), Need::Receiver);
    need(draft.receives_own(), Need::OtherReceiver);
    need(!case.checks.contains_key(&CheckKind::HandOver), Need::ReadBack);
    need(!draft.text(Field::NoProduct).trim().is_empty(), Need::NotBoth);
    need(draft.reason_wanted(), Need::WhyChanged);
    open
}

/// What the signature still needs, with a hand-over or without one. What went worst has to be recorded too, so that
/// neither an open Stop nor anything else of the product is asked for: the record keeps open what is open. Without a
/// product nothing else says how much blood came.
pub fn needs_to_sign(draft: &Draft, case: &Case) -> Vec<Need> {
    let over = draft.times.handed_over.is_some();
    let untold = |field| draft.text(field).trim().is_empty();
    let unmarked = case.draw.containers.iter().any(|c| !c.set_aside && c.fill.is_none());
    let all = [
        (!over && draft.times.needle_in.is_none(), Need::NeedleIn),
        (!over && unmarked, Need::Marks),
        (!over && untold(Field::NoProduct), Need::WhyNone),
        (draft.reason_wanted(), Need::WhyChanged),
        (untold(Field::Technician), Need::Technician),
    ];
    all.into_iter().filter_map(|(open, need)| open.then_some(need)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::{Check, CheckSign, SampleDilution, Side, Since, Trouble, TroubleKind, WhiteCellOrder};
    use crate::quantity::time::Instant;
    use crate::quantity::unit::Conventions;
    use crate::words::Language;

    fn open(draft: &Draft) -> Vec<Need> {
        needs(draft, &crate::case::read(draft, Language::English).0)
    }

    fn to_sign(draft: &Draft) -> Vec<Need> {
        needs_to_sign(draft, &crate::case::read(draft, Language::English).0)
    }

    #[test]
    fn nothing_is_handed_over_before_draw_spin_and_collection_are_entered() {
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let mut left = vec![
            Need::NeedleIn,
            Need::SpinEnd,
            Need::Collected,
            Need::ProductKept,
            Need::Receiver,
            Need::ReadBack,
        ];
        let steps: [fn(&mut Draft); 6] = [
            |d| d.times.needle_in = Some(Instant(1)),
            |d| d.times.spin_end = Some(Instant(2)),
            |d| d.times.collected = Some(Instant(3)),
            |d| d.write(Field::ProductActual, "4"),
            |d| d.write(Field::HandedTo, "Dr A. Reyes-Lindqvist"),
            |d| {
                d.checks.insert(
                    CheckKind::HandOver,
                    Check { by: "MO".into(), at: Instant(4), of: String::new() },
                );
            },
        ];
        for step in steps {
            assert_eq!(open(&d), left);
            step(&mut d);
            left.remove(0);
        }
        assert_eq!(open(&d), []);
        for same in ["MO", " m o "] {
            d.write(Field::HandedTo, same);
            assert_eq!(open(&d), [Need::OtherReceiver], "{same}");
        }
        d.write(Field::HandedTo, "JT");
        for none in ["0", "four"] {
            d.write(Field::ProductActual, none);
            assert_eq!(open(&d), [Need::ProductKept], "{none}");
        }
    }

    #[test]
    fn what_is_changed_after_the_hand_over_wants_a_reason_before_the_signature() {
        let sign = CheckSign::pick(0, &[]);
        let mut d = Draft::demo("d".into(), sign, Instant(0), Conventions::default());
        d.write(Field::ProductActual, "4");
        d.hand_over(Instant(5));
        let untold = |d: &Draft| open(d).contains(&Need::WhyChanged);
        // What was empty is added to, not changed; a note is a note.
        for typed in ["9", "93", "938"] {
            d.write(Field::Reading(0), typed);
        }
        d.write(Field::Notes, "calm");
        d.write(Field::Notes, "calm, slow");
        assert!(!untold(&d));
        d.write(Field::ProductActual, "4.2");
        d.write(Field::ProductActual, "4.3");
        assert!(untold(&d));
        assert_eq!(d.changed_since_hand_over(), [(Since::Text(Field::ProductActual, "4".into()), None)]);
        let why = |d: &mut Draft, text: &str| d.type_in(Field::WhyChanged, text, Instant(6), None);
        why(&mut d, "misread the syringe");
        assert!(!untold(&d));
        d.write(Field::PartGiven(0), "2");
        assert!(!untold(&d), "what was empty");
        d.write(Field::OrderVolume, "2");
        assert!(untold(&d), "not what the syringe is the reason for");
        d.write(Field::OrderVolume, "3");
        assert!(!untold(&d));
        why(&mut d, "");
        d.write(Field::ProductActual, "");
        assert!(untold(&d), "taken out is changed too");
        d.write(Field::ProductActual, "4");
        assert!(!untold(&d), "as it stood at the hand-over");
        // The side, and whatever else was chosen; what was not said may be said.
        d.choices.dilution = Some(SampleDilution::Undiluted);
        assert!(!untold(&d));
        d.choices.side = Some(Side::Left);
        assert_eq!(d.changed_since_hand_over(), [(Since::Side(Side::Right), None)]);
        d.choices.side = Some(Side::Right);
        d.choices.white_cells = Some(WhiteCellOrder::Wanted);
        assert!(!untold(&d), "not said when it was handed over");
        d.choices.each_part = true;
        assert_eq!(d.changed_since_hand_over(), [(Since::Choices, None)]);
        d.choices.each_part = false;
        // Taken back and handed over anew, it does not get round the reason.
        d.write(Field::ProductActual, "4.2");
        d.checks.insert(CheckKind::HandOver, Check { by: "MO".into(), at: Instant(4), of: String::new() });
        d.not_handed_over(Instant(6));
        assert!(untold(&d) && open(&d).contains(&Need::ReadBack));
        d.hand_over(Instant(7));
        assert!(untold(&d));
        let [first, second] = &d.hand_overs[..] else { panic!("{:?}", d.hand_overs) };
        assert_eq!(first.taken_back.as_ref().map(|c| c.at), Some(Instant(6)));
        assert_eq!((first.texts[&Field::ProductActual].as_str(), second.taken_back.is_none()), ("4", true));
        d.write(Field::ProductActual, "4");
        assert!(untold(&d), "4.2 mL were handed over the second time");
    }

    #[test]
    fn the_signature_asks_who_and_why_and_nothing_of_the_product() {
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        d.write(Field::Technician, " ");
        assert_eq!(to_sign(&d), [Need::NeedleIn, Need::Marks, Need::WhyNone, Need::Technician]);
        d.times.needle_in = Some(Instant(1));
        d.write(Field::NoProduct, "both containers clotted");
        // One set aside is not asked for; no blood is a mark too.
        d.troubles.push(Trouble {
            kind: TroubleKind::Clot,
            container: Some(1),
            at: Instant(2),
            by: "MO".into(),
            set_aside: true,
            aside: None,
            collected: false,
            withdrawn: None,
        });
        for (mark, asked) in [("", true), ("full", true), ("2", false), ("1", false)] {
            d.write(Field::FillActual(0), mark);
            assert_eq!(to_sign(&d).contains(&Need::Marks), asked, "{mark}");
        }
        d.write(Field::Technician, "MO");
        // Typed it decides nothing, but that nothing is handed over beside it.
        assert_eq!((to_sign(&d), d.without_product()), (vec![], None));
        assert!(open(&d).contains(&Need::NotBoth));
        d.ended_without = Some(Instant(4));
        assert_eq!(d.without_product(), Some("both containers clotted"));
        d.ended_without = None;
        d.write(Field::NoProduct, " ");
        assert!(!open(&d).contains(&Need::NotBoth));
        // What was changed since a hand-over wants its reason, and nothing else.
        d.write(Field::ProductActual, "4");
        d.hand_over(Instant(5));
        assert_eq!((to_sign(&d), d.without_product()), (vec![], None));
        d.write(Field::ProductActual, "0");
        d.checks.clear();
        assert_eq!(to_sign(&d), [Need::WhyChanged]);
        d.type_in(Field::WhyChanged, "it was spilt", Instant(6), None);
        assert_eq!(to_sign(&d), []);
    }

    #[test]
    fn a_programme_that_does_not_turn_has_no_end_of_the_spin() {
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        d.kit.protocol.as_mut().unwrap().programme.0.clear();
        assert!(!open(&d).contains(&Need::SpinEnd));
    }
}
