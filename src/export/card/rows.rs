//! The first table of the card: planned and done.

use super::{Pen, Row, Run, Table, Text};
use crate::arrange::{gather, sort_by_key};
use crate::assess::balance::weighed_at;
use crate::assess::draw::{ContainerNow, Standing};
use crate::assess::spin::StageResult;
use crate::case::{AdditionTyped, Expiry, StageRun, Weighed};
use crate::draft::{AdditionChoice, CheckKind, CountStanding, Field, TimeOf};
use crate::export::sampled::sampled;
use crate::finding::LotOf;
use crate::product::addition::AdditionAgent;
use crate::quantity::{Quantity, Rcf, Rpm, Seconds};
use crate::spin::programme::{Speed, Stage, StageForce};
use crate::spin::rcf::RadiusKind;
use crate::words::card::{CardLine, CardWord, UseByLine};
use crate::words::choice::{AdditionName, BrakeName, CheckName, CountStandingName, RadiusShort, SampleName};
use crate::words::log::MachineName;
use crate::words::rotor::{SidesWeighed, WeighedSaid};
use crate::words::times::RunAgain;
use crate::words::unit::{self, Written};
use std::collections::BTreeMap;

pub(super) fn row(cells: Vec<Text>) -> Row {
    Row { cells, sum: false }
}

/// Plain pieces one after another.
pub(super) fn listed(parts: impl IntoIterator<Item = String>) -> Text {
    let text = parts.into_iter().filter(|s| !s.is_empty()).collect::<Vec<_>>().join("; ");
    if text.is_empty() { Vec::new() } else { vec![Run::Plain(text)] }
}

pub(super) fn text(words: String) -> Text {
    if words.is_empty() { Vec::new() } else { vec![Run::Plain(words)] }
}

/// Amounts with commas between.
fn amounts(written: impl IntoIterator<Item = Written>) -> Text {
    let mut out = Text::new();
    for w in written {
        if !out.is_empty() {
            out.push(Run::Plain(", ".to_owned()));
        }
        out.push(Run::amount(w));
    }
    out
}

impl Pen<'_> {
    /// Planned and done, in the order of the job.
    pub(super) fn done(&self) -> Table {
        let columns = [CardWord::Planned, CardWord::Done, CardWord::Time, CardWord::By, CardWord::With];
        let columns = std::iter::once(String::new()).chain(columns.map(|w| self.say(w))).collect();
        let mut rows = vec![self.blood_count(), self.anticoagulant(), self.containers(), self.blood()];
        rows.extend(self.spins());
        rows.extend(self.product());
        rows.extend(self.product_count());
        rows.extend(self.additions());
        Table { heading: self.say(CardWord::PlannedAndDone), columns, rows }
    }

    /// Who did a stage; where nobody is named, a line for a hand.
    fn by(&self, field: Field) -> Text {
        match self.typed(field) {
            Some(who) => vec![Run::Plain(who.to_owned())],
            None => vec![Run::Rule],
        }
    }

    fn count_method(&self) -> Option<&str> {
        self.given.case.baseline.reading?;
        self.typed(Field::BloodCountMethod)
    }

    fn blood_count(&self) -> Row {
        let b = &self.given.case.baseline;
        let done = match b.reading {
            Some(reading) => vec![Run::amount(unit::count(reading, &self.c))],
            None if self.given.case.is_unread(Field::BloodCount) => {
                vec![Run::Heavy(self.say(CardWord::NotRead))]
            }
            None => vec![Run::Heavy(self.say(CardWord::NotCounted))],
        };
        let told = sampled(self.given.draft, self.given.case).map(|s| s.said(self.given.language));
        let standing = b.standing.filter(|_| b.reading.is_some()).map(|s| match s {
            CountStanding::Today => self.say(CardWord::Today),
            other => self.say(CountStandingName(other)),
        });
        let time = told.or(standing).unwrap_or_default();
        let native = self.given.answer.product.native.as_ref();
        let with = [
            b.sample.filter(|_| b.reading.is_some()).map(|s| self.say(SampleName(s))),
            self.count_method().map(|by| self.say(CardLine::CountedBy(by.to_owned()))),
            native.map(|n| self.say(CardLine::Corrected(unit::count(n.count.value, &self.c).to_string()))),
            b.haematocrit.map(|h| self.say(CardLine::Haematocrit(unit::haematocrit(h, &self.c).to_string()))),
            b.haemoglobin.map(|h| self.say(CardLine::Haemoglobin(unit::haemoglobin(h, &self.c).to_string()))),
            b.white.map(|w| self.say(CardLine::White(unit::count(w, &self.c).to_string()))),
        ];
        let name = vec![self.word(CardWord::BloodCount)];
        // Who counted is nowhere asked: a laboratory, or anybody with an analyser.
        row(vec![name, Vec::new(), done, text(time), Vec::new(), listed(with.into_iter().flatten())])
    }

    /// Lot and expiry as typed, or as read from a code.
    fn lot(&self, of: LotOf) -> Vec<String> {
        let (draft, draw) = (self.given.draft, &self.given.case.draw);
        let fields = of.fields();
        let code = draft.scanned(of);
        let [lot, expiry] = fields.map(|field| self.typed(field));
        let lot = match lot.map(str::to_owned) {
            Some(t) if code.as_ref().is_some_and(|code| code.lot.as_ref() == Some(&t)) => {
                self.say(CardLine::LotScanned(t))
            }
            Some(t) => self.say(CardLine::Lot(t)),
            None => self.say(CardWord::NoLot),
        };
        let entered = match of {
            LotOf::Anticoagulant => draw.anticoagulant_expiry,
            LotOf::Containers => draw.container_expiry,
            LotOf::Addition(row) => {
                self.given.case.addition_lots.get(usize::from(row)).map(|(_, e)| *e).unwrap_or_default()
            }
        };
        let typed = expiry.map(str::to_owned);
        let expiry = match (code.and_then(|code| code.expiry), typed) {
            (Some(day), Some(t)) if t == day.to_string() => Some(CardLine::ExpiryScanned(t)),
            (Some(day), typed) if entered != Expiry::Last(day) => Some(CardLine::ExpiryBesideCode {
                typed: typed.unwrap_or_default(),
                code: self.say(unit::Day(day)),
            }),
            (_, typed) => typed.map(CardLine::Expiry),
        };
        let mut said = vec![lot];
        said.extend(expiry.map(|line| self.say(line)));
        let before = |field| draft.corrected_lots.get(&field).cloned();
        let [lot, expiry] = fields.map(before);
        let corrected = [lot.map(CardLine::LotCorrected), expiry.map(CardLine::ExpiryCorrected)];
        said.extend(corrected.into_iter().flatten().map(|line| self.say(line)));
        let others = draft.other_products(of);
        if !others.is_empty() {
            said.push(self.say(CardLine::OtherProductScanned(others)));
        }
        said
    }

    /// That a lot was looked at and found sound; of which, where another one stands there now.
    fn sound(&self, kind: CheckKind) -> Option<String> {
        let (check, _) = self.check(kind)?;
        let (what, lot) = (self.say(CheckName(kind)), check.of.clone());
        Some(if lot.is_empty() { what } else { self.say(CardLine::CheckOfLot { what, lot }) })
    }

    fn anticoagulant(&self) -> Row {
        let draw = &self.given.answer.draw;
        let plan = draw.plan.as_ref();
        let n = plan.map(|p| p.containers).or(self.given.case.draw.planned).unwrap_or(1);
        let name = match self.agent() {
            Some(agent) => self.line(CardLine::AgentInEach { agent, n }),
            None => self.word(CardWord::Anticoagulant),
        };
        let planned = self.amount(plan.map(|p| p.rounded.value.split.anticoagulant));
        let inside = draw.containers.iter().filter(|c| c.entered).filter_map(|c| c.split);
        let inside = inside.map(|s| self.volume(s.anticoagulant));
        let inside: Vec<Written> = inside.collect();
        let done = match inside.first() {
            Some(first) if inside.iter().all(|w| w == first) => vec![Run::amount(first.clone())],
            _ => amounts(inside),
        };
        let check = self.check(CheckKind::Anticoagulant);
        let time = check.as_ref().map(|(_, at)| at.clone()).unwrap_or_default();
        let mut with = self.lot(LotOf::Anticoagulant);
        with.extend(self.sound(CheckKind::AnticoagulantSound));
        with.push(match check {
            Some((check, at)) => {
                let (of, by) = (check.of.clone(), check.by.clone());
                self.say(CardLine::SecondCheck { of, by, at })
            }
            None => self.say(CardWord::NoSecondCheck),
        });
        row(vec![vec![name], planned, done, text(time), self.by(Field::WhoBefore), listed(with)])
    }

    /// 2 + 13 = 15 mL.
    fn sum(&self, split: &crate::blood::anticoagulant::Split) -> String {
        self.say(CardLine::Sum {
            anticoagulant: self.volume(split.anticoagulant).number,
            blood: self.volume(split.blood).number,
            fill: self.volume(split.fill).to_string(),
        })
    }

    /// What each container really holds, alike neighbours together, set-aside ones named.
    fn holding(&self, containers: &[ContainerNow]) -> Text {
        let mut groups: Vec<(usize, usize, String)> = Vec::new();
        let told = |c: &&ContainerNow| c.entered || c.set_aside || c.split.is_none();
        for c in containers.iter().filter(told) {
            let n = usize::from(c.index) + 1;
            let mut holds = match &c.split {
                Some(split) => self.sum(split),
                None if c.entered => self.say(CardWord::NotCertain),
                None => self.say(CardWord::NoMark),
            };
            if c.set_aside {
                holds = self.say(CardLine::SetAside(holds));
            }
            match groups.last_mut() {
                Some((_, to, same)) if *same == holds && *to + 1 == n => *to = n,
                _ => groups.push((n, n, holds)),
            }
        }
        let alone = containers.len() == 1;
        let said = groups.into_iter().map(|(from, to, holds)| match alone {
            true => holds,
            false => self.say(CardLine::ContainersHold { from, to, holds }),
        });
        let said = said.collect::<Vec<_>>().join("; ");
        if said.is_empty() { Vec::new() } else { vec![Run::Heavy(said)] }
    }

    fn containers(&self) -> Row {
        let draw = &self.given.answer.draw;
        let planned = draw.plan.as_ref().map(|p| self.sum(&p.rounded.value.split));
        let planned = planned.map(|p| vec![Run::Heavy(p)]).unwrap_or_default();
        let times = &self.given.draft.times;
        let time = self.time_span(self.clock(times.needle_in), self.clock(times.needle_out));
        let container = self.given.case.draw.container.as_ref().map(|c| c.name.clone());
        let sound = self.sound(CheckKind::ContainersSound);
        let lot = self.lot(LotOf::Containers);
        let from = self.typed(Field::DrawSite).map(|site| self.say(CardLine::DrawnFrom(site.to_owned())));
        let with = from.into_iter().chain(container).chain(lot).chain(sound);
        let name = vec![self.word(CardWord::EachContainer)];
        let by = self.by(Field::WhoDraw);
        row(vec![name, planned, self.holding(&draw.containers), text(time), by, listed(with)])
    }

    fn time_span(&self, from: String, to: String) -> String {
        if to.is_empty() { from } else { self.say(CardLine::FromTo { from, to }) }
    }

    fn blood(&self) -> Row {
        let draw = &self.given.answer.draw;
        let now = draw.now.as_ref();
        let blood = now.map(|t| t.blood.value);
        // With the needle out, what is known was drawn, though it may not be all.
        let out = self.given.draft.times.needle_out.is_some();
        let done = now.is_some_and(|t| out || t.standing == Standing::Done);
        let (planned, done) = if done { (None, blood) } else { (blood, None) };
        let numbers = |which: fn(&ContainerNow) -> bool| -> Vec<usize> {
            draw.containers.iter().filter(|c| which(c)).map(|c| usize::from(c.index) + 1).collect()
        };
        let unknown = numbers(|c| c.split.is_none());
        let waiting = numbers(|c| c.split.is_some() && !c.entered && !c.set_aside);
        let needle_in = self.given.draft.times.needle_in.is_some();
        let all_known = unknown.is_empty();
        let agent = self.agent().unwrap_or_default();
        let patient = draw.patient.as_ref().filter(|_| needle_in && all_known && waiting.is_empty());
        let with = [
            now.and_then(|t| t.ratio.as_ref()).map(|r| {
                self.say(CardLine::Per100 { agent, amount: unit::per_100(r.value, &self.c).to_string() })
            }),
            patient.map(|p| self.say(CardLine::DrawnToday(self.volume(p.drawn_today.value).to_string()))),
            patient
                .and_then(|p| p.share.as_ref())
                .map(|s| self.say(CardLine::OfBloodVolume(unit::percent(s.value, &self.c).to_string()))),
            patient
                .filter(|p| p.eight_weeks.value > p.drawn_today.value)
                .map(|p| self.say(CardLine::InEightWeeks(self.volume(p.eight_weeks.value).to_string()))),
            (!all_known).then(|| self.say(CardLine::WithoutContainers(unknown))),
            (needle_in && !waiting.is_empty()).then(|| self.say(CardLine::AsPlanned(waiting))),
        ];
        let name = vec![self.word(CardWord::BloodUsed)];
        row(vec![
            name,
            self.amount(planned),
            self.amount(done),
            Vec::new(),
            Vec::new(),
            listed(with.into_iter().flatten()),
        ])
    }

    fn spins(&self) -> Vec<Row> {
        let Some(protocol) = &self.given.case.protocol else { return Vec::new() };
        let times = &self.given.draft.times;
        let last = protocol.programme.0.len().saturating_sub(1);
        let mut balanced = self.balanced(&protocol.programme.0);
        let mut rows = Vec::new();
        let mut number = 0;
        for ((i, stage), index) in protocol.programme.0.iter().enumerate().zip(0u8..) {
            let began = self.clock(times.stages.get(&index).copied());
            let ended =
                if i == last { times.spin_end } else { times.stages.get(&index.saturating_add(1)).copied() };
            let time = if began.is_empty() { began } else { self.time_span(began, self.clock(ended)) };
            let result = self.given.answer.spin.stages.get(i);
            let run = self.given.case.spin.actual.get(i).copied().unwrap_or_default();
            let ran = run.time.map(|t| unit::minutes(t, &self.c));
            let by = self.given.draft.who_of(index).map(|field| self.by(field)).unwrap_or_default();
            match stage {
                Stage::Stop { .. } => {}
                Stage::Handling { what, time: planned } => {
                    let planned = amounts(planned.map(|t| unit::minutes(t, &self.c)));
                    let name = vec![self.word(CardWord::ByHand)];
                    rows.push(row(vec![name, planned, amounts(ran), text(time), by, text(what.clone())]));
                }
                Stage::Ramp { to: speed, time: t } | Stage::Hold { speed, time: t } => {
                    number += 1;
                    let mut spin = self.spin(number, *speed, *t, result, run, [text(time), by]);
                    let weighed = weighed_at(self.given.case, &self.given.answer.draw, i);
                    let weighed = (!weighed.is_empty()).then(|| self.say(SidesWeighed(&weighed, &self.c)));
                    let more = self.set_so(index).into_iter().chain(self.run_again(index)).chain(weighed);
                    let more = more.chain(balanced.remove(&index));
                    if let Some(with) = spin.cells.last_mut() {
                        for more in more {
                            let lead = if with.is_empty() { "" } else { "; " };
                            with.push(Run::Plain(format!("{lead}{more}")));
                        }
                    }
                    rows.push(spin);
                }
            }
        }
        rows
    }

    /// Who balanced the rotor when, by the stage that turned next; after the last start it stands with the last.
    fn balanced(&self, stages: &[Stage]) -> BTreeMap<u8, String> {
        let draft = self.given.draft;
        let lapsed = draft.lapsed.iter().filter(|l| l.kind == CheckKind::Balance).map(|l| &l.check);
        let mut checks: Vec<_> = lapsed.chain(draft.checks.get(&CheckKind::Balance)).collect();
        sort_by_key(&mut checks, |check| check.at);
        let starts = &draft.times.stages;
        let mut all: BTreeMap<u8, Vec<String>> = BTreeMap::new();
        for check in checks {
            let last = starts.iter().rev().find(|(_, start)| **start < check.at).map(|(stage, _)| *stage);
            // A machine goes from stage to stage by itself: what has no start of its own begins a spin only where the
            // hand was at the rotor.
            let mut opened = last.is_none_or(|stage| draft.by_hand(stage));
            let mut after = (0u8..).zip(stages).filter(|(i, _)| last.is_none_or(|last| *i > last));
            let next = after.find(|(i, stage)| {
                opened |= draft.by_hand(*i);
                stage.speed().is_some() && (opened || starts.contains_key(i))
            });
            let turning = || (0u8..).zip(stages).filter(|(_, stage)| stage.speed().is_some()).last();
            let Some((stage, _)) = next.or_else(turning) else { continue };
            let (by, at) = (check.by.clone(), self.clock(Some(check.at)));
            all.entry(stage).or_default().push(self.say(CardLine::Balanced { by, at }));
        }
        gather(all.into_iter().map(|(stage, said)| (stage, said.join("; "))))
    }

    /// Temperature and brake as set; a temperature that cannot be read as it was typed.
    fn set_so(&self, stage: u8) -> Option<String> {
        let run = self.given.case.spin.actual.get(usize::from(stage))?;
        let typed = || self.typed(Field::TemperatureSet(stage)).map(str::to_owned);
        let temperature = run.temperature.map(|t| unit::temperature(t, &self.c).to_string()).or_else(typed);
        let said: Vec<String> =
            temperature.into_iter().chain(run.brake.map(|brake| self.say(BrakeName(brake)))).collect();
        (!said.is_empty()).then(|| said.join(", "))
    }

    /// Runs of a stage that stopped, each with what followed.
    fn run_again(&self, stage: u8) -> Option<String> {
        let draft = self.given.draft;
        let said =
            draft.times.runs_before(stage).into_iter().enumerate().map(|(run, (began, stopped, again))| {
                let [began, stopped, again] = [began, stopped, again].map(|at| self.clock(Some(at)));
                let weighed = draft.weighed_before(stage, run).map(|(spin, texts)| {
                    self.say(WeighedSaid(&Weighed::of(texts, spin, &draft.conventions), &self.c))
                });
                self.say(RunAgain { began, stopped, again, weighed })
            });
        let said: Vec<String> = said.collect();
        (!said.is_empty()).then(|| said.join("; "))
    }

    fn spin(
        &self,
        number: usize,
        speed: Speed,
        planned: Seconds,
        result: Option<&StageResult>,
        run: StageRun,
        [time, by]: [Text; 2],
    ) -> Row {
        let force = result.and_then(|r| r.planned.as_ref());
        let at = match speed {
            Speed::Rcf { at, .. } => Some(at),
            Speed::Rpm(_) => force.and_then(known_radius),
        };
        let setting = |force: Option<&StageForce>, given: Option<Speed>| -> Vec<Written> {
            let (mut rpm, mut g): (Option<Rpm>, Option<Rcf>) = (None, None);
            match given {
                Some(Speed::Rpm(r)) => rpm = Some(r),
                Some(Speed::Rcf { g: asked, .. }) => g = Some(asked),
                None => {}
            }
            if let Some(force) = force {
                rpm = Some(force.rpm.value);
                // What the plan asks stands as asked; the speed is what the machine's step makes of it.
                g = g.or_else(|| at.and_then(|at| force_at(force, at)));
            }
            rpm.map(|r| unit::rpm(r, &self.c)).into_iter().chain(g.map(|g| unit::rcf(g, &self.c))).collect()
        };
        let planned = setting(force, Some(speed)).into_iter().chain([unit::minutes(planned, &self.c)]);
        // Without a rotor nothing follows from the speed, and it is told all the same.
        let actual = result.and_then(|r| r.actual.as_ref());
        let ran = run.time.map(|t| unit::minutes(t, &self.c));
        let done = setting(actual, run.speed.map(Speed::Rpm)).into_iter().chain(ran);
        let rotor = self.given.case.spin.rotor.as_ref();
        let radius = rotor.zip(at).and_then(|(rotor, at)| rotor.radius(at).ok());
        let with = [
            at.map(|at| {
                let radius =
                    radius.map(|r| format!(", {}", unit::radius(r.radius, &self.c))).unwrap_or_default();
                format!("{}{radius}", self.say(RadiusShort(at)))
            }),
            rotor.filter(|_| number == 1).map(|r| r.name.clone()),
            self.given.case.spin.centrifuge.as_ref().filter(|_| number == 1).map(|c| {
                let (name, serial) = (c.name.as_str(), c.serial.as_str());
                self.say(MachineName { name, serial })
            }),
        ];
        let name = vec![self.line(CardLine::SpinNumber(number))];
        row(vec![name, amounts(planned), amounts(done), time, by, listed(with.into_iter().flatten())])
    }

    fn product(&self) -> Vec<Row> {
        let (case, times) = (self.given.case, &self.given.draft.times);
        let with = self.given.answer.spin.use_by.as_ref().map(|u| {
            let at = self.clock(Some(u.value.at));
            self.say(UseByLine { set_by: u.value.set_by, at, policy: case.clock, conventions: &self.c })
        });
        let kept = self.typed(Field::KeptUntilGiven).map(|how| self.say(CardLine::Kept(how.to_owned())));
        let name = vec![self.word(CardWord::ProductKept)];
        let planned = self.amount(case.collect.planned);
        let done = self.amount(case.collect.actual);
        let mut rows = vec![row(vec![
            name,
            planned,
            done,
            text(self.clock(times.collected)),
            self.by(Field::WhoProduct),
            listed(with.into_iter().chain(kept)),
        ])];
        if let Some(poor) = case.collect.poor_plasma {
            let name = vec![self.word(CardWord::PoorPlasmaKept)];
            rows.push(row(vec![
                name,
                Vec::new(),
                self.amount(Some(poor)),
                Vec::new(),
                Vec::new(),
                Vec::new(),
            ]));
        }
        rows
    }

    /// The count of the product as it was read.
    fn product_count(&self) -> Option<Row> {
        let measured = self.given.answer.product.measured.as_ref()?;
        let count = &self.given.case.count;
        let readings = count.readings.iter().map(|r| unit::count(*r, &self.c).number).collect();
        let diluted = count.dilution.filter(|d| d.get() > 1.0);
        let dilution = diluted.map(|d| unit::factor(d, &self.c).number).unwrap_or_default();
        let spread = measured.replicate_cv.as_ref().map(|cv| unit::cv(cv.value, &self.c).to_string());
        let with = self.say(CardLine::Readings { readings, dilution, spread: spread.unwrap_or_default() });
        let count = unit::count(measured.concentration.value, &self.c);
        let unconfirmed = self.given.answer.product.unconfirmed();
        let done = if unconfirmed { self.counted(count) } else { vec![Run::amount(count)] };
        // It is the moment a reading was typed, unless somebody has since said when it was counted.
        let said = self.given.draft.corrections.iter().any(|c| c.what == TimeOf::Counted);
        let time = self.given.draft.times.counted.map(|at| match self.moment(at) {
            at if said => at,
            at => self.say(CardLine::EnteredAt(at)),
        });
        let time = time.unwrap_or_default();
        let name = vec![self.word(CardWord::ProductCount)];
        Some(row(vec![name, Vec::new(), done, text(time), Vec::new(), text(with)]))
    }

    /// What is added, by its name and strength.
    pub(in crate::export) fn added(&self, row: u8, agent: Option<&AdditionAgent>) -> String {
        let choice = self.given.draft.choices.additions.get(&row).map(|c| self.say(AdditionName(*c)));
        let strength = agent.and_then(AdditionAgent::strength);
        let strength = strength.map(|s| unit::strength(s, &self.c).to_string());
        let other = self.given.draft.choices.additions.get(&row) == Some(&AdditionChoice::Other);
        let typed = self.typed(Field::AdditionName(row)).filter(|_| other).map(str::to_owned);
        let name =
            [typed, choice].into_iter().flatten().next().unwrap_or_else(|| self.say(CardWord::AddedUnsaid));
        std::iter::once(name).chain(strength).collect::<Vec<_>>().join(" ")
    }

    fn additions(&self) -> Vec<Row> {
        let mixed = self.given.answer.product.mixed.as_ref();
        let after =
            mixed.map(|m| self.say(CardLine::AfterAdditions(self.volume(m.volume.value).to_string())));
        let rows = (0u8..).zip(&self.given.case.additions).map(|(i, addition)| {
            let (agent, volume, name) = match addition {
                AdditionTyped::Whole(a) => (Some(&a.agent), Some(a.volume), CardWord::Added),
                AdditionTyped::Partial => (None, None, CardWord::AddedUnsaid),
            };
            let what = self.added(i, agent);
            let of = LotOf::Addition(i);
            // One that was not looked at says so on a line to be filled in by hand, not here.
            let typed = of.fields().into_iter().any(|field| self.typed(field).is_some());
            let lot = (typed && self.given.draft.has_addition_lot(i)).then(|| self.lot(of));
            let with = std::iter::once(what).chain(lot.into_iter().flatten());
            let with = with.chain(after.clone().filter(|_| agent.is_some()));
            let name = vec![self.word(name)];
            row(vec![name, self.amount(volume), Vec::new(), Vec::new(), Vec::new(), listed(with)])
        });
        rows.collect()
    }
}

fn force_at(force: &StageForce, at: RadiusKind) -> Option<Rcf> {
    let worked = match at {
        RadiusKind::Minimum => &force.minimum,
        RadiusKind::Mean => &force.mean,
        RadiusKind::Maximum => &force.maximum,
    };
    worked.as_ref().map(|w| w.value)
}

/// The radius a force is named at when the plan names a speed.
fn known_radius(force: &StageForce) -> Option<RadiusKind> {
    [RadiusKind::Maximum, RadiusKind::Mean, RadiusKind::Minimum]
        .into_iter()
        .find(|&at| force_at(force, at).is_some())
}
