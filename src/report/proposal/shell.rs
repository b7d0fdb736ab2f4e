//! The document around its sections: head, style, first page, numbered sections, annex.

use super::ProposalContents;
use super::text::name;
use crate::report::draw::font_style;
use crate::report::head::head;
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

/// A section with its number or letter.
fn section(section: &Section, place: &str) -> Markup {
    html! {
        section id=(section.id) {
            h2 { span.place { (place) } " " (section.title) }
            (section.body)
        }
    }
}

/// The whole document: the main part, then the annex.
pub(super) fn document(
    c: &ProposalContents,
    first: &Markup,
    main_part: &[Section],
    annex: &[Section],
) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            (head(&format!("{}: proposal", name(&c.answer.name)), "light", Some(c.answer.version), &html! { style { (PreEscaped(font_style())) "\n" (PreEscaped(LOOK)) } }))
            body {
                main {
                    (first)
                    @for (n, section) in main_part.iter().enumerate() {
                        (self::section(section, &(n + 1).to_string()))
                    }
                    div.annex {
                        h1 id="annex" { "Annex" }
                        p { "What the proposal rests on, for a reader who checks it." }
                        nav aria-label="Contents of the annex" {
                            @for (section, letter) in annex.iter().zip('A'..) {
                                a href=(format!("#{}", section.id)) { span.place { (letter) } " " (section.title) }
                                " "
                            }
                        }
                        @for (section, letter) in annex.iter().zip('A'..) {
                            (self::section(section, &letter.to_string()))
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
