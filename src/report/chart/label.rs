//! Labels beside the ends of lines, moved apart where they would touch.

use super::palette::Tint;
use super::svg::{Anchor, Point, Svg, Type};

/// A label of a line that ends at a point.
#[derive(Debug, Clone)]
pub(super) struct EndLabel {
    pub(super) end: Point,
    pub(super) text: String,
    pub(super) tint: Tint,
}

/// Distance of labels' middle lines, px.
const APART_PX: f64 = 15.0;

/// Writes labels to the right of `x_px`, between two heights, with a thin lead from each line's
/// end.
pub(super) fn write(svg: &mut Svg, labels: &[EndLabel], x_px: f64, between: (f64, f64)) {
    let mut order: Vec<&EndLabel> = labels
        .iter()
        .filter(|label| label.end.0.is_finite() && label.end.1.is_finite())
        .collect();
    // Of ends at one height the farther one is below, so that leads do not cross.
    let key = |label: &EndLabel| (label.end.1.round(), label.end.0);
    order.sort_by(|a, b| {
        let (a, b) = (key(a), key(b));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    let wanted: Vec<f64> = order.iter().map(|label| label.end.1.round()).collect();
    for (label, y) in order.iter().zip(spread(&wanted, APART_PX, between)) {
        let (x, end_y) = label.end;
        if (y - end_y).abs() > 1.0 {
            let lead = [(x + 2.0, end_y), (x_px - 3.0, y)];
            svg.line(&lead, label.tint, 0.7, "");
        }
        let style = Type::new(label.tint, Anchor::Start).bold();
        svg.text_about((x_px, y), &label.text, style);
    }
}

/// Positions as near to those wanted (in rising order) as a least distance and bounds allow.
///
/// Neighbours that touch form a block about the mean of what they want (pool adjacent violators).
pub(super) fn spread(wanted: &[f64], apart: f64, between: (f64, f64)) -> Vec<f64> {
    // Each block: number of members and sum of what its first one would want.
    let mut blocks: Vec<(usize, f64)> = Vec::new();
    let mut index = 0;
    for &want in wanted {
        blocks.push((1, want));
        while blocks.len() > 1 {
            let (last, before) = (blocks[blocks.len() - 1], blocks[blocks.len() - 2]);
            let first_of = |block: (usize, f64)| block.1 / block.0 as f64;
            if first_of(before) + before.0 as f64 * apart <= first_of(last) {
                break;
            }
            let shift = last.0 as f64 * before.0 as f64 * apart;
            blocks.pop();
            blocks.pop();
            blocks.push((before.0 + last.0, before.1 + last.1 - shift));
        }
        index += 1;
    }
    debug_assert_eq!(blocks.iter().map(|block| block.0).sum::<usize>(), index);
    let mut placed: Vec<f64> = Vec::with_capacity(wanted.len());
    for (count, sum) in blocks {
        let first = sum / count as f64;
        placed.extend((0..count).map(|i| first + i as f64 * apart));
    }
    // Into the bounds: down from the top, then up from the bottom.
    let mut least = between.0;
    for at in &mut placed {
        *at = at.max(least);
        least = *at + apart;
    }
    let mut most = between
        .1
        .max(between.0 + apart * (wanted.len() as f64 - 1.0));
    for at in placed.iter_mut().rev() {
        *at = at.min(most);
        most = *at - apart;
    }
    placed
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn labels_with_room_stay_where_they_are() {
        assert_eq!(
            spread(&[10.0, 40.0, 90.0], 15.0, (0.0, 100.0)),
            [10.0, 40.0, 90.0]
        );
        assert_eq!(spread(&[50.0, 50.0], 14.0, (0.0, 100.0)), [43.0, 57.0]);
        assert!(spread(&[], 14.0, (0.0, 100.0)).is_empty());
    }

    proptest! {
        #[test]
        fn labels_never_touch_and_stay_inside(mut wanted in prop::collection::vec(-20.0..220.0f64, 0..9)) {
            wanted.sort_by(f64::total_cmp);
            let placed = spread(&wanted, 15.0, (0.0, 200.0));
            for pair in placed.windows(2) {
                prop_assert!(pair[1] - pair[0] >= 15.0 - 1e-9);
            }
            for at in placed {
                prop_assert!((-1e-9..=200.0 + 1e-9).contains(&at));
            }
        }
    }
}
