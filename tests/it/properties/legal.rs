//! Legal scenarios over the whole space of the schema, grown from bytes: the same bytes give the same scenario.
//!
//! The schema names the keys and the words, the table of fields the ranges. What the schema cannot say (names that must exist,
//! shares that sum to one, keys that exclude each other) is mended afterwards. Used-up bytes leave out what may be left out, so
//! that fewer bytes are a plainer scenario.

use jiff::ToSpan;
use jiff::civil::{Date, date};
use loamledger::literature;
use loamledger::quantity::Kind;
use loamledger::scenario::field::{Fallback, Number, field};
use loamledger::scenario::schema;
use serde_json::{Map, Value, json};
use std::sync::LazyLock;

static SCHEMA: LazyLock<Value> = LazyLock::new(schema);

/// What a run costs is bounded by these.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bounds {
    pub(crate) days: u32,
    pub(crate) steps_per_day: u32,
    pub(crate) beds: u32,
}

/// Choices made by bytes.
struct Bytes<'a>(&'a [u8]);

impl Bytes<'_> {
    fn next(&mut self) -> u8 {
        let (first, rest) = self.0.split_first().map_or((0, self.0), |(first, rest)| (*first, rest));
        self.0 = rest;
        first
    }

    fn below(&mut self, n: usize) -> usize {
        usize::from(self.next()) % n.max(1)
    }

    fn share(&mut self) -> f64 {
        f64::from(u16::from_le_bytes([self.next(), self.next()])) / f64::from(u16::MAX)
    }

    fn yes(&mut self) -> bool {
        self.next() % 2 == 1
    }

    fn one<'b>(&mut self, of: &[&'b str]) -> &'b str {
        of[self.below(of.len())]
    }
}

/// A legal scenario, but for own ingredients, whose figures may contradict each other.
pub(crate) fn scenario(bytes: &[u8], bounds: Bounds) -> Value {
    let mut bytes = Bytes(bytes);
    let mut site = grow(&SCHEMA, "", &mut bytes);
    let days = 1 + (bytes.share() * f64::from(bounds.days - 1)).round() as u32;
    let start = first_day(&mut bytes);
    site["name"] = json!("Grown Site");
    site["start"] = json!(start.to_string());
    site["days"] = json!(days);
    cap(&mut site, "steps_per_day", bounds.steps_per_day);
    let mut own = Map::new();
    if bytes.yes() {
        let mut ingredient =
            grow(&SCHEMA["properties"]["ingredients"]["additionalProperties"], "ingredients.*", &mut bytes);
        ingredient["like"] = json!(ingredient_name(&mut bytes, false));
        own.insert("own".into(), ingredient);
    }
    let has_own = !own.is_empty();
    site["ingredients"] = Value::Object(own);
    site["rates"] = rates(&mut bytes);
    streams(&mut site, has_own, start, &mut bytes);
    beds(&mut site, bounds.beds, has_own, &mut bytes);
    stock(&mut site, start, days, &mut bytes);
    for (object, key) in [("bran", "carrier"), ("bulking", "ingredient")] {
        name_in(&mut site[object], key, has_own, &mut bytes);
    }
    if site.get("grit").is_some_and(Value::is_object) {
        site["grit"]["mix"] = mix(has_own, &mut bytes);
    }
    name_in(&mut site["castings"]["blend"], "with", has_own, &mut bytes);
    standing(&mut site, start, &mut bytes);
    mend(&mut site);
    site
}

fn first_day(bytes: &mut Bytes<'_>) -> Date {
    match bytes.below(4) {
        0 => date(2027, 1, 4),
        // around a leap day
        1 => date(2028, 2, 20).saturating_add((bytes.below(12) as i64).days()),
        _ => date(1900, 1, 1).saturating_add(((bytes.share() * 109_500.0) as i64).days()),
    }
}

/// A value for a node of the schema.
fn grow(node: &Value, path: &str, bytes: &mut Bytes<'_>) -> Value {
    if let Some(field) = field(path) {
        if node.get("items").is_none() {
            return number(field, bytes);
        }
        let count = if path.ends_with("weekday_factors") {
            7
        } else if path.ends_with("month_factors") {
            12
        } else {
            2
        };
        return (0..count).map(|_| number(field, bytes)).collect();
    }
    if let Some(choices) = node.get("anyOf").and_then(Value::as_array) {
        return choices.first().map_or(Value::Null, |first| grow(first, path, bytes));
    }
    if let Some(words) = node.get("oneOf").and_then(Value::as_array) {
        return words[bytes.below(words.len())]["const"].clone();
    }
    if let Some(properties) = node.get("properties").and_then(Value::as_object) {
        return object(node, properties, path, bytes);
    }
    if let Some(items) = node.get("items") {
        return (0..bytes.below(4)).map(|_| grow(items, path, bytes)).collect();
    }
    let kind = &node["type"];
    let is = |name: &str| kind == name || kind.as_array().is_some_and(|all| all.iter().any(|t| t == name));
    if is("boolean") { json!(bytes.yes()) } else { json!("text") }
}

/// Keys that are filled by hand, and those of other questions than a run.
const BY_HAND: [&str; 9] = [
    "$schema",
    "note",
    "place",
    "ingredients",
    "rates",
    "sizing",
    "streams.closed",
    "stock.top_up",
    "as_it_stands",
];

fn object(node: &Value, properties: &Map<String, Value>, path: &str, bytes: &mut Bytes<'_>) -> Value {
    let mut grown = Map::new();
    for (key, inner) in properties {
        let below = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
        let required = node["required"].as_array().is_some_and(|all| all.iter().any(|name| name == key));
        if BY_HAND.contains(&key.as_str()) || BY_HAND.contains(&below.as_str()) || !(required || bytes.yes())
        {
            continue;
        }
        grown.insert(key.clone(), grow(inner, &below, bytes));
    }
    Value::Object(grown)
}

/// A number of the range: an end, the default, somewhere, or somewhere by order of magnitude.
fn number(field: &Number, bytes: &mut Bytes<'_>) -> Value {
    let (low, high) = (field.low, field.high);
    let value = match (bytes.below(8), field.fallback) {
        (0, Fallback::Value(default)) => default,
        (1, _) => low,
        (2, _) => high,
        (3..6, _) if low >= 0.0 => {
            let least = low.max(high * 1e-7);
            least * (high / least).powf(bytes.share())
        }
        _ => low + (high - low) * bytes.share(),
    };
    let whole = matches!(field.kind, Kind::Count | Kind::Days);
    json!(if whole { value.round() } else { value }.clamp(low, high))
}

fn cap(object: &mut Value, key: &str, most: u32) {
    if let Some(number) = object.get(key).and_then(Value::as_f64) {
        object[key] = json!(number.min(f64::from(most)));
    }
}

fn ingredient_name(bytes: &mut Bytes<'_>, has_own: bool) -> &'static str {
    let library = literature::ingredients();
    let place = bytes.below(library.len() + 8 * usize::from(has_own));
    library.get(place).map_or("own", |i| i.id.as_str())
}

fn name_in(object: &mut Value, key: &str, has_own: bool, bytes: &mut Bytes<'_>) {
    if object.get(key).is_some() {
        object[key] = json!(ingredient_name(bytes, has_own));
    }
}

/// Up to three rates fixed inside what is published.
fn rates(bytes: &mut Bytes<'_>) -> Value {
    let entries = literature::entries();
    let count = bytes.below(4);
    (0..count)
        .map(|_| {
            let entry = &entries[(bytes.share() * (entries.len() - 1) as f64).round() as usize];
            let (low, high) = (entry.value.low(), entry.value.high());
            let value = if low > 0.0 || high <= 0.0 {
                low + (high - low) * bytes.share()
            } else {
                entry.value.central()
            };
            (entry.key.clone(), json!(value))
        })
        .collect::<Map<_, _>>()
        .into()
}

/// Shares of up to three ingredients that sum to 1.
fn mix(has_own: bool, bytes: &mut Bytes<'_>) -> Value {
    let count = 1 + bytes.below(3);
    let mut mix = Map::new();
    let mut left = 1.0;
    for place in 0..count {
        let name = ingredient_name(bytes, has_own);
        let part = if place + 1 == count { left } else { left * bytes.share() };
        left -= part;
        let before = mix.get(name).and_then(Value::as_f64).unwrap_or(0.0);
        mix.insert(name.to_owned(), json!((before + part).min(1.0)));
    }
    Value::Object(mix)
}

fn streams(site: &mut Value, has_own: bool, start: Date, bytes: &mut Bytes<'_>) {
    for (n, stream) in site["streams"].as_array_mut().expect("a list").iter_mut().enumerate() {
        stream["name"] = json!(format!("stream {n}"));
        stream["mix"] = mix(has_own, bytes);
        let both = stream.get("amount").is_some() && stream.get("generation").is_some();
        if both {
            stream.as_object_mut().expect("an object").remove("amount");
        } else if stream.get("generation").is_none() && stream.get("amount").is_none() {
            stream["amount"] = json!(100);
        }
        let closed: Vec<String> = (0..bytes.below(3)).map(|_| closure(start, bytes)).collect();
        stream["closed"] = json!(closed);
    }
}

fn closure(start: Date, bytes: &mut Bytes<'_>) -> String {
    let first = start.saturating_add((bytes.below(60) as i64).days());
    let last = first.saturating_add((bytes.below(20) as i64).days());
    match bytes.below(3) {
        0 => first.to_string(),
        1 => format!("{first}..{last}"),
        _ => bytes.one(&["02-29", "12-24..01-02", "01-01..12-31", "07-01..08-29"]).to_owned(),
    }
}

fn beds(site: &mut Value, most: u32, has_own: bool, bytes: &mut Bytes<'_>) {
    let Some(beds) = site.get_mut("beds").and_then(Value::as_array_mut) else { return };
    for (n, bed) in beds.iter_mut().enumerate() {
        bed["name"] = json!(format!("bed {n}"));
        cap(bed, "count", most);
        if let Some(band) = bed.get_mut("moisture_band").and_then(Value::as_array_mut) {
            band.sort_by(|a, b| a.as_f64().partial_cmp(&b.as_f64()).expect("numbers"));
        }
        let depth = bed.get("depth").and_then(Value::as_f64).unwrap_or(0.6);
        let filled = bed.get("filled_with").is_some();
        if let Some(filling) = bed.get_mut("filled_with") {
            // half of the depth, so that bedding has room too
            let moisture = filling.get("moisture").cloned();
            *filling = json!({ "mix": mix(has_own, bytes), "depth": 0.5 * depth });
            if let Some(moisture) = moisture {
                filling["moisture"] = moisture;
            }
        }
        let Some(bedding) = bed.get_mut("bedding") else { continue };
        if bedding.get("mix").is_some() {
            bedding["mix"] = mix(has_own, bytes);
            bedding.as_object_mut().expect("an object").remove("ingredient");
        }
        name_in(bedding, "ingredient", has_own, bytes);
        if bedding.get("mass").is_some() {
            bedding.as_object_mut().expect("an object").remove("depth");
        } else if let Some(given) = bedding.get("depth").and_then(Value::as_f64) {
            bedding["depth"] = json!(given.min(if filled { 0.5 * depth } else { depth }));
        }
    }
}

fn stock(site: &mut Value, start: Date, days: u32, bytes: &mut Bytes<'_>) {
    let Some(stock) = site.get_mut("stock") else { return };
    let mut day = || start.saturating_add(((bytes.share() * f64::from(days - 1)) as i64).days()).to_string();
    if stock.get("arrives").is_some() {
        stock["arrives"] = json!(day());
        stock["top_up"] = json!([{ "date": day(), "mass": 20 }]);
    }
}

/// One site in four runs already.
fn standing(site: &mut Value, start: Date, bytes: &mut Bytes<'_>) {
    if bytes.below(4) != 1 {
        return;
    }
    let mut stands = json!({ "days_run": 1 + bytes.below(40) });
    for (key, most) in [("bran", 50.0), ("paste", 300.0), ("drying", 500.0), ("curing", 500.0)] {
        if bytes.yes() {
            stands[key] = json!(bytes.share() * most);
        }
    }
    let drums = site.get("drums").and_then(|drums| drums["count"].as_f64()).unwrap_or(0.0);
    if bytes.yes() {
        let count = ((drums / 2.0) as usize).min(1 + bytes.below(9));
        let filled = start.saturating_sub(((1 + bytes.below(60)) as i64).days());
        let mut dated = json!({ "count": count });
        // a scenario holds no date before 1900
        if filled.year() < 1900 {
            dated["age"] = json!(start.since(filled).map_or(0, |span| span.get_days()));
        } else {
            dated["filled"] = json!(filled.to_string());
        }
        stands["drums"] = json!([dated, { "count": count, "age": bytes.below(90) }]);
    }
    if bytes.yes() && site.get("beds").and_then(Value::as_array).is_some_and(|beds| !beds.is_empty()) {
        let mut bed = json!({ "name": "bed 0" });
        for (key, least, most) in [
            ("castings", 1.0, 900.0),
            ("moisture", 0.3, 0.95),
            ("ready", 0.0, 50.0),
            ("fresh", 0.0, 50.0),
            ("temperature", -10.0, 60.0),
            ("worms", 0.0, 50.0),
        ] {
            if bytes.yes() {
                bed[key] = json!(least + (most - least) * bytes.share());
            }
        }
        stands["beds"] = json!([bed]);
    }
    site["as_it_stands"] = stands;
}

fn remove(object: &mut Value, key: &str) {
    if let Some(object) = object.as_object_mut() {
        object.remove(key);
    }
}

/// The same of times of harvest and of what dries castings.
fn harvest_and_screen(top: &mut Map<String, Value>) {
    if let Some(harvest) = top.get_mut("harvest")
        && harvest.get("depth").is_some()
    {
        remove(harvest, "every_days");
    }
    if let Some(harvest) = top.get_mut("harvest")
        && harvest.get("never") == Some(&json!(true))
    {
        remove(harvest, "every_days");
        remove(harvest, "depth");
    }
    if let Some(screen) = top.get_mut("screen")
        && let Some(by) = screen.get("dried_by").and_then(Value::as_str)
    {
        let floor = screen.get("drying_area").is_some() && screen.get("drying_days").is_none();
        if (floor && !["air", "fan"].contains(&by)) || (!floor && by == "air") {
            remove(screen, "dried_by");
        }
    }
}

/// Takes away what excludes or contradicts something else.
fn mend(site: &mut Value) {
    let value =
        |object: &Value, key: &str, default: f64| object.get(key).and_then(Value::as_f64).unwrap_or(default);
    if site["bulking"].is_null() {
        remove(site, "bulking");
    }
    let Some(top) = site.as_object_mut() else { return };
    top.retain(|_, value| !value.is_null());
    if let Some(climate) = top.get_mut("climate") {
        if climate.get("coldest_day").is_some() {
            climate["coldest_day"] = json!("02-29");
        }
        for room in ["bed_room", "drum_room"] {
            let Some(room) = climate.get_mut(room) else { continue };
            if value(room, "heated_to", -20.0) > value(room, "cooled_to", 50.0) {
                remove(room, "cooled_to");
            }
        }
    }
    if let Some(drums) = top.get_mut("drums")
        && value(drums, "minimum_days", 14.0) > value(drums, "maximum_days", 84.0)
    {
        drums["maximum_days"] = json!(value(drums, "minimum_days", 14.0));
    }
    let fresh = top.get("feeding").and_then(|f| f.get("scraps")).is_some_and(|scraps| scraps != "fermented");
    if fresh {
        top.remove("drums");
        if let Some(stands) = top.get_mut("as_it_stands") {
            remove(stands, "drums");
        }
    } else if let Some(feeding) = top.get_mut("feeding") {
        remove(feeding, "most_waiting");
    }
    if let Some(feeding) = top.get_mut("feeding")
        && value(feeding, "hottest", 30.0) <= value(feeding, "coldest", 4.0)
    {
        feeding["hottest"] = json!(60.0);
        remove(feeding, "coldest");
    }
    harvest_and_screen(top);
    if let Some(verdict) = top.get_mut("verdict")
        && value(verdict, "serious_chance", 0.1) > value(verdict, "fails_chance", 0.5)
    {
        verdict["fails_chance"] = json!(1.0);
    }
    if let Some(castings) = top.get_mut("castings") {
        if castings.get("blend").is_some_and(Value::is_null) {
            remove(castings, "blend");
        }
        if castings.get("blend").is_none() {
            remove(castings, "sold_alone");
        }
    }
}
