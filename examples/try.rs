fn main() {
    let ing: Vec<&str> = loamledger::literature::ingredients().iter().map(|i| i.id.as_str()).collect();
    let rates: Vec<&str> = loamledger::literature::entries().iter().map(|e| e.key.as_str()).collect();
    let known = loamledger::scenario::Known { ingredients: &ing, rates: &rates };
    for f in std::env::args().skip(1) {
        let plan = match loamledger::scenario::read_scenario(std::path::Path::new(&f), known) {
            Ok(p) => p,
            Err(e) => {
                println!("{e}");
                continue;
            }
        };
        let t = std::time::Instant::now();
        match loamledger::study::run(&plan) {
            Ok(mut a) => {
                println!("== {f} {:?}", t.elapsed());
                a.daily.iter().step_by(14).for_each(|d| println!("{} in {:.0} ta {:.0} bran {:.1}/{:.1} drums {:.0} sp {:.0} | ground {:.0} paste {:.0} fed {:.0} | T {:.1} air {:.1} hot {:.1} m {:.2} pH {:.2} min {:.2} | B {:.0} coc {:.0} eaten {:.0} starv {:.0} | harv {:.0} scr {:.0} sold {:.0} {:.0}", d.date, d.intake, d.turned_away, d.bran_used, d.bran_in_store, d.drums_in_use, d.drums_spoiled, d.ground, d.paste_on_hand, d.fed, d.bed_temperature, d.bed_room_temperature, d.bed_hottest, d.bed_moisture, d.bed_ph, d.bed_ph_lowest, d.stock, d.cocoons, d.eaten, d.starving_beds, d.harvested, d.screened, d.castings_sold, d.blend_sold));
                a.daily.clear();
                a.bed_daily.clear();
                println!("{:#?}", (&a.drums, &a.grinder, &a.stock, &a.beds.first(), &a.gases));
                for f in &a.balance.flows {
                    println!(
                        "{:10} {:24} wet {:9.0} dry {:8.0} C {:8.0} N {:7.1} P {:6.1} K {:6.1}",
                        f.stage,
                        f.flow,
                        f.amounts.wet,
                        f.amounts.dry,
                        f.amounts.carbon,
                        f.amounts.nitrogen,
                        f.amounts.phosphorus,
                        f.amounts.potassium
                    );
                }
                for e in &a.balance.elements {
                    println!(
                        "{} in {:.2} out {:.2} change {:.2} gap {:.2e}",
                        e.element,
                        e.into_site,
                        e.out_of_site,
                        e.change,
                        e.into_site - e.out_of_site - e.change
                    );
                }
                for p in &a.products {
                    println!("{} {:?} {:?}", p.name, p.volume, p.quality);
                }
                for w in &a.warnings {
                    println!("{:?} {} :: {}", w.severity, w.message, w.hint);
                }
            }
            Err(e) => println!("ERR {e}"),
        }
    }
}
