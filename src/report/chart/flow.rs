//! Flows of carbon, nitrogen and water: the chain as four stages with their inflows and outflows.
//!
//! Bran and drums are one stage, and so are beds, worms and screen. Movements between them stay inside the stage, which leaves a chain
//! without loops that can be drawn to scale.

use super::{Body, Chart, ChartBands, format_quantity, source};
use crate::quantity::{Kind, Units};
use crate::study::answer::{Amounts, RunAnswer};
use crate::trace::{Flow, Holder};

/// A flow diagram: stages in the order of the chain.
#[derive(Debug, Clone, PartialEq)]
pub struct FlowDiagram {
    /// What flows, in words.
    pub substance: &'static str,
    /// Units of labels.
    pub units: Units,
    /// Stages, in the order of the chain.
    pub stages: Vec<Stage>,
}

/// A stage with its inflows and outflows.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    /// Name of the stage.
    pub name: &'static str,
    /// Inflows, except from the stage before.
    pub into: Vec<Branch>,
    /// Outflows, except to the stage after.
    pub out: Vec<Branch>,
    /// Flow to the stage after, kg.
    pub onward: f64,
}

/// An inflow or outflow of a stage.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch {
    /// Name, in words.
    pub name: String,
    /// Its kind.
    pub way: Way,
    /// Amount, kg.
    pub amount: f64,
}

/// Kinds of inflows and outflows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Brought in.
    Brought,
    /// Held at the start and used up, or made by reactions.
    Within,
    /// Sold.
    Product,
    /// Held at the end.
    Kept,
    /// To the air.
    Air,
    /// Liquor, drainage and other waste.
    Away,
}

/// Names of the stages.
const STAGES: [&str; 4] = ["drums and bran", "paste", "beds and screen", "castings store"];

/// The stage a holder is part of; `None` for outside and air.
fn stage_of(holder: Holder) -> Option<usize> {
    match holder {
        Holder::Outside | Holder::Air => None,
        Holder::Bran | Holder::Drums => Some(0),
        Holder::Paste => Some(1),
        Holder::Beds | Holder::Stock | Holder::Screen => Some(2),
        Holder::Castings => Some(3),
    }
}

/// Branches below this share of the total would be too thin to see.
pub(in crate::report) const LEAST_DRAWN: f64 = 0.0005;

/// Amounts below this share of the total are rounding errors.
const NOTHING: f64 = 1e-9;

impl FlowDiagram {
    /// Total inflow from outside the chain, kg.
    pub fn total(&self) -> f64 {
        self.stages.iter().flat_map(|stage| &stage.into).map(|branch| branch.amount).sum()
    }

    /// Inflow minus outflow of a stage, kg.
    pub fn gap(&self, stage: usize) -> f64 {
        let before = stage.checked_sub(1).map_or(0.0, |n| self.stages[n].onward);
        let sum = |branches: &[Branch]| branches.iter().map(|b| b.amount).sum::<f64>();
        let s = &self.stages[stage];
        before + sum(&s.into) - sum(&s.out) - s.onward
    }

    /// Outflow of a kind as a share of the total inflow, 0 to 1.
    pub fn share(&self, way: Way) -> f64 {
        let out = self.stages.iter().flat_map(|stage| &stage.out).filter(|branch| branch.way == way);
        out.map(|branch| branch.amount).sum::<f64>() / self.total().max(f64::MIN_POSITIVE)
    }

    fn new(substance: &'static str, units: Units, answer: &RunAnswer, of: fn(&Amounts) -> f64) -> Self {
        let empty = |name: &'static str| Stage { name, into: Vec::new(), out: Vec::new(), onward: 0.0 };
        let mut flow = Self { substance, units, stages: STAGES.map(empty).to_vec() };
        for f in &answer.balance.flows {
            flow.book(f.flow, of(&f.amounts));
        }
        for held in &answer.balance.held {
            if let Some(stage) = stage_of(held.stage) {
                flow.keep(stage, of(&held.end) - of(&held.start));
            }
        }
        flow
    }

    fn book(&mut self, flow: Flow, amount: f64) {
        match (stage_of(flow.from()), stage_of(flow.to())) {
            (None, Some(stage)) => self.enter(stage, flow.words(), Way::Brought, amount),
            (Some(stage), None) if flow.is_gas() => self.leave(stage, "to the air", Way::Air, amount),
            (Some(stage), None) => {
                let way = match flow {
                    Flow::CastingsSold | Flow::BlendSold | Flow::StockSold => Way::Product,
                    _ => Way::Away,
                };
                self.leave(stage, flow.words(), way, amount);
            }
            (Some(a), Some(b)) if a + 1 == b => self.stages[a].onward += amount,
            (Some(a), Some(b)) if a != b => {
                self.leave(a, "to another stage", Way::Away, amount);
                self.enter(b, "from another stage", Way::Within, amount);
            }
            _ => {}
        }
    }

    /// Books a change in what a stage holds: a gain is held at the end, a loss was held at the start.
    fn keep(&mut self, stage: usize, change: f64) {
        if change >= 0.0 {
            self.leave(stage, "held at the end", Way::Kept, change);
        } else {
            self.enter(stage, "held at the start", Way::Within, -change);
        }
    }

    fn enter(&mut self, stage: usize, name: &str, way: Way, amount: f64) {
        add(&mut self.stages[stage].into, name, way, amount);
    }

    fn leave(&mut self, stage: usize, name: &str, way: Way, amount: f64) {
        add(&mut self.stages[stage].out, name, way, amount);
    }

    /// Removes negligible branches and nets what each stage holds.
    fn tidied(mut self) -> Self {
        for stage in 0..self.stages.len() {
            let take = |branches: &mut Vec<Branch>, name: &str| {
                let at = branches.iter().position(|b| b.name == name);
                at.map_or(0.0, |at| branches.remove(at).amount)
            };
            let s = &mut self.stages[stage];
            let net = take(&mut s.out, "held at the end") - take(&mut s.into, "held at the start");
            self.keep(stage, net);
        }
        let least = NOTHING * self.total();
        for stage in &mut self.stages {
            stage.into.retain(|b| b.amount.abs() > least);
            stage.out.retain(|b| b.amount.abs() > least);
        }
        self
    }
}

/// Leaves out stages at either end that nothing enters or leaves.
fn without_idle_ends(mut flow: FlowDiagram) -> FlowDiagram {
    let idle = |stage: &Stage| stage.into.is_empty() && stage.out.is_empty() && stage.onward <= 0.0;
    while flow.stages.len() > 1 && flow.stages.first().is_some_and(idle) {
        flow.stages.remove(0);
    }
    while let [.., before, last] = flow.stages.as_slice()
        && idle(last)
        && before.onward <= 0.0
    {
        flow.stages.pop();
    }
    flow
}

fn add(branches: &mut Vec<Branch>, name: &str, way: Way, amount: f64) {
    match branches.iter_mut().find(|b| b.name == name && b.way == way) {
        Some(branch) => branch.amount += amount,
        None => branches.push(Branch { name: name.to_owned(), way, amount }),
    }
}

pub(super) fn carbon(answer: &RunAnswer, units: Units) -> Chart {
    chart("chart_carbon", FlowDiagram::new("carbon", units, answer, |a| a.carbon).tidied(), answer)
}

pub(super) fn nitrogen(answer: &RunAnswer, units: Units) -> Chart {
    chart("chart_nitrogen", FlowDiagram::new("nitrogen", units, answer, |a| a.nitrogen).tidied(), answer)
}

/// The flows of water. Reactions produce or use the difference between inflow and outflow of a stage.
pub(super) fn water(answer: &RunAnswer, units: Units) -> Chart {
    let mut flow = FlowDiagram::new("water", units, answer, |a| a.water).tidied();
    let least = NOTHING * flow.total();
    for stage in 0..flow.stages.len() {
        let gap = flow.gap(stage);
        if gap > least {
            flow.leave(stage, "used by reactions", Way::Away, gap);
        } else if gap < -least {
            flow.enter(stage, "made by reactions", Way::Within, -gap);
        }
    }
    chart("chart_water", flow, answer)
}

fn chart(file: &str, flow: FlowDiagram, answer: &RunAnswer) -> Chart {
    let flow = if answer.no_drums_wanted() { without_idle_ends(flow) } else { flow };
    let body_of = |flow: FlowDiagram| {
        if flow.total() > 0.0 {
            Body::Flow(flow)
        } else {
            Body::Nothing(format!("No {} enters in this run.", flow.substance))
        }
    };
    Chart {
        file: file.to_owned(),
        title: title(&flow),
        shows: format!(
            "{} over the whole run, widths to scale; shares are of all that enters. Amounts held are changes since the start. Flows below {} % are not drawn.",
            capital(flow.substance),
            100.0 * LEAST_DRAWN
        ),
        source: source(answer, &ChartBands::default()),
        body: body_of(flow),
    }
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

fn title(flow: &FlowDiagram) -> String {
    let total = flow.total();
    if total <= 0.0 {
        return format!("No {} enters.", flow.substance);
    }
    let mut parts: Vec<(f64, &str)> = vec![
        (flow.share(Way::Air), "goes to the air"),
        (flow.share(Way::Product), "leaves in products"),
        (flow.share(Way::Kept), "stays on the site"),
        (
            flow.share(Way::Away),
            if flow.substance == "water" { "drains off or is used up" } else { "drains off or is sent away" },
        ),
    ];
    parts.retain(|(share, _)| *share >= 0.005);
    parts.sort_by(|a, b| b.0.total_cmp(&a.0));
    let parts: Vec<String> =
        parts.iter().map(|(share, words)| format!("{:.0} % {words}", 100.0 * share)).collect();
    let list = match parts.as_slice() {
        [] => "nothing leaves".to_owned(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    };
    format!("Of {} of {} entering, {list}.", format_quantity(Kind::Mass, total, flow.units), flow.substance)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    fn flow_of(chart: &Chart) -> &FlowDiagram {
        let Body::Flow(flow) = &chart.body else { panic!("a flow") };
        flow
    }

    fn names(branches: &[Branch]) -> Vec<(&str, f64)> {
        branches.iter().map(|b| (b.name.as_str(), b.amount)).collect()
    }

    #[test]
    fn movements_become_branches_of_their_stage() {
        let chart = carbon(&sample::answer(), Units::Si);
        let flow = flow_of(&chart);
        assert_eq!(names(&flow.stages[0].into), [("scraps", 500.0)]);
        assert_eq!(names(&flow.stages[0].out), [("liquor", 15.0)]);
        assert_eq!(names(&flow.stages[1].into), [("bulking", 100.0)]);
        assert_eq!(names(&flow.stages[2].out), [("to the air", 250.0), ("held at the end", 125.0)]);
        assert_eq!(names(&flow.stages[3].out), [("castings sold", 210.0)]);
        assert!((flow.total() - 600.0).abs() < 1e-9);
        // the answer made by hand balances as a whole: 600 in, 15 + 250 + 125 + 210 out
        let gaps: f64 = (0..4).map(|n| flow.gap(n)).sum();
        assert!(gaps.abs() < 1e-9, "{gaps}");
        assert_eq!(
            chart.title,
            "Of 600 kg of carbon entering, 42 % goes to the air, 35 % leaves in products, 21 % stays on the site and \
             2 % drains off or is sent away."
        );
    }

    #[test]
    fn a_missing_movement_leaves_a_gap() {
        let mut answer = sample::answer();
        answer.balance.flows.retain(|f| f.flow != Flow::BedGas);
        let chart = carbon(&answer, Units::Si);
        let gaps: f64 = (0..4).map(|n| flow_of(&chart).gap(n)).sum();
        assert!((gaps - 250.0).abs() < 1e-9, "{gaps}");
    }

    #[test]
    fn water_from_reactions_closes_each_stage() {
        let chart = water(&sample::answer(), Units::Si);
        let flow = flow_of(&chart);
        for stage in 0..4 {
            assert!(flow.gap(stage).abs() < 1e-6 * flow.total());
        }
    }
}
