//! Many houses, each in its weather, those of one form side by side in lanes.

use std::cell::RefCell;
use std::future::Future;
use std::ops::Range;
use std::pin::Pin;
use std::rc::Rc;
use std::sync::{Mutex, PoisonError};
use std::task::{Context, Poll, Waker};

use rayon::prelude::*;

use crate::house::House;
use crate::network::{Common, Form, Network};
use crate::ode::{Lanes, Real, at_once};
use crate::weather::Weather;

use super::course::{Alone, Course, Drivers};
use super::lanes::{InLane, Table};
use super::outcome::{Columns, Outcome};
use super::{Choice, RunError, RunOptions, check, whole};

/// Fewest houses of a form for which lanes are filled: for fewer, one after the other is quicker.
const FEWEST: usize = 3;

/// Runs houses through a period, each in its own weather and exactly as [`super::simulate`] does, and
/// hands each outcome to `finish` as soon as it is there; returns what that made of them, in the order
/// of the houses.
///
/// Houses that differ only in numbers such as areas, conductances, emittances and counts are run side
/// by side in lanes, and these on several threads; results do not depend on which. What drives them is
/// worked out once for all that have the same weather, the very same and not only an equal one.
pub fn simulate_each<T: Send>(
    houses: &[(&House, &Weather)],
    period: &Range<usize>,
    options: &RunOptions,
    finish: impl Fn(usize, Result<Outcome, RunError>) -> T + Sync,
) -> Vec<T> {
    each(houses, period, options, |index, outcome| {
        (finish(index, outcome), None)
    })
}

/// The same where each outcome is only looked at and not kept: the next house's is then written into
/// its place, which is quicker.
pub fn measure_each<T: Send>(
    houses: &[(&House, &Weather)],
    period: &Range<usize>,
    options: &RunOptions,
    measure: impl Fn(usize, Result<&Outcome, RunError>) -> T + Sync,
) -> Vec<T> {
    each(houses, period, options, |index, outcome| match outcome {
        Ok(outcome) => {
            let measured = measure(index, Ok(&outcome));
            (measured, Some(outcome.into_columns()))
        }
        Err(error) => (measure(index, Err(error)), None),
    })
}

/// Runs houses; what an outcome is made into comes with its columns if they are done with.
fn each<T: Send>(
    houses: &[(&House, &Weather)],
    period: &Range<usize>,
    options: &RunOptions,
    finish: impl Fn(usize, Result<Outcome, RunError>) -> (T, Option<Columns>) + Sync,
) -> Vec<T> {
    let common = Common::default();
    let assembled: Vec<Result<(Network, Form), RunError>> = houses
        .par_iter()
        .map(|(house, weather)| {
            check(house, weather, period)?;
            let network = Network::assemble_in(house, options.detail, &common)?;
            let form = network.form();
            Ok((network, form))
        })
        .collect();
    let mut results: Vec<Option<T>> = Vec::new();
    results.resize_with(houses.len(), || None);
    let mut groups: Vec<Group> = Vec::new();
    for (index, assembled) in assembled.into_iter().enumerate() {
        match assembled {
            Err(error) => results[index] = Some(finish(index, Err(error)).0),
            Ok((network, form)) => match groups.iter_mut().find(|group| group.form == form) {
                Some(group) => group.members.push((index, network)),
                None => groups.push(Group {
                    form,
                    members: vec![(index, network)],
                }),
            },
        }
    }
    let batch = Batch {
        houses,
        period,
        options,
    };
    let queues: Vec<Queue> = groups.into_iter().map(Queue::new).collect();
    let done: Vec<Vec<(usize, T)>> = takers(&queues)
        .into_par_iter()
        .map(|queue| {
            let mut done = Vec::new();
            batch.run(queue, |index, outcome| {
                let (made, columns) = finish(index, outcome);
                done.push((index, made));
                columns
            });
            done
        })
        .collect();
    for (index, result) in done.into_iter().flatten() {
        results[index] = Some(result);
    }
    results.into_iter().flatten().collect()
}

type Member = (usize, Network);

/// Houses of one form.
struct Group {
    form: Form,
    members: Vec<Member>,
}

/// Houses of a form that wait for whichever thread has room, so that none waits long for another.
struct Queue {
    count: usize,
    members: Mutex<std::vec::IntoIter<Member>>,
}

impl Queue {
    /// The members in their order.
    fn new(group: Group) -> Self {
        Self {
            count: group.members.len(),
            members: Mutex::new(group.members.into_iter()),
        }
    }

    fn next(&self) -> Option<Member> {
        let members = self.members.lock();
        members.unwrap_or_else(PoisonError::into_inner).next()
    }

    fn left(&self) -> usize {
        let members = self.members.lock();
        members.unwrap_or_else(PoisonError::into_inner).len()
    }
}

/// Each queue as often as threads may take from it, the longest first.
fn takers(queues: &[Queue]) -> Vec<&Queue> {
    let threads = rayon::current_num_threads().max(1);
    let mut longest_first: Vec<&Queue> = queues.iter().collect();
    longest_first.sort_by_key(|queue| std::cmp::Reverse(queue.count));
    let several = longest_first.into_iter().flat_map(|queue| {
        let most = (queue.count / (FEWEST + 1)).clamp(1, threads);
        std::iter::repeat_n(queue, most)
    });
    several.collect()
}

/// What all runs have in common.
#[derive(Clone, Copy)]
struct Batch<'a> {
    houses: &'a [(&'a House, &'a Weather)],
    period: &'a Range<usize>,
    options: &'a RunOptions,
}

/// Houses that are driven by the same weather, and what drives them.
type Driven<'a> = (&'a Weather, Rc<Drivers<'a>>);

type Task<'d> = Pin<Box<dyn Future<Output = Result<Outcome, RunError>> + 'd>>;

impl<'a> Batch<'a> {
    /// Runs houses of one form until none waits.
    fn run(
        self,
        queue: &Queue,
        mut done: impl FnMut(usize, Result<Outcome, RunError>) -> Option<Columns>,
    ) {
        let mut known: Vec<Driven<'a>> = Vec::new();
        let mut drivers = |index: usize| {
            let weather = self.houses[index].1;
            let of_it = known.iter().find(|(of, _)| std::ptr::eq(*of, weather));
            if let Some((_, drivers)) = of_it {
                return Rc::clone(drivers);
            }
            let drivers = Rc::new(Drivers::new(weather));
            known.push((weather, Rc::clone(&drivers)));
            drivers
        };
        let has_lanes = matches!(self.options.integrator, Choice::Default { .. });
        if has_lanes && queue.left() >= FEWEST {
            self.side_by_side(queue, drivers, done);
        } else {
            let mut spare = None;
            while let Some((index, network)) = queue.next() {
                let course = Alone::new(network);
                let columns = spare.take().unwrap_or_default();
                let run = self.whole(index, drivers(index), course, columns);
                spare = done(index, at_once(run));
            }
        }
    }

    async fn whole<C: Course>(
        self,
        index: usize,
        drivers: Rc<Drivers<'a>>,
        course: C,
        columns: Columns,
    ) -> Result<Outcome, RunError> {
        let house = self.houses[index].0;
        let period = self.period.clone();
        whole(house, course, &drivers, period, self.options, columns).await
    }

    /// Runs them in lanes; one that has finished takes the next.
    fn side_by_side(
        self,
        queue: &Queue,
        mut drivers: impl FnMut(usize) -> Rc<Drivers<'a>>,
        mut done: impl FnMut(usize, Result<Outcome, RunError>) -> Option<Columns>,
    ) {
        let Some(first) = queue.next() else {
            return;
        };
        let table = RefCell::new(Table::new(&first.1));
        let mut first = Some(first);
        let mut spare: Vec<Columns> = Vec::new();
        let mut context = Context::from_waker(Waker::noop());
        let mut seats: Vec<Option<(usize, Task<'_>)>> = Vec::new();
        seats.resize_with(Lanes::WIDTH, || None);
        loop {
            for (lane, seat) in seats.iter_mut().enumerate() {
                let mut is_new = false;
                loop {
                    if seat.is_none() {
                        let next = first.take().or_else(|| queue.next());
                        *seat = next.map(|(index, network)| {
                            let course = InLane::new(&table, lane, network);
                            let columns = spare.pop().unwrap_or_default();
                            let task: Task<'_> =
                                Box::pin(self.whole(index, drivers(index), course, columns));
                            (index, task)
                        });
                        is_new = true;
                    }
                    let Some((index, task)) = seat else {
                        break;
                    };
                    if !is_new && !table.borrow().is_answered(lane) {
                        break;
                    }
                    match task.as_mut().poll(&mut context) {
                        Poll::Ready(outcome) => {
                            spare.extend(done(*index, outcome));
                            *seat = None;
                        }
                        Poll::Pending => break,
                    }
                }
            }
            if seats.iter().all(Option::is_none) {
                return;
            }
            table.borrow_mut().work();
        }
    }
}
