//! What to lay out for a case: each thing that the plan, the order and the labels name.

use super::card::{Block, Given, Pen};
use super::label::{LabelKind, labels};
use crate::assess::draw::Standing;
use crate::case::AdditionTyped;
use crate::draft::CountStanding;
use crate::finding::Level;
use crate::quantity::{Quantity, Volume};
use crate::words::set_out::{SetOutLine as Line, SetOutSays as Says, SetOutWord as Word};

/// The list as a paper; each line has a box to tick.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetOut {
    /// Clinic.
    pub clinic: Vec<String>,
    /// What the paper is.
    pub title: String,
    /// That it is a demo.
    pub tag: Option<String>,
    /// Check sign.
    pub sign: String,
    /// Patient, site, who.
    pub who: Vec<Block>,
    /// What to lay out.
    pub lines: Vec<String>,
    /// What it is made from, and what is not in it.
    pub what: String,
    /// What always stands at the foot.
    pub notice: Vec<String>,
}

/// The list of a case on paper.
pub fn paper(given: Given<'_>) -> SetOut {
    let card = super::card::card(given);
    let pen = Pen::new(given);
    SetOut {
        clinic: card.clinic,
        title: pen.say(Word::Title),
        tag: card.tag,
        sign: given.draft.sign.to_string(),
        who: card.who,
        lines: lines(given),
        what: pen.say(Says::What),
        notice: card.notice,
    }
}

/// What to lay out, in the order it is used. Empty while a Stop without a way past stands, and once the needle was in; a
/// Stop that waits for the prescriber stands first.
pub fn lines(given: Given<'_>) -> Vec<String> {
    let pen = Pen::new(given);
    let stopped = |level| given.answer.findings.iter().any(|f| f.level == level && f.is_open());
    if stopped(Level::StopFinal) || given.draft.times.needle_in.is_some() {
        return Vec::new();
    }
    let waits = stopped(Level::StopClinician).then(|| pen.say(Says::AskFirst));
    let mut all: Vec<String> = waits.into_iter().chain([pen.say(Word::Sticker)]).collect();
    all.extend(pen.labels_line());
    all.extend(given.case.discard.filter(|v| v.get() > 0.0).map(|v| pen.say(Line::Discard(pen.vol(v)))));
    if given.case.baseline.standing == Some(CountStanding::NoCount) {
        all.push(pen.say(Word::BloodTube));
    }
    all.extend(pen.to_fill());
    if given.case.protocol.as_ref().is_some_and(|p| p.programme.0.iter().any(|stage| stage.speed().is_some()))
    {
        let odd = pen.in_hand().map(|n| n % 2 == 1);
        all.extend(odd.map(|odd| if odd { pen.say(Says::Counterweight) } else { pen.say(Word::Pairs) }));
    }
    all.extend(pen.for_product());
    all
}

impl Pen<'_> {
    fn vol(&self, v: Volume) -> String {
        self.volume(v).to_string()
    }

    fn labels_line(&self) -> Option<String> {
        let labels = labels(self.given)?;
        let sign = self.given.draft.sign.to_string();
        let large = labels.large.iter().filter(|label| label.kind != LabelKind::Withheld).count();
        Some(self.say(Line::Labels(large, labels.small.len(), sign)))
    }

    /// Containers that take part, an extra one too; `None` without a plan.
    fn in_hand(&self) -> Option<usize> {
        let draw = &self.given.answer.draw;
        let planned = usize::from(draw.plan.as_ref()?.containers);
        let part = draw.containers.iter().filter(|c| !c.set_aside).count();
        Some(if draw.containers.is_empty() { planned } else { part })
    }

    /// Containers and their anticoagulant.
    fn to_fill(&self) -> Vec<String> {
        let (draw, answer) = (&self.given.case.draw, &self.given.answer.draw);
        let Some(container) = &draw.container else { return vec![self.say(Word::NoContainer)] };
        let (Some(plan), Some(count)) = (&answer.plan, self.in_hand()) else {
            return vec![container.name.clone(), self.say(Word::NoAmount)];
        };
        let now = answer.now.as_ref().filter(|now| now.standing == Standing::Planned);
        let each = plan.rounded.value.split.anticoagulant;
        let name = self.agent().unwrap_or_default();
        let agent = match &container.prefill {
            Some(_) => Line::Prefilled(name, self.vol(each)),
            None => Line::Agent {
                name,
                all: now.map(|now| self.vol(now.anticoagulant.value)),
                each: self.vol(each),
                step: self.vol(container.anticoagulant_graduation),
            },
        };
        vec![self.say(Line::Containers(count, container.name.clone())), self.say(agent)]
    }

    /// What takes the product, and what goes into it.
    fn for_product(&self) -> Vec<String> {
        let case = self.given.case;
        let parts = case.order.parts.iter().filter_map(|part| {
            let volume = part.planned.map(|v| self.vol(v));
            let said = [Some(part.name.trim().to_owned()), volume];
            let said: Vec<String> = said.into_iter().flatten().filter(|s| !s.is_empty()).collect();
            (!said.is_empty()).then(|| said.join(" "))
        });
        let mut parts: Vec<String> = parts.collect();
        if parts.is_empty() {
            parts.extend(case.order.volume.map(|v| self.vol(v)));
        }
        let mut all = vec![self.say(Line::Syringes(parts))];
        let sample = case.protocol.as_ref().map(|p| p.count_sample).filter(|v| v.get() > 0.0);
        all.extend(sample.map(|v| self.say(Line::Sample(self.vol(v)))));
        all.extend((0u8..).zip(&case.additions).map(|(row, added)| {
            let agent = match added {
                AdditionTyped::Whole(a) => Some(&a.agent),
                AdditionTyped::Partial => None,
            };
            self.say(Line::Added(self.added(row, agent)))
        }));
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::Check;
    use crate::draft::{AdditionChoice, CheckKind, CheckSign, Draft, Field};
    use crate::export::trial::with;
    use crate::quantity::time::Instant;
    use crate::quantity::unit::Conventions;

    fn demo() -> Draft {
        Draft::demo("a".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default())
    }

    fn list(draft: &Draft) -> Vec<String> {
        with(draft, None, lines).into_iter().map(|line| line.replace('\u{a0}', " ")).collect()
    }

    #[test]
    fn the_list_follows_plan_order_and_labels() {
        let mut d = demo();
        let sign = d.sign;
        let all = list(&d);
        assert_eq!(
            all,
            [
                "The patient’s sticker".to_owned(),
                format!(
                    "5 labels with check sign {sign}: 2 for what is made, 3 for containers and anticoagulant"
                ),
                "2 containers: Tube, filled to 15 mL".to_owned(),
                "ACD-A: 4 mL in all, 2 mL into each container; a syringe in steps of 0.2 mL".to_owned(),
                "A balance: weigh the filled containers against each other, in pairs".to_owned(),
                all[5].clone(),
                all[6].clone(),
            ]
        );
        assert!(all[5].starts_with("2 syringes for the product: "), "{all:?}");
        assert!(all[6].starts_with("A tube for the sample that is counted: 0.2 mL"), "{all:?}");
        d.write(Field::Containers, "3");
        d.write(Field::Discard, "5");
        d.choices.count = Some(CountStanding::NoCount);
        d.rows.additions = 1;
        d.choices.additions.insert(0, AdditionChoice::AutologousThrombin);
        let more = list(&d);
        for part in [
            "3 containers",
            "6 mL in all",
            "A counterweight",
            "discarded first: 5 mL",
            "A tube for the blood’s own count",
            "For the product, as ordered: ",
        ] {
            assert!(more.iter().any(|line| line.contains(part)), "{part:?} in {more:#?}");
        }
        // One more than planned counts; a Stop for the prescriber stands first; what is typed of a container early changes
        // nothing of the plan.
        let mut stopped = d.clone();
        stopped.choices.agent = Some(crate::blood::anticoagulant::Agent::Heparin);
        assert!(list(&stopped)[0].starts_with("A Stop is open"), "{:?}", list(&stopped));
        let mut early = demo();
        early.write(Field::FillActual(0), "15");
        assert!(
            list(&early).iter().any(|line| line.contains("2 mL into each container")),
            "{:?}",
            list(&early)
        );
        early.times.needle_in = Some(Instant(5));
        assert!(list(&early).is_empty());
        d.kit.protocol = None;
        assert!(!list(&d).iter().any(|line| line.contains("counterweight")), "nothing is spun");
        d.kit.container = None;
        assert!(list(&d).contains(&"Containers: none chosen yet".to_owned()));
    }

    #[test]
    fn nothing_is_laid_out_against_a_stop() {
        let mut d = demo();
        d.checks.insert(
            CheckKind::ContainersUnsound,
            Check { by: "MO".into(), at: Instant(5), of: String::new() },
        );
        assert!(list(&d).is_empty());
    }

    #[test]
    fn the_paper_names_the_case() {
        let made = with(&demo(), None, paper);
        assert_eq!((made.sign, made.tag.as_deref()), (demo().sign.to_string(), Some("Demo, not a patient")));
        assert!(made.lines.len() > 5 && !made.notice.is_empty() && !made.who.is_empty());
    }
}
