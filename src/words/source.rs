//! A source with how it was consulted, as printed under a working and on the card.

use super::Phrase;
use crate::evidence::{SourceId, Standing};
use std::borrow::Cow;

/// A citation, and how it was consulted where the citation does not say so itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SourceLine(pub SourceId);

impl Phrase for SourceLine {
    fn english(&self) -> Cow<'static, str> {
        let source = self.0.source();
        let says_so_itself = match source.standing {
            // The clinic's entry and its own count are no consulted source.
            _ if matches!(self.0, SourceId::ClinicBench | SourceId::ProductMeasured) => true,
            Standing::FromMemory | Standing::CommonPractice | Standing::Judgement => {
                source.citation.to_lowercase().contains(source.standing.english().as_ref())
            }
            Standing::Read | Standing::ReadSecondHand | Standing::Arithmetic => false,
        };
        if says_so_itself {
            return Cow::Borrowed(source.citation);
        }
        Cow::Owned(format!("{} ({}).", source.citation.trim_end_matches('.'), source.standing.english()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_source_says_how_it_was_consulted() {
        for &id in SourceId::ALL {
            let line = SourceLine(id).english();
            let word = match id.source().standing {
                _ if matches!(id, SourceId::ClinicBench | SourceId::ProductMeasured) => "own",
                Standing::Read => "(read).",
                Standing::ReadSecondHand => "(read as quoted by another page).",
                Standing::FromMemory => "from memory, verify",
                Standing::CommonPractice => "ommon practice, no source",
                Standing::Judgement => "judgement",
                Standing::Arithmetic => "(arithmetic).",
            };
            assert!(line.contains(word), "{line}");
            assert!(line.ends_with('.'), "{line}");
        }
    }
}
