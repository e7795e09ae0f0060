//! Small problems that can be worked out by hand.

use super::*;

fn packing<'a>(tasks: &'a [Task], crew: &'a Crew, minutes: f64) -> Packing<'a> {
    Packing {
        tasks,
        crew,
        finish: Finish { quantile: 0.0 },
        minutes,
        dives_with_first: 1,
        one_stays_up: false,
        most_dives: 4,
        line: None,
    }
}

fn pair() -> Crew {
    let diver = || Diver { name: String::new(), skills: 0 };
    Crew { divers: vec![diver(), diver()], pairs: vec![Pair(0, 1)] }
}

fn task(minutes: f64) -> Task {
    let unit = Minutes { mean: minutes, cv: 0.0 };
    Task { name: String::new(), unit, set_up: 0.0, takes: Takes::One, skill: None, first: None }
}

/// Six pieces of work of 18, 15, 15, 12, 10 and 10 minutes fill two divers' 40 minutes to the last: {18, 12, 10} and
/// {15, 15, 10}. Putting the longest first wherever it fits needs a third.
#[test]
fn work_that_the_longest_first_does_not_pack() {
    let tasks = [18.0, 15.0, 12.0, 10.0].map(task);
    let crew = pair();
    let table = Table::new(&packing(&tasks, &crew, 40.0), Caps::new(vec![1, 2, 1, 2]));
    assert_eq!(table.dives(&[1, 2, 1, 2]), Some(1));
    let mut bins: Vec<f64> = Vec::new();
    for minutes in [18.0, 15.0, 15.0, 12.0, 10.0, 10.0] {
        match bins.iter().position(|filled| filled + minutes <= 40.0) {
            Some(bin) => bins[bin] += minutes,
            None => bins.push(minutes),
        }
    }
    assert_eq!(bins.len(), 3);
}

/// Two sites of 100 minutes of work each and 80 minutes in a dive of a pair: together they would fill three dives, but no
/// dive spans two sites.
#[test]
fn no_dive_spans_two_sites() {
    let (tasks, crew) = ([task(10.0)], pair());
    let packing = packing(&tasks, &crew, 40.0);
    let at_a_site = Table::new(&packing, Caps::new(vec![20])).dives(&[10]).unwrap();
    assert_eq!((2 * at_a_site, fewest_by_minutes(&packing, &[20])), (4, 3));
}
