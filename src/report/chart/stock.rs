//! The worm stock by stage, compared with what the intake requires.

use super::weeks::by_day;
use super::{
    BEST_ESTIMATE, Body, Chart, ChartBands, ChartLayer, Ink, Mark, Panel, Panels, dates, format_quantity,
    source,
};
use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, in_column_unit};
use crate::study::answer::RunAnswer;
use crate::trace::DayRecord;

/// Name, ink and live mass on a day of a stage.
type StageLook = (&'static str, Ink, fn(&DayRecord) -> f64);

pub(super) fn chart(answer: &RunAnswer, bands: &ChartBands, units: Units) -> Chart {
    let mass = |value: f64| in_column_unit(Kind::Mass, value, units);
    let stages: [StageLook; 3] = [
        ("adults", Ink::Night, |d| d.adults),
        ("sub-adults", Ink::Steel, |d| d.subadults),
        ("juveniles", Ink::Straw, |d| d.juveniles),
    ];
    let mut layers = Vec::new();
    let mut below: Vec<f64> = vec![0.0; answer.daily.len()];
    for (name, ink, of) in stages {
        let mut area = Vec::with_capacity(answer.daily.len());
        for (n, day) in answer.daily.iter().enumerate() {
            let top = below[n] + mass(of(day));
            area.push((n as f64 + 0.5, below[n], top));
            below[n] = top;
        }
        layers.push(ChartLayer::new(name, ink, Mark::Area(area)));
    }
    let s = &answer.stock;
    let levels = [
        ChartLayer::new(
            "required for the mean intake at the ration",
            Ink::Ember,
            Mark::Level(mass(s.needed_at_ration)),
        ),
        ChartLayer::new("stock this feed can sustain", Ink::Slate, Mark::Level(mass(s.kept_by_feed))),
    ];
    let panel = |layers| Panel {
        label: if bands.are_given() { "best-estimate run by stage" } else { "live worms" }.to_owned(),
        unit: column_unit(Kind::Mass, units).to_owned(),
        from_zero: true,
        min_span: 0.0,
        layers,
    };
    let [need, kept] = levels;
    layers.extend([need.clone(), kept]);
    let mut panels = vec![panel(layers)];
    // bands over stacked areas would be hard to read
    if let Some(band) = &bands.stock {
        let mut whole = band.layers(answer.start, 0.5, mass);
        let line = by_day(&answer.daily, |d| mass(d.stock));
        whole.extend([ChartLayer::new(BEST_ESTIMATE, Ink::Night, Mark::Line(line)), need]);
        panels.insert(0, Panel { label: "all live worms".to_owned(), ..panel(whole) });
    }
    Chart {
        file: "chart_stock".to_owned(),
        title: title(answer, units),
        shows: if bands.are_given() {
            "Live mass of worms without cocoons: all worms over the draws, and the stages of the best-estimate run, stacked.".to_owned()
        } else {
            "Live mass of worms by stage, stacked; cocoons are not counted.".to_owned()
        },
        source: source(answer, bands),
        body: Body::Panels(Panels { x: dates(answer), panels }),
    }
}

fn title(answer: &RunAnswer, units: Units) -> String {
    let s = &answer.stock;
    let kg = |value: f64| format_quantity(Kind::Mass, value, units);
    if s.needed_at_ration <= 0.0 {
        return format!("The worm stock ends at {}; no scraps arrive.", kg(s.end.total));
    }
    let enough = answer.daily.iter().position(|day| day.stock >= s.needed_at_ration);
    let last_below = answer.daily.iter().rposition(|day| day.stock < s.needed_at_ration);
    let need = kg(s.needed_at_ration);
    match (enough, last_below) {
        (None, _) => format!(
            "The worm stock never reaches the {need} that the intake requires; its maximum is {}.",
            kg(answer.daily.iter().map(|day| day.stock).fold(0.0, f64::max))
        ),
        (Some(_), None) => format!("The worm stock always exceeds the {need} that the intake requires."),
        (Some(first), Some(last)) if last < first => format!(
            "From {} on, the worm stock exceeds the {need} that the intake requires; it ends at {}.",
            super::format_date(answer.daily[first].date),
            kg(s.end.total)
        ),
        _ => {
            let below = answer.daily.iter().filter(|day| day.stock < s.needed_at_ration).count();
            format!(
                "On {below} of {} days, the worm stock is below the {need} that the intake requires; it ends at {}.",
                answer.daily.len(),
                kg(s.end.total)
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;
    use jiff::ToSpan;

    fn days(stock: &[f64]) -> RunAnswer {
        let mut answer = sample::answer();
        let one = answer.daily[0];
        answer.daily = (0_i32..)
            .zip(stock)
            .map(|(n, stock)| DayRecord {
                date: one.date + n.days(),
                stock: *stock,
                juveniles: 0.2 * stock,
                subadults: 0.3 * stock,
                adults: 0.5 * stock,
                ..one
            })
            .collect();
        answer
    }

    #[test]
    fn stages_stack_up_to_the_whole_stock() {
        let answer = days(&[100.0, 160.0]);
        let chart = chart(&answer, &ChartBands::default(), Units::Si);
        let Body::Panels(panels) = &chart.body else { panic!("panels") };
        let layers = &panels.panels[0].layers;
        let Mark::Area(adults) = &layers[0].mark else { panic!("an area") };
        let Mark::Area(top) = &layers[2].mark else { panic!("an area") };
        assert_eq!(adults[1], (1.5, 0.0, 80.0));
        assert!((top[0].2 - 100.0).abs() < 1e-9 && (top[1].2 - 160.0).abs() < 1e-9);
        assert_eq!(layers[3].mark, Mark::Level(150.0));
    }

    #[test]
    fn the_title_compares_the_stock_with_the_requirement() {
        let title = |stock: &[f64]| title(&days(stock), Units::Si);
        assert!(title(&[100.0, 120.0]).starts_with("The worm stock never reaches the 150 kg"));
        assert!(title(&[160.0, 170.0]).starts_with("The worm stock always exceeds"));
        assert!(title(&[100.0, 170.0]).starts_with("From 2 Apr 2031 on, the worm stock exceeds"));
        assert!(title(&[160.0, 100.0, 170.0]).starts_with("On 1 of 3 days, the worm stock is below"));
    }
}
