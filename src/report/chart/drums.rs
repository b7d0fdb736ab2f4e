//! Drums in use against drums owned.

use super::weeks::by_day;
use super::{
    Bands, Body, CENTRAL_RUN, Chart, Ink, Layer, Mark, Panel, Panels, dates, long_date, said, source,
};
use crate::quantity::{Kind, Units};
use crate::report::number::percent;
use crate::study::answer::RunAnswer;

pub(super) fn chart(answer: &RunAnswer, bands: &Bands, units: Units) -> Chart {
    let in_use =
        answer.daily.iter().enumerate().map(|(n, day)| (n as f64 + 0.5, 0.0, day.drums_in_use)).collect();
    // bands over a filled area could not be read
    let mut layers = match &bands.drums_in_use {
        Some(band) => band.layers(answer.start, 0.5, |v| v),
        None => vec![Layer::new("", Ink::Sky, Mark::Area(in_use))],
    };
    layers.push(Layer::new(
        if bands.are_given() { CENTRAL_RUN } else { "in use at night" },
        Ink::Night,
        Mark::Line(by_day(&answer.daily, |d| d.drums_in_use)),
    ));
    let owned = answer.drums.owned;
    layers.push(Layer::new(format!("owned: {owned}"), Ink::Ember, Mark::Level(owned as f64)));
    let panel = Panel {
        label: "drums in use at night".to_owned(),
        unit: String::new(),
        from_zero: true,
        least_span: 0.0,
        layers,
    };
    Chart {
        file: "chart_drums".to_owned(),
        title: title(answer, units),
        shows: "Drums filled, fermenting or waiting, the one being filled included.".to_owned(),
        source: source(answer, bands),
        body: Body::Panels(Panels { x: dates(answer), panels: vec![panel] }),
    }
}

fn title(answer: &RunAnswer, units: Units) -> String {
    let owned = answer.drums.owned;
    let highest = answer.drums.in_use.highest;
    let away: f64 = answer.streams.iter().map(|s| s.turned_away).sum();
    if away > 0.0 {
        let offered: f64 = answer.streams.iter().map(|s| s.delivered.wet).sum();
        let days = answer.daily.iter().filter(|day| day.turned_away > 0.0).count();
        let days = if days == 1 { "1 day".to_owned() } else { format!("{days} days") };
        return format!(
            "{owned} drums are too few: on {days} {} of scraps, {} of what arrives, find no drum.",
            said(Kind::Mass, away, units),
            percent(away / offered.max(f64::MIN_POSITIVE))
        );
    }
    let fullest = answer.daily.iter().find(|day| day.drums_in_use >= highest);
    let when = fullest.map_or(String::new(), |day| format!(", on {}", long_date(day.date)));
    format!("At most {highest:.0} of {owned} drums are in use{when}; every delivery finds a drum.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn drums_in_use_stand_against_those_owned() {
        let mut answer = sample::answer();
        let drawn = chart(&answer, &Bands::default(), Units::Si);
        let Body::Panels(panels) = &drawn.body else { panic!("panels") };
        let layers = &panels.panels[0].layers;
        assert_eq!(layers[1].mark, Mark::Line(vec![(0.5, 31.0)]));
        assert_eq!(layers[2].mark, Mark::Level(60.0));
        assert!(
            drawn.title.starts_with("60 drums are too few: on 0 days 70 kg of scraps, 2.0 %"),
            "{}",
            drawn.title
        );
        answer.streams[0].turned_away = 0.0;
        answer.drums.in_use.highest = 31.0;
        let title = chart(&answer, &Bands::default(), Units::Si).title;
        assert_eq!(title, "At most 31 of 60 drums are in use, on 1 Apr 2031; every delivery finds a drum.");
    }
}
