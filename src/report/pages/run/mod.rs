//! The printed page of a run.

pub(in crate::report) mod balance;
pub(in crate::report) mod beds;
pub(in crate::report) mod drums;
mod filled;
pub(in crate::report) mod products;
mod summary;
pub(in crate::report) mod site;
pub(in crate::report) mod stock;
pub(crate) mod warnings;
pub(in crate::report) mod water;
pub(in crate::report) mod years;

use crate::quantity::Units;
use crate::report::pages::page::Page;
use crate::scenario::plan::FilledPart;
use crate::study::answer::{AsItStands, RunAnswer, Span};

/// The answer to *run* as a page of text: a summary, warnings, then the site in the order of the chain.
pub fn run_text(answer: &RunAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    let found = warnings::items(answer, units);
    head(answer, &mut page);
    summary::summary(answer, &found, &mut page);
    page.heading("Warnings");
    warnings::list(&found, &mut page);
    years::years(answer, &mut page);
    balance::intake(answer, &mut page);
    balance::movements(answer, &mut page);
    balance::gate(answer, &mut page);
    balance::ways_out(answer, &mut page);
    drums::drums(answer, &mut page);
    drums::bran(answer, &mut page);
    drums::grinder(answer, &mut page);
    beds::beds(answer, &mut page);
    filled::filled(answer, &mut page);
    stock::stock(answer, &mut page);
    products::products(answer, &mut page);
    balance::gases(answer, &mut page);
    site::floor(answer, &mut page);
    water::water(answer, &mut page);
    site::work(answer, &mut page);
    site::greenhouse(answer, &mut page);
    site::money(answer, &mut page);
    warnings::cautions(answer, &mut page);
    page.into_text()
}

fn head(answer: &RunAnswer, page: &mut Page) {
    page.heading(&answer.name);
    if let Some(place) = &answer.place {
        page.line("place", place);
    }
    let last = i64::try_from(answer.days.max(1) - 1)
        .ok()
        .and_then(|days| answer.start.checked_add(jiff::Span::new().try_days(days).ok()?).ok());
    let dates = last.map_or_else(|| answer.start.to_string(), |last| format!("{} to {last}", answer.start));
    page.line("run", &format!("{dates} ({} days)", answer.days));
    if let Some(name) = &answer.goes_on_from {
        page.line("goes on from", &format!("the state of {name} on the evening before"));
    }
    if let Some(stands) = &answer.as_it_stands {
        page.line("begins as it stands", &as_it_stands(stands));
    }
    page.line("program version", answer.version);
}

/// How the site began, in words.
fn as_it_stands(stands: &AsItStands) -> String {
    let run = format!("after {} days of running", stands.days_run);
    let filled: Vec<&str> = stands.filled.iter().copied().map(filled_words).collect();
    if filled.is_empty() {
        return format!("{run}; all amounts are given, their composition is that of the plan run up to then");
    }
    format!("{run}; not given, and filled by running the plan up to then: {}", filled.join(", "))
}

const fn filled_words(part: FilledPart) -> &'static str {
    match part {
        FilledPart::Bran => "bran in store",
        FilledPart::Drums => "sealed drums",
        FilledPart::Filling => "the drum being filled",
        FilledPart::Paste => "paste",
        FilledPart::Drying => "castings that dry",
        FilledPart::Curing => "castings that cure",
        FilledPart::Castings => "castings in beds",
        FilledPart::Moisture => "moisture of beds",
        FilledPart::Feed => "feed in beds",
        FilledPart::Temperature => "temperature of beds",
        FilledPart::Worms => "worms",
        FilledPart::Harvested => "days of the last harvest",
    }
}

/// Lowest, mean and highest, each written by `format`.
fn format_span(span: &Span, format: impl Fn(f64) -> String) -> String {
    format!("lowest {}, mean {}, highest {}", format(span.lowest), format(span.mean), format(span.highest))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    /// The page of the sample from one heading up to another, or to the end.
    fn part(from: &str, to: &str) -> String {
        let text = run_text(&sample::answer(), Units::Si);
        let at = |name: &str| text.find(&format!("{name}\n===")).expect("a heading of the page");
        text[at(from)..if to.is_empty() { text.len() } else { at(to) }].to_owned()
    }

    #[test]
    fn the_head_and_the_intake() {
        insta::assert_snapshot!(part("Sample Shed", "Balance by stage"), @r"
        Sample Shed
        ===========
        place                             nowhere
        run                               2031-04-01 to 2031-04-14 (14 days)
        program version                   0.0.0

        Summary
        =======
        verdict                           it works in the best-estimate run: no failure happens; draws show
                                          how likely that is
        intake                            3500 kg taken in, 70 kg turned away (2.0 %)
        castings sold                     1000 kg, 1.55 m3
        drums in use                      31 on average, 33 at most, 60 owned
        worms                             100 kg at the start, 140 kg at the end; the intake needs 150 kg
        settled year                      none is sought: the run is shorter than a year
        balance                           closes: largest relative residual 3.2e-13, 1e-9 allowed
        warnings                          1 serious, 1 caution

        Warnings
        ========
        serious: 70 kg of scraps (2.0 %) found no free drum on 2 days from 2031-04-03; worst day 30 kg
            hint: Add drums, open them sooner, or grind and feed faster; sizing finds the number.
        caution: 120 kg of worms for an intake that needs 150 kg (1.2 times as many)
            hint: Buy more, or take in less until the stock has grown, which takes months.

        First year and settled year
        ===========================
        settled year                      none is sought: the run is shorter than a year

        Intake
        ======
        stream    wet  water   dry    C   N    P   K  turned away  sorted out
                   kg     kg    kg   kg  kg   kg  kg           kg          kg
        -------  ----  -----  ----  ---  --  ---  --  -----------  ----------
        canteen  3500   2450  1050  500  26  3.5   7           70          35

        turned away for lack of a drum    70 kg, 2.0 % of what arrived
        ");
    }

    #[test]
    fn the_balance() {
        insta::assert_snapshot!(part("Balance by stage", "Drums"), @r"
        Balance by stage
        ================
        Movements of the whole run
        stage: movement    from > to            wet  water   dry    C   N     P     K
                                                 kg     kg    kg   kg  kg    kg    kg
        -----------------  ------------------  ----  -----  ----  ---  --  ----  ----
        intake
          scraps           outside > drums     3500   2450  1050  500  26   3.5     7
        drums
          liquor           drums > outside      200    180    20   15   1   0.2   0.4
        grinder
          bulking          outside > paste      240     20   220  100   1  0.24  0.48
        beds
          gas of the beds  beds > air          1600    900   700  250   3   1.6   3.2
        product
          castings sold    castings > outside  1000    450   550  210  11     1     2

        Wet and dry mass of gases are net of the oxygen taken in.

        Held by each stage (drums: gas under their lids included)
        stage          wet  water  dry    C   N     P     K
                        kg     kg   kg   kg  kg    kg    kg
        -----  -----  ----  -----  ---  ---  --  ----  ----
        beds   start  1000    800  200   80   2     1     2
               end    1940   1800  140  205  14  1.94  3.88

        Elements over the whole site
        element    in  out  change held  in - out - change
                   kg   kg           kg                 kg
        --------  ---  ---  -----------  -----------------
        carbon    600  475          125                  0
        nitrogen   27   15           12                  0

        largest relative residual         3.2e-13 over all stages, elements and days; 1e-9 is allowed
        the balance                       closes

        Where carbon, nitrogen and water go, as shares of all brought in
                                     carbon  share  nitrogen  share  water  share
                                         kg      %        kg      %     kg      %
        ---------------------------  ------  -----  --------  -----  -----  -----
        scraps                          500   83.3        26   96.3   2450   99.2
        bulking and grit                100   16.7         1    3.7     20    0.8
        bran, water, compost, worms       0    0.0         0    0.0      0    0.0
        made by reactions, net            0    0.0         0    0.0     60    2.4
        = together                      600  100.0        27  100.0   2530  102.4
        to product                      210   35.0        11   40.7    450   18.2
        to the air                      250   41.7         3   11.1    900   36.4
        to liquor and drainage           15    2.5         1    3.7    180    7.3
        sent away otherwise               0    0.0         0    0.0      0    0.0
        change in what is held          125   20.8        12   44.4   1000   40.5
        ");
    }

    #[test]
    fn drums_to_beds() {
        insta::assert_snapshot!(part("Drums", "Worm stock"), @r"
        Drums
        =====
        owned                             60
        in use overnight                  lowest 20, mean 31, highest 33
        sealed, opened, spoiled           28, 27, 0
        pH at opening, mean               3.92
        age at opening, mean              14.4 days
        lactic, acetic, butyric acid      52, 17, 0.4 g/kg dry matter
        ethanol                           10 g/kg dry matter
        nitrogen turned to ammonia        9.0 %
        carbon dioxide made               0.27 mol/kg dry matter
        dry matter lost as gas            1.2 %
        liquor drained                    200 kg
        of what was filled in             5.6 %
        pH of the liquor                  3.91
        ammonium nitrogen in it           0.62 g/L
        potassium in it                   2.7 g/L
        highest gauge pressure            3.4 kPa
        highest carbon dioxide in room    880 ppm as a mean over eight hours, 1210 ppm for a moment
        a full drum weighs                136.4 kg

        Bran
        ====
        bran used                         70 kg
        needed but not in store           0 kg
        to start in the week of           2031-03-04 35 kg; 2031-03-18 36 kg
        largest week                      36 kg

        Grinder and bulking
        ===================
        ground                            3300 kg
        running time                      11 h, 0.786 h a day on average
        energy                            24.5 kWh
        days on which it limited feeding  0
        bulking mixed in                  240 kg, 0.0727 kg/kg per fermented scraps
        air-filled porosity of the feed   25.1 %
        C:N of the feed                   25.3

        Beds
        ====
        Each bed: lowest/mean/highest value of the run; hottest spot; worms at the start > end
        bed  name     area     load  temperature  hottest  moisture           pH      worms  starving
                        m2  kg/m2/d           °C       °C         %                   kg/m2      days
        ---  -------  ----  -------  -----------  -------  --------  -----------  ---------  --------
        1-2  bed 1-2    27     0.71     11/16/22       25  71/75/79  6.1/6.8/7.3  3.7 > 4.4         0
        3    bed 3      27      0.9     11/16/22       25  71/75/79  6.1/6.8/7.3  3.7 > 4.4         0
        4-8  bed 4-8    27     0.71     11/16/22       25  71/75/79  6.1/6.8/7.3  3.7 > 4.4         0

        Similar beds share a row; the files list each bed.

        reason for not feeding  beds  bed-days
        ----------------------  ----  --------
        fresh share                8        32
        ");
    }

    #[test]
    fn worms_and_products() {
        insta::assert_snapshot!(part("Worm stock", "Gases"), @r"
        Worm stock
        ==========
        Live worms by stage
               juveniles  sub-adults  adults  all worms  cocoons
                      kg          kg      kg         kg
        -----  ---------  ----------  ------  ---------  -------
        start         30          30      40        100  100,000
        mean          36          36      48        120  120,000
        end           42          42      56        140  140,000

        stock that eats the feed          150 kg; the mean stock is 80.0 % of that
        stock this feed can sustain       160 kg; the mean stock is 75.0 % of that
        eaten, as feed at 80 % moisture   0.21 kg/kg/day
        bought                            0 kg
        sold or moved                     0 kg
        lost in castings                  1.5 kg
        cocoons lost in castings          5000, 12.0 % of those laid
        deaths by cause                   background 5000

        Product: castings
        =================
        sold                              1000 kg, 1.55 m3 (450 kg water, 550 kg dry)
        contains                          210 kg carbon, 11 kg nitrogen, 1 kg phosphorus, 2 kg potassium
        moisture                          45.0 %
        C:N                               19.1
        N - P2O5 - K2O, % of dry matter   2.00 - 0.92 - 0.75 (N - P - K: 2.00 - 0.40 - 0.62)
        organic matter, ash               62.0 %, 38.0 % of dry matter
        carbon, % of dry matter           38.2 by dry combustion, 29.4 by Walkley-Black
        carbon, % of dry matter less ash  62; composts 50 to 57
        nitrate-N, ammonium-N             2.10, 0.30 g/kg of dry matter
        conductivity of extracts, dS/m    1:5 by mass 3.2, 1:10 by mass 1.6, 1:5 by volume 0.9
        in saturated extract, pore water  5.4, 12.1
        pH                                7.1
        bulk density                      645 kg/m3

        Published standards, in their own units
        standard: limit      value  unit  min  max  verdict
        -------------------  -----  ----  ---  ---  -------
        a vermicompost rule
          C:N                19.09          -   20  pass

        screening time                    6 h
        ");
    }

    #[test]
    fn gases_and_warnings() {
        insta::assert_snapshot!(part("Gases", "Floor"), @r"
        Gases
        =====
        gas              mass
                           kg
        ---------------  ----
        oxygen taken in   640
        carbon dioxide    915
        methane             0
        ammonia             0
        nitrous oxide       0
        nitrogen            0
        hydrogen            0
        water vapour        0
        ");
    }

    #[test]
    fn cautions_close_the_page() {
        insta::assert_snapshot!(part("Cautions", ""), @r"
        Cautions
        ========
        - Pressure: sealed fermenting drums make gas. Use vented lids or valves, never a closed steel drum.
        - Room air: carbon dioxide collects where drums stand. Ventilate and install a carbon dioxide meter;
          an oxygen meter does not protect.
        - Lifting: a full drum weighs about 136.4 kg, several times a one-person lift. Tip it or use a
          machine, do not lift. From the floor one person may lift 9.2 kg once a minute (NIOSH): a drum with
          its own mass has a lifting index of 17, a pail of 13.6 kg one of 1.48; an index above 1 is too
          much for most people.
        - Grinder: keep guards on; lock it out before clearing.
        - Acid: fermented scraps, liquor and paste are acid. Wear gloves and eye protection.
        - Hygiene: neither acid fermentation nor worms reach sanitising temperatures. Make no hygiene claim
          without a separate heat step and tests, and keep to what the local authority accepts (animal
          by-products, small-site thresholds, permits).
        - Dust: screening dry castings raises bioaerosols. Wear a mask.
        - These figures are planning estimates, not engineering approval; local codes and licensed practice
          come first.
        ");
    }

    #[test]
    fn us_units_reach_every_part() {
        let mut answer = sample::answer();
        // the text of a warning is written where it is raised, in SI
        answer.warnings.clear();
        let text = run_text(&answer, Units::Us);
        for unit in ["lb", "°F", "ft2", "psi", "yd3", "lb/yd3", "lb/lb"] {
            assert!(text.contains(unit), "{unit}");
        }
        assert!(!text.contains(" kg") && !text.contains("°C"), "{text}");
    }

    #[test]
    fn lines_are_not_wider_than_a_page() {
        let text = run_text(&sample::answer(), Units::Si);
        for line in text.lines() {
            assert!(line.chars().count() <= 120, "{line}");
        }
    }

    #[test]
    fn an_open_balance_is_said_loudly() {
        let mut answer = sample::answer();
        answer.balance.largest_relative_residual = 2e-9;
        assert!(run_text(&answer, Units::Si).contains("DOES NOT CLOSE"));
    }
}
