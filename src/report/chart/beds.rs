//! The beds: temperature, moisture and feed load.

use super::weeks::{WEEK, by_day, weekly};
use super::{
    BEST_ESTIMATE, Body, Chart, ChartBand, ChartBands, ChartLayer, Ink, Mark, Panel, Panels, dates, source,
};
use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, in_column_unit};
use crate::study::answer::RunAnswer;
use crate::trace::DayRecord;

pub(super) fn chart(answer: &RunAnswer, bands: &ChartBands, units: Units) -> Chart {
    let panels = vec![temperature(answer, bands, units), moisture(answer, bands), load(answer, bands, units)];
    Chart {
        file: "chart_beds".to_owned(),
        title: title(answer, units),
        shows: if bands.are_given() {
            "Daily means over all beds. Feed load is the weekly mean of the feed laid per area.".to_owned()
        } else {
            "Daily means over all beds; the hottest spot is that of any bed. Feed load is the weekly mean of the feed laid \
             per area."
                .to_owned()
        },
        source: source(answer, bands),
        body: Body::Panels(Panels { x: dates(answer), panels }),
    }
}

/// Ten kelvin, in the reader's unit: smaller changes look small.
fn min_span(units: Units) -> f64 {
    let degrees = |value: f64| in_column_unit(Kind::Temperature, value, units);
    degrees(10.0) - degrees(0.0)
}

fn temperature(answer: &RunAnswer, bands: &ChartBands, units: Units) -> Panel {
    let degrees = |value: f64| in_column_unit(Kind::Temperature, value, units);
    let daily = &answer.daily;
    let mean = Mark::Line(by_day(daily, |d| degrees(d.bed_temperature)));
    let layers = if let Some(band) = &bands.bed_temperature {
        over(band, answer, 0.5, mean, degrees)
    } else {
        let line = |of: fn(&DayRecord) -> f64| Mark::Line(by_day(daily, |d| degrees(of(d))));
        vec![
            ChartLayer::new("bed room", Ink::Slate, line(|d| d.bed_room_temperature)),
            ChartLayer::new("mean of all beds", Ink::Night, mean),
            ChartLayer::new("hottest spot", Ink::Ember, line(|d| d.bed_hottest)),
        ]
    };
    Panel {
        label: if bands.are_given() { "mean bed temperature" } else { "temperature" }.to_owned(),
        unit: column_unit(Kind::Temperature, units).to_owned(),
        from_zero: false,
        min_span: min_span(units),
        layers,
    }
}

/// The best-estimate run over its bands.
fn over(
    band: &ChartBand,
    answer: &RunAnswer,
    shift: f64,
    best: Mark,
    unit: impl Fn(f64) -> f64,
) -> Vec<ChartLayer> {
    let mut layers = band.layers(answer.start, shift, unit);
    layers.push(ChartLayer::new(BEST_ESTIMATE, Ink::Night, best));
    layers
}

fn moisture(answer: &RunAnswer, bands: &ChartBands) -> Panel {
    let line = Mark::Line(by_day(&answer.daily, |d| 100.0 * d.bed_moisture));
    let layers = match &bands.bed_moisture {
        Some(band) => over(band, answer, 0.5, line, |share| 100.0 * share),
        None => vec![ChartLayer::new("", Ink::Night, line)],
    };
    Panel {
        label: "moisture of the worm zone".to_owned(),
        unit: "% of wet mass".to_owned(),
        from_zero: false,
        min_span: 10.0,
        layers,
    }
}

/// Area of all beds.
fn area(answer: &RunAnswer) -> f64 {
    answer.beds.iter().map(|bed| bed.area).sum()
}

fn load(answer: &RunAnswer, bands: &ChartBands, units: Units) -> Panel {
    let per_area = 1.0 / (area(answer).max(f64::MIN_POSITIVE) * WEEK as f64);
    let unit = |kg: f64| in_column_unit(Kind::ArealMass, kg * per_area, units);
    let week = WEEK as f64;
    let points = weekly(&answer.daily, |d| d.fed).into_iter().map(|(day, kg)| (day, unit(kg))).collect();
    let layers = match &bands.fed {
        Some(band) => over(band, answer, 0.5 * week, Mark::Line(points), unit),
        None => vec![ChartLayer::new("", Ink::Sky, Mark::Bars { points, width: 0.8 * week })],
    };
    Panel {
        label: "feed load".to_owned(),
        unit: format!("{} a day", column_unit(Kind::ArealMass, units)),
        from_zero: true,
        min_span: 0.0,
        layers,
    }
}

fn title(answer: &RunAnswer, units: Units) -> String {
    let daily = &answer.daily;
    let (mut low, mut high, mut hottest) = (f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY);
    let (mut dry, mut wet) = (f64::INFINITY, f64::NEG_INFINITY);
    for day in daily {
        (low, high) = (low.min(day.bed_temperature), high.max(day.bed_temperature));
        hottest = hottest.max(day.bed_hottest);
        (dry, wet) = (dry.min(day.bed_moisture), wet.max(day.bed_moisture));
    }
    if daily.is_empty() {
        return "The run has no days.".to_owned();
    }
    let unit = column_unit(Kind::Temperature, units);
    let degrees = |value: f64| {
        format!("{:.0}", in_column_unit(Kind::Temperature, value, units)).replace('-', "\u{2013}")
    };
    format!(
        "Mean bed temperature is {} to {} {unit}, the hottest spot reaches {} {unit}, and moisture is {:.0} to {:.0} %.",
        degrees(low),
        degrees(high),
        degrees(hottest),
        100.0 * dry,
        100.0 * wet
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn panels_are_in_the_readers_units() {
        let mut answer = sample::answer();
        let one = answer.daily[0];
        answer.daily = vec![DayRecord { fed: 216.0, bed_temperature: 20.0, ..one }; 7];
        let chart = chart(&answer, &ChartBands::default(), Units::Us);
        let Body::Panels(panels) = &chart.body else { panic!("panels") };
        let units: Vec<&str> = panels.panels.iter().map(|p| p.unit.as_str()).collect();
        assert_eq!(units, ["°F", "% of wet mass", "lb/ft2 a day"]);
        let Mark::Line(points) = &panels.panels[0].layers[1].mark else { panic!("a line") };
        assert!((points[0].1 - 68.0).abs() < 1e-9);
        // 216 kg on 8 beds of 27 m2 are 1 kg/m2 a day: 0.204816 lb/ft2
        let Mark::Bars { points, .. } = &panels.panels[2].layers[0].mark else { panic!("bars") };
        assert!((points[0].1 - 0.204_816).abs() < 1e-5, "{points:?}");
        assert!(chart.title.contains("moisture is 75 to 75 %"), "{}", chart.title);
    }
}
