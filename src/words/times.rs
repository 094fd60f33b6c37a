//! Words of the times that were entered, their correction and their way back.

use super::Phrase;
use crate::draft::{TimeOf, TimeRefused};
use std::borrow::Cow;

crate::phrases! {
    /// Names and buttons of the times.
    TimesWord {
        Heading => "Times, as entered",
        Correct => "Correct",
        Enter => "Enter",
        NotEntered => "not entered",
        NeedleOutMistake => "Needle out was tapped by mistake",
        SpinEndMistake => "Spin ended was tapped by mistake",
    }
}

crate::phrases! {
    /// Sentences about the times.
    TimesSays {
        Help => "Where a tap came late or not at all, type the time it happened, such as 10:31. What stood there stays on the card.",
        NeedleOutTakenBack => "Needle out taken back. The marks entered stay: look at them again.",
        SpinEndTakenBack => "Spin ended taken back.",
    }
}

/// A time by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TimeName(pub TimeOf);

impl Phrase for TimeName {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            TimeOf::NeedleIn => "Needle in",
            TimeOf::NeedleOut => "Needle out",
            TimeOf::Stage(index) => {
                return Cow::Owned(format!("Stage {} begun", u32::from(index).saturating_add(1)));
            }
            TimeOf::SpinEnd => "Spin ended",
            TimeOf::Collected => "Product collected",
            TimeOf::Counted => "Product count",
            TimeOf::HandedOver => "Handed over",
        })
    }
}

/// Why a typed time was not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TimeRefusal(pub TimeRefused);

impl Phrase for TimeRefusal {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            TimeRefused::NotATime => "That is no time of day. Type hours and minutes, such as 10:31.",
            TimeRefused::Ahead => "That time lies ahead of this device’s clock.",
            TimeRefused::Crosses => {
                "At that time the step before it or after it had its turn, or the spin had stopped. Correct that one \
                 first."
            }
            TimeRefused::Same => "That is the time that stands there.",
        })
    }
}

/// A correction, its times written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TimeCorrected {
    /// Which time.
    pub what: TimeOf,
    /// As it first stood.
    pub was: String,
    /// As it stands.
    pub now: String,
    /// How often it was corrected.
    pub times: usize,
    /// Who corrected it last.
    pub by: String,
    /// When.
    pub at: String,
}

impl Phrase for TimeCorrected {
    fn english(&self) -> Cow<'static, str> {
        let Self { was, now, times, by, at, .. } = self;
        let name = TimeName(self.what).english();
        let often = if *times > 1 { format!(" ({times} times)") } else { String::new() };
        Cow::Owned(format!("{name} {was} corrected to {now}{often}, {by} {at}"))
    }
}

/// A run of a stage that stopped and was run again, its times written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RunAgain {
    /// When it had begun.
    pub began: String,
    /// When it stopped.
    pub stopped: String,
    /// When it was run again.
    pub again: String,
    /// What the scale had read before it, where it was weighed otherwise since.
    pub weighed: Option<String>,
}

impl Phrase for RunAgain {
    fn english(&self) -> Cow<'static, str> {
        let Self { began, stopped, again, weighed } = self;
        let weighed = weighed.as_ref().map(|said| format!(" ({said})")).unwrap_or_default();
        Cow::Owned(format!("begun {began}{weighed}, stopped {stopped}, run again {again}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_that_stopped_says_what_was_weighed_before_it() {
        let [began, stopped, again] = ["10:50", "10:54", "11:05"].map(str::to_owned);
        let mut run = RunAgain { began, stopped, again, weighed: None };
        assert_eq!(run.english(), "begun 10:50, stopped 10:54, run again 11:05");
        run.weighed = Some("weighed: container 1 31.2\u{a0}g".to_owned());
        assert_eq!(
            run.english(),
            "begun 10:50 (weighed: container 1 31.2\u{a0}g), stopped 10:54, run again 11:05"
        );
    }

    #[test]
    fn a_correction_is_one_compact_line() {
        let [was, now, by, at] = ["10:45", "10:31", "MO", "11:02"].map(str::to_owned);
        let once = TimeCorrected { what: TimeOf::NeedleIn, was, now, times: 1, by, at };
        assert_eq!(once.english(), "Needle in 10:45 corrected to 10:31, MO 11:02");
        let more = TimeCorrected { what: TimeOf::Stage(1), times: 2, ..once };
        assert_eq!(more.english(), "Stage 2 begun 10:45 corrected to 10:31 (2 times), MO 11:02");
    }
}
