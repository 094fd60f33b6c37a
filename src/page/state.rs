//! What the page holds: the open cases, Bench, settings, the place in view and the time. Everything reckoned
//! is a memo over it.

use crate::counts::{self, Counts};
use crate::dom::prelude::*;
use crate::shell::clock;
use crate::shell::store::Persistence;
use std::collections::BTreeMap;
use std::ops::Deref;
use std::sync::Arc;
use strawline::arrange::sort_by_key;
use strawline::assess::spin::fits;
use strawline::assess::{Assessment, Now, assess};
use strawline::bench::Bench;
use strawline::case::{self, Case, Readings};
use strawline::draft::{AmountSeen, Changed, CheckSign, Draft, Field};
use strawline::export::bench_link::NoBench;
use strawline::log::Log;
use strawline::quality::decided::Decisions;
use strawline::quantity::read::Reading;
use strawline::quantity::time::{Instant, Offset, Span};
use strawline::quantity::unit::Conventions;
use strawline::record::Record;
use strawline::record::archive::Unreadable;
use strawline::record::clocks::Clock;
use strawline::record::line::{self, Line};
use strawline::record::settings::Settings;
use strawline::record::standing::RecordStanding;
use strawline::record::{earlier, namesake};
use strawline::words::closed::ClosedSays;
use strawline::words::settings::Offline;
use strawline::words::{Language, Phrase};

pub use strawline::words::banner::Banner;

/// How long a check sign stays with a signed product.
const DAY: Span = Span(86_400_000);

/// What one tap takes back, shown where "Draft saved" stands.
#[derive(Clone)]
pub struct Undo {
    /// The case it belongs to, in whose worksheet alone it is offered; `None` for what belongs to no case.
    pub case: Option<String>,
    /// What was done, as a sentence.
    pub done: String,
    /// Takes it back.
    pub back: Arc<dyn Fn() + Send + Sync>,
    /// There is nothing to press: that it could not be taken back is told.
    pub refused: bool,
}

/// A place of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Place {
    /// The worksheet of the current case.
    #[default]
    Worksheet,
    /// Cases and signed records.
    Records,
    /// What the counts of signed records say: a view of its own within Records.
    Quality,
    /// Equipment, lots in use, what was cleaned or spilled: a view of its own within Records.
    Log,
    /// The clinic's containers, rotors, protocols, limits.
    Bench,
}

impl Place {
    /// All, in the order of the header.
    pub const ALL: [Place; 3] = [Place::Worksheet, Place::Records, Place::Bench];

    /// The part of the address after `#`. No case and no patient is ever named there.
    pub fn hash(self) -> &'static str {
        match self {
            Place::Worksheet => "worksheet",
            Place::Records => "records",
            Place::Quality => "quality",
            Place::Log => "log",
            Place::Bench => "bench",
        }
    }

    /// The place an address names.
    pub fn from_hash(hash: &str) -> Self {
        let name = hash.trim_start_matches('#');
        let all = Place::ALL.into_iter().chain([Place::Quality, Place::Log]);
        all.into_iter().find(|p| p.hash() == name).unwrap_or_default()
    }

    /// The place of the header it belongs to.
    pub fn within(self) -> Self {
        if matches!(self, Place::Quality | Place::Log) { Place::Records } else { self }
    }
}

/// Whether cases and records are shown to whoever holds the device.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Door {
    /// They are: there is no lock.
    #[default]
    NoLock,
    /// They are: the lock is open.
    Open,
    /// They are not, before somebody opens it.
    Shut,
}

/// How a Bench came that is not this one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CameBy {
    /// In a link, which carries no names.
    Link,
    /// As a file, at the place where it is looked at.
    File,
    /// In a backup.
    Backup,
}

/// What the paper shows when the page is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// The card of the current case with its labels.
    #[default]
    Card,
    /// The card of a signed entry of its record, counted from 0, as it was shown then.
    Signed(usize),
    /// The card of the last entry of a record in the list, whichever case is in view.
    Record,
    /// The labels of the current case on stock of their own.
    Labels,
    /// The code of the current case alone.
    Code,
    /// The blank worksheet.
    Blank,
    /// The questions for the prescriber.
    Questions,
    /// What to lay out.
    SetOut,
    /// The report of a check of the process.
    Report,
    /// The recovery key of the lock, while it is shown.
    Recovery,
}

/// One open case. A view hands it to every part of itself: it is where the case's signals are kept, and not they.
#[derive(Clone, Copy)]
pub struct Sheet(&'static OpenCase);

impl Deref for Sheet {
    type Target = OpenCase;

    fn deref(&self) -> &OpenCase {
        self.0
    }
}

/// What an open case is made of. Its signals live as long as the page, and so does it.
pub struct OpenCase {
    /// What was typed.
    pub draft: RwSignal<Draft>,
    /// What is meant, and how each text was read.
    pub read: Memo<(Case, Readings)>,
    /// What follows.
    pub answer: Memo<Assessment>,
    /// Units and number style.
    conventions: RwSignal<Conventions>,
    /// Local time against UTC in which its times are written: the case's own, else this device's.
    pub offset: Memo<Offset>,
    /// Each field in view.
    fields: StoredValue<BTreeMap<Field, ArcRwSignal<Shown>>>,
    /// What is typed beside its fields.
    pub half_typed: HalfTyped,
    /// Patient reference and second identifier, as they are compared.
    identified: Memo<(String, String)>,
    /// Of what follows it while it is open.
    watching: Owner,
}

/// Texts typed halfway that belong to no field: kept in memory while the page is locked, when nothing of them is shown.
#[derive(Clone, Copy, Default)]
pub struct HalfTyped(StoredValue<BTreeMap<String, (String, ArcRwSignal<String>)>>);

impl HalfTyped {
    /// What stands in the input with this id, while it is about the same.
    pub fn of(self, id: &str, about: &str) -> RwSignal<String> {
        let known =
            self.0.with_value(|all| all.get(id).filter(|(of, _)| of == about).map(|(_, s)| s.clone()));
        let signal = known.unwrap_or_else(|| {
            let signal = ArcRwSignal::new(String::new());
            self.0.update_value(|all| {
                all.insert(id.to_owned(), (about.to_owned(), signal.clone()));
            });
            signal
        });
        signal.into()
    }
}

/// What stands in a field, and how it was read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shown {
    /// As typed.
    pub text: String,
    /// `None` while nothing is typed.
    pub reading: Option<Reading>,
}

impl Shown {
    fn of(field: Field, draft: &Draft, readings: &Readings) -> Self {
        Self { text: draft.text(field).to_owned(), reading: readings.get(&field).cloned() }
    }
}

impl Sheet {
    /// The worksheet in whose context this is called.
    pub fn here() -> Self {
        expect_context()
    }

    /// Changes the draft. The change is stored, everything that follows is reckoned anew, and a check whose ground
    /// it took away lapses. What draws blood keeps the plan it was drawn to. What changes after the hand-over wants a
    /// reason.
    pub fn edit(self, change: impl FnOnce(&mut Draft)) {
        // What follows is reckoned before the change is in: it is the plan that blood is drawn under.
        let plan = self.answer.with_untracked(|a| a.draw.to_keep());
        self.draft.update(|draft| draft.edit(plan, change));
    }

    /// Who amends its record, as typed; forgotten once that is done, and when the page locks.
    pub fn amender(self) -> RwSignal<String> {
        self.half_typed.of("amend_by", "")
    }

    /// Types into a field.
    pub fn write(self, field: Field, text: String) {
        let now = clock::now().at;
        // What follows is reckoned before the key is in: it is the plan the mark was filled under.
        let planned =
            self.answer.with_untracked(|a| a.draw.plan.as_ref().map(|p| p.rounded.value.split.anticoagulant));
        self.edit(|draft| draft.type_in(field, text, now, planned));
    }

    /// Units and number style of this case.
    pub fn conventions(self) -> Conventions {
        self.conventions.get()
    }

    /// What stands in a field.
    pub fn field(self, field: Field) -> RwSignal<Shown> {
        let known = self.fields.with_value(|fields| fields.get(&field).cloned());
        let signal = known.unwrap_or_else(|| {
            let shown = untrack(|| self.draft.with(|d| self.read.with(|(_, r)| Shown::of(field, d, r))));
            let signal = ArcRwSignal::new(shown);
            self.fields.update_value(|fields| {
                fields.insert(field, signal.clone());
            });
            signal
        });
        signal.into()
    }

    /// Tells each field of its own change alone. Were they all to listen to the draft, every key would ask
    /// everything in view whether it has changed.
    fn tell_fields(self) {
        Effect::new(move |_| {
            let (draft, read) = (self.draft.read(), self.read.read());
            if *self.conventions.read_untracked() != draft.conventions {
                self.conventions.set(draft.conventions);
            }
            let fields = self.fields.get_value();
            for (field, signal) in fields {
                let shown = Shown::of(field, &draft, &read.1);
                if *signal.read_untracked() != shown {
                    signal.set(shown);
                }
            }
        });
    }

    /// Takes back the second person's check when the amount it spoke of becomes another; not one that came with its
    /// amount, as the case of another tab does.
    fn watch_amount(self) {
        let seen = memo(move || {
            let amount = self
                .answer
                .with(|a| Some((a.draw.agent, a.draw.plan.as_ref()?.rounded.value.split.anticoagulant)));
            self.draft.with(|d| d.amount_seen(amount))
        });
        Effect::new(move |before: Option<AmountSeen>| {
            let now = seen.get();
            if before.is_some_and(|before| before.outlived(&now)) {
                self.edit(|d| d.lapse(Changed::Amount));
            }
            now
        });
    }

    /// Whether it has a record, as far as one is read.
    fn signed(self, desk: Desk) -> bool {
        desk.records.with_untracked(|all| all.iter().any(|r| r.id() == self.id()))
    }

    /// Takes up the centrifuges as the log has them, until a spin begins; a signed case is as it was signed.
    fn watch_log(self, desk: Desk) {
        let ground = memo(move || {
            self.draft.with(|d| {
                let rotor = d.kit.rotor.as_ref().map(|r| r.id.clone());
                (rotor, d.kit.centrifuges.entries, d.times.stages.is_empty())
            })
        });
        Effect::new(move |_| {
            ground.track();
            let by = desk.log.with(|log| {
                let log = log.as_ref().filter(|_| !self.signed(desk))?;
                self.draft.with_untracked(|d| d.centrifuges_by(log))
            });
            if let Some((chosen, all)) = by {
                self.edit(|d| (d.kit.centrifuge, d.kit.centrifuges) = (chosen, all));
            }
        });
    }

    /// What this device tells of draws before, as a memo: it is looked for when a line or the reference changes, and not
    /// at each key.
    pub fn drawn_before(self, desk: Desk) -> Memo<Option<earlier::BloodBefore>> {
        let told = move |d: &Draft| (d.reference_told(), d.second_told(), d.times.needle_in);
        let ground = memo(move || self.draft.with(told));
        memo(move || {
            ground.track();
            let now = desk.minute.get().at;
            let others = desk.drawn_beside(&self.id());
            desk.lines
                .with(|lines| self.draft.with_untracked(|d| earlier::blood_before(lines, &others, d, now)))
        })
    }

    /// Keeps which times of giving lay ahead when they were typed.
    fn watch_given(self) {
        // By the clock as it is: the minute that the page shows may be one of before the device slept. One that was set
        // back tells of nothing.
        let ahead = memo(move || {
            let now = clock::now().at;
            self.read.with(|(case, _)| if fits(case, now) { case.given_ahead(now) } else { Vec::new() })
        });
        let ahead = memo(move || ahead.with(|ahead| self.draft.with(|d| d.ahead_by(ahead))));
        Effect::new(move |_| {
            if let Some(ahead) = ahead.get() {
                self.edit(|d| d.given_ahead = ahead);
            }
        });
    }

    /// Keeps with the case what this device tells of draws before and of others under its reference, until the needle is
    /// in. Before all lines are read it does not tell all; a signed case is as it was signed.
    fn watch_blood(self, desk: Desk) {
        let before = self.drawn_before(desk);
        // Only what identifies the other open cases is followed: not each key in them.
        let beside = memo(move || {
            let of = |s: &Sheet| (s.id() != self.id()).then(|| s.identified.get());
            desk.open.with(|open| open.iter().filter_map(of).collect::<Vec<_>>())
        });
        let namesake = memo(move || {
            beside.track();
            let others = desk.open_under(&self.identified.get().0);
            desk.lines.with(|lines| self.draft.with_untracked(|d| namesake::namesake(lines, &others, d)))
        });
        Effect::new(move |_| {
            if !desk.lines_read.get() {
                return;
            }
            let told = namesake.get();
            if let Some(told) = self.draft.with(|d| d.namesake_by(told)).filter(|_| !self.signed(desk)) {
                self.edit(|d| d.namesake = told);
            }
        });
        Effect::new(move |_| {
            if !desk.lines_read.get() {
                return;
            }
            // What was told is of both identifiers.
            self.identified.track();
            let told = before.with(|b| self.draft.with_untracked(|d| d.blood_by(b.as_ref())));
            if let Some(told) = told.filter(|_| !self.signed(desk)) {
                self.edit(|d| d.blood_told = told);
            }
        });
    }

    /// The case's key on this device.
    pub fn id(self) -> String {
        self.draft.with_untracked(|d| d.id.clone())
    }
}

/// Everything that is not one case; like a [`Sheet`], where it is kept.
#[derive(Clone, Copy)]
pub struct Desk(&'static OnDesk);

impl Deref for Desk {
    type Target = OnDesk;

    fn deref(&self) -> &OnDesk {
        self.0
    }
}

/// What lies on the desk.
pub struct OnDesk {
    /// Open cases, in the order they were begun.
    pub open: RwSignal<Vec<Sheet>>,
    /// Key of the case in view.
    pub current: RwSignal<Option<String>>,
    /// The clinic's Bench.
    pub bench: RwSignal<Bench>,
    /// A Bench that came from elsewhere and was not taken or left yet.
    pub carried: RwSignal<Option<Result<(Bench, CameBy), NoBench>>>,
    /// Language, theme and the like.
    pub settings: RwSignal<Settings>,
    /// Records of the cases that are or were open on this page; of all others only the line is at hand.
    pub records: RwSignal<Vec<Record>>,
    /// A line for each signed record, newest last.
    pub lines: RwSignal<Vec<Arc<Line>>>,
    /// Whether all lines were read.
    pub lines_read: RwSignal<bool>,
    /// What was decided about counts: left out, checks of the process, priors of the clinic's own.
    pub decisions: RwSignal<Decisions>,
    /// The clinic's log; `None` until it was read.
    pub log: RwSignal<Option<Log>>,
    /// What the records say of their counts. Reckoned when something first asks for it.
    pub counts: Memo<Counts>,
    /// Lines above everything, the gravest first; their buttons go to `shell::keep::press`.
    pub banners: RwSignal<Vec<Banner>>,
    /// When a change was last stored; `None` before the first, and when the last could not be.
    pub saved: RwSignal<Option<Instant>>,
    /// What one tap takes back.
    pub undo: RwSignal<Option<Undo>>,
    /// Discarded drafts, which can be brought back.
    pub discarded: RwSignal<Vec<Draft>>,
    /// Stored texts that cannot be read.
    pub unreadable: RwSignal<Vec<Unreadable>>,
    /// What was put aside when something else took its place.
    pub aside: RwSignal<Vec<Unreadable>>,
    /// The offline copy; `None` until it is known.
    pub offline: RwSignal<Option<Offline>>,
    /// What the browser says to keeping the data; `None` before it was asked.
    pub persistence: RwSignal<Option<Persistence>>,
    /// Whether there is a lock, and how it stands.
    pub door: RwSignal<Door>,
    /// Why nothing opens the lock, if nothing does.
    pub stuck: RwSignal<Option<ClosedSays>>,
    /// Clocks that were kept beside the lock, of cases that are closed.
    pub clocks: RwSignal<Vec<Clock>>,
    /// Some texts are not closed yet.
    pub unfinished: RwSignal<bool>,
    /// The recovery key of a lock just made, until a person says that it is kept.
    pub recovery: RwSignal<Option<String>>,
    /// The place in view.
    pub place: RwSignal<Place>,
    /// What prints.
    pub paper: RwSignal<Paper>,
    /// Key of the protocol whose check is reported on paper.
    pub report: RwSignal<String>,
    /// Key of the record in the list whose card prints.
    pub printed: RwSignal<String>,
    /// The moment, to the second: only running clocks listen to it.
    pub second: RwSignal<Now>,
    /// The moment, to the minute: what is reckoned from time listens to it.
    pub minute: RwSignal<Now>,
    /// Local time against UTC: what only writes times down listens to it.
    pub offset: RwSignal<Offset>,
    owner: StoredValue<Owner>,
}

impl Desk {
    /// An empty desk; call once, from the root component.
    pub fn new() -> Self {
        let now = clock::now();
        let lines = RwSignal::new(Vec::new());
        Self(Box::leak(Box::new(OnDesk {
            open: RwSignal::new(Vec::new()),
            current: RwSignal::new(None),
            bench: RwSignal::new(Bench::default()),
            carried: RwSignal::new(None),
            settings: RwSignal::new(Settings::default()),
            records: RwSignal::new(Vec::new()),
            lines,
            lines_read: RwSignal::new(false),
            decisions: RwSignal::new(Decisions::default()),
            log: RwSignal::new(None),
            counts: memo(move || lines.with(|all| counts::of(all))),
            banners: RwSignal::new(Vec::new()),
            saved: RwSignal::new(None),
            undo: RwSignal::new(None),
            discarded: RwSignal::new(Vec::new()),
            unreadable: RwSignal::new(Vec::new()),
            aside: RwSignal::new(Vec::new()),
            offline: RwSignal::new(None),
            persistence: RwSignal::new(None),
            door: RwSignal::new(Door::default()),
            stuck: RwSignal::new(None),
            clocks: RwSignal::new(Vec::new()),
            unfinished: RwSignal::new(false),
            recovery: RwSignal::new(None),
            place: RwSignal::new(Place::default()),
            paper: RwSignal::new(Paper::default()),
            report: RwSignal::new(String::new()),
            printed: RwSignal::new(String::new()),
            second: RwSignal::new(now),
            minute: RwSignal::new(clock::to_the_minute(now)),
            offset: RwSignal::new(now.offset),
            owner: StoredValue::new(Owner::current().unwrap_or_default()),
        })))
    }

    /// The page's desk.
    pub fn here() -> Self {
        expect_context()
    }

    /// A second has passed. Minute and offset are told only when they are others: much hangs on them.
    pub fn tick(self) {
        let now = clock::now();
        self.second.set(now);
        let minute = clock::to_the_minute(now);
        if self.minute.get_untracked() != minute {
            self.minute.set(minute);
        }
        if self.offset.get_untracked() != now.offset {
            self.offset.set(now.offset);
        }
    }

    /// The language of the page.
    pub fn language(self) -> Language {
        self.settings.with(|s| s.language)
    }

    /// Says a phrase in the page's language. The page is built anew when the language changes, so that no word
    /// has to listen for it.
    pub fn say(self, phrase: impl Phrase) -> String {
        self.spoken().say(phrase).into_owned()
    }

    /// One function, however many phrases are said.
    #[inline(never)]
    fn spoken(self) -> Language {
        self.settings.with_untracked(|s| s.language)
    }

    /// Shows a banner, in place of one of the same sort.
    pub fn show(self, banner: Banner) {
        self.banners.update(|all| {
            all.retain(|b| !b.replaced_by(&banner));
            all.push(banner);
            sort_by_key(all, Banner::rank);
        });
    }

    /// Takes away the banners that `which` picks.
    pub fn hide(self, which: impl Fn(&Banner) -> bool) {
        if self.banners.with_untracked(|all| all.iter().any(&which)) {
            self.banners.update(|all| all.retain(|b| !which(b)));
        }
    }

    /// The case in view.
    pub fn sheet(self) -> Option<Sheet> {
        let current = self.current.get()?;
        self.open.with(|open| open.iter().copied().find(|s| s.draft.with_untracked(|d| d.id == current)))
    }

    /// Opens a draft and brings it into view.
    pub fn open(self, draft: Draft) {
        let id = draft.id.clone();
        let already = self.open.with_untracked(|open| open.iter().any(|s| s.id() == id));
        if !already {
            // Signals live as long as the page, not as long as the button that was tapped.
            let sheet = self.owner.with_value(|owner| owner.with(|| self.sheet_of(draft)));
            self.open.update(|open| open.push(sheet));
        }
        self.current.set(Some(id));
    }

    /// Takes up a record as it now stands, in place of what was known of it. That it ended without a product the open
    /// case knows only from it.
    pub fn know(self, record: Record) {
        let ended = record.latest().ended_without;
        let open = self.open.with_untracked(|open| open.iter().copied().find(|s| s.id() == record.id()));
        if let Some(sheet) =
            open.filter(|s| ended.is_some() && s.draft.with_untracked(|d| d.ended_without.is_none()))
        {
            sheet.edit(|d| d.ended_without = ended);
        }
        self.records.update(|all| match all.iter_mut().find(|r| r.id() == record.id()) {
            Some(old) => *old = record,
            None => all.push(record),
        });
    }

    /// How a record stands to what was signed, by itself and by what its line says.
    pub fn standing(self, record: &Record) -> RecordStanding {
        self.lines.with(|all| {
            let line = all.iter().find(|line| line.id == record.id());
            let says = |of: fn(&Line) -> bool| line.is_some_and(|line| of(line));
            RecordStanding::of(record, says(|line| line.damaged), says(|line| line.outside))
        })
    }

    /// Takes up lines in place of older ones of the same records.
    pub fn know_lines(self, mut new: Vec<Line>) {
        // One that was looked at again mostly says nothing new, and much is reckoned of all of them.
        if let [one] = new.as_slice()
            && self.lines.with_untracked(|all| all.iter().any(|known| **known == *one))
        {
            new.clear();
        }
        if !new.is_empty() {
            self.lines.update(|all| line::take_up(all, new));
        }
    }

    /// Takes a case off the desk. Its stored draft is not touched.
    pub fn close(self, id: &str) {
        let closed = self.open.with_untracked(|open| open.iter().copied().find(|s| s.id() == id));
        self.open.update(|open| open.retain(|s| s.id() != id));
        // Its signals stay, for a view that is on its way out; nothing is reckoned for it any more.
        if let Some(sheet) = closed {
            sheet.watching.cleanup();
        }
        self.current.update(|current| {
            if current.as_deref() == Some(id) {
                *current = self.open.with_untracked(|open| open.last().map(|s| s.id()));
            }
        });
    }

    fn sheet_of(self, draft: Draft) -> Sheet {
        let draft = RwSignal::new(draft);
        let read = memo(move || draft.with(|d| case::read(d, self.language())));
        let offset = memo(move || draft.with(|d| d.offset).unwrap_or_else(|| self.offset.get()));
        let answer = memo(move || {
            let now = Now { at: self.minute.get().at, offset: offset.get() };
            read.with(|(case, _)| assess(case, now))
        });
        let conventions = RwSignal::new(draft.with_untracked(|d| d.conventions));
        let fields = StoredValue::default();
        let half_typed = HalfTyped::default();
        let identified = memo(move || draft.with(|d| (d.reference_told(), d.second_told())));
        let watching = Owner::new();
        let case =
            OpenCase { draft, read, answer, conventions, offset, fields, half_typed, identified, watching };
        let sheet = Sheet(Box::leak(Box::new(case)));
        sheet.watching.with(|| {
            sheet.tell_fields();
            sheet.watch_amount();
            sheet.watch_log(self);
            sheet.watch_blood(self);
            sheet.watch_given();
        });
        sheet
    }

    /// The other cases on this device whose needle was in, open or discarded.
    fn drawn_beside(self, own: &str) -> Vec<Draft> {
        let drawn = |d: &Draft| d.times.needle_in.is_some().then(|| d.clone());
        let open = self.open.with(|open| {
            let others = open.iter().filter(|s| s.id() != own);
            others.filter_map(|s| s.draft.with_untracked(drawn)).collect::<Vec<_>>()
        });
        self.discarded.with(|all| open.into_iter().chain(all.iter().filter_map(drawn)).collect())
    }

    /// What is still to be watched of signed records that are not open, each with its key.
    pub fn signed_clocks(self, now: Instant) -> Vec<(String, Clock)> {
        let open = self.open.with(|open| open.iter().map(|s| s.id()).collect::<Vec<_>>());
        let of = |line: &Arc<Line>| Some((line.id.clone(), Clock::of_record(line, now)?));
        self.lines.with(|all| all.iter().filter(|l| !open.contains(&l.id)).filter_map(of).collect())
    }

    /// The open cases under a patient reference.
    fn open_under(self, reference: &str) -> Vec<Draft> {
        let under = |d: &Draft| (d.reference_told() == reference).then(|| d.clone());
        self.open.with_untracked(|open| open.iter().filter_map(|s| s.draft.with_untracked(under)).collect())
    }

    /// An empty case with a check sign that differs from those in use.
    pub fn new_draft(self) -> Draft {
        let conventions = self.bench.with_untracked(|b| b.clinic.conventions);
        let now = clock::now();
        let mut draft = Draft::new(clock::fresh_id(), self.fresh_sign(), now.at, conventions);
        draft.offset = Some(now.offset);
        self.bench.with_untracked(|bench| {
            draft.kit.limits = bench.limits.clone();
            draft.kit.clock = bench.clock;
            draft.kit.analyser = bench.analyser;
        });
        draft
    }

    /// The demo case with a check sign that differs from those in use.
    pub fn demo_draft(self) -> Draft {
        let conventions = self.bench.with_untracked(|b| b.clinic.conventions);
        let now = clock::now();
        let draft = Draft::demo(clock::fresh_id(), self.fresh_sign(), now.at, conventions);
        Draft { offset: Some(now.offset), ..draft }
    }

    /// A check sign that differs from those in use, and from those that a discarded case or a product signed in the
    /// last day may still bear.
    pub fn fresh_sign(self) -> CheckSign {
        let open: Vec<CheckSign> = self
            .open
            .with_untracked(|open| open.iter().map(|s| s.draft.with_untracked(|d| d.sign)).collect());
        let mut taken: Vec<CheckSign> =
            self.discarded.with_untracked(|all| all.iter().map(|d| d.sign).collect());
        let now = clock::now().at;
        let of_today = |line: &&Arc<Line>| now.since(line.signed).is_none_or(|ago| ago < DAY);
        self.lines.with_untracked(|all| taken.extend(all.iter().filter(of_today).map(|line| line.sign)));
        CheckSign::pick_beside(clock::chance(), &open, &taken)
    }
}
