//! Long work over many items on the machine's cores: in order, with progress, and stopping when asked.
//!
//! Invariant: the results come in the order of the items and are the same whatever the number of cores.

use super::{Cancelled, Event, Reporter};
use std::ops::Range;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};

/// Items that are done between one look at the wish to stop and the next.
const STEP: usize = 64;

/// Runs work over blocks of so many indices, each core with its own scratch space; results in the order of the blocks.
pub fn in_blocks<S, T: Send>(
    count: usize,
    block: usize,
    scratch: impl Fn() -> S + Sync,
    work: impl Fn(&mut S, Range<usize>) -> T + Sync,
) -> Vec<T> {
    let blocks: Vec<_> = (0..count).step_by(block).map(|start| start..(start + block).min(count)).collect();
    let next = AtomicUsize::new(0);
    let run = || {
        let (mut own, mut done) = (scratch(), Vec::new());
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            let Some(block) = blocks.get(index) else { return done };
            done.push((index, work(&mut own, block.clone())));
        }
    };
    if blocks.len() <= 1 {
        return run().into_iter().map(|(_, result)| result).collect();
    }
    let mut results: Vec<(usize, T)> = std::thread::scope(|scope| {
        let threads = std::thread::available_parallelism().map_or(1, usize::from).min(blocks.len());
        let workers: Vec<_> = (0..threads).map(|_| scope.spawn(run)).collect();
        let joined = workers.into_iter().map(|worker| worker.join().unwrap_or_else(|p| std::panic::resume_unwind(p)));
        joined.flatten().collect()
    });
    results.sort_by_key(|(index, _)| *index);
    results.into_iter().map(|(_, result)| result).collect()
}

/// Runs work over items; results in their order. Few items stay on the caller's core.
pub fn each<T: Send>(count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    in_blocks(count, STEP / 4, || (), |(), items| items.map(&work).collect::<Vec<T>>()).into_iter().flatten().collect()
}

/// As [`each`], telling how far a stage is.
///
/// # Errors
/// [`Cancelled`] when a stop is wanted.
pub fn each_told<T: Send>(
    (reporter, stage): (&dyn Reporter, &'static str),
    count: usize,
    work: impl Fn(usize) -> T + Sync,
) -> Result<Vec<T>, Cancelled> {
    let done = AtomicU64::new(0);
    let blocks = in_blocks(
        count,
        STEP,
        || (),
        |(), items| {
            reporter.checkpoint()?;
            let by = items.len() as u64;
            let results: Vec<T> = items.map(&work).collect();
            let done = done.fetch_add(by, Ordering::Relaxed) + by;
            reporter.event(&Event::StageAdvanced { stage, done, total: count as u64 });
            Ok(results)
        },
    );
    Ok(blocks.into_iter().collect::<Result<Vec<Vec<T>>, Cancelled>>()?.into_iter().flatten().collect())
}

#[cfg(test)]
mod tests {
    use super::super::{Recorder, Silent};
    use super::*;

    struct Stopping(AtomicUsize);

    impl Reporter for Stopping {
        fn event(&self, _event: &Event) {
            self.0.fetch_add(1, Ordering::Relaxed);
        }

        fn stop_wanted(&self) -> bool {
            self.0.load(Ordering::Relaxed) > 2
        }
    }

    #[test]
    fn results_come_in_order() {
        let squares: Vec<usize> = (0..1000).map(|i| i * i).collect();
        assert_eq!(each(1000, |i| i * i), squares);
        assert_eq!(each_told((&Silent, "survey"), 1000, |i| i * i), Ok(squares));
        assert!(each(0, |i| i).is_empty());
    }

    #[test]
    fn progress_ends_at_the_whole() {
        let told = Recorder::default();
        each_told((&told, "survey"), 1000, |i| i).unwrap();
        let done = |event: &Event| matches!(event, Event::StageAdvanced { done: 1000, total: 1000, .. });
        assert_eq!(told.events().iter().filter(|event| done(event)).count(), 1);
        assert_eq!(told.events().len(), 16);
    }

    #[test]
    fn it_stops_when_asked() {
        let stopping = Stopping(AtomicUsize::new(0));
        assert_eq!(each_told((&stopping, "survey"), 100_000, |i| i), Err(Cancelled));
        assert!(stopping.0.into_inner() < 100, "soon after");
    }
}
