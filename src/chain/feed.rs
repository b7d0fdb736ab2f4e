//! From drums to beds: what the beds are due, opening, grinding, bulking, laying; and the beds' own day.

use super::Chain;
use super::Models;
use crate::component::Component;
use crate::material::Material;
use crate::process::recipe::Mixture;
use crate::process::recipe::Part;
use crate::process::recipe::amounts::RecipeError;
use crate::process::recipe::amounts::bulking_for;
use crate::trace::BedRecord;
use crate::trace::DayRecord;
use crate::trace::Flow;
use crate::trace::Holder;
use crate::unit::bed::Bed;
use crate::unit::bed::BedDay;
use crate::unit::bed::FeedLimit;
use crate::unit::bed::Weather;
use crate::unit::grinder::RinseTo;
use jiff::civil::Weekday;

/// Bulk density taken for the first feed, before any was mixed. # Units: kg/m3
const FIRST_DENSITY: f64 = 600.0;

/// Fewer worms than this are as good as none. # Units: kg live
const LEAST_STOCK: f64 = 0.001;

/// Stands for the feed until the first batch is mixed.
pub(super) fn first_guess(models: &Models) -> Mixture {
    Mixture {
        material: Material::of(Component::Water, 1.0),
        volume: 1.0 / FIRST_DENSITY,
        full_volume: 1.0 / models.paste_density,
    }
}

fn is_on(days: [bool; 7], weekday: Weekday) -> bool {
    days[usize::try_from(weekday.to_monday_zero_offset()).expect("an offset is 0 to 6")]
}

/// The last bed worked out: its state before and after the day, and what it did.
struct Twin {
    before: Bed,
    after: Bed,
    out: BedDay,
}

impl Chain<'_> {
    /// Opens drums for what the beds are due, grinds, mixes in bulking and lays the feed. Returns the feed of each bed.
    pub(super) fn feed_beds(&mut self, day: usize, record: &mut DayRecord) -> Vec<f64> {
        let mut fed = vec![0.0; self.beds.len()];
        let weekday = record.date.weekday();
        if !is_on(self.site.feeding.weekdays, weekday) {
            self.grind_nothing(record);
            return fed;
        }
        let room = self.room_for_feed();
        let wanted: f64 = room.iter().map(|r| r.0).sum();
        let (mix, bulking) = &self.recipe;
        let paste_share = crate::material::ratio(mix.material.wet() - bulking, mix.material.wet());
        self.open_and_grind(day, wanted * paste_share - self.paste.wet(), weekday, record);
        if self.paste.wet() > 0.0 && wanted > 0.0 {
            self.lay(&room, wanted, &mut fed, record);
        }
        for ((tally, (_, limit)), amount) in self.tally.beds.iter_mut().zip(&room).zip(&fed) {
            tally.fed += amount;
            if *amount <= 0.0 && *limit != FeedLimit::Ration {
                tally.refused[*limit as usize] += 1;
            }
        }
        record.paste_on_hand = self.paste.wet();
        fed
    }

    fn grind_nothing(&self, record: &mut DayRecord) {
        record.paste_on_hand = self.paste.wet();
    }

    /// What each bed can take of feed as last mixed, and why not more. # Units: kg
    fn room_for_feed(&self) -> Vec<(f64, FeedLimit)> {
        let (mix, bulking) = &self.recipe;
        let feed_per_paste = mix.material.wet() / (mix.material.wet() - bulking);
        let feeding_days = self.site.feeding.weekdays.iter().filter(|on| **on).count() as f64;
        let ration = self.site.feeding.ration * 7.0 / feeding_days * feed_per_paste;
        let density = mix.bulk_density();
        self.beds
            .iter()
            .map(|bed| {
                let due = ration * bed.worms.biomass(&self.models.bed.worms);
                bed.room_for_feed(&self.models.bed, due, density)
            })
            .collect()
    }

    /// Opens drums for `wanted` kilograms of paste as far as the grinder can take them today, and grinds.
    fn open_and_grind(&mut self, day: usize, wanted: f64, weekday: Weekday, record: &mut DayRecord) {
        let today = u32::try_from(day).expect("a run is shorter than 10^9 days");
        let drum = self.site.drums.drum_mass();
        let most = (self.grinder.capacity(weekday) / drum).round() * drum;
        let ready = self.drums.ready(today);
        let asked = wanted.min(most);
        if wanted > most && ready > most {
            self.tally.grinder_limited_days += 1;
        }
        if asked <= 0.0 {
            return;
        }
        // drums are opened whole: half a drum less keeps the mean right
        let opened = self.drums.open(today, asked - 0.5 * drum.min(asked));
        self.ledger.book(Flow::DrumsToGrinder, Holder::Drums, Holder::Grinder, &opened.paste_in);
        self.gases(Flow::DrumGas, Holder::Drums, &opened.gases);
        let ground = self.grinder.grind(opened.paste_in);
        self.ledger.book(Flow::Rinse, Holder::Outside, Holder::Grinder, &ground.rinse_in);
        self.paste += ground.paste;
        match self.site.grinder.rinse_to {
            RinseTo::Beds => self.paste += ground.wash,
            RinseTo::Drain => {
                self.ledger.book(Flow::RinseOut, Holder::Grinder, Holder::Outside, &ground.wash);
            }
        }
        self.mix();
        self.tally.opened += opened.drums as f64;
        self.tally.opened_age += opened.age * opened.drums as f64;
        self.tally.opened_ph += opened.ph * opened.drums as f64;
        self.tally.opened_over_age += opened.over_age as f64;
        self.tally.energy += ground.energy_kwh;
        record.drums_opened = opened.drums as f64;
        record.opened_ph = opened.ph;
        record.room_carbon_dioxide = record.room_carbon_dioxide.max(opened.room_carbon_dioxide * 1e6);
        record.ground = opened.paste_in.wet();
        record.grinder_hours = ground.hours;
    }

    /// Solves the bulking for the paste on hand.
    fn mix(&mut self) {
        let wet = self.paste.wet();
        if wet <= 0.0 {
            return;
        }
        let paste = Part {
            per_kilogram: self.paste * (1.0 / wet),
            bulk_density: self.models.paste_density,
            kept_volume: self.models.kept_volumes.paste,
        };
        let solids = &self.models.solids;
        let Some(bulking) = &self.site.bulking else {
            self.recipe = (Mixture::of(&[(paste, 1.0)], solids), 0.0);
            return;
        };
        let amount = match bulking_for(&paste, &bulking.part, &bulking.targets, solids) {
            Ok(recipe) => recipe.bulking_per_paste,
            Err(RecipeError::Unreachable { .. } | RecipeError::NotTogether) => f64::INFINITY,
            Err(RecipeError::Impossible(_) | RecipeError::NothingFixed) => 0.0,
        };
        if amount > bulking.most {
            self.tally.bulking_short_days += 1;
        }
        let amount = amount.min(bulking.most);
        self.recipe = (Mixture::of(&[(paste, 1.0), (bulking.part, amount)], solids), amount);
    }

    /// Lays feed in proportion to what the beds can take.
    fn lay(&mut self, room: &[(f64, FeedLimit)], wanted: f64, fed: &mut [f64], record: &mut DayRecord) {
        let (mix, per_paste) = self.recipe;
        let available = self.paste.wet() * (1.0 + per_paste);
        let amount = wanted.min(available);
        let paste = self.paste.take_wet(amount / (1.0 + per_paste));
        let bulking = match &self.site.bulking {
            Some(b) => b.part.per_kilogram * (amount * per_paste / (1.0 + per_paste)),
            None => Material::zero(),
        };
        self.ledger.book(Flow::Bulking, Holder::Outside, Holder::Grinder, &bulking);
        let feed = paste + bulking;
        let per_wet = 1.0 / mix.material.wet();
        let volume = amount * mix.volume * per_wet;
        self.tally.feed.0 += feed;
        self.tally.feed.1 += volume;
        self.tally.feed.2 += amount * mix.full_volume * per_wet;
        for (n, (bed, (part, _))) in self.beds.iter_mut().zip(room).enumerate() {
            let share = part / wanted;
            if share > 0.0 {
                bed.feed(feed * share, volume * share);
                self.ledger.book(Flow::Feed, Holder::Grinder, Holder::Bed(n), &(feed * share));
                fed[n] = amount * share;
            }
        }
        record.bulking = bulking.wet();
        record.fed = amount;
    }

    /// One day of every bed.
    pub(super) fn live(
        &mut self,
        day: usize,
        fed: &[f64],
        record: &mut DayRecord,
        mut records: Option<&mut Vec<BedRecord>>,
    ) {
        let air = self.site.bed_air[day];
        let count = (self.beds.len() as f64).max(1.0);
        record.bed_ph_lowest = if self.beds.is_empty() { 0.0 } else { f64::INFINITY };
        let mut twin: Option<Twin> = None;
        for (n, amount) in fed.iter().enumerate() {
            let out = self.bed_day(n, &air, &mut twin);
            self.book_bed(n, &out);
            let bed = &self.beds[n];
            record.bed_temperature += bed.temperature / count;
            record.bed_hottest = record.bed_hottest.max(out.hottest);
            record.bed_moisture += out.zone_moisture / count;
            record.bed_ph += out.zone_ph / count;
            record.bed_ph_lowest = record.bed_ph_lowest.min(out.zone_ph);
            record.eaten += out.worms.eaten;
            let starving = out.worms.starving && out.worms.biomass_before > LEAST_STOCK;
            record.starving_beds += f64::from(u8::from(starving));
            record.bed_carbon_dioxide += out.gases[crate::component::Gas::CarbonDioxide];
            record.bed_evaporation += out.gases[crate::component::Gas::WaterVapour];
            record.irrigation += out.irrigated;
            record.drainage += out.drained.wet();
            if let Some(records) = records.as_deref_mut() {
                records.push(bed_record(record.date, n + 1, bed, &out, *amount, &self.models.bed));
            }
        }
        for worms in self.population() {
            let masses = worms.masses(&self.models.bed.worms);
            record.juveniles += masses.juveniles;
            record.subadults += masses.subadults;
            record.adults += masses.adults;
            record.cocoons += worms.counts().cocoons;
        }
        record.stock = record.juveniles + record.subadults + record.adults;
        record.drums_in_use = self.drums.drums_in_use() as f64;
    }

    /// One day of a bed. A bed in the very state of the one before it has the same day, which is copied, not worked out again:
    /// equal beds stay equal until they are harvested in turn.
    fn bed_day(&mut self, n: usize, air: &Weather, twin: &mut Option<Twin>) -> BedDay {
        let bed = &self.beds[n];
        // temperatures tell most unequal beds apart
        let equal =
            |t: &&Twin| t.before.temperature.to_bits() == bed.temperature.to_bits() && t.before == *bed;
        if let Some(twin) = twin.as_ref().filter(equal) {
            self.beds[n] = twin.after;
            return twin.out;
        }
        let before = self.beds[n];
        let out = self.beds[n].day(&self.models.bed, air, self.site.steps_per_day);
        *twin = Some(Twin { before, after: self.beds[n], out });
        out
    }

    fn book_bed(&mut self, n: usize, out: &BedDay) {
        let water = Material::of(Component::Water, out.irrigated);
        self.ledger.book(Flow::Irrigation, Holder::Outside, Holder::Bed(n), &water);
        self.gases(Flow::BedGas, Holder::Bed(n), &out.gases);
        self.ledger.book(Flow::Drainage, Holder::Bed(n), Holder::Outside, &out.drained);
        self.ledger.book(Flow::Growth, Holder::Bed(n), Holder::Stock(n), &out.tissue);
        let tally = &mut self.tally.beds[n];
        let starving = out.worms.starving && out.worms.biomass_before > LEAST_STOCK;
        tally.starving_days += usize::from(starving);
        tally.no_refuge_days += usize::from(!out.refuge);
        tally.tissue_short_days += usize::from(out.tissue_short);
        self.tally.cocoons_laid += out.worms.cocoons_laid;
        let d = &out.worms.deaths;
        let causes = [d.background, d.low_condition, d.heat, d.cold, d.acid, d.other];
        for (sum, dead) in self.tally.deaths.iter_mut().zip(causes) {
            *sum += dead;
        }
    }
}

fn bed_record(
    date: jiff::civil::Date,
    number: usize,
    bed: &Bed,
    out: &BedDay,
    fed: f64,
    model: &crate::unit::bed::BedModel,
) -> BedRecord {
    let thickness = bed.fresh.volume / bed.setup().area;
    BedRecord {
        date,
        bed: number,
        temperature: bed.temperature,
        hottest: out.hottest,
        moisture: out.zone_moisture,
        ph: out.zone_ph,
        porosity: out.zone_porosity,
        salt: out.zone_salt,
        free_ammonia: out.zone_free_ammonia * 1e6,
        depth: bed.depth(),
        fresh: bed.fresh.matter.wet(),
        fresh_thickness: thickness,
        fresh_reach: bed.fresh.reach.min(thickness),
        ready: bed.ready.matter.wet(),
        castings: bed.castings.matter.wet(),
        fed,
        stock: bed.worms.biomass(&model.worms),
        intake: out.worms.intake,
    }
}
