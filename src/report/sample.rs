//! A small answer made by hand, for the tests of this layer. Its figures are not the model's, but they do add up.

use crate::process::quality::Figures;
use crate::process::quality::standards::Quantity;
use crate::scenario::plan::Money;
use crate::study::answer::*;
use crate::study::site_figures::SiteFigures;
use crate::study::site_figures::Yearly;
use crate::study::site_figures::floor;
use crate::study::site_figures::greenhouse::FactorRow;
use crate::study::site_figures::greenhouse::GreenhouseFigures;
use crate::study::site_figures::greenhouse::Statement;
use crate::study::site_figures::labour::EnergyFigures;
use crate::study::site_figures::labour::LabourFigures;
use crate::study::site_figures::labour::PublishedLabour;
use crate::study::site_figures::labour::Task;
use crate::study::site_figures::lifting::LiftingFigures;
use crate::study::site_figures::money;
use crate::study::site_figures::money::Equipment;
use crate::trace::BedRecord;
use crate::trace::DayRecord;
use crate::warning::Spell;
use crate::warning::Warning;
use jiff::civil::date;

fn amounts(wet: f64, water: f64, carbon: f64, nitrogen: f64) -> Amounts {
    Amounts {
        wet,
        water,
        dry: wet - water,
        carbon,
        nitrogen,
        phosphorus: 0.001 * wet,
        potassium: 0.002 * wet,
    }
}

fn span(lowest: f64, mean: f64, highest: f64) -> Span {
    Span { lowest, mean, highest }
}

fn told(warning: Warning) -> Told {
    Told {
        code: warning.code(),
        message: warning.message(),
        hint: warning.hint(),
        severity: warning.severity(),
        warning,
    }
}

fn flow(
    stage: &'static str,
    flow: &'static str,
    from: &'static str,
    to: &'static str,
    amounts: Amounts,
) -> FlowAmounts {
    FlowAmounts { stage, flow, from, to, amounts }
}

/// Carbon in 500 + 100, out 210 + 250 + 15, held + 125; nitrogen in 26 + 1, out 11 + 3 + 1, held + 12.
fn balance() -> Balance {
    Balance {
        largest_relative_residual: 3.2e-13,
        elements: vec![
            ElementBalance { element: "carbon", into_site: 600.0, out_of_site: 475.0, change: 125.0 },
            ElementBalance { element: "nitrogen", into_site: 27.0, out_of_site: 15.0, change: 12.0 },
        ],
        flows: vec![
            flow("intake", "intake_to_drums", "outside", "drums", amounts(3500.0, 2450.0, 500.0, 26.0)),
            flow("drums", "liquor_drained", "drums", "outside", amounts(200.0, 180.0, 15.0, 1.0)),
            flow("grinder", "bulking", "outside", "grinder", amounts(240.0, 20.0, 100.0, 1.0)),
            flow("beds", "bed_gas", "beds", "air", amounts(1600.0, 900.0, 250.0, 3.0)),
            flow("product", "castings_sold", "cure", "outside", amounts(1000.0, 450.0, 210.0, 11.0)),
        ],
        held: vec![Held {
            stage: "beds",
            start: amounts(1000.0, 800.0, 80.0, 2.0),
            end: amounts(1940.0, 1800.0, 205.0, 14.0),
        }],
    }
}

fn bed(name: &str, load: f64) -> BedFigures {
    BedFigures {
        name: name.to_owned(),
        area: 27.0,
        load,
        temperature: span(11.2, 15.8, 22.1),
        hottest: 25.4,
        moisture: span(0.71, 0.75, 0.79),
        ph: span(6.1, 6.8, 7.3),
        density_start: 3.7,
        density_end: 4.4,
        starving_days: 0,
        refused: vec![("fresh_share", 4), ("cold", 0)],
    }
}

fn stock() -> StockFigures {
    let by_stage = |total: f64| StockByStage {
        cocoons: 1000.0 * total,
        juveniles: 0.3 * total,
        subadults: 0.3 * total,
        adults: 0.4 * total,
        total,
    };
    StockFigures {
        start: by_stage(100.0),
        mean: by_stage(120.0),
        end: by_stage(140.0),
        needed_at_ration: 150.0,
        kept_by_feed: 160.0,
        mean_intake: 0.21,
        bought: 0.0,
        sold: 0.0,
        lost: 1.5,
        cocoons_lost: 5000.0,
        cocoons_lost_share: 0.12,
        deaths: vec![("background", 5000.0), ("heat", 0.0)],
    }
}

fn product() -> Product {
    Product {
        name: "castings",
        amounts: amounts(1000.0, 450.0, 210.0, 11.0),
        volume: 1.55,
        quality: Some(Figures {
            moisture: 0.45,
            carbon: 0.382,
            nitrogen: 0.02,
            phosphate: 0.0092,
            potash: 0.0075,
            phosphorus: 0.004,
            potassium: 0.0062,
            carbon_to_nitrogen: 19.09,
            organic_matter: 0.62,
            ash: 0.38,
            conductivity_1_to_5: 3.2,
            conductivity_1_to_10: 1.6,
            conductivity_saturated: 5.4,
            ph: 7.1,
            bulk_density: 645.0,
            ..Figures::default()
        }),
        standards: vec![Judged {
            standard: "a vermicompost rule",
            limit: "C:N",
            value: Some(19.09),
            allowed: (None, Some(20.0)),
            unit: "",
            verdict: "pass",
            key: "site.a_limit",
            quantity: Quantity::CarbonToNitrogen,
        }],
    }
}

fn day() -> DayRecord {
    DayRecord {
        date: date(2031, 4, 1),
        drum_room_temperature: 14.0,
        bed_room_temperature: 15.0,
        intake: 250.5,
        turned_away: 0.0,
        bran_used: 5.0,
        bran_short: 0.0,
        bran_in_store: 40.0,
        drums_in_use: 31.0,
        drums_opened: 2.0,
        drums_spoiled: 0.0,
        drum_pressure: 3.0,
        room_carbon_dioxide: 900.0,
        liquor: 11.0,
        opened_ph: 3.9,
        ground: 240.0,
        paste_on_hand: 12.0,
        bulking: 16.0,
        fed: 250.0,
        grinder_hours: 0.8,
        bed_temperature: 15.8,
        bed_hottest: 25.4,
        bed_moisture: 0.75,
        bed_ph_lowest: 6.1,
        bed_ph: 6.8,
        stock: 120.0,
        juveniles: 36.0,
        subadults: 36.0,
        adults: 48.0,
        cocoons: 120_000.0,
        eaten: 25.0,
        starving_beds: 0.0,
        bed_carbon_dioxide: 60.0,
        bed_evaporation: 60.0,
        irrigation: 0.0,
        drainage: 0.0,
        harvested: 0.0,
        screened: 0.0,
        castings_sold: 0.0,
        blend_sold: 0.0,
    }
}

fn bed_day() -> BedRecord {
    BedRecord {
        date: date(2031, 4, 1),
        bed: 1,
        temperature: 15.8,
        hottest: 25.4,
        moisture: 0.75,
        ph: 6.8,
        porosity: 0.3,
        salt: 4.0,
        free_ammonia: 0.5,
        depth: 0.3,
        fresh: 100.0,
        fresh_thickness: 0.02,
        fresh_reach: 0.02,
        ready: 50.0,
        castings: 900.0,
        fed: 20.0,
        stock: 100.0,
        intake: 0.2,
    }
}

/// A year of 26 times the two weeks.
fn yearly() -> Yearly {
    Yearly {
        run_days: 14.0,
        by_stream: vec![91_000.0],
        accepted: 91_000.0,
        bran: 1820.0,
        bulking: 6240.0,
        grinder_energy: 637.0,
        castings: 40.3,
        methane: 2.0,
        nitrous_oxide: 4.0,
        ..Yearly::default()
    }
}

fn greenhouse() -> GreenhouseFigures {
    let statement = |potentials, baseline, landfill: f64, process: f64| Statement {
        potentials,
        baseline,
        keys: vec!["site.landfill_factor_food_waste"],
        landfill,
        process,
        process_default: 16_000.0,
        avoided: landfill - process,
        avoided_careful: landfill - 16_000.0,
    };
    GreenhouseFigures {
        methane: 2.0,
        nitrous_oxide: 4.0,
        rows: vec![FactorRow {
            name: "mixed food",
            key: "site.landfill_factor_food_waste",
            mass: 91_000.0,
            factor: 0.75,
        }],
        without_row: 0.0,
        landfill_methane: 4095.0,
        within_twenty_years: 0.975,
        statements: vec![
            statement("AR6", "landfill by factors (much inside)", 68_250.0, 1146.0),
            statement("AR5", "landfill by decay", 114_660.0, 1116.0),
        ],
        not_counted: ["one", "two", "three", "four", "five", "six"],
    }
}

fn floor_figures() -> floor::FloorFigures {
    let rates = floor::Rates {
        pallet: 1.5,
        pallet_tare: 25.0,
        drum_volume: 0.2,
        drum_diameter: 0.6,
        drum_tare: 20.0,
        floor_share: 0.4,
        bed_share: 0.45,
        site_over_bed: 3.5,
        machine: 12.0,
        forced_layer: 100.0,
        store_height: 1.0,
    };
    let needs = floor::Needs {
        drums: 60.0,
        drum_volume: 0.2,
        drum_contents: 136.4,
        bed_area: 216.0,
        heaviest_bed: 300.0,
        machines: 2.0,
        have: Some(500.0),
        load_limit: Some(6.0),
        ..floor::Needs::default()
    };
    floor::floor(&needs, &rates)
}

fn prices() -> Money {
    Money {
        currency: "EUR".to_owned(),
        gate_fee: Some(90.0),
        castings_price: Some(350.0),
        wage: Some(24.0),
        drum_price: Some(55.0),
        bed_price: Some(120.0),
        interest: 0.05,
        years: 10,
        ..Money::default()
    }
}

fn site() -> SiteFigures {
    let energy = EnergyFigures {
        grinder: 637.0,
        grinder_per_tonne: 7.0,
        dried: 20_000.0,
        drying: Some(34_000.0),
        drying_efficiency: 0.4,
    };
    let equipment = Equipment { drums: 60.0, bed_area: 216.0, ..Equipment::default() };
    SiteFigures {
        floor: floor_figures(),
        area_rules: vec![floor::AreaRule {
            name: "a rule",
            key: "site.a_rule",
            published: (0.5, 1.0),
            area: (249.0, 499.0),
            ours: 1.154,
            verdict: "above",
        }],
        labour: LabourFigures {
            tasks: vec![
                Task { name: "grinding", hours: 286.0, basis: "run" },
                Task { name: "daily rounds", hours: 182.5, basis: "site.labour_daily_round" },
            ],
            hours: 468.5,
            per_tonne: Some(5.15),
            days_a_week: 5,
            on_a_working_day: 1.8,
            have: Some(4.0),
            published: vec![PublishedLabour { name: "small sites", key: "site.labour", hours: (3.0, 10.0) }],
        },
        energy,
        lifting: LiftingFigures { limit: 9.2, pail: 13.6, pail_index: 1.48, drum: 156.4, drum_index: 17.0 },
        greenhouse: greenhouse(),
        money: Some(money::money(&prices(), &equipment, &yearly(), 468.5, &energy)),
        yearly: yearly(),
    }
}

/// Two weeks of a site of eight beds.
pub(crate) fn answer() -> RunAnswer {
    let spell = Spell { first: date(2031, 4, 3), days: 2, worst: 30.0 };
    RunAnswer {
        version: "0.0.0",
        name: "Sample Shed".to_owned(),
        place: Some("nowhere".to_owned()),
        start: date(2031, 4, 1),
        days: 14,
        streams: vec![StreamIntake {
            name: "canteen".to_owned(),
            delivered: amounts(3500.0, 2450.0, 500.0, 26.0),
            turned_away: 70.0,
            contamination: 35.0,
        }],
        balance: balance(),
        bran: BranFigures {
            used: 70.0,
            short: 0.0,
            weekly: vec![(date(2031, 3, 4), 35.0), (date(2031, 3, 11), 0.0), (date(2031, 3, 18), 36.0)],
        },
        drums: DrumFigures {
            owned: 60,
            in_use: span(20.0, 31.0, 33.0),
            sealed: 28.0,
            opened: 27.0,
            spoiled: 0.0,
            opened_ph: Some(3.92),
            opened_age: Some(14.4),
            liquor: 200.0,
            pressure: 3.4,
            room_carbon_dioxide: 1210.0,
            full_mass: 136.4,
        },
        grinder: GrinderFigures {
            ground: 3300.0,
            hours: 11.0,
            energy: 24.5,
            bulking: 240.0,
            bulking_ratio: 0.0727,
            porosity: 0.251,
            carbon_to_nitrogen: 25.3,
            limiting_days: 0,
        },
        beds: (1..=8).map(|n| bed(&format!("bed {n}"), if n == 3 { 0.9 } else { 0.71 })).collect(),
        stock: stock(),
        products: vec![product()],
        gases: GasTotals { oxygen_taken_in: 640.0, carbon_dioxide: 915.0, ..GasTotals::default() },
        screen_hours: 6.0,
        site: site(),
        warnings: vec![
            told(Warning::StockBelowNeed { have_kg: 120.0, need_kg: 150.0 }),
            told(Warning::IntakeTurnedAway { turned_away_kg: 70.0, offered_kg: 3570.0, spell }),
        ],
        daily: vec![day()],
        bed_daily: vec![bed_day()],
    }
}
