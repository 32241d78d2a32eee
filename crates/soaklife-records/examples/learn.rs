use jiff::civil::date;
use soaklife::fleet::pooling::Experience;
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let day = date(2026, 1, 1);
    let logbook = soaklife_records::Logbook::read(a[1].as_ref(), day, day).unwrap();
    let folds: usize = a[3].parse().unwrap();
    std::thread::scope(|s| { for t in 0..2 { let logbook=&logbook; let a=&a; s.spawn(move || {
    for fold in (0..folds).filter(|f| f%2==t) {
        let mut experience = Experience::new(logbook.prior());
        for (i, pit) in logbook.pits().enumerate() { if folds == 1 || i % folds != fold { experience.add(pit.history(), day); } }
        let prior = experience.learn();
        std::fs::write(format!("{}.{fold}.toml", a[2]), toml::to_string(&prior).unwrap()).unwrap();
    } }); } });
}
