fn main() {
    let ing: Vec<&str> = loamledger::literature::ingredients().iter().map(|i| i.id.as_str()).collect();
    let rates: Vec<&str> = loamledger::literature::entries().iter().map(|e| e.key.as_str()).collect();
    let known = loamledger::scenario::Known { ingredients: &ing, rates: &rates };
    let plan =
        loamledger::scenario::read_scenario(std::path::Path::new("scenarios/harbour_hall.json"), known)
            .unwrap();
    let (site, models) = loamledger::scenario::assemble(&plan).unwrap();
    let n: usize = std::env::args().nth(1).and_then(|a| a.parse().ok()).unwrap_or(3);
    for _ in 0..n {
        std::hint::black_box(loamledger::chain::run(&site, &models, false).unwrap());
    }
}
