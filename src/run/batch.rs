//! Many houses, each in its weather, those of one form side by side in lanes.

use std::cell::RefCell;
use std::future::Future;
use std::ops::Range;
use std::pin::Pin;
use std::task::{Context, Poll, Waker};

use rayon::prelude::*;

use crate::house::House;
use crate::network::{Common, Form, Network};
use crate::ode::{Lanes, Real, at_once};
use crate::weather::Weather;

use super::course::{Alone, Course, Drivers};
use super::lanes::{InLane, Table};
use super::outcome::Outcome;
use super::{Choice, RunError, RunOptions, check, whole};

/// Fewest houses of a form for which lanes are filled: for fewer, one after the other is quicker.
const FEWEST: usize = 3;

/// Most houses that one thread takes on end.
const MOST: usize = 64;

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
            Err(error) => results[index] = Some(finish(index, Err(error))),
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
    let done: Vec<Vec<(usize, T)>> = shared_out(groups)
        .into_par_iter()
        .map(|members| {
            let mut done = Vec::with_capacity(members.len());
            batch.run(members, |index, outcome| {
                done.push((index, finish(index, outcome)));
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

/// Parts of about equal length for the threads, each of one form, the longest first.
fn shared_out(groups: Vec<Group>) -> Vec<Vec<Member>> {
    let threads = rayon::current_num_threads().max(1);
    let mut parts = Vec::new();
    for group in groups {
        let mut left = group.members;
        let wanted = left.len().div_ceil(threads);
        let count = left.len().div_ceil(wanted.clamp(FEWEST + 1, MOST)).max(1);
        for part in (1..=count).rev() {
            let rest = left.split_off(left.len() - left.len() / part);
            parts.push(rest);
        }
    }
    parts.sort_by_key(|part| std::cmp::Reverse(part.len()));
    parts
}

/// What all runs have in common.
#[derive(Clone, Copy)]
struct Batch<'a> {
    houses: &'a [(&'a House, &'a Weather)],
    period: &'a Range<usize>,
    options: &'a RunOptions,
}

/// A house that waits for a lane.
struct Waiting<'d, 'a> {
    index: usize,
    network: Network,
    drivers: &'d Drivers<'a>,
}

type Task<'a> = Pin<Box<dyn Future<Output = Result<Outcome, RunError>> + 'a>>;

impl<'a> Batch<'a> {
    /// Runs houses of one form.
    fn run(self, members: Vec<Member>, mut done: impl FnMut(usize, Result<Outcome, RunError>)) {
        let mut drivers: Vec<Drivers> = Vec::new();
        let driven_by: Vec<usize> = members
            .iter()
            .map(|(index, _)| {
                let weather = self.houses[*index].1;
                let is_known = |known: &Drivers| std::ptr::eq(known.weather(), weather);
                drivers.iter().position(is_known).unwrap_or_else(|| {
                    drivers.push(Drivers::new(weather));
                    drivers.len() - 1
                })
            })
            .collect();
        let pairs = members.into_iter().zip(driven_by);
        let waiting = pairs.map(|((index, network), by)| Waiting {
            index,
            network,
            drivers: &drivers[by],
        });
        let has_lanes = matches!(self.options.integrator, Choice::Default { .. });
        if has_lanes && waiting.len() >= FEWEST {
            self.side_by_side(waiting, done);
        } else {
            for one in waiting {
                let course = Alone::new(one.network);
                done(
                    one.index,
                    at_once(self.whole(one.index, one.drivers, course)),
                );
            }
        }
    }

    async fn whole<C: Course>(
        self,
        index: usize,
        drivers: &Drivers<'a>,
        course: C,
    ) -> Result<Outcome, RunError> {
        let house = self.houses[index].0;
        whole(house, course, drivers, self.period.clone(), self.options).await
    }

    /// Runs them in lanes; one that has finished takes the next.
    fn side_by_side<'d>(
        self,
        waiting: impl Iterator<Item = Waiting<'d, 'a>>,
        mut done: impl FnMut(usize, Result<Outcome, RunError>),
    ) where
        'a: 'd,
    {
        let mut waiting = waiting.peekable();
        let Some(first) = waiting.peek() else {
            return;
        };
        let table = RefCell::new(Table::new(&first.network));
        let mut context = Context::from_waker(Waker::noop());
        let mut seats: Vec<Option<(usize, Task<'_>)>> = Vec::new();
        seats.resize_with(Lanes::WIDTH, || None);
        loop {
            for (lane, seat) in seats.iter_mut().enumerate() {
                let mut is_new = false;
                loop {
                    if seat.is_none() {
                        *seat = waiting.next().map(|one| {
                            let course = InLane::new(&table, lane, one.network);
                            let task: Task<'_> =
                                Box::pin(self.whole(one.index, one.drivers, course));
                            (one.index, task)
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
                            done(*index, outcome);
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
