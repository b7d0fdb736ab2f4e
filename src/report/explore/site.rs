//! The site as its chain: what arrives, drums, grinder, beds with their worms, castings. Each station is a picture of counts with a
//! caption; no text of the scenario is in it, so that the page may put it in place as markup.

use crate::quantity::{Kind, Units};
use crate::report::number::{format_figures, format_number, format_percent, format_quantity};
use crate::report::proposal::text::set;
use crate::study::answer::RunAnswer;
use maud::{Markup, html};

/// Most marks in a picture; a mark then stands for several things. Our choice.
const MOST_MARKS: usize = 40;
/// Marks in a row.
const ROW: usize = 8;
/// Width and height of the place of a mark, in the units of the picture.
const PLACE: (f64, f64) = (20.0, 24.0);
/// Height of a picture: five rows.
const HEIGHT: f64 = 5.0 * PLACE.1;
/// Stocking density that fills the mark of a bed, kg/m2. Our choice: four times what starts a bed well.
const FULL_BED: f64 = 10.0;

/// The chain.
pub(super) fn chain(answer: &RunAnswer, units: Units) -> Markup {
    html! {
        ol.chain {
            (scraps(answer, units))
            @if !answer.no_drums_wanted() { (drums(answer)) }
            (grinder(answer, units))
            (beds(answer, units))
            (castings(answer, units))
        }
    }
}

/// A station: its name, its picture with what it shows, its captions.
fn station(name: &str, shows: &str, marks: &Markup, captions: &Markup) -> Markup {
    let width = ROW as f64 * PLACE.0;
    html! {
        li {
            h3 { (name) }
            svg role="img" aria-label=(shows) viewBox=(format!("0 0 {width} {HEIGHT}")) { (marks) }
            (captions)
        }
    }
}

/// A number that leads to what is behind it.
fn number(figure: &str, text: &str) -> Markup {
    html! { a.why href=(format!("number/{figure}")) { (set(text)) } }
}

/// How many things a mark stands for, so that at most [`MOST_MARKS`] are drawn: 1, 2 or 5 times a power of ten.
fn per_mark(things: f64) -> f64 {
    let least = (things / MOST_MARKS as f64).max(f64::MIN_POSITIVE);
    let power = 10_f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|n| n * power)
        .find(|n| *n >= least * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}

/// Places of marks, bottom row first: left and top edge.
fn places(count: usize) -> impl Iterator<Item = (f64, f64)> {
    (0..count).map(|n| {
        let (column, row) = (n % ROW, n / ROW);
        (column as f64 * PLACE.0, HEIGHT - (row + 1) as f64 * PLACE.1)
    })
}

/// Whole number of marks for so many things, at most [`MOST_MARKS`].
fn marks(things: f64, each: f64) -> usize {
    let count = crate::quantity::whole((things / each).ceil());
    usize::try_from(count).unwrap_or(MOST_MARKS).min(MOST_MARKS)
}

/// What a mark stands for, where it is more than one thing.
fn scale(each: f64, what: &str) -> Markup {
    html! { @if each > 1.0 { p.scale { "one mark: " (format_number(each)) " " (what) } } }
}

fn scraps(answer: &RunAnswer, units: Units) -> Markup {
    let days = (answer.days as f64).max(1.0);
    let [delivered, away] = [
        |s: &crate::study::answer::StreamIntake| s.delivered.wet,
        |s: &crate::study::answer::StreamIntake| s.turned_away,
    ]
    .map(|of| answer.streams.iter().map(of).sum::<f64>());
    let share = if delivered > 0.0 { away / delivered } else { 0.0 };
    let daily = format_quantity(Kind::MassRate, delivered / days, units);
    // a heap whose area goes with the amount would say little: the share turned away is what can be seen
    let (width, top) = (ROW as f64 * PLACE.0 - 8.0, 20.0);
    let full = HEIGHT - top - 2.0;
    let lost = full * share.clamp(0.0, 1.0);
    let picture = html! {
        rect.kept x="4" y=(place(top + lost)) width=(place(width)) height=(place(full - lost)) {}
        rect.lost x="4" y=(place(top)) width=(place(width)) height=(place(lost)) {}
    };
    let captions = html! {
        p { (number("intake", &daily)) " on the mean day" }
        p { (number("turned_away_share", &format_percent(share))) " turned away" }
    };
    station("Scraps", &format!("{daily}, {} turned away", format_percent(share)), &picture, &captions)
}

fn drums(answer: &RunAnswer) -> Markup {
    let drums = &answer.drums;
    let owned = drums.owned as f64;
    let each = per_mark(owned).max(1.0);
    let (mean, most) = (drums.in_use.mean, drums.in_use.highest);
    let picture = html! {
        @for (n, (x, y)) in places(marks(owned, each)).enumerate() {
            @let middle = (n as f64 + 0.5) * each;
            rect.drum.busy[middle <= mean].peak[middle > mean && middle <= most]
                x=(place(x + 3.0)) y=(place(y + 3.0)) width="14" height="18" rx="3" {}
        }
    };
    let in_use = format_figures(most, 3);
    let captions = html! {
        p { (format_number(owned)) " drums, at most " (number("drums_highest", &in_use)) " in use" }
        p { (number("drums_spoiled_share", &drums.spoiled.to_string())) " of " (drums.sealed) " batches spoil" }
        (scale(each, "drums"))
    };
    let shows =
        format!("{owned} drums; in use {} on the mean day and {in_use} at most", format_figures(mean, 3));
    station("Drums", &shows, &picture, &captions)
}

fn grinder(answer: &RunAnswer, units: Units) -> Markup {
    let grinder = &answer.grinder;
    let weeks = (answer.days as f64 / 7.0).max(1.0);
    let hours = format_figures(grinder.hours / weeks, 2);
    let all = grinder.ground + grinder.bulking;
    let share = if all > 0.0 { grinder.bulking / all } else { 0.0 };
    let (width, top) = (ROW as f64 * PLACE.0 - 60.0, 38.0);
    let full = HEIGHT - top - 2.0;
    let dry = full * share.clamp(0.0, 1.0);
    let picture = html! {
        path.line d="M14 12 L146 12 L112 36 L48 36 Z" {}
        rect.dry x="30" y=(place(top)) width=(place(width)) height=(place(dry)) {}
        rect.kept x="30" y=(place(top + dry)) width=(place(width)) height=(place(full - dry)) {}
    };
    let bulking = format_quantity(Kind::Mass, grinder.bulking, units);
    let captions = html! {
        p { (number("fed", &format_quantity(Kind::Mass, all, units))) " of feed, of it " (number("bulking", &bulking)) " bulking" }
        p { (hours) " hours a week" }
    };
    station("Grinder", &format!("bulking is {} of the feed", format_percent(share)), &picture, &captions)
}

fn beds(answer: &RunAnswer, units: Units) -> Markup {
    let count = answer.beds.len() as f64;
    let each = per_mark(count).max(1.0);
    let area: f64 = answer.beds.iter().map(|bed| bed.area).sum();
    let stock = answer.stock.end.total;
    let marked = marks(count, each);
    let stride = crate::quantity::whole(each);
    let one = |n: usize| answer.beds.get(n * usize::try_from(stride).unwrap_or(1));
    let picture = html! {
        @for (n, (x, y)) in places(marked).enumerate() {
            @let worms = one(n).map_or(0.0, |bed| (bed.density_end / FULL_BED).clamp(0.0, 1.0));
            rect.bed x=(place(x + 1.0)) y=(place(y + 5.0)) width="18" height="16" rx="1" {}
            rect.worms x=(place(x + 2.0)) y=(place(y + 20.0 - 14.0 * worms)) width="16" height=(place(14.0 * worms)) {}
        }
    };
    let kept = format_quantity(Kind::Mass, stock, units);
    let density = if area > 0.0 { stock / area } else { 0.0 };
    let density = format_quantity(Kind::ArealMass, density, units);
    let captions = html! {
        p { (format_number(count)) " beds, " (set(&format_quantity(Kind::Area, area, units))) }
        p { (number("stock_end", &kept)) " of worms at the end, " (set(&density)) }
        (scale(each, "beds"))
    };
    station("Beds", &format!("{count} beds with {kept} of worms at the end"), &picture, &captions)
}

fn castings(answer: &RunAnswer, units: Units) -> Markup {
    let mass = |figure: f64| format_quantity(Kind::Mass, figure, units);
    let sold: f64 = answer.products.iter().map(|product| product.amounts.wet).sum();
    let each = per_mark(sold / SACK).max(1.0);
    let picture = html! {
        @for (x, y) in places(marks(sold / SACK, each)) {
            path.sack d=(format!("M{} {} q7 -5 14 0 l2 14 h-18 z", place(x + 3.0), place(y + 6.0))) {}
        }
    };
    let captions = html! {
        p { (number("product_sold", &mass(sold))) " sold" }
        p.scale { "one mark: " (set(&mass(each * SACK))) }
    };
    station("Castings", &format!("{} sold", mass(sold)), &picture, &captions)
}

/// Mass that a mark of castings stands for at least, kg: a sack. Our choice.
const SACK: f64 = 25.0;

/// A position with at most one decimal.
fn place(value: f64) -> String {
    format_figures((value * 10.0).round() / 10.0, 4)
}
