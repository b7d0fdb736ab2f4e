//! Drums in use against drums owned.

use super::weeks::by_day;
use super::{
    BEST_ESTIMATE, Body, Chart, ChartBands, ChartLayer, Ink, Mark, Panel, Panels, dates, format_date,
    format_quantity, source,
};
use crate::quantity::{Kind, Units};
use crate::report::number::format_percent;
use crate::study::answer::RunAnswer;

pub(super) fn chart(answer: &RunAnswer, bands: &ChartBands, units: Units) -> Chart {
    let in_use =
        answer.daily.iter().enumerate().map(|(n, day)| (n as f64 + 0.5, 0.0, day.drums_in_use)).collect();
    // bands over a filled area would be hard to read
    let mut layers = match &bands.drums_in_use {
        Some(band) => band.layers(answer.start, 0.5, |v| v),
        None => vec![ChartLayer::new("", Ink::Sky, Mark::Area(in_use))],
    };
    layers.push(ChartLayer::new(
        if bands.are_given() { BEST_ESTIMATE } else { "in use overnight" },
        Ink::Night,
        Mark::Line(by_day(&answer.daily, |d| d.drums_in_use)),
    ));
    // a count of drums moves in steps, not along slopes
    for layer in &mut layers {
        layer.mark = layer.mark.clone().stepped();
    }
    let owned = answer.drums.owned;
    layers.push(ChartLayer::new(format!("owned: {owned}"), Ink::Ember, Mark::Level(owned as f64)));
    let panel = Panel {
        label: "drums in use overnight".to_owned(),
        unit: String::new(),
        from_zero: true,
        min_span: 0.0,
        layers,
    };
    Chart {
        file: "chart_drums".to_owned(),
        title: title(answer, units),
        shows: "Drums that are being filled, fermenting or waiting to be opened.".to_owned(),
        source: source(answer, bands),
        body: if answer.no_drums_wanted() {
            Body::Nothing("no drums: nothing is fermented".to_owned())
        } else {
            Body::Panels(Panels { x: dates(answer), panels: vec![panel] })
        },
    }
}

fn title(answer: &RunAnswer, units: Units) -> String {
    if answer.no_drums_wanted() {
        return "The site has no drums and needs none.".to_owned();
    }
    let owned = answer.drums.owned;
    let highest = answer.drums.in_use.highest;
    let away: f64 = answer.streams.iter().map(|s| s.turned_away).sum();
    if away > 0.0 {
        let offered: f64 = answer.streams.iter().map(|s| s.delivered.wet).sum();
        let days = answer.daily.iter().filter(|day| day.turned_away > 0.0).count();
        let days = if days == 1 { "1 day".to_owned() } else { format!("{days} days") };
        return format!(
            "{owned} drums are too few: {} of scraps ({} of the intake) are turned away on {days}.",
            format_quantity(Kind::Mass, away, units),
            format_percent(away / offered.max(f64::MIN_POSITIVE))
        );
    }
    let fullest = answer.daily.iter().find(|day| day.drums_in_use >= highest);
    let when = fullest.map_or(String::new(), |day| format!(" (on {})", format_date(day.date)));
    format!("At most {highest:.0} of {owned} drums are in use{when}; no delivery is turned away.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn drums_in_use_are_compared_with_those_owned() {
        let mut answer = sample::answer();
        let drawn = chart(&answer, &ChartBands::default(), Units::Si);
        let Body::Panels(panels) = &drawn.body else { panic!("panels") };
        let layers = &panels.panels[0].layers;
        assert_eq!(layers[1].mark, Mark::Line(vec![(0.0, 31.0), (1.0, 31.0)]), "a step of a day");
        assert_eq!(layers[2].mark, Mark::Level(60.0));
        assert!(
            drawn.title.starts_with("60 drums are too few: 70 kg of scraps (2.0 % of the intake)"),
            "{}",
            drawn.title
        );
        answer.streams[0].turned_away = 0.0;
        answer.drums.in_use.highest = 31.0;
        let title = chart(&answer, &ChartBands::default(), Units::Si).title;
        assert_eq!(title, "At most 31 of 60 drums are in use (on 1 Apr 2031); no delivery is turned away.");
    }
}
