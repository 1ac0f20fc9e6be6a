//! Why a result is refused, and what to do about it.

use crate::study::calibrate::ColumnsExchanged;

use super::layout::paragraph;

/// A refusal in words.
pub(super) struct Refusal {
    /// Why.
    pub(super) why: String,
    /// What to do.
    pub(super) what_to_do: String,
}

impl Refusal {
    /// Of a log whose columns look exchanged.
    pub(super) fn of_exchanged(ColumnsExchanged { log, inside }: &ColumnsExchanged) -> Self {
        Self {
            why: format!(
                "Two columns of {log} look exchanged: {} swings less through the day than the air \
                 outdoors does, and the air outdoors is hotter by day.",
                inside.replace('_', " ")
            ),
            what_to_do: format!(
                "In the description of the log's columns, let the columns of \"{inside}\" and \"outdoor\" \
                 change places. If they are right there, the loggers may have been swapped: let them \
                 change places all the same."
            ),
        }
    }

    /// As lines under what was refused.
    pub(super) fn lines(&self) -> String {
        let mut text = paragraph("  because:", 11, &self.why);
        text.push_str(&paragraph("  do this:", 11, &self.what_to_do));
        text.trim_end().to_owned()
    }
}

/// Why nothing was fitted to a log whose columns look exchanged, and what to do, as lines.
pub fn exchanged_text(exchanged: &ColumnsExchanged) -> String {
    Refusal::of_exchanged(exchanged).lines()
}
