//! The code of a card.

use super::head;
use crate::dom::prelude::*;
use crate::shell::clock;
use crate::shell::keep::closing::{Paper, on_paper};
use crate::state::Desk;
use strawline::export::card::{Card, CardCode};
use strawline::export::code::{self, Code, NoCode, Of};
use strawline::record::archive::backup::Closing;
use strawline::words::code::CodeWord;

/// The code of a case, closed where there is a lock.
pub fn made(desk: Desk, of: Of<'_>) -> Option<Result<Code, NoCode>> {
    Some(match on_paper(desk)? {
        Paper::Clear => code::code(of, None, clock::now().at),
        Paper::Under(lock, key) => {
            let closing = Closing { lock: &lock, key: &key, chance: clock::secret };
            code::code(of, Some(closing), clock::now().at)
        }
    })
}

/// One code or two beside one another, and what they hold.
pub fn code(code: &CardCode) -> Markup {
    if code.symbols.is_empty() {
        return Markup::None;
    }
    let drawn = code.symbols.iter().map(|symbol| {
        let (side, modules) = (format!("{}mm", symbol.side()), symbol.modules);
        view! {
            <svg class="code" width=side.clone() height=side viewBox=format!("0 0 {modules} {modules}") aria-hidden="true">
                <path d=symbol.path.clone()></path>
            </svg>
        }
    });
    let wide = format!("{}mm", code.size().0);
    view! {
        <div class="card-code" style:width=wide>
            <p>{drawn.collect_view()}</p>
            <p class="card-source">{code.says.clone()}</p>
        </div>
    }
}

/// On a paper of its own, with whose it is.
pub fn alone(card: &Card, made: Option<&CardCode>, desk: Desk, solid: bool) -> Markup {
    let title = desk.say(CodeWord::AloneTitle);
    let reason = made.filter(|c| c.symbols.is_empty()).map(|c| c.says.clone());
    view! {
        <article class="card">
            {head(&card.clinic, &title, card.tag.as_ref(), card.sign.as_ref(), solid)}
            {made.map(code)}
            <p>{reason}</p>
        </article>
    }
}
