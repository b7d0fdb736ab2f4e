//! The records of a day: of the whole site and of each bed.

use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

/// A record and its columns in files, from one list: field, type, unit and text.
macro_rules! record {
    ($(#[$meta:meta])* $name:ident { $($field:ident: $type:ty, $unit:literal, $doc:literal;)* }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, JsonSchema)]
        pub struct $name {
            /// Date of the day.
            #[schemars(with = "String")]
            pub date: Date,
            $(#[doc = concat!($doc, " Unit: ", $unit, ".")] pub $field: $type,)*
        }

        impl $name {
            /// Name and unit of each field, in order.
            pub const FIELDS: [(&'static str, &'static str); [$($unit),*].len() + 1] =
                [("date", "date"), $((stringify!($field), $unit)),*];
        }
    };
}

record! {
    /// One day of the site. Masses are wet and of that day unless the field says otherwise.
    DayRecord {
        drum_room_temperature: f64, "°C", "Temperature of the drum room.";
        bed_room_temperature: f64, "°C", "Temperature of the bed room.";
        intake: f64, "kg", "Scraps that arrived.";
        turned_away: f64, "kg", "Part of the intake turned away for lack of a drum, or of room for fresh scraps to wait.";
        bran_used: f64, "kg", "Bran spread in drums.";
        bran_short: f64, "kg", "Bran needed but not in store.";
        bran_in_store: f64, "kg", "Bran in store at night.";
        drums_in_use: f64, "1", "Drums in use at night, the one being filled included.";
        oldest_drum: f64, "d", "Age of the oldest sealed drum; 0 if none is sealed.";
        drums_opened: f64, "1", "Drums opened.";
        drums_spoiled: f64, "1", "Drums that turned bad.";
        drum_pressure: f64, "kPa", "Highest gauge pressure in a drum.";
        room_carbon_dioxide: f64, "ppm", "Highest carbon dioxide in the drum room, that of drums just opened included.";
        room_carbon_dioxide_shift: f64, "ppm", "Highest mean carbon dioxide in the drum room over eight hours.";
        liquor: f64, "kg", "Liquor drained.";
        opened_ph: f64, "pH", "Mean pH of the drums opened; 0 if none was opened.";
        ground: f64, "kg", "Fermented scraps ground.";
        paste_on_hand: f64, "kg", "Paste on hand at night, with opened scraps that wait for the grinder.";
        bulking: f64, "kg", "Bulking mixed in.";
        fed: f64, "kg", "Paste with bulking laid on beds.";
        grinder_hours: f64, "h", "Running time of the grinder.";
        bed_temperature: f64, "°C", "Mean temperature of the beds.";
        bed_hottest: f64, "°C", "Hottest spot in any bed.";
        bed_moisture: f64, "kg/kg", "Mean moisture where worms live.";
        bed_ph_lowest: f64, "pH", "Lowest pH where worms live.";
        bed_ph: f64, "pH", "Mean pH where worms live.";
        stock: f64, "kg live", "Live worms at night, after the harvest.";
        juveniles: f64, "kg live", "Juveniles at night, after the harvest.";
        subadults: f64, "kg live", "Sub-adults at night, after the harvest.";
        adults: f64, "kg live", "Adults at night, after the harvest.";
        cocoons: f64, "1", "Number of cocoons at night, after the harvest.";
        eaten: f64, "kg", "Feed eaten, as wet feed of 80 % water.";
        starving_beds: f64, "1", "Beds whose worms ate less than they need to keep their weight.";
        bed_carbon_dioxide: f64, "kg", "Carbon dioxide from the beds.";
        bed_evaporation: f64, "kg", "Water evaporated from the beds.";
        irrigation: f64, "kg", "Water added to the beds.";
        drainage: f64, "kg", "Water drained from the beds.";
        harvested: f64, "kg", "Castings harvested.";
        castings_drying: f64, "kg", "Castings still drying at night.";
        longest_drying: f64, "d", "Longest time that any of them has been drying.";
        castings_waiting: f64, "kg", "Dry castings waiting for the screen at night.";
        screened: f64, "kg", "Castings through the screen.";
        castings_sold: f64, "kg", "Castings sold alone.";
        blend_sold: f64, "kg", "Blend sold.";
    }
}

impl DayRecord {
    /// A day on which nothing has happened yet.
    pub fn new(date: Date) -> Self {
        Self { date, ..Self::default() }
    }
}

record! {
    /// One day of one bed.
    BedRecord {
        bed: usize, "1", "Number of the bed, from 1.";
        temperature: f64, "°C", "Temperature at night.";
        hottest: f64, "°C", "Hottest spot of the day.";
        moisture: f64, "kg/kg", "Moisture where worms live.";
        ph: f64, "pH", "pH where worms live.";
        porosity: f64, "m3/m3", "Air-filled porosity where worms live.";
        salt: f64, "kg/m3", "Salt in pore water where worms live.";
        ammonia: f64, "g N/m3", "Dissolved ammoniacal nitrogen in pore water where worms live.";
        ammonia_units: f64, "1", "The same in toxic units: worms feed in full up to 0.6, and 1 kills half of them in 28 days.";
        depth: f64, "m", "Depth of the bed at night, after the harvest.";
        fresh: f64, "kg", "Mass of the fresh layer.";
        fresh_thickness: f64, "m", "Thickness of the fresh layer.";
        fresh_reach: f64, "m", "Depth to which oxygen enters the fresh layer; at most its thickness.";
        ready: f64, "kg", "Mass of the ready layer.";
        castings: f64, "kg", "Mass of the castings layer at night, after the harvest.";
        fed: f64, "kg", "Feed laid.";
        stock: f64, "kg live", "Live worms at night, after the harvest.";
        intake: f64, "kg/(kg d)", "Intake per worm, as wet feed of 80 % water.";
    }
}
