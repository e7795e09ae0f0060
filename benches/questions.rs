//! Whole questions against a careful script for the same question. `cargo bench --bench questions`; the script needs a
//! `python3` with numpy (another interpreter: REEFWRIGHT_BENCH_PYTHON). Both run in the same minute, one after the other,
//! with the same number of plain trials, so that their simulation errors are equal; their laws of the reef differ.

use reefwright::design::*;
use reefwright::engine::{Plan, Until, Watch, run};
use reefwright::reef::NamedReef;
use reefwright::survey::*;
use reefwright::theory::ZoneTheory;
use std::hint::black_box;
use std::process::Command;
use std::sync::atomic::AtomicBool;
use std::time::Instant;

const QUESTION_TRIALS: u64 = 2_000;
const TABLE_TRIALS: u64 = 200;
const PASSES: usize = 5;

fn main() {
    // The harness passes `--bench`; a number of threads may follow.
    let threads = std::env::args().skip(1).find_map(|word| word.parse().ok()).unwrap_or(2);
    rayon::ThreadPoolBuilder::new().num_threads(threads).build_global().expect("the first pool");
    println!("plain trials, {threads} threads; the fastest of {PASSES} passes, in turn with the script");
    println!("elapsed: seconds on the clock; work: seconds of processor, which a loaded machine distorts less\n");
    println!("{:34} {:>8} {:>8} {:>8} {:>10} {:>10} {:>8}", "", "designs", "trials", "", "ours s", "script s", "ratio");
    let question = study(vec![10.0], vec![0.1], (2..=12).collect(), vec![8]);
    compare("8 sites, 2 to 12 lines", "question", question, QUESTION_TRIALS);
    let table = || {
        let lengths = vec![5.0, 10.0, 15.0, 20.0, 30.0];
        study(lengths, vec![0.1, 0.2, 0.5, 1.0], (1..=12).collect(), (3..=20).collect())
    };
    compare("trade-off table", "table", table(), TABLE_TRIALS);
    theory(&plan(table()));
    if let Some(peak) = peak_memory_mb() {
        println!("peak memory of this process {peak:.0} MB");
    }
}

fn compare(name: &str, what: &str, study: Study, trials: u64) {
    let start = Instant::now();
    let plan = plan(study);
    let fixed = start.elapsed().as_secs_f64();
    let (mut ours, mut script) = (Cost::NEVER, None::<Cost>);
    for _ in 0..PASSES {
        ours = ours.least(simulate(&plan, trials));
        let Some(now) = peer(what, trials) else { break };
        script = Some(script.unwrap_or(Cost::NEVER).least(now));
    }
    let line = |name: &str, unit: &str, ours: f64, script: Option<f64>| {
        let (theirs, ratio) = match script {
            Some(seconds) => (format!("{seconds:.3}"), format!("{:.1}", seconds / ours)),
            None => ("skipped".into(), "-".into()),
        };
        println!("{name:34} {:>8} {trials:>8} {unit:>8} {ours:>10.3} {theirs:>10} {ratio:>8}", plan.designs);
    };
    line(name, "elapsed", ours.elapsed, script.map(|cost| cost.elapsed));
    line("", "work", ours.work, script.map(|cost| cost.work));
    println!("  calibration, once: {fixed:.3} s");
    if script.is_none() {
        println!("  the script was skipped: no python3 with numpy (see REEFWRIGHT_BENCH_PYTHON)");
    }
}

/// Seconds on the clock and seconds of processor over all threads.
#[derive(Clone, Copy)]
struct Cost {
    elapsed: f64,
    work: f64,
}

impl Cost {
    const NEVER: Cost = Cost { elapsed: f64::INFINITY, work: f64::INFINITY };

    fn least(self, other: Cost) -> Cost {
        Cost { elapsed: self.elapsed.min(other.elapsed), work: self.work.min(other.work) }
    }
}

fn simulate(plan: &Plan, trials: u64) -> Cost {
    let never = AtomicBool::new(false);
    let watch = Watch { progress: &|_, _| (), interrupted: &never };
    let (start, work) = (Instant::now(), processor_seconds());
    black_box(run(plan, 1, 0, Until::Trials(trials), &watch));
    Cost { elapsed: start.elapsed().as_secs_f64(), work: processor_seconds() - work }
}

/// Of this process so far, in ticks of a hundredth; not a number where the system does not tell.
fn processor_seconds() -> f64 {
    let seconds = || {
        let text = std::fs::read_to_string("/proc/self/stat").ok()?;
        // After the name in brackets: user and system ticks are the 12th and 13th.
        let fields: Vec<&str> = text[text.rfind(')')? + 1..].split_whitespace().collect();
        Some(0.01 * (fields.get(11)?.parse::<f64>().ok()? + fields.get(12)?.parse::<f64>().ok()?))
    };
    seconds().unwrap_or(f64::NAN)
}

/// What the script says it took; `None` where it cannot run.
fn peer(what: &str, trials: u64) -> Option<Cost> {
    let python = std::env::var("REEFWRIGHT_BENCH_PYTHON").unwrap_or_else(|_| "python3".into());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/peer/ar1_peer.py");
    let output = Command::new(python)
        .args([script, what, "--trials", &trials.to_string()])
        .env_remove("OPENBLAS_CORETYPE")
        .env_remove("OPENBLAS_L2_SIZE")
        .output()
        .ok()?;
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).ok()?;
    Some(Cost { elapsed: answer["seconds"].as_f64()?, work: answer["processor_seconds"].as_f64()? })
}

/// Standard error, power and degrees of freedom of every design in closed form, on one thread.
fn theory(plan: &Plan) {
    let designs: Vec<_> = plan.all_designs().collect();
    let pass = || {
        let start = Instant::now();
        for design in &designs {
            let theory = plan.theory(design, 2);
            black_box(theory.rejects(theory.expected, &plan.critical));
        }
        designs.len() as f64 / start.elapsed().as_secs_f64()
    };
    let rate = (0..PASSES).map(|_| pass()).fold(0.0, f64::max);
    println!("\nclosed form, one thread: {rate:.0} designs a second");
}

fn plan(study: Study) -> Plan {
    let theories = study.zones.iter().map(|zone| ZoneTheory::new(&study, zone).expect("a law within reach")).collect();
    Plan::new(study, theories)
}

fn peak_memory_mb() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse::<f64>().ok().map(|kilobytes| kilobytes / 1024.0)
}

fn study(length_m: Vec<f64>, spacing_m: Vec<f64>, units: Vec<usize>, sites: Vec<usize>) -> Study {
    let reef = NamedReef::ForeReef;
    Study {
        title: "bench".into(),
        scope: Scope::AllSuchReefs,
        question: Question::BetweenTheseVisits,
        test: TestSpec { kind: TestKind::PairedT, alpha: 0.05, sides: Sides::Two, seen: 0.8 },
        visits: Visits {
            years_apart: 2.0,
            sites: Sites::Same,
            places: Places::NewPlaces,
            relay_sd_m: 0.3,
            renewal_per_year: 0.06,
            drift_years: 12.0,
        },
        observers: Observers::perfect(),
        zones: vec![Zone {
            name: "terrace".into(),
            sites,
            existing: None,
            weight: 1.0,
            length_m: 100.0,
            width_m: 20.0,
            reef_name: reef.name().into(),
            reef_is_a_range: false,
            reef: reef.spec(),
            cover: 0.20,
            between_sites_sd: 0.07,
            site_year_sd: 0.02,
            year_sd: 0.0,
            categories: vec![],
        }],
        changes: vec![Change { indicator: HARD_CORAL.into(), from: 0.20, to: 0.16, differs_between_sites_sd: None }],
        methods: vec![MethodSpec {
            kind: MethodKind::PointIntercept { length_m, spacing_m },
            units,
            minutes: UnitMinutes { lay: 3.0, read: 12.0 },
        }],
        placement: Placement::default(),
        also_report: vec![],
    }
}
