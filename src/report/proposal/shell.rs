//! The document around its sections: head, style, first page, numbered sections.

use super::ProposalContents;
use super::text::name;
use crate::report::draw::font_style;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The look, for screen and paper.
const LOOK: &str = include_str!("look.css");

/// A section.
pub(super) struct Section {
    /// Anchor of links.
    pub(super) id: &'static str,
    /// Heading.
    pub(super) title: &'static str,
    /// Content.
    pub(super) body: Markup,
}

/// The whole document.
pub(super) fn document(c: &ProposalContents, first: &Markup, sections: &[Section]) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light";
                meta name="generator" content=(format!("Loamledger {}", c.answer.version));
                title { (name(&c.answer.name)) ": proposal" }
                // an empty icon, so that browsers do not request one
                link rel="icon" href="data:,";
                style { (PreEscaped(font_style())) "\n" (PreEscaped(LOOK)) }
            }
            body {
                main {
                    (first)
                    @for (n, section) in sections.iter().enumerate() {
                        section id=(section.id) {
                            h2 { span.place { (n + 1) } " " (section.title) }
                            (section.body)
                        }
                    }
                }
            }
        }
    };
    let mut text = page.into_string();
    text.push('\n');
    text
}
