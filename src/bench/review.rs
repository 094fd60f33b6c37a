//! A Bench that came from elsewhere beside the one that is here: what is new, what differs, and what of it is taken. What
//! is not taken, and what only this Bench has, stays.

use super::Bench;

/// A part of a Bench that is taken or left as a whole; entries by their key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// The two lines at the head of the card.
    Clinic,
    /// Wording of card and labels.
    Wordings,
    /// Labels on stock of their own.
    Labels,
    /// Whether the code on a card carries the patient's reference.
    CodedReference,
    /// Units and number style.
    Units,
    /// Order of the text for the chart.
    ChartOrder,
    /// A container.
    Container(String),
    /// A rotor.
    Rotor(String),
    /// A protocol.
    Protocol(String),
    /// Limits of a draw, with the lead who answers for them.
    Limits,
    /// Spin-by and use-by.
    Clock,
    /// The analyser.
    Analyser,
    /// How long records are kept.
    Keeping,
}

/// How a part stands to the one here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stands {
    /// It is not here.
    New,
    /// It would take the place of what is here.
    Differs,
    /// It is only here, and stays.
    OnlyHere,
    /// It is looser than shipped and came without a lead who answers for it: it cannot be taken. The one named here answers
    /// for what stands here.
    NeedsLead,
}

/// One part that is not the same in both.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// Which.
    pub part: Part,
    /// Name of an entry, as it came; empty of other parts.
    pub name: String,
    /// Its name here, where that is another.
    pub here: Option<String>,
    /// How it stands.
    pub stands: Stands,
}

impl Difference {
    /// Whether it can be taken.
    pub fn can_be_taken(&self) -> bool {
        matches!(self.stands, Stands::New | Stands::Differs)
    }
}

/// Everything that is not the same, in the order of the Bench. A link (`unnamed`) says nothing of the clinic's lines and
/// wordings, the lead, and the reference in the code, and brings no limits looser than shipped.
pub fn differences(here: &Bench, came: &Bench, unnamed: bool) -> Vec<Difference> {
    let mut all = Vec::new();
    let mut once = |part: Part, differs: bool, stands: Stands| {
        if differs {
            all.push(Difference { part, name: String::new(), here: None, stands });
        }
    };
    let (a, b) = (&here.clinic, &came.clinic);
    let lines = (&a.name, &a.second_line) != (&b.name, &b.second_line);
    once(Part::Clinic, lines && !unnamed, Stands::Differs);
    let wordings = (&a.autologous, &a.local_line) != (&b.autologous, &b.local_line);
    once(Part::Wordings, wordings && !unnamed, Stands::Differs);
    once(Part::Labels, a.labels != b.labels, Stands::Differs);
    once(Part::CodedReference, a.coded_reference != b.coded_reference && !unnamed, Stands::Differs);
    once(Part::Units, a.conventions != b.conventions, Stands::Differs);
    once(Part::ChartOrder, a.chart != b.chart, Stands::Differs);
    let lead = came.needs_lead() || (unnamed && !came.loosened().is_empty());
    let limits = here.limits != came.limits || (here.limits_lead != came.limits_lead && !unnamed);
    once(Part::Limits, limits, if lead { Stands::NeedsLead } else { Stands::Differs });
    once(Part::Clock, here.clock != came.clock, Stands::Differs);
    once(Part::Analyser, here.analyser != came.analyser, Stands::Differs);
    once(Part::Keeping, here.keep_years != came.keep_years, Stands::Differs);
    entries(&mut all, (&here.containers, &came.containers), |c| (&c.id, &c.name), Part::Container);
    entries(&mut all, (&here.rotors, &came.rotors), |r| (&r.id, &r.name), Part::Rotor);
    entries(&mut all, (&here.protocols, &came.protocols), |p| (&p.id, &p.name), Part::Protocol);
    all
}

fn entries<T: PartialEq>(
    all: &mut Vec<Difference>,
    (here, came): (&[T], &[T]),
    named: impl Fn(&T) -> (&String, &String),
    part: impl Fn(String) -> Part,
) {
    for one in came {
        let (id, name) = named(one);
        let known = here.iter().find(|h| named(h).0 == id);
        if known.is_some_and(|known| known == one) {
            continue;
        }
        let stands = if known.is_some() { Stands::Differs } else { Stands::New };
        let other = known.map(|known| named(known).1.clone()).filter(|here| here != name);
        all.push(Difference { part: part(id.clone()), name: name.clone(), here: other, stands });
    }
    for one in here.iter().filter(|h| !came.iter().any(|c| named(c).0 == named(h).0)) {
        let (id, name) = named(one);
        let (part, name) = (part(id.clone()), name.clone());
        all.push(Difference { part, name, here: None, stands: Stands::OnlyHere });
    }
}

/// The Bench here with these parts of the other in place of its own, as far as they [can be
/// taken](Difference::can_be_taken).
pub fn taken(here: &Bench, came: &Bench, unnamed: bool, parts: &[Part]) -> Bench {
    let mut bench = here.clone();
    let all = differences(here, came, unnamed);
    for part in all.iter().filter(|d| d.can_be_taken()).map(|d| &d.part).filter(|part| parts.contains(part)) {
        let (a, b) = (&mut bench.clinic, &came.clinic);
        match part {
            Part::Clinic => {
                a.name.clone_from(&b.name);
                a.second_line.clone_from(&b.second_line);
            }
            Part::Wordings => {
                a.autologous.clone_from(&b.autologous);
                a.local_line.clone_from(&b.local_line);
            }
            Part::Labels => a.labels.clone_from(&b.labels),
            Part::CodedReference => a.coded_reference = b.coded_reference,
            Part::Units => a.conventions = b.conventions,
            Part::ChartOrder => a.chart.clone_from(&b.chart),
            Part::Container(id) => put(&mut bench.containers, &came.containers, |c| c.id == *id),
            Part::Rotor(id) => put(&mut bench.rotors, &came.rotors, |r| r.id == *id),
            Part::Protocol(id) => put(&mut bench.protocols, &came.protocols, |p| p.id == *id),
            Part::Limits => {
                bench.limits.clone_from(&came.limits);
                if !came.limits_lead.trim().is_empty() {
                    bench.limits_lead.clone_from(&came.limits_lead);
                }
            }
            Part::Clock => bench.clock.clone_from(&came.clock),
            Part::Analyser => bench.analyser.clone_from(&came.analyser),
            Part::Keeping => bench.keep_years = came.keep_years,
        }
    }
    bench
}

/// Puts the entry in the place of the one with its key, else at the end.
fn put<T: Clone>(here: &mut Vec<T>, came: &[T], is: impl Fn(&T) -> bool) {
    let Some(new) = came.iter().find(|one| is(one)) else { return };
    match here.iter_mut().find(|one| is(one)) {
        Some(old) => old.clone_from(new),
        None => here.push(new.clone()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Quantity, Volume};

    fn came() -> Bench {
        let mut came = Bench::default();
        came.clinic.name = "Harbour Lane Joint Clinic".into();
        came.containers[0].name = "Tube by the window".into();
        let mut new = came.containers[0].clone();
        (new.id, new.name) = ("new".into(), "Chamber".into());
        came.containers.push(new);
        came.rotors.remove(0);
        came
    }

    #[test]
    fn each_entry_is_told_and_taken_on_its_own_and_nothing_is_removed() {
        let (here, came) = (Bench::default(), came());
        let all = differences(&here, &came, false);
        let told: Vec<_> = all.iter().map(|d| (&d.part, d.stands)).collect();
        let first = Part::Container(here.containers[0].id.clone());
        let (new, rotor) = (Part::Container("new".into()), Part::Rotor(here.rotors[0].id.clone()));
        assert_eq!(
            told,
            [
                (&Part::Clinic, Stands::Differs),
                (&first, Stands::Differs),
                (&new, Stands::New),
                (&rotor, Stands::OnlyHere)
            ]
        );
        assert_eq!(all[1].here.as_deref(), Some(here.containers[0].name.as_str()));
        assert_eq!(taken(&here, &came, false, &[]), here);
        let some = taken(&here, &came, false, &[new]);
        assert_eq!(some.containers.len(), here.containers.len() + 1);
        assert_eq!(&some.containers[..here.containers.len()], here.containers.as_slice());
        assert_eq!((&some.rotors, &some.clinic), (&here.rotors, &here.clinic));
        let every: Vec<Part> = all.iter().filter(|d| d.can_be_taken()).map(|d| d.part.clone()).collect();
        let whole = taken(&here, &came, false, &every);
        assert!(differences(&whole, &came, false).iter().all(|d| d.stands == Stands::OnlyHere));
        assert!(Bench::from_json(&whole.to_json()).is_ok());
        assert_eq!(differences(&here, &here, false), []);
        // What a link cannot carry is no difference.
        assert!(!differences(&here, &came, true).iter().any(|d| d.part == Part::Clinic));
    }

    #[test]
    fn every_part_can_be_taken() {
        let here = Bench::default();
        let mut came = here.clone();
        came.clinic.autologous = "own blood only".into();
        came.clinic.coded_reference = true;
        came.clinic.conventions.numbers = crate::quantity::unit::NumberStyle::Comma;
        came.limits.volume_caution = Volume::new(150.0).unwrap();
        came.analyser.low = crate::quantity::CellCount::new(5.0).ok();
        came.clock.spin_by = crate::quantity::Seconds::new(3600.0).unwrap();
        came.protocols[0].name = "As we do it".into();
        came.keep_years = Some(10);
        let all = differences(&here, &came, false);
        assert_eq!(all.len(), 8, "{all:?}");
        for one in &all {
            let taken = taken(&here, &came, false, std::slice::from_ref(&one.part));
            assert_eq!(differences(&taken, &came, false).len(), 7, "{:?}", one.part);
        }
        // A link says nothing of wordings and of the reference in the code, whatever is inside it.
        let linked = differences(&here, &came, true);
        assert_eq!(linked.len(), 6, "{linked:?}");
        let every: Vec<Part> = all.into_iter().map(|d| d.part).collect();
        let taken = taken(&here, &came, true, &every);
        assert_eq!(taken.clinic.autologous, here.clinic.autologous);
        assert!(!taken.clinic.coded_reference);
    }

    #[test]
    fn limits_looser_than_shipped_are_not_taken_without_a_lead() {
        let mut here = Bench::default();
        let mut came = here.clone();
        came.limits.volume_caution = Volume::new(300.0).unwrap();
        assert!(came.needs_lead());
        assert_eq!(differences(&here, &came, true)[0].stands, Stands::NeedsLead);
        // Whoever is named here answers for what stands here, not for what came.
        here.limits_lead = "Dr A. Reyes-Lindqvist".into();
        for link in [false, true] {
            assert_eq!(differences(&here, &came, link)[0].stands, Stands::NeedsLead);
            assert_eq!(taken(&here, &came, link, &[Part::Limits]), here);
        }
        // With a lead of its own a file brings them, a link never does.
        came.limits_lead = "Dr A. Reyes-Lindqvist".into();
        assert_eq!(differences(&here, &came, true)[0].stands, Stands::NeedsLead);
        assert_eq!(taken(&here, &came, true, &[Part::Limits]), here);
        here.limits_lead.clear();
        let taken = taken(&here, &came, false, &[Part::Limits]);
        assert!(!taken.needs_lead() && taken.limits == came.limits);
    }

    #[test]
    fn years_of_keeping_that_cannot_be_are_refused() {
        for (years, fits) in [(0, false), (1, true), (100, true), (101, false), (255, false)] {
            let bench = Bench { keep_years: Some(years), ..Bench::default() };
            assert_eq!(Bench::from_json(&bench.to_json()).is_ok(), fits, "{years}");
        }
    }
}
