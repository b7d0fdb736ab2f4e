//! The table of quantity kinds: documented unit, accepted spellings, units for display.

/// Kind of a quantity. Each kind has one documented unit, in which plain numbers are read and stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Mass, kg.
    Mass,
    /// Mass per time, kg/day.
    MassRate,
    /// Machine rate, kg/h.
    Throughput,
    /// Length, m.
    Length,
    /// Area, m2.
    Area,
    /// Volume, m3.
    Volume,
    /// Temperature, °C.
    Temperature,
    /// Difference of temperatures, K.
    TemperatureDifference,
    /// Mass per volume, kg/m3.
    Density,
    /// Span of time, days.
    Days,
    /// Hours of work in a day, h.
    Hours,
    /// Share of a whole, 0 to 1.
    Share,
    /// Mass per mass, kg/kg.
    Ratio,
    /// Feed per live worm mass and day, kg/kg/day.
    Ration,
    /// Air per time, m3/h.
    Airflow,
    /// Power, kW.
    Power,
    /// Mass per area, kg/m2.
    ArealMass,
    /// Pressure, kPa.
    Pressure,
    /// Heat transfer coefficient, W/m2K.
    HeatTransfer,
    /// Acidity, pH.
    Acidity,
    /// Buffering capacity, meq per kg dry mass.
    Buffering,
    /// Whole number of things.
    Count,
    /// Plain factor.
    Factor,
    /// Money in the currency of the scenario.
    Money,
    /// Money per mass, per t.
    MoneyPerMass,
    /// Money per volume, per m3.
    MoneyPerVolume,
    /// Money per area, per m2.
    MoneyPerArea,
    /// Money per energy, per kWh.
    MoneyPerEnergy,
    /// Money per time, per h.
    MoneyPerHour,
    /// Greenhouse gas per energy, kg CO2e per kWh.
    CarbonPerEnergy,
}

impl Kind {
    /// Every kind, in table order.
    pub const ALL: [Self; 30] = [
        Self::Mass,
        Self::MassRate,
        Self::Throughput,
        Self::Length,
        Self::Area,
        Self::Volume,
        Self::Temperature,
        Self::TemperatureDifference,
        Self::Density,
        Self::Days,
        Self::Hours,
        Self::Share,
        Self::Ratio,
        Self::Ration,
        Self::Airflow,
        Self::Power,
        Self::ArealMass,
        Self::Pressure,
        Self::HeatTransfer,
        Self::Acidity,
        Self::Buffering,
        Self::Count,
        Self::Factor,
        Self::Money,
        Self::MoneyPerMass,
        Self::MoneyPerVolume,
        Self::MoneyPerArea,
        Self::MoneyPerEnergy,
        Self::MoneyPerHour,
        Self::CarbonPerEnergy,
    ];
}

/// One unit: `documented = (number - zero) * factor`.
pub(super) struct Unit {
    /// The spelling shown to people.
    pub(super) symbol: &'static str,
    /// Other accepted spellings.
    pub(super) also: &'static [&'static str],
    /// Size in the documented unit.
    pub(super) factor: f64,
    /// Reading at which the documented unit reads zero.
    pub(super) zero: f64,
}

const fn unit(symbol: &'static str, also: &'static [&'static str], factor: f64) -> Unit {
    Unit { symbol, also, factor, zero: 0.0 }
}

/// How the units of a kind are composed.
pub(super) enum Form {
    /// A list of units.
    Plain(&'static [Unit]),
    /// A unit over a unit; `scale` turns the quotient into the documented unit. `also` are whole spellings.
    Per { over: &'static [Unit], under: &'static [Unit], scale: f64, also: &'static [Unit] },
}

/// A row of the table.
pub(super) struct Spec {
    /// Words for messages.
    pub(super) name: &'static str,
    /// Units to suggest, the documented one first; empty text means a plain number.
    pub(super) accepted: &'static [&'static str],
    pub(super) form: Form,
    /// Units for display: least size in the documented unit, and spelling.
    pub(super) si: &'static [(f64, &'static str)],
    pub(super) us: &'static [(f64, &'static str)],
}

// Exact by definition: international pound and foot, US liquid gallon of 231 cubic inches.
const POUND: f64 = 0.453_592_37;
const SHORT_TON: f64 = 907.184_74;
const INCH: f64 = 0.025_4;
const FOOT: f64 = 0.304_8;
const YARD: f64 = 0.914_4;
const GALLON: f64 = 0.003_785_411_784;

const MASS: &[Unit] = &[
    unit("kg", &["kilogram", "kilograms", "kgs", "kilo", "kilos"], 1.0),
    unit("g", &["gram", "grams"], 0.001),
    unit("t", &["tonne", "tonnes", "metric ton", "metric tons"], 1000.0),
    unit("lb", &["lbs", "pound", "pounds"], POUND),
    unit("oz", &["ounce", "ounces"], POUND / 16.0),
    unit("ton", &["tons", "short ton", "short tons", "us ton", "us tons"], SHORT_TON),
];
const TIME: &[Unit] = &[
    unit("day", &["d", "days"], 1.0),
    unit("h", &["hr", "hour", "hours", "hrs"], 1.0 / 24.0),
    unit("min", &["minute", "minutes"], 1.0 / 1440.0),
    unit("s", &["sec", "second", "seconds"], 1.0 / 86_400.0),
    unit("week", &["wk", "weeks"], 7.0),
    unit("month", &["months", "mo"], 365.25 / 12.0),
    unit("year", &["yr", "years", "a", "y"], 365.25),
];
const LENGTH: &[Unit] = &[
    unit("m", &["metre", "metres", "meter", "meters"], 1.0),
    unit("cm", &["centimetre", "centimetres", "centimeter", "centimeters"], 0.01),
    unit("mm", &["millimetre", "millimetres", "millimeter", "millimeters"], 0.001),
    unit("in", &["inch", "inches", "\""], INCH),
    unit("ft", &["foot", "feet"], FOOT),
    unit("yd", &["yard", "yards"], YARD),
];
const AREA: &[Unit] = &[
    unit("m2", &["sq m", "square metre", "square metres", "square meter", "square meters"], 1.0),
    unit("cm2", &["sq cm"], 1e-4),
    unit("ft2", &["sq ft", "sqft", "square foot", "square feet"], FOOT * FOOT),
    unit("yd2", &["sq yd", "square yard", "square yards"], YARD * YARD),
    unit("in2", &["sq in", "square inch", "square inches"], INCH * INCH),
];
const VOLUME: &[Unit] = &[
    unit("m3", &["cu m", "cubic metre", "cubic metres", "cubic meter", "cubic meters"], 1.0),
    unit("L", &["litre", "litres", "liter", "liters"], 0.001),
    unit("mL", &["millilitre", "millilitres", "milliliter", "milliliters"], 1e-6),
    unit("gal", &["gallon", "gallons", "us gal", "us gallon", "us gallons"], GALLON),
    unit("ft3", &["cu ft", "cubic foot", "cubic feet"], FOOT * FOOT * FOOT),
    unit("yd3", &["cu yd", "cubic yard", "cubic yards"], YARD * YARD * YARD),
];
const TEMPERATURE: &[Unit] = &[
    unit("C", &["°C", "deg c", "celsius", "degrees celsius"], 1.0),
    Unit {
        symbol: "F",
        also: &["°F", "deg f", "fahrenheit", "degrees fahrenheit"],
        factor: 5.0 / 9.0,
        zero: 32.0,
    },
    Unit { symbol: "K", also: &["kelvin"], factor: 1.0, zero: 273.15 },
];
const DIFFERENCE: &[Unit] =
    &[unit("K", &["kelvin", "C", "deg c", "celsius"], 1.0), unit("F", &["deg f", "fahrenheit"], 5.0 / 9.0)];
const SHARE: &[Unit] = &[unit("", &["share", "fraction"], 1.0), unit("%", &["percent", "pct"], 0.01)];
const HOURS: &[Unit] = &[
    unit("h", &["hour", "hours", "hr", "hrs", "h/day", "hours/day"], 1.0),
    unit("min", &["minute", "minutes", "min/day"], 1.0 / 60.0),
];
const POWER: &[Unit] = &[
    unit("kW", &["kilowatt"], 1.0),
    unit("W", &["watt"], 0.001),
    unit("hp", &["horsepower"], 0.745_699_871_582_270_2),
];
const PRESSURE: &[Unit] = &[
    unit("kPa", &[], 1.0),
    unit("Pa", &[], 0.001),
    unit("bar", &[], 100.0),
    unit("mbar", &[], 0.1),
    unit("psi", &["lb/in2"], 6.894_757_293_168_361),
];
// 1 Btu (international table) = 1055.05585262 J; h ft2 F.
const HEAT_TRANSFER: &[Unit] = &[
    unit("W/m2K", &["W/m2/K", "W/(m2 K)", "W/m2C", "W/m2 K"], 1.0),
    unit("Btu/h/ft2/F", &["Btu/(h ft2 F)", "Btu/hr/ft2/F"], 5.678_263_341_113_488),
];
const ENERGY: &[Unit] =
    &[unit("kWh", &["kilowatt hour", "kilowatt hours"], 1.0), unit("MWh", &["megawatt hour"], 1000.0)];
const NONE: &[Unit] = &[unit("", &[], 1.0)];

const NO_EXTRA: &[Unit] = &[];

const fn per(over: &'static [Unit], under: &'static [Unit], scale: f64) -> Form {
    Form::Per { over, under, scale, also: NO_EXTRA }
}

const fn row(
    name: &'static str,
    accepted: &'static [&'static str],
    form: Form,
    si: &'static [(f64, &'static str)],
    us: &'static [(f64, &'static str)],
) -> Spec {
    Spec { name, accepted, form, si, us }
}

/// The rows of the table.
#[expect(clippy::too_many_lines, reason = "one table, one row per kind")]
pub(super) const fn spec(kind: Kind) -> Spec {
    match kind {
        Kind::Mass => row(
            "mass",
            &["kg", "g", "t (tonne)", "lb", "oz", "ton (short ton)"],
            Form::Plain(MASS),
            &[(0.0, "g"), (0.1, "kg"), (10_000.0, "t")],
            &[(0.0, "oz"), (0.1, "lb"), (10_000.0, "ton")],
        ),
        Kind::MassRate => row(
            "mass per time",
            &["kg/day", "kg/week", "t/year", "lb/day", "lb/week", "ton/week (short ton)"],
            per(MASS, TIME, 1.0),
            &[(0.0, "kg/day"), (10_000.0, "t/day")],
            &[(0.0, "lb/day"), (10_000.0, "ton/day")],
        ),
        Kind::Throughput => row(
            "machine rate",
            &["kg/h", "t/h", "lb/h"],
            per(MASS, TIME, 1.0 / 24.0),
            &[(0.0, "kg/h")],
            &[(0.0, "lb/h")],
        ),
        Kind::Length => row(
            "length",
            &["m", "cm", "mm", "in", "ft"],
            Form::Plain(LENGTH),
            &[(0.0, "mm"), (0.1, "m")],
            &[(0.0, "in"), (1.0, "ft")],
        ),
        Kind::Area => {
            row("area", &["m2", "ft2", "sq ft", "yd2"], Form::Plain(AREA), &[(0.0, "m2")], &[(0.0, "ft2")])
        }
        Kind::Volume => row(
            "volume",
            &["m3", "L", "gal (US)", "ft3", "yd3"],
            Form::Plain(VOLUME),
            &[(0.0, "L"), (1.0, "m3")],
            &[(0.0, "gal"), (1.0, "yd3")],
        ),
        Kind::Temperature => {
            row("temperature", &["C", "F", "K"], Form::Plain(TEMPERATURE), &[(0.0, "°C")], &[(0.0, "°F")])
        }
        Kind::TemperatureDifference => row(
            "temperature difference",
            &["K", "C", "F"],
            Form::Plain(DIFFERENCE),
            &[(0.0, "K")],
            &[(0.0, "F")],
        ),
        Kind::Density => row(
            "density",
            &["kg/m3", "kg/L", "lb/yd3", "lb/ft3", "lb/gal"],
            per(MASS, VOLUME, 1.0),
            &[(0.0, "kg/m3")],
            &[(0.0, "lb/yd3")],
        ),
        Kind::Days => row(
            "time",
            &["days", "weeks", "months", "years"],
            Form::Plain(TIME),
            &[(0.0, "days")],
            &[(0.0, "days")],
        ),
        Kind::Hours => row("hours a day", &["h", "min"], Form::Plain(HOURS), &[(0.0, "h")], &[(0.0, "h")]),
        Kind::Share => row("share of a whole", &["", "%"], Form::Plain(SHARE), &[(0.0, "%")], &[(0.0, "%")]),
        Kind::Ratio => row(
            "mass per mass",
            &["kg/kg", "g/kg", "lb/lb", "lb/ton", "%"],
            Form::Per { over: MASS, under: MASS, scale: 1.0, also: SHARE },
            &[(0.0, "kg/kg")],
            &[(0.0, "lb/lb")],
        ),
        Kind::Ration => row(
            "feed per live worm mass and day",
            &["kg/kg/day", "lb/lb/day", "/day", "%/day"],
            Form::Per { over: RATION_OVER, under: TIME, scale: 1.0, also: NONE },
            &[(0.0, "kg/kg/day")],
            &[(0.0, "lb/lb/day")],
        ),
        Kind::Airflow => row(
            "airflow",
            &["m3/h", "L/s", "cfm"],
            Form::Per { over: VOLUME, under: TIME, scale: 1.0 / 24.0, also: CUBIC_FEET_A_MINUTE },
            &[(0.0, "m3/h")],
            &[(0.0, "cfm")],
        ),
        Kind::Power => row("power", &["kW", "W", "hp"], Form::Plain(POWER), &[(0.0, "kW")], &[(0.0, "hp")]),
        Kind::ArealMass => row(
            "mass per area",
            &["kg/m2", "g/m2", "lb/ft2"],
            per(MASS, AREA, 1.0),
            &[(0.0, "kg/m2")],
            &[(0.0, "lb/ft2")],
        ),
        Kind::Pressure => row(
            "pressure",
            &["kPa", "Pa", "bar", "psi"],
            Form::Plain(PRESSURE),
            &[(0.0, "kPa")],
            &[(0.0, "psi")],
        ),
        Kind::HeatTransfer => row(
            "heat transfer coefficient",
            &["W/m2K", "Btu/h/ft2/F"],
            Form::Plain(HEAT_TRANSFER),
            &[(0.0, "W/m2K")],
            &[(0.0, "Btu/h/ft2/F")],
        ),
        Kind::Acidity => row("pH", &["", "pH"], Form::Plain(ACIDITY), &[(0.0, "")], &[(0.0, "")]),
        Kind::Buffering => row(
            "buffering capacity per dry mass",
            &["meq/kg", "eq/kg"],
            Form::Plain(BUFFERING),
            &[(0.0, "meq/kg")],
            &[(0.0, "meq/kg")],
        ),
        Kind::Count => row("whole number", &[""], Form::Plain(NONE), &[(0.0, "")], &[(0.0, "")]),
        Kind::Factor => row("factor", &["", "%"], Form::Plain(SHARE), &[(0.0, "")], &[(0.0, "")]),
        Kind::Money => row("money", &[""], Form::Plain(NONE), &[(0.0, "")], &[(0.0, "")]),
        Kind::MoneyPerMass => row(
            "money per mass",
            &["/t", "/kg", "/lb", "/ton (short ton)"],
            per(NONE, MASS, 1000.0),
            &[(0.0, "/t")],
            &[(0.0, "/ton")],
        ),
        Kind::MoneyPerVolume => row(
            "money per volume",
            &["/m3", "/L", "/yd3", "/gal"],
            per(NONE, VOLUME, 1.0),
            &[(0.0, "/m3")],
            &[(0.0, "/yd3")],
        ),
        Kind::MoneyPerArea => {
            row("money per area", &["/m2", "/ft2"], per(NONE, AREA, 1.0), &[(0.0, "/m2")], &[(0.0, "/ft2")])
        }
        Kind::MoneyPerEnergy => {
            row("money per energy", &["/kWh"], Form::Plain(PER_ENERGY), &[(0.0, "/kWh")], &[(0.0, "/kWh")])
        }
        Kind::CarbonPerEnergy => row(
            "greenhouse gas per energy",
            &["kg/kWh", "g/kWh", "lb/MWh"],
            per(MASS, ENERGY, 1.0),
            &[(0.0, "kg/kWh")],
            &[(0.0, "lb/kWh")],
        ),
        Kind::MoneyPerHour => row(
            "money per time",
            &["/h", "/day"],
            per(NONE, TIME, 1.0 / 24.0),
            &[(0.0, "/h")],
            &[(0.0, "/h")],
        ),
    }
}

const RATION_OVER: &[Unit] =
    &[unit("kg/kg", &["lb/lb", "g/g", "t/t", ""], 1.0), unit("%", &["percent"], 0.01)];
const CUBIC_FEET_A_MINUTE: &[Unit] = &[unit("cfm", &["ft3/min"], FOOT * FOOT * FOOT * 60.0)];
const ACIDITY: &[Unit] = &[unit("", &["pH"], 1.0)];
const BUFFERING: &[Unit] =
    &[unit("meq/kg", &["mmol/kg", "mEq/kg DM"], 1.0), unit("eq/kg", &["mol/kg", "meq/g"], 1000.0)];
const PER_ENERGY: &[Unit] = &[unit("/kWh", &[], 1.0), unit("/MWh", &[], 0.001)];
