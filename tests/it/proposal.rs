//! The proposal: complete, self-contained, escaped, reproducible, with sentences that follow their numbers.

use crate::cli::loamledger;
use loamledger::literature::{self, narrowed::after_prints};
use loamledger::monte_carlo::Study;
use loamledger::monte_carlo::shard::text_hash;
use loamledger::quantity::Units;
use loamledger::report::cautions::cautions;
use loamledger::report::chart::{Body, ChartBands, ChartLayer, Mark, run_charts, with_limits};
use loamledger::report::proposal::{PROPOSAL_FILE, ProposalInput, proposal};
use loamledger::scenario::{self, Plan};
use loamledger::study::rates_used::run_and_rates;
use loamledger::study::{Draws, Watch, uncertainty};
use loamledger::study::{check, drivers};
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

/// A worked site, cut to so many days.
fn site(name: &str, days: u32) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name).with_extension("json");
    let text = fs::read_to_string(path).expect("the worked site is readable");
    text.replacen("\"days\": 365", &format!("\"days\": {days}"), 1)
}

fn plan_of(text: &str) -> Plan {
    scenario::parse("site.json", text).expect("it is right")
}

/// The document of a scenario.
fn document(text: &str, file: &str, draws: u64, threads: usize, units: Units) -> String {
    let (plan, hash) = (plan_of(text), text_hash(text));
    let meaning = check::check(&plan).expect("it assembles");
    let (answer, rates) = run_and_rates(&plan).expect("it runs");
    let (first, watch) = (Draws::first(1, draws, threads), Watch::default());
    let shard = (draws > 0).then(|| uncertainty::shard(&plan, &hash, draws, &first, &watch).expect("draws"));
    let study = shard.as_ref().map(|shard| uncertainty::answer(shard).expect("an answer"));
    let usual = drivers::chosen_figures(&[]).expect("the usual ones");
    let drivers =
        shard.as_ref().and_then(|shard| drivers::drivers(&plan, &hash, shard, &usual, None, &watch).ok());
    proposal(&ProposalInput {
        scenario: text,
        hash: &hash,
        file,
        fitted: None,
        plan: &plan,
        meaning: &meaning,
        answer: &answer,
        rates: &rates,
        uncertainty: study.as_ref(),
        drivers: drivers.as_ref(),
        compared: None,
        varied: &[],
        density: None,
        densities: None,
        sizing: None,
        seed: 1,
        draws,
        units,
    })
}

/// The document without draws.
fn without_draws(text: &str) -> String {
    document(text, "site.json", 0, 1, Units::Si)
}

/// All texts between two marks.
fn between<'a>(html: &'a str, from: &str, to: &str) -> Vec<&'a str> {
    html.split(from).skip(1).map(|rest| rest.split_once(to).map_or(rest, |(inner, _)| inner)).collect()
}

/// The answer to a question of the first page.
fn answer(html: &str, question: &str) -> String {
    let found = between(html, &format!("<dt>{question}</dt><dd>"), "</dd>");
    assert_eq!(found.len(), 1, "{question}");
    found[0].to_owned()
}

fn captions(html: &str) -> Vec<String> {
    between(html, "<figcaption>", "</figcaption>").into_iter().map(str::to_owned).collect()
}

/// Text as a browser reads it.
fn unescaped(escaped: &str) -> String {
    escaped.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}

/// Names of all elements, opening and closing ones matched.
fn elements(html: &str) -> BTreeSet<String> {
    // void elements of HTML, and shapes of the charts that close themselves
    const VOID: [&str; 4] = ["meta", "link", "br", "!doctype"];
    let (mut names, mut open) = (BTreeSet::new(), Vec::new());
    let without_style = html
        .split_once("<style>")
        .and_then(|(before, rest)| rest.split_once("</style>").map(|(_, after)| format!("{before}{after}")));
    for tag in between(&without_style.expect("a style"), "<", ">") {
        let name: String =
            tag.trim_start_matches('/').chars().take_while(|c| c.is_alphanumeric() || *c == '!').collect();
        let name = name.to_lowercase();
        if tag.starts_with('/') {
            assert_eq!(open.pop().as_ref(), Some(&name), "{tag} closes what is open");
        } else if !tag.ends_with('/') && !VOID.contains(&name.as_str()) {
            open.push(name.clone());
        }
        names.insert(name);
    }
    assert!(open.is_empty(), "left open: {open:?}");
    names
}

/// Every element of the document.
const ELEMENTS: &str = "!doctype a blockquote body br caption circle code dd div dl dt figcaption figure g h1 h2 h3 head \
    header html li line link main meta nav ol p path polygon polyline pre rect section span strong svg \
    table tbody td text th thead title tr ul";

#[test]
fn the_document_is_self_contained() {
    let html = document(&site("harbour_hall", 70), "site.json", 3, 1, Units::Si);
    assert!(html.len() < 3_000_000, "{}", html.len());
    assert!(html.starts_with("<!DOCTYPE html><html lang=\"en\">") && html.ends_with("</html>\n"));
    for name in elements(&html) {
        assert!(
            ELEMENTS.split(' ').any(|known| known == name),
            "<{name}> is not allowed: no scripts, frames or images"
        );
    }
    // nothing is fetched: links are internal or hold their data
    for address in between(&html, "href=\"", "\"").into_iter().chain(between(&html, "src=\"", "\"")) {
        assert!(address.starts_with('#') || address.starts_with("data:"), "{address}");
    }
    let ids = between(&html, " id=\"", "\"");
    for address in between(&html, "href=\"#", "\"") {
        assert!(ids.contains(&address), "#{address} has no target");
    }
    assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len(), "ids are unique");
    let style = between(&html, "<style>", "</style>")[0];
    assert!(
        !style.contains("@import") && style.matches("url(").count() == style.matches("url(data:").count()
    );
    assert_eq!(html.matches("font/woff2").count(), 2, "each of two fonts once");
    assert!(
        style.contains("color-scheme: light") && style.contains("@page"),
        "a light page with print styles"
    );
}

#[test]
fn typed_text_is_escaped() {
    let long = "Very long name ".repeat(400);
    let typed = [
        ("\"name\": \"Harbour Hall\"", r#""name": "<script>alert(\"1\")</script> & 'Co'""#.to_owned()),
        (
            "an invented harbour town, mild and damp",
            "\u{5e0}\u{5de}\u{5dc} \u{202e}</p><img src=x onerror=1>".to_owned(),
        ),
        ("\"name\": \"market hall\"", format!("\"name\": \"{long}\"")),
        ("\"name\": \"canteen north\"", r#""name": "\"quoted\" <b>""#.to_owned()),
        ("\"name\": \"hall beds\"", r#""name": "</td></table><script>""#.to_owned()),
        ("\"currency\": \"EUR\"", r#""currency": "<i>""#.to_owned()),
        ("Invented prices of one year", "</pre></body><script>alert(2)</script>".to_owned()),
    ];
    let mut text = site("harbour_hall", 40);
    for (was, is) in &typed {
        assert!(text.contains(was), "{was}");
        text = text.replacen(was, is, 1);
    }
    let html = document(&text, "it's <b>.json", 0, 1, Units::Si);
    assert!(!elements(&html).contains("script") && !html.contains("<script") && !html.contains("<img"));
    assert!(html.contains("<h1>&lt;script&gt;alert(&quot;1&quot;)&lt;/script&gt; &amp; 'Co'</h1>"));
    assert!(html.contains("\u{2068}\u{5e0}\u{5de}\u{5dc} &lt;/p&gt;"), "a right-to-left name is isolated");
    let (page, listing) = html.split_once("<pre class=\"scenario\"").expect("the scenario is listed");
    assert!(!page.contains('\u{202e}'), "direction overrides are removed");
    assert!(
        page.contains("Very long name") && !page.contains(&long),
        "a long name is cut, except in the listing"
    );
    assert!(
        page.contains(r"proposal 'it'\''s &lt;b&gt;.json' --draws 0"),
        "the command quotes the file name"
    );
    let listing = listing.split_once("</pre>").expect("an end").0;
    assert!(listing.contains("&lt;/pre&gt;&lt;/body&gt;&lt;script&gt;"), "{listing}");
}

#[test]
fn the_document_holds_the_scenario_as_typed() {
    let text = site("valley_packhouse", 40);
    let html = without_draws(&text);
    let listed = html.split_once("<pre class=\"scenario\" dir=\"ltr\">\n").expect("a listing").1;
    assert_eq!(unescaped(listed.split_once("</pre>").expect("an end").0), text);
    assert!(html.contains(&text_hash(&text)) && html.contains(env!("CARGO_PKG_VERSION")));
    assert!(html.contains("loamledger proposal site.json --draws 0 --seed 1 --units si --out ."));
}

#[test]
fn the_same_run_gives_the_same_bytes_on_any_number_of_threads() {
    let text = site("valley_packhouse", 60);
    let one = document(&text, "site.json", 5, 1, Units::Us);
    assert!(one == document(&text, "site.json", 5, 3, Units::Us));
}

#[test]
fn sentences_follow_their_numbers() {
    let text = site("harbour_hall", 120);
    let base = without_draws(&text);
    for (was, is, changed, kept) in [
        ("\"count\": 56", "\"count\": 57", "Drums", "Scraps"),
        ("\"amount\": \"170 kg/day\"", "\"amount\": \"190 kg/day\"", "Scraps", "Main risks"),
        ("\"amount\": \"170 kg/day\"", "\"amount\": \"190 kg/day\"", "Bulking and bran", "Main risks"),
        ("\"mass\": 1100", "\"mass\": 1200", "Worms", "Scraps"),
        ("\"area\": 27", "\"area\": 29", "Beds and floor", "Scraps"),
        ("\"area\": 27", "\"area\": 29", "Water", "Scraps"),
        ("\"fill_share\": 0.875", "\"fill_share\": 0.8", "Worker safety", "Scraps"),
        ("\"wage\": 20", "\"wage\": 31", "Money", "Worms"),
        ("\"vent\": \"valve\"", "\"vent\": \"sealed\"", "Main risks", "Scraps"),
    ] {
        assert!(text.contains(was), "{was}");
        let other = without_draws(&text.replacen(was, is, 1));
        assert_ne!(answer(&base, changed), answer(&other, changed), "{changed} with {is}");
        assert_eq!(answer(&base, kept), answer(&other, kept), "{kept} with {is}");
    }
}

#[test]
fn captions_follow_their_numbers() {
    let text = site("harbour_hall", 220).replacen(
        "\"streams\"",
        "\"rules\": [\"india\", \"trade\", \"european_union\"], \"streams\"",
        1,
    );
    let all = captions(&without_draws(&text));
    let more = text
        .replacen("170 kg/day", "230 kg/day", 1)
        .replacen(
            "\"bed_room\": { \"share_of_outdoor_swing\": 0.6",
            "\"bed_room\": { \"heated_to\": 23, \"share_of_outdoor_swing\": 0.6",
            1,
        )
        .replacen("\"drying_area\": \"400 m2\"", "\"drying_area\": \"550 m2\"", 1);
    let more = captions(&without_draws(&more));
    assert_eq!((all.len(), more.len()), (11, 11));
    for (n, (a, b)) in all.iter().zip(&more).enumerate() {
        assert!(a.contains(&format!("Figure {}. ", n + 1)) && a.ends_with(".</strong>"), "{a}");
        // the first counts what the plan has
        if n > 0 {
            assert_ne!(
                a, b,
                "a third more of the market's scraps, a warmer shed and a larger floor change every finding"
            );
        }
    }
}

#[test]
fn the_first_page_names_failures() {
    let fails = document(&site("mountain_school", 365), "site.json", 2, 1, Units::Si);
    let verdict = between(&fails, "<p class=\"verdict\">", "</p>")[0];
    assert!(verdict.contains("of draws, "), "{verdict}");
    assert!(
        fails.contains("A site is at risk when a serious failure happens in more than 10"),
        "the rule is printed"
    );
    assert!(answer(&fails, "Main risks").contains("drums spoiled"));
    assert_eq!(answer(&fails, "Money"), "No prices are given.");
    let short = without_draws(&site("harbour_hall", 120));
    assert!(answer(&short, "Certainty").starts_with("Not quantified"));
    assert!(short.contains("No draws were made") && !short.contains("What to measure first</h3>"));
}

#[test]
fn figures_come_in_the_readers_units() {
    let html = document(&site("harbour_hall", 60), "site.json", 400, 2, Units::Us);
    let header = html.split_once("</header>").expect("a first page").0;
    let page = &header[header.find("<body>").expect("a body")..];
    for unit in ["\u{a0}lb", "\u{a0}ton", "ft²", "gal"] {
        assert!(page.contains(unit), "{unit}");
    }
    let section = |id: &str| between(&html, &format!("<section id=\"{id}\">"), "</section>")[0];
    let all_captions = captions(&html).concat();
    let parts = ["picture", "years", "course", "money", "sure", "work", "ranges"].map(section);
    for part in parts.into_iter().chain([page, all_captions.as_str()]) {
        for unit in ["\u{a0}kg", " kg", ">kg<", "m²", "°C"] {
            assert!(!part.contains(unit), "{unit} in {part}");
        }
    }
    let measured = section("sure").split_once("What to measure first</h3>").expect("a list").1;
    assert!(measured.contains("</strong>: for "), "400 draws are enough to rank the unknowns");
}

/// Anchors of the sections in order, before the annex and in it.
fn anchors(html: &str) -> (Vec<&str>, Vec<&str>) {
    let (main, annex) = html.split_once("<h1 id=\"annex\">").expect("an annex");
    (between(main, "<section id=\"", "\""), between(annex, "<section id=\"", "\""))
}

#[test]
fn the_main_part_holds_what_is_decided_on_and_the_annex_the_rest() {
    let html = document(&site("harbour_hall", 70), "site.json", 3, 1, Units::Si);
    let (main, annex) = anchors(&html);
    assert_eq!(main, ["picture", "years", "course", "products", "money", "sure", "cautions"]);
    for id in ["site", "charts", "balance", "qualities", "work", "ranges", "founded", "again"] {
        assert!(annex.contains(&id), "{id}");
    }
    // figures are numbered through both parts
    let numbers: Vec<String> =
        captions(&html).iter().map(|c| between(c, "Figure ", ".")[0].to_owned()).collect();
    let expected: Vec<String> = (1..=numbers.len()).map(|n| n.to_string()).collect();
    let mut sorted = numbers.clone();
    sorted.sort_by_key(|n| n.parse::<usize>().expect("a number"));
    assert_eq!(sorted, expected, "{numbers:?}");
    let first = html.split_once("</header>").expect("a first page").0;
    for row in ["Water", "Drainage", "Bulking and bran", "Energy and work", "Worker safety", "Money"] {
        assert!(first.contains(&format!("<dt>{row}</dt>")), "{row}");
    }
}

/// Width and height of the rectangles of a figure that are drawn with an edge of this colour.
fn rectangles(html: &str, file: &str, edge: &str) -> Vec<(f64, f64)> {
    let figure = between(html, &format!("<figure id=\"{file}\">"), "</figure>")[0];
    let number = |tag: &str, name: &str| -> f64 {
        between(tag, &format!(" {name}=\""), "\"")[0].parse().expect("a number")
    };
    between(figure, "<rect", "/>")
        .into_iter()
        .filter(|tag| tag.contains(&format!("stroke=\"{edge}\"")))
        .map(|tag| (number(tag, "width"), number(tag, "height")))
        .collect()
}

#[test]
fn the_floor_plan_is_to_scale() {
    for name in ["harbour_hall", "mountain_school", "valley_packhouse"] {
        let text = site(name, 365);
        let plan = plan_of(&text);
        let (answer, _) = run_and_rates(&plan).expect("it runs");
        let html = without_draws(&text);
        // the year that needs more floor is drawn
        let floors = [&answer.site.floor, &answer.year_that_counts().floor];
        let floor = floors.into_iter().max_by(|a, b| a.total.total_cmp(&b.total)).expect("two");
        // the walls are the thickest line; beds, pallets, drying and store have edges of their own
        let walls = rectangles(&html, "chart_floor", "#222a30")[0];
        let per_square_metre = walls.0 * walls.1 / floor.total;
        let beds = rectangles(&html, "chart_floor", "#7c5a2e");
        let pallets = rectangles(&html, "chart_floor", "#6d7f90");
        let goods = rectangles(&html, "chart_floor", "#6f8060");
        assert_eq!(beds.len(), answer.beds.len(), "{name}: every bed once");
        let area = |drawn: &[(f64, f64)]| drawn.iter().map(|(w, h)| w * h).sum::<f64>() / per_square_metre;
        let of = |wanted: &dyn Fn(&str) -> bool| {
            floor.uses.iter().filter(|u| wanted(u.name)).map(|u| u.net).sum::<f64>()
        };
        for (drawn, counted) in [
            (area(&beds), plan.bed_area()),
            (area(&pallets), of(&|name| name == "drums on pallets")),
            (area(&goods), of(&|name| name != "drums on pallets" && name != "beds")),
        ] {
            // coordinates are printed to a hundredth of a pixel
            assert!((drawn - counted).abs() < 0.01 * counted.max(1.0), "{name}: {drawn} for {counted} m2");
        }
    }
}

#[test]
fn limits_of_the_scenario_are_drawn_in_its_charts() {
    let targets = r#""sizing": { "targets": [ { "figure": "drums_highest", "at_most": 50 }, { "figure": "settled_stock_mean", "at_least": "900 kg" } ] }, "drums""#;
    let text = site("harbour_hall", 60).replacen("\"drums\"", targets, 1);
    let plan = plan_of(&text);
    let (answer, _) = run_and_rates(&plan).expect("it runs");
    let charts = with_limits(run_charts(&answer, &ChartBands::default(), Units::Us), &plan, Units::Us);
    let levels = |file: &str, panel: usize| -> Vec<f64> {
        let chart = charts.iter().find(|chart| chart.file == file).expect("a chart");
        let Body::Panels(panels) = &chart.body else { panic!("panels") };
        let level = |layer: &ChartLayer| match layer.mark {
            Mark::Level(at) => Some(at),
            _ => None,
        };
        panels.panels[panel].layers.iter().filter_map(level).collect()
    };
    let has = |levels: &[f64], wanted: f64| levels.iter().any(|at| (at - wanted).abs() < 1e-9);
    let fahrenheit = |celsius: f64| 1.8 * celsius + 32.0;
    let heat = levels("chart_beds", 0);
    for limit in [plan.feeding.hottest, plan.feeding.coldest, 33.0] {
        assert!(has(&heat, fahrenheit(limit)), "{limit} in {heat:?}");
    }
    let moisture = levels("chart_beds", 1);
    for limit in plan.beds[0].moisture_band {
        assert!(has(&moisture, 100.0 * limit), "{limit} in {moisture:?}");
    }
    let drums = levels("chart_drums", 0);
    assert!(has(&drums, 50.0) && has(&drums, f64::from(plan.drums.count)), "{drums:?}");
    // 900 kg over 0.45359237 kg a pound
    assert!(has(&levels("chart_stock", 0), 900.0 / 0.453_592_37), "the target of the settled stock");
}

/// Text without the typography of the document.
fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ").replace('²', "2").replace('³', "3")
}

#[test]
fn every_rate_used_is_listed_with_its_replacement() {
    let own = r#""rates": { "bed.acid_conditioning_rate": 0.3, "worms.juvenile_death_rate": { "central": 0.005, "low": 0.004, "high": 0.009 } }, "drums""#;
    let text = site("harbour_hall", 40).replacen("\"drums\"", own, 1);
    let html = without_draws(&text);
    let table = between(&html, "<div class=\"table rates\">", "</div>")[0];
    assert!(!table.contains("<code>"), "keys are for files");
    let listed = |key: &str| {
        let name = &literature::entry(key).expect("a rate").name;
        plain(&unescaped(table)).contains(&plain(name))
    };
    // figures of ingredients have a table of their own
    let study = Study::of(&plan_of(&text)).expect("a study");
    for quantity in study.quantities().iter().filter(|q| !q.key.starts_with("ingredients.")) {
        assert!(listed(quantity.key), "{} is drawn but not listed", quantity.key);
    }
    // rates that only the site figures use
    for key in [
        "site.labour_harvest",
        "site.drying_energy_heat",
        "worms.steady_biomass_per_feed",
        "site.weather_persistence",
    ] {
        assert!(listed(key), "{key}");
    }
    let rows = between(table, "<tr class=\"replaced\">", "</tr>");
    assert_eq!(rows.len(), 2);
    assert!(
        rows[0].contains(">0.3<")
            && rows[0].contains("by the scenario")
            && rows[0].contains("0.2, 0.08 to 0.5"),
        "{}",
        rows[0]
    );
    assert!(rows[1].contains("0.004 to 0.009"), "{}", rows[1]);
    // published 0.02 to 0.12; published trials leave less, unless the scenario asks for ranges as printed
    let narrowed = after_prints("bed.decay_rate_protein").expect("a narrowed rate");
    let both = format!("0.02 to 0.12<br>draws take {} to {}", narrowed.low(), narrowed.high());
    assert!(plain(table).contains(&both), "{both}");
    let printed = without_draws(&text.replacen("\"drums\"", "\"ranges\": \"as_printed\", \"drums\"", 1));
    assert!(html.contains("<br>draws take") && !printed.contains("<br>draws take"));
    let sources = between(&html, "<li id=\"source-", "</li>").len();
    assert!(sources > 20 && html.matches("href=\"#source-").count() > study.quantities().len());
}

#[test]
fn every_caution_is_shown() {
    let text = site("harbour_hall", 190);
    let html = unescaped(&without_draws(&text));
    let (answer, _) = run_and_rates(&plan_of(&text)).expect("it runs");
    let all = cautions(&answer, Units::Si);
    assert_eq!(all.len(), 8);
    for caution in all {
        let start = caution.split(['.', ';', ',']).next().expect("words");
        assert!(html.contains(&start.replace(" kg", "\u{a0}kg")), "{start}");
    }
}

#[test]
fn the_command_writes_the_whole_file_or_none() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("site.json"), site("harbour_hall", 30)).expect("written");
    let arguments = ["proposal", "site.json", "--draws", "2", "--out", "out"];
    let made = loamledger(folder.path(), &arguments);
    assert_eq!((made.status.code(), made.stdout.len()), (Some(0), 0));
    assert!(String::from_utf8_lossy(&made.stderr).contains("wrote proposal.html in out"));
    let names: Vec<_> = fs::read_dir(folder.path().join("out")).expect("a folder").collect();
    assert_eq!(names.len(), 1);
    let html = fs::read_to_string(folder.path().join("out").join(PROPOSAL_FILE)).expect("read");
    assert!(
        html == document(&site("harbour_hall", 30), "site.json", 2, 1, Units::Si),
        "library and program agree"
    );
    let asked = ["proposal", "site.json", "--draws", "2", "--vary", "drums.count=40,90", "--out", "vary"];
    assert_eq!(loamledger(folder.path(), &asked).status.code(), Some(0));
    let html = fs::read_to_string(folder.path().join("vary").join(PROPOSAL_FILE)).expect("read");
    assert!(html.contains("Variants of drums count") && html.contains("--vary 'drums.count=40,90'"));
    let asked = ["proposal", "site.json", "--draws", "2", "--density=1,4", "--out", "density"];
    assert_eq!(loamledger(folder.path(), &asked).status.code(), Some(0));
    let html = fs::read_to_string(folder.path().join("density").join(PROPOSAL_FILE)).expect("read");
    for part in ["Stocking density", "chart_density", "What follows from these tables", "--density='1,4'"] {
        // its tables are in the annex
        assert!(html.contains(part), "{part}");
    }
    let few = ["proposal", "site.json", "--draws", "1", "--vary", "drums.count=40", "--out", "few"];
    let few = loamledger(folder.path(), &few);
    assert_eq!(few.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&few.stderr).contains("allowed: 2 or more"));
    fs::write(folder.path().join("bad.json"), "{}").expect("written");
    assert_eq!(loamledger(folder.path(), &["proposal", "bad.json", "--out", "none"]).status.code(), Some(2));
    assert!(!folder.path().join("none").exists(), "a wrong scenario creates no folder");
    fs::write(folder.path().join("kept"), "kept").expect("written");
    assert_eq!(loamledger(folder.path(), &["proposal", "site.json", "--out", "kept"]).status.code(), Some(2));
    assert_eq!(fs::read_to_string(folder.path().join("kept")).expect("read"), "kept");
}
