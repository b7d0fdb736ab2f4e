//! Charts of the worked sites: conservation in flow diagrams, units, names, reproducibility.

use loamledger::quantity::Units;
use loamledger::report::chart::{
    Body, Chart, ChartBand, ChartBands, DRAWS_CHARTS, DRIVERS_CHARTS, FlowDiagram, Mark, RUN_CHARTS,
    compare_chart_names, draws_charts, run_charts, size_chart_names,
};
use loamledger::report::draw;
use loamledger::scenario::{self, Plan};
use loamledger::study;
use loamledger::study::answer::RunAnswer;
use loamledger::study::{Draws, Watch, uncertainty};
use std::fs;
use std::path::{Path, PathBuf};

/// The answer of a worked site whose text is changed first.
pub(crate) fn answer(site: &str, change: impl Fn(&str) -> String) -> RunAnswer {
    let text = change(&fs::read_to_string(self::site(site)).expect("the worked site is readable"));
    study::run(&plan(&text)).expect("it runs")
}

/// The file of a worked site.
fn site(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name).with_extension("json")
}

fn plan(text: &str) -> Plan {
    scenario::parse("site.json", text).expect("the worked site is right")
}

/// The first twelve weeks of a site.
pub(crate) fn short(text: &str) -> String {
    text.replacen("\"days\": 365", "\"days\": 84", 1)
}

fn flow(chart: &Chart) -> &FlowDiagram {
    let Body::Flow(flow) = &chart.body else { panic!("{} is a flow diagram", chart.file) };
    flow
}

fn charts(answer: &RunAnswer) -> Vec<Chart> {
    run_charts(answer, &ChartBands::default(), Units::Si)
}

#[test]
fn flow_diagrams_conserve_carbon_and_nitrogen_at_every_stage() {
    for site in ["harbour_hall", "mountain_school", "valley_packhouse"] {
        let answer = answer(site, str::to_owned);
        for chart in &charts(&answer)[4..6] {
            let flow = flow(chart);
            let total = flow.total();
            assert!(total > 1.0, "{site}");
            for stage in 0..flow.stages.len() {
                let gap = flow.gap(stage);
                assert!(gap.abs() <= 1e-9 * total, "{site} {} stage {stage}: {gap} of {total}", chart.file);
            }
            for branch in flow.stages.iter().flat_map(|s| s.into.iter().chain(&s.out)) {
                assert!(branch.amount > 0.0, "{site} {}: {branch:?}", chart.file);
                assert!(!branch.name.contains('_') && !branch.name.contains("another stage"), "{branch:?}");
            }
        }
        // inflow of the diagram equals that of the balance, except for what was held at the start
        let carbon = flow(&charts(&answer)[4]).clone();
        let brought: f64 = carbon
            .stages
            .iter()
            .flat_map(|s| &s.into)
            .filter(|b| b.name != "held at the start")
            .map(|b| b.amount)
            .sum();
        let gate =
            answer.balance.elements.iter().find(|e| e.element == "carbon").expect("carbon is balanced");
        assert!((brought / gate.into_site - 1.0).abs() < 1e-9, "{brought} against {}", gate.into_site);
    }
}

#[test]
fn reactions_in_the_beds_produce_water() {
    let answer = answer("harbour_hall", short);
    let charts = charts(&answer);
    let water = flow(&charts[6]);
    for stage in 0..water.stages.len() {
        assert!(water.gap(stage).abs() <= 1e-9 * water.total());
    }
    let made: f64 =
        water.stages[2].into.iter().filter(|b| b.name == "made by reactions").map(|b| b.amount).sum();
    // C6H10O5 + 6 O2 -> 6 CO2 + 5 H2O: 0.341 kg of water for a kilogram of CO2; fat and protein give up to 0.5
    let carbon_dioxide: f64 = answer.daily.iter().map(|d| d.bed_carbon_dioxide).sum();
    assert!(
        (0.25..0.55).contains(&(made / carbon_dioxide)),
        "{made} kg of water, {carbon_dioxide} kg of CO2"
    );
}

#[test]
fn series_match_the_daily_record() {
    let answer = answer("harbour_hall", short);
    let charts = charts(&answer);
    let sum = |mark: &Mark| match mark {
        Mark::Line(points) | Mark::Bars { points, .. } => points.iter().map(|p| p.1).sum::<f64>(),
        _ => panic!("a line or bars"),
    };
    let Body::Panels(throughput) = &charts[0].body else { panic!("panels") };
    // twelve full weeks: nothing is left out
    let intake: f64 = answer.daily.iter().map(|d| d.intake).sum();
    let fed: f64 = answer.daily.iter().map(|d| d.fed).sum();
    assert!((sum(&throughput.panels[0].layers[0].mark) - intake).abs() < 1e-6);
    assert!((sum(&throughput.panels[0].layers[1].mark) - fed).abs() < 1e-6);
    let Body::Panels(stock) = &charts[1].body else { panic!("panels") };
    let Mark::Area(top) = &stock.panels[0].layers[2].mark else { panic!("an area") };
    for (point, day) in top.iter().zip(&answer.daily) {
        assert!((point.2 - day.stock).abs() < 1e-6 * day.stock.max(1.0), "{} {}", point.2, day.stock);
    }
}

#[test]
fn every_panel_has_a_unit_unless_it_counts() {
    let answer = answer("harbour_hall", short);
    for units in [Units::Si, Units::Us] {
        for chart in run_charts(&answer, &ChartBands::default(), units) {
            match &chart.body {
                Body::Panels(panels) => {
                    for panel in &panels.panels {
                        assert!(
                            !panel.unit.is_empty()
                                || panel.label.contains("drums")
                                || panel.label.starts_with("number of"),
                            "{panel:?}"
                        );
                        let scale = panel.scale();
                        assert!(scale.ticks.len() >= 3, "{scale:?}");
                        assert!(!panel.from_zero || scale.from <= 0.0);
                    }
                }
                Body::Intervals(intervals) => assert!(!intervals.unit.is_empty(), "{}", chart.file),
                Body::Flow(_) | Body::Floor(_) | Body::Counts(_) | Body::Nothing(_) => {}
            }
            assert!(chart.title.chars().count() < 180, "{}", chart.title);
        }
    }
}

#[test]
fn the_same_run_gives_the_same_bytes() {
    let once = || draw::pictures(&charts(&answer("harbour_hall", short))).expect("drawn");
    let (first, second) = (once(), once());
    assert!(first == second);
    assert_eq!(first.len(), draw::ENDINGS.len() * RUN_CHARTS.len());
    let svg = String::from_utf8(first[0].bytes.clone()).expect("text");
    assert!(
        svg.contains("@font-face") && !svg.contains("http://www.w3.org/1999/xlink") && !svg.contains("href")
    );
}

#[test]
fn typed_names_are_escaped_on_charts() {
    let wild = [
        "<script>alert('x')</script>",
        "\\\"quoted\\\" & <b>bold</b>",
        "\u{5d7}\u{5e6}\u{5e8} \u{5d4}\u{5d2}\u{5df} (3)",
        &"a very long name of a site that goes on ".repeat(20),
    ];
    for name in wild {
        let answer = answer("harbour_hall", |text| {
            short(text).replacen("\"name\": \"Harbour Hall\"", &format!("\"name\": \"{name}\""), 1)
        });
        assert_ne!(answer.name, "Harbour Hall");
        for chart in charts(&answer) {
            let svg = draw::svg(&chart);
            assert!(!svg.contains("<script") && !svg.contains("<b>"), "{name}");
            assert!(svg.len() < 300_000, "{name}: {}", svg.len());
        }
    }
}

#[test]
fn bands_are_drawn_if_there_are_draws() {
    let answer = answer("harbour_hall", short);
    let dates: Vec<_> = answer.daily.iter().map(|d| d.date).collect();
    let of = |factor: f64| answer.daily.iter().map(|d| factor * d.stock).collect::<Vec<f64>>();
    let band = ChartBand { dates, p5: of(0.8), p25: of(0.9), p50: of(1.0), p75: of(1.1), p95: of(1.3) };
    let bands = ChartBands { draws: 500, stock: Some(band), ..ChartBands::default() };
    let chart = &run_charts(&answer, &bands, Units::Si)[1];
    let Body::Panels(panels) = &chart.body else { panic!("panels") };
    let wide = panels.panels[0].layers.iter().find(|l| l.name == "9 draws in 10").expect("a band");
    let Mark::Area(edges) = &wide.mark else { panic!("an area") };
    assert_eq!(edges.len(), 84);
    assert!((edges[60].2 - 1.3 * answer.daily[60].stock).abs() < 1e-9);
    assert!(draw::svg(chart).contains("bands from 500 draws"));
}

#[test]
fn chart_file_names_do_not_change() {
    let run = "throughput stock drums beds carbon nitrogen water quality gases";
    let with = |names: &str| names.split(' ').map(|name| format!("chart_{name}")).collect::<Vec<String>>();
    assert_eq!(RUN_CHARTS.map(str::to_owned).to_vec(), with(run));
    assert_eq!(DRAWS_CHARTS.map(str::to_owned).to_vec(), with(&format!("{run} chances")));
    assert_eq!(DRIVERS_CHARTS.map(str::to_owned).to_vec(), with("drivers sobol"));
    let sizes = "chance_drums chance_beds chance_stock chance_grinder_hours chance_bran_weekly_capacity";
    assert_eq!(size_chart_names(), with(sizes));
    assert_eq!(
        compare_chart_names(["fed", "stock_end"], false),
        with("difference_fed difference_stock_end against")
    );
    assert_eq!(draw::picture_names(["chart_stock"])[0], "chart_stock.svg");
}

#[test]
fn draws_appear_as_bands_under_the_best_estimate_run() {
    let text = short(&fs::read_to_string(site("harbour_hall")).expect("readable"));
    let plan = plan(&text);
    let best = study::run(&plan).expect("it runs");
    let shard = uncertainty::shard(&plan, "", 8, &Draws::first(3, 8, 2), &Watch::default());
    let study = uncertainty::answer(&shard.expect("draws")).expect("an answer");
    let charts = draws_charts(&best, &study, Units::Us);
    let again = draw::pictures(&draws_charts(&best, &study, Units::Us)).expect("drawn");
    assert!(draw::pictures(&charts).expect("drawn") == again);
    let Body::Panels(throughput) = &charts[0].body else { panic!("panels") };
    for (panel, total) in throughput.panels.iter().zip(["intake", "fed"]) {
        assert_eq!(panel.unit, "lb a week");
        let Mark::Area(wide) = &panel.layers[0].mark else { panic!("an area") };
        let Mark::Area(half) = &panel.layers[1].mark else { panic!("an area") };
        assert_eq!(wide.len(), 12);
        assert!(wide.iter().zip(half).all(|(w, h)| w.1 <= h.1 && h.1 <= h.2 && h.2 <= w.2), "{total}");
        // twelve weeks are the whole run: the outer edges enclose the total of every draw, within a bin of 2 %
        let sum = |edge: fn(&(f64, f64, f64)) -> f64| 0.453_592_37 * wide.iter().map(edge).sum::<f64>();
        let spread = &study.figures.iter().find(|f| f.name == total).expect("a figure").spread;
        let spread = spread.as_ref().expect("a spread");
        assert!(sum(|w| w.1) < 1.02 * spread.mean && sum(|w| w.2) > 0.98 * spread.mean, "{total}");
    }
    let Body::Intervals(chances) = &charts[9].body else { panic!("intervals") };
    assert_eq!(chances.rows.len(), study.failures.len());
}
