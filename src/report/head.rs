//! The head that every HTML document of this program has.

use maud::{Markup, html};

/// The head of a document: its title, the colour schemes it has a look for, the program that made it where it is a file, and style or
/// scripts.
pub(super) fn head(title: &str, schemes: &str, version: Option<&str>, more: &Markup) -> Markup {
    html! {
        head {
            meta charset="utf-8";
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta name="color-scheme" content=(schemes);
            @if let Some(version) = version { meta name="generator" content=(format!("Loamledger {version}")); }
            title { (title) }
            // an empty icon, so that browsers do not request one
            link rel="icon" href="data:,";
            (more)
        }
    }
}
