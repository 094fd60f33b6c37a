//! The settings of this device, and what the browser says of keeping things.

use super::field::PickBox;
use crate::dom::prelude::*;
use crate::shell::store::Persistence;
use crate::state::Desk;
use strawline::record::settings::{Paper, Settings, Theme};
use strawline::words::Language;
use strawline::words::bench::BenchWord;
use strawline::words::settings::{KeepAnswer, SettingsWord as Word};

const THEMES: [Theme; 3] = [Theme::Device, Theme::Light, Theme::Dark];
const LANGUAGES: [Language; 2] = [Language::English, Language::Pseudo];
const PAPERS: [Paper; 2] = [Paper::A4, Paper::Letter];

/// One choice of few.
fn pick(
    desk: Desk,
    id: &'static str,
    label: BenchWord,
    names: fn(Desk) -> Vec<String>,
    get: fn(&Settings) -> Option<usize>,
    set: fn(&mut Settings, usize) -> Option<()>,
) -> Markup {
    let value = Signal::derive(move || desk.settings.with(get).unwrap_or_default());
    let choose = move |i| {
        let mut settings = desk.settings.get_untracked();
        if set(&mut settings, i).is_some() {
            desk.settings.set(settings);
        }
        Ok(())
    };
    PickBox::new(label, None, names, value, choose).view(id)
}

/// The group on the Bench.
pub fn settings(desk: Desk) -> Markup {
    let kept = move || {
        desk.say(match desk.persistence.get() {
            Some(Persistence::Granted) => KeepAnswer::Granted,
            Some(Persistence::Refused) => KeepAnswer::Refused,
            Some(Persistence::NotOffered) => KeepAnswer::NotOffered,
            None => KeepAnswer::NotAsked,
        })
    };
    let offline = move || match desk.offline.get() {
        Some(state) => desk.say(state),
        None => desk.say(Word::OfflineUnknown),
    };
    view! {
        <section class="bench-group">
            <h2 class="heading">{desk.say(Word::Heading)}</h2>
            {pick(
                desk,
                "theme",
                BenchWord::Theme,
                |desk| [Word::ThemeDevice, Word::ThemeLight, Word::ThemeDark].map(|w| desk.say(w)).to_vec(),
                |s| THEMES.iter().position(|t| *t == s.theme),
                |s, i| THEMES.get(i).map(|t| s.theme = *t),
            )}
            {pick(
                desk,
                "paper",
                BenchWord::CardPaper,
                |desk| [Word::PaperA4, Word::PaperLetter].map(|w| desk.say(w)).to_vec(),
                |s| PAPERS.iter().position(|p| *p == s.paper),
                |s, i| PAPERS.get(i).map(|p| s.paper = *p),
            )}
            {pick(
                desk,
                "language",
                BenchWord::Language,
                |desk| [Word::English, Word::Pseudo].map(|w| desk.say(w)).to_vec(),
                |s| LANGUAGES.iter().position(|l| *l == s.language),
                |s, i| LANGUAGES.get(i).map(|l| s.language = *l),
            )}
            <dl class="facts">
                <div>
                    <dt>{desk.say(Word::Stored)}</dt>
                    <dd>{kept}</dd>
                </div>
                <div>
                    <dt>{desk.say(Word::OfflineCopy)}</dt>
                    <dd>{offline}</dd>
                </div>
            </dl>
        </section>
    }
}
