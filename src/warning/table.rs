//! The table of warnings. A row says all about one: what it is, its figures, how much it matters, which value is the worst, what is
//! wrong and what may be done. The code is the name in snake case. Warnings of days and of a bed also have a `spell` (first day,
//! number of days, worst value), those of a bed a `bed`, which starts the message.

use super::Severity::{Caution, Note, Serious};
use super::declare::{code_of, warnings};
use super::{RoomLimit, Said, Severity, Spell, SpoilReason, Worst};
use crate::matter::ratio;
use crate::quantity::{Kind, format_figures, format_percent};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

warnings! {
    |said|

    of_the_site {
        /// No stream brings anything.
        NoIntake is Serious,
            "no stream brings any scraps".to_owned(),
            "Add a stream with a mass above 0 to the scenario.";

        /// No drum to fill.
        NoDrums is Serious,
            "the site has no drums: all scraps are turned away".to_owned(),
            "Set the number of drums, let sizing find it, or feed fresh scraps (`feeding.scraps`).";

        /// No bed to feed.
        NoBeds is Serious,
            "the site has no beds: the paste cannot be fed".to_owned(),
            "Set the number and area of beds, or let sizing find them.";

        /// No worms to start with.
        NoWorms is Serious,
            "the site has no worms: the beds only compost".to_owned(),
            "Set a starting stock; it grows from there.";

        /// No step reaches sanitising temperature. Shown with the hottest temperature, °C, and the one needed.
        NoHygieneStep { hottest_celsius: f64, needed_celsius: f64 } is Caution,
            format!(
                "no step reaches {} (hottest {}): neither acid fermentation nor worms sanitise",
                said.temperature(*needed_celsius, 0),
                said.temperature(*hottest_celsius, 1)
            ),
            "Make no hygiene claim without a separate heat step and laboratory tests; ask the local authority.";

        /// Drums without a valve or vented lid.
        ValveMissing { drums: u32 } is Serious,
            format!("{} without a valve or vented lid", drums_text(*drums)),
            "Fit vented lids or airlocks: fermenting drums build pressure.";

        /// A full drum is more than one person may lift.
        DrumTooHeavy { drum_kg: f64, one_person_kg: f64 } is Caution,
            format!(
                "a full drum weighs {}, {:.1} times what one person may lift ({})",
                said.mass(*drum_kg),
                ratio(*drum_kg, *one_person_kg),
                said.mass(*one_person_kg)
            ),
            "Tip or use a drum truck; do not lift. Smaller drums help.";

        /// Paste is laid as it is, without dry matter that brings air and carbon.
        NoBulking is Caution,
            "no bulking is mixed into the paste: it lies wet, dense and rich in nitrogen, so beds lack air and ammonia gathers"
                .to_owned(),
            "Name an ingredient in `bulking`, such as cardboard, straw or leaves; keep a dry store of it.";

        /// More worms are bought at once than the beds can hold. Most that a purchase brings and most that fits, kg/m2.
        WormsFindNoRoom { bought_kg_per_m2: f64, most_kg_per_m2: f64 } is Serious,
            format!(
                "worms of {} are put on beds at once; a layer of nothing but worms, 10 cm thick, weighs {}",
                said.areal_mass(*bought_kg_per_m2),
                said.areal_mass(*most_kg_per_m2)
            ),
            "Usual are 1 to 5 kg/m2: check mass, area and units.";

        /// Most of the castings harvested did not pass the screen. Dry matter of both.
        CastingsHeldUp { harvested_dry_kg: f64, screened_dry_kg: f64 } is Serious,
            format!(
                "castings hardly come out: of {} of dry matter harvested, {} ({}) passed the screen; the rest lies wet, waits, or \
                 went back to the beds",
                said.mass(*harvested_dry_kg),
                said.mass(*screened_dry_kg),
                format_percent(ratio(*screened_dry_kg, *harvested_dry_kg))
            ),
            "Dry them faster (a fan or heat: `drying_days`; or more `drying_area`), screen longer, or use a coarser screen.";

        /// Much water added to beds for the scraps. Per kg of scraps taken in.
        WaterLarge { added_kg: f64, per_kg_scraps: f64, limit: f64 } is Note,
            format!(
                "beds are given {} of water, {per_kg_scraps:.1} times the mass of the scraps taken in (much from {limit:.1} times)",
                said.mass(*added_kg)
            ),
            "Plan for supply and cost. A tighter cover, a drier moisture band or drainage used again saves water.";

        /// Much drainage from beds for the scraps. Per kg of scraps taken in.
        DrainageLarge { drained_kg: f64, per_kg_scraps: f64, limit: f64, peak_kg_per_day: f64 } is Caution,
            format!(
                "beds drain {}, {per_kg_scraps:.2} times the mass of the scraps taken in (much from {limit:.1} times), up to {} on a day",
                said.mass(*drained_kg),
                said.mass(*peak_kg_per_day)
            ),
            "Give beds a floor that drains to a tank; ask where the liquid may go. Less watering or less leaching drains less.";

        /// Salt held in beds still grows when the last year that is simulated ends. Share of the larger.
        SaltGathers { before_kg: f64, now_kg: f64, grams_per_litre: f64 } is Caution,
            format!(
                "salt still gathers in beds, from {} to {} in the last year simulated; pore water reaches {grams_per_litre:.1} g/L",
                said.figure(Kind::Mass, *before_kg, 1),
                said.figure(Kind::Mass, *now_kg, 1)
            ),
            "Water beds so that more drains (`leaching`), harvest more castings, or mix in scraps with less salt.";

        /// Fewer worms than the intake needs.
        StockBelowNeed { have_kg: f64, need_kg: f64 } is Caution,
            format!(
                "{} of worms for an intake that needs {} ({:.1} times as many)",
                said.mass(*have_kg),
                said.mass(*need_kg),
                ratio(*need_kg, *have_kg)
            ),
            "Buy more, or take in less until the stock has grown, which takes months.";

        /// Screening loses cocoons with the castings.
        CocoonsLost { share: f64, method: String } is Caution,
            format!("screening by {method} loses {} of the cocoons with the castings", format_percent(*share)),
            "Hold castings until cocoons hatch and bait the worms out, use a finer second deck, or screen less often.";

        /// More nitrogen in castings than is published: losses or bedding are missing from the plan. Shares 0-1 of dry matter.
        CastingsNitrogenHigh { share: f64, limit: f64 } is Note,
            format!(
                "castings hold {} N in dry matter, more than published castings ({})",
                format_percent(*share),
                format_percent(*limit)
            ),
            "Real castings lose more N or contain bedding and grit: add bulking to the plan or claim less.";

        /// Feed with so little nitrogen that castings keep a wide C:N and hold little nitrate. Carbon to nitrogen, kg/kg.
        FeedLeanInNitrogen { carbon_to_nitrogen: f64, limit: f64 } is Note,
            format!(
                "feed with C:N {carbon_to_nitrogen:.0} (above {limit:.0}) makes castings with a wide C:N and hardly any nitrate, as fruit and straw do"
            ),
            "Mix in scraps or manure that hold more nitrogen, or bulking with less carbon, if buyers ask for nitrogen.";

        /// Beds lose less nitrogen to the air than any published bed. Shares 0-1 of the nitrogen fed.
        NitrogenLossLow { share: f64, limit: f64 } is Note,
            format!(
                "beds lose {} of their nitrogen to the air, less than published beds ({} and more)",
                format_percent(*share),
                format_percent(*limit)
            ),
            "Claim less nitrogen in castings than computed here until a laboratory has measured it.";

        /// A product outside a limit of a standard.
        ProductOffStandard {
            product: String, standard: String, limit: String, value: f64, minimum: Option<f64>,
            maximum: Option<f64>, unit: String
        } is Note,
            format!(
                "{product}: {limit} {} {unit} is outside {} of {standard}",
                format_figures(*value, 4),
                bounds(*minimum, *maximum)
            ),
            "Change drying, blend or mix, or do not claim this standard.";

        /// Carbon that an own ingredient states and cannot hold. Shares 0-1 of dry matter.
        OwnCarbonDoesNotFit { ingredient: String, stated: f64, used: f64 } is Caution,
            format!(
                "{ingredient}: a carbon of {} does not fit its ash, nitrogen and fractions; {} is used",
                format_percent(*stated),
                format_percent(*used)
            ),
            "Carbon by Walkley-Black is about three quarters of that by combustion, which is meant; else check ash and fractions.";

        /// A figure outside its published range.
        OutsidePublishedRange { key: String, value: f64, low: f64, high: f64, unit: String } is Note,
            format!(
                "the scenario sets {key} to {} {unit}; published values are {} to {}",
                format_figures(*value, 4),
                format_figures(*low, 4),
                format_figures(*high, 4)
            ),
            "Results beyond published figures are guesses; measure this one first.";

        /// A size at which a permit may be required. The key is that of the threshold in the literature.
        PermitThreshold { rule: String, value: f64, threshold: f64, unit: String, key: String } is Note,
            {
                // thresholds are of these kinds; their unit is the one of the kind
                let kinds = [Kind::MassRate, Kind::Area, Kind::Volume];
                let kind = kinds.into_iter().find(|kind| kind.unit() == unit);
                let figure = |value: f64| {
                    kind.map_or_else(|| format!("{value:.1} {unit}"), |kind| said.figure(kind, value, 1))
                };
                format!("{rule}: {}; a permit may be required above {}", figure(*value), figure(*threshold))
            },
            "A threshold applies in one place only; your local authority decides what applies to you.";

        /// Not enough floor.
        FloorShort { need_m2: f64, have_m2: f64 } is Caution,
            format!(
                "the plan needs {} of floor; {} is available",
                said.figure(Kind::Area, *need_m2, 0),
                said.figure(Kind::Area, *have_m2, 0)
            ),
            "Stack drums where the floor allows, shorten storage, or find more floor.";

        /// A tank too small for what runs off.
        TankSmall { need_m3: f64, have_m3: f64, days: u32 } is Caution,
            format!(
                "drainage, liquor and washing water of {days} days need a tank of {}; the plan has {}",
                said.figure(Kind::Volume, *need_m3, 1),
                said.figure(Kind::Volume, *have_m3, 1)
            ),
            "Empty the tank more often, leach the beds less, or plan a larger tank: what runs over is a spill.";

        /// More load than the floor is built for.
        FloorOverloaded { load_kpa: f64, limit_kpa: f64 } is Serious,
            format!(
                "drums or beds load the floor with {}; it bears {}",
                said.figure(Kind::Pressure, *load_kpa, 1),
                said.figure(Kind::Pressure, *limit_kpa, 1)
            ),
            "Store in one layer, spread the load, or ask a structural engineer.";
    }

    of_days {
        /// Intake found no free drum. Worst: kg turned away on a day.
        IntakeTurnedAway { turned_away_kg: f64, offered_kg: f64 } is Serious, Highest,
            format!(
                "{} of scraps ({}) found no free drum {}; worst day {}",
                said.mass(*turned_away_kg),
                format_percent(ratio(*turned_away_kg, *offered_kg)),
                said.when,
                said.mass(said.worst)
            ),
            "Add drums, open them sooner, or grind and feed faster; sizing finds the number.";

        /// Fresh scraps found no room to wait. Worst: kg turned away on a day.
        FreshScrapsTurnedAway { turned_away_kg: f64, offered_kg: f64 } is Serious, Highest,
            format!(
                "{} of fresh scraps ({}) could not be fed in time {}; worst day {}",
                said.mass(*turned_away_kg),
                format_percent(ratio(*turned_away_kg, *offered_kg)),
                said.when,
                said.mass(said.worst)
            ),
            "Add beds or worms, feed on more days, or ferment the scraps in drums, where they keep.";

        /// Bran ran out. Worst: kg missing on a day.
        BranShort { missing_kg: f64 } is Caution, Highest,
            format!(
                "{} of bran was missing {}; worst day {}",
                said.figure(Kind::Mass, *missing_kg, 1),
                said.when,
                said.figure(Kind::Mass, said.worst, 1)
            ),
            "Start bran batches earlier or make them larger; they take weeks.";

        /// Drums spoiled. Days: counted on; worst: highest pH.
        DrumSpoiled { reason: SpoilReason, drums: u32 } is Serious, Highest,
            format!(
                "{} spoiled ({}) {}; highest pH {:.1}",
                drums_text(*drums),
                reason.text(),
                said.when,
                said.worst
            ),
            reason.hint();

        /// Drums kept longer than planned. Worst: days of the oldest.
        DrumsPastMaximum { maximum_days: f64 } is Caution, Highest,
            format!(
                "drums were kept longer than {maximum_days:.0} days {}; the oldest {:.0} days",
                said.when, said.worst
            ),
            "Grind and feed more per day, or take in less.";

        /// The store is too cold to sour. Worst: lowest °C.
        DrumStoreCold { limit_celsius: f64 } is Caution, Lowest,
            format!(
                "the drum room is below {} {}; lowest {}",
                said.temperature(*limit_celsius, 0),
                said.when,
                said.temperature(said.worst, 1)
            ),
            "Move drums to a warmer room or plan longer fermentation in winter.";

        /// Gas pressure in sealed drums. Worst: kPa over air.
        DrumPressure { limit_kpa: f64 } is Serious, Highest,
            format!(
                "gas in sealed drums reaches {}, above {}, {}",
                said.figure(Kind::Pressure, said.worst, 0),
                said.figure(Kind::Pressure, *limit_kpa, 0),
                said.when
            ),
            "Use vented lids or airlocks; never a closed steel drum.";

        /// Carbon dioxide in the store room. Worst: ppm.
        RoomCarbonDioxide { limit: RoomLimit, limit_ppm: f64 } is Serious, Highest,
            format!(
                "carbon dioxide in the drum room {} {:.0} ppm, above the {} of {limit_ppm:.0} ppm, {}",
                match limit {
                    RoomLimit::EightHours => "averages",
                    RoomLimit::ShortStay | RoomLimit::ImmediateDanger => "reaches",
                },
                said.worst,
                limit.text(),
                said.when
            ),
            "Ventilate the drum room and fit a carbon dioxide meter; an oxygen meter does not protect.";

        /// Ready batches waited for the grinder. Worst: kg waiting.
        GrinderBottleneck { capacity_kg_per_day: f64 } is Caution, Highest,
            format!(
                "ready drums waited for the grinder ({} a day) {}; most {}",
                said.mass(*capacity_kg_per_day),
                said.when,
                said.mass(said.worst)
            ),
            "Give the grinder more hours or days, or a larger one.";

        /// The most bulking allowed did not bring the paste to its air-filled porosity and C:N. Worst: porosity of all feed, 0-1; C:N
        /// of all feed, kg/kg.
        BulkingShort { porosity: f64, carbon_to_nitrogen: f64, feed_carbon_to_nitrogen: f64 } is Caution, Lowest,
            format!(
                "the most bulking allowed was too little for an air-filled porosity of {porosity:.2} and a C:N of \
                 {carbon_to_nitrogen:.0} {}; all feed together has {:.2} and {feed_carbon_to_nitrogen:.0}",
                said.when, said.worst
            ),
            "Allow more bulking (`most_per_paste`), have drier bulking or bulking with more carbon, or ask for less.";

        /// Castings waited wet for room or weather. Worst: kg on the floor.
        DryingShort is Caution, Highest,
            format!("castings lay wet on the drying floor for weeks {}; most {}", said.when, said.mass(said.worst)),
            "Give more drying floor, dry with a fan or heat (`drying_days`), or screen wetter.";

        /// Dry castings waited for the screen. Worst: kg waiting.
        ScreenBottleneck { capacity_kg_per_day: f64 } is Caution, Highest,
            format!(
                "dry castings waited for the screen ({} a day) {}; most {}",
                said.mass(*capacity_kg_per_day),
                said.when,
                said.mass(said.worst)
            ),
            "Give the screen more hours, or a larger one.";
    }

    of_a_bed {
        /// A layer thicker than oxygen reaches. Worst: cm.
        LayerTooThick { reach_cm: f64 } is Caution, Highest,
            format!(
                "a fresh layer of {} is thicker than oxygen reaches ({}) {}",
                said.thickness(said.worst),
                said.thickness(*reach_cm),
                said.when
            ),
            "Feed thinner layers more often, or mix in bulking for air space.";

        /// What a bed holds stands well above its depth. Worst: its height, m.
        BedTooHigh { depth_m: f64 } is Caution, Highest,
            format!(
                "what it holds stands {} high, above its depth of {}, {}",
                said.figure(Kind::Length, said.worst, 2),
                said.figure(Kind::Length, *depth_m, 2),
                said.when
            ),
            "Check area, depth and the mass of bedding or filling; harvest more, or add bed area.";

        /// More feed than a bed load that has been published. Worst: kg/m2/d.
        BedOverloaded { limit_kg_per_m2_day: f64 } is Caution, Highest,
            format!(
                "{} of feed a day over the whole run, above the published {}",
                said.figure(Kind::ArealMass, said.worst, 2),
                said.figure(Kind::ArealMass, *limit_kg_per_m2_day, 2)
            ),
            "Add bed area or feed less.";

        /// A bed too hot for worms. Worst: peak °C.
        BedTooHot { limit_celsius: f64 } is Serious, Highest,
            format!(
                "above {} {}; highest {}",
                said.temperature(*limit_celsius, 0),
                said.when,
                said.temperature(said.worst, 1)
            ),
            "Feed less or thinner, shade and ventilate, or cool the room (`cooled_to`); leave a cool refuge.";

        /// A bed too cold to work. Worst: lowest °C.
        BedTooCold { limit_celsius: f64 } is Caution, Lowest,
            format!(
                "below {} {}; lowest {}",
                said.temperature(*limit_celsius, 0),
                said.when,
                said.temperature(said.worst, 1)
            ),
            "Insulate or heat the room, feed thicker in winter, or plan more drums for the cold months.";

        /// A bed too dry. Worst: lowest moisture, 0-1.
        BedTooDry { limit: f64 } is Caution, Lowest,
            format!("moisture below {} {}; lowest {}", format_percent(*limit), said.when, format_percent(said.worst)),
            "Water or cover the bed.";

        /// A bed too wet. Worst: highest moisture, 0-1.
        BedTooWet { limit: f64 } is Caution, Highest,
            format!("moisture above {} {}; highest {}", format_percent(*limit), said.when, format_percent(said.worst)),
            "Drain liquor from drums, add dry bulking, uncover the bed.";

        /// A bed stays below the moisture band of the plan. Worst: lowest moisture, 0-1.
        BandMissedDry { band_low: f64, band_high: f64 } is Caution, Lowest,
            format!(
                "the moisture band of {} to {} cannot be held: drier {}; lowest {}",
                format_percent(*band_low),
                format_percent(*band_high),
                said.when,
                format_percent(said.worst)
            ),
            "The bed drains what is watered: mix in finer matter that holds water, or ask for a drier band.";

        /// A bed stays above the moisture band of the plan. Worst: highest moisture, 0-1.
        BandMissedWet { band_low: f64, band_high: f64 } is Caution, Highest,
            format!(
                "the moisture band of {} to {} cannot be held: wetter {}; highest {}",
                format_percent(*band_low),
                format_percent(*band_high),
                said.when,
                format_percent(said.worst)
            ),
            "The feed is wetter than the band: drain liquor from drums, add dry bulking, or ask for a wetter band.";

        /// A bed turned sour. Worst: lowest pH.
        BedSoured { limit_ph: f64 } is Serious, Lowest,
            format!("pH below {limit_ph:.1} {}; lowest pH {:.1}", said.when, said.worst),
            "Feed less paste at a time, let layers mellow, add a little lime or old castings.";

        /// Ammonia harms worms. Worst: toxic units, of which 1 kills half of the worms in 28 days.
        AmmoniaStress { limit: f64 } is Serious, Highest,
            format!(
                "ammonia in the pore water harms worms: {:.1} times the level that kills half in 28 days (harm from {limit:.1}) {}",
                said.worst, said.when
            ),
            "Feed less protein or more bulking with carbon; air the layer before worms meet it.";

        /// Salt harms worms. Worst: g salt per litre of pore water.
        SaltStress { limit_g_per_l: f64 } is Caution, Highest,
            format!(
                "{:.1} g of salt per litre of pore water harms worms (from {limit_g_per_l:.1} g/L) {}",
                said.worst, said.when
            ),
            "Drain liquor, water the bed so that it drains, or mix in scraps with less salt.";

        /// Worms eat less than keeps them. Worst: lowest share of upkeep, 0-1.
        WormsStarving is Caution, Lowest,
            format!(
                "worms ate less than they need to keep their weight {}; lowest {} of it",
                said.when,
                format_percent(said.worst)
            ),
            "Feed more, or move worms to another bed.";

        /// More worms than the bed carries well. Worst: kg/m2.
        Crowded { limit_kg_per_m2: f64 } is Caution, Highest,
            format!(
                "{} of worms, above {}, {}",
                said.figure(Kind::ArealMass, said.worst, 1),
                said.figure(Kind::ArealMass, *limit_kg_per_m2, 1),
                said.when
            ),
            "Move or sell worms, or add bed area.";

        /// The stock of a bed is about gone. Worst: lowest share of the starting stock, 0-1.
        StockDyingOut is Serious, Lowest,
            format!("the stock is down to {} of its start {}", format_percent(said.worst), said.when),
            "Look for heat, acid, drought or cocoons lost at screening in the other warnings.";
    }
}

/// "1 drum", "3 drums".
fn drums_text(n: u32) -> String {
    if n == 1 { "1 drum".to_owned() } else { format!("{n} drums") }
}

/// "at least 0.01", "0.15 to 0.25", "at most 4".
fn bounds(minimum: Option<f64>, maximum: Option<f64>) -> String {
    let plain = |value| format_figures(value, 4);
    match (minimum, maximum) {
        (Some(low), Some(high)) => format!("{} to {}", plain(low), plain(high)),
        (Some(low), None) => format!("at least {}", plain(low)),
        (None, Some(high)) => format!("at most {}", plain(high)),
        (None, None) => "no bound".to_owned(),
    }
}
