//! The printed page of a sizing, and its tables for other programs.

mod rules;
mod tables;

pub use tables::sizing_tables;

use crate::quantity::{Kind, Units};
use crate::report::number::{
    format_figures, format_interval, format_number, format_percent, format_quantity,
};
use crate::report::pages::page::{Page, words};
use crate::report::pages::run::warnings::{cautions, items, list, plain_items};
use crate::report::pages::uncertainty::statement;
use crate::report::pages::verdict;
use crate::report::table::{Cell, Column, Table};
use crate::study::sizing::{
    Difference, Met, Missed, Refusal, SizedSite, SizingAnswer, Take, UnitChange, Variable,
};

/// Names of the files of a sizing; its charts come beside them.
pub const SIZE_FILES: [&str; 6] =
    ["sizes.csv", "sites.csv", "units.csv", "start_up.csv", "result.json", "size.txt"];

/// Share of the intake that must be ground for the site to keep up. Source: our choice.
const KEEPS_UP: f64 = 0.95;

/// A figure of a target with its unit.
fn format_value(met: &Met, value: f64, units: Units) -> String {
    match met.kind {
        Kind::Share => format_percent(value),
        kind if kind.unit().is_empty() && met.unit != "1" => format!("{} {}", format_number(value), met.unit),
        kind => format_quantity(kind, value, units),
    }
}

/// The answer to *size* as a page of text.
pub fn sizing_text(answer: &SizingAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    page.heading(&answer.name);
    page.line("goal", "a cheap site that meets the targets");
    page.line("answer", &headline(answer, units));
    page.line("run", &format!("{} days from {}", answer.days, answer.start));
    let sites = format!("{} sites tried with {} draws", answer.candidates, answer.draws_made);
    page.line(
        "search",
        &format!(
            "{sites}, {} more could not differ from one made; up to {} each in the first search and {} near the answer; seed {}",
            answer.draws_reused, answer.draws, answer.settling_draws, answer.seed
        ),
    );
    page.explain_draw();
    if let Some(no) = &answer.refusal {
        refusal(answer, no, &mut page);
    }
    sizes(answer, &mut page);
    targets(answer, &mut page);
    sites_beside(answer, &mut page);
    units_more_or_less(answer, &mut page);
    if !answer.start_up.is_empty() {
        page.heading("Buying or growing the stock");
        page.paragraph(
            "Full intake: over four weeks less than 2 % of the intake is turned away, and the worms eat at least nine tenths of what a stock bought whole eats at the end.",
        );
        page.table(&tables::start_up(&answer.start_up, true));
        page.line("full intake in month", "reached by half of the draws; at latest: by nine tenths of them");
    }
    demand(answer, &mut page);
    rules::compared(answer, &mut page);
    reversals(answer, &mut page);
    page.heading("Warnings of the best-estimate run of this site");
    list(&items(&answer.run, units), &mut page);
    cautions(&answer.run, &mut page);
    page.into_text()
}

/// The answer in a sentence.
pub(crate) fn headline(answer: &SizingAnswer, units: Units) -> String {
    let none_free = answer.variables.iter().all(|v| !v.free);
    let sizes: Vec<String> = answer
        .variables
        .iter()
        .filter(|v| v.free || (none_free && v.value.is_some()))
        .filter_map(|v| Some(sized(v.name, v.kind, v.value?, answer.bed_area, units)))
        .collect();
    let sizes = sizes.join(", ");
    if !answer.found {
        let missed: Vec<String> = answer
            .refusal
            .iter()
            .flat_map(|no| &no.missed)
            .map(|missed| reason(answer, missed, units))
            .collect();
        return format!(
            "no site that was tried meets the targets; the nearest has {sizes}: {}",
            missed.join("; ")
        );
    }
    if answer.shown {
        return sizes;
    }
    let confidence = format_percent(answer.confidence);
    format!(
        "{sizes}; its draws meet each chance but do not show it with {confidence} confidence, and larger sites that were tried are not better \
         beyond noise"
    )
}

/// A size in words: "84 drums", "20 beds (540 m2)", "1300 kg of worms".
fn sized(name: &str, kind: Kind, value: f64, bed_area: f64, units: Units) -> String {
    match name {
        "beds" => {
            format!("{} beds ({})", format_figures(value, 4), format_quantity(Kind::Area, bed_area, units))
        }
        "stock" => format!("{} of worms bought", format_quantity(kind, value, units)),
        _ if kind == Kind::Count => format!("{} {}", format_figures(value, 4), words(name)),
        _ => format!("{} {}", words(name), format_quantity(kind, value, units)),
    }
}

/// What misses a target, in words: the failure that it rules out, or its figure beyond a limit.
pub(crate) fn asks(met: &Met, units: Units) -> String {
    if met.failure {
        return statement(met.what, units);
    }
    let limit = |value: Option<f64>| value.map(|value| format_value(met, value, units)).unwrap_or_default();
    let (low, high) = (limit(met.at_least), limit(met.at_most));
    let figure = words(&met.figure);
    match (low.is_empty(), high.is_empty()) {
        (true, _) => format!("{figure} above {high}"),
        (false, true) => format!("{figure} below {low}"),
        (false, false) => format!("{figure} outside {low} to {high}"),
    }
}

/// The limits of a target: "at most 2.0 %".
pub(crate) fn limits(met: &Met, units: Units) -> String {
    let low = met.at_least.map(|v| format!("at least {}", format_value(met, v, units)));
    let high = met.at_most.map(|v| format!("at most {}", format_value(met, v, units)));
    low.into_iter().chain(high).collect::<Vec<_>>().join(" and ")
}

/// A target that is missed, with its chance.
fn reason(answer: &SizingAnswer, missed: &Missed, units: Units) -> String {
    let met = answer.targets.iter().find(|met| met.figure == missed.figure);
    let asks = met.map_or_else(|| words(&missed.figure), |met| asks(met, units));
    let (fails, needed) = (format_percent(1.0 - missed.share), format_percent(1.0 - missed.needed));
    let draws = missed.draws;
    let Some(met) = met else { return format!("{asks} in {fails} of {draws} draws, {needed} would do") };
    let allowed = format_percent(1.0 - met.chance);
    let limit = format!("at most {needed} of so many would show the {allowed} that is allowed");
    format!("{asks} in {fails} of {draws} draws; {limit}")
}

/// What is to be said of a missed target whose chance new draws cannot tell from what is allowed. None if they can.
fn at_limit(met: &Met, units: Units) -> Option<String> {
    (met.low <= met.chance && met.chance <= met.high).then(|| {
        format!(
            "at the limit: {}, by new draws in {} ({} to {}) where {} is allowed; no site that was tried does better on all \
             targets, so the cheapest that does as well is shown",
            asks(met, units),
            format_percent(1.0 - met.share),
            format_percent(1.0 - met.high),
            format_percent(1.0 - met.low),
            format_percent(1.0 - met.chance)
        )
    })
}

/// Why no site was found, and what would help.
pub(in crate::report) fn refusal(answer: &SizingAnswer, no: &Refusal, page: &mut Page) {
    let units = page.units();
    page.heading("Why not, and what would help");
    for missed in &no.missed {
        page.item("- ", &reason(answer, missed, units));
    }
    for met in answer.targets.iter().filter(|met| no.missed.iter().any(|missed| missed.figure == met.figure))
    {
        if let Some(text) = at_limit(met, units) {
            page.item("- ", &text);
        }
    }
    for met in answer.targets.iter().filter(|met| !met.met) {
        if let Some(promised) = met.promised {
            let at = if met.at_most.is_some() { "at most" } else { "at least" };
            let can = format!(
                "this can be promised instead with chance {}: {} {at} {}",
                format_percent(met.chance),
                words(&met.figure),
                format_value(met, promised, units)
            );
            page.item("- ", &can);
        }
    }
    if let Some(of) = no.causes.first().map(|cause| cause.of) {
        page.blank();
        page.paragraph(&format!(
            "In {of} draws that fail, run over three years with the nearest site, the model reports:"
        ));
    }
    for cause in &no.causes {
        let found = plain_items(cause.warnings.iter().map(|reported| &reported.warning), units);
        for item in found.iter().take(1) {
            page.item("- ", &format!("{} (in {} of {} draws)", item.message, cause.draws, cause.of));
            page.item("  hint: ", item.hint());
        }
    }
    if !no.feeding.is_empty() {
        let limits: Vec<String> =
            no.feeding.iter().map(|(limit, days)| format!("{limit} on {days} bed-days")).collect();
        page.item("- ", &format!("beds due for feed took none because of: {}", limits.join(", ")));
    }
    let take = |t: &Take| {
        let kind = answer.variables.iter().find(|v| v.name == t.name).map_or(Kind::Factor, |v| v.kind);
        let why = if t.held { "held at" } else { "tried up to" };
        let at = |value: f64| format_quantity(kind, value, units);
        format!("{} {} ({why} {})", words(t.name), at(t.takes), at(t.tried))
    };
    let takes: Vec<String> = no.takes.iter().map(take).collect();
    let help = if takes.is_empty() {
        "no larger or smaller site that was tried meets the targets: what must change is not a size"
            .to_owned()
    } else {
        format!("it would take {}", takes.join(", "))
    };
    page.item("- ", &help);
}

fn amount(variable: &Variable, value: Option<f64>, units: Units) -> String {
    value.map_or_else(|| "-".to_owned(), |value| format_quantity(variable.kind, value, units))
}

fn sizes(answer: &SizingAnswer, page: &mut Page) {
    page.heading("Sizes");
    let names = [if answer.found { "answer" } else { "nearest" }, "plan", "estimate", "step", "tried"];
    let mut columns = vec![Column::words("size")];
    columns.extend(names.map(Column::words_right));
    columns.extend([Column::words_right("unit cost"), Column::words("source")]);
    let mut table = Table::new("", columns);
    let units = page.units();
    for v in &answer.variables {
        let tried = match (v.low, v.high) {
            (Some(low), Some(high)) => format_interval(v.kind, low, high, units),
            _ => "fixed".to_owned(),
        };
        let value = if v.value.is_none() { "no limit".to_owned() } else { amount(v, v.value, units) };
        table.push(vec![
            words(v.name).into(),
            value.into(),
            amount(v, v.plan, units).into(),
            format_quantity(v.kind, v.by_hand, units).into(),
            amount(v, v.step, units).into(),
            tried.into(),
            format_number(v.weight).into(),
            v.basis.into(),
        ]);
    }
    page.table(&table);
    page.line("area of the beds", &format_quantity(Kind::Area, answer.bed_area, units));
    let plan = answer
        .plan_cost
        .map_or_else(String::new, |cost| format!("; the plan as given: {}", format_number(cost)));
    page.line("cost", &format!("{} {}{plan}", format_number(answer.cost), currency(answer)));
    page.line(
        "estimate",
        "from the mean or the busiest month, before any simulation, as `loamledger check` prints it",
    );
}

fn currency(answer: &SizingAnswer) -> &str {
    answer.currency.as_deref().unwrap_or("(assumed weights)")
}

fn targets(answer: &SizingAnswer, page: &mut Page) {
    page.heading("Targets, checked on new draws");
    let columns = vec![
        Column::words("target"),
        Column::words(if answer.by_verdict { "may not happen" } else { "limit" }),
        Column::of("allowed", Kind::Share),
        Column::of("missed", Kind::Share),
        Column::words("95 % interval"),
        Column::words(""),
    ];
    let mut table = Table::new("", columns);
    let units = page.units();
    for met in &answer.targets {
        let note = match (met.met, met.binding) {
            (false, _) => "MISSED",
            (true, true) => "nearest",
            (true, false) => "",
        };
        let asks = if met.failure { asks(met, units) } else { limits(met, units) };
        table.push(vec![
            words(&met.figure).into(),
            asks.into(),
            (1.0 - met.chance).into(),
            (1.0 - met.share).into(),
            format_interval(Kind::Share, 1.0 - met.high, 1.0 - met.low, units).into(),
            note.into(),
        ]);
    }
    page.table(&table);
    for met in answer.targets.iter().filter(|met| !met.failure) {
        page.line(&words(&met.figure), met.what);
    }
    let missed = if answer.verified_draws > answer.settling_draws {
        format!("; {} of them missed a target by no more than noise", answer.settling_draws)
    } else {
        String::new()
    };
    let checked = format!("{}, seed {}{missed}", answer.verified_draws, answer.fresh_seed);
    page.line("draws of this check", &checked);
    if answer.by_verdict {
        page.line(
            "targets",
            "the scenario has none: these are the questions of the verdict, with the chances it allows",
        );
    } else {
        risks(answer, page);
    }
    page.line("verdict on these draws", &verdict::sentence(&answer.verdict, units));
    if answer.raised > 0 {
        let times =
            format!("the search was tightened {} times because new draws missed a target", answer.raised);
        page.line("note", &times);
    }
}

fn risks(answer: &SizingAnswer, page: &mut Page) {
    page.heading("Other risks, on the same draws");
    let columns =
        vec![Column::words("failure"), Column::of("draws", Kind::Share), Column::words("95 % interval")];
    let mut table = Table::new("", columns);
    for risk in &answer.risks {
        let interval = format_interval(Kind::Share, risk.low, risk.high, page.units());
        table.push(vec![statement(risk.statement, page.units()).into(), risk.share.into(), interval.into()]);
    }
    page.table(&table);
    page.paragraph("To rule one of these out, add it to `sizing.targets` of the scenario, or leave the targets out: the verdict then decides.");
}

/// The target that the cautious site spares most: that of the answer missed most often for what is allowed.
fn binding(answer: &SizingAnswer) -> usize {
    answer.targets.iter().position(|met| met.binding).unwrap_or(0)
}

/// The lean, the recommended and the cautious site beside each other.
pub(in crate::report) fn sites_beside(answer: &SizingAnswer, page: &mut Page) {
    if answer.sites.is_empty() {
        return;
    }
    let units = page.units();
    page.heading("Three sites");
    let mut columns = vec![Column::words("")];
    columns.extend(answer.sites.iter().map(|site| Column::words_right(site.name)));
    let mut table = Table::new("", columns);
    for (n, v) in answer.variables.iter().enumerate().filter(|(_, v)| v.free) {
        let value = |site: &SizedSite| match site.sizes[n] {
            _ if !site.found => "-".to_owned(),
            Some(value) => format_quantity(v.kind, value, units),
            None => "no limit".to_owned(),
        };
        table.push(
            [words(v.name)].into_iter().chain(answer.sites.iter().map(value)).map(Cell::from).collect(),
        );
    }
    let row = |label: String, of: &dyn Fn(&SizedSite) -> String| -> Vec<Cell> {
        let value = |site: &SizedSite| if site.found { of(site) } else { "-".to_owned() };
        [label].into_iter().chain(answer.sites.iter().map(value)).map(Cell::from).collect()
    };
    table.push(row("area of the beds".to_owned(), &|site| format_quantity(Kind::Area, site.bed_area, units)));
    table.push(row(format!("cost, {}", currency(answer)), &|site| format_number(site.cost)));
    for (n, met) in answer.targets.iter().enumerate() {
        if answer.sites.iter().all(|site| site.shares[n].share >= 1.0) {
            continue;
        }
        table.push(row(words(&met.figure), &|site| {
            let share = &site.shares[n];
            let range = format_interval(Kind::Share, 1.0 - share.high, 1.0 - share.low, units);
            format!("{} ({range})", format_percent(1.0 - share.share))
        }));
    }
    page.table(&table);
    page.paragraph(
        "Chances on the draws of the search, with 95 % interval; beside the answer those near a limit are made and the others expected from \
         sites nearby. A lean site may miss each target twice as often as the answer, a cautious one half as often.",
    );
    for site in answer.sites.iter().filter(|site| !site.found) {
        page.item("- ", &format!("no {} site was found within a few steps of the answer", site.name));
    }
}

/// What one step more or less of each size changes.
pub(in crate::report) fn units_more_or_less(answer: &SizingAnswer, page: &mut Page) {
    if answer.units.is_empty() {
        return;
    }
    let units = page.units();
    page.heading("One step more or less");
    let columns = vec![
        Column::words("site"),
        Column::plain("cost", ""),
        Column::words_right("missed more"),
        Column::words("95 % interval"),
        Column::words("target"),
    ];
    let mut table = Table::new("", columns);
    for unit in &answer.units {
        let kind = answer.variables.iter().find(|v| v.name == unit.variable).map_or(Kind::Factor, |v| v.kind);
        let n = most_changed(answer, unit);
        let Difference { share, low, high, .. } = unit.differences[n];
        let site = format!("{} {}", words(unit.variable), format_quantity(kind, unit.value, units));
        table.push(vec![
            site.into(),
            unit.cost.into(),
            format_percent(-share).into(),
            format_interval(Kind::Share, -high, -low, units).into(),
            words(&answer.targets[n].figure).into(),
        ]);
    }
    page.table(&table);
    let draws = answer.units[0].differences.iter().map(|d| d.draws).max().unwrap_or(0);
    page.paragraph(&format!(
        "Compared with the answer on the same {draws} draws, of which those that came nearest to a limit were made again; the target that \
         changes most. An interval that holds 0 is no difference that these draws can show."
    ));
}

/// The target that a step changes most; the nearest to its limit if none changes.
fn most_changed(answer: &SizingAnswer, unit: &UnitChange) -> usize {
    let most = (0..unit.differences.len())
        .max_by(|a, b| unit.differences[*a].share.abs().total_cmp(&unit.differences[*b].share.abs()));
    most.filter(|n| unit.differences[*n].share.abs() > 0.0).unwrap_or_else(|| binding(answer))
}

fn demand(answer: &SizingAnswer, page: &mut Page) {
    page.heading("Grinder, bran and drums required in the best-estimate run");
    let d = &answer.demand;
    page.line("grinding on the busiest day", &format_quantity(Kind::Hours, d.grinder_hours, page.units()));
    if d.bran_weekly > 0.0 {
        page.line(
            "bran started in the busiest week",
            &format_quantity(Kind::Mass, d.bran_weekly, page.units()),
        );
    }
    page.line("most drums in use", &format_number(d.drums));
    page.line(
        "share of the intake ground",
        &format!("{} over the last quarter of the run", format_percent(d.keeps_up)),
    );
    if d.keeps_up < KEEPS_UP {
        page.item(
            "caution: ",
            "the drums are filling up because the beds take less than arrives; a longer run would turn intake away. Run more days, or leave the targets out: the verdict asks about the settled year.",
        );
    }
}

fn reversals(answer: &SizingAnswer, page: &mut Page) {
    page.heading("Larger sites that do worse");
    if answer.reversals.is_empty() {
        page.paragraph("No larger site missed a target in clearly more draws than a smaller one.");
    }
    for r in &answer.reversals {
        let larger: Vec<String> = r.larger.iter().map(|name| words(name)).collect();
        let met = answer.targets.iter().find(|met| met.figure == r.figure);
        let asks = met.map_or_else(|| words(&r.figure), |met| asks(met, page.units()));
        let text = format!(
            "{asks}: in {} of draws only the site with more of {} misses this",
            format_percent(r.lost),
            larger.join(", ")
        );
        page.item("- ", &text);
    }
}
