//! The live page in a real browser: moves, pin, units, keyboard, reload, two pages, small screens, what is read out, and a quiet console.

use super::checker::finds_nothing;
use super::chromium::{Chromium, Tab};
use super::{Served, school};
use loamledger::quantity::Units;
use loamledger::report::explore::{PAGE_CHARTS, bands, moved, picture};
use loamledger::scenario::varied;
use loamledger::study::Watch;
use loamledger::study::explore::{Base, Changes, DrawsSoFar, Setting, TURNS, choices};
use std::time::Instant;

/// All draws are made, and the settled year is there.
const DONE: &str = "document.querySelector('#draws progress').value === 400 && !document.body.classList.contains('settling')";

/// Every chart has come.
const DRAWN: &str = "[...document.querySelectorAll('.chart img')].every((img) => img.complete && img.naturalWidth > 0 && img.alt)";

impl Served {
    fn address(&self) -> String {
        format!("http://{}{}", self.host, self.path)
    }
}

/// The text of a figure of this variant, or of the pinned one.
fn figure(browser: &mut Chromium, tab: &Tab, name: &str, side: &str) -> String {
    browser.text(tab, &format!("[data-name={name}] .{side} a"))
}

fn focus(browser: &mut Chromium, tab: &Tab, selector: &str) {
    let focused = format!(
        "(document.querySelector('{selector}').focus(), document.activeElement.matches('{selector}'))"
    );
    assert_eq!(browser.evaluate(tab, &focused), true, "{selector}");
}

const DRUMS: &str = "[data-key=\"drums.count\"] [type=range]";

#[test]
fn a_page_is_worked_from_the_keyboard_alone() {
    let Some(mut browser) = Chromium::start() else { return };
    let served = Served::of(&school(60));
    let tab = browser.open(&served.address(), 1200, false);
    browser.wait(&tab, DONE);
    let as_planned = figure(&mut browser, &tab, "turned_away_share", "now");
    assert_eq!(as_planned.replace('\u{a0}', " "), "0 %");
    // the first stops: to the results, units, buttons
    browser.press(&tab, "Tab");
    assert_eq!(browser.evaluate(&tab, "document.activeElement.className"), "skip");
    // pin it, then leave no drum: the figure follows the slider
    focus(&mut browser, &tab, "#pin");
    browser.press(&tab, "Enter");
    focus(&mut browser, &tab, DRUMS);
    browser.press(&tab, "Home");
    browser.wait(
        &tab,
        "document.querySelector('[data-name=turned_away_share] .now a').textContent.startsWith('100')",
    );
    assert_eq!(figure(&mut browser, &tab, "turned_away_share", "pinned"), as_planned);
    assert!(browser.text(&tab, "#glance").contains("turned away 100"));
    browser.press(&tab, "ArrowRight");
    browser.wait(&tab, &format!("document.querySelector('{DRUMS}').getAttribute('aria-valuetext') === '1'"));
    browser.wait(&tab, DONE);
    let verdict = browser.text(&tab, "#verdict");
    assert!(verdict.contains("are turned away"), "{verdict}");
    assert!(browser.text(&tab, "#command").contains("school_explored.json --draws 400"));
    // bands of both sides, and the pinned figure in other units
    assert!(browser.text(&tab, "[data-name=stock_end] .now .range").ends_with("kg"));
    focus(&mut browser, &tab, "[name=units][value=si]");
    browser.press(&tab, "ArrowRight");
    browser
        .wait(&tab, "document.querySelector('[data-name=stock_end] .pinned a').textContent.endsWith('lb')");
    assert!(browser.text(&tab, "[data-key=\"stock.mass\"] .unit").ends_with("lb"));
    // what is behind a number opens over the page, leads on to a rate, and gives the focus back
    focus(&mut browser, &tab, "[data-name=stock_end] .now a");
    browser.press(&tab, "Enter");
    browser.wait(&tab, "document.getElementById('behind').open");
    assert!(browser.text(&tab, "#behind-title").contains("Worms at the end"));
    browser.evaluate(&tab, "document.querySelector('#behind-body a.why').focus()");
    browser.press(&tab, "Enter");
    browser.wait(&tab, "document.querySelector('#behind-title').textContent !== 'Worms at the end'");
    assert!(browser.text(&tab, "#behind-body").contains("evidence"));
    assert_eq!(browser.evaluate(&tab, "document.activeElement.textContent"), "Close");
    browser.press(&tab, "Escape");
    browser.wait(&tab, "!document.getElementById('behind').open");
    assert_eq!(
        browser.evaluate(&tab, "document.activeElement.matches('[data-name=stock_end] .now a')"),
        true
    );
    // take the pinned variant up again, then go back to the file
    focus(&mut browser, &tab, "#swap");
    browser.press(&tab, " ");
    browser.wait(
        &tab,
        "document.querySelector('[data-name=turned_away_share] .pinned a').textContent.length > 4",
    );
    browser.wait(&tab, DONE);
    assert_eq!(figure(&mut browser, &tab, "turned_away_share", "now"), as_planned);
    assert!(browser.complaints.is_empty(), "{:?}", browser.complaints);
}

#[test]
fn a_reload_keeps_what_was_moved_and_another_page_does_not_see_it() {
    let Some(mut browser) = Chromium::start() else { return };
    let served = Served::of(&school(60));
    let [one, other] = [(); 2].map(|()| browser.open(&served.address(), 1200, false));
    let typed = "{const t = document.querySelector('[data-key=\"drums.count\"] [type=text]'); t.value = '2'; t.dispatchEvent(new Event('change', { bubbles: true }))}";
    browser.evaluate(&one, typed);
    browser.wait(
        &one,
        &format!("document.querySelector('{DRUMS}').value === '2' && location.hash.includes('drums')"),
    );
    browser.reload(&one);
    browser.wait(&one, &format!("document.querySelector('{DRUMS}').value === '2'"));
    browser.wait(&one, DONE);
    browser.wait(&other, DONE);
    assert_eq!(browser.evaluate(&other, &format!("document.querySelector('{DRUMS}').value")), "40");
    assert_ne!(figure(&mut browser, &one, "fed", "now"), figure(&mut browser, &other, "fed", "now"));
    // a setting that cannot be is explained, and the page goes on
    browser.evaluate(&one, &typed.replace("'2'", "'many'"));
    browser.wait(&one, "document.getElementById('problem').textContent.includes('drums.count')");
    browser.evaluate(&one, "document.getElementById('reset').click()");
    browser.wait(&one, "document.getElementById('problem').textContent === ''");
    browser.wait(&one, &format!("document.querySelector('{DRUMS}').value === '40'"));
    // a refused question shows in the console of the browser, and nothing else may
    let unexpected: Vec<_> = browser.complaints.iter().filter(|text| !text.contains("422")).collect();
    assert!(unexpected.is_empty(), "{unexpected:?}");
}

#[test]
fn small_and_dark_screens_show_all_of_it_and_everything_has_a_name() {
    let Some(mut browser) = Chromium::start() else { return };
    let wild =
        serde_json::Value::String("<img src=x onerror=\"document.title='taken'\">".to_owned()).to_string();
    let mut text = school(60);
    for key in ["name", "streams[0].name", "beds[0].name"] {
        text = varied("school.json", &text, key, &wild).unwrap_or_else(|e| panic!("{e}"));
    }
    let served = Served::of(&text);
    for (width, dark) in [(390, false), (390, true), (1200, false), (1200, true)] {
        let tab = browser.open(&served.address(), width, dark);
        browser.wait(&tab, DONE);
        let wide = browser.evaluate(&tab, "document.documentElement.scrollWidth").as_u64().expect("a width");
        assert!(wide <= u64::from(width), "{wide} px on a screen of {width}");
        let ground = browser.evaluate(&tab, "getComputedStyle(document.documentElement).backgroundColor");
        assert_eq!(ground == "rgb(20, 25, 27)", dark, "{ground}");
        assert!(browser.text(&tab, "h1").contains("<img src=x"), "text of a scenario stays text");
        assert_eq!(browser.evaluate(&tab, "document.title.includes('explore')"), true);
        browser.wait(&tab, DRAWN);
        let spoken = browser.spoken(&tab);
        let count = |wanted: &str| spoken.iter().filter(|(role, _)| role == wanted).count();
        assert!(
            count("slider") >= 15 && count("textbox") >= 15 && count("table") == 2,
            "{}",
            count("slider")
        );
        for (role, name) in &spoken {
            let named = !matches!(
                role.as_str(),
                "slider"
                    | "textbox"
                    | "button"
                    | "link"
                    | "image"
                    | "checkbox"
                    | "radio"
                    | "progressbar"
                    | "form"
            );
            assert!(named || !name.is_empty(), "a {role} has no name");
        }
        let page = format!("{width} px, {}", if dark { "dark" } else { "light" });
        finds_nothing(&mut browser, &tab, &page);
        browser.evaluate(&tab, "document.querySelector('[data-name=stock_end] .now a').click()");
        browser.wait(&tab, "document.getElementById('behind').open");
        finds_nothing(&mut browser, &tab, &format!("{page}, behind a number"));
    }
    assert!(browser.complaints.is_empty(), "{:?}", browser.complaints);
}

/// Moves the slider of drums 200 times, so many milliseconds apart: median, 95 % and longest time to the new figures, ms.
const MOVES: &str = "(async (apart) => {
    const slider = document.querySelector('[data-key=\"drums.count\"] [type=range]');
    const pause = (ms) => new Promise((done) => setTimeout(done, ms));
    const times = [];
    for (let n = 0; n < 200; n += 1) {
        const value = 5 + ((n * 7) % 50);
        const start = performance.now();
        slider.value = value;
        slider.dispatchEvent(new Event('input', { bubbles: true }));
        while (slider.getAttribute('aria-valuetext') !== String(value)) await pause(0);
        times.push(performance.now() - start);
        await pause(apart);
    }
    times.sort((a, b) => a - b);
    return [100, 190, 199].map((n) => Math.round(times[n]));
})";

/// Milliseconds from a move to the bands of each number of draws: when they are put in place, and when the browser has drawn them.
const BANDS: &str = "(async () => {
    const slider = document.querySelector('[data-key=\"drums.count\"] [type=range]');
    const made = document.querySelector('#draws progress');
    const times = {};
    const start = performance.now();
    const since = () => Math.round(performance.now() - start);
    const all = new Promise((done) => new MutationObserver(() => {
        const draws = made.value;
        if (!draws || times[draws]) return;
        times[draws] = [since()];
        requestAnimationFrame(() => setTimeout(() => {
            times[draws].push(since());
            if (draws === 400) done();
        }));
    }).observe(made, { attributes: true }));
    const at = Number(slider.value);
    slider.value = at > 55 ? at - 1 : 59;
    slider.dispatchEvent(new Event('input', { bubbles: true }));
    await all;
    return JSON.stringify(times);
})()";

#[test]
#[ignore = "measures; worth its time in a release build on an idle machine"]
fn two_hundred_moves_of_a_one_year_site() {
    let Some(mut browser) = Chromium::start() else { return };
    for (site, text) in one_year_sites() {
        let served = Served::of(&text);
        let tab = browser.open(&served.address(), 1200, false);
        browser.wait(&tab, DONE);
        for (apart, when) in [(0, "idle"), (400, "with draws running")] {
            let times = browser.evaluate(&tab, &format!("{MOVES}({apart})"));
            println!("{site}, {when}: median, 95 %, longest of 200 moves, ms: {times}");
        }
        for _ in 0..3 {
            browser.wait(&tab, DONE);
            println!("{site}: bands by draws, ms after the move: {}", browser.evaluate(&tab, BANDS));
        }
        // the program ends with `served`: a chart still on its way would be a complaint
        browser.wait(&tab, DRAWN);
    }
    assert!(browser.complaints.is_empty(), "{:?}", browser.complaints);
}

/// Sites of a year, by name.
fn one_year_sites() -> [(&'static str, String); 2] {
    let hall = include_str!("../../../scenarios/harbour_hall.json").to_owned();
    [("school", school(365)), ("harbour_hall", hall)]
}

#[test]
#[ignore = "measures; worth its time in a release build on an idle machine"]
fn where_the_time_of_a_move_goes() {
    for (site, text) in one_year_sites() {
        let base = Base::new("site.json", &text).expect("a scenario");
        for drums in [30.0, 31.0] {
            let changes = Changes::from([("drums.count".to_owned(), Setting::Number(drums))]);
            let mut last = Instant::now();
            let mut lap = |what: &str| {
                println!("{site}: {what} {:.1} ms", 1000.0 * last.elapsed().as_secs_f64());
                last = Instant::now();
            };
            let variant = base.variant(&changes).expect("a variant");
            lap("reading the move");
            let run = variant.outcome().expect("an outcome");
            lap("best estimate");
            let sent =
                serde_json::to_string(&moved(&variant.id, &choices(&variant.plan), &run)).expect("JSON");
            lap(&format!("texts of it, {} bytes,", sent.len()));
            let mut draws = DrawsSoFar::none(&variant, &run.figures).expect("draws");
            lap("unknowns");
            for to in TURNS {
                assert!(draws.extend(to, 2, &Watch::default()));
                lap(&format!("draws to {to}"));
                let study = draws.answer().expect("an answer");
                lap("ranges");
                let sent = serde_json::to_string(&bands(&variant.id, &run, &study)).expect("JSON");
                lap(&format!("texts of them, {} bytes,", sent.len()));
            }
            let study = draws.answer().expect("an answer");
            for name in PAGE_CHARTS {
                let drawn = picture(name, &run.answer, Some(&study), Units::Si).expect("a chart");
                lap(&format!("{name}, {} bytes,", drawn.len()));
            }
            variant.settled().expect("a settled year");
            lap("settled year");
        }
    }
}
