//! The limits of the model, read from the README so that both texts agree.

use maud::{Markup, html};

/// The README.
const README: &str = include_str!("../../../README.md");
/// Heading of the limits in the README.
const HEADING: &str = "## What the model includes, and its limits";

/// What the model includes, and each limit, in the README's words.
pub(super) fn limits() -> Markup {
    let part = part();
    let (included, list) = part.split_once("\n- ").unwrap_or((part, ""));
    html! {
        p { (marked(&joined(included))) }
        ul { @for item in list.split("\n- ") { li { (marked(&joined(item))) } } }
    }
}

/// The text between the heading and the next one.
fn part() -> &'static str {
    let after = README.split_once(HEADING).map_or("", |(_, after)| after);
    after.split_once("\n## ").map_or(after, |(here, _)| here).trim()
}

fn joined(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Markup of text in which double asterisks mark strong words and backticks mark code.
fn marked(text: &str) -> Markup {
    html! {
        @for (n, piece) in text.split("**").enumerate() {
            @if n % 2 == 1 { strong { (coded(piece)) } } @else { (coded(piece)) }
        }
    }
}

fn coded(text: &str) -> Markup {
    html! {
        @for (n, piece) in text.split('`').enumerate() {
            @if n % 2 == 1 { code { (piece) } } @else { (piece) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_limit_of_the_readme_appears_without_markdown() {
        let html = limits().into_string();
        let items = part().lines().filter(|line| line.starts_with("- ")).count();
        assert!(items > 5, "{items}");
        assert_eq!(html.matches("<li>").count(), items);
        assert!(html.contains("<strong>") && !html.contains("**") && !html.contains('`'), "{html}");
    }
}
