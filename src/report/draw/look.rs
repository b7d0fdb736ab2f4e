//! The look: colours of soil and sky that differ in lightness and dash as well as in hue.

use crate::report::chart::Ink;

/// Text and axes.
pub(super) const INK: &str = "#222a30";
/// Secondary text.
pub(super) const QUIET: &str = "#59636b";
/// Grid lines.
pub(super) const GRID: (u8, u8, u8) = (0xdd, 0xe1, 0xe4);
/// Family of all text.
pub(super) const FAMILY: &str = "Noto Sans, Helvetica, Arial, sans-serif";

/// Red, green, blue.
pub(super) type Colour = (u8, u8, u8);

/// Look of an ink.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stroke {
    /// Colour.
    pub colour: Colour,
    /// Opacity, 0 to 1.
    pub cover: f64,
    /// Width of lines, px.
    pub width: f64,
    /// Dash and gap of lines, px. `None` for a solid line.
    pub dash: Option<(f64, f64)>,
}

/// How an ink is drawn.
pub(super) const fn stroke(ink: Ink) -> Stroke {
    let (colour, cover, width, dash) = match ink {
        Ink::Night => ((0x17, 0x35, 0x54), 1.0, 1.75, None),
        Ink::Ember => ((0xc2, 0x56, 0x1a), 1.0, 2.0, Some((7.0, 3.5))),
        Ink::Sky => ((0x8f, 0xbc, 0xda), 1.0, 1.75, None),
        Ink::Slate => ((0x4a, 0x55, 0x5e), 1.0, 1.5, Some((1.75, 2.75))),
        Ink::Steel => ((0x6d, 0x9b, 0xc3), 1.0, 1.75, None),
        Ink::Straw => ((0xe9, 0xd3, 0x9b), 1.0, 1.75, None),
        Ink::Wide => ((0x8f, 0xa3, 0xb5), 0.35, 1.0, None),
        Ink::Narrow => ((0x5f, 0x7b, 0x95), 0.5, 1.0, None),
    };
    Stroke { colour, cover, width, dash }
}

/// A colour as SVG writes it.
pub(super) fn hex((red, green, blue): Colour) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// Lightness of a colour in grey print, 0 to 1. Source: ITU-R BT.601 luma.
#[cfg(test)]
pub(super) fn grey((red, green, blue): Colour) -> f64 {
    (0.299 * f64::from(red) + 0.587 * f64::from(green) + 0.114 * f64::from(blue)) / 255.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inks_of_one_panel_differ_in_grey_print_or_dash() {
        let meeting: [&[Ink]; 4] = [
            &[Ink::Night, Ink::Ember, Ink::Sky],
            &[Ink::Night, Ink::Steel, Ink::Straw],
            &[Ink::Night, Ink::Ember, Ink::Slate],
            &[Ink::Wide, Ink::Night],
        ];
        for inks in meeting {
            for (n, a) in inks.iter().enumerate() {
                for b in &inks[n + 1..] {
                    let (a, b) = (stroke(*a), stroke(*b));
                    let apart = (grey(a.colour) - grey(b.colour)).abs();
                    assert!(apart > 0.2 || a.dash != b.dash, "{a:?} {b:?}");
                }
            }
        }
    }
}
