//! The record of a day, of the whole site and of each bed.

use jiff::civil::Date;
use serde::Serialize;

/// One day of the site. Masses are wet kilograms of that day unless said.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DayRecord {
    /// Date.
    pub date: Date,
    /// Drum room. # Units: °C
    pub drum_room_temperature: f64,
    /// Bed room. # Units: °C
    pub bed_room_temperature: f64,
    /// Scraps that arrived. # Units: kg
    pub intake: f64,
    /// Of these, turned away for want of a drum. # Units: kg
    pub turned_away: f64,
    /// Bran strewn into drums. # Units: kg
    pub bran_used: f64,
    /// Bran wanted but not in store. # Units: kg
    pub bran_short: f64,
    /// Bran in store at night. # Units: kg
    pub bran_in_store: f64,
    /// Drums in use at night, the filling one included. # Units: 1
    pub drums_in_use: f64,
    /// Age of the oldest sealed drum; 0 if none is sealed. # Units: d
    pub oldest_drum: f64,
    /// Drums opened. # Units: 1
    pub drums_opened: f64,
    /// Drums that turned bad. # Units: 1
    pub drums_spoiled: f64,
    /// Highest gauge pressure in a drum. # Units: kPa
    pub drum_pressure: f64,
    /// Carbon dioxide in the drum room. # Units: ppm
    pub room_carbon_dioxide: f64,
    /// Liquor drained. # Units: kg
    pub liquor: f64,
    /// pH of the drums opened; 0 when none was. # Units: pH
    pub opened_ph: f64,
    /// Fermented scraps ground. # Units: kg
    pub ground: f64,
    /// Paste on hand at night. # Units: kg
    pub paste_on_hand: f64,
    /// Bulking mixed in. # Units: kg
    pub bulking: f64,
    /// Paste with bulking laid on beds. # Units: kg
    pub fed: f64,
    /// Grinder. # Units: h
    pub grinder_hours: f64,
    /// Mean bed temperature. # Units: °C
    pub bed_temperature: f64,
    /// Hottest spot in any bed. # Units: °C
    pub bed_hottest: f64,
    /// Mean moisture where worms live. # Units: kg/kg
    pub bed_moisture: f64,
    /// Lowest pH where worms live. # Units: pH
    pub bed_ph_lowest: f64,
    /// Mean pH where worms live. # Units: pH
    pub bed_ph: f64,
    /// Live worms. # Units: kg
    pub stock: f64,
    /// Juveniles. # Units: kg live
    pub juveniles: f64,
    /// Sub-adults. # Units: kg live
    pub subadults: f64,
    /// Adults. # Units: kg live
    pub adults: f64,
    /// Cocoons. # Units: 1
    pub cocoons: f64,
    /// Feed eaten, as wet feed of 80 % water. # Units: kg
    pub eaten: f64,
    /// Beds whose worms ate less than they need to keep their weight. # Units: 1
    pub starving_beds: f64,
    /// Carbon dioxide from the beds. # Units: kg
    pub bed_carbon_dioxide: f64,
    /// Water evaporated from the beds. # Units: kg
    pub bed_evaporation: f64,
    /// Water added to the beds. # Units: kg
    pub irrigation: f64,
    /// Water drained from the beds. # Units: kg
    pub drainage: f64,
    /// Castings harvested. # Units: kg
    pub harvested: f64,
    /// Castings still drying at night. # Units: kg
    pub castings_drying: f64,
    /// Longest time that any of them has been drying. # Units: d
    pub longest_drying: f64,
    /// Dry castings waiting for the screen at night. # Units: kg
    pub castings_waiting: f64,
    /// Castings through the screen. # Units: kg
    pub screened: f64,
    /// Castings sold alone. # Units: kg
    pub castings_sold: f64,
    /// Blend sold. # Units: kg
    pub blend_sold: f64,
}

impl DayRecord {
    /// A day on which nothing has happened yet.
    pub fn new(date: Date) -> Self {
        Self {
            date,
            drum_room_temperature: 0.0,
            bed_room_temperature: 0.0,
            intake: 0.0,
            turned_away: 0.0,
            bran_used: 0.0,
            bran_short: 0.0,
            bran_in_store: 0.0,
            drums_in_use: 0.0,
            oldest_drum: 0.0,
            drums_opened: 0.0,
            drums_spoiled: 0.0,
            drum_pressure: 0.0,
            room_carbon_dioxide: 0.0,
            liquor: 0.0,
            opened_ph: 0.0,
            ground: 0.0,
            paste_on_hand: 0.0,
            bulking: 0.0,
            fed: 0.0,
            grinder_hours: 0.0,
            bed_temperature: 0.0,
            bed_hottest: 0.0,
            bed_moisture: 0.0,
            bed_ph_lowest: 0.0,
            bed_ph: 0.0,
            stock: 0.0,
            juveniles: 0.0,
            subadults: 0.0,
            adults: 0.0,
            cocoons: 0.0,
            eaten: 0.0,
            starving_beds: 0.0,
            bed_carbon_dioxide: 0.0,
            bed_evaporation: 0.0,
            irrigation: 0.0,
            drainage: 0.0,
            harvested: 0.0,
            castings_drying: 0.0,
            longest_drying: 0.0,
            castings_waiting: 0.0,
            screened: 0.0,
            castings_sold: 0.0,
            blend_sold: 0.0,
        }
    }
}

/// One day of one bed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BedRecord {
    /// Date.
    pub date: Date,
    /// Bed number, from 1.
    pub bed: usize,
    /// Temperature at night. # Units: °C
    pub temperature: f64,
    /// Hottest spot of the day. # Units: °C
    pub hottest: f64,
    /// Moisture where worms live. # Units: kg/kg
    pub moisture: f64,
    /// pH where worms live. # Units: pH
    pub ph: f64,
    /// Air-filled porosity where worms live. # Units: m3/m3
    pub porosity: f64,
    /// Salt in pore water where worms live. # Units: kg/m3
    pub salt: f64,
    /// Free ammonia nitrogen where worms live. # Units: mg N/kg wet
    pub free_ammonia: f64,
    /// Depth of the bed. # Units: m
    pub depth: f64,
    /// Fresh layer. # Units: kg
    pub fresh: f64,
    /// Thickness of the fresh layer. # Units: m
    pub fresh_thickness: f64,
    /// Depth oxygen reaches into the fresh layer; not above the thickness. # Units: m
    pub fresh_reach: f64,
    /// Ready layer. # Units: kg
    pub ready: f64,
    /// Castings layer. # Units: kg
    pub castings: f64,
    /// Feed laid. # Units: kg
    pub fed: f64,
    /// Live worms. # Units: kg
    pub stock: f64,
    /// Intake per worm, as wet feed of 80 % water. # Units: kg/(kg d)
    pub intake: f64,
}
