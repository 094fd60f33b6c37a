//! The spin programme of a protocol: stages in any order.

use super::row::{Row, Spot, rows};
use crate::dom::prelude::*;
use crate::place::stages::Stages;
use crate::shell::keep;
use crate::state::Desk;
use strawline::draft::field::MAX_STAGES;
use strawline::spin::programme::Stage;
use strawline::words::bench::BenchWord;
use strawline::words::spin::{StagePlan, StageTitle};

/// Whether the machine runs its own programme.
pub static FIXED: &[Row] = &[Row::Pick {
    words: BenchWord::ProgrammeIs,
    hint: None,
    names: |desk| [BenchWord::ProgrammeEdited, BenchWord::ProgrammeFixed].map(|w| desk.say(w)).to_vec(),
    get: |b, at| Some(usize::from(b.protocols.get(at.item)?.programme_fixed)),
    set: |b, at, i| {
        b.protocols.get_mut(at.item)?.programme_fixed = i == 1;
        Some(())
    },
}];

/// The programme of the protocol at `protocol`: its stages to be edited, or told where the machine runs its own.
pub fn programme(desk: Desk, id: &str, protocol: Memo<usize>) -> Markup {
    let all = memo(move || {
        desk.bench
            .with(|b| b.protocols.get(protocol.get()).map(|p| p.programme.0.clone()).unwrap_or_default())
    });
    let set = move |stages| {
        let at = protocol.get_untracked();
        desk.bench.update(|b| {
            if let Some(protocol) = b.protocols.get_mut(at) {
                protocol.programme.0 = stages;
            }
        });
    };
    let removed = move |place: usize, stage: Stage| {
        let at = protocol.get_untracked();
        let key = desk.bench.with_untracked(|b| b.protocols.get(at).map(|p| p.id.clone()));
        keep::offer_undo(desk, None, desk.say(BenchWord::Deleted), move || {
            desk.bench.update(|b| {
                // By its key: the list may be gone from view, or in another order.
                if let Some(protocol) = b.protocols.iter_mut().find(|p| Some(&p.id) == key.as_ref()) {
                    // What was changed of the others since stays.
                    let stages = &mut protocol.programme.0;
                    if stages.len() < usize::from(MAX_STAGES) {
                        stages.insert(place.min(stages.len()), stage.clone());
                    }
                }
            });
        });
    };
    let stages = Stages::new(all, set, removed);
    let fixed =
        memo(move || desk.bench.with(|b| b.protocols.get(protocol.get()).is_some_and(|p| p.programme_fixed)));
    let told = move || {
        desk.bench.with(|b| {
            let conventions = &b.clinic.conventions;
            let line = |(index, stage): (u8, &Stage)| {
                let title = desk.say(StageTitle { index, stage: Some(stage) });
                view! { <p>{title} ": " {desk.say(StagePlan { stage, conventions })}</p> }
            };
            let lines: Vec<_> = (0..).zip(&all.get()).map(line).collect();
            let none =
                lines.is_empty().then(|| view! { <p class="second">{desk.say(BenchWord::NoStages)}</p> });
            view! { {lines.into_iter().collect_view()} {none} }
        })
    };
    let spot = Signal::derive(move || Spot { item: protocol.get() });
    view! {
        <h3 class="subheading">{desk.say(BenchWord::Programme)}</h3>
        {rows(desk, &format!("{id}-programme"), FIXED, spot)}
        <div class="told" hidden=move || !fixed.get()>{told}</div>
        <div hidden=move || fixed.get()>
            {stages.view(desk, &format!("{id}-stage"))}
        </div>
    }
}
