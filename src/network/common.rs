//! What many houses have in common, worked out for the first that asks.

use std::sync::{Arc, Mutex, PoisonError};

use nalgebra::DMatrix;

use crate::physics::conduction::{Films, Layer};
use crate::physics::lumping::{Chain, LumpingError, lumps_with_places};
use crate::physics::view_factors::{Face, ViewFactorError, view_factors};

/// Lumps of layers and view factors of attics, for houses that are assembled one after the other or side
/// by side: most have most of them in common.
#[derive(Debug, Clone, Default)]
pub struct Common {
    chains: Shelf<Assembly, (Chain, Vec<usize>)>,
    factors: Shelf<Vec<Face>, DMatrix<f64>>,
}

/// Layers between films, and the one at whose far side a node is kept.
type Assembly = (Vec<Layer>, Films, usize);

impl Common {
    /// As [`lumps_with_places`] with one place.
    pub(super) fn lumps(
        &self,
        layers: &[Layer],
        films: Films,
        place: usize,
    ) -> Result<(Chain, Vec<usize>), LumpingError> {
        self.chains.get(
            &(layers.to_vec(), films, place),
            |(layers, films, place)| lumps_with_places(layers, *films, &[*place]),
        )
    }

    /// As [`view_factors`].
    pub(super) fn view_factors(&self, faces: &Vec<Face>) -> Result<DMatrix<f64>, ViewFactorError> {
        self.factors.get(faces, |faces| view_factors(faces))
    }
}

/// Answers that are kept, those asked for last at the end.
#[derive(Debug, Clone)]
struct Shelf<Q, A>(Arc<Mutex<Vec<(Q, A)>>>);

/// Most answers of a kind that are kept.
const MOST: usize = 64;

impl<Q, A> Default for Shelf<Q, A> {
    fn default() -> Self {
        Self(Arc::default())
    }
}

impl<Q: Clone + PartialEq, A: Clone> Shelf<Q, A> {
    /// The answer to a question, worked out if it is not there.
    fn get<E>(&self, question: &Q, answer: impl FnOnce(&Q) -> Result<A, E>) -> Result<A, E> {
        let kept = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        {
            let mut kept = kept();
            if let Some(at) = kept.iter().rposition(|(known, _)| known == question) {
                let last = kept.len() - 1;
                kept[at..].rotate_left(1);
                return Ok(kept[last].1.clone());
            }
        }
        let answer = answer(question)?;
        let mut kept = kept();
        if kept.len() >= MOST {
            kept.remove(0);
        }
        kept.push((question.clone(), answer.clone()));
        Ok(answer)
    }
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;

    use super::*;

    #[test]
    fn what_is_asked_again_is_worked_out_once_and_the_oldest_are_forgotten() {
        let (shelf, asked) = (Shelf::<usize, usize>::default(), Cell::new(0));
        let ask = |question: usize| {
            let answer = shelf.get(&question, |question| {
                asked.set(asked.get() + 1);
                Ok::<_, ()>(question * 2)
            });
            assert_eq!(answer, Ok(question * 2));
        };
        (0..MOST).for_each(ask);
        ask(0);
        assert_eq!(asked.get(), MOST);
        // In the place of 1, which nobody has asked for since.
        ask(MOST);
        ask(0);
        assert_eq!(asked.get(), MOST + 1);
        ask(1);
        assert_eq!(asked.get(), MOST + 2);
    }

    #[test]
    fn an_error_is_handed_on_and_not_kept() {
        let shelf = Shelf::<usize, usize>::default();
        assert_eq!(shelf.get(&3, |_| Err("no")), Err("no"));
        assert_eq!(shelf.get(&3, |_| Ok::<_, &str>(4)), Ok(4));
    }
}
