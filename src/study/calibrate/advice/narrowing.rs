//! How much a reading narrows what hangs on the unknowns.

use nalgebra::{DMatrix, DVector};

/// A matrix whose product with its own transpose is a covariance, which may be singular.
pub(super) fn root_of(covariance: &DMatrix<f64>) -> DMatrix<f64> {
    let eigen = covariance.clone().symmetric_eigen();
    let mut root = eigen.eigenvectors;
    for (mut column, value) in root.column_iter_mut().zip(eigen.eigenvalues.iter()) {
        column *= value.max(0.0).sqrt();
    }
    root
}

/// Variance of a goal after readings whose derivatives are weighed by their errors: with `S = L Lᵀ`,
/// `gᵀ (S⁻¹ + Jᵀ J)⁻¹ g = (Lᵀ g)ᵀ (1 + (J L)ᵀ J L)⁻¹ Lᵀ g`, which stands for a singular `S` too.
pub(super) fn variance_left(
    goal: &DVector<f64>,
    root: &DMatrix<f64>,
    weighed: &DMatrix<f64>,
) -> f64 {
    let own = root.tr_mul(goal);
    let told = weighed.transpose().tr_mul(root);
    let information = told.tr_mul(&told) + DMatrix::identity(own.len(), own.len());
    match information.cholesky() {
        Some(factors) => own.dot(&factors.solve(&own)),
        None => own.norm_squared(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An unknown of deviation 2 read `n` times with errors of 0.5: `1 / (1/4 + n/0.25)`.
    #[test]
    fn one_unknown_read_often_is_as_sure_as_the_books_say() {
        for count in [1_u32, 4, 48] {
            let root = root_of(&DMatrix::from_element(1, 1, 4.0));
            let weighed = DMatrix::from_element(count as usize, 1, 1.0 / 0.5);
            let left = variance_left(&DVector::from_element(1, 3.0), &root, &weighed);
            let books = 9.0 / (0.25 + f64::from(count) / 0.25);
            assert!((left / books - 1.0).abs() < 1e-12, "{left} {books}");
        }
    }

    /// Two unknowns of which only the sum is read: `S − S Jᵀ (J S Jᵀ + R)⁻¹ J S`, by hand, for a goal
    /// that is their sum, and for their difference, of which the sum tells nothing.
    #[test]
    fn a_sum_tells_of_the_sum_and_not_of_the_difference() {
        let root = root_of(&DMatrix::from_diagonal(&DVector::from_vec(vec![1.0, 1.0])));
        let weighed = DMatrix::from_row_slice(1, 2, &[1.0, 1.0]);
        let left = |goal: [f64; 2]| variance_left(&DVector::from_row_slice(&goal), &root, &weighed);
        assert!((left([1.0, 1.0]) - (2.0 - 4.0 / 3.0)).abs() < 1e-12);
        assert!((left([1.0, -1.0]) - 2.0).abs() < 1e-12);
    }

    proptest::proptest! {
        /// The law: more readings never widen a goal, whatever is known and read, and a singular
        /// covariance is no exception.
        #[test]
        fn more_information_never_widens(
            numbers in proptest::collection::vec(-3.0..3.0f64, 3 * 3 + 3 + 5 * 3),
            known in 0_usize..3,
        ) {
            let mut half = DMatrix::from_row_slice(3, 3, &numbers[..9]);
            half.column_mut(known).fill(0.0);
            let root = root_of(&half.transpose().tr_mul(&half.transpose()));
            let goal = DVector::from_row_slice(&numbers[9..12]);
            let mut last = root.tr_mul(&goal).norm_squared();
            for rows in 0..=5 {
                let weighed = DMatrix::from_row_slice(rows, 3, &numbers[12..12 + 3 * rows]);
                let left = variance_left(&goal, &root, &weighed);
                proptest::prop_assert!(left >= 0.0 && left <= last + 1e-9, "{left} {last}");
                last = left;
            }
        }
    }
}
