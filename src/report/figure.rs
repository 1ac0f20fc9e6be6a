//! Drawings of a page with what stands about them, in a page and as files.

use std::borrow::Cow;

use maud::{Markup, PreEscaped, html};

use super::chart::{
    BarGroups, ChartError, DropChart, Frame, LimitChart, OverTime, SpreadChart, standalone,
};
use super::folder::Folder;

/// A drawing of a study.
pub(super) enum Drawing {
    Time(OverTime),
    Spread(SpreadChart, String),
    Bars(BarGroups),
    Drops(DropChart),
    Limits(LimitChart),
}

impl Drawing {
    pub(super) fn draw(&self, frame: Frame) -> Result<String, ChartError> {
        match self {
            Self::Time(chart) => chart.draw(frame),
            Self::Spread(chart, words) => chart.draw(frame, words),
            Self::Bars(chart) => chart.draw(frame),
            Self::Drops(chart) => chart.draw(frame),
            Self::Limits(chart) => chart.draw(frame),
        }
    }
}

/// A drawing with the name of its file, its heading and what is below it.
pub(super) struct Figure {
    pub(super) name: &'static str,
    pub(super) heading: Cow<'static, str>,
    pub(super) caption: Cow<'static, str>,
    pub(super) drawing: Drawing,
}

impl Figure {
    /// Both layouts with the heading and the line below.
    pub(super) fn markup(&self) -> Result<Markup, ChartError> {
        let drawn = figure_markup(|frame| self.drawing.draw(frame), &self.caption)?;
        Ok(html! { h3 { (self.heading) } (drawn) })
    }
}

/// Adds drawings as files, laid out for a page and, as `-phone`, for a phone.
pub(super) fn add_figures<'a>(
    folder: &mut Folder,
    figures: impl Iterator<Item = &'a Figure>,
) -> Result<(), ChartError> {
    for figure in figures {
        for (frame, suffix) in [(Frame::Wide, ""), (Frame::Narrow, "-phone")] {
            let drawing = standalone(&figure.drawing.draw(frame)?);
            folder.add(format!("{}{suffix}.svg", figure.name), drawing);
        }
    }
    Ok(())
}

/// Both layouts of a drawing with a line below it.
pub(super) fn figure_markup(
    draw: impl Fn(Frame) -> Result<String, ChartError>,
    caption: &str,
) -> Result<Markup, ChartError> {
    let (wide, narrow) = (draw(Frame::Wide)?, draw(Frame::Narrow)?);
    Ok(html! {
        figure {
            div.wide { (PreEscaped(wide)) }
            div.narrow { (PreEscaped(narrow)) }
            @if !caption.is_empty() { figcaption { (caption) } }
        }
    })
}
