//! The hatches, once per document: every picture and every part of a ledger refers to them.

use crate::dom::prelude::*;

pub(super) const PATTERNS: &str = concat!(
    r#"<defs><pattern id="hatch-agent" width="8" height="5" patternUnits="userSpaceOnUse"><path d="M0 2.5H8"/></pattern>"#,
    r#"<pattern id="hatch-blood" width="7" height="7" patternUnits="userSpaceOnUse"><path class="cell" d="M-1 1L1-1M0 7L7 0M6 8L8 6"/></pattern>"#,
    r#"<pattern id="hatch-left" width="8" height="8" patternUnits="userSpaceOnUse"><path d="M0 0L8 8M8 0L0 8"/></pattern>"#,
    r#"<pattern id="hatch-over" width="6" height="6" patternUnits="userSpaceOnUse"><circle cx="3" cy="3" r=".9"/></pattern>"#,
    r#"<pattern id="hatch-expected" width="7" height="7" patternUnits="userSpaceOnUse"><path d="M-1 1L1-1M0 7L7 0M6 8L8 6"/></pattern></defs>"#,
);

/// The hatches. Stands once in the page, before anything that is drawn.
#[component]
pub fn Patterns() -> impl IntoView {
    view! { <svg class="defs" aria-hidden="true" inner_html=PATTERNS></svg> }
}
